//! The usual mistakes, made on purpose: the guide stops, says why, and goes on once it is put right.

use keyway::guide_play::{Bench, Hands, Slip};
use keyway_core::job::{Control, Rotation};
use keyway_core::view::{Halt, StepId};

use crate::support::{Played, found, play, spec};

#[test]
fn a_link_that_was_not_changed_is_noticed() {
    let spec = spec(Control::Computer);
    let played = play(&spec, found(&spec, -7.0, |_| {}), &[Slip::LinkForgotten]);
    assert!(played.halted_for(|halt| matches!(halt, Halt::NoBaseStep { .. })), "{:?}", played.hands.halts);
    played.on_target(&spec);
}

#[test]
fn base_mode_lost_before_the_blip_is_noticed() {
    let spec = spec(Control::Computer);
    let played = play(&spec, found(&spec, -7.0, |_| {}), &[Slip::LinkLostBeforeBlip]);
    assert!(
        played.halted_for(|halt| matches!(halt, Halt::RisesWithSpeed { .. })),
        "{:?}",
        played.hands.halts
    );
    played.on_target(&spec);
}

#[test]
fn a_housing_turned_the_wrong_way_is_noticed_at_the_first_degree() {
    let spec = spec(Control::Computer);
    // Early, so that the wrong way makes it earlier still: later would stall this engine.
    let played = play(&spec, found(&spec, 6.0, |_| {}), &[Slip::WrongWay]);
    assert!(played.halted_for(|halt| matches!(halt, Halt::OtherWay { .. })), "{:?}", played.hands.halts);
    let record = played.on_target(&spec);
    assert_eq!(record.corrections.rotor, None);
}

#[test]
fn a_rotor_entered_wrong_is_found_and_kept_as_a_correction() {
    let mut entered = spec(Control::Computer);
    let engine = found(&entered, -7.0, |_| {});
    entered.engine.rotor = Some(Rotation::Counterclockwise);
    let mut bench = Bench::new(engine, &entered);
    let mut hands = Hands::new(Rotation::Clockwise, &[]);
    Hands::open_job(&mut bench);
    let ended = hands.work(&mut bench, None, 400.0);
    let played = Played { hands, bench, ended };
    let record = played.on_target(&entered);
    assert!(played.halted_for(|halt| matches!(halt, Halt::OtherWay { .. })));
    assert_eq!(record.corrections.rotor, Some(Rotation::Clockwise));
}

#[test]
fn a_setting_that_slips_under_the_bolt_is_noticed_and_set_again() {
    let spec = spec(Control::Computer);
    let played = play(&spec, found(&spec, -7.0, |_| {}), &[Slip::ClampSlips]);
    assert!(played.halted_for(|halt| matches!(halt, Halt::ClampMoved { .. })), "{:?}", played.hands.halts);
    played.on_target(&spec);
}

#[test]
fn a_bolt_that_moves_the_setting_each_time_is_led_by_as_much() {
    let mut spec = spec(Control::Computer);
    spec.timing.tolerance = 1.0;
    for shift in [-3.0, -1.3, 1.2, 2.5] {
        let played = play(&spec, found(&spec, -6.0, |case| case.setup.spark.bolt_shift = shift), &[]);
        let by = played.hands.halts.iter().find_map(|halt| match halt {
            Halt::ClampMoved { by } => Some(f64::from(*by)),
            _ => None,
        });
        assert!(by.is_some_and(|by| (by - shift).abs() < 0.6), "{shift}: {:?}", played.hands.halts);
        let clamped = played.hands.steps.iter().filter(|step| **step == StepId::ClampDown).count();
        assert_eq!(clamped, 2, "{shift}: {:?}", played.hands.steps);
        played.on_target(&spec);
    }
}

#[test]
fn speed_with_the_bolt_loose_is_stopped() {
    let spec = spec(Control::Computer);
    let played = play(&spec, found(&spec, -7.0, |_| {}), &[Slip::BlipWithBoltLoose]);
    assert!(played.halted_for(|halt| *halt == Halt::SpeedWithBoltLoose), "{:?}", played.hands.halts);
    played.on_target(&spec);
}

#[test]
fn control_that_was_not_given_back_is_noticed() {
    let spec = spec(Control::Computer);
    let played = play(&spec, found(&spec, -7.0, |_| {}), &[Slip::LinkLeftOut]);
    assert!(played.halted_for(|halt| matches!(halt, Halt::NotTakenBack { .. })), "{:?}", played.hands.halts);
    played.on_target(&spec);
    assert!(!played.bench.engine.controls().base_mode);
}

#[test]
fn a_stall_while_setting_is_gone_over() {
    let spec = spec(Control::Computer);
    let played = play(&spec, found(&spec, -7.0, |_| {}), &[Slip::Stall]);
    assert!(played.halted_for(|halt| *halt == Halt::EngineStopped), "{:?}", played.hands.halts);
    played.on_target(&spec);
}

#[test]
fn a_fixed_value_that_is_not_held_is_noticed() {
    let spec = spec(Control::Commanded);
    let played = play(&spec, found(&spec, 6.0, |_| {}), &[Slip::NotHeld]);
    assert!(
        played.halted_for(|halt| matches!(halt, Halt::RisesWithSpeed { .. })),
        "{:?}",
        played.hands.halts
    );
    played.on_target(&spec);
}

#[test]
fn a_clamp_on_another_lead_is_named_before_anything_is_turned() {
    let spec = spec(Control::Computer);
    let engine = found(&spec, -2.0, |case| case.controls.lead = keyway::engine::controls::Lead::Cylinder(5));
    let played = play(&spec, engine, &[]);
    assert!(played.halted_for(|halt| matches!(halt, Halt::OtherCause(_))), "{:?}", played.hands.halts);
    played.on_target(&spec);
}

#[test]
fn a_store_that_refuses_the_record_is_said_and_tried_again() {
    let spec = spec(Control::Computer);
    let mut bench = Bench::new(found(&spec, 0.2, |_| {}), &spec);
    let mut hands = Hands::new(Rotation::Clockwise, &[]);
    Hands::open_job(&mut bench);
    assert!(hands.work(&mut bench, Some(StepId::Disconnect), 300.0));
    bench.store_fails = true;
    for _ in 0..200 {
        if bench.view().halt == Some(Halt::StoreFailed) {
            break;
        }
        hands.work(&mut bench, None, 0.3);
    }
    assert!(bench.view().halt == Some(Halt::StoreFailed), "{:?} {:?}", hands.halts, bench.view());
    bench.store_fails = false;
    let ended = hands.work(&mut bench, None, 20.0);
    let played = Played { hands, bench, ended };
    played.on_target(&spec);
}
