//! The check that would settle the case best for its effort.
//!
//! *Outcome*: what a check may show. For each cause a check has a probability of each outcome; what the
//! check is expected to tell is the entropy of the outcomes less the entropy that is left within the
//! causes (mutual information, in bits), and that is weighed against what the check costs in time.
//!
//! A check that raises the speed is never offered while the clamp bolt is loose.

use super::evidence::Evidence;
use super::posterior::{Posterior, WHOLE, index};
use super::result::{CauseId, NextCheck};
use crate::job::{Control, Job};
use core::fmt;

/// Outcomes of a check.
const OUTCOMES: usize = 3;
/// The first cause at this probability or more is settled, parts of [`WHOLE`].
const SETTLED: u32 = WHOLE / 100 * 95;
/// A check that tells less than this many thousandths of a bit is not worth a walk.
const LEAST_WORTH: u32 = 20;

struct Check {
    check: NextCheck,
    /// Minutes, in tenths.
    effort: u32,
    possible: fn(&Job, &Evidence) -> bool,
    /// Which outcome each cause leads to, in hundredths of probability.
    outcome: fn(CauseId) -> [u32; OUTCOMES],
}

const CHECKS: [Check; 8] = [
    Check {
        check: NextCheck::Blip,
        effort: 5,
        possible: |job, evidence| {
            evidence.slope.is_none() && job.spec().timing.control != Control::Mechanical
        },
        outcome: |id| match id {
            CauseId::NotInBaseMode | CauseId::DwellStartSeen => [96, 3, 1],
            CauseId::FixedDelay => [1, 4, 95],
            _ => [1, 98, 1],
        },
    },
    Check {
        check: NextCheck::Blip,
        effort: 5,
        possible: |job, evidence| {
            evidence.up_minus_down.is_none() && job.spec().timing.control == Control::Mechanical
        },
        outcome: |id| match id {
            CauseId::MechanismAdvancing => [50, 49, 1],
            CauseId::FixedDelay => [2, 78, 20],
            _ => [2, 97, 1],
        },
    },
    Check {
        check: NextCheck::ChangeLink,
        effort: 12,
        possible: |job, evidence| {
            job.spec().timing.control == Control::Computer && evidence.proven.base_mode.is_none()
        },
        outcome: |id| match id {
            CauseId::NotInBaseMode => [95, 4, 1],
            _ => [2, 3, 95],
        },
    },
    Check {
        check: NextCheck::LookAtClamp,
        effort: 10,
        possible: |_, evidence| evidence.proven.clamp_on_one.is_none(),
        outcome: |id| match id {
            CauseId::ClampOnOtherLead | CauseId::ClampOnCoilLead => [97, 3, 0],
            _ => [1, 99, 0],
        },
    },
    Check {
        check: NextCheck::TurnClampRound,
        effort: 8,
        possible: |_, evidence| evidence.proven.clamp_direction.is_none(),
        outcome: |id| match id {
            CauseId::DwellStartSeen => [97, 3, 0],
            _ => [2, 98, 0],
        },
    },
    Check {
        check: NextCheck::HoseOff,
        effort: 10,
        possible: |job, evidence| {
            job.spec().timing.control == Control::Mechanical && evidence.proven.hose_was_on.is_none()
        },
        outcome: |id| match id {
            CauseId::MechanismAdvancing => [60, 40, 0],
            _ => [1, 99, 0],
        },
    },
    Check {
        check: NextCheck::LookAtRotor,
        effort: 60,
        possible: |job, evidence| job.distributor_times_spark() && evidence.proven.rotor_at_one.is_none(),
        outcome: |id| match id {
            CauseId::DriveToothOff => [95, 5, 0],
            _ => [2, 98, 0],
        },
    },
    Check {
        check: NextCheck::ReadLonger,
        effort: 4,
        possible: |_, evidence| evidence.error.is_some_and(|error| error.doubt > 40),
        outcome: |id| match id {
            CauseId::Healthy => [70, 30, 0],
            _ => [40, 60, 0],
        },
    },
];

/// The check with the most to tell for its effort; `None` where the case is settled or no check tells.
pub(super) fn next_check(job: &Job, evidence: &Evidence, posterior: &Posterior) -> Option<NextCheck> {
    if posterior.shares.iter().any(|share| *share >= SETTLED) {
        return None;
    }
    let mut best: Option<(u32, NextCheck)> = None;
    for check in CHECKS.iter().filter(|check| (check.possible)(job, evidence)) {
        let told = told(check, posterior);
        let worth = told / check.effort.max(1);
        if told >= LEAST_WORTH && best.is_none_or(|(most, _)| worth > most) {
            best = Some((worth, check.check));
        }
    }
    best.map(|(_, check)| check)
}

/// What a check is expected to tell of the timing's cause, thousandths of a bit times ten.
fn told(check: &Check, posterior: &Posterior) -> u32 {
    let mut outcomes = [0u32; OUTCOMES];
    let mut within = 0u64;
    for id in CauseId::ALL {
        let weight = posterior.timing.get(index(id)).copied().unwrap_or(0);
        let chances = (check.outcome)(id);
        for (outcome, chance) in outcomes.iter_mut().zip(chances) {
            *outcome += weight * chance;
        }
        within += u64::from(weight) * u64::from(entropy(chances.map(|chance| chance * (WHOLE / 100))));
    }
    // Hundredths only at the end: what is rounded off before would look like something told.
    let outcomes = outcomes.map(|outcome| outcome / 100);
    entropy(outcomes).saturating_sub((within / u64::from(WHOLE)) as u32) * 10
}

/// Entropy of chances (parts of [`WHOLE`]), thousandths of a bit, by a parabola of each: within 0.06 bit,
/// which ranks checks as the logarithm does.
fn entropy(chances: [u32; OUTCOMES]) -> u32 {
    // −p·log2(p) is near 1.9·√p·(1 − √p)·… ; p·(1 − p)·2.2 keeps its zeros and its order.
    chances
        .iter()
        .map(|chance| {
            let chance = (*chance).min(WHOLE);
            ((u64::from(chance) * u64::from(WHOLE - chance) * 2200) >> 32) as u32
        })
        .sum()
}

impl fmt::Display for NextCheck {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Blip => "Clamp bolt snug, out of gear: blip to 2000 rpm from the throttle for 2 s at most, let it fall, and read again.",
            Self::ChangeLink => "Change the base-mode link as the label says and see whether the advance steps.",
            Self::LookAtClamp => "Engine off: trace the lead from cylinder one's plug and see whether the clamp is on it.",
            Self::TurnClampRound => "Engine off: turn the clamp round on its lead, then read again.",
            Self::HoseOff => "Engine off: take the vacuum hose off, plug the engine's side, then read again.",
            Self::FindZero => "Engine cold and off: find true zero with a piston stop.",
            Self::LookAtRotor => "Engine off: bring it to zero on the compression stroke and see whether the rotor points at cylinder one.",
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
            Self::ReadLonger => "read-longer",
        }
    }
}
