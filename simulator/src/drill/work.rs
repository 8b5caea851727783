//! What a trainee can do in a session beside the controls: leads, connectors, the piston stop, entries in the
//! computer; and the acts of a script carried out.

use super::acts::Deed;
use super::commit::Answer;
use super::level::Level;
use super::log::{Critical, Kind};
use super::refit;
use super::session::Session;
use crate::guide_play::{self, Act, Hands};
use keyway_core::job::Rotation;
use keyway_core::view::Screen;

/// Why the keys cannot be pressed at the level of the strobe.
const COVERED: &str = "the handheld is covered at this level";

impl Session {
    /// Pulls a spark lead off its plug, or puts it back.
    pub fn lead_off(&mut self, cylinder: u8, off: bool) {
        let place = usize::from(cylinder.saturating_sub(1));
        let healthy = self.case.setup.fuel_share.get(place).copied();
        let (Some(share), Some(kept)) = (healthy, self.leads_off.get_mut(place)) else { return };
        *kept = off;
        self.bench.engine.feed(cylinder, if off { 0.0 } else { share });
        self.watch.note(
            Kind::Hand,
            format!("spark lead {cylinder} {}", if off { "pulled off" } else { "put back" }),
        );
        if off && self.bench.engine.rpm() > 50.0 {
            self.watch.fail(Critical::LeadPulledRunning);
        }
    }

    /// Plugs a cylinder's injector connector in again.
    pub fn injector(&mut self, cylinder: u8) {
        if let Some(share) = self.case.setup.fuel_share.get_mut(usize::from(cylinder.saturating_sub(1))) {
            *share = share.max(1.0);
        }
        self.bench.engine.feed(cylinder, 1.0);
        self.watch.note(Kind::Hand, format!("injector connector {cylinder} cleaned and plugged in"));
    }

    /// Puts the piston stop in, or takes it out.
    pub fn piston_stop(&mut self, into: bool) {
        self.watch.note(Kind::Hand, format!("piston stop {}", if into { "put in" } else { "taken out" }));
        self.watch.stop_in = into;
        if into && self.bench.engine.rpm() > 0.0 {
            self.watch.fail(Critical::StopLeftIn);
        }
    }

    /// Puts the distributor in again so many teeth of its gear earlier; negative: later.
    ///
    /// # Errors
    /// The engine turns, or has no such distributor.
    pub fn put_in_again(&mut self, teeth: i32) -> Result<(), String> {
        refit::put_in_again(&mut self.bench.engine, &self.case.job, teeth)?;
        let way = if teeth < 0 { "later" } else { "earlier" };
        let count = if teeth.abs() == 1 { "a tooth".to_owned() } else { format!("{} teeth", teeth.abs()) };
        self.watch.note(Kind::Hand, format!("distributor out, and in again {count} {way}"));
        Ok(())
    }

    /// Fits a sound drive for the distributor.
    ///
    /// # Errors
    /// The engine turns, or has no distributor.
    pub fn fit_drive(&mut self) -> Result<(), String> {
        refit::fit_drive(&mut self.bench.engine, &self.case.job)?;
        self.watch.note(Kind::Hand, "a sound drive fitted, the housing on its witness mark".into());
        Ok(())
    }

    /// Teeth that the screen's error comes to, to be put in earlier.
    fn teeth_shown(&self) -> Result<i32, String> {
        let tooth = refit::tooth(&self.case.job).ok_or("this distributor has no gear")?;
        let error = match self.view().map(|view| view.screen) {
            Some(Screen::Reading(reading)) => reading.error,
            _ => None,
        };
        let error = error.ok_or("the screen shows no error to work it out from")?;
        Ok((-f64::from(error) / tooth).round() as i32)
    }

    /// Enters degrees and µs in the engine's computer.
    pub fn enter(&mut self, reference: f64, delay_us: f64) {
        self.bench.engine.enter(reference, delay_us * 1e-6);
        let what =
            format!("entered in the computer: {reference:+.1}° of reference, {delay_us:.0} µs of delay");
        self.watch.note(Kind::Hand, what);
    }

    /// Carries an act of a script out.
    ///
    /// # Errors
    /// It cannot be done now; why.
    pub fn carry_out(&mut self, deed: &Deed) -> Result<(), String> {
        if self.outcome.is_some() {
            return Err("the drill is finished".into());
        }
        match deed {
            Deed::Bench(act) => self.act(act)?,
            Deed::Hands(seconds) => {
                if self.level == Level::Strobe {
                    return Err(COVERED.into());
                }
                let mut hands = Hands::new(self.rotor(), &[]);
                hands.work(&mut self.bench, None, *seconds);
                self.follow();
            }
            Deed::ClampTurned(turned) => self.bench.engine.controls_mut().clamp_reversed = *turned,
            Deed::Load(load) => self.bench.engine.controls_mut().accessory_load = *load,
            Deed::LeadOff(cylinder, off) => self.lead_off(*cylinder, *off),
            Deed::Injector(Some(cylinder)) => self.injector(*cylinder),
            Deed::Injector(None) => {
                let named = self.watch.weak.map(|one| (one > 0).then_some(one));
                if named == [None; 2] {
                    return Err("the handheld named no cylinder".into());
                }
                named.into_iter().flatten().for_each(|one| self.injector(one));
            }
            Deed::Stop(into) => self.piston_stop(*into),
            Deed::Reference(degrees) => self.enter(*degrees, 0.0),
            Deed::Delay(delay) => self.enter(0.0, *delay),
            Deed::Tooth(Some(teeth)) => self.put_in_again(*teeth)?,
            Deed::Tooth(None) => {
                // Worked out while it runs, done once it stands.
                let teeth = self.teeth_shown()?;
                self.bench.engine.controls_mut().ignition = false;
                self.pass(5.0);
                self.put_in_again(teeth)?;
            }
            Deed::NewDrive => self.fit_drive()?,
            Deed::Commit(answer) => self.answer(answer.clone())?,
            Deed::Hint => {
                self.hint().ok_or("there is no further hint")?;
            }
            Deed::Finish => {
                self.finish();
                return Ok(());
            }
        }
        self.pass(0.05);
        if self.level == Level::Strobe {
            let sight = match self.strobe() {
                Some(0.0) => "the mark stands at zero".into(),
                Some(degrees) if degrees < 0.0 => format!("the mark stands {:.0} after zero", -degrees),
                Some(degrees) => format!("the mark stands {degrees:.0} before zero"),
                None => "no mark in sight".into(),
            };
            self.watch.show(format!("strobe: {sight}"));
        }
        Ok(())
    }

    fn act(&mut self, act: &Act) -> Result<(), String> {
        if matches!(act, Act::Slip(_)) {
            self.slips.push(act.clone());
            return Ok(());
        }
        let covered = self.level == Level::Strobe;
        if covered && matches!(act, Act::Auto(_) | Act::Key(..) | Act::Choose(_)) {
            return Err(COVERED.into());
        }
        let mut acts = std::mem::take(&mut self.slips);
        acts.push(act.clone());
        let rotor = self.rotor();
        let done = guide_play::carry_out(&acts, &mut self.bench, rotor);
        self.follow();
        done.map_err(|(_, why)| why)
    }

    /// Which way the rotor really turns.
    fn rotor(&self) -> Rotation {
        self.case.job.engine.rotor.unwrap_or(Rotation::Clockwise)
    }

    fn answer(&mut self, answer: Answer) -> Result<(), String> {
        let commit = answer.complete(self.view(), &self.case.job)?;
        self.commit(commit).map(|_| ())
    }
}
