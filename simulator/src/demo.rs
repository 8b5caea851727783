//! The demonstration: the reading of an embedded capture with a usual mistake in it, explained.
//!
//! It takes the same way as `keyway read`: the capture is the file under `simulator/demo/`, built into
//! the program, so that it needs nothing at hand. `keyway make` made it and the job beside it from the
//! engine model, by the scenario `simulator/scenarios/weir-pump-six-wrong-side-of-zero.toml`; a test sees
//! to it that the scenario still makes the same.

use crate::capture::{Format, Names};
use crate::{job_file, read};
use std::io::Cursor;

const CAPTURE: &[u8] = include_bytes!("../demo/pump-six.vcd");
const JOB: &str = include_str!("../demo/pump-six.job.toml");

/// Letters in a line.
const WIDTH: usize = 100;

const STORY: &str = "\
Keyway measures how many crank degrees before top dead centre an engine's spark really comes, from a
trigger at the crank and a clamp on cylinder one's spark lead. It says whether that is right, what
explains it where it is not, and how to put it right.

No capture was named, so here is one from the pump house of the river works. Weir pump six starts
hard, runs hot and no longer lifts its full head. The label says 10° BTDC, before top dead centre.
Yesterday somebody set it in base mode, while its computer held still, to the line marked 10 on the
balancer. Eleven seconds were recorded: idle, one short blip of the throttle, idle. Keyway reads:
";

const NEXT: &str = "\
What to see here
  A light held at the balancer shows a mark at a line marked 10, and the engine idles. But there is
  a 10 on either side of zero, and this is the one after it (ATDC). Keyway knows before from after
  by the gap in the wheel's teeth. Two times ten degrees late is the sign of this mistake; the blip
  moved nothing, so neither a steering computer nor a delay explains it.
  Nobody recorded this: it comes from a simulated engine, whose true spark lies at 9.9° ATDC.

What to type next, in the project's folder (an installed keyway needs no \"cargo run --release --\")
  The same reading, and as a page to print:
    cargo run --release -- read simulator/demo/pump-six.vcd --job simulator/demo/pump-six.job.toml
        --report pump.html  a page to print or keep    --json            the result for programs
        --plot pump.svg     every spark as a picture   --sparks pump.csv  every spark as a row
  Another mistake (they are in simulator/scenarios); the job file is written beside the capture:
    cargo run --release -- make simulator/scenarios/sluice-eight-steering.toml --out sluice.vcd
    cargo run --release -- read sluice.vcd --job sluice.job.toml
  How good it is, over many simulated engines:
    cargo run --release -- grid --seeds 200
  An engine of your own:
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

/// A line set in by four, its words on as many lines as it needs; under a line that is set in itself
/// further ones hang.
fn wrapped(line: &str) -> String {
    let own = line.chars().take_while(|letter| *letter == ' ').count();
    let (first, further) = (own + 4, if own > 0 { own + 10 } else { 4 });
    let mut text = String::new();
    let mut length = 0;
    for word in line.trim_start().split(' ') {
        let letters = word.chars().count();
        if length > 0 && length + 1 + letters > WIDTH {
            text.push('\n');
            text.push_str(&" ".repeat(further));
            length = further + letters;
        } else if length == 0 {
            text.push_str(&" ".repeat(if letters > 0 { first } else { 0 }));
            length = first + letters;
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
        assert!(text.contains("reads 9.9° ATDC"), "{text}");
        assert!(text.contains(">99 %  The mark on the wrong side of zero was used"), "{text}");
        assert_eq!(text.lines().find(|line| line.chars().count() > WIDTH), None);
    }

    #[test]
    fn the_readme_shows_this_very_reading() {
        let job = job_file::read::job(JOB).unwrap();
        let outcome =
            read::measure(Cursor::new(CAPTURE), Format::Vcd, &Names::default(), &job, None).unwrap();
        let text = read::to_text(&job, &outcome);
        assert!(include_str!("../../README.md").contains(&text), "the reading is now:\n{text}");
    }

    #[test]
    fn the_embedded_capture_stays_small() {
        assert!(CAPTURE.len() < 300_000, "{} bytes", CAPTURE.len());
    }

    #[test]
    fn the_embedded_capture_is_what_its_scenario_makes() {
        let folder = env!("CARGO_MANIFEST_DIR");
        let scenario = format!("{folder}/scenarios/weir-pump-six-wrong-side-of-zero.toml");
        let case = crate::scenario::file(scenario.as_ref()).unwrap();
        assert_eq!(JOB, job_file::write::text(&case.job), "make it again with keyway make");
        let truth = case.truth(&case.run()).advance.unwrap();
        let job = job_file::read::job(JOB).unwrap();
        let outcome =
            read::measure(Cursor::new(CAPTURE), Format::Vcd, &Names::default(), &job, None).unwrap();
        let reading = outcome.report.reading;
        let error = f64::from(reading.advance.unwrap().degrees()) - truth;
        assert!(
            error.abs() <= f64::from(reading.uncertainty.unwrap()),
            "{error}: make it again with keyway make"
        );
    }
}
