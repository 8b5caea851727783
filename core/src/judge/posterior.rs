//! Weighs the evidence: from the table of causes to a probability for each.
//!
//! *Factor*: one of the four questions that are independent of each other: what is wrong with the timing
//! (one cause of the table, or none), is the drive worn, is the supply weak, is a cylinder dead. Two
//! faults at once then need no entries of their own: their joint probability is the product, and it is
//! shared equally between their ids, so that all ids sum to one.

use super::bits::{Bits, power};
use super::evidence::Evidence;
use super::result::CauseId;
use super::table::{DEAD_PRIOR, Scatter, TIMING, Variant, WORN_PRIOR};
use crate::job::Job;
use heapless::Vec;

/// The most variants of one job: eleven other leads, four tooth shifts and the rest.
const VARIANTS: usize = 40;
/// Probabilities are parts of this.
pub(super) const WHOLE: u32 = 1 << 16;

/// The probability of each id, and which variant of it is likeliest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Posterior {
    /// Parts of [`WHOLE`], in the order of [`CauseId::ALL`].
    pub(super) shares: [u32; CauseId::ALL.len()],
    /// The likeliest variant of each.
    pub(super) which: [i8; CauseId::ALL.len()],
    /// The probability that this timing cause holds, whatever else does.
    pub(super) timing: [u32; CauseId::ALL.len()],
}

impl Posterior {
    pub(super) fn share(&self, id: CauseId) -> u32 {
        self.shares.get(index(id)).copied().unwrap_or(0)
    }

    pub(super) fn variant(&self, id: CauseId) -> i8 {
        self.which.get(index(id)).copied().unwrap_or(0)
    }

    pub(super) fn timing(&self, id: CauseId) -> u32 {
        self.timing.get(index(id)).copied().unwrap_or(0)
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
    let mut weighed: Vec<Weighed, VARIANTS> = Vec::new();
    let wear_possible = job.distributor_times_spark();
    for entry in TIMING.iter().filter(|entry| (entry.applies)(job)) {
        let prior = Bits::of(entry.prior).and(told_and_proven(entry.id, evidence));
        (entry.variants)(job, evidence, &mut |variant| {
            let (sound, worn) = weigh_variant(&variant, prior, evidence, wear_possible);
            let _ = weighed.push(Weighed { id: entry.id, which: variant.which, sound, worn });
        });
    }
    combine(&weighed, supply(job, evidence), dead(evidence))
}

fn weigh_variant(variant: &Variant, prior: Bits, evidence: &Evidence, wear_possible: bool) -> (Bits, Bits) {
    let shared = prior
        .and(Bits::of(variant.share))
        .and(variant.error.density_on_circle(evidence.error))
        .and(variant.idle_slope.density(evidence.idle_slope))
        .and(variant.top_slope.density(evidence.top_slope))
        .and(variant.dip.density(evidence.dip));
    let sound = shared
        .and(variant.slope.density(evidence.slope))
        .and(variant.bend.density(evidence.bend))
        .and(variant.up_minus_down.density(evidence.up_minus_down))
        .and(variant.scatter.density(evidence.scatter, evidence.unseen_scatter));
    if !wear_possible {
        return (sound, Bits::NEVER);
    }
    let sound = sound.and(Bits::of(10_000 - WORN_PRIOR));
    // A worn drive answers the way up and the way down differently, and so no line through them is sure.
    let worn = shared
        .and(variant.slope.loosened(120).density(evidence.slope))
        .and(variant.bend.loosened(800).density(evidence.bend))
        .and(variant.up_minus_down.moved(-150).loosened(300).density(evidence.up_minus_down))
        .and(Scatter::Worn.density(evidence.scatter, evidence.unseen_scatter))
        .and(Bits::of(WORN_PRIOR));
    (sound, worn)
}

/// The technician's word is worth a little, a proof much.
fn told_and_proven(id: CauseId, evidence: &Evidence) -> Bits {
    let mut bits = 0;
    match (id, evidence.base_mode_told) {
        (CauseId::NotInBaseMode, Some(true)) => bits -= 256,
        (CauseId::NotInBaseMode, Some(false)) => bits += 3 * 256,
        (CauseId::SetOutOfBaseMode, Some(false)) => bits -= 3 * 256,
        _ => {}
    }
    let proven = &evidence.proven;
    let proof = match id {
        CauseId::NotInBaseMode => proven.base_mode.map(|held| !held),
        CauseId::ClampOnOtherLead => proven.clamp_on_one.map(|on| !on),
        CauseId::DwellStartSeen => proven.clamp_direction.map(|right| !right),
        CauseId::DriveToothOff => proven.rotor_at_one.map(|right| !right),
        CauseId::MechanismAdvancing => proven.hose_was_on,
        _ => None,
    };
    match proof {
        Some(true) => bits += 10 * 256,
        Some(false) => bits -= 10 * 256,
        None => {}
    }
    Bits(bits)
}

/// The probability of a weak supply, parts of [`WHOLE`]: it is measured, to about 0.05 V.
fn supply(job: &Job, evidence: &Evidence) -> u32 {
    let (Some(limit), Some(volts)) = (job.spec().timing.supply_min_v, evidence.supply) else {
        return 0;
    };
    let below = ((limit * 100.0) as i32).saturating_sub(volts);
    match below {
        ..=-10 => 30,
        -9..=0 => WHOLE / 50,
        1..=9 => WHOLE - WHOLE / 20,
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
    let part = |weight: Option<&u32>| {
        ((u64::from(weight.copied().unwrap_or(0)) * u64::from(whole_over_total)) >> 24) as u32
    };
    let mut shares = [0u32; CauseId::ALL.len()];
    let mut timing = [0u32; CauseId::ALL.len()];
    let mut give = |id: CauseId, part: u32| {
        if let Some(share) = shares.get_mut(index(id)) {
            *share += part;
        }
    };
    let odds = |holds: bool, probability: u32| if holds { probability } else { WHOLE - probability };
    let beside = |is_weak: bool, is_dead: bool| both_hold(odds(is_weak, supply), odds(is_dead, dead));
    for (place, id) in CauseId::ALL.into_iter().enumerate() {
        let (quiet, wild) = (part(sound.get(place)), part(worn.get(place)));
        if let Some(timing) = timing.get_mut(place) {
            *timing = quiet + wild;
        }
        if quiet + wild == 0 {
            continue;
        }
        for faults in 0..8u32 {
            let (is_worn, is_weak, is_dead) = (faults & 1 != 0, faults & 2 != 0, faults & 4 != 0);
            let joint = both_hold(if is_worn { wild } else { quiet }, beside(is_weak, is_dead));
            let off = id != CauseId::Healthy;
            let part = match faults.count_ones() + u32::from(off) {
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
    Posterior { shares, which, timing }
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
