//! The usual mistakes on each kind of control that can have them: stopped before the bolt is touched where turning
//! would hide them, named with their reason, and gone on from once put right.

use keyway::engine::case::Case;
use keyway::engine::controls::Lead;
use keyway::guide_play::{Bench, Hands, Slip};
use keyway_core::job::{Control, Rotation};
use keyway_core::judge::CauseId;
use keyway_core::view::{CautionId, GateId, Halt, KeyLabel, Mark, Screen, StepId};

use crate::support::{Played, found, found_of, play, spec};

const KINDS: [Control; 3] = [Control::Computer, Control::Commanded, Control::Mechanical];

/// The guide stopped for this before the bolt was loosened.
fn before_the_bolt(played: &Played, wanted: impl Fn(&Halt) -> bool) -> bool {
    played.halted_before(StepId::Set).iter().any(wanted)
}

#[test]
fn a_clamp_on_another_lead_is_named_on_every_kind_of_control() {
    for control in KINDS {
        let spec = spec(control);
        let played = play(&spec, found(&spec, -2.0, |case| case.controls.lead = Lead::Cylinder(5)), &[]);
        let named = |halt: &Halt| *halt == Halt::OtherCause(CauseId::ClampOnOtherLead);
        assert!(before_the_bolt(&played, named), "{control:?}: {:?}", played.hands.halts);
        played.on_target(&spec);
    }
}

#[test]
fn a_clamp_turned_round_never_ends_in_a_record_whatever_its_charging_time() {
    let mut failed = Vec::new();
    for control in KINDS {
        for dwell_ms in [1.5, 3.0, 5.5] {
            for seed in [11, 12, 13] {
                let spec = spec(control);
                let turned = |case: &mut Case| {
                    case.controls.clamp_reversed = true;
                    case.setup.coils.dwell = dwell_ms * 1e-3;
                };
                let played = play(&spec, found_of(seed, &spec, -3.0, turned), &[]);
                let off = played.bench.engine.base_advance() - f64::from(played.target(&spec));
                let right = !played.bench.engine.controls().clamp_reversed;
                let named = played.halted_for(|halt| {
                    matches!(
                        halt,
                        Halt::OtherCause(CauseId::DwellStartSeen)
                            | Halt::MechanismOut
                            | Halt::RisesWithSpeed { .. }
                    )
                });
                println!("{control:?} {dwell_ms} ms seed {seed}: left {off:+.1}, {:?}", played.hands.halts);
                if !(played.ended && named && right && off.abs() <= 1.0) {
                    failed.push((control, dwell_ms, seed, off, played.hands.steps.last().copied()));
                }
            }
        }
    }
    assert!(failed.is_empty(), "{failed:?}");
}

#[test]
fn a_clamp_on_the_coils_lead_does_not_get_past_the_start() {
    for control in KINDS {
        let spec = spec(control);
        let engine = found(&spec, -4.0, |case| case.controls.lead = Lead::Coil);
        let mut bench = Bench::new(engine, &spec);
        let mut hands = Hands::new(Rotation::Clockwise, &[]);
        Hands::open_job(&mut bench);
        hands.work(&mut bench, None, 60.0);
        // It is counted anew every few seconds, and told as wrong each time.
        let mut rate = None;
        for _ in 0..100 {
            hands.work(&mut bench, None, 0.1);
            let Screen::Steps(steps) = bench.view().screen else { panic!("{control:?}: {:?}", bench.view()) };
            assert_eq!(steps.step, StepId::Start, "{control:?}");
            let sparks = steps.gates.iter().flatten().find(|line| line.gate == GateId::SparksRight);
            if let Some(line) = sparks.filter(|line| line.mark == Mark::Failed) {
                rate = line.value.and_then(|value| value.measured);
            }
        }
        assert!(rate.is_some_and(|rate| (rate - 3.0).abs() < 0.2), "it says how many: {rate:?}");
        bench.engine.controls_mut().lead = Lead::Cylinder(1);
        let ended = hands.work(&mut bench, None, 400.0);
        Played { hands, bench, ended }.on_target(&spec);
    }
}

#[test]
fn a_worn_drive_and_a_tooth_out_stop_before_the_bolt_is_touched() {
    use keyway::engine::fault::{Fault, FaultKind};
    for control in KINDS {
        for cause in [CauseId::WornDrive, CauseId::DriveToothOff] {
            let mut spec = spec(control);
            spec.engine.drive_gear_teeth = Some(26);
            let engine = found(&spec, 0.0, |case| {
                let fault = Fault { kind: FaultKind::Cause(cause), severity: 0.7 };
                *case = case.clone().with(fault).unwrap_or_else(|why| panic!("{why}"));
            });
            let mut bench = Bench::new(engine, &spec);
            let mut hands = Hands::new(Rotation::Clockwise, &[]);
            Hands::open_job(&mut bench);
            for _ in 0..400 {
                hands.work(&mut bench, Some(StepId::Read), 0.2);
                if hands.steps.last() == Some(&StepId::Read) {
                    break;
                }
            }
            bench.pass(12.0);
            let halt = bench.view().halt;
            assert_eq!(
                halt,
                Some(Halt::OtherCause(cause)),
                "{control:?}: {:?} {:?}",
                hands.halts,
                hands.steps
            );
            assert!(bench.engine.controls().bolt_tight);
            // The engine is stopped to mend it: what it was stopped for stays on the screen.
            bench.engine.controls_mut().ignition = false;
            bench.pass(5.0);
            assert_eq!(bench.view().halt, Some(Halt::OtherCause(cause)), "{control:?}");
        }
    }
}

#[test]
fn the_wrong_way_a_stall_and_speed_with_the_bolt_loose_are_noticed_on_every_kind_of_control() {
    type Case = (Slip, f64, fn(&Halt) -> bool);
    let cases: [Case; 3] = [
        (Slip::WrongWay, 5.0, |halt| matches!(halt, Halt::OtherWay { .. })),
        (Slip::Stall, 5.0, |halt| *halt == Halt::EngineStopped),
        (Slip::BlipWithBoltLoose, 5.0, |halt| *halt == Halt::SpeedWithBoltLoose),
    ];
    for control in [Control::Commanded, Control::Mechanical] {
        for (slip, off, wanted) in cases {
            let spec = spec(control);
            let played = play(&spec, found(&spec, off, |_| {}), &[slip]);
            assert!(played.halted_for(wanted), "{control:?} {slip:?}: {:?}", played.hands.halts);
            played.on_target(&spec);
        }
    }
}

#[test]
fn a_setting_that_slips_under_the_bolt_never_ends_off_target() {
    for control in [Control::Commanded, Control::Mechanical] {
        let spec = spec(control);
        let played = play(&spec, found(&spec, 5.0, |_| {}), &[Slip::ClampSlips]);
        // With an aftermarket computer the fine setting after the sweep takes it up.
        let seen = played.halted_for(|halt| matches!(halt, Halt::ClampMoved { .. }));
        assert!(seen || control == Control::Commanded, "{control:?}: {:?}", played.hands.halts);
        played.on_target(&spec);
    }
}

#[test]
fn a_computer_that_leaves_base_mode_while_it_is_set_is_caught_by_the_blip_after_the_clamp() {
    let spec = spec(Control::Computer);
    let played = play(&spec, found(&spec, -7.0, |_| {}), &[Slip::LinkLostWhileSetting]);
    assert!(
        played.halted_for(|halt| matches!(halt, Halt::RisesWithSpeed { .. } | Halt::ClampMoved { .. })),
        "{:?}",
        played.hands.halts
    );
    played.on_target(&spec);
}

#[test]
fn set_on_the_wrong_side_of_zero_is_named_on_every_kind_of_control() {
    for control in KINDS {
        let spec = spec(control);
        let target = spec.timing.commanded_btdc.unwrap_or(spec.timing.base_btdc);
        let played = play(&spec, found(&spec, f64::from(-2.0 * target), |_| {}), &[]);
        let record = played.on_target(&spec);
        let cause = record.cause.map(|(cause, _)| cause);
        assert_eq!(cause, Some(CauseId::SetAfterTdc), "{control:?} {:?}", record.cause);
    }
}

#[test]
fn a_dead_cylinder_and_a_weak_supply_stop_every_kind_of_control_before_anything_is_read() {
    for control in KINDS {
        let mut spec = spec(control);
        spec.timing.supply_min_v = Some(13.2);
        let dead = play(&spec, found(&spec, -5.0, |case| case.setup.fuel_share[2] = 0.0), &[]);
        let named = dead.halted_before(StepId::Read);
        assert!(named.contains(&Halt::DeadCylinder { cylinders: [3, 0] }), "{control:?}: {named:?}");
        dead.on_target(&spec);
        let weak = play(
            &spec,
            found(&spec, -5.0, |case| {
                case.setup.supply.accessory_amps = 4.0 * case.setup.supply.idle_amps;
                case.controls.accessory_load = 1.0;
            }),
            &[],
        );
        let named = weak.halted_before(StepId::Read);
        assert!(named.iter().any(|halt| matches!(halt, Halt::SupplyLow { .. })), "{control:?}: {named:?}");
        weak.on_target(&spec);
    }
}

#[test]
fn more_than_four_degrees_added_brings_its_caution_before_the_bolt() {
    for (extra, due) in [(3.0, false), (5.0, true)] {
        let mut spec = spec(Control::Computer);
        spec.timing.extra = extra;
        let mut bench = Bench::new(found(&spec, -4.0, |_| {}), &spec);
        let mut hands = Hands::new(Rotation::Clockwise, &[]);
        Hands::open_job(&mut bench);
        assert!(hands.work(&mut bench, Some(StepId::Set), 300.0));
        let mut seen = Vec::new();
        while let Screen::Caution { id, .. } = bench.view().screen {
            assert!(!bench.view().keys.contains(&KeyLabel::Next), "a caution is not gone past");
            seen.push(id);
            bench.key(3, true);
            bench.pass(0.8);
            bench.key(3, false);
            bench.pass(0.2);
        }
        assert_eq!(seen.contains(&CautionId::MoreThanFour), due, "{extra}: {seen:?}");
        // The hands have held the first of the step's own on their way.
        assert!(seen.contains(&CautionId::NoBlipLoose), "{seen:?}");
    }
}
