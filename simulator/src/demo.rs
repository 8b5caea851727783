//! The demonstration: the reading of an embedded capture with the usual mistake in it, explained.
//!
//! It takes the same way as `keyway read`: the capture is the file under `simulator/demo/`, built into
//! the program, so that it needs nothing at hand.

use crate::capture::{Format, Names};
use crate::{job_file, read};
use std::io::Cursor;

const CAPTURE: &[u8] = include_bytes!("../demo/pump-six.vcd");
const JOB: &str = include_str!("../demo/pump-six.job.toml");

/// Letters in a line.
const WIDTH: usize = 100;

const STORY: &str = "\
Keyway measures an engine's base ignition timing from a crank trigger and a clamp on cylinder one's
spark lead. No capture was named, so here is one from the pump house of the river works.

Weir pump six: it starts hard, runs hot and no longer lifts its full head. The label says 10° BTDC.
Yesterday someone set it in base mode, with the mark right at the pointer's 10. On the balancer there
is a 10 on either side of zero. Thirteen seconds were recorded, idle with one blip. Keyway reads:
";

const NEXT: &str = "\
What to see here: the number alone looks like an honest 10, and a light held at the balancer shows a
mark at a line marked 10. Only the side of zero is wrong. It was measured against the wheel's own
tooth, which knows before from after; the blip moved nothing, so the computer was not steering.

What to type next, in the project's folder (in place of cargo run --release -- an installed keyway
does the same):
  cargo run --release -- read simulator/demo/pump-six.vcd --job simulator/demo/pump-six.job.toml
      --json              the same for programs
      --plot pump.svg     every spark as a picture
      --sparks pump.csv   every spark as a row
  cargo run --release -- read YOUR.vcd --job YOUR.job.toml
";

/// The demonstration's text and exit status.
///
/// # Errors
/// The embedded files cannot be read, which a test rules out.
pub fn run() -> Result<(String, u8), String> {
    let job = job_file::read::job(JOB).map_err(|error| error.in_file("pump-six.job.toml").to_string())?;
    let outcome = read::measure(Cursor::new(CAPTURE), Format::Vcd, &Names::default(), &job, None)
        .map_err(|error| error.in_file("pump-six.vcd").to_string())?;
    let reading: String = read::to_text(&job, &outcome).lines().map(|line| wrapped(line) + "\n").collect();
    Ok((format!("{STORY}\n{reading}\n{NEXT}"), 0))
}

/// A line set in by four, its words on as many lines as it needs; further ones stand under its start.
fn wrapped(line: &str) -> String {
    let indent = line.chars().take_while(|letter| *letter == ' ').count() + 4;
    let mut text = String::new();
    let mut length = 0;
    for word in line.trim_start().split(' ') {
        let letters = word.chars().count();
        if length > 0 && length + 1 + letters > WIDTH {
            text.push('\n');
            length = 0;
        }
        if length == 0 {
            text.push_str(&" ".repeat(if letters > 0 { indent } else { 0 }));
            length = indent + letters;
        } else {
            text.push(' ');
            length += 1 + letters;
        }
        text.push_str(word);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_demonstration_finds_the_mark_on_the_wrong_side_of_zero() {
        let (text, status) = run().unwrap();
        assert_eq!(status, 0);
        assert!(text.contains("10.1° ATDC") || text.contains("10.2° ATDC"), "{text}");
        assert!(text.contains("The mark on the wrong side of zero was used"), "{text}");
    }

    #[test]
    fn the_embedded_capture_stays_small() {
        assert!(CAPTURE.len() < 300_000, "{} bytes", CAPTURE.len());
    }
}
