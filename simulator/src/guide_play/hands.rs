//! A technician's hands: they do what the screen says, hear what the sounder plays, and know nothing else.

use super::{Bench, Slip, mend};
use core::mem::{Discriminant, discriminant};
use keyway_core::job::Rotation;
use keyway_core::view::{GateId, Halt, KeyLabel, MenuItem, Screen, StepId, View};

/// What the screen asks for: a change here is something new to look at.
#[derive(Debug, Clone, PartialEq)]
struct Asked {
    step: Option<StepId>,
    halt: Option<Discriminant<Halt>>,
    screen: Discriminant<Screen>,
    keys: [KeyLabel; 4],
}

/// The hands.
#[derive(Debug, Clone)]
pub struct Hands {
    /// What is still to go wrong.
    slips: Vec<Slip>,
    /// Which way the rotor really turns.
    pub(super) rotor: Rotation,
    /// Each step as it was shown, in order.
    pub steps: Vec<StepId>,
    /// Each halt as it was shown, in order.
    pub halts: Vec<Halt>,
    /// Each step as it was shown, with the halts that there had been until then.
    pub halts_before: Vec<(StepId, usize)>,
    at: Option<StepId>,
    /// Seconds that what the screen asks for has to stand before it is done.
    pub(super) patience: f64,
    /// What the screen asked for last, and since when, s.
    asked: Option<(Asked, f64)>,
    pub(super) done: bool,
    pub(super) blip: Option<f64>,
    /// How far the throttle is opened for a blip, 0 to 1: farther where the last one did not reach.
    pub(super) open: f64,
    pub(super) wrong_way: bool,
    /// The delay that the sweep showed, µs.
    pub(super) delay: Option<f32>,
    /// What the pointer reads at the stop from either side, degrees before the mark's zero, where true zero
    /// is to be found.
    pub stops: Option<[f32; 2]>,
    /// What a wrong change of the reference angle was, degrees.
    pub(super) wrong_reference: f32,
    /// A mistake that the guide stops for is left as it is, so that it can be shown.
    shows: bool,
}

impl Hands {
    /// Hands at an engine whose rotor really turns so, that will make these mistakes.
    pub fn new(rotor: Rotation, slips: &[Slip]) -> Self {
        Self {
            slips: slips.to_vec(),
            rotor,
            steps: Vec::new(),
            halts: Vec::new(),
            halts_before: Vec::new(),
            at: None,
            patience: 0.0,
            asked: None,
            done: false,
            blip: None,
            open: 0.12,
            wrong_way: false,
            delay: None,
            stops: None,
            wrong_reference: 0.0,
            shows: false,
        }
    }

    /// Hands that make no mistake, and leave the engine's where the guide stops for it.
    pub fn showing(rotor: Rotation) -> Self {
        Self { shows: true, ..Self::new(rotor, &[]) }
    }

    /// Whether the guide has stopped for a mistake that is left as it is.
    pub fn has_shown(&self) -> bool {
        self.shows && self.halts.last().copied().is_some_and(mend::is_of_the_engine)
    }

    pub(super) fn slips(&mut self, slip: Slip) -> bool {
        let place = self.slips.iter().position(|one| *one == slip);
        place.map(|place| self.slips.remove(place)).is_some()
    }

    /// The same hands, that do nothing before the screen has asked for it for so many seconds: another handheld
    /// that lives through their job may be later than this one.
    #[must_use]
    pub fn unhurried(self, seconds: f64) -> Self {
        Self { patience: seconds, ..self }
    }

    /// Presses the key with this label, if there is one.
    pub fn press(bench: &mut Bench, label: KeyLabel) -> bool {
        let Some(key) = bench.view().keys.iter().position(|one| *one == label) else { return false };
        bench.key(key as u8, true);
        bench.pass(0.1);
        bench.key(key as u8, false);
        bench.pass(0.05);
        true
    }

    /// From the self-test to the first step of the job of the first engine kept.
    pub fn open_job(bench: &mut Bench) {
        Self::press(bench, KeyLabel::Next);
        Self::choose(bench, MenuItem::ChooseEngine);
        Self::press(bench, KeyLabel::Select);
        bench.pass(0.2);
        Self::choose(bench, MenuItem::StartJob);
    }

    /// Goes down a menu to an item and takes it.
    pub fn choose(bench: &mut Bench, item: MenuItem) -> bool {
        for _ in 0..12 {
            let Screen::Menu(menu) = &bench.view().screen else { return false };
            if menu.items.get(usize::from(menu.selected)) == Some(&Some(item)) {
                return Self::press(bench, KeyLabel::Select);
            }
            Self::press(bench, KeyLabel::Down);
        }
        false
    }

    /// Works until the record is stored and left, a step is reached, or `seconds` have passed. Gives
    /// whether the end, or that step, was reached.
    pub fn work(&mut self, bench: &mut Bench, until: Option<StepId>, seconds: f64) -> bool {
        let end = bench.time() + seconds;
        while bench.time() < end {
            if until.is_some() && self.at == until {
                return true;
            }
            if until.is_none() && bench.record().is_some() && matches!(bench.view().screen, Screen::Menu(_)) {
                return true;
            }
            self.look(bench);
            bench.pass(0.05);
        }
        false
    }

    /// Whether what the screen asks for has stood for as long as these hands want to see it.
    fn has_seen(&mut self, view: &View, now: f64) -> bool {
        let asked = Asked {
            step: view.bar.step.map(|place| place.id),
            halt: view.halt.as_ref().map(discriminant),
            screen: discriminant(&view.screen),
            keys: view.keys,
        };
        let since = match &self.asked {
            Some((before, since)) if *before == asked => *since,
            _ => now,
        };
        self.asked = Some((asked, since));
        now - since >= self.patience
    }

    fn look(&mut self, bench: &mut Bench) {
        let view = *bench.view();
        if let Some(place) = view.bar.step
            && self.at != Some(place.id)
        {
            self.at = Some(place.id);
            self.steps.push(place.id);
            self.halts_before.push((place.id, self.halts.len()));
            self.done = false;
            self.blip = None;
        }
        if !self.has_seen(&view, bench.time()) {
            return;
        }
        if let Screen::Caution { .. } = view.screen {
            let key = 3;
            bench.key(key, true);
            bench.pass(0.8);
            bench.key(key, false);
            return;
        }
        if let Some(halt) = view.halt {
            let again = self.halts.last().is_some_and(|last| discriminant(last) == discriminant(&halt));
            if !again {
                self.halts.push(halt);
            }
            bench.pass(0.3);
            if self.has_shown() {
                return;
            }
            return self.put_right(bench, halt);
        }
        let step = view.bar.step.map(|place| place.id);
        match view.screen {
            Screen::Steps(steps) => self.do_lines(bench, &view, steps.step),
            Screen::BaseProof(_) | Screen::ControlProof(_) | Screen::ClampProof(_) => {
                self.do_proof(bench, &view, step);
            }
            Screen::Reading(_) => self.do_reading(bench, step),
            Screen::Live(_) => self.do_set(bench, &view),
            Screen::Sweep(_) | Screen::Curve(_) => self.do_run(bench, &view),
            Screen::Reference(reference) => {
                if view.keys.contains(&KeyLabel::Done) {
                    self.change_reference(bench, reference.add_btdc);
                    Self::press(bench, KeyLabel::Done);
                } else if bench.engine.rpm() < 50.0 {
                    // The value may be entered on a standing engine: the guide stops nobody.
                    self.start(bench);
                } else {
                    Self::press(bench, KeyLabel::Next);
                }
            }
            Screen::TrueZero(zero) => self.do_zero(bench, &zero),
            Screen::Cranking(_) => bench.pass(0.2),
            _ => {}
        }
    }

    pub(super) fn start(&mut self, bench: &mut Bench) {
        let controls = bench.engine.controls_mut();
        controls.ignition = true;
        controls.fuel = true;
        controls.starter = true;
        for _ in 0..100 {
            bench.pass(0.05);
            if bench.view().bar.rpm.is_some_and(|rpm| rpm > 450.0) {
                break;
            }
        }
        bench.engine.controls_mut().starter = false;
        bench.pass(1.0);
    }

    fn do_lines(&mut self, bench: &mut Bench, view: &View, step: StepId) {
        if !self.done {
            self.done = true;
            match step {
                StepId::MakeSafe => {
                    bench.engine.controls_mut().ignition = false;
                    bench.clip(false);
                    bench.pass(4.0);
                }
                StepId::Connect => bench.clip(true),
                StepId::Start => self.start(bench),
                StepId::HosesOff => bench.engine.controls_mut().hose_on = self.slips(Slip::HoseLeftOn),
                StepId::HosesOn => bench.engine.controls_mut().hose_on = !self.slips(Slip::HoseLeftOff),
                StepId::ClampDown | StepId::ClampFine => {
                    bench.engine.controls_mut().bolt_tight = true;
                    if self.slips(Slip::ClampSlips) {
                        bench.engine.controls_mut().housing_deg += 1.2;
                    }
                    bench.pass(0.5);
                }
                StepId::EnterDelay => {
                    let delay = self.delay.take().unwrap_or(0.0);
                    if !self.slips(Slip::DelayNotEntered) {
                        bench.engine.enter(0.0, f64::from(delay) * 1e-6);
                    }
                }
                StepId::Release => bench.engine.controls_mut().hold_fixed = self.slips(Slip::StillHeld),
                StepId::LinkBack => {
                    if !self.slips(Slip::LinkLeftOut) {
                        bench.engine.controls_mut().base_mode = false;
                    }
                    bench.pass(0.5);
                }
                StepId::StopEngine | StepId::Disconnect => {
                    bench.engine.controls_mut().ignition = false;
                    bench.pass(4.0);
                }
                _ => {}
            }
        }
        let Screen::Steps(steps) = view.screen else { return };
        if step == StepId::Start && view.bar.rpm == Some(0.0) && steps.gates.iter().flatten().count() > 0 {
            let told =
                steps.gates.iter().flatten().any(|line| {
                    line.gate == GateId::HandsClear && line.mark != keyway_core::view::Mark::Open
                });
            if told {
                self.start(bench);
            }
        }
        if self.stops.is_some() && Self::press(bench, KeyLabel::Zero) {
            return;
        }
        for label in [KeyLabel::Done, KeyLabel::Next, KeyLabel::Save, KeyLabel::Leave] {
            if Self::press(bench, label) {
                return;
            }
        }
    }

    fn do_reading(&mut self, bench: &mut Bench, step: Option<StepId>) {
        if step == Some(StepId::Restart) && !self.done {
            self.done = true;
            self.start(bench);
            return;
        }
        Self::press(bench, KeyLabel::Next);
    }
}
