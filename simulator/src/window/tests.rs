//! The window as a person uses it: clicks, drags and keys through the library's test harness.

use super::app::Window;
use super::stage::Stage;
use crate::drill::{self, Level, Session};
use crate::engine::controls::Lead;
use eframe::egui::{Key, Modifiers, Pos2, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use keyway_core::job::Rotation;
use keyway_core::judge::CauseId;
use keyway_core::view::{Halt, Screen, StepId};

mod newcomer;

/// Seconds of a frame.
const FRAME: f32 = 0.05;

fn open(stage: Stage) -> Harness<'static, Window> {
    let window = Window::new(stage, false);
    let mut harness = Harness::builder()
        .with_size(vec2(1280.0, 800.0))
        .with_step_dt(FRAME)
        .build_ui_state(|ui, window: &mut Window| window.frame(ui), window);
    harness.run_steps(3);
    harness
}

fn bench() -> Harness<'static, Window> {
    open(Stage::new().unwrap())
}

fn centre(harness: &Harness<'_, Window>, word: &str) -> Pos2 {
    harness.get_by_label(word).rect().center()
}

fn click(harness: &mut Harness<'_, Window>, word: &str) {
    harness.get_by_label(word).click();
    harness.run_steps(3);
}

/// The mouse holds something for so many frames.
fn hold(harness: &mut Harness<'_, Window>, word: &str, frames: usize) {
    let at = centre(harness, word);
    harness.drag_at(at);
    harness.run_steps(frames);
    harness.drop_at(at);
    harness.run_steps(2);
}

fn wait(harness: &mut Harness<'_, Window>, seconds: f32) {
    harness.run_steps((seconds / FRAME) as usize);
}

/// Three clicks: one and two choose the mistake from its list, three takes the handheld to the reading.
fn put_on(harness: &mut Harness<'_, Window>, mistake: &str) {
    harness.get_by_value("Set off the target").click();
    harness.run_steps(3);
    click(harness, mistake);
    click(harness, "To the reading");
}

/// Until the quick technician hands over.
fn until_taken_over(harness: &mut Harness<'_, Window>) {
    for _ in 0..2000 {
        harness.step();
        if !harness.state().stage.is_brisk() {
            break;
        }
    }
    harness.run_steps(60);
}

#[test]
fn the_quick_technician_leaves_a_mistake_that_the_guide_stops_for() {
    let mut harness = bench();
    put_on(&mut harness, "A cylinder does no work");
    until_taken_over(&mut harness);
    let view = harness.state().stage.view().unwrap();
    assert!(matches!(view.halt, Some(Halt::DeadCylinder { .. })), "{view:?}");
}

#[test]
fn a_trainer_shows_the_connector_left_in_with_four_clicks() {
    let mut harness = bench();
    // Three of the four clicks, and the fourth: the truth.
    put_on(&mut harness, "Set with the connector left in");
    click(&mut harness, "Truth");
    until_taken_over(&mut harness);
    let window = harness.state();
    assert!(window.strip.truth);
    let truth = super::truth::lines(&window.stage).unwrap();
    assert_eq!(truth[0], "Set with the connector left in");
    let view = window.stage.view().unwrap();
    let Screen::Reading(reading) = view.screen else { panic!("{view:?}") };
    assert_eq!(reading.step, StepId::Read);
    let cause = reading.first_cause.map(|cause| cause.id);
    assert_eq!(cause, Some(CauseId::SetOutOfBaseMode), "{reading:?}");
}

#[test]
fn the_handhelds_keys_answer_to_mouse_and_keyboard() {
    let mut harness = bench();
    assert!(matches!(harness.state().stage.view().unwrap().screen, Screen::SelfTest(_)));
    let next = harness.state().stage.view().unwrap().keys;
    let place = next.iter().position(|key| *key == keyway_core::view::KeyLabel::Next).unwrap();
    hold(&mut harness, &format!("Handheld key {}", place + 1), 3);
    assert!(matches!(harness.state().stage.view().unwrap().screen, Screen::Menu(_)));
    let selected = |harness: &Harness<'_, Window>| match harness.state().stage.view().unwrap().screen {
        Screen::Menu(menu) => menu.selected,
        other => panic!("{other:?}"),
    };
    let before = selected(&harness);
    let down = harness.state().stage.view().unwrap().keys;
    let place = down.iter().position(|key| *key == keyway_core::view::KeyLabel::Down).unwrap();
    harness.key_press([Key::Num1, Key::Num2, Key::Num3, Key::Num4][place]);
    harness.run_steps(3);
    assert_ne!(selected(&harness), before);
}

#[test]
fn the_housing_follows_mouse_wheel_and_arrows_once_the_bolt_is_loose() {
    let mut harness = bench();
    let turned = |harness: &Harness<'_, Window>| harness.state().stage.housing_clockwise();
    harness.key_press(Key::ArrowRight);
    harness.run_steps(2);
    assert_eq!(turned(&harness), 0.0, "the bolt is tight");
    click(&mut harness, "Clamp bolt");
    assert!(!harness.state().stage.controls().bolt_tight);
    harness.key_press(Key::ArrowRight);
    harness.run_steps(2);
    assert!((turned(&harness) - 0.25).abs() < 1e-9);
    harness.key_press_modifiers(Modifiers::SHIFT, Key::ArrowLeft);
    harness.run_steps(2);
    assert!((turned(&harness) - 0.20).abs() < 1e-9);
    // A quarter of the way round, clockwise, with the mouse: geared down by four.
    let middle = centre(&harness, "Distributor housing");
    let at = |degrees: f32| middle + 90.0 * vec2(degrees.to_radians().sin(), -degrees.to_radians().cos());
    harness.drag_at(at(0.0));
    harness.run_steps(1);
    for step in 0..=18 {
        harness.hover_at(at(5.0 * step as f32));
        harness.run_steps(1);
    }
    harness.drop_at(at(90.0));
    harness.run_steps(2);
    assert!((turned(&harness) - 22.7).abs() < 1.0, "{}", turned(&harness));
    harness.key_press(Key::B);
    harness.run_steps(2);
    assert!(harness.state().stage.controls().bolt_tight);
}

#[test]
fn the_clamp_goes_where_it_is_put_and_can_be_turned_round() {
    let mut harness = bench();
    click(&mut harness, "Lead 3");
    assert_eq!(harness.state().stage.controls().lead, Lead::Cylinder(3));
    let from = centre(&harness, "Spark clamp");
    let to = centre(&harness, "Lead 5");
    harness.drag_at(from);
    harness.run_steps(2);
    harness.hover_at(from + 0.5 * (to - from));
    harness.run_steps(2);
    harness.hover_at(to);
    harness.run_steps(2);
    harness.drop_at(to);
    harness.run_steps(2);
    assert_eq!(harness.state().stage.controls().lead, Lead::Cylinder(5));
    click(&mut harness, "Spark clamp");
    assert!(harness.state().stage.controls().clamp_reversed);
    harness.key_press(Key::C);
    harness.run_steps(2);
    assert_eq!(harness.state().stage.controls().lead, Lead::Cylinder(6));
}

#[test]
fn throttle_and_starter_hold_as_long_as_they_are_held() {
    let mut harness = bench();
    harness.key_down(Key::Space);
    wait(&mut harness, 1.5);
    assert!(harness.state().stage.bench().engine.rpm() > 1500.0);
    harness.key_up(Key::Space);
    harness.run_steps(2);
    assert_eq!(harness.state().stage.controls().throttle, 0.0);
    click(&mut harness, "Ignition key");
    wait(&mut harness, 5.0);
    assert_eq!(harness.state().stage.bench().engine.rpm(), 0.0);
    click(&mut harness, "Ignition key");
    hold(&mut harness, "Start", 30);
    assert!(!harness.state().stage.controls().starter);
    wait(&mut harness, 2.0);
    assert!(harness.state().stage.bench().engine.rpm() > 500.0);
}

#[test]
fn pause_and_slow_motion_hold_the_clock_of_everything() {
    let mut harness = bench();
    let time = |harness: &Harness<'_, Window>| harness.state().stage.bench().time();
    click(&mut harness, "Pause");
    let before = time(&harness);
    wait(&mut harness, 1.0);
    assert_eq!(time(&harness), before);
    harness.key_press(Key::P);
    harness.key_press(Key::M);
    harness.run_steps(2);
    let before = time(&harness);
    wait(&mut harness, 1.0);
    let passed = time(&harness) - before;
    assert!((passed - 0.02).abs() < 0.005, "{passed}");
}

#[test]
fn a_drill_keeps_its_truth_until_the_answer_is_committed_and_tells_everything_at_the_end() {
    let session =
        Session::start(drill::named("spare-pump").unwrap(), 5, Level::Number, "A. Trainee").unwrap();
    let mut harness = open(Stage::of_session(session).unwrap());
    harness.key_press(Key::T);
    harness.run_steps(2);
    assert!(super::truth::lines(&harness.state().stage).is_none());
    for word in ["Truth", "Save 60 s", "Open…"] {
        assert!(harness.query_by_label(word).is_none(), "{word}");
    }
    harness.get_by_label_contains("A hint").click();
    harness.run_steps(3);
    assert!(harness.query_by_label_contains("Hint:").is_some());
    harness.get_by_value("choose a cause").click();
    harness.run_steps(3);
    click(&mut harness, "Set on the wrong side");
    harness.get_by_value("choose the evidence").click();
    harness.run_steps(3);
    click(&mut harness, drill::Evidence::TwiceTheTarget.words());
    click(&mut harness, "leave it");
    assert!(!harness.state().stage.session().unwrap().committed());
    click(&mut harness, "Commit this answer");
    assert!(harness.state().stage.session().unwrap().committed());
    assert!(super::truth::lines(&harness.state().stage).is_some());
    assert!(harness.query_by_label_contains("It was:").is_some());
    click(&mut harness, "Finish");
    harness.run_steps(3);
    assert!(harness.state().stage.session().unwrap().outcome().is_some());
    assert!(harness.query_by_label("Score sheet to print").is_some());
    assert!(harness.query_by_label_contains("What the customer gets").is_some());
}

#[test]
fn a_picture_of_every_engine_can_be_laid_out_in_every_state() {
    let mut harness = bench();
    for engine in 0..harness.state().stage.engines.len() {
        let window = harness.state_mut();
        let choice = super::catalogue::Choice { engine, ..window.stage.choice };
        window.stage.put(super::catalogue::Choice {
            faults: [crate::engine::fault::FaultKind::Cause(CauseId::Healthy); 2],
            ..choice
        });
        assert_eq!(window.stage.choice.engine, engine);
        window.strip.truth = engine % 2 == 0;
        harness.run_steps(3);
    }
}
