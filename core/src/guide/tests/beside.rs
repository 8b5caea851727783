//! What lies beside the steps and what is left undone: piston stop, teaching, corrections, resets.

use super::*;

#[test]
fn what_is_left_undone_is_named_one_by_one() {
    let mut desk = Desk::at(Control::Computer, StepId::Set);
    desk.guide.facts.link = Link::Base;
    desk.guide.facts.stop_in = true;
    desk.stands();
    desk.guide.leave(&Now { job: &desk.job, sensed: &desk.sensed });
    for expected in [Halt::StopStillIn, Halt::BoltStillLoose, Halt::LinkStillOut] {
        desk.pass(100);
        assert_eq!(desk.guide.halt(), Some(expected));
        assert!(desk.press(KeyLabel::Done));
    }
    desk.pass(100);
    assert_eq!(desk.guide.halt(), None);
    assert!(desk.press(KeyLabel::Save));
    assert!(desk.guide.take_wishes().save_record);

    let mut desk = Desk::at(Control::Commanded, StepId::Sweep);
    desk.guide.facts.link = Link::Base;
    desk.guide.leave(&Now { job: &desk.job, sensed: &desk.sensed });
    desk.pass(100);
    assert_eq!(desk.guide.halt(), Some(Halt::NotStored));
}

#[test]
fn a_piston_stop_is_an_alarm_until_it_is_told_out() {
    let mut desk = Desk::at(Control::Computer, StepId::Zero);
    desk.stands();
    desk.guide.open_zero();
    desk.press(KeyLabel::Next);
    desk.press(KeyLabel::Enter);
    desk.press(KeyLabel::Enter);
    assert!(matches!(desk.screen(), Screen::TrueZero(zero) if zero.stage == ZeroStage::Result));
    desk.press(KeyLabel::Enter);
    assert!(matches!(desk.screen(), Screen::TrueZero(zero) if zero.stage == ZeroStage::StopOut));
    desk.sensed.any_edge = true;
    desk.pass(50);
    assert_eq!(desk.guide.alarm(), Some(Alarm::TurnsWithStop));
    desk.sensed.any_edge = false;
    desk.pass(50);
    assert!(desk.press(KeyLabel::Done));
    assert!(!desk.guide.facts().stop_in);
    assert_eq!(desk.guide.facts().gate(GateId::ZeroKnown), Mark::Proven);
    assert_eq!(desk.guide.facts().corrections.zero.map(|zero| zero.degrees), Some(0.0));
}

#[test]
fn teaching_gives_what_the_first_edge_is_wrong_by() {
    let mut desk = Desk::at(Control::Computer, StepId::Zero);
    desk.guide.open_side(Side::Teach);
    desk.reads(2.5);
    desk.sensed.known.sparks = 60;
    desk.pass(50);
    assert!(desk.press(KeyLabel::Enter));
    let wheel = desk.guide.facts().corrections.wheel;
    assert!(wheel.is_some_and(|wheel| wheel.degrees == -2.5 && wheel.doubt == 0.1), "{wheel:?}");
    let corrected = desk.guide.facts().corrections.apply(desk.job.spec());
    let edge = corrected.map(|job| job.pattern().angle(0).advance().degrees());
    assert!(edge.is_ok_and(|edge| (edge - 81.5).abs() < 1e-3));
}

#[test]
fn a_correction_is_shown_undone_and_forgotten_and_what_was_read_moves_with_it() {
    let mut desk = Desk::at(Control::Computer, StepId::Read);
    desk.guide.facts.before = Some(Taken { advance: 7.0, doubt: 0.1, rpm: 750.0, supply: None });
    let before = |desk: &Desk| desk.guide.facts().before.map(|taken| taken.advance);
    desk.guide.correct(Corrections {
        wheel: Some(Corrected { degrees: 2.0, doubt: 0.2 }),
        ..Corrections::default()
    });
    assert_eq!(before(&desk), Some(9.0));
    assert_eq!(desk.guide.facts().gate(GateId::ZeroKnown), Mark::Proven);
    desk.guide.open_side(Side::Corrections { selected: 0 });
    let Screen::Corrections(list) = desk.screen() else { panic!("{:?}", desk.screen()) };
    assert!(matches!(list.lines[0], Some(CorrectionLine::Wheel { doubt: 0.2, .. })), "{list:?}");
    desk.guide.take_wishes();
    assert!(desk.press(KeyLabel::Forget));
    assert_eq!((before(&desk), desk.guide.facts().corrections.wheel), (Some(7.0), None));
    assert_eq!(desk.guide.facts().gate(GateId::ZeroKnown), Mark::Open);
    let wishes = desk.guide.take_wishes();
    assert!(wishes.rebuild && wishes.save_state && wishes.keep_corrections);
    assert!(!desk.press(KeyLabel::Forget), "nothing is left to forget");
    assert!(desk.press(KeyLabel::Undo));
    assert_eq!(before(&desk), Some(9.0));
    assert!(desk.press(KeyLabel::Undo), "an undo can be undone");
    assert_eq!(before(&desk), Some(7.0));
    assert!(desk.press(KeyLabel::Back));
    assert_eq!(desk.step(), StepId::Read);
}

#[test]
fn every_proof_and_every_answer_to_a_check_reaches_the_judge() {
    let mut desk = Desk::at(Control::Computer, StepId::Read);
    assert_eq!(desk.guide.proven(), Proven::default());
    let ask = |desk: &mut Desk, check, answer| {
        desk.sensed.known.next_check = Some(check);
        desk.guide.open_side(Side::NextCheck);
        assert!(desk.press(answer), "{check:?}");
        assert_eq!(desk.guide.side(), &Side::None);
    };
    ask(&mut desk, NextCheck::LookAtClamp, KeyLabel::Yes);
    ask(&mut desk, NextCheck::LookAtRotor, KeyLabel::No);
    let proven = desk.guide.proven();
    assert_eq!((proven.clamp_on_one, proven.rotor_at_one), (Some(true), Some(false)));
    // Read again: what was found wrong was put right, what was found right stays so.
    desk.guide.again(&Now { job: &desk.job, sensed: &desk.sensed });
    let proven = desk.guide.proven();
    assert_eq!((proven.clamp_on_one, proven.rotor_at_one), (Some(true), None));

    // Turned round, it reads 8 degrees later: it had been the wrong way round and is right now.
    for (after, right) in [(12.0 - 8.0, true), (12.0 + 8.0, false), (12.2, true)] {
        let mut desk = Desk::at(Control::Computer, StepId::Read);
        ask(&mut desk, NextCheck::TurnClampRound, KeyLabel::Done);
        assert_eq!(desk.guide.proven().clamp_direction, None, "not before it was read");
        desk.reads(after);
        desk.pass(50);
        assert_eq!(desk.guide.proven().clamp_direction, Some(right), "{after}");
    }

    let mut desk = Desk::at(Control::Mechanical, StepId::Read);
    desk.guide.facts.mark(GateId::HosesOff, Mark::Told);
    desk.guide.facts.mark(GateId::BelowWeights, Mark::Proven);
    let zero = Some(Corrected { degrees: 0.5, doubt: 0.3 });
    desk.guide.correct(Corrections { zero, ..Corrections::default() });
    let proven = desk.guide.proven();
    assert_eq!((proven.hose_was_on, proven.zero), (None, true), "a hose told off is no proof");
}

#[test]
fn a_stop_that_is_in_can_not_be_left_out_at_the_end_of_a_job_left_early() {
    let mut desk = Desk::at(Control::Computer, StepId::Zero);
    desk.stands();
    desk.guide.open_zero();
    desk.press(KeyLabel::Next);
    desk.guide.leave(&Now { job: &desk.job, sensed: &desk.sensed });
    // Before the first tick at the new step, too (found by the fuzzer).
    assert!(!desk.press(KeyLabel::Skip));
    assert_eq!(desk.guide.facts().gate(GateId::StopOut), Mark::Open);
}

#[test]
fn hands_in_the_engine_are_warned_when_it_turns() {
    let mut desk = Desk::at(Control::Computer, StepId::Witness);
    desk.stands();
    desk.pass(100);
    desk.press(KeyLabel::Done);
    desk.idle(10.0);
    desk.pass(50);
    assert_eq!(desk.guide.alarm(), Some(Alarm::TurnsWhileReachingIn));
}

#[test]
fn an_idle_that_left_its_band_is_set_before_anything_is_read() {
    let mut desk = Desk::at(Control::Computer, StepId::Read);
    desk.sensed.rpm = Some(1050.0);
    desk.pass(3500);
    assert_eq!(desk.guide.halt(), Some(Halt::IdleMoved { low: 600.0, high: 900.0 }));
    desk.sensed.rpm = Some(760.0);
    desk.pass(200);
    assert_eq!(desk.guide.halt(), None);
    assert!(desk.guide.take_wishes().restart);
}

#[test]
fn the_state_reads_back_as_it_was_stored() {
    let mut desk = Desk::at(Control::Mechanical, StepId::Set);
    desk.pass(200);
    let mut room = [0; crate::kept::LONGEST];
    let spec = desk.job.spec();
    let written = SnapshotRef { spec, slot: None, step: desk.step(), facts: desk.guide.facts() };
    let bytes = seal(1, &written, &mut room).map(<[u8]>::to_vec).unwrap_or_default();
    let read: Result<Snapshot, _> = open(1, &bytes);
    let same = read.is_ok_and(|read| {
        read.step == StepId::Set && read.facts == *desk.guide.facts() && read.spec == *spec
    });
    assert!(same, "{} bytes", bytes.len());
}

#[test]
fn a_stop_reading_half_a_turn_from_the_other_gives_no_zero() {
    let zero =
        ZeroWork { stage: ZeroStage::Result, entry: 0.0, digit: 1.0, first: Some(90.0), second: Some(-90.0) };
    assert_eq!(zero.mark(), None);
}

#[test]
fn after_a_reset_with_the_stop_in_nothing_goes_on_before_it_is_told_out() {
    let mut desk = Desk::at(Control::Computer, StepId::Zero);
    let mut facts = desk.guide.facts().clone();
    facts.stop_in = true;
    desk.guide = Guide::resumed(&desk.job, facts, StepId::Zero);
    desk.stands();
    desk.pass(50);
    assert!(matches!(desk.screen(), Screen::TrueZero(zero) if zero.stage == ZeroStage::StopOut));
    assert!(!desk.press(KeyLabel::Next) && desk.press(KeyLabel::Done));
    assert!(!desk.guide.facts().stop_in);
}

#[test]
fn weights_at_work_at_idle_stop_a_mechanical_job() {
    let mut desk = Desk::at(Control::Mechanical, StepId::BelowWeights);
    for place in 0..100u16 {
        let rpm = 700.0 + f32::from(place % 10) * 10.0;
        let advance = 5.0 + 8.0 * (rpm - 700.0) / 1000.0;
        desk.guide.on_spark(&SparkRecord {
            at: crate::units::Instant::from_ticks(0),
            advance: Some(crate::units::Advance::from_degrees(f64::from(advance))),
            rpm,
            fate: SparkFate::Used,
        });
    }
    desk.pass(100);
    assert_eq!(desk.guide.halt(), Some(Halt::MechanismOut));
}

#[test]
fn a_step_the_right_way_that_is_not_the_offset_is_told_and_left_to_the_blip() {
    let mut desk = Desk::at(Control::Computer, StepId::Steered);
    desk.reads(16.5);
    desk.pass(200);
    desk.press(KeyLabel::Next);
    desk.press(KeyLabel::Done);
    desk.reads(10.0);
    desk.pass(200);
    assert_eq!(desk.guide.halt(), None);
    assert_eq!(desk.guide.facts().gate(GateId::BaseStep), Mark::Told);
}

#[test]
fn the_largest_state_that_can_be_fits_a_block() {
    let mut desk = Desk::at(Control::Mechanical, StepId::Set);
    let mut spec = desk.job.spec().clone();
    spec.name.clear();
    assert!(spec.name.push_str("Forty letters and not one more, is it so").is_ok());
    let cylinders = crate::job::MAX_CYLINDERS;
    let _ = spec.engine.firing_order.resize(cylinders, cylinders as u8);
    let mut intervals = crate::job::PerCylinder::new();
    let _ = intervals.resize(cylinders, 60.0);
    spec.engine.firing_intervals = Some(intervals);
    spec.engine.reference = Some(crate::job::Reference::Distributor);
    spec.engine.drive_gear_teeth = Some(13);
    spec.engine.housing_diameter_mm = Some(80.0);
    spec.timing.commanded_btdc = Some(15.0);
    spec.timing.supply_min_v = Some(13.0);
    spec.crank = crate::job::CrankSpec::Marks([1.0; crate::job::MAX_MARKS].into());
    spec.base_mode = Some(true);
    let taken = Some(Taken { advance: 10.0, doubt: 0.1, rpm: 750.0, supply: Some(14.0) });
    let corrected = Some(Corrected { degrees: 1.0, doubt: 0.1 });
    let facts = &mut desk.guide.facts;
    (facts.steered, facts.before, facts.start) = (taken, taken, taken);
    (facts.set, facts.after, facts.restarted) = (taken, taken, taken);
    facts.cause = Some((CauseId::OffTarget, 1.0));
    (facts.delay_us, facts.slope) = (Some((1.0, 1.0)), Some((1.0, 1.0)));
    let _ = facts.curve_off.resize(POINTS, (u16::MAX, i16::MIN));
    let _ = facts.curve_on.resize(POINTS, (u16::MAX, i16::MIN));
    facts.corrections =
        Corrections { zero: corrected, wheel: corrected, rotor: Some(crate::job::Rotation::Clockwise) };
    facts.looked = Looked {
        clamp_on_one: Some(true),
        clamp_direction: Some(true),
        rotor_at_one: Some(true),
        play_felt: Some(true),
        offset: Some(i16::MIN),
        turning: Some(1.0),
    };
    CautionId::ALL.iter().for_each(|caution| facts.understand(*caution));
    let mut room = [0; crate::kept::LONGEST];
    let written = SnapshotRef { spec: &spec, slot: Some(255), step: desk.step(), facts: desk.guide.facts() };
    let length = seal(1, &written, &mut room).map_or(0, <[u8]>::len);
    assert!(length > 500, "{length}");
}
