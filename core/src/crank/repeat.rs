//! What the swing of a crank that the starter turns repeats from one compression to the next.
//!
//! *Lag*: pitches of a wheel from one compression to the next, or over several of them, at least a gap.
//!
//! A starter hardly turns an engine evenly: within a quarter turn a V8 may fall from 225 to 85 rpm and rise
//! again (published), so that a tooth and the next differ as a tooth and a gap do. But it does the same at the
//! next compression. So a gap is told by what the same stretch took a lag before and after it, and the next
//! tooth is due after what the same stretch took a lag ago, by as much longer as the last teeth were.

use super::places::Places;
use super::plan::Plan;
use super::teeth::{Tooth, pitches_between};
use crate::fixed::Newest;

/// How many of the newest edges are kept while seeking, a power of two.
pub(super) const EDGES_KEPT: usize = 64;

/// Whether the edge that came a lag before the newest ends a gap, if the edges are teeth and the wheel has but
/// this gap near it: `None` where too few came to say, else also the ticks of a pitch.
pub(super) fn gap_ends(plan: &Plan, recent: &Newest<u32, EDGES_KEPT>) -> Option<(bool, u32)> {
    let (lag, gap) = (usize::from(plan.lag()), usize::from(plan.gap()));
    let between = |earlier: usize, later: usize| -> Option<u32> {
        Some(recent.back(later)?.wrapping_sub(*recent.back(earlier)?))
    };
    let whole = between(2 * lag + 1, 0)?;
    let long = between(lag + 1, lag)?;
    let (before, after) = (between(2 * lag + 1, 2 * lag + 1 - gap)?, between(gap, 0)?);
    let due = before / 2 + after / 2;
    let ends = long > due - due / 5 && long < due + due / 2;
    Some((ends, whole / (2 * u32::from(plan.lag()) + u32::from(plan.gap()))))
}

/// Ticks of a pitch from the newest tooth to the next one due, and from there to the one after it, by what the same
/// stretches took a lag ago.
#[inline(never)]
pub(super) fn forecast(plan: &Plan, teeth: &dyn Places) -> Option<[u32; 2]> {
    let newest = teeth.back(0)?;
    let one = plan.lag();
    if one == 0 {
        return None;
    }
    let pitches = plan.pitches_after(newest.slot);
    let after = plan.pitches_after(plan.next_slot(newest.slot));
    [one, one.saturating_mul(2)].into_iter().find_map(|lag| {
        let at = |back: u8| passed(plan, teeth, &newest, back);
        let start = at(lag)?;
        let due = at(lag - pitches)?;
        // The two pitches before, or what spans the gap.
        let slower = (2..=plan.gap() + 1).find_map(|width| {
            let now = at(0)?.wrapping_sub(at(width)?);
            Some((now, start.wrapping_sub(at(lag + width)?).max(1)))
        });
        let (now, then) = slower.unwrap_or((1, 1));
        let scaled = |ticks: u32, pitches: u8| {
            ((u64::from(ticks) * u64::from(now) / u64::from(then)) as u32 / u32::from(pitches.max(1))).max(1)
        };
        let next = scaled(due.wrapping_sub(start), pitches);
        let beyond = lag.checked_sub(pitches + after).and_then(at);
        Some([next, beyond.map_or(next, |beyond| scaled(beyond.wrapping_sub(due), after))])
    })
}

/// When the tooth so many pitches before the newest passed, the low half of its ticks; `None` in the gap or where
/// it is not kept or in doubt.
fn passed(plan: &Plan, teeth: &dyn Places, newest: &Tooth, pitches: u8) -> Option<u32> {
    let turns = (u32::from(pitches) + u32::from(plan.slots()) - 1 - u32::from(newest.slot)) / u32::from(plan.slots()).max(1);
    let missing = turns * u32::from(plan.gap() - 1);
    let back = u32::from(pitches).checked_sub(missing)?;
    let tooth = teeth.back(back as usize)?;
    let there = tooth.trusted && pitches_between(plan, &tooth, newest) == i32::from(pitches);
    there.then_some(tooth.at.ticks() as u32)
}
