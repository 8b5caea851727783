//! The keyboard: every part that the mouse can grab has a key.

use super::part::Part;
use super::stage::Stage;
use crate::engine::controls::Lead;
use eframe::egui::{Context, Event, Key};
use keyway_core::job::SparkKind;

/// Housing degrees of a tap of an arrow, and with shift.
const TAP: [f64; 2] = [0.25, 0.05];
/// What a held space bar opens the throttle to, and how fast, a second.
const BLIP: (f64, f64) = (0.12, 0.5);

/// What the keyboard holds down.
#[derive(Debug, Default)]
pub(super) struct Keyboard {
    keys: [bool; 4],
    starts: bool,
    blips: bool,
}

/// What the keyboard asks of the window.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Asked {
    /// Pause, or go on.
    Pause,
    /// Slower, or at full pace again.
    Slow,
    /// Show or hide the truth.
    Truth,
    /// Show or hide the list of keys.
    Help,
    /// Keep the last minute as a capture.
    Save,
    /// Keep the window as a picture.
    Picture,
    /// Handheld to the reading.
    Reading,
}

impl Keyboard {
    /// Reads the keyboard: hands act on the stage, the rest is given back.
    pub(super) fn read(&mut self, context: &Context, stage: &mut Stage) -> Vec<Asked> {
        let mut asked = Vec::new();
        let events = context.input(|input| input.events.clone());
        let typing = context.egui_wants_keyboard_input();
        for event in events {
            if let Event::Key { key, pressed, repeat, modifiers, .. } = event {
                if !pressed {
                    self.let_go(key, stage);
                } else if !typing {
                    let step = if modifiers.shift { TAP[1] } else { TAP[0] };
                    self.press(key, repeat, step, stage, &mut asked);
                }
            }
        }
        if self.blips {
            let (most, rate) = BLIP;
            let by = rate * f64::from(context.input(|input| input.stable_dt.min(0.1)));
            let controls = stage.controls_mut();
            controls.throttle = (controls.throttle + by).min(most.max(controls.throttle));
        }
        asked
    }

    fn let_go(&mut self, key: Key, stage: &mut Stage) {
        if let Some(place) = handheld(key)
            && let Some(held) = self.keys.get_mut(place)
            && std::mem::take(held)
        {
            stage.bench_mut().key(place as u8, false);
        } else if key == Key::S && std::mem::take(&mut self.starts) {
            stage.controls_mut().starter = false;
        } else if key == Key::Space && std::mem::take(&mut self.blips) {
            stage.controls_mut().throttle = 0.0;
        }
    }

    fn press(&mut self, key: Key, repeat: bool, step: f64, stage: &mut Stage, asked: &mut Vec<Asked>) {
        match key {
            Key::ArrowLeft => return stage.turn_clockwise(-step),
            Key::ArrowRight => return stage.turn_clockwise(step),
            Key::ArrowUp | Key::ArrowDown => {
                let by = if key == Key::ArrowUp { 0.004 } else { -0.004 };
                let controls = stage.controls_mut();
                controls.throttle = (controls.throttle + by).clamp(0.0, 0.3);
                return;
            }
            _ if repeat => return,
            _ => {}
        }
        if let Some(place) = handheld(key)
            && let Some(held) = self.keys.get_mut(place)
        {
            *held = true;
            return stage.bench_mut().key(place as u8, true);
        }
        let distributor = stage.job().engine.spark == SparkKind::Distributor;
        let cylinders = stage.job().engine.cylinders;
        let clipped = stage.bench().clipped();
        let controls = stage.controls_mut();
        match key {
            Key::I => {
                controls.ignition = !controls.ignition;
                controls.fuel = controls.ignition;
            }
            Key::S => {
                self.starts = true;
                controls.starter = true;
            }
            Key::Space => self.blips = true,
            Key::B => controls.bolt_tight = !controls.bolt_tight,
            Key::L => controls.base_mode = !controls.base_mode,
            Key::F => controls.hold_fixed = !controls.hold_fixed,
            Key::H => controls.hose_on = !controls.hose_on,
            Key::R => controls.clamp_reversed = !controls.clamp_reversed,
            Key::C => controls.lead = after(controls.lead, cylinders, distributor),
            Key::A => controls.accessory_load = if controls.accessory_load > 0.5 { 0.2 } else { 1.0 },
            Key::X => stage.bench_mut().clip(!clipped),
            Key::E => {
                stage.enter(if step < TAP[0] { 0.0 } else { 0.5 }, if step < TAP[0] { 10.0 } else { 0.0 })
            }
            Key::Q => {
                stage.enter(if step < TAP[0] { 0.0 } else { -0.5 }, if step < TAP[0] { -10.0 } else { 0.0 })
            }
            Key::P => asked.push(Asked::Pause),
            Key::M => asked.push(Asked::Slow),
            Key::T => asked.push(Asked::Truth),
            Key::G => asked.push(Asked::Reading),
            Key::F1 => asked.push(Asked::Help),
            Key::F5 => asked.push(Asked::Save),
            Key::F6 => asked.push(Asked::Picture),
            _ => {}
        }
    }
}

fn handheld(key: Key) -> Option<usize> {
    [Key::Num1, Key::Num2, Key::Num3, Key::Num4].iter().position(|one| *one == key)
}

/// Where the clamp goes next.
fn after(lead: Lead, cylinders: u8, distributor: bool) -> Lead {
    match lead {
        Lead::Cylinder(number) if number < cylinders => Lead::Cylinder(number + 1),
        Lead::Cylinder(_) if distributor && cylinders > 1 => Lead::Coil,
        Lead::Cylinder(_) | Lead::Coil => Lead::Off,
        Lead::Off => Lead::Cylinder(1),
    }
}

/// The list of keys, for the help.
pub(super) fn list() -> Vec<(&'static str, &'static str)> {
    let parts = [
        Part::Ignition,
        Part::Start,
        Part::Throttle,
        Part::Bolt,
        Part::Housing,
        Part::Link,
        Part::Fixed,
        Part::Entry,
        Part::Clamp,
        Part::Hose,
        Part::Clips,
        Part::Loads,
    ];
    let mut list = vec![("1 2 3 4", "The handheld's keys, left to right")];
    list.extend(parts.iter().map(|part| (part.key(), part.word())));
    list.extend([
        ("P, M", "Pause; slow motion"),
        ("T, G", "Trainer: the truth; handheld to the reading"),
        ("F5, F6", "Keep the last minute as a capture; keep a picture"),
        ("F1", "These keys"),
    ]);
    list
}
