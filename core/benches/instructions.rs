//! Counts the instructions of measuring on this machine: per crank edge, per spark, per report, per
//! judgement: `cargo bench -p keyway-core --bench instructions`.
//!
//! *Work*: so many turns, reports or judgements, behind a warm-up of the same length each time. Each work
//! is run twice in a process of its own under valgrind's callgrind, once twice as long: half of what the
//! longer run took more is the work, free of start and warm-up. Counts repeat exactly, so a budget can be
//! held; they say nothing of a Cortex-M0+, where a division or a float is a call. Without valgrind the
//! bench says so and ends well.

#![allow(clippy::unwrap_used, reason = "the job is known to be possible")]

use keyway_core::edges::{Channel, Edge, Level};
use keyway_core::job::{
    ActiveEdge, Calibration, Control, CrankSpec, EngineSpec, Job, JobSpec, Rotation, SparkKind, TimingSpec,
};
use keyway_core::judge::{Proven, judge};
use keyway_core::meter::Meter;
use keyway_core::panel::frame::Frame;
use keyway_core::panel::{Painter, draw};
use keyway_core::units::{Stamp, TURN, TickRate};
use keyway_core::view::{
    Bar, Correction, KeyLabel, LiveScreen, Quality, Screen, StepId, StepPlace, Value, ValueKind, View,
};
use std::hint::black_box;
use std::process::{Command, ExitCode};

/// Turns of the warm-up: sync, and a reading.
const WARM_UP: u32 = 300;
/// Ticks of a turn at 700 rpm, 0.1 µs each.
const TURN_TICKS: u64 = 857_143;

/// A kind of work, what one unit of it is, how many units the shorter run has, and the most that a unit
/// may take.
struct Work {
    name: &'static str,
    shown: &'static str,
    units: u32,
    budget: u64,
    run: fn(u32),
}

const WORKS: [Work; 9] = [
    Work {
        name: "edge-60-2",
        shown: "level change, 60-2 wheel, no spark waiting",
        units: 50 * 116,
        budget: 300,
        run: edge_60_2,
    },
    Work {
        name: "edge-one-mark",
        shown: "level change, one mark",
        units: 400 * 2,
        budget: 800,
        run: edge_one_mark,
    },
    Work {
        name: "edge-marks",
        shown: "level change, four marks",
        units: 100 * 8,
        budget: 1200,
        run: edge_marks,
    },
    Work {
        name: "turn-spark",
        shown: "two turns of a 60-2 wheel (232 level changes) and the spark on them",
        units: 25,
        budget: 120_000,
        run: sparks,
    },
    Work { name: "report", shown: "report, 60-2 wheel", units: 20, budget: 180_000, run: reports },
    Work { name: "judgement", shown: "judgement of a reading", units: 20, budget: 24_000, run: judgements },
    Work { name: "frame", shown: "whole frame of the live setting", units: 20, budget: 700_000, run: frames },
    Work {
        name: "frame-again",
        shown: "that frame once more as the hand turns",
        units: 20,
        budget: 600_000,
        run: frames_again,
    },
    Work {
        name: "frame-idle",
        shown: "that frame once more at idle",
        units: 20,
        budget: 150_000,
        run: frames_idle,
    },
];

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if let [flag, name, units] = arguments.as_slice()
        && flag == "--work"
    {
        let units = units.parse().unwrap_or(0);
        WORKS.iter().filter(|work| work.name == name).for_each(|work| (work.run)(units));
        return ExitCode::SUCCESS;
    }
    if Command::new("valgrind").arg("--version").output().is_err() {
        println!("instructions: left out, since valgrind was not found (apt-get install valgrind)");
        return ExitCode::SUCCESS;
    }
    let mut kept = true;
    println!("{:>10} {:>10}  instructions of one", "measured", "budget");
    for work in &WORKS {
        let (Some(once), Some(twice)) = (count(work.name, work.units), count(work.name, 2 * work.units))
        else {
            println!("valgrind gave no count for {}", work.name);
            return ExitCode::FAILURE;
        };
        let each = twice.saturating_sub(once) / u64::from(work.units);
        kept &= each <= work.budget;
        let broken = if each <= work.budget { "" } else { ": over its budget" };
        println!("{each:>10} {:>10}  {}{broken}", work.budget, work.shown);
    }
    if kept { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// Instructions that a whole process took.
fn count(name: &str, units: u32) -> Option<u64> {
    let output = Command::new("valgrind")
        .args(["--tool=callgrind", "--callgrind-out-file=/dev/null"])
        .arg(std::env::current_exe().ok()?)
        .args(["--work", name, &units.to_string()])
        .output()
        .ok()?;
    let text = String::from_utf8_lossy(&output.stderr).into_owned();
    let line = text.lines().find(|line| line.contains("Collected"))?;
    line.rsplit(' ').next()?.parse().ok()
}

/// The six of the sluice, idle at 700 rpm.
fn job(crank: CrankSpec) -> Job {
    let spec = JobSpec {
        name: heapless::String::try_from("Sluice six").unwrap(),
        engine: EngineSpec {
            cylinders: 6,
            strokes: 4,
            firing_order: heapless::Vec::from_slice(&[1, 5, 3, 6, 2, 4]).unwrap(),
            firing_intervals: None,
            spark: SparkKind::Distributor,
            rotor: Some(Rotation::Clockwise),
            reference: None,
            drive_gear_teeth: Some(13),
            housing_diameter_mm: None,
        },
        timing: TimingSpec {
            control: Control::Computer,
            base_btdc: 8.5,
            calibration: Calibration::Stock,
            extra: 0.0,
            commanded_btdc: None,
            tolerance: 1.0,
            harness_offset: 10.0,
            idle_rpm: [600.0, 900.0],
            supply_min_v: None,
        },
        crank,
        crank_edge: ActiveEdge::Rising,
        sensor_delay_us: 0.0,
        spark_edge: ActiveEdge::Rising,
        spark_delay_us: 0.0,
        base_mode: Some(true),
    };
    spec.build().unwrap()
}

fn wheel() -> CrankSpec {
    CrankSpec::Wheel { teeth: 60, missing: 2, first_edge_btdc: 120.0 }
}

fn marks(degrees: &[f32]) -> CrankSpec {
    CrankSpec::Marks(heapless::Vec::from_slice(degrees).unwrap())
}

/// The edges of one turn from its start, with or without a spark, which comes a little after slot 18.
fn turn_of(job: &Job, spark: bool) -> Vec<(u64, Channel, Level)> {
    let ticks = |fraction: u64| (fraction as f64 / TURN as f64 * TURN_TICKS as f64) as u64;
    let mut edges = Vec::new();
    let mut angle = 0;
    for slot in 0..job.pattern().count() {
        let span = job.pattern().span_after(slot);
        edges.push((ticks(angle), Channel::Crank, Level::High));
        edges.push((ticks(angle + (span / 2).min(TURN / 120)), Channel::Crank, Level::Low));
        angle += span;
    }
    if spark {
        let at = ticks(TURN * 1115 / 3600);
        edges.extend([(at, Channel::Spark, Level::High), (at + 4000, Channel::Spark, Level::Low)]);
    }
    edges.sort_by_key(|edge| edge.0);
    edges
}

/// A meter behind its warm-up, fed so many further turns.
fn turns(crank: CrankSpec, turns: u32, warm_sparks: bool, sparks: bool) -> Meter {
    let job = job(crank);
    let (with, without) = (turn_of(&job, true), turn_of(&job, false));
    let mut meter = Meter::new(job, TickRate::DESKTOP);
    for turn in 0..WARM_UP + turns {
        let sparks = if turn < WARM_UP { warm_sparks } else { sparks };
        let start = 100_000 + u64::from(turn) * TURN_TICKS;
        for (at, channel, level) in if sparks && turn % 2 == 0 { &with } else { &without } {
            let edge = Edge { channel: *channel, level: *level, at: Stamp((start + at) as u32) };
            meter.on_edge(black_box(edge));
            while let Some(record) = meter.next_spark() {
                black_box(record);
            }
        }
    }
    meter
}

fn edge_60_2(units: u32) {
    black_box(turns(wheel(), units / 116, false, false));
}

fn edge_one_mark(units: u32) {
    black_box(turns(marks(&[10.0]), units / 2, false, false));
}

fn edge_marks(units: u32) {
    black_box(turns(marks(&[60.0, -60.0, 180.0, 75.0]), units / 8, false, false));
}

fn sparks(units: u32) {
    black_box(turns(wheel(), units * 2, true, true));
}

fn reports(units: u32) {
    let meter = turns(wheel(), 0, true, true);
    for _ in 0..units {
        black_box(black_box(&meter).report());
    }
}

fn judgements(units: u32) {
    let meter = turns(wheel(), 0, true, true);
    let report = meter.report();
    assert!(report.reading.advance.is_some(), "{:?}", report.reading);
    let signature = meter.signature();
    for _ in 0..units {
        let judgement =
            judge(meter.job(), black_box(&report.reading), &signature, None, None, Proven::default());
        black_box(judgement);
    }
}

/// The live setting, with an advance of so many tenths of a degree.
fn live(tenths: u32) -> View {
    let advance = tenths as f32 / 10.0;
    let error = advance - 10.0;
    let mut view = View::start();
    view.bar = Bar {
        step: Some(StepPlace { id: StepId::Set, number: 11, of: 20 }),
        rpm: Some(700.0 + advance),
        in_idle_band: true,
        supply_v: Some(13.9),
        supply_low: false,
        quality: Quality::Good,
    };
    view.keys = [KeyLabel::Back, KeyLabel::Menu, KeyLabel::None, KeyLabel::None];
    view.screen = Screen::Live(LiveScreen {
        step: StepId::Set,
        value: Value::Shown { advance, doubt: 0.2, age_ms: 80, kind: ValueKind::Live, verdict: None },
        target: 10.0,
        bolt_moves: 0.0,
        tolerance: 1.0,
        error: Some(error),
        rate: 5.0,
        hold_percent: 0,
        correction: Some(Correction {
            crank_deg: -error,
            housing_deg: -0.5 * error,
            rim_mm: Some(-0.3 * error),
            turn: Some(Rotation::Counterclockwise),
        }),
        rotor_proven: Some(true),
    });
    view
}

fn frames(units: u32) {
    let mut frame = Frame::new();
    for unit in 0..units {
        let Ok(()) = draw(black_box(&live(32 + unit % 60)), &mut frame);
    }
    black_box(frame);
}

fn frames_again(units: u32) {
    let (mut painter, mut frame) = (Painter::new(), Frame::new());
    for unit in 0..units {
        let Ok(drawn) = painter.draw(black_box(&live(32 + unit % 60)), &mut frame);
        assert!(drawn);
    }
    black_box(frame);
}

/// An engine that idles: the speed wanders by whole turns, the value stays.
fn frames_idle(units: u32) {
    let (mut painter, mut frame) = (Painter::new(), Frame::new());
    for unit in 0..units {
        let mut view = live(32);
        view.bar.rpm = Some(700.0 + (unit % 9) as f32);
        let Ok(_) = painter.draw(black_box(&view), &mut frame);
    }
    black_box(frame);
}
