//! The check that would settle the case best for its effort.
//!
//! *Outcome*: what a check may show. For each answer (a cause of the timing, on a sound drive or a worn one) a
//! check has a probability of each outcome; what it is expected to tell is the entropy of the outcomes less that
//! which is left within the answers (mutual information), and that is weighed against what the check costs in time.
//! *Search*: that sum, a check at a call, so that the handheld spreads it over its ticks.
//!
//! *History*: causes that no check leads to different outcomes differ in how they came about alone, as a setting
//! by the wrong side of the scale and one that merely missed. No check is offered between them: what is to be done
//! is the same.
//!
//! A check that raises the speed is never offered while the clamp bolt is loose.

use super::evidence::Evidence;
use super::posterior::{PerCause, Posterior, WHOLE};
use super::result::{CauseId, NextCheck};
use super::table::HOSE_ON;
use crate::job::{Control, Job};
use core::fmt;

/// Outcomes of a check.
const OUTCOMES: usize = 3;
/// An answer at this probability or more is settled, parts of [`WHOLE`].
const SETTLED: u32 = WHOLE / 100 * 95;
/// A slope known no better than this may be asked for once more, hundredths of a degree per 1000 rpm.
const UNSURE_SLOPE: u32 = 30;
/// A check that tells less than this many thousandths of a bit is not worth a walk.
const LEAST_WORTH: u32 = 20;

/// What is the matter, as far as a check may tell: with the timing, with the drive, and which kind of mechanism it
/// would be.
#[derive(Debug, Clone, Copy)]
struct Answer {
    timing: CauseId,
    worn: bool,
    hose: bool,
}

struct Check {
    check: NextCheck,
    /// Minutes, in tenths.
    effort: u32,
    possible: fn(&Job, &Evidence) -> bool,
    /// Which outcome each answer leads to, in hundredths of probability.
    outcome: fn(Answer) -> [u32; OUTCOMES],
}

fn is_mechanical(job: &Job) -> bool {
    job.spec().timing.control == Control::Mechanical
}

const CHECKS: [Check; 9] = [
    Check {
        check: NextCheck::Blip,
        effort: 5,
        possible: |job, evidence| {
            !is_mechanical(job) && evidence.slope.is_none_or(|slope| slope.doubt > UNSURE_SLOPE)
        },
        // It rises, stands still, or falls (or comes back by another way).
        outcome: |answer| match answer {
            Answer { timing: CauseId::NotInBaseMode | CauseId::DwellStartSeen, .. } => [96, 3, 1],
            Answer { timing: CauseId::FixedDelay, .. } => [1, 4, 95],
            Answer { worn: true, .. } => [3, 60, 37],
            _ => [1, 98, 1],
        },
    },
    Check {
        check: NextCheck::Blip,
        effort: 5,
        possible: |job, evidence| evidence.up_minus_down.is_none() && is_mechanical(job),
        // It drops or has nothing left to give, rises as weights do, or comes back by another way.
        outcome: |answer| match answer {
            Answer { timing: CauseId::MechanismAdvancing, .. } => [50, 49, 1],
            Answer { timing: CauseId::FixedDelay, .. } => [2, 78, 20],
            Answer { worn: true, .. } => [2, 60, 38],
            _ => [2, 97, 1],
        },
    },
    Check {
        check: NextCheck::ChangeLink,
        effort: 12,
        possible: |job, evidence| {
            let proven = &evidence.proven;
            !is_mechanical(job) && (proven.base_mode.is_none() || proven.offset.is_none())
        },
        // It had been steering; it had not, and what it adds is what the base is short of; or is not.
        outcome: |answer| match answer.timing {
            CauseId::NotInBaseMode => [95, 3, 2],
            CauseId::SetOutOfBaseMode => [2, 88, 10],
            _ => [2, 25, 73],
        },
    },
    Check {
        check: NextCheck::LookAtClamp,
        effort: 10,
        possible: |_, evidence| evidence.proven.clamp_on_one.is_none(),
        outcome: |answer| match answer.timing {
            CauseId::ClampOnOtherLead | CauseId::ClampOnCoilLead => [97, 3, 0],
            _ => [1, 99, 0],
        },
    },
    Check {
        check: NextCheck::TurnClampRound,
        effort: 8,
        possible: |_, evidence| evidence.proven.clamp_direction.is_none(),
        outcome: |answer| match answer.timing {
            CauseId::DwellStartSeen => [97, 3, 0],
            _ => [2, 98, 0],
        },
    },
    Check {
        check: NextCheck::HoseOff,
        effort: 10,
        possible: |job, evidence| is_mechanical(job) && evidence.proven.hose_was_on.is_none(),
        outcome: |answer| match answer {
            Answer { timing: CauseId::MechanismAdvancing, hose: true, .. } => [97, 3, 0],
            _ => [1, 99, 0],
        },
    },
    Check {
        check: NextCheck::LookAtRotor,
        effort: 60,
        possible: |job, evidence| job.distributor_times_spark() && evidence.proven.rotor_at_one.is_none(),
        outcome: |answer| match answer.timing {
            CauseId::DriveToothOff => [95, 5, 0],
            _ => [2, 98, 0],
        },
    },
    Check {
        check: NextCheck::FeelPlay,
        effort: 30,
        possible: |job, evidence| job.distributor_times_spark() && evidence.proven.play_felt.is_none(),
        outcome: |answer| if answer.worn { [95, 5, 0] } else { [2, 98, 0] },
    },
    Check {
        check: NextCheck::ReadLonger,
        effort: 4,
        possible: |_, evidence| evidence.error.is_some_and(|error| error.doubt > 40),
        outcome: |answer| match answer.timing {
            CauseId::Healthy => [70, 30, 0],
            _ => [40, 60, 0],
        },
    },
];

/// The search for the check with the most to tell for its effort.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Search {
    /// Probabilities in 256ths: enough to tell which check tells most.
    sound: PerCause<u8>,
    worn: PerCause<u8>,
    hose: bool,
    /// A bit for each check that is possible.
    possible: u16,
    next: u8,
    worth: u16,
    best: Option<NextCheck>,
}

impl Search {
    /// Nothing to search for: settled.
    pub const DONE: Self = Self {
        sound: [0; CauseId::ALL.len()],
        worn: [0; CauseId::ALL.len()],
        hose: false,
        possible: 0,
        next: CHECKS.len() as u8,
        worth: 0,
        best: None,
    };

    pub(super) fn begin(job: &Job, evidence: &Evidence, posterior: &Posterior) -> Self {
        let coarse = |parts: &PerCause<u32>| parts.map(|part| ((part + 128) >> 8).min(255) as u8);
        let answers = posterior.sound.iter().chain(&posterior.worn);
        if answers.chain(&posterior.shares).any(|part| *part >= SETTLED) {
            return Self::DONE;
        }
        let mut possible = 0;
        for (place, check) in CHECKS.iter().enumerate() {
            if (check.possible)(job, evidence) {
                possible |= 1 << place;
            }
        }
        Self {
            sound: coarse(&posterior.sound),
            worn: coarse(&posterior.worn),
            hose: posterior.variant(CauseId::MechanismAdvancing) == HOSE_ON,
            possible,
            next: 0,
            ..Self::DONE
        }
    }

    /// Weighs one check more; false once all are weighed.
    pub fn go_on(&mut self) -> bool {
        let Some(check) = CHECKS.get(usize::from(self.next)) else { return false };
        if self.possible & (1 << self.next) != 0 {
            let told = self.told(check);
            let worth = (told / check.effort.max(1)).min(u32::from(u16::MAX)) as u16;
            if told >= LEAST_WORTH && worth > self.worth {
                (self.worth, self.best) = (worth, Some(check.check));
            }
        }
        self.next += 1;
        usize::from(self.next) < CHECKS.len()
    }

    /// The best check of those weighed.
    pub fn found(&self) -> Option<NextCheck> {
        self.best
    }

    /// What a check is expected to tell, thousandths of a bit times ten.
    fn told(&self, check: &Check) -> u32 {
        // Probabilities by hundredths, and their spreads in ten thousandths: all in 32 bits.
        let mut outcomes = [0u32; OUTCOMES];
        let (mut within, mut all) = (0u32, 0u32);
        for (parts, worn) in [(&self.sound, false), (&self.worn, true)] {
            for (timing, part) in CauseId::ALL.into_iter().zip(parts).filter(|(_, part)| **part > 0) {
                let chances = (check.outcome)(Answer { timing, worn, hose: self.hose });
                let weight = u32::from(*part);
                all += weight;
                for (outcome, chance) in outcomes.iter_mut().zip(chances) {
                    *outcome += weight * chance;
                    within += weight * chance * (100 - chance.min(100));
                }
            }
        }
        let ten_thousandths = outcomes.map(|outcome| outcome * 100 / all.max(1));
        let between: u32 =
            ten_thousandths.iter().map(|chance| chance * 10_000u32.saturating_sub(*chance)).sum();
        let within = within * 100 / all.max(1) * 100;
        // p·(1 − p)·2.2 has the zeros and the order of −p·log2(p).
        between.saturating_sub(within) / 10_000 * 22 / 10
    }
}

impl fmt::Display for NextCheck {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Blip => "Clamp bolt snug, out of gear: blip to 2000 rpm from the throttle for 2 s at most, let it fall, and read again.",
            Self::ChangeLink => "Read with the base-mode link (or the fixed value) in force and without it: see whether the advance steps, and by how much.",
            Self::LookAtClamp => "Engine off: trace the lead from cylinder one's plug and see whether the clamp is on it.",
            Self::TurnClampRound => "Engine off: turn the clamp round on its lead, then read again.",
            Self::HoseOff => "Engine off: take the vacuum hose off, plug the engine's side, then read again.",
            Self::FindZero => "Engine cold and off: find true zero with a piston stop.",
            Self::LookAtRotor => "Engine off: bring it to zero on the compression stroke and see whether the rotor points at cylinder one.",
            Self::FeelPlay => "Engine off, cap off: turn the rotor to and fro by hand. More than a degree before it drives is wear.",
            Self::ReadLonger => "Let it idle longer and read again.",
        })
    }
}

impl NextCheck {
    /// The check's name in results.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Blip => "blip",
            Self::ChangeLink => "change-link",
            Self::LookAtClamp => "look-at-clamp",
            Self::TurnClampRound => "turn-clamp-round",
            Self::HoseOff => "hose-off",
            Self::FindZero => "find-zero",
            Self::LookAtRotor => "look-at-rotor",
            Self::FeelPlay => "feel-play",
            Self::ReadLonger => "read-longer",
        }
    }
}
