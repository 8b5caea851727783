//! The base proven, the setting, the clamp, the delay, the reference angle.

use super::*;

#[test]
fn base_mode_is_proven_by_its_step_and_only_told_where_the_step_is_too_small_to_see() {
    let mut desk = Desk::at(Control::Computer, StepId::Steered);
    desk.reads(20.0);
    desk.pass(200);
    desk.press(KeyLabel::Next);
    assert_eq!(desk.step(), StepId::BaseLink);
    desk.press(KeyLabel::Done);
    desk.reads(10.2);
    desk.pass(200);
    assert_eq!(desk.guide.facts().gate(GateId::BaseStep), Mark::Proven);

    let small = job(Control::Computer, |spec| spec.timing.harness_offset = 2.0);
    let mut desk = Desk::of(small, StepId::BaseLink);
    desk.press(KeyLabel::Done);
    desk.pass(200);
    assert_eq!(desk.guide.facts().gate(GateId::BaseStep), Mark::Told);
}

#[test]
fn a_link_that_was_already_in_base_mode_is_seen_by_the_step_upwards() {
    let mut desk = Desk::at(Control::Computer, StepId::Steered);
    desk.reads(10.0);
    desk.pass(200);
    desk.press(KeyLabel::Next);
    desk.press(KeyLabel::Done);
    desk.reads(20.0);
    desk.pass(200);
    assert!(matches!(desk.guide.halt(), Some(Halt::NoBaseStep { .. })));
    desk.press(KeyLabel::Again);
    desk.press(KeyLabel::Done);
    desk.reads(10.0);
    desk.pass(200);
    assert_eq!(desk.guide.facts().gate(GateId::BaseStep), Mark::Proven);
}

#[test]
fn a_rise_with_speed_is_steering_and_a_fall_a_delay() {
    let mut desk = Desk::at(Control::Computer, StepId::BaseBlip);
    desk.blip(12.0);
    assert!(matches!(desk.guide.halt(), Some(Halt::RisesWithSpeed { .. })));
    desk.press(KeyLabel::Again);
    desk.sensed.known.trend = None;
    desk.blip(0.1);
    assert_eq!(desk.guide.halt(), None);
    assert_eq!(desk.guide.facts().gate(GateId::NoRise), Mark::Proven);

    let mut desk = Desk::at(Control::Computer, StepId::BaseBlip);
    desk.blip(-3.0);
    assert!(
        matches!(desk.guide.halt(), Some(Halt::FallsWithSpeed { delay_us }) if (delay_us - 500.0).abs() < 1.0)
    );
}

#[test]
fn a_cause_that_turning_would_hide_stops_before_the_bolt_is_touched() {
    let mut desk = Desk::at(Control::Computer, StepId::Read);
    let id = CauseId::ClampOnOtherLead;
    let because = Because::Off { error: -100.0 };
    desk.sensed.known.causes[0] = Some(Cause { id, probability: 0.9, because, remedy: Remedy(id) });
    desk.pass(200);
    assert_eq!(desk.guide.halt(), Some(Halt::OtherCause(id)));
    assert!(!desk.press(KeyLabel::Next) && !desk.press(KeyLabel::Skip), "only after a look at the causes");
    desk.press(KeyLabel::Causes);
    assert!(desk.press(KeyLabel::Skip));
    assert_eq!(desk.guide.halt(), None);
}

#[test]
fn with_the_bolt_loose_no_check_raises_the_speed_and_a_rise_is_an_alarm() {
    let mut desk = Desk::at(Control::Computer, StepId::Set);
    desk.sensed.known.next_check = Some(NextCheck::Blip);
    desk.guide.open_side(Side::NextCheck);
    assert!(matches!(desk.screen(), Screen::NextCheck { check: NextCheck::ReadLonger, bolt_loose: true }));
    desk.guide.open_side(Side::None);
    desk.sensed.rpm = Some(1500.0);
    desk.pass(100);
    assert_eq!(desk.guide.alarm(), Some(Alarm::SpeedWithBoltLoose));
    assert_eq!(desk.guide.halt(), Some(Halt::SpeedWithBoltLoose));
    desk.sensed.rpm = Some(750.0);
    desk.pass(200);
    assert_eq!((desk.guide.alarm(), desk.guide.halt()), (None, None));
}

#[test]
fn a_housing_that_moves_nothing_is_said_after_a_while() {
    let mut desk = Desk::at(Control::Computer, StepId::Read);
    desk.reads(3.0);
    desk.pass(200);
    desk.press(KeyLabel::Next);
    assert_eq!(desk.step(), StepId::Set);
    desk.pass(20_000);
    assert_eq!(desk.guide.halt(), None);
    desk.pass(6_000);
    assert_eq!(desk.guide.halt(), Some(Halt::NothingMoves));
    // Who only took his time goes on by turning.
    desk.reads(6.0);
    desk.pass(200);
    assert_eq!(desk.guide.halt(), None);
}

#[test]
fn silence_while_setting_is_heard_and_never_the_sound_of_good() {
    let mut desk = Desk::at(Control::Computer, StepId::Set);
    let heard = |desk: &Desk| desk.guide.heard(&Now { job: &desk.job, sensed: &desk.sensed });
    desk.reads(10.1);
    desk.pass(100);
    assert_eq!(heard(&desk), Heard::OnTarget);
    desk.sensed.live = None;
    desk.pass(100);
    assert_eq!(heard(&desk), Heard::NoReading);
    desk.reads(13.0);
    desk.pass(100);
    assert!(matches!(heard(&desk), Heard::Off(beyond) if beyond > 0.0));
}

#[test]
fn a_setting_off_target_after_the_clamp_goes_back_to_setting() {
    let mut desk = Desk::at(Control::Computer, StepId::ReadAgain);
    desk.reads(12.5);
    desk.pass(200);
    assert!(matches!(desk.guide.halt(), Some(Halt::OffTarget { .. })));
    desk.press(KeyLabel::Again);
    assert_eq!(desk.step(), StepId::Set);
    assert_eq!(desk.guide.facts().bolt, Bolt::Loose);
}

#[test]
fn no_advance_above_idle_is_said_plainly() {
    let mut desk = Desk::at(Control::Computer, StepId::ControlBlip);
    desk.reads(20.0);
    desk.pass(200);
    assert_eq!(desk.guide.facts().gate(GateId::OffsetBack), Mark::Proven);
    desk.blip(0.2);
    assert_eq!(desk.guide.halt(), Some(Halt::NoAdvanceAbove));

    let mut desk = Desk::at(Control::Computer, StepId::ControlBlip);
    desk.reads(20.0);
    desk.pass(200);
    desk.blip(12.0);
    assert_eq!(desk.guide.halt(), None);
    assert_eq!(desk.guide.facts().gate(GateId::RisesAgain), Mark::Proven);
}

#[test]
fn a_delay_that_remains_leads_back_to_the_sweep() {
    let mut desk = Desk::at(Control::Commanded, StepId::BlipFine);
    desk.reads(15.0);
    desk.pass(200);
    desk.blip(-3.0);
    assert!(matches!(desk.guide.halt(), Some(Halt::DelayRemains { .. })));
    desk.press(KeyLabel::Again);
    assert_eq!(desk.step(), StepId::Sweep);
}

#[test]
fn a_reference_changed_the_wrong_way_or_not_taken_is_noticed() {
    let mut desk = Desk::of(job(Control::Commanded, coils), StepId::Read);
    desk.reads(19.0);
    desk.pass(200);
    desk.press(KeyLabel::Next);
    assert!(matches!(desk.screen(), Screen::Reference(change) if (change.add_btdc + 4.0).abs() < 1e-4));
    desk.press(KeyLabel::Done);
    desk.reads(23.0);
    desk.pass(200);
    assert_eq!(desk.guide.halt(), Some(Halt::SignWrong));
    desk.press(KeyLabel::Again);
    desk.press(KeyLabel::Done);
    desk.reads(19.0);
    desk.pass(200);
    assert_eq!(desk.guide.halt(), Some(Halt::ReferenceUnchanged));
    desk.press(KeyLabel::Again);
    desk.press(KeyLabel::Done);
    desk.reads(15.1);
    desk.pass(200);
    assert_eq!(desk.guide.halt(), None);
    assert!(desk.press(KeyLabel::Next));
}

#[test]
fn a_rise_steeper_than_any_steering_is_the_clamp_turned_round_at_the_first_blip() {
    for control in [Control::Commanded, Control::Mechanical] {
        let step = if control == Control::Commanded { StepId::HoldFixed } else { StepId::ClampBlip };
        let mut desk = Desk::at(control, step);
        desk.press(KeyLabel::Done);
        desk.reads(30.0);
        desk.pass(500);
        desk.blip(22.0);
        desk.pass(2000);
        assert_eq!(desk.guide.halt(), Some(Halt::OtherCause(CauseId::DwellStartSeen)), "{control:?}");
    }
}

#[test]
fn what_was_shown_as_settled_is_what_is_taken_when_the_reading_falters_before_the_key() {
    let mut desk = Desk::at(Control::Computer, StepId::Read);
    desk.reads(4.0);
    desk.pass(500);
    desk.sensed.known.advance = None;
    desk.pass(500);
    assert!(desk.press(KeyLabel::Next));
    let facts = desk.guide.facts();
    assert_eq!(facts.before.map(|taken| taken.advance), Some(4.0));
    assert_eq!(facts.step(StepId::Read), Mark::Proven);

    let mut desk = Desk::at(Control::Computer, StepId::Read);
    desk.reads(4.0);
    desk.pass(500);
    assert!(desk.press(KeyLabel::Again));
    desk.sensed.known.advance = None;
    desk.pass(500);
    assert!(!desk.press(KeyLabel::Next), "what was shown before \"Again\" is no reading of now");
}
