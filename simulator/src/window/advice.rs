//! The one sentence that says what to do next with the hands, and the part to grab for it.
//!
//! It follows from what the handheld shows and from what anyone sees at the bench; the engine's truth is not in it.
//! The handheld says what the step is for; this says where the hand goes, and with which key of the keyboard.

use super::part::Part;
use super::stage::Stage;
use crate::engine::controls::Controls;
use keyway_core::job::Rotation;
use keyway_core::view::{GateId, KeyLabel, Mark, MenuItem, Screen, StepId, View};
use keyway_core::words;

/// What to do next.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Advice {
    /// In one sentence or two.
    pub(super) text: String,
    /// The part to grab; `None` where the hands wait.
    pub(super) part: Option<Part>,
}

pub(super) fn say(text: impl Into<String>, part: Part) -> Advice {
    Advice { text: text.into(), part: Some(part) }
}

pub(super) fn wait(text: impl Into<String>) -> Advice {
    Advice { text: text.into(), part: None }
}

/// The advice for this moment.
pub(super) fn next(stage: &Stage) -> Advice {
    if stage.is_brisk() {
        return wait("A quick technician works through the steps to the reading. Watch.");
    }
    let Some(view) = stage.view() else {
        return wait("The handheld is covered. Read the mark under the pointer and use what you know.");
    };
    let hands = Hands {
        controls: stage.controls(),
        rpm: stage.bench().engine.rpm(),
        clipped: stage.bench().clipped(),
        refitted: stage.refitted,
        recorded: stage.bench().record().is_some(),
    };
    match view.halt {
        Some(halt) => hands.halted(&view, halt),
        None => hands.working(&view),
    }
}

/// What anyone sees at the bench.
pub(super) struct Hands<'a> {
    pub(super) controls: &'a Controls,
    pub(super) rpm: f64,
    clipped: bool,
    /// The distributor was out since the ignition was last on.
    pub(super) refitted: bool,
    /// A record was kept on this engine.
    recorded: bool,
}

/// The first of these labels that a key has now, as the advice to press it.
pub(super) fn press(view: &View, labels: &[KeyLabel], why: &str) -> Option<Advice> {
    labels.iter().find_map(|label| {
        let key = view.keys.iter().position(|one| one == label)? as u8;
        let word = words::key(*label);
        Some(say(
            format!("{why}: press \u{201c}{word}\u{201d} on the handheld (key {}).", key + 1),
            Part::Key(key),
        ))
    })
}

fn press_or_wait(view: &View, labels: &[KeyLabel], why: &str) -> Advice {
    press(view, labels, why).unwrap_or_else(|| wait("Hands off: the handheld is measuring."))
}

/// The delay that the handheld asks to be entered, µs.
fn view_delay(view: &View) -> Option<f32> {
    let Screen::Steps(steps) = &view.screen else { return None };
    let line = steps.gates.iter().flatten().find(|line| line.gate == GateId::DelayEntered)?;
    line.value.and_then(|value| value.measured)
}

const ON: &[KeyLabel] = &[KeyLabel::Done, KeyLabel::Next, KeyLabel::Save, KeyLabel::Leave, KeyLabel::Select];

impl Hands<'_> {
    pub(super) fn runs(&self) -> bool {
        self.rpm > 350.0
    }

    pub(super) fn start(&self) -> Advice {
        if !self.controls.ignition {
            return say("Turn the ignition on: click the key, or press I.", Part::Ignition);
        }
        say("Start it: hold START (or S) until it runs, then let go.", Part::Start)
    }

    pub(super) fn stop(&self) -> Option<Advice> {
        let off = || say("Turn the ignition off: click the key, or press I.", Part::Ignition);
        self.controls.ignition.then(off)
    }

    fn working(&self, view: &View) -> Advice {
        match view.screen {
            Screen::Caution { .. } => {
                let key = view.keys.iter().position(|one| *one == KeyLabel::Understood).unwrap_or(3) as u8;
                say(
                    format!("Read the caution, then hold key {} until its bar is full.", key + 1),
                    Part::Key(key),
                )
            }
            Screen::Menu(menu) => {
                let wanted =
                    [MenuItem::Resume, MenuItem::ChooseEngine, MenuItem::StartJob, MenuItem::BackToStep];
                let selected = menu.items.get(usize::from(menu.selected)).copied().flatten();
                match selected.filter(|item| wanted.contains(item)) {
                    Some(MenuItem::StartJob) if self.recorded => wait(
                        "The job is done and its record kept. Choose another engine, mistake or drill at the top, or \
                         start the job again.",
                    ),
                    Some(item) => press_or_wait(view, &[KeyLabel::Select], words::menu_item(item)),
                    None => press_or_wait(view, &[KeyLabel::Down], "Go down the list"),
                }
            }
            Screen::Engines(list) => {
                let chosen = list.engines.get(usize::from(list.selected)).copied().flatten();
                match chosen.filter(|label| !label.as_str().is_empty()) {
                    Some(_) => press_or_wait(view, &[KeyLabel::Select], "Take this engine"),
                    None => press_or_wait(view, &[KeyLabel::Down], "Go down to the engine"),
                }
            }
            Screen::Steps(steps) => {
                let open = steps.gates.iter().flatten().any(|line| line.mark == Mark::Open);
                let hands = steps
                    .gates
                    .iter()
                    .flatten()
                    .any(|line| line.gate == GateId::HandsClear && line.mark == Mark::Open);
                self.steps(view, steps.step, open, hands)
            }
            Screen::BaseProof(proof) => self.base(view, proof.step, proof.blip.1),
            Screen::ControlProof(proof) if proof.step_mark == Mark::Open => {
                self.base(view, StepId::LinkBack, 0.0)
            }
            Screen::ControlProof(proof) => self.base(view, proof.step, proof.blip.1),
            Screen::ClampProof(proof) if proof.change.is_none() => self.base(view, StepId::ReadAgain, 0.0),
            Screen::ClampProof(proof) => self.base(view, proof.step, proof.blip.1),
            Screen::Reading(_) | Screen::NoReading { .. } if !self.runs() => self.start(),
            Screen::Reading(reading) if !reading.settled => {
                wait("Hands off, throttle shut: let it idle until the number has settled.")
            }
            Screen::Reading(_) => press_or_wait(view, ON, "The reading has settled"),
            Screen::Live(live) => {
                let turn = live.correction.and_then(|correction| correction.turn);
                let near = live.error.is_some_and(|error| error.abs() <= 0.6 * live.tolerance);
                self.live(view, turn.filter(|_| !near), live.error)
            }
            Screen::Sweep(sweep) => self.run_up(view, sweep.reach),
            Screen::Curve(curve) => self.run_up(view, curve.reach),
            // What was read before counts: at this moment there may be no number yet.
            Screen::Reference(change)
                if view.keys.contains(&KeyLabel::Done) && change.add_btdc.abs() > change.tolerance =>
            {
                let add = change.add_btdc;
                let text = format!(
                    "Enter {add:+.1}° of reference in the computer with its - and + keys, then press Done."
                );
                say(text, Part::Entry)
            }
            Screen::Reference(_) if !self.runs() => self.start(),
            Screen::Reference(_) => press_or_wait(view, &[KeyLabel::Done, KeyLabel::Next], "Entered"),
            Screen::Cranking(_) => say("Hold START (or S) for 5 seconds, throttle shut.", Part::Start),
            Screen::SelfTest(_) => {
                press_or_wait(view, &[KeyLabel::Next, KeyLabel::Back], "The handheld is switched on")
            }
            _ => press_or_wait(
                view,
                &[KeyLabel::Next, KeyLabel::Done, KeyLabel::Back, KeyLabel::Cancel],
                "When you have read it",
            ),
        }
    }

    fn steps(&self, view: &View, step: StepId, open: bool, hands: bool) -> Advice {
        let controls = self.controls;
        match step {
            StepId::MakeSafe | StepId::StopEngine | StepId::Disconnect => {
                if let Some(advice) = self.stop() {
                    return advice;
                }
                if self.rpm > 0.0 {
                    return wait("Wait until the engine stands still.");
                }
                let why = if open { "Tick the next line as done" } else { "All done" };
                press_or_wait(view, ON, why)
            }
            StepId::Finish => press(view, &[KeyLabel::Save], "Look it over, then keep the record")
                .unwrap_or_else(|| press_or_wait(view, ON, "The record is kept")),
            StepId::Connect if !self.clipped => {
                say("Clip the handheld on: click its clips, or press X.", Part::Clips)
            }
            StepId::Start if hands && !self.runs() => {
                press_or_wait(view, &[KeyLabel::Done], "Hands, sleeves and leads clear")
            }
            StepId::Start if !self.runs() => self.start(),
            StepId::Ready | StepId::Steered | StepId::HosesOff | StepId::BelowWeights if !self.runs() => {
                self.start()
            }
            StepId::HosesOff if controls.hose_on => {
                say("Take the vacuum hose off and plug it: click it, or press H.", Part::Hose)
            }
            StepId::HosesOn if !controls.hose_on => {
                say("Put the vacuum hose back on: click it, or press H.", Part::Hose)
            }
            StepId::ClampDown | StepId::ClampFine if !controls.bolt_tight => {
                say("Tighten the clamp bolt: click it, or press B.", Part::Bolt)
            }
            StepId::EnterDelay => match press(view, &[KeyLabel::Next], "Entered") {
                Some(advice) => advice,
                None => {
                    let told = view_delay(view).map_or("the delay".to_owned(), |us| format!("{us:.0} µs"));
                    say(
                        format!(
                            "Add {told} to the delay in the computer with its - and + keys, then press Done."
                        ),
                        Part::Entry,
                    )
                }
            },
            StepId::Release if controls.hold_fixed => {
                say("Let the fixed value go in the computer: click it, or press F.", Part::Fixed)
            }
            StepId::LinkBack if controls.base_mode => {
                say("Put the base-mode connector back in: click it, or press L.", Part::Link)
            }
            _ => {
                press_or_wait(view, ON, if open { "Tick the next line as done" } else { "Everything holds" })
            }
        }
    }

    fn base(&self, view: &View, step: StepId, reach: f32) -> Advice {
        if let Some(advice) = press(view, &[KeyLabel::Next], "Proven") {
            return advice;
        }
        if !self.runs() {
            return self.start();
        }
        match step {
            StepId::BaseLink if !self.controls.base_mode => {
                say("Open the base-mode connector: click it, or press L.", Part::Link)
            }
            StepId::HoldFixed if !self.controls.hold_fixed => {
                say("Tell the computer to hold the fixed value: click it, or press F.", Part::Fixed)
            }
            StepId::BaseLink | StepId::HoldFixed if view.keys.contains(&KeyLabel::Done) => {
                press_or_wait(view, &[KeyLabel::Done], "Changed")
            }
            StepId::BaseBlip
            | StepId::ClampBlip
            | StepId::BlipFine
            | StepId::ControlBlip
            | StepId::HoldFixed => {
                if view.bar.in_idle_band || self.controls.throttle > 0.0 {
                    let text = format!(
                        "Blip: hold the throttle (or the space bar) until {:.0} rpm, then let go.",
                        reach + 50.0
                    );
                    say(text, Part::Throttle)
                } else {
                    wait("Hands off: let it fall back to idle.")
                }
            }
            _ => wait("Hands off: let it idle, the handheld is measuring."),
        }
    }

    fn run_up(&self, view: &View, reach: f32) -> Advice {
        if let Some(advice) = press(view, &[KeyLabel::Next], "Enough speeds seen: let it fall to idle") {
            return advice;
        }
        if !self.runs() {
            return self.start();
        }
        say(
            format!("Open the throttle slowly (tap the up arrow) to {reach:.0} rpm, then down again."),
            Part::Throttle,
        )
    }

    fn live(&self, view: &View, turn: Option<Rotation>, error: Option<f32>) -> Advice {
        if let Some(advice) = press(view, &[KeyLabel::Next], "On target and still") {
            return advice;
        }
        if !self.runs() {
            return self.start();
        }
        if self.controls.bolt_tight {
            return say("Loosen the clamp bolt: click it, or press B. Keep the engine at idle.", Part::Bolt);
        }
        match turn {
            Some(turn) => {
                let (word, key) = match turn {
                    Rotation::Clockwise => ("clockwise", "right"),
                    Rotation::Counterclockwise => ("counterclockwise", "left"),
                };
                let fine = if error.is_some_and(|error| error.abs() < 3.0) { "a little " } else { "" };
                say(
                    format!(
                        "Turn the housing {fine}{word}: drag its rim, or tap the {key} arrow key. Listen: the pulses quicken towards the target."
                    ),
                    Part::Housing,
                )
            }
            None if error.is_some() => wait("On target: hold still until the bar is full."),
            None => wait("Hands off: the handheld is measuring."),
        }
    }
}
