//! Every reason for which no number is shown, reached from the defect it stands for; and engines for which
//! one must not be given.

use keyway_core::job::{ActiveEdge, SparkKind};
use keyway_core::reading::Withheld;
use keyway_tests::edge_source::{Ignition, Wheel};
use keyway_tests::jobs::{crank, wheel};
use keyway_tests::measure::{Measured, measure};
use keyway_tests::scene::Scene;

/// What is wrong with a reading that is to be withheld for this reason first; `None` where nothing is.
fn wrong(case: &str, measured: &Measured, reason: Withheld) -> Option<String> {
    let reading = &measured.report.reading;
    if measured.reason() != Some(reason) {
        return Some(format!("{case}: {:?} {:?}", reading.reasons, measured.signals));
    }
    let silent = reading.advance.is_none() && reading.uncertainty.is_none();
    (!silent || measured.report.judgement.verdict.is_some())
        .then(|| format!("{case}: a number beside a reason"))
}

/// Fails where anything was wrong.
fn none_wrong(wrong: &[String]) {
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
}

fn expect_given(case: &str, measured: &Measured) {
    assert!(measured.given(), "{case}: {:?} {:?}", measured.report.reading.reasons, measured.signals);
}

fn wheels() -> [Wheel; 5] {
    [wheel(60, 2), wheel(36, 1), wheel(24, 2), Wheel::Marks(vec![25.0]), Wheel::Marks(vec![0.0, 90.0, 200.0])]
}

#[test]
fn no_crank() {
    let mut wrong = Vec::new();
    for wheel in wheels() {
        let scene = Scene::idling(4, wheel.clone());
        let mut capture = scene.record(1);
        capture.edges.retain(|edge| edge.1 == keyway_core::edges::Channel::Spark);
        wrong.extend(crate::wrong(&format!("{wheel:?}"), &measure(&capture, &scene.job), Withheld::NoCrank));
    }
    none_wrong(&wrong);
}

#[test]
fn no_spark() {
    let mut wrong = Vec::new();
    for wheel in wheels() {
        let mut scene = Scene::idling(4, wheel.clone());
        scene.source.ignition.from_to = (0.0, 0.0);
        wrong.extend(crate::wrong(&format!("{wheel:?}"), &scene.measure(1), Withheld::NoSpark));
    }
    none_wrong(&wrong);
}

#[test]
fn pattern_mismatch_names_the_wheel_that_would_fit() {
    let wheels = [(60, 2), (36, 1), (36, 2), (24, 1), (24, 2), (12, 1), (12, 3), (120, 2), (4, 1)];
    let mut wrong = Vec::new();
    for (slots, missing) in wheels {
        for (other_slots, other_missing) in wheels {
            if (slots, missing) == (other_slots, other_missing) {
                continue;
            }
            let mut scene = Scene::idling(6, wheel(slots, missing));
            scene.job.crank = crank(&wheel(other_slots, other_missing));
            let measured = scene.measure(1);
            let found = measured.report.reading.wheel_found;
            if measured.reason() != Some(Withheld::PatternMismatch) || found != Some((slots, missing)) {
                wrong.push(format!(
                    "{slots}-{missing} for {other_slots}-{other_missing}: {:?}, found {found:?}",
                    measured.report.reading.reasons
                ));
            }
        }
    }
    none_wrong(&wrong);
}

#[test]
fn pattern_mismatch_between_a_wheel_and_marks() {
    let marks = [
        Wheel::Marks(vec![25.0]),
        Wheel::Marks(vec![0.0, 140.0]),
        Wheel::Marks(vec![0.0, 30.0, 75.0, 135.0, 170.0, 220.0, 260.0, 315.0]),
    ];
    let mut wrong = Vec::new();
    for marks in marks {
        for toothed in [wheel(60, 2), wheel(36, 1), wheel(12, 1)] {
            for (real, entered) in [(&marks, &toothed), (&toothed, &marks)] {
                let mut scene = Scene::idling(6, real.clone());
                scene.job.crank = crank(entered);
                let measured = scene.measure(1);
                if measured.reason() != Some(Withheld::PatternMismatch) {
                    wrong.push(format!(
                        "{real:?} for {entered:?}: {:?} {:?}",
                        measured.report.reading.reasons, measured.report.reading.advance
                    ));
                }
            }
        }
    }
    none_wrong(&wrong);
}

#[test]
fn unsteady() {
    let mut wrong = Vec::new();
    // Up and down through the idle band without a rest.
    let hunting: Vec<(f64, f64)> =
        (0..40).map(|step| (f64::from(step) * 0.3, if step % 2 == 0 { 500.0 } else { 1000.0 })).collect();
    for wheel in wheels() {
        let scene = Scene::turning(4, wheel.clone(), &hunting);
        wrong.extend(crate::wrong(&format!("{wheel:?}"), &scene.measure(1), Withheld::Unsteady));
    }
    none_wrong(&wrong);
}

#[test]
fn an_engine_that_hunts_within_its_idle_band_is_unsteady() {
    let mut wrong = Vec::new();
    for wheel in wheels() {
        for (half, depth) in [(0.6, 0.2), (1.0, 0.25), (1.5, 0.35)] {
            let hunting: Vec<(f64, f64)> = (0..160)
                .map(|step| f64::from(step) * 0.1)
                .map(|at| (at, 720.0 * (1.0 + depth * (std::f64::consts::PI * at / half).sin())))
                .collect();
            let scene = Scene::turning(4, wheel.clone(), &hunting);
            let case = format!("{wheel:?}, {depth} up and down in {half} s each");
            wrong.extend(crate::wrong(&case, &scene.measure(1), Withheld::Unsteady));
        }
    }
    none_wrong(&wrong);
}

#[test]
fn too_few_sparks() {
    let mut wrong = Vec::new();
    for wheel in wheels() {
        let mut scene = Scene::idling(4, wheel.clone());
        scene.source.seconds = 0.85;
        wrong.extend(crate::wrong(&format!("{wheel:?}"), &scene.measure(1), Withheld::TooFewSparks));
    }
    none_wrong(&wrong);
}

#[test]
fn interference_on_the_crank_channel() {
    let mut wrong = Vec::new();
    for wheel in wheels() {
        let mut scene = Scene::idling(4, wheel.clone());
        let teeth = match &wheel {
            Wheel::Teeth { slots, .. } => f64::from(*slots),
            Wheel::Marks(marks) => marks.len() as f64,
        };
        // As many false pulses as teeth, too long to be told by their length.
        scene.source.trigger.false_pulses = (teeth * 12.0, 150e-6, 400e-6);
        wrong.extend(crate::wrong(&format!("{wheel:?}"), &scene.measure(1), Withheld::Interference));
    }
    none_wrong(&wrong);
}

#[test]
fn interference_on_the_spark_channel() {
    let mut wrong = Vec::new();
    for wheel in wheels() {
        let mut scene = Scene::idling(4, wheel.clone());
        scene.source.ignition.strays = 15.0;
        wrong.extend(crate::wrong(&format!("{wheel:?}"), &scene.measure(1), Withheld::Interference));
    }
    none_wrong(&wrong);
}

#[test]
fn a_few_pulses_of_noise_are_no_wrong_number_of_sparks() {
    let mut wrong = Vec::new();
    for wheel in wheels() {
        let mut scene = Scene::idling(8, wheel.clone());
        // Three more in ten than this ignition makes, anywhere.
        scene.source.ignition.strays = 1.8;
        for seed in 1..=4 {
            let reasons = scene.measure(seed).report.reading.reasons;
            if reasons.contains(&Withheld::SparkRate) {
                wrong.push(format!("{wheel:?}, seed {seed}: {reasons:?}"));
            }
        }
    }
    none_wrong(&wrong);
}

#[test]
fn pickups_swapped() {
    let mut wrong = Vec::new();
    let more = [wheel(12, 3), wheel(4, 1), Wheel::Marks(vec![0.0, 140.0])];
    for wheel in wheels().into_iter().chain(more) {
        for cylinders in [4, 6, 8] {
            let scene = Scene::idling(cylinders, wheel.clone());
            let measured = measure(&scene.record(1).swapped(), &scene.job);
            wrong.extend(crate::wrong(
                &format!("{cylinders}, {wheel:?}"),
                &measured,
                Withheld::PickupsSwapped,
            ));
        }
    }
    none_wrong(&wrong);
}

#[test]
fn wrong_edge() {
    let mut wrong = Vec::new();
    // The other edge of a real wheel: two intervals of about two pitches in place of the gap (CHECKS.md 8.1).
    for (slots, missing) in [(60, 2), (36, 1), (36, 2), (24, 1), (24, 2), (120, 2)] {
        let mut scene = Scene::idling(4, wheel(slots, missing));
        scene.source.trigger.variable_reluctance = true;
        let pitch = 360.0 / f64::from(slots);
        scene.source.trigger.end_shift = (0.1 * pitch, 0.07 * pitch);
        expect_given(&format!("{slots}-{missing} on its own edge"), &scene.measure(1));
        scene.job.crank_edge = ActiveEdge::Falling;
        wrong.extend(crate::wrong(&format!("{slots}-{missing}"), &scene.measure(1), Withheld::WrongEdge));
    }
    none_wrong(&wrong);
}

#[test]
fn spark_rate_of_a_paired_coil_entered_as_single() {
    let mut wrong = Vec::new();
    for wheel in wheels() {
        let mut scene = Scene::idling(4, wheel.clone());
        scene.source.ignition.period = 360.0;
        scene.job.engine.spark = SparkKind::Single;
        (scene.job.engine.rotor, scene.job.engine.drive_gear_teeth) = (None, None);
        scene.job.engine.housing_diameter_mm = None;
        let measured = scene.measure(1);
        wrong.extend(crate::wrong(&format!("{wheel:?}"), &measured, Withheld::SparkRate));
        let rate = measured.report.reading.sparks_per_revolution.unwrap_or(0.0);
        assert!((rate - 1.0).abs() < 0.05, "{wheel:?}: {rate} sparks a turn");
    }
    none_wrong(&wrong);
}

#[test]
fn spark_rate_of_a_clamp_on_the_coil_lead() {
    let mut wrong = Vec::new();
    for wheel in wheels() {
        for cylinders in [4u8, 6, 8] {
            let mut scene = Scene::idling(cylinders, wheel.clone());
            let interval = 720.0 / f64::from(cylinders);
            scene.source.ignition.other_leads =
                (1..cylinders).map(|firing| f64::from(firing) * interval).collect();
            let measured = scene.measure(1);
            wrong.extend(crate::wrong(&format!("{cylinders}, {wheel:?}"), &measured, Withheld::SparkRate));
            let rate = f64::from(measured.report.reading.sparks_per_revolution.unwrap_or(0.0));
            assert!((rate / f64::from(cylinders) * 2.0 - 1.0).abs() < 0.05, "{wheel:?}: {rate} a turn");
        }
    }
    none_wrong(&wrong);
}

#[test]
fn outside_idle_band() {
    let mut wrong = Vec::new();
    for wheel in wheels() {
        for rpm in [1400.0, 480.0] {
            let scene = Scene::turning(4, wheel.clone(), &[(0.0, rpm)]);
            wrong.extend(crate::wrong(
                &format!("{wheel:?} at {rpm}"),
                &scene.measure(1),
                Withheld::OutsideIdleBand,
            ));
        }
    }
    none_wrong(&wrong);
}

fn moved(wheel: Wheel, by: f64, at: f64) -> Scene {
    let mut scene = Scene::idling(4, wheel);
    scene.source.ignition =
        Ignition::following(Box::new(move |seconds, _| if seconds < at { 10.0 } else { 10.0 + by }));
    scene.source.ignition.scatter = 0.3;
    scene
}

#[test]
fn setting_moved() {
    let mut missed = Vec::new();
    for wheel in wheels() {
        for by in [3.0, -3.0, 4.5, -8.0, 12.0, -16.0] {
            for at in [3.0, 4.4, 5.0, 7.0] {
                let measured = moved(wheel.clone(), by, at).measure(1);
                if measured.reason() != Some(Withheld::SettingMoved) {
                    missed
                        .push(format!("{wheel:?} by {by}° at {at} s: {:?}", measured.report.reading.reasons));
                }
            }
        }
    }
    assert!(missed.is_empty(), "{} of 120:\n{}", missed.len(), missed.join("\n"));
}

#[test]
fn a_setting_moved_while_the_speed_is_up_is_told_by_the_few_sparks_of_idle_after_it() {
    let (mut wrong, mut played) = (Vec::new(), 0);
    // Idle for five seconds, then up, and back for the last 0.8 s: four or five sparks.
    let speeds = [(5.0, 720.0), (5.6, 2400.0), (8.6, 2400.0), (9.2, 720.0)];
    for wheel in wheels() {
        for by in [0.0, 5.5, -6.0, 9.0] {
            let mut scene = Scene::turning(4, wheel.clone(), &speeds);
            scene.source.ignition =
                Ignition::following(Box::new(move |seconds, _| if seconds < 7.0 { 10.0 } else { 10.0 + by }));
            scene.source.ignition.scatter = 0.3;
            for seed in 0..10 {
                let measured = scene.measure(seed);
                let due = (by != 0.0).then_some(Withheld::SettingMoved);
                played += 1;
                if measured.reason() != due {
                    wrong.push(format!("{wheel:?} by {by}°: {:?}", measured.report.reading.reasons));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{} of {played}:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn a_worn_drive_is_not_a_moved_setting() {
    let mut wrong = Vec::new();
    for wheel in wheels() {
        for seed in 0..40 {
            let mut scene = Scene::idling(4, wheel.clone());
            scene.source.ignition.scatter = 1.7;
            let measured = scene.measure(seed);
            if !measured.given() {
                wrong.push(format!("{wheel:?} seed {seed}: {:?}", measured.report.reading.reasons));
            }
        }
    }
    assert!(wrong.is_empty(), "{} of 200:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn a_computer_that_steers_with_the_wander_is_not_a_moved_setting() {
    let mut wrong = Vec::new();
    for wheel in wheels() {
        for seed in 0..40 {
            let mut scene = Scene::idling(4, wheel.clone());
            let mut chance = keyway_tests::edge_source::Chance::new(seed);
            // A wander of 12 rpm answered by -0.13 degrees an rpm: about ±3°.
            scene.source.motion = keyway_tests::edge_source::Motion::steady(720.0, 200.0)
                .wandering(12.0, &mut chance)
                .rough(2.0, 0.5, &mut chance);
            scene.source.ignition = Ignition::following(Box::new(|_, rpm| 20.0 - 0.13 * (rpm - 720.0)));
            scene.source.ignition.scatter = 0.3;
            let measured = scene.measure(seed);
            if !measured.given() {
                wrong.push(format!("{wheel:?} seed {seed}: {:?}", measured.report.reading.reasons));
            }
        }
    }
    assert!(wrong.is_empty(), "{} of 200:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn a_healthy_engine_is_given_on_every_pattern() {
    for wheel in wheels() {
        for cylinders in [3, 4, 6, 8] {
            let scene = Scene::idling(cylinders, wheel.clone());
            for seed in 0..5 {
                let measured = scene.measure(seed);
                expect_given(&format!("{cylinders}, {wheel:?}, seed {seed}"), &measured);
            }
        }
    }
}
