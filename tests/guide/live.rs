//! The value shown while the hand turns, while it rests, and once it is old.

use keyway::engine::controls::Lead;
use keyway::guide_play::{Bench, Hands};
use keyway_core::job::{Control, Rotation};
use keyway_core::view::{KeyLabel, LiveScreen, Screen, StepId, Value};

use crate::support::{found_of, spec};

/// At the live setting, its cautions acknowledged, the bolt loose and nobody at the housing.
fn setting(seed: u64, off: f64) -> Bench {
    let spec = spec(Control::Computer);
    let mut bench = Bench::new(found_of(seed, &spec, off, |_| {}), &spec);
    let mut hands = Hands::new(Rotation::Clockwise, &[]);
    Hands::open_job(&mut bench);
    assert!(hands.work(&mut bench, Some(StepId::Set), 300.0));
    bench.pass(1.0);
    while let Screen::Caution { .. } = bench.view().screen {
        bench.key(3, true);
        bench.pass(0.8);
        bench.key(3, false);
        bench.pass(0.2);
    }
    bench.engine.controls_mut().bolt_tight = false;
    bench.pass(3.0);
    bench
}

fn live(bench: &Bench) -> LiveScreen {
    match bench.view().screen {
        Screen::Live(live) => live,
        other => panic!("{other:?}"),
    }
}

fn shown(bench: &Bench) -> Option<(f64, u16)> {
    match live(bench).value {
        Value::Shown { advance, age_ms, .. } => Some((f64::from(advance), age_ms)),
        Value::Gathering { .. } | Value::Withheld { .. } => None,
    }
}

/// Truth: where the spark lies, degrees before top dead centre, with these engines' base at 10.
fn truth(bench: &Bench) -> f64 {
    bench.engine.base_advance()
}

/// The figure of the guide's issue: after a second of turning at 5 crank degrees per second the shown value
/// lags half a second at most.
#[test]
fn the_shown_value_follows_the_hand_within_half_a_second() {
    let mut worst: f64 = 0.0;
    for (seed, off, way) in
        [(30, -7.0, 1.0), (31, -7.0, 1.0), (32, -9.0, 1.0), (33, 8.0, -1.0), (34, 9.0, -1.0)]
    {
        let mut bench = setting(seed, off);
        for slice in 0..60 {
            bench.engine.controls_mut().housing_deg += way * 0.125;
            bench.pass(0.05);
            if slice >= 20
                && let Some((advance, _)) = shown(&bench)
            {
                worst = worst.max(way * (truth(&bench) - advance) / 5.0);
            }
        }
        // The hand stops: the value has arrived within a second and a half.
        bench.pass(1.5);
        let arrived = shown(&bench).map(|(advance, _)| (advance - truth(&bench)).abs());
        assert!(arrived.is_some_and(|off| off < 0.5), "{arrived:?}");
    }
    println!("worst lag {worst:.2} s");
    assert!(worst > 0.0 && worst <= 0.5, "{worst:.2} s");
}

/// DESIGN.md section 3: at steady idle the shown value jitters by 0.1 degrees or less (standard deviation).
#[test]
fn at_rest_neither_value_nor_keys_nor_screen_nor_sound_flicker() {
    for (seed, off) in [(40, -6.0), (41, 5.0), (42, 0.6)] {
        let mut bench = setting(seed, -7.0);
        bench.engine.controls_mut().housing_deg += (off + 7.0) / 2.0;
        bench.pass(5.0);
        let mut values = Vec::new();
        let mut faces = Vec::new();
        for _ in 0..400 {
            bench.pass(0.05);
            values.push(shown(&bench).expect("an idling engine has a value").0);
            let view = bench.view();
            faces.push((view.keys, view.inverted, bench.tone(), live(&bench).correction.map(|way| way.turn)));
        }
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
        let jitter = (squares / values.len() as f64).sqrt();
        println!("{off}: jitter {jitter:.3} degrees");
        assert!(jitter <= 0.1, "{off}: {jitter:.3}");
        let changes = faces.windows(2).filter(|pair| pair[0] != pair[1]).count();
        // Once on target for two seconds the screen turns dark and a key appears: no more than that.
        assert!(changes <= 12, "{off}: {changes} changes in 20 s");
        let flips = faces.windows(2).filter(|pair| (pair[0].0, pair[0].1) != (pair[1].0, pair[1].1)).count();
        assert!(flips <= 1, "{off}: keys or screen flipped {flips} times");
    }
}

#[test]
fn an_old_value_is_never_shown_as_a_new_one() {
    // The clamp falls off: the value ages in sight, and is gone before it is three seconds old.
    let mut bench = setting(50, -7.0);
    bench.engine.controls_mut().lead = Lead::Off;
    bench.engine.controls_mut().housing_deg += 3.0;
    let mut oldest = 0;
    for slice in 0..100 {
        bench.pass(0.05);
        match shown(&bench) {
            Some((_, age_ms)) => {
                oldest = oldest.max(age_ms);
                assert!(slice < 60, "still shown {slice} slices after the clamp fell off");
            }
            None => assert!(bench.view().keys[3] != KeyLabel::Next && !bench.view().inverted),
        }
    }
    assert!((1000..=2500).contains(&oldest), "{oldest} ms");
    // Back on, what is shown is the new setting from the first number on.
    bench.engine.controls_mut().lead = Lead::Cylinder(1);
    for _ in 0..80 {
        bench.pass(0.05);
        if let Some((advance, _)) = shown(&bench) {
            assert!((advance - truth(&bench)).abs() < 1.0, "{advance} at {}", truth(&bench));
        }
    }
    assert!(shown(&bench).is_some());
    // All leads fall off: no crank, no value.
    bench.clip(false);
    bench.pass(1.2);
    assert_eq!(shown(&bench), None);
}

#[test]
fn a_reading_taken_again_begins_from_nothing() {
    let spec = spec(Control::Computer);
    let mut bench = Bench::new(found_of(51, &spec, -7.0, |_| {}), &spec);
    let mut hands = Hands::new(Rotation::Clockwise, &[]);
    Hands::open_job(&mut bench);
    assert!(hands.work(&mut bench, Some(StepId::Read), 300.0));
    let reading = |bench: &Bench| match bench.view().screen {
        Screen::Reading(reading) => reading,
        other => panic!("{other:?}"),
    };
    while !bench.view().keys.contains(&KeyLabel::Again) {
        bench.pass(0.1);
    }
    assert!(reading(&bench).settled);
    bench.engine.controls_mut().housing_deg += 2.0;
    assert!(Hands::press(&mut bench, KeyLabel::Again));
    // From now on only numbers of the new setting.
    for _ in 0..100 {
        if let Value::Shown { advance, .. } = reading(&bench).value {
            assert!((f64::from(advance) - truth(&bench)).abs() < 1.0, "{advance} at {}", truth(&bench));
        }
        bench.pass(0.05);
    }
    assert!(matches!(reading(&bench).value, Value::Shown { .. }));
}
