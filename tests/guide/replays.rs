//! Sessions kept as logs of events, replayed to the identical views: that is how a bug in the guide is
//! reproduced.
//!
//! *Golden session*: a log in `tests/sessions` and what screen and sounder did over it, with a checksum over
//! every view. `KEYWAY_GOLDENS=write cargo test -p keyway-tests --test guide replays` plays the sessions
//! anew and writes both; without it the log is replayed as it stands.

use std::fmt::Write;
use std::path::PathBuf;

use keyway::engine::controls::Lead;
use keyway::guide_play::event_log::{decode, encode};
use keyway::guide_play::transcript::lines;
use keyway::guide_play::{Bench, Hands, Slip};
use keyway_core::job::{Control, CrankSpec, JobSpec, Rotation};
use keyway_core::view::{StepId, View};

use crate::support::{found, spec};

/// A job with one mark a turn: fewer edges, so that a whole session is small.
fn one_mark(control: Control) -> JobSpec {
    let mut spec = spec(control);
    let mut marks = heapless::Vec::new();
    marks.push(10.0).expect("there is room for a mark");
    spec.crank = CrankSpec::Marks(marks);
    spec
}

type Session = (&'static str, fn() -> Bench);

/// The sessions: a name, and a bench that has played it with its log kept.
fn sessions() -> Vec<Session> {
    fn played(spec: &JobSpec, off: f64, slips: &[Slip], until: Option<StepId>, seconds: f64) -> Bench {
        let mut bench = Bench::new(found(spec, off, |_| {}), spec);
        bench.keep_log();
        bench.pass(1.0);
        let mut hands = Hands::new(Rotation::Clockwise, slips);
        Hands::open_job(&mut bench);
        hands.work(&mut bench, until, seconds);
        bench
    }
    vec![
        ("whole-job-with-slips", || {
            let slips = [Slip::LinkForgotten, Slip::ClampSlips, Slip::LinkLeftOut];
            played(&one_mark(Control::Computer), -7.0, &slips, None, 400.0)
        }),
        ("mechanical-job", || played(&one_mark(Control::Mechanical), 5.0, &[], None, 400.0)),
        ("clamp-on-another-lead", || {
            let spec = one_mark(Control::Computer);
            let engine = found(&spec, -2.0, |case| case.controls.lead = Lead::Cylinder(5));
            let mut bench = Bench::new(engine, &spec);
            bench.keep_log();
            bench.pass(1.0);
            Hands::open_job(&mut bench);
            Hands::new(Rotation::Clockwise, &[]).work(&mut bench, Some(StepId::Set), 200.0);
            bench
        }),
    ]
}

/// FNV-1a, 64 bits (published parameters): tells whether every view is the same to the last digit.
fn sum(hash: u64, text: &str) -> u64 {
    text.bytes().fold(hash, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}

/// What screen and sounder did over a log, and the checksum over all views.
fn told(log: &[(keyway::guide_play::Told, keyway_core::units::Stamp)]) -> (String, View) {
    let (mut text, mut shape, mut last) = (String::new(), String::new(), None);
    let mut views = 0;
    let mut hash = 0xcbf2_9ce4_8422_2325;
    let instrument = Bench::replay(log, |view, tone| {
        if last == Some((*view, tone)) {
            return;
        }
        last = Some((*view, tone));
        views += 1;
        hash = sum(hash, &format!("{view:?}{tone:?}"));
        let (now, full) = lines(view, tone);
        if now != shape {
            shape = now;
            writeln!(text, "{full}").expect("a string takes all");
        }
    });
    writeln!(text, "{views} views, {hash:016x}").expect("a string takes all");
    (text, *instrument.view())
}

#[test]
fn kept_sessions_replay_to_the_identical_views() {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("sessions");
    let writing = std::env::var("KEYWAY_GOLDENS").is_ok_and(|value| value == "write");
    for (name, play) in sessions() {
        let (log_file, text_file) = (folder.join(format!("{name}.log")), folder.join(format!("{name}.txt")));
        if writing {
            let bench = play();
            let bytes = encode(bench.log());
            let (text, last) = told(bench.log());
            assert_eq!(last, *bench.view(), "{name}: replayed and played differ");
            std::fs::create_dir_all(&folder).expect("the folder can be made");
            std::fs::write(&log_file, &bytes).expect("the log can be written");
            std::fs::write(&text_file, text).expect("the text can be written");
        }
        let bytes = std::fs::read(&log_file).expect("the log is there");
        assert!(bytes.len() < 100_000, "{name}: {} bytes", bytes.len());
        let log = decode(&bytes).expect("the log can be read");
        let kept = std::fs::read_to_string(&text_file).expect("the text is there");
        let (text, _) = told(&log);
        let first = kept.lines().zip(text.lines()).position(|(kept, now)| kept != now);
        assert!(kept == text, "{name}: line {first:?} differs; written anew by KEYWAY_GOLDENS=write");
    }
}

#[test]
fn a_session_just_played_replays_to_what_was_seen() {
    let spec = spec(Control::Computer);
    let mut bench = Bench::new(found(&spec, -7.0, |_| {}), &spec);
    bench.keep_log();
    bench.pass(1.0);
    let mut hands = Hands::new(Rotation::Clockwise, &[]);
    Hands::open_job(&mut bench);
    assert!(hands.work(&mut bench, Some(StepId::ClampDown), 200.0));
    let log = decode(&encode(bench.log())).expect("what was written can be read");
    assert_eq!(log, bench.log());
    let (text, last) = told(&log);
    assert_eq!(last, *bench.view());
    assert_eq!(text, told(bench.log()).0);
    assert!(text.lines().count() > 40, "{text}");
}
