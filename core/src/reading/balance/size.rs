//! How much work a healthy cylinder likely gives, relative to the energy of the turning crank.
//!
//! Beforehand little is known: a heavy flywheel or a light load makes it a third of the usual. But the same work
//! makes the crank swing once with each firing, dead cylinders or not, and how far is seen: a smooth engine has
//! little of it, a rough one much. Both are put together, each by how sure it is.

use super::cycles::Energies;
use super::model::{Windows, firing_sum};
use crate::job::Job;
use crate::statistics::functions::{exponential, natural_log, square_root};

/// A size and the standard deviation of its logarithm.
#[derive(Debug, Clone, Copy)]
pub(super) struct Size {
    pub(super) work: f32,
    pub(super) spread: f32,
}

/// Spread of the usual work where the swing says nothing of it.
const SPREAD_ALONE: f32 = 0.45;
/// The same where the swing is held against it.
const SPREAD_OF_USUAL: f32 = 0.8;
/// Spread of the work that a swing is taken to come from.
const SPREAD_OF_SWING: f32 = 0.45;
/// Engines whose swing at the firing order tells: with more cylinders too little of it is left.
const TELLING: core::ops::RangeInclusive<u8> = 3..=10;
/// A swing says no more than this, as a logarithm.
const FARTHEST: f32 = 2.2;

/// The usual work of a cylinder relative to the energy of the turning crank, at this speed.
///
/// At idle all work goes into friction, pumping and accessories: about 1.7 bar of swept volume a cycle, so
/// 170 J a litre; crank and flywheel have about 0.045 kg·m² a litre, so 139 J at 750 rpm (sizes from common
/// practice, no source). The litres cancel. A two-stroke spreads the same over twice the firings.
pub(super) fn usual_work(job: &Job, rpm: f32) -> f32 {
    let of_all = if job.turns_per_cycle() == 1 { 0.6 } else { 1.23 };
    let slow = (750.0 / rpm.max(1.0)).clamp(0.4, 2.0);
    of_all * slow * slow / f32::from(job.spec().engine.cylinders.max(1))
}

/// Amplitude of the energy's swing at the firing order for a work of 1, by the number of cylinders of a
/// four-stroke. Computed from a pressure over the angle (compression 9 : 1 from 0.35 bar, a Wiebe burn of 50 to 58°
/// from 12 to 15° before top dead centre, 0.6 to 1.5 bar of load): 0.41, 0.36, 0.34, 0.26 and 0.15 for three,
/// four, five, six and eight; a line through these.
fn swing_of_work(cylinders: u8) -> f32 {
    (0.57 - 0.052 * f32::from(cylinders)).max(0.06)
}

/// What is likely, from what is usual and from the swing that is seen.
pub(super) fn likely(job: &Job, windows: &Windows, energies: &Energies, usual: f32) -> Size {
    let cylinders = job.spec().engine.cylinders;
    let together = firing_sum(job, u32::from(cylinders)) / f32::from(cylinders.max(1));
    // Where the firings are so uneven that their swings cancel, it tells nothing.
    if !windows.two_turns() || !TELLING.contains(&cylinders) || together < 0.5 {
        return Size { work: usual, spread: SPREAD_ALONE };
    }
    let swing = windows.swing(energies, u32::from(cylinders)) / together;
    let seen = swing / swing_of_work(cylinders);
    let away = natural_log((seen / usual).max(1e-6)).clamp(-FARTHEST, FARTHEST);
    let (of_usual, of_swing) =
        (1.0 / (SPREAD_OF_USUAL * SPREAD_OF_USUAL), 1.0 / (SPREAD_OF_SWING * SPREAD_OF_SWING));
    let both = of_usual + of_swing;
    Size { work: usual * exponential(away * of_swing / both), spread: 1.0 / square_root(both) }
}
