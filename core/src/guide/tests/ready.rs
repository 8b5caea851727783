//! Making safe and getting ready: cautions, gates that open by measurement, what stops before a reading.

use super::*;

#[test]
fn every_step_has_a_way_back_and_a_way_to_leave_with_what_is_known() {
    for control in KINDS {
        for with in [true, false] {
            let build = || {
                job(control, |spec| {
                    if !with {
                        coils(spec);
                    }
                })
            };
            for (place, step) in steps(&build()).iter().enumerate() {
                let mut desk = Desk::of(build(), *step);
                desk.pass(100);
                assert!(desk.press(KeyLabel::Back), "{control:?} {step:?} has no way back");
                let back = desk.step();
                let now = steps(&desk.job).iter().position(|one| *one == back);
                assert!(now < Some(place) || place == 0, "{step:?} back to {back:?}");
                let mut desk = Desk::of(build(), *step);
                desk.guide.leave(&Now { job: &desk.job, sensed: &desk.sensed });
                assert_eq!(desk.step(), StepId::Finish);
                assert!(desk.guide.facts().left_early);
            }
        }
    }
}

#[test]
fn a_caution_opens_its_step_only_when_its_key_is_held() {
    let job = job(Control::Computer, |_| {});
    let mut desk = Desk { guide: Guide::new(&job, Corrections::default()), job, sensed: Sensed::default() };
    desk.pass(100);
    let first = desk.screen();
    assert!(
        matches!(first, Screen::Caution { id: CautionId::LabelFirst, number: 1, of: 5, .. }),
        "{first:?}"
    );
    for _ in 0..10 {
        desk.press(KeyLabel::Understood);
        desk.pass(100);
    }
    assert!(matches!(desk.screen(), Screen::Caution { id: CautionId::LabelFirst, .. }));
    for _ in 0..5 {
        desk.guide.key(3, &Now { job: &desk.job, sensed: &desk.sensed });
        desk.pass(700);
        desk.guide.key_up();
    }
    assert!(matches!(desk.screen(), Screen::Steps(_)), "{:?}", desk.screen());
}

#[test]
fn silence_of_a_trigger_that_never_spoke_is_told_and_never_proof() {
    let mut desk = Desk::at(Control::Computer, StepId::MakeSafe);
    desk.stands();
    desk.pass(5000);
    assert_eq!(desk.guide.facts().gate(GateId::EngineStands), Mark::Open);
    assert!(desk.press(KeyLabel::Done));
    assert_eq!(desk.guide.facts().gate(GateId::EngineStands), Mark::Told);

    let mut desk = Desk::at(Control::Computer, StepId::StopEngine);
    desk.pass(100);
    desk.stands();
    desk.pass(2500);
    assert_eq!(desk.guide.facts().gate(GateId::EngineStands), Mark::Proven);
}

#[test]
fn what_keeps_people_safe_can_not_be_skipped() {
    let mut desk = Desk::at(Control::Computer, StepId::MakeSafe);
    desk.stands();
    for _ in 0..5 {
        desk.pass(100);
        assert!(!desk.press(KeyLabel::Skip));
        assert!(!desk.press(KeyLabel::Next));
        desk.press(KeyLabel::Done);
    }
    assert!(desk.press(KeyLabel::Next));
    assert_eq!(desk.step(), StepId::Connect);
}

#[test]
fn ready_waits_for_what_is_measured_and_calls_out_a_gate_that_closes_again() {
    let mut desk = Desk::at(Control::Computer, StepId::Ready);
    desk.pass(3000);
    assert_eq!(desk.guide.facts().gate(GateId::IdleInBand), Mark::Proven);
    assert_eq!(desk.guide.facts().gate(GateId::SupplyHealthy), Mark::Proven);
    assert!(!desk.press(KeyLabel::Next), "warm is not told yet");
    assert!(desk.press(KeyLabel::Done));
    assert!(!desk.press(KeyLabel::Done), "the cylinders are still being weighed");
    desk.sensed.known.balanced = true;
    desk.pass(100);
    desk.sensed.rpm = Some(1200.0);
    desk.pass(100);
    assert_eq!(desk.guide.alarm(), Some(Alarm::GateLost(GateId::IdleInBand)));
    assert_eq!(desk.guide.heard(&Now { job: &desk.job, sensed: &desk.sensed }), Heard::GateLost);
    assert!(!desk.press(KeyLabel::Next));
    desk.sensed.rpm = Some(750.0);
    desk.pass(4000);
    assert!(desk.press(KeyLabel::Next));
    assert_eq!(desk.step(), StepId::Steered);
}

#[test]
fn cylinders_that_were_not_weighed_after_a_while_may_be_told_to_work() {
    let mut desk = Desk::at(Control::Computer, StepId::Ready);
    desk.pass(9000);
    assert!(desk.press(KeyLabel::Done));
    assert!(desk.press(KeyLabel::Done));
    assert!(desk.press(KeyLabel::Next));
    assert_eq!(desk.step(), StepId::Steered);
}

#[test]
fn a_weak_supply_stops_ready_until_it_is_mended() {
    let mut desk = Desk::at(Control::Computer, StepId::Ready);
    desk.sensed.known.supply = Some(12.1);
    // The starter's draw is still in the mean.
    desk.pass(1500);
    assert_eq!(desk.guide.halt(), None);
    desk.pass(1500);
    assert!(matches!(desk.guide.halt(), Some(Halt::SupplyLow { .. })));
    desk.sensed.known.supply = Some(13.9);
    desk.pass(500);
    assert_eq!(desk.guide.halt(), None);
}

#[test]
fn a_dead_cylinder_stops_ready_and_brings_its_caution() {
    let mut desk = Desk::at(Control::Computer, StepId::Ready);
    desk.guide = Guide::resumed(&desk.job, Facts::default(), StepId::Ready);
    desk.sensed.known.balanced = true;
    desk.sensed.known.weak = [4, 0];
    desk.pass(500);
    assert_eq!(desk.guide.halt(), Some(Halt::DeadCylinder { cylinders: [4, 0] }));
    assert!(matches!(desk.screen(), Screen::Caution { id: CautionId::DeadCylinder, .. }));
}

#[test]
fn what_was_read_while_cranking_is_held_as_such_until_the_engine_runs() {
    let mut desk = Desk::at(Control::Computer, StepId::MakeSafe);
    desk.guide.open_side(Side::NoStart);
    let value = |desk: &Desk| match desk.screen() {
        Screen::Cranking(cranking) => (cranking.value, cranking.far_off),
        other => panic!("{other:?}"),
    };
    desk.reads(-50.0);
    (desk.sensed.known.cranking, desk.sensed.rpm) = (true, Some(180.0));
    desk.pass(1000);
    assert!(matches!(value(&desk), (Value::Shown { kind: ValueKind::Cranking, .. }, true)));
    desk.stands();
    desk.sensed.known.fade(Withheld::NoCrank);
    desk.pass(1000);
    assert!(matches!(value(&desk), (Value::Shown { kind: ValueKind::Held, .. }, true)));
    // Turning again without a number of its own, the old one is gone from the screen.
    desk.sensed.turning = true;
    desk.pass(200);
    assert!(matches!(value(&desk), (Value::Withheld { .. }, false)));
    desk.idle(10.0);
    desk.pass(500);
    desk.stands();
    desk.sensed.known.fade(Withheld::NoCrank);
    desk.pass(1000);
    assert!(matches!(value(&desk), (Value::Withheld { .. }, false)));
}

#[test]
fn every_caution_is_shown_somewhere_and_only_those_of_dead_cylinders_stops_and_additions_wait_for_a_cause() {
    let at_a_step: std::vec::Vec<CautionId> =
        StepId::ALL.iter().flat_map(|step| plan::cautions(*step)).copied().collect();
    for caution in CautionId::ALL {
        let with_a_cause =
            [CautionId::DeadCylinder, CautionId::PistonStop, CautionId::StopValve, CautionId::MoreThanFour];
        assert_ne!(at_a_step.contains(caution), with_a_cause.contains(caution), "{caution:?}");
    }
}

#[test]
fn what_else_makes_it_run_badly_is_a_list_to_be_ticked_beside_any_step() {
    let mut desk = Desk::at(Control::Computer, StepId::Ready);
    desk.guide.open_side(Side::Others { selected: 0, seen: [false; 5] });
    for place in 0..5 {
        let Screen::OtherChecks(list) = desk.screen() else { panic!("{:?}", desk.screen()) };
        assert_eq!(usize::from(list.selected), place);
        assert_eq!(list.checks[place].1, Mark::Open);
        assert!(desk.press(KeyLabel::Done));
        let Screen::OtherChecks(list) = desk.screen() else { panic!("{:?}", desk.screen()) };
        assert_eq!(list.checks[place].1, Mark::Told, "looked at by eye, never proven");
        assert!(desk.press(KeyLabel::Down));
    }
    assert!(desk.press(KeyLabel::Back));
    assert_eq!((desk.step(), desk.guide.side()), (StepId::Ready, &Side::None));
}

#[test]
fn a_cause_that_becomes_likely_only_after_the_number_has_settled_stops_too_unless_gone_on_with() {
    let mut desk = Desk::at(Control::Computer, StepId::Read);
    let likely = |desk: &mut Desk, probability| {
        desk.sensed.known.causes[0] = Some(Cause {
            id: CauseId::DriveToothOff,
            probability,
            because: Because::ToothAway { teeth: 1, error: 27.7 },
            remedy: Remedy(CauseId::DriveToothOff),
        });
        desk.pass(100);
    };
    likely(&mut desk, 0.6);
    assert_eq!(desk.guide.halt(), None);
    likely(&mut desk, 0.98);
    assert_eq!(desk.guide.halt(), Some(Halt::OtherCause(CauseId::DriveToothOff)));
    // The engine is stopped to mend it: that is what was asked for.
    desk.stands();
    desk.pass(3000);
    assert_eq!(desk.guide.halt(), Some(Halt::OtherCause(CauseId::DriveToothOff)));
    desk.idle(38.0);
    assert!(desk.press(KeyLabel::Causes) && desk.press(KeyLabel::Skip));
    likely(&mut desk, 0.99);
    assert_eq!(desk.guide.halt(), None, "gone on with, knowing it");
}
