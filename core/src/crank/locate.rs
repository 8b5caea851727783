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

use super::between::between_marks;
use super::fit::{NODES, NODES_EACH_SIDE, Node, Nodes, fit_wheel};
use super::plan::Plan;
use super::swing::Course;
use super::teeth::{TEETH_KEPT, Teeth, Tooth, pitches_between};
use crate::fixed::gather;
use crate::units::{Advance, CrankAngle, Instant, TURN};
use heapless::Vec;

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
    /// Root mean square misfit of the nodes, degrees, for the degrees of freedom left; 0 where none are.
    pub misfit: f32,
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
    let mut usable: Vec<Tooth, TEETH_KEPT> = Vec::new();
    let mut split = 0;
    for tooth in teeth.iter() {
        if tooth.trusted && (ends_usable || !plan.beside_gap(tooth.slot)) && usable.push(tooth).is_ok() {
            split += usize::from(tooth.at <= moment);
        }
    }
    let Some((before, after)) = usable.split_at_checked(split) else { return Whereabouts::Unknown };
    let after = after.get(..wanted).unwrap_or(after);
    if after.len() < wanted && !all_there && !passed_by(plan, &newest, moment, after) {
        return Whereabouts::Later;
    }
    let (Some(first), Some(last)) = (before.last(), after.first()) else {
        return Whereabouts::Unknown;
    };
    let near_enough = if plan.is_wheel() {
        pitches_between(i64::from(plan.slots()), first, last) <= i64::from(plan.gap()) + 3
    } else {
        steps_between(plan, first, last) == 1
    };
    let chosen = usable.get(split.saturating_sub(wanted)..split + after.len()).unwrap_or_default();
    if !near_enough {
        return Whereabouts::Unknown;
    }
    let mut nodes = Nodes::new();
    for tooth in chosen {
        let position = if plan.is_wheel() {
            pitches_between(i64::from(plan.slots()), first, tooth) as f32
        } else {
            turns_between(plan, first, tooth)
        };
        let _ = nodes.push(Node { position, ticks: tooth.at.minus(moment) });
    }
    if let Some(course) = &course {
        course.even_out(chosen, first, &mut nodes);
    }
    solve(plan, first, nodes, course.as_ref()).map_or(Whereabouts::Unknown, Whereabouts::At)
}

/// Whether as many teeth as are wanted after the moment are there, usable or not, or can't come any more: told
/// by looking at the newest alone.
fn enough_after(plan: &Plan, teeth: &Teeth, newest: &Tooth, moment: Instant) -> bool {
    let known = teeth.swing().known() && teeth.newest_turn().is_some();
    let wanted = usize::from(plan.nodes_wanted(known));
    let mut nearest = None;
    let mut found = 0;
    for tooth in teeth.iter().rev().take_while(|tooth| tooth.at > moment) {
        found += 1;
        if found >= wanted {
            return true;
        }
        nearest = Some(tooth);
    }
    nearest.is_some_and(|nearest| passed_by(plan, newest, moment, &[nearest]))
}

/// Whether so much has passed since `moment` that the nodes still wanted will not come.
fn passed_by(plan: &Plan, newest: &Tooth, moment: Instant, after: &[Tooth]) -> bool {
    let Some(nearest) = after.first() else { return false };
    let enough = NODES_EACH_SIDE as i64 + 2 * i64::from(plan.gap()) + 2;
    plan.is_wheel()
        && newest.at > moment
        && pitches_between(i64::from(plan.slots()), nearest, newest) > enough
}

fn steps_between(plan: &Plan, from: &Tooth, to: &Tooth) -> i64 {
    let turns = i64::from(to.turn.wrapping_sub(from.turn) as i32);
    turns * i64::from(plan.count()) + i64::from(to.slot) - i64::from(from.slot)
}

fn turns_between(plan: &Plan, from: &Tooth, to: &Tooth) -> f32 {
    let turns = i64::from(to.turn.wrapping_sub(from.turn) as i32);
    let (from, to) = (plan.angle(from.slot).fraction(), plan.angle(to.slot).fraction());
    (turns as f64 + (f64::from(to) - f64::from(from)) / TURN as f64) as f32
}

fn solve(plan: &Plan, first: &Tooth, mut nodes: Nodes, course: Option<&Course>) -> Option<Located> {
    let turns_per_unit = if plan.is_wheel() { 1.0 / f32::from(plan.slots()) } else { 1.0 };
    let (position, misfit, freedom, leverage) = if plan.is_wheel() {
        let evened = course.is_some();
        let mut fit = fit_wheel(&nodes, evened)?;
        if let Some(stray) = fit.stray.filter(|_| nodes.len() >= 6) {
            let others = nodes.iter().enumerate().filter(|(index, _)| *index != stray);
            nodes = gather::<_, NODES>(others.map(|(_, node)| *node));
            fit = fit_wheel(&nodes, evened)?;
        }
        let position = course.map_or(fit.position, |course| course.crank_at(fit.position, first));
        (position, fit.misfit, fit.freedom, fit.leverage)
    } else {
        (between_marks(&nodes)?, 0.0, 0, 1.0)
    };
    let turned = position * turns_per_unit;
    let fraction = (f64::from(turned) * TURN as f64) as i64;
    let angle: CrankAngle = plan.angle(first.slot).turned(fraction as u32);
    let since_zero = plan.angle(0).to(plan.angle(first.slot)) as f32 / TURN as f32 + turned;
    let (turn, part) = if since_zero >= 1.0 {
        (first.turn.wrapping_add(1), since_zero - 1.0)
    } else {
        (first.turn, since_zero)
    };
    Some(Located {
        advance: angle.advance(),
        turn,
        part,
        misfit: misfit * turns_per_unit * 360.0,
        freedom,
        leverage,
        evened: course.is_some(),
    })
}
