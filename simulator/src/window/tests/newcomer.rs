//! Somebody who knows nothing and does what the line says, to the record, for each kind of control.

use super::super::advice;
use super::super::part::Part;
use super::*;
use keyway_core::job::Control;
use keyway_core::judge::Verdict;
use keyway_core::view::KeyLabel;

/// The throttle opened slowly, tap by tap, until the speed is seen, then let back as slowly.
fn run_up(harness: &mut Harness<'_, Window>) {
    let reach = match harness.state().stage.view().unwrap().screen {
        Screen::Sweep(sweep) => sweep.reach,
        Screen::Curve(curve) => curve.reach,
        other => panic!("{other:?}"),
    };
    for _ in 0..75 {
        if harness.state().stage.bench().engine.rpm() > f64::from(reach) + 50.0 {
            break;
        }
        harness.key_press(Key::ArrowUp);
        wait(harness, 0.5);
    }
    while harness.state().stage.controls().throttle > 0.0 {
        harness.key_press(Key::ArrowDown);
        wait(harness, 0.3);
    }
    wait(harness, 3.0);
}

/// What the handheld asks for is entered in the computer, and said to be.
fn enter(harness: &mut Harness<'_, Window>) {
    let view = harness.state().stage.view().unwrap();
    let (by, a_tap, modifiers) = match view.screen {
        Screen::Reference(change) => (change.add_btdc, 0.5, Modifiers::NONE),
        Screen::Steps(steps) => {
            let asked = steps.gates.iter().flatten().find_map(|line| line.value?.measured);
            (asked.unwrap(), 10.0, Modifiers::SHIFT)
        }
        other => panic!("{other:?}"),
    };
    let key = if by > 0.0 { Key::E } else { Key::Q };
    for _ in 0..(by.abs() / a_tap).round() as u32 {
        harness.key_press_modifiers(modifiers, key);
        harness.run_steps(1);
    }
    let done = view.keys.iter().position(|label| *label == KeyLabel::Done).unwrap();
    hold(harness, Part::Key(done as u8).word(), 3);
    wait(harness, 2.0);
}

/// One move of someone who knows nothing and does what the line says; gives whether it was a move at all.
fn obey(harness: &mut Harness<'_, Window>) -> bool {
    let stage = &harness.state().stage;
    let view = stage.view().unwrap();
    let Some(part) = advice::next(stage).part else { return false };
    let runs = |harness: &Harness<'_, Window>| harness.state().stage.bench().engine.rpm();
    match part {
        Part::Key(_) => {
            let frames = if matches!(view.screen, Screen::Caution { .. }) { 18 } else { 3 };
            hold(harness, part.word(), frames);
        }
        Part::Start => {
            harness.key_down(Key::S);
            for _ in 0..100 {
                harness.step();
                if runs(harness) > 450.0 {
                    break;
                }
            }
            harness.key_up(Key::S);
            wait(harness, 1.0);
        }
        Part::Throttle if matches!(view.screen, Screen::Sweep(_) | Screen::Curve(_)) => run_up(harness),
        Part::Entry => enter(harness),
        Part::Throttle => {
            let reach = match view.screen {
                Screen::BaseProof(proof) | Screen::ControlProof(proof) => proof.blip.1,
                Screen::ClampProof(proof) => proof.blip.1,
                other => panic!("{other:?}"),
            };
            harness.key_down(Key::Space);
            for _ in 0..80 {
                harness.step();
                if runs(harness) > f64::from(reach) + 50.0 {
                    break;
                }
            }
            harness.key_up(Key::Space);
            wait(harness, 6.0);
        }
        Part::Housing => {
            let Screen::Live(live) = view.screen else { panic!("{view:?}") };
            let turn = live.correction.and_then(|correction| correction.turn);
            let key = if turn == Some(Rotation::Clockwise) { Key::ArrowRight } else { Key::ArrowLeft };
            harness.key_press(key);
            let near = live.error.is_some_and(|error| error.abs() < 3.0);
            wait(harness, if near { 1.2 } else { 0.3 });
        }
        part => click(harness, part.word()),
    }
    true
}

/// Follows the line until a record is kept; gives the seconds it took.
fn to_the_record(harness: &mut Harness<'_, Window>, seconds: f64) -> f64 {
    let began = harness.state().stage.bench().time();
    let mut steps = Vec::new();
    while harness.state().stage.bench().time() - began < seconds {
        let view = harness.state().stage.view().unwrap();
        if let Some(step) = view.bar.step
            && steps.last() != Some(&step.id)
        {
            steps.push(step.id);
        }
        if harness.state().stage.bench().record().is_some() && matches!(view.screen, Screen::Menu(_)) {
            break;
        }
        if !obey(harness) {
            harness.run_steps(4);
        }
    }
    let stage = &harness.state().stage;
    let record = stage.bench().record();
    let now = advice::next(stage);
    let record = record.unwrap_or_else(|| panic!("no record: {steps:?}, {now:?}, {:?}", stage.view()));
    assert_eq!(record.verdict(), Some(Verdict::OnTarget));
    let base = stage.bench().engine.base_advance();
    assert!((base - stage.target()).abs() <= f64::from(stage.job().timing.tolerance), "{base}");
    assert!(stage.controls().bolt_tight && !stage.controls().base_mode && !stage.controls().hold_fixed);
    stage.bench().time() - began
}

#[test]
fn a_newcomer_who_follows_the_line_alone_sets_the_timing_and_keeps_a_record_within_five_minutes() {
    let took = to_the_record(&mut bench(), 300.0);
    println!("to the record: {took:.0} s");
}

/// The line is followed on an engine of this kind, which stands off its target.
fn on_an_engine_with(control: Control, distributor: bool) {
    let mut harness = bench();
    let window = harness.state_mut();
    let wanted = |kept: &super::super::catalogue::Kept| {
        let times = kept.job.build().is_ok_and(|job| job.distributor_times_spark());
        kept.job.timing.control == control && times == distributor && kept.job.engine.cylinders > 1
    };
    let engine = window.stage.engines.iter().position(wanted).unwrap();
    window.stage.put(super::super::catalogue::Choice { engine, ..window.stage.choice });
    assert_eq!(window.stage.choice.engine, engine, "{:?}", window.stage.word);
    let took = to_the_record(&mut harness, 600.0);
    println!("{control:?}, distributor {distributor}: to the record {took:.0} s");
}

#[test]
fn the_line_leads_to_a_record_on_weights_and_vacuum_too() {
    on_an_engine_with(Control::Mechanical, true);
}

#[test]
fn the_line_leads_to_a_record_on_an_aftermarket_computer_with_a_distributor() {
    on_an_engine_with(Control::Commanded, true);
}

#[test]
fn the_line_leads_to_a_record_on_an_aftermarket_computer_without_a_distributor() {
    on_an_engine_with(Control::Commanded, false);
}

#[test]
fn the_line_leads_to_a_record_on_a_factory_computer_without_a_distributor() {
    on_an_engine_with(Control::Computer, false);
}
