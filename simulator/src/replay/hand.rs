//! Who presses the keys during a replay.
//!
//! *Hasty*: takes the first engine, starts the job, tells what can be told, waits a little for what is
//! measured and leaves out what may be left out, until the reading; there, and wherever the guide stops or
//! warns, it rests, so that the screen stands. *Scripted*: presses what a script says, at the capture's time.

use crate::guide_play::Act;
use keyway_core::view::{KeyLabel, MenuItem, Screen, StepId, View};

/// A measured line is waited for this long before it is left out, s.
const PATIENCE: f64 = 2.5;
/// A key is held, s.
const PRESS: f64 = 0.1;
/// A caution's key is held, s.
const LONG_PRESS: f64 = 0.7;
/// Between two keys, s.
const REST: f64 = 0.1;

/// The hand on the keys.
#[derive(Debug)]
pub struct Hand {
    script: Option<Vec<Act>>,
    next: usize,
    /// The key that is down, and until when.
    down: Option<(u8, f64)>,
    rests_until: f64,
    /// The job says that base mode, or the fixed value, was held during the recording.
    held: bool,
    /// What it waits to be measured, since when.
    waits: Option<(StepId, f64)>,
}

impl Hand {
    /// Tells everything, leaves out what may be left out.
    pub fn hasty() -> Self {
        Self { script: None, next: 0, down: None, rests_until: 0.0, held: false, waits: None }
    }

    /// Presses what these acts say: `press`, `hold`, `choose` and `wait`.
    ///
    /// # Errors
    /// The number of the first act that is none of these, from 1.
    pub fn scripted(acts: Vec<Act>) -> Result<Self, usize> {
        let keys = |act: &Act| matches!(act, Act::Key(..) | Act::Choose(_) | Act::Wait(_));
        match acts.iter().position(|act| !keys(act)) {
            Some(other) => Err(other + 1),
            None => Ok(Self { script: Some(acts), ..Self::hasty() }),
        }
    }

    /// Takes the technician's word, from the job, that base mode or the fixed value was held; without it the
    /// hand leaves those steps out instead of telling them done.
    pub(super) fn takes_the_word(&mut self, held: bool) {
        self.held = held;
    }

    /// Looks at the screen at this time, s; the key that goes down or up now.
    pub fn look(&mut self, view: &View, now: f64) -> Option<(u8, bool)> {
        if let Some((key, until)) = self.down {
            if now < until {
                return None;
            }
            self.down = None;
            self.rests_until = now + REST;
            return Some((key, false));
        }
        if now < self.rests_until {
            return None;
        }
        let (label, held) = match &self.script {
            Some(_) => self.scripted_key(view, now)?,
            None => self.hasty_key(view, now)?,
        };
        let key = view.keys.iter().position(|one| *one == label)? as u8;
        self.down = Some((key, now + held));
        Some((key, true))
    }

    /// Whether the hand has come to rest: nothing more to press on this screen. A script's keys belong to the
    /// capture's time: before it begins, it rests.
    pub fn rests(&mut self, view: &View, now: f64) -> bool {
        if self.script.is_some() {
            return true;
        }
        let waiting = self.waits.is_some_and(|(_, since)| now - since < PATIENCE + 1.0);
        self.down.is_none() && now >= self.rests_until && !waiting && self.hasty_key(view, now).is_none()
    }

    fn scripted_key(&mut self, view: &View, now: f64) -> Option<(KeyLabel, f64)> {
        let act = self.script.as_ref()?.get(self.next)?.clone();
        match act {
            Act::Key(label, seconds) => {
                // A key that is not there yet is waited for.
                let there = view.keys.contains(&label);
                self.next += usize::from(there);
                there.then_some((label, seconds))
            }
            Act::Choose(item) => {
                let chosen = selected(view) == Some(item);
                self.next += usize::from(chosen);
                matches!(view.screen, Screen::Menu(_))
                    .then_some((if chosen { KeyLabel::Select } else { KeyLabel::Down }, PRESS))
            }
            Act::Wait(seconds) => {
                self.next += 1;
                self.rests_until = now + seconds;
                None
            }
            _ => None,
        }
    }

    fn hasty_key(&mut self, view: &View, now: f64) -> Option<(KeyLabel, f64)> {
        let has = |label| view.keys.contains(&label).then_some((label, PRESS));
        if view.halt.is_some() {
            return None;
        }
        match &view.screen {
            Screen::Caution { .. } => return Some((KeyLabel::Understood, LONG_PRESS)),
            Screen::SelfTest(_) => return has(KeyLabel::Next),
            Screen::Engines(_) => return has(KeyLabel::Select),
            Screen::Menu(_) => {
                let wanted = [MenuItem::ChooseEngine, MenuItem::StartJob];
                let there = selected(view).is_some_and(|item| wanted.contains(&item));
                return has(if there { KeyLabel::Select } else { KeyLabel::Down });
            }
            Screen::Reading(reading) if reading.step == StepId::Read => return None,
            _ => {}
        }
        let step = view.bar.step?.id;
        let since = match self.waits {
            Some((waits, since)) if waits == step => since,
            _ => now,
        };
        self.waits = Some((step, since));
        let told = self.held || !matches!(step, StepId::BaseLink | StepId::HoldFixed);
        if let Some(press) = has(KeyLabel::Next).or_else(|| has(KeyLabel::Done).filter(|_| told)) {
            self.waits = None;
            return Some(press);
        }
        let measured = matches!(view.screen, Screen::Steps(_));
        let waited = !measured || now - since >= PATIENCE;
        has(KeyLabel::Skip).filter(|_| waited)
    }
}

fn selected(view: &View) -> Option<MenuItem> {
    let Screen::Menu(menu) = &view.screen else { return None };
    menu.items.get(usize::from(menu.selected)).copied().flatten()
}
