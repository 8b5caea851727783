//! Where the crank was at a moment between teeth.
//!
//! *Node*: a tooth that the answer rests on: trusted, and not beside the gap of a wheel that shifts it by an
//! unknown amount. *Bracket*: the nodes just before and after the moment. *Evened*: moved by what is known of
//! the crank's swing, so that time passes evenly between the nodes.
//!
//! On a wheel, the time of the nodes is a smooth function of the angle: a polynomial of third degree (less
//! where there are few nodes) through up to sixteen nodes within about 40° either side is fitted by least
//! squares and solved for the moment. That follows acceleration and ripple (a four that swings from 710
//! to 860 rpm within the turn leaves 0.03°), averages the errors of single teeth, and spans the gap
//! without its neighbours, which a variable-reluctance wheel shifts by up to 1.3°.
//! Once the swing within the cycle is known ([`super::Swing`]), the nodes are evened by it first, and
//! reach farther; the answer is moved back by the swing at its own place.

use super::between::{self, between_marks};
use super::plan::Plan;
use super::swing::Course;
use super::teeth::{TEETH_KEPT, Teeth, Tooth, pitches_between};
use crate::fixed::gather;
use crate::units::{Advance, CrankAngle, Instant, TURN};
use heapless::Vec;
use keyway_curve::{NODES, NODES_EACH_SIDE, Node, Nodes, PER_PITCH, PITCH, WheelFit, fit_wheel};

/// Nodes farther than this from the moment are not looked for, in degrees.
const REACH_DEGREES: f32 = 40.0;
/// The same where they are evened.
const REACH_EVENED: f32 = 80.0;

/// Where the crank was, and how well the nodes agreed.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Located {
    /// How far before top dead centre.
    pub advance: Advance,
    /// Turn of this epoch in which it was.
    pub turn: u32,
    /// Part of that turn gone by, counted from slot 0.
    pub part: f32,
    /// Mean squared misfit of the nodes, degrees squared, for the degrees of freedom left; 0 where none are.
    pub misfit_square: f32,
    /// Degrees of freedom behind the misfit: nodes less the numbers fitted.
    pub freedom: u8,
    /// What part of the variance of a node's place goes into the angle.
    pub leverage: f32,
    /// The swing of the crank was known and taken off.
    pub evened: bool,
}

/// How many nodes each side are wanted: on a wheel of so many slots as many as stand within the reach, 2 to
/// 8, before the swing is known and after; between marks 2.
pub(super) fn nodes_wanted(wheel_slots: Option<u8>) -> [u8; 2] {
    let within = |reach: f32, least: u8| {
        wheel_slots
            .map_or(2, |slots| ((reach * f32::from(slots) / 360.0) as u8).clamp(least, NODES_EACH_SIDE as u8))
    };
    [within(REACH_DEGREES, 2), within(REACH_EVENED, 4)]
}

/// The answer to where the crank was.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Whereabouts {
    /// Too few teeth after the moment are placed: ask again.
    Later,
    /// The teeth around the moment are doubtful, missing or forgotten.
    Unknown,
    /// There.
    At(Located),
}

/// Where the crank was at `moment`. With `all_there` no more teeth will come, and fewer must do.
pub fn locate(plan: &Plan, teeth: &Teeth, moment: Instant, all_there: bool) -> Whereabouts {
    let Some(newest) = teeth.newest() else {
        return if all_there { Whereabouts::Unknown } else { Whereabouts::Later };
    };
    if !all_there && !enough_after(plan, teeth, &newest, moment) {
        return Whereabouts::Later;
    }
    let course = Course::of(plan, teeth);
    let wanted = usize::from(plan.nodes_wanted(course.is_some()));
    let ends_usable = course.as_ref().is_some_and(Course::knows_ends);
    // The newest first: those after the moment, then as many as are wanted before it.
    let mut usable: Vec<Tooth, TEETH_KEPT> = Vec::new();
    let mut split = 0;
    for tooth in (0..TEETH_KEPT).map_while(|back| teeth.back(back)) {
        if tooth.trusted && (ends_usable || !plan.beside_gap(tooth.slot)) && usable.push(tooth).is_ok() {
            split += usize::from(tooth.at > moment);
            if usable.len() >= split + wanted {
                break;
            }
        }
    }
    let Some((after, before)) = usable.split_at_checked(split) else { return Whereabouts::Unknown };
    let beyond = split.saturating_sub(wanted);
    let after = after.get(beyond..).unwrap_or(after);
    if after.len() < wanted && !all_there && !passed_by(plan, &newest, moment, after.last()) {
        return Whereabouts::Later;
    }
    let (Some(&first), Some(&last)) = (before.first(), after.last()) else {
        return Whereabouts::Unknown;
    };
    let near_enough = if plan.is_wheel() {
        pitches_between(plan, &first, &last) <= i32::from(plan.gap()) + 3
    } else {
        steps_between(plan, &first, &last) == 1
    };
    if !near_enough {
        return Whereabouts::Unknown;
    }
    // The oldest first.
    let chosen: Vec<Tooth, NODES> = gather(usable.get(beyond..).unwrap_or_default().iter().rev().copied());
    let found = if plan.is_wheel() {
        on_wheel(plan, &first, &chosen, moment, course.as_ref())
    } else {
        let marks = chosen.iter().map(|mark| between::Node {
            position: turns_between(plan, &first, mark),
            ticks: mark.at.minus(moment),
        });
        between_marks(&gather(marks)).map(|turns| at(plan, &first, turns, &WheelFit::EXACT, false))
    };
    found.map_or(Whereabouts::Unknown, Whereabouts::At)
}

/// Whether as many teeth as are wanted after the moment are there, usable or not, or can't come any more: told
/// by looking at the newest alone.
fn enough_after(plan: &Plan, teeth: &Teeth, newest: &Tooth, moment: Instant) -> bool {
    let known = teeth.swing().known() && teeth.newest_turn().is_some();
    let wanted = usize::from(plan.nodes_wanted(known));
    let mut nearest = None;
    let mut found = 0;
    for tooth in (0..TEETH_KEPT).map_while(|back| teeth.back(back).filter(|tooth| tooth.at > moment)) {
        found += 1;
        if found >= wanted {
            return true;
        }
        nearest = Some(tooth);
    }
    nearest.is_some_and(|nearest| passed_by(plan, newest, moment, Some(&nearest)))
}

/// Whether so much has passed since `moment` that the nodes still wanted will not come.
fn passed_by(plan: &Plan, newest: &Tooth, moment: Instant, nearest_after: Option<&Tooth>) -> bool {
    let Some(nearest) = nearest_after else { return false };
    let enough = NODES_EACH_SIDE as i32 + 2 * i32::from(plan.gap()) + 2;
    plan.is_wheel() && newest.at > moment && pitches_between(plan, nearest, newest) > enough
}

fn steps_between(plan: &Plan, from: &Tooth, to: &Tooth) -> i64 {
    let turns = i64::from(to.turn.wrapping_sub(from.turn) as i32);
    turns * i64::from(plan.count()) + i64::from(to.slot) - i64::from(from.slot)
}

fn turns_between(plan: &Plan, from: &Tooth, to: &Tooth) -> f32 {
    let turns = i64::from(to.turn.wrapping_sub(from.turn) as i32);
    let (from, to) = (plan.angle(from.slot).fraction(), plan.angle(to.slot).fraction());
    ((turns << 32) + i64::from(to) - i64::from(from)) as f32 / TURN as f32
}

/// Where the crank was at a moment near these teeth of a wheel, oldest first; `first`: the last before it.
fn on_wheel(
    plan: &Plan,
    first: &Tooth,
    teeth: &[Tooth],
    moment: Instant,
    course: Option<&Course>,
) -> Option<Located> {
    let mut nodes = Nodes::new();
    for tooth in teeth {
        let place = pitches_between(plan, first, tooth).checked_mul(PITCH)?;
        let _ = nodes.push(Node { place, ticks: i32::try_from(tooth.at.minus(moment)).ok()? });
    }
    if let Some(course) = course {
        course.even_out(teeth, &mut nodes);
    }
    let evened = course.is_some();
    let mut fit = fit_wheel(&nodes, evened)?;
    if let Some(stray) = fit.stray.filter(|_| nodes.len() >= 6) {
        let others = nodes.iter().enumerate().filter(|(index, _)| *index != stray);
        nodes = gather::<_, NODES>(others.map(|(_, node)| *node));
        fit = fit_wheel(&nodes, evened)?;
    }
    let place = course.map_or(fit.place, |course| course.crank_at(fit.place, first));
    Some(at(plan, first, place as f32 * PER_PITCH * plan.turns_per_pitch(), &fit, evened))
}

/// The place so many turns after a tooth.
#[inline(never)]
fn at(plan: &Plan, first: &Tooth, turned: f32, fit: &WheelFit, evened: bool) -> Located {
    // The product is exact.
    let fraction = (turned * TURN as f32) as i64;
    let angle: CrankAngle = plan.angle(first.slot);
    let since_zero = plan.angle(0).to(angle) as f32 / TURN as f32 + turned;
    let (turn, part) = if since_zero >= 1.0 {
        (first.turn.wrapping_add(1), since_zero - 1.0)
    } else {
        (first.turn, since_zero)
    };
    let pitch = plan.turns_per_pitch() * 360.0;
    Located {
        advance: angle.turned(fraction as u32).advance(),
        turn,
        part,
        misfit_square: fit.misfit_square * pitch * pitch,
        freedom: fit.freedom,
        leverage: fit.leverage,
        evened,
    }
}
