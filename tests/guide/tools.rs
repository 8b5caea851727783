//! What lies beside the plain job: true zero, teaching the wheel, a no-start, engines that are not to be set.

use keyway::engine::controls::Lead;
use keyway::guide_play::{Bench, Hands, Slip};
use keyway_core::job::{Control, CrankSpec, JobSpec, Rotation, SparkKind};
use keyway_core::judge::CauseId;
use keyway_core::view::{Halt, KeyLabel, Mark, MenuItem, Screen, StepId, Value};
use keyway_core::words;

use crate::support::{Played, found, play, spec};

/// A job whose first edge was entered so many degrees too large.
fn entered_off(by: f32) -> JobSpec {
    let mut entered = spec(Control::Computer);
    if let CrankSpec::Wheel { first_edge_btdc, .. } = &mut entered.crank {
        *first_edge_btdc += by;
    }
    entered
}

/// The engine's own wheel is the one before it was entered wrong.
fn own_wheel(case: &mut keyway::engine::case::Case) {
    case.setup.wheel.pattern = spec(Control::Computer).crank;
}

/// CHECKS.md section 1 (computed there): at a stroke of 80 mm and a rod of 130 mm a stop 5 mm down is met
/// 25.39014 degrees either side of top dead centre.
const STOP_AT: f32 = 25.390_14;

#[test]
fn true_zero_by_a_piston_stop_puts_a_crept_mark_right() {
    // The ring has crept: its zero passes the pointer 2.5 degrees before true top dead centre, so what was
    // read off it is 2.5 degrees too small.
    let crept = 2.5;
    let entered = entered_off(-crept);
    let mut bench = Bench::new(found(&entered, -7.0, own_wheel), &entered);
    let mut hands = Hands::new(Rotation::Clockwise, &[]);
    // The eye reads tenths.
    let read = |degrees: f32| (degrees * 10.0).round() / 10.0;
    hands.stops = Some([read(STOP_AT - crept), read(-STOP_AT - crept)]);
    Hands::open_job(&mut bench);
    let ended = hands.work(&mut bench, None, 400.0);
    let played = Played { hands, bench, ended };
    let record = played.on_target(&entered);
    let zero = record.corrections.zero;
    assert!(zero.is_some_and(|zero| (zero.degrees - crept).abs() < 0.06 && zero.doubt > 0.3), "{zero:?}");
    assert_eq!(record.step(StepId::Zero), Mark::Proven);
    let before = record.before.map(|taken| taken.advance);
    assert!(before.is_some_and(|before| (before - 3.0).abs() < 1.0), "true degrees: {before:?}");
    assert!(played.hands.halts.is_empty(), "{:?}", played.hands.halts);
}

#[test]
fn a_wheel_entered_wrong_is_taught_and_the_job_ends_on_true_degrees() {
    let entered = entered_off(6.0);
    let mut bench = Bench::new(found(&entered, -7.0, own_wheel), &entered);
    let mut hands = Hands::new(Rotation::Clockwise, &[]);
    Hands::open_job(&mut bench);
    assert!(hands.work(&mut bench, Some(StepId::Ready), 200.0));
    assert!(Hands::press(&mut bench, KeyLabel::Menu) && Hands::choose(&mut bench, MenuItem::Teach));
    bench.clip_to_mark(true);
    for _ in 0..200 {
        bench.pass(0.1);
        if bench.view().keys.contains(&KeyLabel::Enter) {
            break;
        }
    }
    let Screen::Teach(teach) = bench.view().screen else { panic!("{:?}", bench.view()) };
    assert!(teach.found.is_some_and(|(found, doubt)| (found - 84.0).abs() <= doubt + 0.1), "{teach:?}");
    assert!(Hands::press(&mut bench, KeyLabel::Enter));
    bench.clip_to_mark(false);
    let ended = hands.work(&mut bench, None, 400.0);
    let played = Played { hands, bench, ended };
    let record = played.on_target(&entered);
    let wheel = record.corrections.wheel;
    assert!(wheel.is_some_and(|wheel| (wheel.degrees + 6.0).abs() < 0.2), "{wheel:?}");
    // It outlasts the job: the next one begins with it.
    let mut bench = played.bench;
    Hands::choose(&mut bench, MenuItem::Corrections);
    let Screen::Corrections(list) = bench.view().screen else { panic!("{:?}", bench.view()) };
    assert_eq!(list.lines.iter().flatten().count(), 1);
}

/// What the handheld shows after five seconds of cranking from the engine's menu.
fn cranked(off: f64, lead: Lead) -> keyway_core::view::Cranking {
    let spec = spec(Control::Computer);
    let engine = found(&spec, off, |case| {
        (case.standing, case.controls.fuel, case.controls.lead) = (true, false, lead);
    });
    let mut bench = Bench::new(engine, &spec);
    Hands::press(&mut bench, KeyLabel::Next);
    Hands::choose(&mut bench, MenuItem::ChooseEngine);
    Hands::press(&mut bench, KeyLabel::Select);
    bench.pass(0.2);
    assert!(Hands::choose(&mut bench, MenuItem::NoStart));
    bench.engine.controls_mut().starter = true;
    bench.pass(5.0);
    match bench.view().screen {
        Screen::Cranking(cranking) => cranking,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_no_start_is_told_by_the_advance_while_cranking() {
    // It sparks where it should (the computer's offset on top): timing is not why it does not start.
    let right = cranked(0.0, Lead::Cylinder(1));
    let Value::Shown { advance, doubt, verdict, .. } = right.value else { panic!("{right:?}") };
    assert!(!right.far_off && verdict.is_none(), "cranking gives no verdict: {right:?}");
    assert!((5.0..30.0).contains(&advance) && doubt > 0.5, "{right:?}");
    // The distributor went in half a turn out, two teeth out, or the leads one tower round.
    for (off, lead) in [(-55.4, Lead::Cylinder(1)), (0.0, Lead::Cylinder(5)), (180.0, Lead::Cylinder(1))] {
        let wrong = cranked(off, lead);
        assert!(wrong.far_off, "{off} {lead:?}: {wrong:?}");
    }
}

#[test]
fn a_dead_cylinder_is_found_before_anyone_turns_anything() {
    let spec = spec(Control::Computer);
    let played = play(&spec, found(&spec, -7.0, |case| case.setup.fuel_share[3] = 0.0), &[]);
    let found = played.hands.halts.iter().find_map(|halt| match halt {
        Halt::DeadCylinder { cylinders } => Some(*cylinders),
        _ => None,
    });
    assert_eq!(found, Some([4, 0]), "{:?}", played.hands.halts);
    // It is said at Ready, the engine is stopped for it, and only then anything is set.
    assert!(
        matches!(played.hands.halts.first(), Some(Halt::DeadCylinder { .. })),
        "{:?}",
        played.hands.halts
    );
    assert!(played.hands.steps.contains(&StepId::Set), "{:?}", played.hands.steps);
    played.on_target(&spec);
}

#[test]
fn a_weak_supply_is_mended_before_anything_is_read() {
    let mut spec = spec(Control::Computer);
    spec.timing.supply_min_v = Some(13.2);
    let engine = found(&spec, -7.0, |case| {
        case.setup.supply.accessory_amps = 4.0 * case.setup.supply.idle_amps;
        case.controls.accessory_load = 1.0;
    });
    let played = play(&spec, engine, &[]);
    assert!(matches!(played.hands.halts.first(), Some(Halt::SupplyLow { .. })), "{:?}", played.hands.halts);
    let record = played.on_target(&spec);
    assert_eq!(record.step(StepId::Ready), Mark::Told, "warm is told, the supply is proven");
}

#[test]
fn a_housing_that_sets_nothing_goes_back_on_its_mark_and_the_job_is_left() {
    let spec = spec(Control::Computer);
    // The crank times this spark, though the job says the distributor.
    let engine = found(&spec, -5.0, |case| case.setup.drive.times_spark = false);
    let played = play(&spec, engine, &[]);
    assert!(played.halted_for(|halt| *halt == Halt::NothingMoves), "{:?}", played.hands.halts);
    let record = played.record();
    assert!(record.left_early && record.after.is_none());
    let controls = played.bench.engine.controls();
    assert!(controls.bolt_tight && controls.housing_deg == 0.0 && !controls.base_mode);
}

#[test]
fn no_advance_above_idle_is_said_and_never_made_up_for_by_turning() {
    let spec_of = spec;
    let spec = spec_of(Control::Computer);
    let engine =
        found(&spec, -7.0, |case| (case.setup.spark.map_rate, case.setup.spark.steering) = (0.0, 0.0));
    let played = play(&spec, engine, &[]);
    assert!(played.halted_for(|halt| *halt == Halt::NoAdvanceAbove), "{:?}", played.hands.halts);
    assert_eq!(played.on_target(&spec).step(StepId::ControlBlip), Mark::Failed);

    let spec = spec_of(Control::Mechanical);
    let engine = found(&spec, 5.0, |case| case.setup.spark.mechanism.weights_rate = 0.0);
    let played = play(&spec, engine, &[]);
    assert!(played.halted_for(|halt| *halt == Halt::NoAdvanceAbove), "{:?}", played.hands.halts);
    played.on_target(&spec);
}

#[test]
fn the_curves_drawn_are_those_of_weights_and_vacuum() {
    let spec = spec(Control::Mechanical);
    let played = play(&spec, found(&spec, 5.0, |_| {}), &[]);
    let record = played.on_target(&spec);
    let weights = played.bench.engine.setup().spark.mechanism;
    let base = record.after.map_or(0.0, |after| after.advance);
    for (rpm, hundredths) in &record.curve_off {
        let above = (f64::from(*rpm) - weights.weights_start_rpm).max(0.0);
        let due = f64::from(base) + (weights.weights_rate * above / 1000.0).min(weights.weights_stop);
        let drawn = f64::from(*hundredths) / 100.0;
        assert!((drawn - due).abs() < 1.5, "{rpm} rpm: drawn {drawn}, due {due}: {:?}", record.curve_off);
    }
    let (on, off) = (record.curve_on.first(), record.curve_off.first());
    assert!(matches!((on, off), (Some(on), Some(off)) if on.1 - off.1 > 300), "{on:?} {off:?}");
}

#[test]
fn a_hose_left_off_shows_in_the_second_curve() {
    let spec = spec(Control::Mechanical);
    let played = play(&spec, found(&spec, 5.0, |_| {}), &[Slip::HoseLeftOff]);
    assert!(played.halted_for(|halt| *halt == Halt::NoAdvanceAbove), "{:?}", played.hands.halts);
    played.on_target(&spec);
    assert!(played.bench.engine.controls().hose_on);
}

#[test]
fn a_hose_left_on_or_a_clamp_turned_round_stops_before_the_bolt_is_touched() {
    let spec_of = spec;
    let spec = spec_of(Control::Mechanical);
    let played = play(&spec, found(&spec, 5.0, |_| {}), &[Slip::HoseLeftOn]);
    let named = [Halt::MechanismOut, Halt::OtherCause(CauseId::MechanismAdvancing)];
    let first = played.hands.halts.first();
    assert!(first.is_some_and(|halt| named.contains(halt)), "{:?}", played.hands.halts);
    played.on_target(&spec);

    let spec = spec_of(Control::Computer);
    let played = play(&spec, found(&spec, -3.0, |case| case.controls.clamp_reversed = true), &[]);
    // The first blip stops it: as the clamp alone, or as a rise that steering or the clamp would make, and says so.
    let named = match played.hands.halts.first() {
        Some(Halt::OtherCause(cause)) => *cause == CauseId::DwellStartSeen,
        Some(halt @ Halt::RisesWithSpeed { .. }) => {
            words::What(*halt).to_string().contains("or the clamp is turned round")
        }
        _ => false,
    };
    assert!(named, "{:?}", played.hands.halts);
    let blips = played.hands.steps.iter().take_while(|step| **step != StepId::Set);
    assert!(blips.clone().any(|step| *step == StepId::BaseBlip), "{:?}", played.hands.steps);
    played.on_target(&spec);
    assert!(!played.bench.engine.controls().clamp_reversed);
}

#[test]
fn what_was_said_to_be_entered_or_released_is_checked_by_what_is_measured() {
    let spec_of = spec;
    let spec = spec_of(Control::Commanded);
    let late = |case: &mut keyway::engine::case::Case| case.setup.spark.delay = 220e-6;
    let played = play(&spec, found(&spec, 4.0, late), &[Slip::DelayNotEntered]);
    assert!(played.halted_for(|halt| matches!(halt, Halt::DelayRemains { .. })), "{:?}", played.hands.halts);
    played.on_target(&spec);
    assert!(played.bench.engine.setup().spark.delay.abs() < 60e-6);

    let played = play(&spec, found(&spec, 4.0, |_| {}), &[Slip::StillHeld]);
    assert!(played.halted_for(|halt| matches!(halt, Halt::NotTakenBack { .. })), "{:?}", played.hands.halts);
    played.on_target(&spec);
    assert!(!played.bench.engine.controls().hold_fixed);

    let mut spec = spec;
    spec.engine.spark = SparkKind::Single;
    (spec.engine.rotor, spec.engine.housing_diameter_mm) = (None, None);
    let played =
        play(&spec, found(&spec, 5.0, |_| {}), &[Slip::ReferenceForgotten, Slip::ReferenceWrongSign]);
    let seen = &played.hands.halts;
    assert!(seen.contains(&Halt::ReferenceUnchanged) && seen.contains(&Halt::SignWrong), "{seen:?}");
    played.on_target(&spec);
}

#[test]
fn set_on_the_wrong_side_of_zero_or_without_base_mode_is_named_and_set_right() {
    let spec = spec(Control::Computer);
    for (off, cause) in [(-20.0, CauseId::SetAfterTdc), (-10.0, CauseId::SetOutOfBaseMode)] {
        let played = play(&spec, found(&spec, off, |_| {}), &[]);
        let record = played.on_target(&spec);
        assert_eq!(record.cause.map(|(cause, _)| cause), Some(cause), "{:?}", record.cause);
    }
}

#[test]
fn a_job_left_half_done_is_not_let_go_with_bolt_and_link_undone() {
    let spec = spec(Control::Computer);
    let mut bench = Bench::new(found(&spec, -7.0, |_| {}), &spec);
    let mut hands = Hands::new(Rotation::Clockwise, &[]);
    Hands::open_job(&mut bench);
    assert!(hands.work(&mut bench, Some(StepId::Set), 300.0));
    hands.work(&mut bench, Some(StepId::ClampDown), 8.0);
    assert!(Hands::press(&mut bench, KeyLabel::Menu) && Hands::choose(&mut bench, MenuItem::LeaveJob));
    let ended = hands.work(&mut bench, None, 60.0);
    let played = Played { hands, bench, ended };
    assert!(played.halted_for(|halt| *halt == Halt::BoltStillLoose), "{:?}", played.hands.halts);
    assert!(played.halted_for(|halt| *halt == Halt::LinkStillOut), "{:?}", played.hands.halts);
    let record = played.record();
    assert!(record.left_early);
    let controls = played.bench.engine.controls();
    assert!(controls.bolt_tight && !controls.base_mode);
}
