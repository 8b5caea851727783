//! The edges of the engine's pickups: placed exactly, and with the traits of real sensors.

mod support;

use keyway::engine::case::Case;
use keyway::engine::pickups::tooth::{EndTeeth, Sensor};
use keyway::engine::truth::Record;
use keyway_core::edges::{Channel, Level};
use keyway_core::job::{Control, SparkKind};
use support::{job, marks, wheel};

fn rising(record: &Record) -> Vec<f64> {
    record
        .levels
        .iter()
        .filter(|level| level.1 == Channel::Crank && level.2 == Level::High)
        .map(|level| level.0 as f64 * 1e-9)
        .collect()
}

/// CHECKS 8.1 (real 60-2 wheel): the good edge shows a gap of 3.08 to 3.36 pitches, the bad edge two
/// intervals of 1.65 to 2.4 and never one of 3.
#[test]
fn the_capture_of_a_coil_shows_the_gap_on_one_edge_only() {
    let gaps = |reversed: bool| {
        let spec = job(6, 4, SparkKind::Distributor, Control::Computer);
        let mut case = Case::healthy(spec, 5).expect("a job");
        case.setup.wheel.reversed = reversed;
        case.setup.wheel.end_teeth = EndTeeth::GrowingWithSpeed;
        case.seconds = 3.0;
        let edges = rising(&case.run());
        let spans: Vec<f64> = edges.windows(2).map(|pair| pair[1] - pair[0]).collect();
        // Against the median of 13 spans around.
        (6..spans.len() - 6)
            .map(|at| {
                let mut around = spans[at - 6..=at + 6].to_vec();
                around.sort_by(f64::total_cmp);
                spans[at] / around[6]
            })
            .filter(|ratio| *ratio > 1.5)
            .collect::<Vec<f64>>()
    };
    let good = gaps(false);
    assert!(good.len() > 30 && good.iter().all(|ratio| (3.0..3.45).contains(ratio)), "{good:?}");
    let bad = gaps(true);
    assert!(bad.len() > 60 && bad.iter().all(|ratio| (1.5..2.5).contains(ratio)), "{bad:?}");
}

#[test]
fn an_edge_is_placed_to_a_ten_thousandth_of_a_degree() {
    let mut spec = job(4, 4, SparkKind::Single, Control::Computer);
    spec.crank = wheel(120, 1, 60.0);
    let mut case = Case::healthy(spec, 9).expect("a job");
    let ideal = &mut case.setup.wheel;
    ideal.sensor = Sensor::Hall;
    ideal.end_teeth = EndTeeth::InPlace;
    (ideal.tooth_error, ideal.run_out, ideal.jitter) = (0.0, 0.0, 0.0);
    case.setup.inertia = 0.08;
    let mut engine = case.engine();
    let mut record = Record::from(engine.time());
    engine.run_until(engine.time() + 5.0, &mut record);
    let edges = rising(&record);
    // Teeth stand 3 degrees apart from 60 degrees before top dead centre on: on the grid of the
    // record, which the integration gives without any interpolation.
    let mut compared = 0;
    for (at, angle) in &record.crank {
        if (angle + 60.0).rem_euclid(360.0) > 356.0 {
            continue;
        }
        let at = *at as f64 * 1e-9;
        let nearest = edges.iter().map(|edge| (edge - at).abs()).fold(f64::MAX, f64::min);
        if at > 0.05 && at < 4.95 {
            assert!(nearest * 6.0 * 900.0 < 1e-4, "{angle}: {nearest} s");
            compared += 1;
        }
    }
    assert!(compared > 500);
    // And a spark between two teeth, by the cubic through the four teeth around it.
    let mut checked = 0;
    for spark in &record.sparks {
        let at = spark.at as f64 * 1e-9;
        let after = edges.partition_point(|edge| *edge < at);
        if after < 2 || after + 2 > edges.len() {
            continue;
        }
        let near = &edges[after - 2..after + 2];
        if near.windows(2).any(|pair| pair[1] - pair[0] > 1.5 * (near[2] - near[1])) {
            continue;
        }
        let inside: f64 = (0..4)
            .map(|own| {
                let others = (0..4).filter(|other| *other != own);
                3.0 * own as f64
                    * others.map(|other| (at - near[other]) / (near[own] - near[other])).product::<f64>()
            })
            .sum();
        let tooth = (spark.angle + 60.0).rem_euclid(3.0) + 3.0;
        assert!((inside - tooth).abs() < 1e-3, "{inside} {tooth}");
        checked += 1;
    }
    assert!(checked > 20);
}

#[test]
fn one_mark_a_turn_passes_once_a_turn() {
    let mut spec = job(8, 4, SparkKind::Distributor, Control::Computer);
    spec.crank = marks(&[10.0]);
    let mut case = Case::healthy(spec, 3).expect("a job");
    case.seconds = 5.0;
    let record = case.run();
    let turns = (record.crank.last().expect("angles").1 - record.crank.first().expect("angles").1) / 360.0;
    assert!((rising(&record).len() as f64 - turns).abs() <= 1.1, "{turns}");
}

/// Rising edges at the spark clamp, ns.
fn fronts(case: &Case) -> (Vec<u64>, f64) {
    let record = case.run();
    let turns = (record.crank.last().expect("angles").1 - record.crank[0].1) / 360.0;
    let clamped = |level: &&(u64, Channel, Level)| level.1 == Channel::Spark && level.2 == Level::High;
    (record.levels.iter().filter(clamped).map(|level| level.0).collect(), turns)
}

fn quiet(cylinders: u8, strokes: u8, spark: SparkKind) -> Case {
    let spec = job(cylinders, strokes, spark, Control::Commanded);
    let mut case = Case::healthy(spec, 6).expect("a job");
    case.setup.clamp.ringing = 0.0;
    case
}

/// CHECKS 8.3: a wasted spark gives a pulse every 360 degrees.
#[test]
fn each_kind_of_coil_sparks_as_often_as_it_should() {
    for (cylinders, strokes, spark, rate) in [
        (4, 4, SparkKind::Single, 0.5),
        (4, 4, SparkKind::Distributor, 0.5),
        (4, 4, SparkKind::Paired, 1.0),
        (1, 4, SparkKind::Paired, 1.0),
        (3, 4, SparkKind::Paired, 1.0),
        (2, 2, SparkKind::Distributor, 1.0),
    ] {
        let (fronts, turns) = fronts(&quiet(cylinders, strokes, spark));
        let found = fronts.len() as f64 / turns;
        assert!((found - rate).abs() < 0.02, "{cylinders} {strokes} {spark:?}: {found}");
    }
}

#[test]
fn further_strikes_follow_the_first_at_their_spacing_and_only_at_low_speed() {
    let mut case = quiet(4, 4, SparkKind::Single);
    case.setup.coils.strikes = 3;
    let (at_idle, _) = fronts(&case);
    let close = |fronts: &[u64]| {
        fronts.windows(2).filter(|pair| (1_150_000..1_250_000).contains(&(pair[1] - pair[0]))).count()
    };
    assert!(close(&at_idle).abs_diff(at_idle.len() * 2 / 3) <= 2, "{} of {}", close(&at_idle), at_idle.len());
    case.setup.intake.target_rpm = 2000.0;
    assert_eq!(close(&fronts(&case).0), 0);
}

#[test]
fn declared_delays_are_in_the_capture_and_nowhere_else() {
    let with = |delay: f32| {
        let mut spec = job(6, 4, SparkKind::Single, Control::Computer);
        (spec.sensor_delay_us, spec.spark_delay_us) = (delay, 2.0 * delay);
        let mut case = Case::healthy(spec, 6).expect("a job");
        case.setup.clamp.delay_jitter = 0.0;
        case.setup.clamp.ringing = 0.0;
        case.run()
    };
    let (without, delayed) = (with(0.0), with(40.0));
    assert_eq!(without.sparks, delayed.sparks, "the truth is the same");
    for (channel, late) in [(Channel::Crank, 40_000_i64), (Channel::Spark, 80_000)] {
        let times = |record: &Record| -> Vec<u64> {
            record.levels.iter().filter(|level| level.1 == channel).map(|level| level.0).collect()
        };
        let (before, after) = (times(&without), times(&delayed));
        let first = after.iter().position(|at| at.abs_diff(before[20] + late as u64) < 3).expect("the edge");
        let matched = before[20..].iter().zip(&after[first..]).take(20);
        for (early, later) in matched {
            assert!((*later as i64 - *early as i64 - late).abs() < 3, "{channel:?}");
        }
    }
}
