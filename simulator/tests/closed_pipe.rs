//! A reader that goes away before the answer is written is no error: `keyway read … | head -1`.

use std::process::{Command, Stdio};

#[test]
fn a_closed_pipe_ends_the_command_quietly() {
    let demo = concat!(env!("CARGO_MANIFEST_DIR"), "/demo/pump-six");
    let (capture, job) = (format!("{demo}.vcd"), format!("{demo}.job.toml"));
    for more in [&[][..], &["--json"]] {
        let mut command = Command::new(env!("CARGO_BIN_EXE_keyway"));
        command.args(["read", &capture, "--job", &job]).args(more);
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        drop(child.stdout.take());
        let output = child.wait_with_output().unwrap();
        assert_eq!(String::from_utf8_lossy(&output.stderr), "");
        // The mark on the wrong side of zero: a reading that is not on target.
        assert_eq!(output.status.code(), Some(1));
    }
}

#[test]
fn the_command_without_arguments_is_the_demonstration() {
    let output = Command::new(env!("CARGO_BIN_EXE_keyway")).output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    let text = String::from_utf8_lossy(&output.stdout);
    assert!(text.contains("Weir pump six") && text.contains("keyway") && text.contains("--job"), "{text}");
}
