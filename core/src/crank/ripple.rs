//! How much of a speed ripple within the turn a pattern lets through to the angle.
//!
//! *Ripple*: the crank runs ahead of an even turn and falls behind it, so many times a turn. The teeth of a
//! crank that ripples by a known amount are made up, a spark is located between them, and what it is off by
//! is the answer: it serves any pattern, and what the location learns this learns too.

use super::fit::NODES_EACH_SIDE;
use super::locate::{Whereabouts, locate};
use super::places::Places;
use super::plan::Plan;
use super::teeth::{Teeth, Tooth};
use crate::units::{Advance, Instant, TURN};

/// How far a speed ripple of one degree's amplitude, `order` times a turn and in the worst phase, would
/// move the angle read at `advance` on this pattern (with the teeth beside the gap in use or not), in
/// degrees; the root mean square over all phases is 0.71 of it.
pub fn ripple_response(plan: &Plan, ends_in_place: bool, advance: Advance, order: f32) -> f32 {
    let ticks_per_turn = 1_000_000.0f64;
    let amplitude = 1.0 / 360.0;
    let moment_turns = 4.0 - f64::from(advance.fraction()) / TURN as f64;
    // No tooth farther before the moment is asked for, and each costs a sine.
    let span = if plan.is_wheel() {
        (NODES_EACH_SIDE as f64 + 4.0 + f64::from(plan.gap())) / f64::from(plan.slots())
    } else {
        3.0
    };
    let mut squares = 0.0;
    for quarter in [0.0f64, 0.25] {
        let swing = |turns: f64| amplitude * sine(f64::from(order) * turns + quarter);
        // A tooth at `turns` passes when the crank, which runs ahead by the swing, is there.
        let passes = |turns: f64| ((turns - swing(turns)) * ticks_per_turn) as i64;
        let mut teeth = Teeth::assuming(ends_in_place);
        let moment = passes(moment_turns);
        let mut placed_after = 0;
        let zero = f64::from(plan.angle(0).fraction()) / TURN as f64;
        'turns: for turn in 0..8u32 {
            for slot in 0..plan.count() {
                let since_zero = f64::from(plan.angle(0).to(plan.angle(slot))) / TURN as f64;
                let turns = f64::from(turn) + zero + since_zero;
                if turns < moment_turns - span {
                    continue;
                }
                let at = passes(turns);
                let at = Instant::from_ticks(at.max(0) as u64);
                teeth.place(plan, Tooth { at, turn, slot, trusted: true });
                if at.ticks() as i64 > moment {
                    placed_after += 1;
                    if placed_after > NODES_EACH_SIDE + 2 {
                        break 'turns;
                    }
                }
            }
        }
        let moment = Instant::from_ticks(moment.max(0) as u64);
        let Whereabouts::At(found) = locate(plan, &teeth, moment, true) else {
            return 0.0;
        };
        let error = found.advance.minus(advance).degrees();
        squares += error * error;
    }
    libm::sqrtf(squares)
}

/// The sine of so many turns.
fn sine(turns: f64) -> f64 {
    let part = turns - libm::floor(turns);
    f64::from(libm::sinf((part * core::f64::consts::TAU) as f32))
}
