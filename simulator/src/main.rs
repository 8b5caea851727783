//! The command `keyway`.

use std::process::ExitCode;

fn main() -> ExitCode {
    // Nothing was asked for: the bench opens, or the demonstration says why it does not.
    if std::env::args_os().len() == 1 {
        match keyway::window::bench() {
            Ok(()) => return ExitCode::SUCCESS,
            Err(why) => println!("{why}; here is the demonstration instead.\n"),
        }
    }
    ExitCode::from(keyway::command::run(std::env::args_os(), &mut std::io::stdout(), &mut std::io::stderr()))
}
