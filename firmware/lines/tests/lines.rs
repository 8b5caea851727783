//! Both ways of the port, against a JSON reader of its own and against anything a host may send.

#![allow(clippy::unwrap_used, reason = "a test may stop where it stands")]

use keyway_core::console::blank;
use keyway_core::edges::{Channel, Level};
use keyway_core::guide::{Facts, Sensed, Taken};
use keyway_core::job::{CrankSpec, JobSpec};
use keyway_core::kept::LONGEST;
use keyway_core::record::{Identity, Record, When};
use keyway_core::units::TickRate;
use keyway_lines::*;
use proptest::prelude::*;
use serde_json::{Value, json};

/// The job of the contract's example.
const JOB: &str = r#"{"job":{"slot":3,"job":{"name":"Weir pump six","engine":{"cylinders":6,"strokes":4,
"firing_order":[1,5,3,6,2,4],"firing_intervals":[120,120,120,120,120,120],"spark":"distributor","rotor":"clockwise",
"reference":"distributor","drive_gear_teeth":13,"housing_diameter_mm":70},"timing":{"control":"computer",
"base_btdc":10.0,"calibration":"stock","extra":0.0,"tolerance":1.0,"harness_offset":10.0,"idle_rpm":[600,900],
"supply_min_v":13.2},"crank":{"teeth":36,"missing":1,"first_edge_btdc":84.0,"active_edge":"rising",
"sensor_delay_us":0.0},"spark_pickup":{"active_edge":"rising","delay_us":0.0},"context":{"base_mode":true}}}}"#;

fn job_line() -> String {
    JOB.replace('\n', "")
}

fn said(line: &Said<'_>) -> Value {
    let mut room = [0; LONGEST_OUT];
    let bytes = line.write(&mut room).unwrap();
    assert_eq!(bytes.iter().filter(|byte| **byte == b'\n').count(), 1);
    serde_json::from_slice(bytes).unwrap()
}

fn spec_of(line: &str) -> Result<JobSpec, Refused> {
    match command(line.as_bytes())? {
        Command::Job { spec, .. } => Ok(spec),
        other => unreachable!("{other:?}"),
    }
}

#[test]
fn every_command_of_the_document_is_understood() {
    let asks = [
        (r#"{"hello":{}}"#, Command::Hello),
        (r#" {"live" : {"on":true}} "#, Command::Live(true)),
        (r#"{"stream":{"on":false}}"#, Command::Stream(false)),
        (r#"{"jobs":{}}"#, Command::Jobs),
        (r#"{"records":{"from":1,"to":40}}"#, Command::Records { from: 1, to: 40 }),
        (r#"{"forget":{"to":40}}"#, Command::Forget { to: 40 }),
        (r#"{"clock":{"unix_s":1764104400}}"#, Command::Clock(1_764_104_400)),
    ];
    let readme = include_str!("../README.md");
    for (line, wanted) in asks {
        assert_eq!(command(line.as_bytes()), Ok(wanted), "{line}");
        let told = line.contains("false") || line.starts_with(' ') || readme.contains(line);
        assert!(told, "{line} is not in the document");
    }
}

#[test]
fn a_job_comes_in_as_it_was_entered_and_goes_out_the_same() {
    let spec = spec_of(&job_line()).unwrap();
    assert_eq!((spec.name.as_str(), spec.engine.drive_gear_teeth), ("Weir pump six", Some(13)));
    let again = said(&Said::Job(KeptJob { slot: 3, job: JobLine::from(&spec) })).to_string();
    assert_eq!(spec_of(&again).unwrap(), spec);

    let mut marks = blank();
    marks.crank = CrankSpec::Marks([10.5, -60.0].into_iter().collect());
    marks.name = "M\u{fc}hl\"e\\".try_into().unwrap();
    let line = said(&Said::Job(KeptJob { slot: 0, job: JobLine::from(&marks) })).to_string();
    assert_eq!(spec_of(&line).unwrap(), marks);
}

#[test]
fn a_line_with_a_fault_is_refused_with_what_is_wrong() {
    let good = job_line();
    let faults = [
        ("hello".to_owned(), What::Malformed, None, "one member"),
        (r#"{"hello":{}"#.into(), What::Malformed, None, "too early"),
        (r#"{"hello":{}} x"#.into(), What::Malformed, None, "nothing after"),
        (r#"{"hello":{},"live":{"on":true}}"#.into(), What::Malformed, None, ""),
        (r#"{"sing":{}}"#.into(), What::Unknown, None, "sing"),
        (r#"{"live":{"on":1}}"#.into(), What::Malformed, None, ""),
        (r#"{"live":{"off":true}}"#.into(), What::Malformed, None, "off"),
        (r#"{"live":{}}"#.into(), What::Malformed, None, "none missing"),
        (r#"{"records":{"from":-1,"to":2}}"#.into(), What::Malformed, None, ""),
        (r#"{"clock":{"unix_s":99999999999}}"#.into(), What::Malformed, None, "range"),
        (good.replace("\"slot\":3", "\"slot\":12"), What::Job, None, "0 to 11"),
        (good.replace("[1,5,3,6,2,4]", "[1,5,3,6,2,2]"), What::Job, Some("engine.firing_order"), "once"),
        (
            good.replace("10.0,\"calibration", "99,\"calibration"),
            What::Job,
            Some("timing.base_btdc"),
            "-20 to 40",
        ),
        (good.replace("\"missing\":1,", ""), What::Job, Some("crank"), "either teeth"),
        (
            good.replace("\"teeth\":36,", "\"teeth\":36,\"marks_btdc\":[1],"),
            What::Job,
            Some("crank"),
            "either",
        ),
        (
            good.replace("\"spark\":\"distributor\"", "\"spark\":\"magic\""),
            What::Malformed,
            None,
            "known names and words",
        ),
        (good.replace("\"cylinders\"", "\"cylindres\""), What::Malformed, None, "cylindres"),
        (good.replace("Weir", "W\\qeir"), What::Malformed, None, "escapes"),
        (good.replace("Weir pump six", &"W".repeat(41)), What::Malformed, None, ""),
    ];
    for (line, what, key, part) in faults {
        let refused = command(line.as_bytes()).unwrap_err();
        assert_eq!((refused.what, refused.key), (what, key), "{line}: {refused:?}");
        assert!(refused.expected.contains(part), "{line}: {refused:?}");
        let told = said(&Said::Error(ErrorLine::new(7, &refused)));
        assert_eq!(told["error"]["line"], 7);
        assert_eq!(told["error"]["key"], json!(key));
    }
    assert_eq!(command(&[b'{', 0xFF, b'}']).unwrap_err().what, What::Malformed);
}

#[test]
fn the_streams_example_in_the_document_is_what_is_written() {
    let mut batch = Batch::new(8_123_400, [Level::Low; 2]);
    let edges = [
        (Channel::Crank, Level::High, 8_123_406),
        (Channel::Spark, Level::High, 8_123_980),
        (Channel::Spark, Level::Low, 8_123_983),
        (Channel::Crank, Level::Low, 8_124_433),
    ];
    for (channel, level, at) in edges {
        assert!(batch.push(channel, level, at));
    }
    let written = said(&Said::Edges(batch.line(8_124_600, Some(13.9))));
    let readme = include_str!("../README.md");
    let example = readme.lines().find(|line| line.starts_with(r#"{"edges""#)).unwrap();
    assert_eq!(written, serde_json::from_str::<Value>(example).unwrap());
}

/// Plays lines of the stream back as a host does: edges, and the edges lost.
fn played(lines: &[Value]) -> (Vec<(u64, u64, u64)>, u64) {
    let (mut edges, mut lost) = (Vec::new(), 0);
    let mut end_before = 0;
    for line in lines {
        let line = &line["edges"];
        lost += line["lost"][0].as_u64().unwrap() + line["lost"][1].as_u64().unwrap();
        let mut at = line["start"].as_u64().unwrap();
        assert!(at >= end_before);
        for word in line["d"].as_array().unwrap() {
            let word = word.as_u64().unwrap();
            at += word >> 2;
            edges.push((at, word >> 1 & 1, word & 1));
        }
        end_before = line["end"].as_u64().unwrap();
        assert!(end_before >= at);
    }
    (edges, lost)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    #[test]
    fn whatever_a_host_sends_is_a_command_or_an_error_and_the_next_line_counts(
        bytes in prop::collection::vec(any::<u8>(), 0..2000),
    ) {
        let mut gather = Gather::default();
        for byte in &bytes {
            if let Some(Line::Whole(line)) = gather.take(*byte) {
                let _ = command(line);
            }
        }
        let mut last = None;
        for byte in b"\n{\"hello\":{}}\n" {
            if let Some(Line::Whole(line)) = gather.take(*byte) {
                last = Some(command(line));
            }
        }
        prop_assert_eq!(last, Some(Ok(Command::Hello)));
    }

    #[test]
    fn a_job_line_changed_anywhere_is_refused_or_still_a_possible_job(
        place in 0usize..800, with in "[ -~]{0,6}", cut in 0usize..12,
    ) {
        let mut line = job_line();
        let from = place.min(line.len());
        line.replace_range(from..(from + cut).min(line.len()), &with);
        match command(line.as_bytes()) {
            Ok(Command::Job { slot, spec }) => {
                prop_assert!(slot < 12 && spec.build().is_ok());
            }
            Ok(other) => prop_assert!(false, "{:?}", other),
            Err(refused) => {
                let told = said(&Said::Error(ErrorLine::new(1, &refused)));
                prop_assert!(told["error"]["expected"].is_string());
            }
        }
    }

    #[test]
    fn long_names_and_words_are_refused_in_a_line(name in "[a-z\u{e9}]{60,300}") {
        let refused = command(format!("{{\"{name}\":{{}}}}").as_bytes()).unwrap_err();
        prop_assert_eq!(refused.what, What::Unknown);
        let refused = command(job_line().replace("computer", &name).as_bytes()).unwrap_err();
        prop_assert_eq!(refused.what, What::Malformed);
        said(&Said::Error(ErrorLine::new(1, &refused)));
    }

    #[test]
    fn nested_and_long_nonsense_never_overflows(open in "[\\[{\"a:]{0,1500}") {
        let _ = command(open.as_bytes());
        let _ = command(format!("{{\"job\":{open}").as_bytes());
    }

    #[test]
    fn the_stream_played_back_is_what_was_captured_and_what_is_missing_is_counted(
        steps in prop::collection::vec((any::<bool>(), 0u64..5_000_000, 0u8..20), 1..1500),
        begin in 0u64..1 << 52,
    ) {
        let mut batch = Batch::new(begin, [Level::Low; 2]);
        let (mut levels, mut at) = ([0u64; 2], begin);
        let (mut captured, mut lines) = (Vec::new(), Vec::new());
        let (mut dropped, mut lost) = (0u64, 0u64);
        for (spark, delta, fate) in steps {
            at += delta;
            let place = usize::from(spark);
            levels[place] ^= 1;
            let channel = if spark { Channel::Spark } else { Channel::Crank };
            let level = if levels[place] == 1 { Level::High } else { Level::Low };
            if batch.is_full() || fate == 0 {
                lines.push(said(&Said::Edges(batch.line(at, None))));
                batch.sent(at);
            } else if fate == 1 {
                let gone = said(&Said::Edges(batch.line(at, None)))["edges"]["d"].as_array().unwrap().len();
                captured.truncate(captured.len() - gone);
                dropped += gone as u64;
                batch.dropped(at);
            } else if fate == 2 {
                batch.lose(channel, 3);
                lost += 3;
            }
            prop_assert!(batch.push(channel, level, at));
            captured.push((at, place as u64, levels[place]));
        }
        lines.push(said(&Said::Edges(batch.line(at, None))));
        let (edges, told) = played(&lines);
        prop_assert_eq!(edges, captured);
        prop_assert_eq!(told, dropped + lost);
    }
}

#[test]
fn a_batch_of_the_largest_numbers_fits_a_line() {
    let mut batch = Batch::new(0, [Level::High; 2]);
    let mut at = 0;
    while !batch.is_full() {
        at += (1 << 30) - 1;
        batch.push(Channel::Spark, Level::High, at);
    }
    batch.lose(Channel::Crank, u32::MAX);
    batch.lose(Channel::Spark, u32::MAX);
    let line = said(&Said::Edges(batch.line(u64::MAX >> 11, Some(-123.456_79))));
    assert_eq!(line["edges"]["d"].as_array().unwrap().len(), BATCH);
    assert_eq!(line["edges"]["lost"], json!([u32::MAX, u32::MAX]));
}

#[test]
fn the_longest_record_fits_a_line_and_says_what_the_record_says() {
    let mut spec = blank();
    spec.name = "\"\\\"\\\"\\\"\\\"\\\"\\\"\\\"\\\"\\\"\\\"\\\"\\\"\\\"\\\"\\\"\\\"\\\"\\\"\\\"\\"
        .try_into()
        .unwrap();
    let job = spec.build().unwrap();
    let taken =
        Some(Taken { advance: -179.999_98, doubt: 12.345_678, rpm: 12_345.679, supply: Some(f32::NAN) });
    let mut facts = Facts::default();
    (facts.steered, facts.before, facts.set) = (taken, taken, taken);
    (facts.after, facts.restarted) = (taken, taken);
    facts.delay_us = Some((-1_234.567_9, 123.456_79));
    facts.slope = Some((-1_234.567_9, 123.456_79));
    let identity = Identity { instrument: u32::MAX, firmware: 0x1a2b_3c4d, calibrated: Some((2026, 11, 2)) };
    let when = When { clock: Some(u32::MAX), took_s: u32::MAX };
    let record = Record::of(u32::MAX, identity, when, &spec, &job, &facts);
    let line = said(&Said::Record(RecordLine::new(&record, &[0xA5; LONGEST])));
    let told = &line["record"];
    assert_eq!(told["engine"], spec.name.as_str());
    assert_eq!(told["firmware"], "1a2b3c4d");
    assert_eq!(told["calibrated"], "2026-11-02");
    assert_eq!(told["before"]["battery_v"], Value::Null);
    assert_eq!(told["sealed"].as_str().unwrap().len(), 2 * LONGEST);
    let readme = include_str!("../README.md");
    for key in told.as_object().unwrap().keys() {
        assert!(readme.contains(&format!("\"{key}\":")), "{key} is not in the document");
    }
}

#[test]
fn a_live_line_has_null_for_what_is_not_known() {
    let line = said(&Said::Live(Live::new(&Sensed::default(), 12, [0, 3])));
    assert_eq!(line["live"]["advance_btdc_deg"], Value::Null);
    assert_eq!(line["live"]["lost"], json!([0, 3]));
    let hello = said(&Said::Hello(Hello::new(Identity::default(), TickRate::DESKTOP)));
    assert_eq!(hello["hello"]["ticks_per_second"], 10_000_000);
    assert_eq!(hello["hello"]["calibrated"], Value::Null);
}
