//! Whole jobs on the simulated engine, worked by hands that see only the screen and hear only the sounder:
//! each kind of control from a badly set engine to a record within tolerance; then the usual mistakes, made
//! on purpose: the guide stops, says why, and goes on once it is put right.

use keyway::engine::Engine;
use keyway::engine::case::Case;
use keyway::guide_play::{Bench, Hands, Slip};
use keyway_core::console::blank;
use keyway_core::job::{Control, JobSpec, Rotation, SparkKind};
use keyway_core::judge::Verdict;
use keyway_core::record::Record;
use keyway_core::view::{Halt, Mark, StepId};

fn spec(control: Control) -> JobSpec {
    let mut spec = blank();
    spec.timing.control = control;
    spec.engine.housing_diameter_mm = Some(70.0);
    spec.timing.supply_min_v = None;
    match control {
        Control::Computer => {}
        Control::Commanded => spec.timing.commanded_btdc = Some(15.0),
        Control::Mechanical => spec.timing.harness_offset = 0.0,
    }
    spec
}

/// An idling engine as it is found: the setting off by `off` crank degrees, the computer steering.
fn found(spec: &JobSpec, off: f64, change: impl FnOnce(&mut Case)) -> Engine {
    found_of(11, spec, off, change)
}

fn found_of(seed: u64, spec: &JobSpec, off: f64, change: impl FnOnce(&mut Case)) -> Engine {
    let mut case = match Case::healthy(spec.clone(), seed) {
        Ok(case) => case,
        Err(error) => panic!("{error}"),
    };
    case.setup.spark.setting += off;
    case.controls.base_mode = false;
    case.controls.hold_fixed = false;
    case.controls.hose_on = true;
    change(&mut case);
    case.engine()
}

struct Played {
    hands: Hands,
    bench: Bench,
    ended: bool,
}

fn play(spec: &JobSpec, engine: Engine, slips: &[Slip]) -> Played {
    let rotor = spec.engine.rotor.unwrap_or(Rotation::Clockwise);
    let mut bench = Bench::new(engine, spec);
    let mut hands = Hands::new(rotor, slips);
    Hands::open_job(&mut bench);
    let ended = hands.work(&mut bench, None, 400.0);
    Played { hands, bench, ended }
}

impl Played {
    fn record(&self) -> Record {
        match self.bench.record() {
            Some(record) if self.ended => record,
            other => panic!(
                "ended {} at {:?}; steps {:?}; halts {:?}; record {other:?}; view {:?}",
                self.ended,
                self.hands.steps.last(),
                self.hands.steps,
                self.hands.halts,
                (self.bench.view(), self.bench.instrument.sensed())
            ),
        }
    }

    fn halted_for(&self, wanted: fn(&Halt) -> bool) -> bool {
        self.hands.halts.iter().any(wanted)
    }

    /// The record, found on target with the truth inside its tolerance.
    fn on_target(&self, job: &JobSpec) -> Record {
        let record = self.record();
        assert_eq!(record.verdict(), Some(Verdict::OnTarget), "{record:?} {:?}", self.hands.halts);
        let setup = self.bench.engine.setup();
        let controls = self.bench.engine.controls();
        let housing = if job.engine.rotor.is_some() { 2.0 * controls.housing_deg } else { 0.0 };
        let off = setup.spark.setting + housing;
        assert!(off.abs() <= f64::from(job.timing.tolerance), "the engine is left {off} degrees off");
        assert!(controls.bolt_tight);
        record
    }
}

#[test]
fn a_computer_job_ends_in_a_record_within_tolerance() {
    let spec = spec(Control::Computer);
    let played = play(&spec, found(&spec, -7.0, |_| {}), &[]);
    let record = played.on_target(&spec);
    assert_eq!(record.step(StepId::BaseLink), Mark::Told, "the link is told, its step proven");
    assert_eq!(record.step(StepId::BaseBlip), Mark::Proven);
    assert_eq!(record.step(StepId::ClampBlip), Mark::Proven);
    assert_eq!(record.step(StepId::ControlBlip), Mark::Proven);
    assert!(!played.bench.engine.controls().base_mode, "control is given back");
    let before = record.before.map(|taken| taken.advance);
    assert!(before.is_some_and(|before| (before - 3.0).abs() < 1.0), "{before:?}");
    assert!(played.hands.halts.is_empty(), "{:?}", played.hands.halts);
}

#[test]
fn a_computer_job_that_is_on_target_never_loosens_the_bolt() {
    let spec = spec(Control::Computer);
    let played = play(&spec, found(&spec, 0.2, |_| {}), &[]);
    played.on_target(&spec);
    assert!(!played.hands.steps.contains(&StepId::Set));
}

#[test]
fn an_aftermarket_job_finds_the_fixed_delay_and_ends_within_tolerance() {
    let spec = spec(Control::Commanded);
    let played = play(&spec, found(&spec, 6.0, |_| {}), &[]);
    let record = played.on_target(&spec);
    assert_eq!(record.step(StepId::BlipFine), Mark::Proven);
    let delay = record.delay_us;
    assert!(delay.is_some_and(|(delay, doubt)| delay.abs() <= doubt + 20.0), "{delay:?}");
    assert!(!played.bench.engine.controls().hold_fixed);
}

#[test]
fn a_delay_is_found_by_the_sweep_entered_and_gone() {
    let spec = spec(Control::Commanded);
    let played = play(&spec, found(&spec, 4.0, |case| case.setup.spark.delay = 180e-6), &[]);
    let record = played.on_target(&spec);
    let delay = record.delay_us;
    assert!(delay.is_some_and(|(delay, doubt)| (delay - 180.0).abs() <= doubt + 25.0), "{delay:?}");
    assert!(played.bench.engine.setup().spark.delay.abs() < 60e-6);
    assert_eq!(record.step(StepId::BlipFine), Mark::Proven);
}

#[test]
fn an_aftermarket_job_without_a_distributor_changes_the_reference_angle() {
    let mut spec = spec(Control::Commanded);
    spec.engine.spark = SparkKind::Single;
    (spec.engine.rotor, spec.engine.housing_diameter_mm) = (None, None);
    let played = play(&spec, found(&spec, 5.0, |_| {}), &[]);
    played.on_target(&spec);
    assert!(played.hands.steps.contains(&StepId::Reference) && !played.hands.steps.contains(&StepId::Set));
}

#[test]
fn a_script_plays_a_whole_job_and_a_bad_line_is_named() {
    let folder = env!("CARGO_MANIFEST_DIR").to_owned() + "/../simulator/scenarios/";
    let scenario = folder.clone() + "weir-pump-six-set-out-of-base-mode.toml";
    let keys = folder + "forgotten-link.keys";
    let played = keyway::guide_play::run(scenario.as_ref(), keys.as_ref());
    let (transcript, status) = played.unwrap_or_default();
    assert_eq!(status, 0, "{transcript}");
    assert!(transcript.contains("not in base mode.") && transcript.contains("as the bolt was tightened."));
    let wrong = keyway::guide_play::parse("wait 2\n\npress Nxt # typing");
    assert_eq!(wrong, Err((3, "read \"press Nxt\", expected the label of a key".to_owned())));
}

#[test]
fn a_mechanical_job_draws_both_curves_and_ends_within_tolerance() {
    let spec = spec(Control::Mechanical);
    let played = play(&spec, found(&spec, 5.0, |_| {}), &[]);
    let record = played.on_target(&spec);
    assert!(record.curve_off.len() >= 5 && record.curve_on.len() >= 5, "{record:?}");
    assert!(played.bench.engine.controls().hose_on);
}

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
fn a_reset_in_the_middle_of_the_job_loses_no_step() {
    let spec = spec(Control::Computer);
    let mut bench = Bench::new(found(&spec, -7.0, |_| {}), &spec);
    let mut hands = Hands::new(Rotation::Clockwise, &[]);
    Hands::open_job(&mut bench);
    for step in [StepId::Ready, StepId::Read, StepId::Set, StepId::LinkBack] {
        assert!(
            hands.work(&mut bench, Some(step), 200.0),
            "{step:?} not reached {:?} {:?} {:?}",
            hands.halts,
            bench.view(),
            bench.instrument.sensed()
        );
        bench.reset();
        Hands::press(&mut bench, keyway_core::view::KeyLabel::Next);
        assert!(Hands::choose(&mut bench, keyway_core::view::MenuItem::Resume), "{:?}", bench.view());
        bench.pass(0.3);
        assert_eq!(bench.view().bar.step.map(|place| place.id), Some(step));
    }
    let ended = hands.work(&mut bench, None, 400.0);
    let played = Played { hands, bench, ended };
    played.on_target(&spec);
}

#[test]
fn a_log_of_events_replays_to_the_same_views() {
    let spec = spec(Control::Computer);
    let mut bench = Bench::new(found(&spec, -7.0, |_| {}), &spec);
    bench.keep_log();
    bench.pass(1.0);
    let mut hands = Hands::new(Rotation::Clockwise, &[]);
    Hands::open_job(&mut bench);
    assert!(hands.work(&mut bench, Some(StepId::ClampDown), 200.0));
    let digest = || {
        let mut views = Vec::new();
        let last = Bench::replay(bench.log(), |view| {
            if views.last() != Some(view) {
                views.push(*view);
            }
        });
        (views, *last.view())
    };
    let (one, last) = digest();
    let (other, _) = digest();
    assert_eq!(last, *bench.view());
    assert!(one.len() > 100);
    assert!(one == other);
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

#[test]
fn jobs_of_every_kind_on_other_engines_end_within_tolerance() {
    let mut failed = Vec::new();
    for seed in 20..28 {
        for control in [Control::Computer, Control::Commanded, Control::Mechanical] {
            let spec = spec(control);
            let off = if seed % 2 == 0 { 5.5 } else { -4.5 };
            let played = play(&spec, found_of(seed, &spec, off, |_| {}), &[]);
            let setup = played.bench.engine.setup();
            let left = setup.spark.setting + 2.0 * played.bench.engine.controls().housing_deg;
            let verdict = played.bench.record().and_then(|record| record.verdict());
            println!(
                "{seed} {control:?} from {off} left {left:.2} {verdict:?} halts {:?}",
                played.hands.halts
            );
            let clean = played.hands.halts.is_empty();
            if !clean || verdict != Some(Verdict::OnTarget) || left.abs() > 1.0 {
                failed.push((seed, control, played.hands.steps.last().copied(), played.hands.halts.clone()));
            }
        }
    }
    assert!(failed.is_empty(), "{failed:?}");
}

/// The figure of the guide's issue: after a second of turning at 5 crank degrees per second the shown value
/// lags half a second at most.
#[test]
fn the_shown_value_follows_the_hand_within_half_a_second() {
    let spec = spec(Control::Computer);
    let mut worst: f64 = 0.0;
    for seed in 30..36 {
        let mut bench = Bench::new(found_of(seed, &spec, -7.0, |_| {}), &spec);
        let mut hands = Hands::new(Rotation::Clockwise, &[]);
        Hands::open_job(&mut bench);
        assert!(hands.work(&mut bench, Some(StepId::Set), 300.0));
        bench.pass(3.0);
        for _ in 0..3 {
            // The cautions of the step.
            bench.key(3, true);
            bench.pass(0.8);
            bench.key(3, false);
            bench.pass(0.2);
        }
        bench.engine.controls_mut().bolt_tight = false;
        for slice in 0..60 {
            bench.engine.controls_mut().housing_deg += 0.125;
            bench.pass(0.05);
            let truth = 3.0 + 2.0 * bench.engine.controls().housing_deg;
            if slice >= 20
                && let keyway_core::view::Screen::Live(live) = bench.view().screen
                && let Some(error) = live.error
            {
                worst = worst.max((truth - 10.0 - f64::from(error)) / 5.0);
            }
        }
    }
    println!("worst lag {worst:.2} s");
    assert!(worst > 0.0 && worst <= 0.5, "{worst:.2} s");
}
