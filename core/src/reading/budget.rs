//! What makes the number doubtful, put together after the GUM (JCGM 100:2008).
//!
//! Sparks: the scatter of the median, over the effective number of sparks, since idle sparks take after
//! each other; few sparks borrow a prior for their scatter. Teeth: what the nodes of the fit disagree by;
//! the same teeth stand beside every spark, so it does not average out. Run-out: what they are all off by. Ripple: the swing of the speed
//! within a turn that the nodes can't see. Ticks: the counter's step. Pickups: what a declared delay leaves
//! open. What was entered in the job counts as exact.
//!
//! Ripple's size comes from a rough four that swings between 710 and 860 rpm at 800 (published in
//! "Doing the Twist"): ±9.4 % of the speed at two swings a turn; at equal torque and inertia the swing of
//! the speed falls with its order, so a six has two thirds of it and an eight half. A given engine's swing
//! is not known, so the ± holds that one at its worst phase.

use crate::crank::{Firing, Kind, Plan, ripple_response};
use crate::job::Job;
use crate::statistics::functions::square_root;
use crate::statistics::uncertainty::{Component, Confidence, combine, of_median};
use crate::units::Advance;

/// While cranking the speed swings by nearly half (a V8: 85 to 225 rpm), whatever the engine.
const CRANKING_SWING: f32 = 0.47;
/// A smaller part of the sparks moves their median by nothing that shows.
const HARDLY_ANY: f32 = 0.03;
/// Degrees of a swing at once a turn from cylinders that work unequally, 1.2 % of the speed, in any phase.
const UNEQUAL_DEGREES: f32 = 0.012 * ANY_AMPLITUDE * (180.0 / core::f32::consts::PI);
/// What an order has is the standard deviation of either of its waves: their amplitude is larger by this.
const ROOT_2: f32 = core::f32::consts::SQRT_2;
/// Root mean square of a swing in any phase, its amplitude anywhere from nothing to its largest.
const ANY_AMPLITUDE: f32 = 0.408_248_3;
/// The ± of a swing alone holds the rough four at its worst phase: its bound over the coverage factor.
const WHOLE_BOUND: f32 = 0.51;
/// Of many cylinders that fire unevenly a rough engine's swing is a bound, where one looked for it is likely.
const UNEVEN_BOUND: f32 = 0.55;
/// What a pickup's delay keeps from what is declared of it, seconds (an assumption: no figure is published).
const PICKUP_SECONDS: f32 = 0.4e-6;
/// How far a wheel that runs out, or a mark, is off at the spark, degrees: neighbouring teeth all alike, so that nothing
/// in the signal shows it (an assumption: a tenth of a degree at the most).
const RUN_OUT: f32 = 0.025;
/// Scatter taken for likely before it is seen, degrees, and how many sparks that is worth: more while cranking, where
/// the few sparks of a start say little of the next one's.
const PRIOR_SCATTER: f32 = 0.3;
const PRIOR_WORTH: f32 = 2.0;
const PRIOR_WORTH_CRANKING: f32 = 4.0;

/// Error of a tooth taken for likely before the nodes show it, degrees (0.02 to 0.06 on real wheels).
pub(super) const PRIOR_TOOTH: f32 = 0.04;
/// How many degrees of freedom of a fit that is worth.
pub(super) const PRIOR_TOOTH_WORTH: f32 = 4.0;

/// What the budget is made from.
pub(super) struct Evidence {
    pub(super) advance: Advance,
    pub(super) scatter: f32,
    pub(super) effective_sparks: f32,
    pub(super) rpm: f32,
    pub(super) tooth_variance: f32,
    pub(super) tick_degrees: f32,
    pub(super) cranking: bool,
    /// What part of the sparks was placed with the crank's swing taken off.
    pub(super) evened: f32,
    /// What that swing and the teeth leave in those; `None` where nothing is known of the swing.
    pub(super) swing: Option<Component>,
}

/// The expanded uncertainty, degrees, coverage 95 %.
pub(super) fn expanded(job: &Job, plan: &Plan, evidence: &Evidence) -> f32 {
    let sparks = evidence.effective_sparks.max(1.0);
    let own = (sparks - 1.0).max(0.0);
    let worth = if evidence.cranking { PRIOR_WORTH_CRANKING } else { PRIOR_WORTH };
    let variance =
        (own * evidence.scatter * evidence.scatter + worth * PRIOR_SCATTER * PRIOR_SCATTER) / (own + worth);
    let centre = Component::new(of_median(square_root(variance), sparks), own + worth);
    let before = if evidence.swing.is_some() { 1.0 - evidence.evened } else { 1.0 };
    let teeth = Component::exact(square_root(evidence.tooth_variance)).times(before);
    let ticks = Component::rounded_to(evidence.tick_degrees);
    let ripple = ripple(job, plan, evidence, before);
    let swing = evidence.swing.unwrap_or(Component::exact(0.0)).times(evidence.evened);
    // Six degrees a second for each rpm.
    let fixed = Component::exact(RUN_OUT + 6.0 * evidence.rpm * PICKUP_SECONDS);
    combine(&[centre, teeth, ticks, fixed, ripple, swing]).expanded(Confidence::Percent95)
}

/// What the swing of the speed leaves in sparks that were placed before it was known.
fn ripple(job: &Job, plan: &Plan, evidence: &Evidence, share: f32) -> Component {
    if share < HARDLY_ANY {
        return Component::exact(0.0);
    }
    let firing = Firing::of(job);
    let rough = if evidence.cranking { CRANKING_SWING / firing.rough_swing(evidence.rpm) } else { 1.0 };
    // A fine wheel sees most of it; what is left is small in any phase.
    let whole = if plan.is_wheel() && plan.slots() >= 24 { ANY_AMPLITUDE } else { WHOLE_BOUND };
    let mut squares = 0.0;
    let kind = firing.kind();
    let most = if kind == Kind::Even { 2 } else { 4 };
    for multiple in 0..=most {
        let (order, degrees) = if multiple == 0 {
            (1.0, UNEQUAL_DEGREES)
        } else {
            let order = firing.unseen(kind, multiple, evidence.rpm);
            let part = match (kind, multiple) {
                (Kind::Few, _) => 1.0,
                (Kind::Uneven, _) => UNEVEN_BOUND,
                (Kind::Even, 1) => whole * ROOT_2,
                (Kind::Even, _) => ANY_AMPLITUDE * ROOT_2,
            };
            (f32::from(order.halves) / 2.0, order.likely * rough * part)
        };
        let moved = degrees * ripple_response(plan, evidence.advance, order);
        squares += moved * moved;
    }
    Component::exact(square_root(squares) * share)
}
