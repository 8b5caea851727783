//! The published table of a rig with one mark a turn, through the core as a job with a single mark.
//!
//! Source: the blade-timing tutorial of the University of Pretoria (repository Bladesight/Bladesight,
//! chapter 3, `AoA_top_10.csv`; CHECKS.md 9.2): mark passages zc and event times ToA, with
//! Ω = 2π / (zc₁ − zc₀) and angle of arrival = Ω (ToA − zc₀): the speed is taken as steady between two
//! marks. The core also looks at the marks beyond and follows the change of speed, so each row is fed with
//! its two marks and a train of marks before and after at the same speed; then both must agree. With the
//! rig's own three marks the core differs by what the published formula leaves out, and by no more.

use keyway_core::edges::{Channel, Edge, Level};
use keyway_core::job::JobSpec;
use keyway_core::meter::Meter;
use keyway_core::units::{Stamp, TickRate};
use keyway_tests::edge_source::{Wheel, wrapped};
use keyway_tests::jobs;

const MARKS: [f64; 3] = [0.026957140355851235, 0.08970373839752528, 0.1522466686603348];

/// Event time in seconds, and the published angle of arrival in radians.
const ROWS: [(f64, f64); 8] = [
    (0.029746324270836684, 0.27929736337289174),
    (0.042335959826765, 1.5399714973748202),
    (0.054790029012313016, 2.787070574670798),
    (0.06735859776317925, 4.045635165778506),
    (0.07993797979939689, 5.305282554643587),
    (0.09248662808520214, 0.27957455021115835),
    (0.10505895452861981, 1.542615096191467),
    (0.11748871958626213, 2.7913336460530953),
];

/// A nanosecond a tick: 0.000006° at this speed.
const HERTZ: u32 = 1_000_000_000;

fn job() -> JobSpec {
    let mut job = jobs::job(4, &Wheel::Marks(vec![0.0]));
    job.timing.idle_rpm = [800.0, 1100.0];
    job
}

/// The angle after the mark, degrees, that the meter gives an event between these marks.
fn angle(marks: &[f64], event: f64) -> f64 {
    let tick = |seconds: f64| ((seconds + 0.5) * f64::from(HERTZ)).round() as u32;
    let mut edges: Vec<(u32, Channel, Level)> = Vec::new();
    for mark in marks {
        edges.push((tick(*mark), Channel::Crank, Level::High));
        edges.push((tick(mark + 0.001), Channel::Crank, Level::Low));
    }
    edges.push((tick(event), Channel::Spark, Level::High));
    edges.push((tick(event + 0.00002), Channel::Spark, Level::Low));
    edges.sort_by_key(|edge| edge.0);
    let rate = TickRate::from_hertz(HERTZ).expect("a rate in range");
    let mut meter = Meter::new(job().build().expect("a possible job"), rate);
    for (at, channel, level) in edges {
        meter.on_edge(Edge { channel, level, at: Stamp(at) });
    }
    meter.finish();
    let record = meter.next_spark().expect("the event is told");
    let advance = record.advance.unwrap_or_else(|| panic!("{record:?}"));
    (-f64::from(advance.degrees())).rem_euclid(360.0)
}

#[test]
fn the_published_angles_are_reproduced_to_a_ten_thousandth_of_a_degree() {
    for (event, published) in ROWS {
        let turn = if event < MARKS[1] { 0 } else { 1 };
        let (start, end) = (MARKS[turn], MARKS[turn + 1]);
        let marks: Vec<f64> = (-4..=5).map(|count| start + f64::from(count) * (end - start)).collect();
        let read = angle(&marks, event);
        let off = wrapped(read - published.to_degrees()).abs();
        assert!(off < 1e-4, "event at {event}: {read} for {}", published.to_degrees());
    }
}

#[test]
fn with_the_rigs_own_marks_the_core_differs_by_the_change_of_speed_alone() {
    let (first, second) = (MARKS[1] - MARKS[0], MARKS[2] - MARKS[1]);
    // Marks beyond the three go on as the nearest turn did.
    let mut marks: Vec<f64> = (1..5).rev().map(|count| MARKS[0] - f64::from(count) * first).collect();
    marks.extend(MARKS);
    marks.extend((1..5).map(|count| MARKS[2] + f64::from(count) * second));
    // A parabola through three marks lies off its chord by at most an eighth of the change of the turn.
    let most = 360.0 * (second / first - 1.0).abs() / 8.0;
    for (event, published) in ROWS {
        let off = wrapped(angle(&marks, event) - published.to_degrees());
        assert!(off.abs() < most + 1e-3, "event at {event}: {off}° of at most {most}°");
    }
    // The shaft speeds up, so midway through the turn it is behind where a steady speed has it.
    let midway = wrapped(angle(&marks, ROWS[2].0) - ROWS[2].1.to_degrees());
    assert!(midway < -0.02, "{midway}°");
}
