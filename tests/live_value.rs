//! The value that follows the hand: quick while it turns, still while it stands, never old.

use keyway_core::meter::Meter;
use keyway_core::reading::LiveValue;
use keyway_tests::edge_source::{Capture, Ignition, wrapped};
use keyway_tests::jobs::wheel;
use keyway_tests::measure::meter;
use keyway_tests::scene::Scene;

/// Ten times a second, as a screen would ask: (seconds, value).
fn shown(scene: &Scene, capture: &Capture) -> Vec<(f64, Option<LiveValue>)> {
    let mut meter: Meter = meter(&scene.job);
    let mut shown = Vec::new();
    let mut edges = capture.stamped().zip(&capture.edges).peekable();
    for tenth in 1..=(scene.source.seconds * 10.0) as u32 {
        let now = f64::from(tenth) / 10.0;
        while let Some((edge, _)) = edges.next_if(|(_, (ticks, ..))| *ticks as f64 <= now * 1e7) {
            meter.on_edge(edge);
        }
        meter.poll(capture.instant(now).stamp());
        shown.push((now, meter.live(capture.instant(now))));
    }
    shown
}

fn degrees(value: &LiveValue) -> f64 {
    f64::from(value.advance.degrees())
}

/// Turned at 5 crank degrees a second from 4 s on.
fn turning(from: f64, rate: f64, until: f64) -> Scene {
    let mut scene = Scene::idling(6, wheel(36, 1));
    scene.source.ignition = Ignition::following(Box::new(move |seconds, _| {
        from + rate * (seconds - 4.0).clamp(0.0, until - 4.0)
    }));
    scene.source.ignition.scatter = 0.2;
    scene
}

#[test]
fn after_a_second_of_turning_the_shown_value_lags_less_than_half_a_second() {
    let mut lags = Vec::new();
    for seed in 0..20 {
        for rate in [5.0, -5.0] {
            let scene = turning(10.0, rate, 7.0);
            let capture = scene.record(seed);
            for (now, value) in shown(&scene, &capture).iter().filter(|(now, _)| (5.0..=7.0).contains(now)) {
                let value = value.expect("a value is shown while the hand turns");
                let hand = 10.0 + rate * (now - 4.0);
                lags.push((hand - degrees(&value)) / rate);
            }
        }
    }
    lags.sort_by(f64::total_cmp);
    let slow = lags.iter().filter(|lag| **lag >= 0.5).count();
    let (median, worst) = (lags[lags.len() / 2], lags[lags.len() - 1]);
    assert!(
        slow == 0,
        "{slow} of {} shown values lag half a second or more; median {median:.2} s, worst {worst:.2} s",
        lags.len()
    );
}

#[test]
fn at_steady_idle_the_shown_value_jitters_by_a_tenth_of_a_degree_or_less() {
    let mut spreads = Vec::new();
    for seed in 0..20 {
        let mut scene = Scene::idling(6, wheel(36, 1));
        scene.source.ignition.scatter = 0.2;
        scene.source.seconds = 30.0;
        let capture = scene.record(seed);
        let values: Vec<f64> = shown(&scene, &capture)
            .iter()
            .filter(|(now, _)| *now > 3.0)
            .map(|(_, value)| degrees(&value.expect("a value is shown at idle")))
            .collect();
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
        spreads.push((squares / values.len() as f64).sqrt());
    }
    let widest = spreads.iter().copied().fold(0.0, f64::max);
    assert!(widest <= 0.1, "the widest of {} jitters by {widest:.3}°", spreads.len());
}

#[test]
fn steady_idle_is_hardly_ever_called_a_movement() {
    let (mut moving, mut all) = (0, 0);
    for seed in 0..20 {
        let mut scene = Scene::idling(6, wheel(36, 1));
        scene.source.ignition.scatter = 0.2;
        scene.source.seconds = 30.0;
        let capture = scene.record(seed);
        for (_, value) in shown(&scene, &capture) {
            let Some(value) = value else { continue };
            all += 1;
            moving += usize::from(value.degrees_per_second != 0.0);
        }
    }
    assert!(moving * 50 <= all, "{moving} of {all} values were called moving");
}

#[test]
fn a_turn_is_told_from_noise_within_a_second() {
    for seed in 0..20 {
        for rate in [5.0, -5.0] {
            let scene = turning(10.0, rate, 7.0);
            let capture = scene.record(seed);
            for (now, value) in shown(&scene, &capture).iter().filter(|(now, _)| (5.0..=6.9).contains(now)) {
                let told = value.expect("a value is shown").degrees_per_second;
                let right = f64::from(told) / rate;
                assert!((0.5..1.5).contains(&right), "seed {seed} at {now} s: {told} for {rate}");
            }
        }
    }
}

#[test]
fn the_value_stands_where_the_hand_stopped() {
    for seed in 0..20 {
        let scene = turning(4.0, 5.0, 5.2);
        let capture = scene.record(seed);
        let shown = shown(&scene, &capture);
        for (now, value) in shown.iter().filter(|(now, _)| *now >= 7.2) {
            let off = wrapped(degrees(&value.expect("a value is shown")) - 10.0).abs();
            assert!(off <= 0.4, "seed {seed} at {now} s: off by {off:.2}°");
        }
    }
}

#[test]
fn a_setting_that_jumps_is_shown_where_it_is_within_a_second_and_a_half() {
    // As a clamp bolt moves it, or a hand that knocks it: at once, between two sparks.
    let mut late = Vec::new();
    for seed in 0..20 {
        for jump in [-4.0, -1.2, 1.2, 2.5, 10.0] {
            let mut scene = turning(10.0, jump / 0.05, 4.05);
            scene.source.seconds = 8.0;
            let capture = scene.record(seed);
            for (now, value) in shown(&scene, &capture).iter().filter(|(now, _)| *now >= 5.6) {
                let off = wrapped(degrees(&value.expect("a value is shown")) - 10.0 - jump).abs();
                if off > 0.4 {
                    late.push(format!("seed {seed}, jump of {jump}°, at {now} s: off by {off:.2}°"));
                }
            }
        }
    }
    assert!(late.is_empty(), "{}", late.join("\n"));
}

#[test]
fn an_old_value_is_never_shown_after_the_sparks_stop() {
    let mut scene = Scene::idling(6, wheel(36, 1));
    scene.source.ignition.from_to = (0.0, 5.0);
    let capture = scene.record(1);
    let shown = shown(&scene, &capture);
    assert!(shown.iter().any(|(now, value)| *now < 5.0 && value.is_some()));
    for (now, value) in shown.iter().filter(|(now, _)| *now > 6.6) {
        assert!(value.is_none(), "at {now} s: {value:?}");
    }
}

#[test]
fn no_value_is_shown_from_before_the_sparks_came_back_elsewhere() {
    let mut scene = Scene::idling(6, wheel(36, 1));
    // Silence from 4 s to 6 s, then 8° later: the old value may not hold the new one back.
    scene.source.ignition = Ignition::following(Box::new(|at, _| if at < 5.0 { 10.0 } else { 2.0 }));
    scene.source.ignition.scatter = 0.2;
    let mut capture = scene.record(1);
    let silent = 40_000_000..60_000_000;
    capture
        .edges
        .retain(|(at, channel, _)| *channel == keyway_core::edges::Channel::Crank || !silent.contains(at));
    for (now, value) in shown(&scene, &capture) {
        if now > 6.0
            && let Some(value) = value
        {
            assert!((degrees(&value) - 2.0).abs() < 1.0, "at {now} s: {:.2}", degrees(&value));
        }
    }
}
