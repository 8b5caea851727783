//! Weighs the evidence: from the table of causes to a probability for each.
//!
//! *Factor*: one of the four questions that are independent of each other: what is wrong with the timing
//! (one cause of the table, or none), is the drive worn, is the supply weak, is a cylinder dead. Two
//! faults at once then need no entries of their own: their joint probability is the product, and it is
//! shared equally between their ids, so that all ids sum to one.

use super::bits::{Bits, power};
use super::evidence::Evidence;
use super::expectation::{Manner, Scatter, Variant};
use super::proven::Proven;
use super::result::CauseId;
use super::table::{DEAD_PRIOR, Given, HOSE_ON, TIMING, WORN_PRIOR};
use crate::job::Job;
use heapless::Vec;

/// The most variants of one job: eleven other leads, four tooth shifts and the rest.
const VARIANTS: usize = 40;
/// Probabilities are parts of this.
pub(super) const WHOLE: u32 = 1 << 16;

/// One number for each cause, in the order of [`CauseId::ALL`].
pub(super) type PerCause<T> = [T; CauseId::ALL.len()];

/// The probability of each id, and which variant of it is likeliest. Probabilities are parts of [`WHOLE`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Posterior {
    /// What is told of each.
    pub(super) shares: PerCause<u32>,
    /// The likeliest variant of each.
    pub(super) which: PerCause<i8>,
    /// That this timing cause holds on a sound drive.
    pub(super) sound: PerCause<u32>,
    /// That it holds on a worn one.
    pub(super) worn: PerCause<u32>,
    /// Of the likeliest answer to all questions at once.
    pub(super) likeliest: u32,
}

impl Posterior {
    pub(super) fn share(&self, id: CauseId) -> u32 {
        self.shares.get(index(id)).copied().unwrap_or(0)
    }

    pub(super) fn variant(&self, id: CauseId) -> i8 {
        self.which.get(index(id)).copied().unwrap_or(0)
    }

    /// That this timing cause holds, whatever else does.
    pub(super) fn timing(&self, id: CauseId) -> u32 {
        let part = |parts: &PerCause<u32>| parts.get(index(id)).copied().unwrap_or(0);
        part(&self.sound) + part(&self.worn)
    }
}

/// Where an id stands in [`CauseId::ALL`].
pub(super) fn index(id: CauseId) -> usize {
    // The order of the list is that of the ids; a test holds it to that.
    id as usize
}

#[derive(Debug, Clone, Copy)]
struct Weighed {
    id: CauseId,
    which: i8,
    sound: Bits,
    worn: Bits,
}

/// Weighs the evidence of a reading that was given.
pub(super) fn weigh(job: &Job, evidence: &Evidence) -> Posterior {
    let given = Given::new(job, evidence);
    let scales = Scales { evidence, wear_possible: job.distributor_times_spark() };
    let steady = (given.steady, scales.weigh(&given.steady));
    // Most variants stand still alike, and the rest come in runs of one manner.
    let mut last = steady;
    let mut weighed: Vec<Weighed, VARIANTS> = Vec::new();
    for entry in TIMING.iter().filter(|entry| (entry.applies)(&given)) {
        let prior = Bits::of(entry.prior).and(told(entry.id, evidence));
        (entry.variants)(&given, &mut |variant| {
            let own = prior
                .and(proven(entry.id, &variant, &evidence.proven))
                .and(Bits::of(variant.share))
                .and(variant.error.density_of_error(evidence.error));
            if variant.manner != last.0 {
                last = if variant.manner == steady.0 {
                    steady
                } else {
                    (variant.manner, scales.weigh(&variant.manner))
                };
            }
            let (sound, worn) = (own.and(last.1.sound), own.and(last.1.worn));
            let _ = weighed.push(Weighed { id: entry.id, which: variant.which, sound, worn });
        });
    }
    combine(&weighed, supply(job, evidence), dead(evidence))
}

/// What a manner weighs on a sound drive and on a worn one.
#[derive(Debug, Clone, Copy)]
struct Weights {
    sound: Bits,
    worn: Bits,
}

struct Scales<'a> {
    evidence: &'a Evidence,
    wear_possible: bool,
}

impl Scales<'_> {
    fn weigh(&self, manner: &Manner) -> Weights {
        let evidence = self.evidence;
        let shared = manner
            .idle_slope
            .density(evidence.idle_slope)
            .and(manner.top_slope.density(evidence.top_slope))
            .and(manner.dip.density(evidence.dip));
        let sound = shared
            .and(manner.slope.density(evidence.slope))
            .and(manner.bend.density(evidence.bend))
            .and(manner.up_minus_down.density(evidence.up_minus_down))
            .and(manner.scatter.density(evidence.scatter, evidence.unseen_scatter));
        if !self.wear_possible {
            return Weights { sound, worn: Bits::NEVER };
        }
        let sound = sound.and(Bits::of(10_000 - WORN_PRIOR));
        // A worn drive answers the way up and the way down differently, and so no line through them is sure.
        let worn = shared
            .and(manner.slope.loosened(120).density(evidence.slope))
            .and(manner.bend.moved(-800).loosened(650).density(evidence.bend))
            .and(manner.up_minus_down.moved(-350).loosened(250).density(evidence.up_minus_down))
            .and(Scatter::Worn.density(evidence.scatter, evidence.unseen_scatter))
            .and(Bits::of(WORN_PRIOR))
            .and(certain(evidence.proven.play_felt));
        Weights { sound, worn }
    }
}

/// The technician's word is worth a little.
fn told(id: CauseId, evidence: &Evidence) -> Bits {
    Bits(match (id, evidence.base_mode_told) {
        (CauseId::NotInBaseMode, Some(true)) => -256,
        (CauseId::NotInBaseMode, Some(false)) => 3 * 256,
        (CauseId::SetOutOfBaseMode, Some(false)) => -3 * 256,
        _ => 0,
    })
}

/// A proof is worth much.
const PROOF: i32 = 10 * 256;

fn proven(id: CauseId, variant: &Variant, proven: &Proven) -> Bits {
    let proof = match id {
        CauseId::NotInBaseMode => proven.base_mode.map(|held| !held),
        CauseId::ClampOnOtherLead => proven.clamp_on_one.map(|on| !on),
        CauseId::DwellStartSeen => proven.clamp_direction.map(|right| !right),
        CauseId::DriveToothOff => proven.rotor_at_one.map(|right| !right),
        CauseId::MechanismAdvancing if variant.which == HOSE_ON => proven.hose_was_on,
        _ => None,
    };
    certain(proof)
}

fn certain(proof: Option<bool>) -> Bits {
    Bits(match proof {
        Some(true) => PROOF,
        Some(false) => -PROOF,
        None => 0,
    })
}

/// The probability of a weak supply, parts of [`WHOLE`]: it is measured, and its mean holds to some
/// hundredths of a volt.
fn supply(job: &Job, evidence: &Evidence) -> u32 {
    let (Some(limit), Some(volts)) = (job.spec().timing.supply_min_v, evidence.supply) else {
        return 0;
    };
    let below = ((limit * 100.0) as i32).saturating_sub(volts);
    match below {
        ..=-3 => 30,
        -2..=0 => WHOLE / 25,
        1..=2 => WHOLE - WHOLE / 25,
        _ => WHOLE - 30,
    }
}

/// The probability of a dead cylinder, parts of [`WHOLE`].
fn dead(evidence: &Evidence) -> u32 {
    let Some(signs) = evidence.balance else { return 60 };
    let odds_against = Bits::of(DEAD_PRIOR).and(Bits((signs.bits.clamp(-30.0, 30.0) * 256.0) as i32));
    // p = o / (1 + o), with the odds brought below one first.
    if odds_against.0 <= 0 {
        let odds = power(odds_against);
        (u64::from(odds) * u64::from(WHOLE) / u64::from(WHOLE + odds)) as u32
    } else {
        let inverse = power(Bits(-odds_against.0));
        (u64::from(WHOLE) * u64::from(WHOLE) / u64::from(WHOLE + inverse)) as u32
    }
}

fn combine(weighed: &[Weighed], supply: u32, dead: u32) -> Posterior {
    let heaviest = weighed.iter().map(|one| one.sound.max(one.worn)).max().unwrap_or_default();
    let relative = |bits: Bits| power(Bits(bits.0.saturating_sub(heaviest.0)));
    let mut sound = [0u32; CauseId::ALL.len()];
    let mut worn = [0u32; CauseId::ALL.len()];
    let mut which = [0i8; CauseId::ALL.len()];
    let mut best = [0u32; CauseId::ALL.len()];
    for one in weighed {
        let place = index(one.id);
        let (quiet, wild) = (relative(one.sound), relative(one.worn));
        if let (Some(sound), Some(worn), Some(which), Some(best)) =
            (sound.get_mut(place), worn.get_mut(place), which.get_mut(place), best.get_mut(place))
        {
            *sound += quiet;
            *worn += wild;
            if quiet.max(wild) > *best {
                *best = quiet.max(wild);
                *which = one.which;
            }
        }
    }
    let total: u32 = sound.iter().chain(&worn).sum::<u32>().max(1);
    // One division for all: parts of the whole are products with this.
    let whole_over_total = ((1u64 << 40) / u64::from(total)) as u32;
    for weight in sound.iter_mut().chain(&mut worn) {
        *weight = ((u64::from(*weight) * u64::from(whole_over_total)) >> 24) as u32;
    }
    let mut shares = [0u32; CauseId::ALL.len()];
    let mut likeliest = 0;
    let mut give = |id: CauseId, part: u32| {
        if let Some(share) = shares.get_mut(index(id)) {
            *share += part;
        }
    };
    let odds = |holds: bool, probability: u32| if holds { probability } else { WHOLE - probability };
    let beside = [(false, false), (true, false), (false, true), (true, true)]
        .map(|(is_weak, is_dead)| both_hold(odds(is_weak, supply), odds(is_dead, dead)));
    for (id, (quiet, wild)) in CauseId::ALL.into_iter().zip(sound.into_iter().zip(worn)) {
        for (is_worn, timing) in [(false, quiet), (true, wild)] {
            if timing == 0 {
                continue;
            }
            for (faults, beside) in (0u8..).zip(beside) {
                let joint = both_hold(timing, beside);
                if joint == 0 {
                    continue;
                }
                let (is_weak, is_dead) = (faults & 1 != 0, faults & 2 != 0);
                likeliest = joint.max(likeliest);
                let off = id != CauseId::Healthy;
                let part = match u8::from(is_weak) + u8::from(is_dead) + u8::from(is_worn) + u8::from(off) {
                    0 => {
                        give(CauseId::Healthy, joint);
                        continue;
                    }
                    1 => joint,
                    2 => joint >> 1,
                    3 => (joint * 21_845) >> 16,
                    _ => joint >> 2,
                };
                for (holds, id) in [
                    (off, id),
                    (is_worn, CauseId::WornDrive),
                    (is_weak, CauseId::WeakSupply),
                    (is_dead, CauseId::DeadCylinder),
                ] {
                    if holds {
                        give(id, part);
                    }
                }
            }
        }
    }
    Posterior { shares, which, sound, worn, likeliest }
}

/// The product of two parts of [`WHOLE`], within 32 bits.
fn both_hold(one: u32, other: u32) -> u32 {
    ((one.min(WHOLE - 1) * other.min(WHOLE - 1)) >> 16) + u32::from(one >= WHOLE - 1 && other >= WHOLE - 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ids_stand_in_the_order_of_their_list() {
        for (place, id) in CauseId::ALL.into_iter().enumerate() {
            assert_eq!(index(id), place);
        }
    }

    #[test]
    fn parts_multiply_as_probabilities_do() {
        for (one, other) in [(WHOLE, WHOLE), (WHOLE, 1000), (0, WHOLE), (40_000, 30_000), (WHOLE - 30, 60)] {
            let truth = f64::from(one) * f64::from(other) / f64::from(WHOLE);
            assert!((f64::from(both_hold(one, other)) - truth).abs() <= 2.0, "{one} {other}");
        }
    }
}
