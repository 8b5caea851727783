//! What hands can do on the bench beside the controls: turn, clamp, pull, enter, take out and mend.

use super::stage::{Rig, Stage};
use crate::drill::refit;
use crate::engine::controls::Lead;
use keyway_core::job::Rotation;

impl Stage {
    /// A hand turns the housing by so many housing degrees, clockwise facing the cap.
    pub(super) fn turn_clockwise(&mut self, degrees: f64) {
        let Some(rotor) = self.job.engine.rotor else { return };
        if self.controls().bolt_tight {
            return self.say("The bolt is tight: the housing does not turn. Loosen it first (B).");
        }
        let advance = if rotor == Rotation::Clockwise { -degrees } else { degrees };
        let controls = self.controls_mut();
        controls.housing_deg = (controls.housing_deg + advance).clamp(-40.0, 40.0);
    }

    /// How far the housing stands from where it was found, housing degrees, clockwise facing the cap.
    pub(super) fn housing_clockwise(&self) -> f64 {
        let housing = self.controls().housing_deg;
        if self.job.engine.rotor == Some(Rotation::Clockwise) { -housing } else { housing }
    }

    /// The clamp is put on a lead, the coil's, or the bench.
    pub(super) fn clamp_on(&mut self, lead: Lead) {
        self.controls_mut().lead = lead;
    }

    /// A spark lead is pulled off its plug, or put back.
    pub(super) fn pull_lead(&mut self, cylinder: u8) {
        let off = !self.pulled.contains(&cylinder);
        match &mut self.rig {
            Rig::Free(bench) => bench.engine.feed(cylinder, if off { 0.0 } else { 1.0 }),
            Rig::Drill(session) => session.lead_off(cylinder, off),
        }
        if off {
            self.pulled.push(cylinder);
        } else {
            self.pulled.retain(|one| *one != cylinder);
        }
    }

    /// Degrees and µs are entered in the computer, on top of what was.
    pub(super) fn enter(&mut self, reference: f64, delay_us: f64) {
        self.entered.0 += reference;
        self.entered.1 += delay_us;
        match &mut self.rig {
            Rig::Free(bench) => bench.engine.enter(reference, delay_us * 1e-6),
            Rig::Drill(session) => session.enter(reference, delay_us),
        }
    }

    /// The distributor is taken out and put in again so many teeth of its gear earlier; negative: later.
    pub(super) fn put_in_again(&mut self, teeth: i32) {
        let done = match &mut self.rig {
            Rig::Free(bench) => refit::put_in_again(&mut bench.engine, &self.job, teeth),
            Rig::Drill(session) => session.put_in_again(teeth),
        };
        let way = if teeth < 0 { "later" } else { "earlier" };
        self.tell(done, &format!("Out, and in again a tooth {way}."));
    }

    /// A sound drive for the distributor.
    pub(super) fn fit_drive(&mut self) {
        let done = match &mut self.rig {
            Rig::Free(bench) => refit::fit_drive(&mut bench.engine, &self.job),
            Rig::Drill(session) => session.fit_drive(),
        };
        self.tell(done, "A sound drive is in, the housing on its witness mark.");
    }

    /// An injector's connector is cleaned and plugged in again.
    pub(super) fn plug_in(&mut self, cylinder: u8) {
        match &mut self.rig {
            Rig::Free(bench) => bench.engine.feed(cylinder, 1.0),
            Rig::Drill(session) => session.injector(cylinder),
        }
        self.say(&format!("Injector connector {cylinder} cleaned and plugged in."));
    }

    fn tell(&mut self, done: Result<(), String>, word: &str) {
        match done {
            Ok(()) => {
                self.refitted = true;
                self.say(word);
            }
            Err(why) => self.say(&format!("It cannot be done: {why}.")),
        }
    }
}
