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

/// Fewer pitches than this from one compression to the next, and the teeth beside a gap say nothing of it.
pub(super) const FEW_PITCHES: u8 = 7;

/// Whether the edge that came a lag before the newest ends a gap, if the edges are teeth and there is no other gap
/// near: `None` where too few are kept to say. `back`: when the edge passed that came so many before the newest.
pub(super) fn gap_ends(plan: &Plan, back: &dyn Fn(usize) -> Option<u32>) -> Option<bool> {
    let (lag, gap) = (usize::from(plan.lag()), usize::from(plan.gap()));
    let between = |earlier: usize, later: usize| Some(back(later)?.wrapping_sub(back(earlier)?));
    let long = between(lag + 1, lag)?;
    let after = between(gap, 0)?;
    let due = between(2 * lag + 1, 2 * lag + 1 - gap).map_or(after, |before| before / 2 + after / 2);
    if !plan.swings_slowly() {
        return Some(long > due - due / 5 && long < due.saturating_add(due / 2));
    }
    // The cylinders differ in their compression, but not from a tooth to the next.
    let beside = between(lag, lag - 1)?.max(between(lag + 2, lag + 1).unwrap_or(0));
    Some(
        long > due / 2 + due / 8 && long < due.saturating_mul(2) && long > beside.saturating_add(beside / 16),
    )
}

/// Ticks of a pitch from the newest tooth to the next one due, and from there to the one after it, by what the same
/// stretches took one lag ago, or two where a gap was there.
#[inline(never)]
pub(super) fn forecast(plan: &Plan, teeth: &dyn Places) -> Option<[u32; 2]> {
    let newest = teeth.back(0).filter(|_| plan.lag() > 0)?;
    let slot = plan.next_slot(newest.slot);
    let pitches = plan.pitches_after(newest.slot);
    let next = pitch_due(plan, teeth, &newest, 0, pitches)?;
    // Where it is not known, early enough.
    let after = pitch_due(plan, teeth, &newest, pitches, plan.pitches_after(slot)).unwrap_or(next / 2);
    Some([next, after])
}

/// Ticks of a pitch over the stretch of so many, so many `ahead` of the newest tooth.
fn pitch_due(plan: &Plan, teeth: &dyn Places, newest: &Tooth, ahead: u8, pitches: u8) -> Option<u32> {
    let at = |back: u8| passed(plan, teeth, newest, back);
    let clear = |back: u8| at(back).filter(|_| !plan.beside_gap(plan.slot_before(newest.slot, back)));
    let (one, two) = (plan.lag(), plan.lag().saturating_mul(2));
    // One lag ago; where a gap was there, two; where those are not kept, over the gap as a whole.
    [(one, 0), (two, 0), (one, plan.gap() - 1)].into_iter().find_map(|(lag, wider)| {
        let start = lag.checked_sub(ahead)?;
        let end = start.checked_sub(pitches)?;
        let (start, started) = (start..=start + wider).find_map(|back| Some((back, at(back)?)))?;
        let (end, ended) =
            (end.saturating_sub(wider)..=end).rev().find_map(|back| Some((back, at(back)?)))?;
        let ticks = ended.wrapping_sub(started);
        // The newest two pitches or more between teeth that a variable-reluctance wheel does not shift.
        let slower = (0..=plan.gap() + 1).find_map(|last| {
            let passed = clear(last)?;
            (last + 2..=last + plan.gap() + 2).find_map(|first| {
                let now = passed.wrapping_sub(clear(first)?);
                Some((now, at(lag + last)?.wrapping_sub(at(lag + first)?)))
            })
        });
        let (now, then) = slower.unwrap_or((1, 1));
        let scaled = (u64::from(ticks) * u64::from(now)).checked_div(u64::from(then))? as u32;
        Some(scaled.checked_div(u32::from(start - end))?.max(1))
    })
}

/// When the tooth so many pitches before the newest passed, the low half of its ticks; `None` in the gap or where
/// it is not kept or in doubt.
fn passed(plan: &Plan, teeth: &dyn Places, newest: &Tooth, pitches: u8) -> Option<u32> {
    let turns = (u32::from(pitches) + u32::from(plan.slots()) - 1 - u32::from(newest.slot))
        / u32::from(plan.slots()).max(1);
    let missing = turns * u32::from(plan.gap() - 1);
    let back = u32::from(pitches).checked_sub(missing)?;
    let tooth = teeth.back(back as usize)?;
    let there = tooth.trusted && pitches_between(plan, &tooth, newest) == i32::from(pitches);
    there.then_some(tooth.at.ticks() as u32)
}
