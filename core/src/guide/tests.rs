use super::side::ZeroWork;
use super::*;
use crate::console::blank;
use crate::corrections::Corrected;
use crate::judge::{Because, Cause, CauseId, NextCheck, Proven, Remedy};
use crate::kept::{open, seal};
use crate::reading::SpeedTrend;
use crate::sounder::Heard;
use crate::view::{CorrectionLine, KeyLabel, Screen, ZeroStage};

/// A guide with what it senses in the hands of the test.
struct Desk {
    job: Job,
    guide: Guide,
    sensed: Sensed,
}

fn job(control: Control, change: impl FnOnce(&mut JobSpec)) -> Job {
    let mut spec = blank();
    spec.timing.control = control;
    match control {
        Control::Computer => {}
        Control::Commanded => spec.timing.commanded_btdc = Some(15.0),
        Control::Mechanical => spec.timing.harness_offset = 0.0,
    }
    change(&mut spec);
    match spec.build() {
        Ok(job) => job,
        Err(error) => panic!("{error}"),
    }
}

fn coils(spec: &mut JobSpec) {
    spec.engine.spark = crate::job::SparkKind::Single;
    spec.engine.rotor = None;
}

impl Desk {
    fn at(control: Control, step: StepId) -> Self {
        Self::of(job(control, |_| {}), step)
    }

    fn of(job: Job, step: StepId) -> Self {
        let mut facts = Facts::default();
        CautionId::ALL.iter().for_each(|caution| facts.understand(*caution));
        let guide = Guide::resumed(&job, facts, step);
        let mut desk = Self { job, guide, sensed: Sensed::default() };
        desk.sensed.ms = 10_000;
        desk.idle(12.0);
        desk
    }

    /// Idling in the band, with a settled and a live reading of so many degrees.
    fn idle(&mut self, advance: f32) {
        self.sensed.turning = true;
        self.sensed.turning_fast = true;
        self.sensed.any_edge = true;
        self.sensed.in_sync = true;
        self.sensed.rpm = Some(750.0);
        self.sensed.supply = Some(14.0);
        self.sensed.known.supply = Some(14.0);
        self.sensed.known.sparks_per_turn = Some(0.5);
        self.sensed.known.why = [None; 4];
        self.reads(advance);
    }

    fn reads(&mut self, advance: f32) {
        self.sensed.known.advance = Some(advance);
        self.sensed.known.doubt = 0.1;
        self.sensed.known.rpm = Some(750.0);
        self.sensed.live = Some(Followed { advance, doubt: 0.1, rate: 0.0 });
        self.sensed.settled_ms = 6000;
    }

    fn stands(&mut self) {
        self.sensed = Sensed { ms: self.sensed.ms, supply: Some(12.4), ..Sensed::default() };
    }

    fn pass(&mut self, ms: u32) {
        for _ in 0..ms / 50 {
            self.sensed.ms += 50;
            self.guide.tick(&Now { job: &self.job, sensed: &self.sensed });
        }
    }

    fn press(&mut self, label: KeyLabel) -> bool {
        let now = Now { job: &self.job, sensed: &self.sensed };
        let Some(place) = self.guide.keys(&now).iter().position(|key| *key == label) else { return false };
        self.guide.key(place, &now);
        self.guide.key_up();
        true
    }

    fn step(&self) -> StepId {
        self.guide.state().step()
    }

    fn screen(&self) -> Screen {
        self.guide.screen(&Now { job: &self.job, sensed: &self.sensed })
    }

    /// A blip that answered with this slope, and back at idle.
    fn blip(&mut self, slope: f32) {
        self.sensed.rpm = Some(2400.0);
        for _ in 0..4 {
            let base = self.sensed.known.advance.unwrap_or(0.0);
            self.guide.on_spark(&SparkRecord {
                at: crate::units::Instant::from_ticks(0),
                advance: Some(crate::units::Advance::from_degrees(f64::from(base + 1.6 * slope))),
                rpm: 2400.0,
                fate: SparkFate::OutsideIdle,
            });
        }
        self.pass(500);
        self.sensed.rpm = Some(750.0);
        self.sensed.known.trend = Some(SpeedTrend {
            deg_per_1000rpm: slope,
            slope_uncertainty: 0.1,
            delay_us: -slope * 1000.0 / 6.0,
            rpm_low: 720.0,
            rpm_high: 2400.0,
        });
        self.pass(2000);
    }
}

const KINDS: [Control; 3] = [Control::Computer, Control::Commanded, Control::Mechanical];

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
    desk.press(KeyLabel::Done);
    desk.press(KeyLabel::Done);
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
fn a_weak_supply_stops_ready_until_it_is_mended() {
    let mut desk = Desk::at(Control::Computer, StepId::Ready);
    desk.sensed.known.supply = Some(12.1);
    desk.pass(500);
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
    assert_eq!((proven.hose_was_on, proven.zero), (Some(false), true));
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
