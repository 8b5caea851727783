//! What makes the number doubtful, put together after the GUM (JCGM 100:2008).
//!
//! Sparks: the scatter of the median, over the effective number of sparks, since idle sparks take after
//! each other; few sparks borrow a prior for their scatter. Teeth: what the nodes of the fit disagree by;
//! the same teeth stand beside every spark, so it does not average out. Run-out: what they are all off by.
//! Ripple: the swing of the speed within a turn that the nodes can't see. Ticks: the counter's step. Pickups:
//! what a declared delay leaves open. What was entered in the job counts as exact.
//!
//! Ripple's size comes from a rough four that swings between 710 and 860 rpm at 800 (published in
//! "Doing the Twist"): ±9.4 % of the speed at two swings a turn; at equal torque and inertia the swing of
//! the speed falls with its order, so a six has two thirds of it and an eight half. A given engine's swing
//! is not known, so the ± holds that one at its worst phase.

use super::assemble::nearest_mark;
use crate::crank::{FULL_SWING_RPM, Firing, Kind, Plan, ROUGH_SWING_TIMES_ORDER, ripple_response};
use crate::job::Job;
use crate::statistics::functions::square_root;
use crate::statistics::uncertainty::{Component, Confidence, combine, of_median};
use crate::units::Advance;

/// While cranking the speed swings by nearly half (a V8: 85 to 225 rpm), whatever the engine: so many times what a rough
/// engine with one firing a turn does at idle.
const CRANKING_TIMES: f32 = 0.47 / ROUGH_SWING_TIMES_ORDER;
/// A smaller part of the sparks moves their median by nothing that shows.
const HARDLY_ANY: f32 = 0.03;
/// Degrees of a swing at once a turn from cylinders that work unequally, 1.2 % of the speed, in any phase.
const UNEQUAL_DEGREES: f32 = 0.012 * ANY_AMPLITUDE * (180.0 / core::f32::consts::PI);
/// Root mean square of a swing in any phase, its amplitude anywhere from nothing to its largest.
const ANY_AMPLITUDE: f32 = 0.408_248_3;
/// The ± of a swing alone holds the rough four at its worst phase: its bound over the coverage factor.
const WHOLE_BOUND: f32 = 0.51;
/// The two for an order, which is told by the standard deviation of either of its waves: the amplitude of both is √2 of it.
const ANY_OF_ORDER: f32 = ANY_AMPLITUDE * core::f32::consts::SQRT_2;
const WHOLE_OF_ORDER: f32 = WHOLE_BOUND * core::f32::consts::SQRT_2;
/// What a pickup's delay keeps from what is declared of it, seconds (an assumption: no figure is published).
const PICKUP_SECONDS: f32 = 0.4e-6;
/// How far a wheel that runs out, or a mark, is off at the spark, degrees, standard deviation: neighbouring teeth all
/// alike, so that nothing in the signal shows it (an assumption: no figure is published).
const RUN_OUT: f32 = 0.025;
/// Within so many degrees of the spark a mark is near: ten, and what a setting is off by.
const NEAR_MARK: f32 = 12.0;
/// Scatter taken for likely before it is seen: how many sparks that is worth, and their squares, degrees squared. 0.2° at
/// idle; 0.3° and more sparks while cranking, where the few of a start say little of the next one's.
const PRIOR: (f32, f32) = (2.0, 2.0 * 0.2 * 0.2);
const PRIOR_CRANKING: (f32, f32) = (4.0, 4.0 * 0.3 * 0.3);

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
    let (worth, squares) = if evidence.cranking { PRIOR_CRANKING } else { PRIOR };
    let variance = (own * evidence.scatter * evidence.scatter + squares) / (own + worth);
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
    let kind = firing.kind();
    // What idles more slowly than the published engine may swing more. A lone mark near the spark is doubted for no more
    // than that engine's swing at its worst phase; only one or two cylinders have no flywheel heavy enough.
    let near = if kind == Kind::Few {
        0.0
    } else if plan.is_wheel() {
        1.0
    } else if plan.count() == 1 {
        (2.0 - nearest_mark(plan, evidence.advance) * (1.0 / NEAR_MARK)).min(1.0)
    } else {
        0.0
    };
    let rpm = evidence.rpm.max(FULL_SWING_RPM * near);
    let rough = if evidence.cranking { CRANKING_TIMES * firing.per_turn() } else { 1.0 };
    let coarse = !plan.is_wheel() || plan.slots() < 24;
    let mut squares = 0.0;
    let most = if kind == Kind::Even { 2 } else { 4 };
    for multiple in 0..=most {
        let (order, degrees) = if multiple == 0 {
            (1.0, UNEQUAL_DEGREES * square_root((FULL_SWING_RPM / rpm).max(1.0)))
        } else {
            let order = firing.unseen(kind, multiple, rpm);
            // A fine wheel sees most of it; what is left is small in any phase.
            let part = match (kind, multiple) {
                (Kind::Few, _) => 1.0,
                (Kind::Even, 1) if coarse => WHOLE_OF_ORDER,
                _ => ANY_OF_ORDER,
            };
            (f32::from(order.halves) / 2.0, order.likely * rough * part)
        };
        let moved = degrees * ripple_response(plan, evidence.advance, order);
        squares += moved * moved;
    }
    Component::exact(square_root(squares) * share)
}
