//! Puts the reading together from what the accumulators hold.

use super::budget::{Evidence, PRIOR_TOOTH, PRIOR_TOOTH_WORTH, expanded};
use super::other_wheel;
use super::reasons::{Signals, reasons, spark_rate};
use super::result::{Reading, Status};
use super::settled::{CRANKING_KEPT, Settled};
use crate::crank::{Decoder, Misfit, Plan, swing_doubt};
use crate::fixed::gather;
use crate::job::Job;
use crate::statistics::circular;
use crate::statistics::correlation::effective_number;
use crate::statistics::functions::square_root;
use crate::statistics::median::{DEVIATION_SCALE, median_of_integers};
use crate::units::{Advance, TickRate, fraction_to_degrees};
use heapless::Vec;

/// How many sparks the prior of their correlation is worth: one over its variance.
const CORRELATION_WORTH: f32 = 25.0;
/// Standard deviation of a tooth's place on a wheel with fewer than ten teeth, pitches.
const SHIFT_OF_FEW: f32 = 0.1;

/// The reading so far: a number with its doubt, or the reasons why there is none.
pub fn assemble(
    job: &Job,
    rate: TickRate,
    crank: &Decoder,
    settled: &Settled,
    signals: &Signals,
    battery_v: Option<f32>,
) -> Reading {
    let plan = crank.plan();
    let reasons = reasons(job, plan, settled, signals);
    let fates = settled.fates;
    let given = reasons.is_empty();
    let cranking = given && fates.used == 0;
    let centre = if cranking { cranking_centre(settled) } else { idle_centre(settled) };
    let count = if cranking { u32::from(fates.cranking).min(CRANKING_KEPT as u32) } else { fates.used };
    let rpm = if fates.used > 0 {
        Some(settled.used_rpm.mean(fates.used))
    } else {
        (settled.placed > 0).then(|| settled.all_rpm.mean(settled.placed))
    };
    let mut uncertainty = None;
    if let (true, Some((advance, scatter))) = (given, centre) {
        // A correlation within its own chance, one over the root of the count, is none; and few sparks know it
        // badly: it is drawn to none as by a prior of ±0.2.
        let known = count.max(1) as f32;
        let chance = 1.0 / square_root(known);
        let correlation =
            (settled.row.lag_one().unwrap_or(0.0) - chance).max(0.0) * known / (known + CORRELATION_WORTH);
        let scatter = steadied(scatter, settled);
        uncertainty = Some(expanded(
            job,
            plan,
            &Evidence {
                advance,
                scatter,
                effective_sparks: effective_number(count, correlation),
                rpm: rpm.unwrap_or(0.0),
                tooth_variance: tooth_variance(settled, tooth_prior(plan)),
                tick_degrees: 6.0 * rpm.unwrap_or(0.0) / rate.hertz() as f32,
                cranking,
                evened: settled.evened as f32 / settled.fates.used.max(1) as f32,
                swing: swing_doubt(plan, crank.teeth(), advance, misfit(settled)),
            },
        ));
    }
    let counts = signals.crank;
    Reading {
        status: if given { Status::Given } else { Status::Withheld },
        cranking,
        advance: centre.map(|centre| centre.0).filter(|_| given),
        uncertainty,
        scatter: centre.map(|centre| centre.1).filter(|_| given),
        rpm,
        revolutions: counts.turns_verified,
        sparks_used: if cranking { u32::from(fates.cranking) } else { fates.used },
        sparks_rejected: fates.stray
            + fates.no_sync
            + fates.doubtful
            + signals.strikes.saturating_sub(signals.firsts),
        edges_rejected: counts
            .false_edges
            .saturating_add(counts.missing_edges)
            .saturating_add(signals.pulses_removed.saturating_mul(2)),
        sparks_per_revolution: spark_rate(settled, signals),
        battery_v,
        degrees_to_mark: centre
            .filter(|_| given && !plan.is_wheel())
            .map(|centre| nearest_mark(plan, centre.0)),
        wheel_found: if given { None } else { other_wheel::found(job, settled, signals) },
        reasons,
    }
}

/// The scatter for the budget: few deviations have a chancy median, so it is steadied by the standard
/// deviation, as far as that is not swollen by strays.
fn steadied(scatter: f32, settled: &Settled) -> f32 {
    match settled.row.spread() {
        Some((_, deviation)) => deviation.max(0.7 * scatter).min(1.3 * scatter),
        None => scatter,
    }
}

/// The error of a tooth taken for likely. A wheel with few teeth has none to spare beside its gap, where a
/// variable-reluctance sensor shifts them by a part of a pitch: they are used, and doubted by that much.
fn tooth_prior(plan: &Plan) -> f32 {
    if plan.is_wheel() && plan.count() < 10 {
        PRIOR_TOOTH.max(SHIFT_OF_FEW * 360.0 / f32::from(plan.slots().max(1)))
    } else {
        PRIOR_TOOTH
    }
}

/// What the teeth's errors put into the angle: the same teeth stand beside every spark, so many sparks
/// know them no better than one, and a few nodes borrow a prior.
fn tooth_variance(settled: &Settled, prior: f32) -> f32 {
    let sparks = settled.fates.used.max(1) as f32;
    let squares = settled.misfit_squares / sparks + prior * prior * PRIOR_TOOTH_WORTH;
    squares / (settled.misfit_freedom / sparks + PRIOR_TOOTH_WORTH) * (settled.leverages / sparks)
}

fn misfit(settled: &Settled) -> Misfit {
    let sparks = settled.fates.used.max(1) as f32;
    Misfit { squares: settled.misfit_squares / sparks, freedom: settled.misfit_freedom / sparks }
}

fn idle_centre(settled: &Settled) -> Option<(Advance, f32)> {
    let median = settled.histogram.median()?;
    let scatter = settled.histogram.scatter()?;
    Some((Advance::from_fraction(median.angle), scatter * fraction_to_degrees(1 << 20) / (1 << 20) as f32))
}

fn cranking_centre(settled: &Settled) -> Option<(Advance, f32)> {
    let mut sparks: Vec<i32, CRANKING_KEPT> = gather(settled.cranking.iter().copied());
    let centre = circular::median(&sparks)?;
    sparks.iter_mut().for_each(|spark| *spark = circular::arc(*spark, centre) as i32);
    let deviation = median_of_integers(&mut sparks)?;
    Some((Advance::from_fraction(centre), fraction_to_degrees(deviation) * DEVIATION_SCALE))
}

pub(super) fn nearest_mark(plan: &Plan, advance: Advance) -> f32 {
    let away = |slot| plan.angle(slot).advance().minus(advance).degrees().abs();
    (0..plan.count()).map(away).fold(180.0, f32::min)
}
