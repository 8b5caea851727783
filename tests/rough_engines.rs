//! Engines that turn unevenly, and sparks that are not what they seem: few cylinders, uneven firing, charging that takes
//! long, a computer that steers by turns gone by.

use heapless::Vec as List;
use keyway_core::edges::{Channel, Level};
use keyway_core::judge::CauseId;
use keyway_core::reading::{SparkFate, Withheld};
use keyway_tests::edge_source::{Capture, Chance, Ignition, Motion, Ripple, Wheel};
use keyway_tests::jobs::wheel;
use keyway_tests::measure::measure;
use keyway_tests::scene::Scene;

/// Half the swing of a rough four's speed times its order (published in "Doing the Twist"): at equal torque and inertia
/// a swing falls with its order.
const ROUGH_SWING_TIMES_ORDER: f64 = 0.094 * 2.0;

fn intervals(scene: &mut Scene, degrees: &[f32]) {
    scene.job.engine.firing_intervals = List::from_slice(degrees).ok();
}

#[test]
fn the_doubt_of_marks_holds_the_slowest_swing_of_firing_that_is_uneven() {
    // A six at 90 and 150 degrees swings 1.5 times a turn: its two firings add up to this part there.
    let together = (1.5 * 90.0f64 / 2.0).to_radians().cos().abs();
    let swing = ROUGH_SWING_TIMES_ORDER / 1.5 * together;
    let (mut outside, mut tried) = (Vec::new(), 0);
    for marks in [vec![-127.8, 164.4], vec![-99.2, 122.9], vec![-138.1, 113.7], vec![60.0]] {
        for step in 0..12 {
            let mut scene = Scene::idling(6, Wheel::Marks(marks.clone()));
            intervals(&mut scene, &[90.0, 150.0].repeat(3));
            let ripple = Ripple { order: 1.5, swing, phase: f64::from(step) * core::f64::consts::TAU / 12.0 };
            scene.source.motion = Motion::steady(720.0, 200.0).rippled(&[ripple]);
            let capture = scene.record(step as u64);
            let measured = measure(&capture, &scene.job);
            let (error, doubt) = ((measured.advance() - capture.centre()).abs(), measured.uncertainty());
            tried += 1;
            if error > doubt {
                outside.push(format!("{marks:?}, phase {step}: off {error:.2} ± {doubt:.2}"));
            }
        }
    }
    assert!(outside.len() * 20 <= tried, "{} of {tried}:\n{}", outside.len(), outside.join("\n"));
}

#[test]
fn no_turn_is_left_out_where_every_other_one_is_as_slow_as_a_starters() {
    for rpm in [360.0, 380.0, 390.0, 400.0, 420.0] {
        for swing in [0.01, 0.03, 0.06] {
            let mut scene = Scene::idling(2, wheel(24, 2));
            intervals(&mut scene, &[270.0, 450.0]);
            scene.job.timing.idle_rpm = [300.0, 500.0];
            let ripple = Ripple { order: 0.5, swing, phase: 1.0 };
            scene.source.motion = Motion::steady(rpm, 200.0).rippled(&[ripple]);
            let measured = scene.measure(1);
            let turns = rpm / 60.0 * scene.source.seconds;
            let counted = f64::from(measured.signals.crank.turns_verified);
            assert!(counted > turns - 4.0, "{rpm} rpm, {swing}: {counted} of {turns:.0}");
            assert!(measured.given(), "{rpm} rpm, {swing}: {:?}", measured.report.reading.reasons);
        }
    }
}

#[test]
fn a_single_mark_is_trusted_where_one_cylinder_makes_every_other_turn_longer() {
    for (mark, phase) in [(20.0, 0.0), (5.0, 0.8), (5.0, 1.6), (-18.0, 2.4), (20.0, 3.2)] {
        let mut scene = Scene::idling(1, Wheel::Marks(vec![mark]));
        let mut chance = Chance::new(3);
        let ripple = Ripple { order: 0.5, swing: 0.09, phase };
        scene.source.motion = Motion::steady(720.0, 200.0).wandering(10.0, &mut chance).rippled(&[ripple]);
        let capture = scene.record(1);
        let measured = measure(&capture, &scene.job);
        let used = measured.report.reading.sparks_used as usize;
        assert!(used + 6 >= capture.sparks.len(), "{mark}°, {phase}: {used} of {}", capture.sparks.len());
        let (error, doubt) = ((measured.advance() - capture.centre()).abs(), measured.uncertainty());
        assert!(error <= doubt, "{mark}°, {phase}: off {error:.2} ± {doubt:.2}");
    }
}

/// After each strike, the start of charging, the spark itself: so many seconds later, and it rings.
fn with_sparks_after(mut capture: Capture, charging: f64) -> Capture {
    for spark in &capture.sparks {
        for ring in 0..4 {
            let at = ((spark.seconds + charging + f64::from(ring) * 80e-6) * 1e7) as u64;
            capture.edges.extend([(at, Channel::Spark, Level::High), (at + 100, Channel::Spark, Level::Low)]);
        }
    }
    capture.edges.sort_by_key(|edge| edge.0);
    capture
}

#[test]
fn the_start_of_charging_is_told_over_a_blip_though_the_spark_after_it_rings() {
    // Charging takes 1 to 6 ms (common practice, no source).
    for (cylinders, milliseconds) in [(4, 3.0), (4, 5.5), (6, 4.5), (6, 5.5)] {
        let charging = milliseconds * 1e-3;
        let blip = [(0.0, 720.0), (4.0, 720.0), (4.7, 2500.0), (5.0, 2500.0), (6.4, 720.0)];
        let mut scene = Scene::turning(cylinders, wheel(36, 1), &blip);
        scene.source.ignition = Ignition::following(Box::new(move |_, rpm| 10.0 + 6.0 * rpm * charging));
        scene.source.ignition.scatter = 0.15;
        let capture = with_sparks_after(scene.record(2), charging);
        let measured = measure(&capture, &scene.job);
        let case = format!("{cylinders} cylinders, {milliseconds} ms");
        let trend = measured.report.trend.expect("a trend over the blip");
        let due = 6.0 * milliseconds;
        assert!((f64::from(trend.deg_per_1000rpm) - due).abs() < 2.0, "{case}: {trend:?}, due {due}");
        let strays = measured.sparks.iter().filter(|spark| spark.fate == SparkFate::Stray).count();
        assert_eq!(strays, 0, "{case}");
        let first = &measured.report.judgement.causes[0];
        assert_eq!(first.id, CauseId::DwellStartSeen, "{case}: {:?}", measured.report.judgement.causes);
    }
}

#[test]
fn a_computer_that_steers_by_the_turns_before_the_spark_is_found_out() {
    let (mut missed, seeds) = (Vec::new(), 12);
    for seed in 0..seeds {
        let mut scene = Scene::idling(6, wheel(36, 1));
        let mut chance = Chance::new(seed);
        let motion = Motion::steady(720.0, 200.0).wandering(8.0, &mut chance);
        let heard = motion.clone();
        // A turn and a half ago, on the mean.
        let steered = move |at: f64, _: f64| 10.0 - 0.025 * (heard.rpm_at(at - 0.125) - 720.0);
        scene.source.motion = motion;
        scene.source.ignition = Ignition::following(Box::new(steered));
        scene.source.ignition.scatter = 0.25;
        scene.job.base_mode = None;
        let measured = scene.measure(seed);
        let first = &measured.report.judgement.causes[0];
        if first.id != CauseId::NotInBaseMode {
            missed.push(format!("seed {seed}: {:?}", measured.report.judgement.causes));
        }
    }
    assert!(missed.len() <= 1, "{} of {seeds}:\n{}", missed.len(), missed.join("\n"));
}

#[test]
fn a_few_edges_of_the_crank_before_it_fell_silent_are_no_sparks_on_its_lead() {
    for ringing in [0, 2, 5] {
        for marks in 3..8u64 {
            let mut scene = Scene::idling(3, Wheel::Marks(vec![0.0]));
            scene.source.ignition.ringing = ringing;
            let mut capture = scene.record(1);
            let kept = 40_000_000..40_000_000 + marks * 833_333;
            capture.edges.retain(|edge| edge.1 == Channel::Spark || kept.contains(&edge.0));
            let measured = measure(&capture, &scene.job);
            assert_eq!(measured.reason(), Some(Withheld::NoCrank), "{marks} marks: {:?}", measured.signals);
        }
    }
}

#[test]
fn cranking_is_no_part_of_what_the_advance_does_with_speed() {
    let start = [(0.0, 180.0), (2.0, 180.0), (2.5, 720.0)];
    let mut scene = Scene::turning(6, wheel(60, 2), &start);
    // An ignition of its own while the starter turns.
    let setting = |_, rpm| if rpm < 350.0 { 4.0 } else { 10.0 };
    scene.source.ignition = Ignition::following(Box::new(setting));
    scene.source.ignition.scatter = 0.2;
    let measured = scene.measure(1);
    let trend = measured.report.trend;
    assert!(trend.is_none_or(|trend| trend.rpm_low >= 300.0), "{trend:?}");
    assert_eq!(measured.report.judgement.causes[0].id, CauseId::Healthy);
}
