//! What errors of the teeth, and what is not known of the crank's swing, leave in an angle.

use super::super::plan::Plan;
use super::orders::Order;
use super::phase::{PER_ONE, Place};
use super::solve::{Row, UNKNOWNS};
use super::{BETWEEN_TURNS, FIRST_CYCLES, Misfit, Side, Support, Swing, TOOTH};
use crate::statistics::functions::square_root;
use crate::statistics::uncertainty::{Component, combine};

/// How many degrees of freedom the likely error of a tooth's place is worth.
const LIKELY_WORTH: f32 = 4.0;
/// By what part the swing of a cycle may differ from the mean one (cycle-to-cycle variation at idle is 5 to
/// 20 % of the work: common practice, no source).
const FROM_CYCLE_TO_CYCLE: f32 = 0.15;
/// One, of a tooth's weight in whole numbers.
const WEIGHT_ONE: f32 = (1u32 << 24) as f32;

impl Swing {
    /// Size of what the waves from `first` on, of these orders, move an angle by that each degree of them moves by
    /// so much.
    fn moved(&self, first: usize, orders: &[Order], times: &Row) -> f32 {
        let mut moved = 0.0;
        for (wave, [cosine, sine]) in
            self.waves.iter().skip(first).zip(times.as_chunks().0).take(orders.len())
        {
            moved += wave.cosine * cosine + wave.sine * sine;
        }
        moved.abs()
    }

    /// Standard deviation, degrees, that teeth and swing leave in an angle found for a moment so many `turns`
    /// from slot 0 of an even turn as the weighted sum of the places of teeth. `seen`: the squared misfits of
    /// the teeth around sparks, and their freedom.
    ///
    /// A tooth's error moves the angle twice, by its own weight and by what the swing learned from it; the two
    /// partly cancel.
    pub(super) fn doubt(
        &self,
        plan: &Plan,
        turns: f32,
        support: &[Support],
        seen: Misfit,
    ) -> Option<Component> {
        let firing = plan.firing()?;
        let rpm = self.rpm(plan);
        let (system, orders) = self.system(plan, firing, true, rpm);
        let system = system?;
        let mut times = moved_by(&orders, turns, support);
        let waves = 2 * orders.len();
        for (cell, side) in times.iter_mut().skip(waves + 1).zip([Side::First, Side::Last]) {
            *cell = support.iter().filter(|tooth| tooth.side == side).map(|tooth| tooth.weight).sum();
        }
        let through = system.solved(&times);
        let mut part: f32 = times.iter().zip(&through).map(|(times, through)| times * through).sum();
        // Neighbours are often of one block.
        let mut block = (0..0, 0.0);
        for tooth in support {
            part += tooth.weight * tooth.weight;
            let teeth = self.gather.slots_around(tooth.slot);
            if block.0 != teeth {
                let parts = self.parts(plan, &orders, &teeth, tooth.side);
                let moved: f32 =
                    parts.iter().zip(&through).map(|(part, through)| *part as f32 * through).sum();
                block = (teeth, moved * PER_ONE);
            }
            part -= 2.0 * tooth.weight * block.1;
        }
        // The fit has made the misfits smaller than the errors, most where a wheel has few teeth to spare.
        let (used, teeth) = (system.used(), f32::from(plan.count()));
        // After sync was lost the waves are still known, but nothing is seen yet to compare them with.
        let (left, spare) = if self.gather.cycles() >= FIRST_CYCLES {
            (system.left(&system.answer()), (system.rows() - used).max(0.0))
        } else {
            (0.0, 0.0)
        };
        let freedom = seen.freedom * ((teeth - used) / teeth).max(0.0) + spare + LIKELY_WORTH;
        let tooth = (seen.squares + (left + LIKELY_WORTH) * TOOTH * TOOTH) / freedom;
        let mut mean = self.moved(0, &orders, &times);
        let first_odd = orders.len();
        // The odd halves are seen without the teeth's errors, and so well that an estimate of their doubt will do:
        // twice that of waves which nothing else is mixed with.
        let orders = firing.orders(false, rpm, self.unequal);
        let times = moved_by(&orders, turns, support);
        let seen = 4.0 * BETWEEN_TURNS * BETWEEN_TURNS / system.rows().max(1.0);
        let mut rest = 0.0;
        for (order, pair) in orders.iter().zip(times.as_chunks::<2>().0) {
            let each = (order.likely * order.likely).min(seen);
            rest += each * pair.iter().map(|part| part * part).sum::<f32>();
        }
        // Cycles that differ from their mean. The spark may come in either turn, where odd halves change sign.
        mean = (mean + self.moved(first_odd, &orders, &times)) * FROM_CYCLE_TO_CYCLE;
        rest += mean * mean / f32::from(self.cycles.max(1));
        // Orders that the fit does not look for.
        let orders = firing.beyond(rpm, self.unequal);
        let times = moved_by(&orders, turns, support);
        for (order, pair) in orders.iter().zip(times.as_chunks::<2>().0) {
            rest += order.likely * order.likely * pair.iter().map(|part| part * part).sum::<f32>();
        }
        let teeth = Component::new(square_root(part.max(0.0) * tooth), freedom);
        Some(combine(&[teeth, Component::exact(square_root(rest))]))
    }
}

/// By how much each wave of the orders, a degree of it not known of, moves the angle.
#[inline(never)]
pub(super) fn moved_by(orders: &[Order], turns: f32, support: &[Support]) -> Row {
    let mut sums = [0i64; UNKNOWNS];
    let mut add = |turns: f32, weight: f32| {
        let place = Place::at(turns);
        let weight = i64::from((weight * WEIGHT_ONE) as i32);
        for (order, pair) in orders.iter().zip(sums.as_chunks_mut::<2>().0) {
            let (sine, cosine) = place.wave(order.halves);
            for (cell, part) in pair.iter_mut().zip([cosine, sine]) {
                *cell += weight * i64::from(part);
            }
        }
    };
    support.iter().for_each(|tooth| add(tooth.turns, tooth.weight));
    add(turns, -1.0);
    sums.map(|sum| sum as f32 * (PER_ONE / WEIGHT_ONE))
}
