//! Tells the linker where memory is, and the firmware which commit it is built from.

use std::process::Command;
use std::{env, fs, path::PathBuf};

fn main() {
    let target = env::var("CARGO_CFG_TARGET_ARCH").unwrap_or_default();
    if target == "arm"
        && let Some(out) = env::var_os("OUT_DIR").map(PathBuf::from)
    {
        if let Err(error) = fs::copy("memory.x", out.join("memory.x")) {
            println!("cargo::error=memory.x: {error}");
        }
        println!("cargo::rustc-link-search={}", out.display());
        for argument in ["--nmagic", "-Tlink.x", "-Tdefmt.x"] {
            println!("cargo::rustc-link-arg-bins={argument}");
        }
    }
    println!("cargo::rustc-env=KEYWAY_COMMIT={}", commit());
    println!("cargo::rerun-if-changed=memory.x");
    println!("cargo::rerun-if-env-changed=KEYWAY_COMMIT");
}

/// The first eight hexadecimal digits of the commit; zeros where there is no repository to ask.
fn commit() -> String {
    if let Ok(given) = env::var("KEYWAY_COMMIT") {
        return given;
    }
    let asked = Command::new("git").args(["rev-parse", "--short=8", "HEAD"]).output();
    let found = asked.ok().filter(|output| output.status.success());
    let found = found.and_then(|output| String::from_utf8(output.stdout).ok());
    found.map_or_else(|| "00000000".to_owned(), |text| text.trim().to_owned())
}
