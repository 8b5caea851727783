//! What a job has come to know: values taken, gates told and proven, the state of bolt, link and stop.
//!
//! It is all that has to survive a reset, so it is stored at each step.

use super::{Looked, plan};
use crate::corrections::Corrections;
use crate::job::Job;
use crate::judge::CauseId;
use crate::units::wrap_degrees;
use crate::view::{CautionId, CurvePoint, GateId, Mark, StepId};
use heapless::Vec;
use serde::{Deserialize, Serialize};

/// Room for the marks of all gates.
pub(super) const GATES: usize = 48;
/// Room for the marks of all steps.
pub(super) const STEPS: usize = 40;
/// Points of a curve.
pub const POINTS: usize = 12;

/// A value taken at a step.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Taken {
    /// Degrees before top dead centre.
    pub advance: f32,
    /// Half width at 95 %, degrees.
    pub doubt: f32,
    /// rpm.
    pub rpm: f32,
    /// Supply, V.
    pub supply: Option<f32>,
}

/// The clamp bolt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Bolt {
    /// As found, snug.
    Snug,
    /// Loosened for setting.
    Loose,
    /// Told tight.
    Tight,
}

/// The base-mode link, or the held fixed value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Link {
    /// As found.
    AsFound,
    /// As for reading the base.
    Base,
    /// Back as it was.
    Back,
}

/// All that is known of a job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Facts {
    /// How each gate is known, by the order of [`GateId::ALL`].
    gates: Vec<Mark, GATES>,
    /// How each step was passed, by the order of [`StepId::ALL`].
    steps: Vec<Mark, STEPS>,
    /// Cautions acknowledged, a bit for each by the order of [`CautionId::ALL`].
    cautions: u32,
    /// Read with the computer in charge.
    pub steered: Option<Taken>,
    /// The first reading of the base.
    pub before: Option<Taken>,
    /// Where the setting began: the newest reading of the base.
    pub start: Option<Taken>,
    /// With the bolt loose, on target.
    pub set: Option<Taken>,
    /// Degrees by which tightening the bolt advanced it, where that was too much: it is set so much later. Forgotten
    /// over a reset: the next clamp check finds it again.
    #[serde(skip)]
    pub bolt_moves: f32,
    /// With the bolt tight, after the check.
    pub after: Option<Taken>,
    /// After engine off and on.
    pub restarted: Option<Taken>,
    /// The bolt.
    pub bolt: Bolt,
    /// The link.
    pub link: Link,
    /// The piston stop is in.
    pub stop_in: bool,
    /// The spark went the way that the rotor of the job says.
    pub rotor_proven: bool,
    /// The first cause at the first reading, with its probability.
    pub cause: Option<(CauseId, f32)>,
    /// The fixed delay found by the sweep, µs, with its ±.
    pub delay_us: Option<(f32, f32)>,
    /// Slope of the last blip, degrees per 1000 rpm, with its standard uncertainty.
    pub slope: Option<(f32, f32)>,
    /// The curve with the hose off: rpm, hundredths of a degree before top dead centre.
    pub curve_off: Vec<(u16, i16), POINTS>,
    /// The curve with the hose on.
    pub curve_on: Vec<(u16, i16), POINTS>,
    /// What checks by hand have found.
    pub looked: Looked,
    /// What was measured about the job.
    pub corrections: Corrections,
    /// Left before its end.
    pub left_early: bool,
}

impl Default for Facts {
    fn default() -> Self {
        let mut gates = Vec::new();
        let _ = gates.resize(GateId::ALL.len(), Mark::Open);
        let mut steps = Vec::new();
        let _ = steps.resize(StepId::ALL.len(), Mark::Open);
        Self {
            gates,
            steps,
            cautions: 0,
            steered: None,
            before: None,
            start: None,
            set: None,
            bolt_moves: 0.0,
            after: None,
            restarted: None,
            bolt: Bolt::Snug,
            link: Link::AsFound,
            stop_in: false,
            rotor_proven: false,
            cause: None,
            delay_us: None,
            slope: None,
            curve_off: Vec::new(),
            curve_on: Vec::new(),
            looked: Looked::default(),
            corrections: Corrections::default(),
            left_early: false,
        }
    }
}

impl Facts {
    /// Other corrections stand from now on: what was read moves with the zero that it was read against.
    pub(super) fn correct(&mut self, to: Corrections) {
        let shift = |corrections: &Corrections| corrections.shift().map_or(0.0, |shift| shift.degrees);
        let moved = shift(&to) - shift(&self.corrections);
        let all = [
            &mut self.steered,
            &mut self.before,
            &mut self.start,
            &mut self.set,
            &mut self.after,
            &mut self.restarted,
        ];
        for taken in all.into_iter().flatten() {
            taken.advance = wrap_degrees(taken.advance + moved);
        }
        for (_, hundredths) in self.curve_off.iter_mut().chain(&mut self.curve_on) {
            *hundredths = hundredths.saturating_add((moved * 100.0) as i16);
        }
        self.rotor_proven &= to.rotor == self.corrections.rotor;
        self.corrections = to;
    }

    /// How a gate is known.
    pub fn gate(&self, gate: GateId) -> Mark {
        self.gates.get(gate as usize).copied().unwrap_or(Mark::Open)
    }

    /// A gate is known so from now on.
    pub fn mark(&mut self, gate: GateId, mark: Mark) {
        if let Some(kept) = self.gates.get_mut(gate as usize) {
            *kept = mark;
        }
    }

    /// How a step was passed.
    pub fn step(&self, step: StepId) -> Mark {
        self.steps.get(step as usize).copied().unwrap_or(Mark::Open)
    }

    /// A step is passed: as its weakest gate says.
    pub(super) fn pass(&mut self, step: StepId, job: &Job) {
        let gates = plan::gates(step, job.spec().timing.control);
        // Without a distributor there is no clamp to hold.
        let clamp = job.distributor_times_spark();
        let counts = |gate: GateId| clamp || gate != GateId::ClampHeld;
        let any = |mark| gates.iter().any(|gate| counts(*gate) && self.gate(*gate) == mark);
        let mark = if any(Mark::Skipped) || any(Mark::Open) {
            Mark::Skipped
        } else if any(Mark::Failed) {
            Mark::Failed
        } else if any(Mark::Told) {
            Mark::Told
        } else {
            Mark::Proven
        };
        if let Some(kept) = self.steps.get_mut(step as usize) {
            *kept = mark;
        }
    }

    /// Whether a caution was acknowledged in this job.
    pub fn understood(&self, caution: CautionId) -> bool {
        self.cautions & (1 << (caution as u32)) != 0
    }

    /// A caution is acknowledged.
    pub(super) fn understand(&mut self, caution: CautionId) {
        self.cautions |= 1 << (caution as u32);
    }

    /// Gates proven, told, skipped or failed, over the whole job.
    pub fn counts(&self) -> [u8; 3] {
        let count = |wanted: &[Mark]| self.gates.iter().filter(|mark| wanted.contains(mark)).count() as u8;
        [count(&[Mark::Proven]), count(&[Mark::Told]), count(&[Mark::Skipped, Mark::Failed])]
    }

    /// The marks of all steps, by the order of [`StepId::ALL`].
    pub fn steps(&self) -> &[Mark] {
        &self.steps
    }
}

/// Points as they are drawn.
pub(super) fn drawn(points: &[(u16, i16)]) -> [Option<CurvePoint>; POINTS] {
    let mut drawn = [None; POINTS];
    for (place, (rpm, hundredths)) in drawn.iter_mut().zip(points) {
        *place = Some(CurvePoint { rpm: f32::from(*rpm), advance: f32::from(*hundredths) / 100.0 });
    }
    drawn
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_is_room_for_every_gate_step_and_caution() {
        assert!(GateId::ALL.len() <= GATES && StepId::ALL.len() <= STEPS && CautionId::ALL.len() <= 32);
        let mut facts = Facts::default();
        facts.mark(GateId::RecordStored, Mark::Told);
        facts.understand(CautionId::MoreThanFour);
        assert_eq!(facts.gate(GateId::RecordStored), Mark::Told);
        assert!(facts.understood(CautionId::MoreThanFour) && !facts.understood(CautionId::Blip));
    }
}
