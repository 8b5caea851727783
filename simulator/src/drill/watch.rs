//! Follows a trainee's work moment by moment: what hands and guide did and when, how far the housing went,
//! which steps were taken, and the errors that fail a drill.
//!
//! Whatever moves a control is seen, whether a
//! script, the scripted technician or a mouse moved it: two moments are compared, nobody has to report.
//! *Held*: base mode, the fixed value held, or the hose off, as the kind of control has it.

use super::level::Level;
use super::log::FRAME;
use super::log::{Critical, Entry, Frame, Kind, Seen};
use crate::engine::controls::{Controls, Lead};
use crate::guide_play::{Moment, transcript};
use keyway_core::job::{Control, JobSpec, Rotation};
use keyway_core::view::{CautionId, Halt, Screen, StepId};
use keyway_core::words;

/// A hand that rests so long has finished its turn, s.
const TURN_ENDS: f64 = 1.0;
/// The throttle counts as opened from here.
const OPENED: f64 = 0.02;
/// A blip goes so far beyond the idle band, rpm.
const BLIP: f64 = 250.0;
/// Held so long with the engine running, it was read so, s.
const HELD_LONG: f64 = 2.0;
/// Housing degrees below which nothing was turned.
pub(super) const TOUCHED: f64 = 0.15;
/// Follows the work.
#[derive(Debug)]
pub(super) struct Watch {
    control: Control,
    idle_high: f64,
    rotor: Rotation,
    level: Level,
    start: f64,
    /// Housing degrees as it was found.
    found: f64,
    last: Moment,
    frames: Vec<Frame>,
    entries: Vec<Entry>,
    lines: Vec<(f64, String)>,
    shape: String,
    critical: Vec<Critical>,
    seen: Seen,
    held_since: Option<f64>,
    stopped: bool,
    step: Option<StepId>,
    /// Where a turn began and when it last went on.
    turn: Option<(f64, f64)>,
    /// When the throttle was opened, and the highest speed since.
    open: Option<(f64, f64)>,
    path: f64,
    /// Cylinders that the guide last named as doing no work; 0 where it named fewer.
    pub(super) weak: [u8; 2],
    /// The piston stop is in.
    pub(super) stop_in: bool,
}

impl Watch {
    /// Begins at this moment.
    pub(super) fn new(job: &JobSpec, level: Level, first: Moment) -> Self {
        Self {
            control: job.timing.control,
            idle_high: f64::from(job.timing.idle_rpm[1]),
            rotor: job.engine.rotor.unwrap_or(Rotation::Clockwise),
            level,
            start: first.at,
            found: first.controls.housing_deg,
            last: first,
            frames: Vec::new(),
            entries: Vec::new(),
            lines: Vec::new(),
            shape: String::new(),
            critical: Vec::new(),
            seen: Seen::default(),
            held_since: None,
            stopped: false,
            step: None,
            turn: None,
            open: None,
            path: 0.0,
            weak: [0; 2],
            stop_in: false,
        }
    }

    /// Since the drill began, s.
    pub(super) fn seconds(&self) -> f64 {
        self.last.at - self.start
    }

    /// Housing degrees that were turned in all, there and back.
    pub(super) fn path(&self) -> f64 {
        self.path
    }

    /// Housing degrees from where it was found to where it is, positive = advance.
    pub(super) fn net(&self) -> f64 {
        self.last.controls.housing_deg - self.found
    }

    /// What was seen of the procedure.
    pub(super) fn seen(&self) -> Seen {
        self.seen
    }

    /// Errors that fail the drill, each once.
    pub(super) fn critical(&self) -> &[Critical] {
        &self.critical
    }

    /// The log with its truth.
    pub(super) fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// Pictures of the run with its truth.
    pub(super) fn frames(&self) -> &[Frame] {
        &self.frames
    }

    /// What the trainee saw and did: no truth in it; s since the drill began.
    pub(super) fn lines(&self) -> &[(f64, String)] {
        &self.lines
    }

    /// The newest moment.
    pub(super) fn last(&self) -> &Moment {
        &self.last
    }

    /// Shows the trainee a line.
    pub(super) fn show(&mut self, line: String) {
        self.lines.push((self.seconds(), line));
    }

    /// Writes a line into the log.
    pub(super) fn note(&mut self, kind: Kind, what: String) {
        let at = self.seconds();
        let mark = if kind == Kind::Critical { "!! " } else { "-- " };
        if kind != Kind::Critical {
            self.lines.push((at, format!("{mark}{what}")));
        }
        let (advance, base) = (self.last.advance, self.last.base);
        self.entries.push(Entry { at, kind, what, advance, base });
    }

    /// An error that fails the drill.
    pub(super) fn fail(&mut self, critical: Critical) {
        if !self.critical.contains(&critical) {
            self.critical.push(critical);
            self.note(Kind::Critical, critical.words());
        }
    }

    /// Takes the moments since the last time, in their order.
    pub(super) fn absorb(&mut self, moments: Vec<Moment>) {
        for moment in moments {
            let before = std::mem::replace(&mut self.last, moment);
            self.controls(&before, &moment);
            self.dangers(&before, &moment);
            self.procedure(&moment);
            self.screen(&moment);
            if self.frames.last().is_none_or(|frame| self.seconds() - frame.at >= FRAME - 1e-6) {
                self.frames.push(Frame {
                    at: self.seconds(),
                    advance: moment.advance,
                    base: moment.base,
                    rpm: moment.rpm,
                    controls: moment.controls,
                });
            }
        }
    }

    fn controls(&mut self, before: &Moment, now: &Moment) {
        let (old, new) = (&before.controls, &now.controls);
        let moved = new.housing_deg - old.housing_deg;
        if moved != 0.0 {
            self.path += moved.abs();
            self.seen.clamp_checked = false;
            self.turn = Some((self.turn.map_or(old.housing_deg, |turn| turn.0), now.at));
        } else if let Some((from, last)) = self.turn
            && now.at - last >= TURN_ENDS
        {
            self.end_turn(from);
        }
        if new.bolt_tight != old.bolt_tight {
            self.end_any_turn();
            self.hand(if new.bolt_tight { "clamp bolt tightened" } else { "clamp bolt loosened" });
        }
        let held = |controls: &Controls| self.held(controls);
        if held(old) != held(new) {
            let what = match (self.control, held(new)) {
                (Control::Computer, true) => "base-mode link as the label says",
                (Control::Computer, false) => "base-mode link back",
                (Control::Commanded, true) => "fixed value held",
                (Control::Commanded, false) => "fixed value released",
                (Control::Mechanical, true) => "vacuum hose off and plugged",
                (Control::Mechanical, false) => "vacuum hose on",
            };
            self.hand(what);
        }
        if new.ignition != old.ignition {
            self.hand(if new.ignition { "key on" } else { "key off" });
        }
        if new.starter && !old.starter {
            self.hand("starter");
        }
        if new.lead != old.lead {
            let what = match new.lead {
                Lead::Off => "clamp taken off".into(),
                Lead::Coil => "clamp on the coil's lead".into(),
                Lead::Cylinder(cylinder) => format!("clamp on the lead of cylinder {cylinder}"),
            };
            self.note(Kind::Hand, what);
        }
        if new.clamp_reversed != old.clamp_reversed {
            self.hand(if new.clamp_reversed { "clamp turned round" } else { "clamp put the right way" });
        }
        if new.accessory_load != old.accessory_load {
            self.note(Kind::Hand, format!("added loads at {:.0} %", 100.0 * new.accessory_load));
        }
        if now.leads_on != before.leads_on {
            self.hand(if now.leads_on { "clips and leads on" } else { "clips and leads off" });
        }
        match self.open {
            None if new.throttle >= OPENED => self.open = Some((now.at, now.rpm)),
            Some((since, peak)) if new.throttle < OPENED => {
                self.open = None;
                self.note(
                    Kind::Hand,
                    format!("throttle open for {:.1} s, up to {peak:.0} rpm", now.at - since),
                );
            }
            Some((since, peak)) => self.open = Some((since, peak.max(now.rpm))),
            None => {}
        }
    }

    fn hand(&mut self, what: &str) {
        self.note(Kind::Hand, what.to_owned());
    }

    fn end_turn(&mut self, from: f64) {
        self.turn = None;
        let by = self.last.controls.housing_deg - from;
        let way = if by > 0.0 { self.rotor.opposite() } else { self.rotor };
        let sense = if by > 0.0 { "advances" } else { "retards" };
        self.note(Kind::Hand, format!("housing turned {:.1}° {}: {sense}", by.abs(), words::turn(way)));
    }

    /// Ends a turn that is still going on.
    pub(super) fn end_any_turn(&mut self) {
        if let Some((from, _)) = self.turn {
            self.end_turn(from);
        }
    }

    /// Base mode, the fixed value, or the hose off.
    fn held(&self, controls: &Controls) -> bool {
        match self.control {
            Control::Computer => controls.base_mode,
            Control::Commanded => controls.hold_fixed,
            Control::Mechanical => !controls.hose_on,
        }
    }

    fn dangers(&mut self, before: &Moment, now: &Moment) {
        let (old, new) = (&before.controls, &now.controls);
        let turns = before.rpm > 50.0;
        if new.throttle > old.throttle.max(OPENED) && !new.bolt_tight && turns {
            self.fail(Critical::SpeedWithBoltLoose);
        }
        if self.stop_in && now.rpm > 0.0 {
            self.fail(Critical::StopLeftIn);
        }
        if (new.lead != old.lead || new.clamp_reversed != old.clamp_reversed) && turns {
            self.fail(Critical::CautionSkipped(CautionId::HoldHousing));
        }
        let risks = new.starter && !old.starter
            || new.throttle > old.throttle.max(OPENED)
            || new.housing_deg != old.housing_deg
            || old.bolt_tight && !new.bolt_tight
            || new.lead != old.lead;
        if let (Screen::Caution { id, .. }, true) = (before.view.screen, risks)
            && self.level != Level::Strobe
        {
            self.fail(Critical::CautionSkipped(id));
        }
    }

    fn procedure(&mut self, now: &Moment) {
        let controls = &now.controls;
        let held = self.held(controls);
        let untouched = self.path < TOUCHED;
        let blip = now.rpm > self.idle_high + BLIP;
        let seen = &mut self.seen;
        if now.rpm <= 0.0 {
            seen.made_safe |= untouched && !controls.ignition;
            self.stopped |= !held;
        }
        let running_held = held && now.rpm > 400.0;
        let since = self.held_since.filter(|_| running_held).unwrap_or(now.at);
        self.held_since = running_held.then_some(since);
        seen.read_held |= untouched && running_held && now.at - since >= HELD_LONG;
        if held {
            (seen.given_back, seen.restarted, self.stopped) = (false, false, false);
            seen.proven |= blip && controls.bolt_tight && untouched;
            seen.clamp_checked |= blip && controls.bolt_tight && !untouched;
        } else {
            seen.given_back |= blip;
            seen.restarted |= self.stopped && now.rpm > 400.0;
        }
        if !controls.bolt_tight {
            seen.clamp_checked = false;
        }
    }

    fn screen(&mut self, now: &Moment) {
        let Some(view) = self.level.uncovered(&now.view) else { return };
        if let Some(Halt::DeadCylinder { cylinders }) = view.halt {
            self.weak = cylinders;
        }
        let step = view.bar.step.map(|place| place.id);
        if step != self.step {
            self.step = step;
            if let Some(step) = step {
                let (advance, base) = (now.advance, now.base);
                let what = format!("guide: {}", words::title(step));
                self.entries.push(Entry { at: self.seconds(), kind: Kind::Guide, what, advance, base });
            }
        }
        let (shape, full) = transcript::lines(&view, now.tone);
        if shape != self.shape {
            self.shape = shape;
            self.lines.push((self.seconds(), full));
        }
    }
}
