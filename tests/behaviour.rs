//! What a reading must hold to whatever the engine does: blips, lost and false edges, cranking, one mark.

use keyway_core::crank::Decoder;
use keyway_core::edges::{Change, Channel, Level, PulseFilter};
use keyway_core::reading::SparkRecord;
use keyway_core::units::{Instant, TickRate};
use keyway_tests::edge_source::{Capture, Motion, Ripple, Wheel, wrapped};
use keyway_tests::jobs::wheel;
use keyway_tests::measure::{Measured, measure, measure_looking_every};
use keyway_tests::scene::Scene;

const BLIP: [(f64, f64); 5] = [(0.0, 720.0), (3.0, 720.0), (3.7, 3000.0), (3.9, 3000.0), (5.4, 720.0)];

/// Degrees between a record's advance and where the crank truly was; `None` where it claims no angle.
fn error_of(record: &SparkRecord, capture: &Capture) -> Option<f64> {
    let advance = f64::from(record.advance?.degrees());
    Some(wrapped(advance - capture.advance_at(capture.seconds(record.at))).abs())
}

fn worst(measured: &Measured, capture: &Capture) -> f64 {
    measured.sparks.iter().filter_map(|record| error_of(record, capture)).fold(0.0, f64::max)
}

#[test]
fn a_blip_to_3000_rpm_moves_no_angle_on_a_toothed_wheel() {
    for (slots, missing) in [(60, 2), (36, 1), (36, 2), (24, 1), (120, 2)] {
        for (cylinders, first_btdc) in [(4, 84.0), (6, 150.0), (8, 20.0), (4, 0.0)] {
            let wheel = Wheel::Teeth { slots, missing, first_btdc };
            let scene = Scene::turning(cylinders, wheel, &BLIP);
            let capture = scene.record(5);
            let measured = measure(&capture, &scene.job);
            let fast = measured.sparks.iter().filter(|spark| spark.rpm > 2000.0).count();
            assert!(fast >= 10, "{slots}-{missing}: only {fast} sparks were placed in the blip");
            let worst = worst(&measured, &capture);
            assert!(worst <= 0.2, "{slots}-{missing}, first at {first_btdc}: off by {worst:.3}°");
        }
    }
}

#[test]
fn a_wrap_of_the_counter_inside_a_capture_changes_nothing() {
    for wheel in [wheel(60, 2), Wheel::Marks(vec![10.0]), Wheel::Marks(vec![0.0, 90.0, 200.0])] {
        let scene = Scene::idling(4, wheel.clone());
        let plain = scene.measure(3);
        let wrapping = scene.record(3).starting_at((1 << 32) - 41_234_567);
        let wrapped = measure(&wrapping, &scene.job);
        assert_eq!(plain.report, wrapped.report, "{wheel:?}");
        assert_eq!(plain.sparks.len(), wrapped.sparks.len());
        for (plain, wrapped) in plain.sparks.iter().zip(&wrapped.sparks) {
            assert_eq!((plain.advance, plain.fate), (wrapped.advance, wrapped.fate), "{wheel:?}");
        }
    }
}

/// The most turns that the decoder was out of sync after a fault; zero where it never fell out.
fn turns_without_sync(scene: &Scene, capture: &Capture, fault: f64) -> f64 {
    let job = scene.job.build().expect("a possible job");
    let rate = TickRate::DESKTOP;
    let mut filter = PulseFilter::new(rate);
    let mut decoder = Decoder::new(job.pattern(), (rate.ticks_per_turn(14_000.0)) as u32);
    let (mut synced, mut fell_out, mut longest) = (false, None, 0.0f64);
    for (ticks, channel, level) in &capture.edges {
        if *channel != Channel::Crank {
            continue;
        }
        let at = Instant::from_ticks(capture.start + ticks);
        let passed = filter.push(Change { at, level: *level });
        if let Some(change) = passed.filter(|change| change.level == Level::High) {
            decoder.on_edge(change.at);
            let now = capture.seconds(change.at);
            if synced && !decoder.in_sync() && now > fault {
                fell_out = Some(now);
            }
            if let Some(fell) = fell_out.take_if(|_| decoder.in_sync()) {
                let turned = capture.motion.degrees_at(now) - capture.motion.degrees_at(fell);
                longest = longest.max(turned / 360.0);
            }
            synced = decoder.in_sync();
        }
    }
    assert!(synced, "out of sync at the end");
    longest
}

fn patterns() -> Vec<Wheel> {
    let mut patterns: Vec<Wheel> = [(60, 2), (36, 1), (36, 2), (24, 2), (24, 1), (12, 1), (12, 3), (4, 1)]
        .map(|(s, m)| wheel(s, m))
        .into();
    patterns.extend([vec![25.0], vec![0.0, 140.0], vec![0.0, 90.0, 200.0]].map(Wheel::Marks));
    patterns.push(Wheel::Marks(vec![0.0, 30.0, 75.0, 135.0, 170.0, 220.0, 260.0, 315.0]));
    patterns
}

fn count(wheel: &Wheel) -> usize {
    match wheel {
        Wheel::Teeth { slots, missing, .. } => usize::from(slots - missing),
        Wheel::Marks(marks) => marks.len(),
    }
}

/// A quiet engine whose only fault is the one put in.
fn quiet(wheel: Wheel) -> Scene {
    let mut scene = Scene::idling(6, wheel);
    scene.source.motion =
        Motion::steady(720.0, 200.0).rippled(&[Ripple { order: 3.0, swing: 0.02, phase: 1.0 }]);
    scene.source.seconds = 2.0;
    scene
}

#[test]
fn one_lost_edge_never_gives_a_wrong_angle_and_sync_is_back_within_two_turns() {
    let mut wrong = Vec::new();
    for wheel in patterns() {
        let clean = quiet(wheel.clone());
        let bound = 0.5 + worst(&clean.measure(1), &clean.record(1));
        for slot in 0..count(&wheel) {
            let mut scene = quiet(wheel.clone());
            scene.source.trigger.lose = vec![10 * count(&wheel) + slot];
            let capture = scene.record(1);
            let measured = measure(&capture, &scene.job);
            let off = worst(&measured, &capture);
            let blind = turns_without_sync(&scene, &capture, 10.0 / 12.0);
            if off > bound || blind > 2.01 || measured.sparks.is_empty() {
                wrong.push(format!("{wheel:?} slot {slot}: off {off:.2}°, blind for {blind:.1} turns"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn one_false_edge_never_gives_a_wrong_angle_and_sync_is_back_within_two_turns() {
    let mut wrong = Vec::new();
    for wheel in patterns() {
        let clean = quiet(wheel.clone());
        let bound = 0.5 + worst(&clean.measure(1), &clean.record(1));
        let steps = (count(&wheel) * 4).max(48);
        for step in 0..steps {
            for length in [12e-6, 120e-6, 400e-6] {
                let mut scene = quiet(wheel.clone());
                // One turn at 720 rpm lasts a twelfth of a second.
                let at = (10.0 + step as f64 / steps as f64) / 12.0;
                scene.source.trigger.pulses = vec![(at, length)];
                let capture = scene.record(1);
                let measured = measure(&capture, &scene.job);
                let off = worst(&measured, &capture);
                let blind = turns_without_sync(&scene, &capture, at);
                if off > bound || blind > 2.01 {
                    wrong.push(format!(
                        "{wheel:?} at {at:.5} s, {length}: off {off:.2}°, blind {blind:.1} turns"
                    ));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{} cases:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn a_look_at_the_clock_between_two_edges_changes_nothing() {
    let mut wrong = Vec::new();
    let near_each_other = Wheel::Marks(vec![10.0, 75.0]);
    for wheel in patterns().into_iter().chain([near_each_other]) {
        for (rpm, swing) in [(150.0, 0.15), (450.0, 0.08), (720.0, 0.05), (3000.0, 0.01)] {
            let mut scene = Scene::idling(6, wheel.clone());
            let ripple = Ripple { order: 3.0, swing, phase: 1.0 };
            scene.source.motion = Motion::steady(rpm, 200.0).rippled(&[ripple]).cranking();
            let capture = scene.record(5);
            let unwatched = measure(&capture, &scene.job);
            for seconds in [0.05, 0.0031, 0.0007] {
                let watched = measure_looking_every(seconds, &capture, &scene.job);
                let (looked, plain) = (watched.signals.crank, unwatched.signals.crank);
                let same = looked.losses == plain.losses && looked.turns_verified == plain.turns_verified;
                if !same || watched.report.reading.advance != unwatched.report.reading.advance {
                    wrong
                        .push(format!("{wheel:?} at {rpm} rpm, every {seconds} s: {looked:?} for {plain:?}"));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{} cases:\n{}", wrong.len(), wrong.join("\n"));
}

/// What is wrong with a reading at this cranking speed; `None` where nothing is.
fn wrong_while_cranking(cylinders: u8, rpm: f64, swing: f64, phase: f64, wheel: &Wheel) -> Option<String> {
    let mut scene = Scene::idling(cylinders, wheel.clone());
    let ripple = Ripple { order: f64::from(cylinders) / 2.0, swing, phase };
    scene.source.motion = Motion::steady(rpm, 200.0).rippled(&[ripple]).cranking();
    let capture = scene.record(8);
    let measured = measure(&capture, &scene.job);
    let case = format!("{cylinders} cylinders at {rpm} rpm on {wheel:?}, phase {phase}");
    if !measured.given() {
        return Some(format!("{case}: {:?}", measured.report.reading.reasons));
    }
    let (error, doubt) = ((measured.advance() - capture.centre()).abs(), measured.uncertainty());
    let verdict = measured.report.judgement.verdict;
    let at_idle = Scene::idling(cylinders, wheel.clone()).measure(8).uncertainty();
    (verdict.is_some() || error > doubt || doubt <= at_idle)
        .then(|| format!("{case}: off {error:.2} ± {doubt:.2} (idle {at_idle:.2}), {verdict:?}"))
}

fn cranked(cases: &[(u8, f64, f64)]) -> Vec<String> {
    let wheels = [wheel(60, 2), wheel(36, 1), wheel(24, 1), Wheel::Marks(vec![15.0])];
    let mut wrong = Vec::new();
    for (cylinders, rpm, swing) in cases {
        for wheel in &wheels {
            for phase in [0.0, 1.5, 3.0, 4.5] {
                wrong.extend(wrong_while_cranking(*cylinders, *rpm, *swing, phase, wheel));
            }
        }
    }
    wrong
}

#[test]
fn cranking_gives_a_number_with_a_wide_doubt_and_no_verdict() {
    // Swings of a fifth of the speed either way: no source.
    let wrong = cranked(&[(8, 150.0, 0.2), (4, 200.0, 0.2), (6, 110.0, 0.2), (4, 280.0, 0.2)]);
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_v8_that_swings_from_85_to_225_rpm_while_it_is_cranked_gives_a_number() {
    // Published of a high-compression V8 at a mean of 150 rpm (CHECKS.md 7.3).
    let wrong = cranked(&[(8, 150.0, 0.47)]);
    // Falls short: on 24 slots one phase of the swing is followed, but reads by a twentieth of a degree outside its ±.
    keyway_tests::falls_short_by(1, &wrong, 16);
}

#[test]
fn a_mark_near_the_spark_is_doubted_less_than_one_far_away() {
    let doubt = |mark: f64| Scene::idling(4, Wheel::Marks(vec![mark])).measure(2).uncertainty();
    let doubts: Vec<f64> = [10.0, 15.0, 20.0, 30.0, 45.0, 70.0, 95.0].map(doubt).into();
    assert!(doubts.is_sorted_by(|near, far| near < far), "{doubts:?}");
    assert!(doubts[0] < 0.5 && doubts[6] > 2.0 * doubts[1], "{doubts:?}");
}

#[test]
fn the_bias_of_a_rough_four_lies_inside_the_doubt_of_a_single_mark() {
    // 710 to 860 rpm within a turn: worst bias 0.9° at 10° from the mark, 1.8° at 20°, 5.2° at 84° (DESIGN.md
    // section 3, from the published swing).
    let mut outside = 0;
    let mut widest = [0.0f64; 3];
    for (index, (away, published)) in [(10.0, 0.9), (20.0, 1.8), (84.0, 5.2)].into_iter().enumerate() {
        for step in 0..24 {
            let mut scene = Scene::idling(4, Wheel::Marks(vec![10.0 + away]));
            let ripple = Ripple { order: 2.0, swing: 0.094, phase: f64::from(step) * 0.2618 };
            scene.source.motion = Motion::steady(800.0, 200.0).rippled(&[ripple]);
            let capture = scene.record(step as u64);
            let measured = measure(&capture, &scene.job);
            let error = (measured.advance() - capture.centre()).abs();
            widest[index] = widest[index].max(error);
            outside += usize::from(error > measured.uncertainty());
        }
        // The source makes the published bias, so that the count below means something.
        assert!((widest[index] - published).abs() < 0.25 * published, "{away}: {:.2}", widest[index]);
    }
    // The bound goes into the ± (DESIGN.md section 3): no phase of the published engine is outside.
    assert!(outside == 0, "{outside} of 72 outside");
}

/// Standard deviation of the true sparks, degrees.
fn scatter_of(capture: &Capture) -> f64 {
    let count = capture.sparks.len() as f64;
    let mean = capture.sparks.iter().map(|spark| spark.advance).sum::<f64>() / count;
    let squares: f64 = capture.sparks.iter().map(|spark| (spark.advance - mean).powi(2)).sum();
    (squares / (count - 1.0)).sqrt()
}

#[test]
fn a_reading_settles_at_idle_in_a_second_and_to_a_quarter_degree_in_three() {
    let (mut slow, mut tried, mut wilder) = (Vec::new(), 0, 0);
    for seed in 0..40 {
        for (slots, missing) in [(60, 2), (36, 1), (24, 1)] {
            let mut scene = Scene::turning(6, wheel(slots, missing), &[(0.0, 700.0)]);
            let mut at = |seconds: f64| {
                scene.source.seconds = seconds;
                let capture = scene.record(seed);
                // What the meter says at that moment, without being told that the capture ends.
                let mut meter = keyway_tests::measure::meter(&scene.job);
                capture.stamped().for_each(|edge| meter.on_edge(edge));
                (meter.report().reading, capture)
            };
            let (first, _) = at(1.5);
            let (third, capture) = at(3.0);
            let doubt = third.uncertainty.unwrap_or(f32::INFINITY);
            let error = third
                .advance
                .map_or(f64::INFINITY, |advance| (f64::from(advance.degrees()) - capture.centre()).abs());
            // The figure holds at a scatter of 0.3° or less (DESIGN.md section 8): some three seconds scatter more.
            let sharp = doubt <= 0.25 || scatter_of(&capture) > 0.3;
            tried += 1;
            wilder += usize::from(scatter_of(&capture) > 0.3);
            if first.advance.is_none() || error > 0.25 || !sharp {
                let scatter = scatter_of(&capture);
                slow.push(format!(
                    "{slots}-{missing} seed {seed}: {error:.2} ± {doubt:.2}, scatter {scatter:.2}"
                ));
            }
        }
    }
    assert!(wilder * 2 <= tried, "{wilder} of {tried} scatter by more than the figure speaks of");
    assert!(slow.is_empty(), "{} of {tried}:\n{}", slow.len(), slow.join("\n"));
}
