//! What the hands do when the handheld has stopped: what its screen says, with the part to grab.

use super::advice::{Advice, Hands, press, say, wait};
use super::part::Part;
use crate::engine::controls::Lead;
use keyway_core::judge::CauseId;
use keyway_core::view::{Halt, KeyLabel, Screen, View};
use keyway_core::words::{self, GoOn};

impl Hands<'_> {
    pub(super) fn halted(&self, view: &View, halt: Halt) -> Advice {
        let controls = self.controls;
        let told = GoOn(halt).to_string();
        let key = |labels: &[KeyLabel]| {
            let named = press(view, labels, told.trim_end_matches('.'));
            named.unwrap_or_else(|| wait(told.clone()))
        };
        match halt {
            Halt::NoBaseStep { .. } | Halt::RisesWithSpeed { .. }
                if !controls.base_mode && !controls.hold_fixed =>
            {
                say(format!("{told} (L)"), Part::Link)
            }
            Halt::NotTakenBack { .. } | Halt::LinkStillOut if controls.base_mode => {
                say(format!("{told} (L)"), Part::Link)
            }
            Halt::NotTakenBack { .. } | Halt::LinkStillOut if controls.hold_fixed => {
                say(format!("{told} (F)"), Part::Fixed)
            }
            Halt::SpeedWithBoltLoose | Halt::BoltStillLoose
                if !controls.bolt_tight && self.rpm < 1200.0 && halt == Halt::BoltStillLoose =>
            {
                say("Tighten the bolt (B), then say so on the handheld.", Part::Bolt)
            }
            Halt::EngineStopped if !self.runs() => self.start(),
            Halt::EngineRuns => self.stop().unwrap_or_else(|| wait(told.clone())),
            Halt::SupplyLow { .. } if controls.accessory_load > 0.5 => {
                say(format!("{told} Accessories off? (A)"), Part::Loads)
            }
            Halt::MechanismOut if controls.hose_on => say(format!("{told} (H)"), Part::Hose),
            Halt::MechanismOut if controls.clamp_reversed => say(format!("{told} (R)"), Part::Clamp),
            Halt::OtherCause(cause) => match self.mend(view, cause) {
                Some(advice) => advice,
                None => key(&[KeyLabel::Again]),
            },
            Halt::NothingMoves => say(
                "Turn the housing (arrow keys, mouse wheel, or drag its rim) and watch the number. If it stays, press \u{201c}Again\u{201d} or put the housing back.",
                Part::Housing,
            ),
            Halt::OtherWay { .. } => wait(format!("{told} Look which way you turned the housing.")),
            _ => key(&[KeyLabel::Again, KeyLabel::Done, KeyLabel::Next]),
        }
    }

    /// What is to be mended for a cause, engine off first; `None` once it is, or where hands cannot.
    fn mend(&self, view: &View, cause: CauseId) -> Option<Advice> {
        let controls = self.controls;
        let clamp = match cause {
            CauseId::ClampOnOtherLead | CauseId::ClampOnCoilLead => (controls.lead != Lead::Cylinder(1))
                .then_some("The clamp onto the lead of cylinder 1: drag it there."),
            CauseId::DwellStartSeen => {
                controls.clamp_reversed.then_some("Turn the clamp round (R): its arrow points to the plug.")
            }
            _ => None,
        };
        let refit = match cause {
            CauseId::DriveToothOff | CauseId::WornDrive if self.refitted => None,
            CauseId::DriveToothOff => {
                let early = matches!(view.screen, Screen::Reading(reading) if reading.error.is_some_and(|off| off > 0.0));
                let way = if early { "later: it reads early" } else { "earlier: it reads late" };
                Some(format!("The distributor out, and in again a tooth {way}."))
            }
            CauseId::WornDrive => Some("A new drive for the distributor.".to_owned()),
            _ => None,
        };
        if clamp.is_none() && refit.is_none() {
            return None;
        }
        if let Some(stop) = self.stop() {
            let what = words::cause_title(cause);
            return Some(Advice { text: format!("{what}? First the engine off (I), then mend it."), ..stop });
        }
        if self.rpm > 0.0 {
            return Some(wait("Wait until the engine stands still."));
        }
        clamp.map(|text| say(text, Part::Clamp)).or_else(|| refit.map(|text| say(text, Part::Refit)))
    }
}
