//! The command `keyway`.

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(keyway::command::run(std::env::args_os(), &mut std::io::stdout(), &mut std::io::stderr()))
}
