//! Captures from an independent engine model: errors inside the ±, and no number where none can be given.
//!
//! They lie beside the project, in `shared/samples`, with a job and the truth each; the tests skip, with a
//! word, where they do not.

use keyway::capture::{self, Feed, Names};
use keyway::job_file;
use keyway_core::meter::{Meter, Report};
use keyway_core::reading::{Status, Withheld};
use keyway_core::units::TickRate;
use keyway_tests::edge_source::wrapped;
use keyway_tests::outside_files;
use std::path::{Path, PathBuf};

struct Sample {
    name: String,
    truth: serde_json::Value,
    report: Report,
}

fn measured(path: &Path) -> Report {
    let job = job_file::read::file(&path.with_extension("job.toml"))
        .unwrap_or_else(|error| panic!("{path:?}: {error}"));
    let mut meter = Meter::new(job, TickRate::DESKTOP);
    let mut feed = Feed::new(&mut meter);
    let (file, format) = capture::open(path).unwrap_or_else(|error| panic!("{path:?}: {error}"));
    let outline = capture::read(file, format, &Names::default(), |at, event| feed.event(at, event))
        .unwrap_or_else(|error| panic!("{path:?}: {error}"));
    feed.finish(outline.ticks);
    meter.report()
}

fn samples() -> Vec<Sample> {
    let Some(folder) = outside_files::folder("samples") else { return Vec::new() };
    let entries = std::fs::read_dir(&folder).unwrap_or_else(|error| panic!("{folder:?}: {error}"));
    let mut captures: Vec<PathBuf> = entries
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|extension| extension == "vcd"))
        .collect();
    captures.sort();
    let sample = |path: &PathBuf| {
        let text = std::fs::read_to_string(path.with_extension("truth.json")).unwrap_or_default();
        let truth = serde_json::from_str(&text).unwrap_or_else(|error| panic!("{path:?}: {error}"));
        let name = path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
        Sample { name, truth, report: measured(path) }
    };
    captures.iter().map(sample).collect()
}

#[test]
fn the_truth_lies_inside_the_doubt_of_independent_captures() {
    let mut outside = Vec::new();
    for sample in samples().iter().filter(|sample| sample.truth["withheld"].is_null()) {
        let reading = &sample.report.reading;
        let truth = sample.truth["advance"].as_f64().expect("a true advance");
        let (Some(advance), Some(doubt)) = (reading.advance, reading.uncertainty) else {
            outside.push(format!("{}: {:?}", sample.name, reading.reasons));
            continue;
        };
        let error = wrapped(f64::from(advance.degrees()) - truth).abs();
        println!("{:35} off {error:.3} ± {doubt:.3}", sample.name);
        if error > f64::from(doubt) {
            outside.push(format!("{}: off {error:.3} ± {doubt:.3}", sample.name));
        }
    }
    // The ± holds the truth in 95 of 100: of fifteen captures one outside is no contradiction, two would be.
    keyway_tests::falls_short_by(1, &outside, samples().len());
}

#[test]
fn the_speed_of_independent_captures_is_read_to_one_percent() {
    for sample in samples().iter().filter(|sample| sample.truth["withheld"].is_null()) {
        let truth = sample.truth["rpm"].as_f64().expect("a true speed");
        let read = sample.report.reading.rpm.map_or(f64::NAN, f64::from);
        assert!((read / truth - 1.0).abs() < 0.01, "{}: {read} rpm for {truth}", sample.name);
    }
}

#[test]
fn independent_captures_that_allow_no_number_are_withheld_for_their_fault() {
    for sample in samples() {
        let Some(fault) = sample.truth["withheld"].as_str() else { continue };
        let reason = match fault {
            "wrong-wheel" => Withheld::PatternMismatch,
            "interference" => Withheld::Interference,
            other => panic!("{}: a fault not known here, {other}", sample.name),
        };
        let reading = &sample.report.reading;
        assert_eq!(reading.status, Status::Withheld, "{}", sample.name);
        assert_eq!(reading.reasons.first(), Some(&reason), "{}", sample.name);
    }
}

#[test]
fn the_first_cause_of_independent_captures_is_the_true_one() {
    let mut wrong = Vec::new();
    for sample in samples().iter().filter(|sample| sample.truth["withheld"].is_null()) {
        let causes = &sample.report.judgement.causes;
        let first = causes.first().map(|cause| cause.id.id());
        if first != sample.truth["cause"].as_str() {
            wrong.push(format!("{}: {first:?}", sample.name));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_dead_cylinder_of_independent_captures_is_named_and_no_other() {
    for sample in samples() {
        let Some(balance) = &sample.report.balance else { continue };
        println!("{:35} {:.2?}", sample.name, balance.share.as_slice());
        let dead: Vec<u8> = sample.truth["dead"].as_u64().iter().map(|dead| *dead as u8).collect();
        assert_eq!(balance.weak.as_slice(), dead, "{}", sample.name);
        for dead in dead {
            let share = balance.share[usize::from(dead) - 1];
            assert!(share.abs() < 0.2, "{}: {share}", sample.name);
        }
    }
}
