//! How much of a speed ripple within the turn a pattern lets through to the angle.
//!
//! *Ripple*: the crank runs ahead of an even turn and falls behind it, so many times a turn. On a wheel the
//! angle is a weighted sum of the places of teeth, so it is off by the same sum of their swings. Between marks
//! it is not: there the marks of a crank that ripples by a known amount are made up, a spark is located
//! between them, and what it is off by is the answer.

use super::locate::{Whereabouts, locate};
use super::places::Places;
use super::plan::Plan;
use super::swing::{wave_at, wheel_response};
use super::teeth::{Teeth, Tooth};
use crate::statistics::functions::square_root;
use crate::units::{Advance, Instant, TURN};

/// How far a speed ripple of one degree's amplitude, `order` times a turn and in the worst phase, would
/// move the angle read at `advance` on this pattern while nothing is known of it, in degrees; the root mean
/// square over all phases is 0.71 of it.
pub fn ripple_response(plan: &Plan, advance: Advance, order: f32) -> f32 {
    if plan.is_wheel() {
        return wheel_response(plan, advance, order);
    }
    // In ticks of a millionth of a turn; angles as they are kept, in 2⁻³² turn.
    let ticks = |angle: i64| (angle * 1_000_000) >> 32;
    let halves = (order * 2.0 + 0.5) as u8;
    let mut squares = 0.0;
    for quarter in [false, true] {
        // A mark passes when the crank, which runs ahead by the swing, is there.
        let passes = |angle: i64| {
            let (sine, cosine) = wave_at(halves, (angle >> 8) as f32 / (TURN >> 8) as f32);
            let ahead = if quarter { cosine } else { sine } * (1_000_000.0 / 360.0);
            Instant::from_ticks((ticks(angle) - ahead as i64).max(0) as u64)
        };
        let moment_angle = 4 * TURN as i64 - i64::from(advance.fraction());
        let moment = passes(moment_angle);
        let mut teeth = Teeth::default();
        for turn in 0..8u32 {
            for slot in 0..plan.count() {
                let since_zero = i64::from(plan.angle(0).to(plan.angle(slot)));
                let angle = i64::from(turn) * TURN as i64 + i64::from(plan.angle(0).fraction()) + since_zero;
                // Marks farther away are not asked for, and each costs a sine.
                if (angle - moment_angle).abs() < 3 * TURN as i64 {
                    teeth.place(plan, Tooth { at: passes(angle), turn, slot, trusted: true });
                }
            }
        }
        // The newest marks are kept alone: those around the moment must be among them.
        let Whereabouts::At(found) = locate(plan, &teeth, moment, true) else {
            return 0.0;
        };
        let error = found.advance.minus(advance).degrees();
        squares += error * error;
    }
    square_root(squares)
}
