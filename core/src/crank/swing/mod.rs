//! How the crank's speed swings within its cycle, and where the teeth beside the gap stand.
//!
//! *Swing*: by how many degrees the even passing of time is ahead of the crank, as a function of the crank's
//! angle: a sum of *waves*, each so many times in two turns. *Shift*: by how much later a tooth beside the
//! gap comes than an ideal one, on a variable-reluctance wheel by tenths of a pitch.
//!
//! An engine that idles fires the same way cycle after cycle, so the mean times of the teeth within a cycle
//! show its swing at each of them, with the errors of the teeth on top. The swing is a few waves at known
//! orders; teeth stand off by chance, but for the two beside the gap, whose shift is looked for as such. A
//! least-squares fit with a prior for each wave tells them apart: across the gap the waves are known from
//! the rest of the turn, which no curve through a few neighbouring teeth can know.
//!
//! What the fit leaves open is told as a doubt: what two orders look alike at the teeth of a coarse wheel,
//! or what the gap hides, goes into the ± by as much as it moves the angle asked for.

mod course;
mod gather;
mod orders;
mod phase;
mod solve;

pub(super) use course::Course;
pub use course::swing_doubt;
pub(super) use course::wheel_response;
pub use orders::{Firing, Order};
use orders::{ORDERS, Unequal};
pub(super) use phase::wave_at;

use super::plan::Plan;
use super::teeth::Tooth;
use crate::statistics::uncertainty::{Component, combine};
use core::ops::Range;
use gather::{Gather, MOST_CYCLES};
use heapless::Vec;
use phase::Phase;
use solve::{Row, System, UNKNOWNS};

/// Likely error of a tooth's place, degrees: 0.023 rms on a real wheel, and what else an order not looked
/// for adds.
const TOOTH: f32 = 0.04;
/// How many degrees of freedom that is worth.
const LIKELY_WORTH: f32 = 4.0;
/// Likely error of the difference of a tooth's place between the two turns, where its own falls out, degrees.
const BETWEEN_TURNS: f32 = 0.02;
/// Likely shift of a tooth beside the gap, pitches.
const SHIFT: f32 = 0.15;
/// Likely common offset of all teeth, degrees.
const OFFSET: f32 = 10.0;
/// Cycles before anything is claimed.
const FIRST_CYCLES: u8 = 3;
/// A wave smaller than this moves nothing, degrees.
const NO_WAVE: f32 = 0.003;
/// A shift known to so many degrees and better is corrected for and the tooth used.
const SHIFT_KNOWN: f32 = 0.1;
/// By what part the swing of a cycle may differ from the mean one (cycle-to-cycle variation at idle is 5 to
/// 20 % of the work: common practice, no source).
const FROM_CYCLE_TO_CYCLE: f32 = 0.15;

/// A wave of the swing, degrees.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Wave {
    pub(super) halves: u8,
    pub(super) cosine: f32,
    pub(super) sine: f32,
}

/// The waves that matter at one speed.
pub(super) type Waves = Vec<Wave, { 2 * ORDERS }>;

/// What is known of the crank's swing.
#[derive(Debug, Clone, Default)]
pub struct Swing {
    gather: Gather,
    due: u8,
    /// Mean ticks of a cycle when it was learned; 0 before.
    period: f32,
    cycles: u8,
    waves: [Wave; 2 * ORDERS],
    unequal: Unequal,
    /// Degrees that the first tooth after the gap, and the last before it, come late by.
    shifts: [f32; 2],
    shifts_known: bool,
}

impl Swing {
    /// Nothing known yet of a wheel.
    pub(super) fn new(plan: &Plan) -> Self {
        Self { gather: Gather::new(plan), due: FIRST_CYCLES, ..Self::default() }
    }

    /// Sync was lost: which turn is even is not known any more, and with it the waves of odd halves.
    pub(super) fn begin(&mut self) {
        self.gather.clear();
        self.due = FIRST_CYCLES;
        for wave in self.waves.iter_mut().filter(|wave| wave.halves % 2 == 1) {
            *wave = Wave::default();
        }
    }

    /// The next tooth placed, where it is not the first of a turn; the upper half of its moment is not looked at.
    #[inline]
    pub(super) fn place_inner(&mut self, tooth: &Tooth) {
        self.gather.add(tooth);
    }

    /// The next tooth placed.
    pub(super) fn place(&mut self, plan: &Plan, tooth: &Tooth) {
        if self.gather.place(tooth) {
            self.take_in(plan);
        }
    }

    /// A cycle was taken in.
    fn take_in(&mut self, plan: &Plan) {
        let cycles = self.gather.cycles();
        if cycles < FIRST_CYCLES {
            self.due = FIRST_CYCLES;
        } else if cycles >= self.due {
            self.learn(plan);
            self.due = self.due.saturating_mul(2).min(MOST_CYCLES);
            if cycles >= MOST_CYCLES {
                self.gather.halve();
            }
        }
    }

    /// Whether the swing is known.
    pub fn known(&self) -> bool {
        self.period > 0.0
    }

    /// Degrees that the teeth beside the gap (first after it, last before it) come late by, where that is
    /// known well enough to use them at a turn of so many ticks; a wheel with no teeth to spare uses them as
    /// well as they are known.
    pub(super) fn shifts(&self, plan: &Plan, turn_ticks: f32) -> Option<[f32; 2]> {
        let ratio = 2.0 * turn_ticks / self.period.max(1.0);
        let known = self.shifts_known && ratio > 0.85 && ratio < 1.18;
        (known || !plan.beside_gap(0)).then_some(self.shifts)
    }

    /// The waves that matter at a turn of so many ticks: the work of the gas is the same at any speed, so
    /// they shrink with its square.
    pub(super) fn waves(&self, turn_ticks: f32) -> Waves {
        let ratio = 2.0 * turn_ticks / self.period.max(1.0);
        let share = (ratio * ratio).min(1.3);
        let least = NO_WAVE / share.max(1e-3);
        let least_square = least * least;
        let mut waves = Waves::new();
        for wave in self.waves.iter().filter(|wave| wave.halves > 0 && self.known()) {
            if wave.cosine * wave.cosine + wave.sine * wave.sine > least_square {
                let (cosine, sine) = (wave.cosine * share, wave.sine * share);
                let _ = waves.push(Wave { halves: wave.halves, cosine, sine });
            }
        }
        waves
    }

    #[inline(never)]
    fn learn(&mut self, plan: &Plan) {
        let Some(firing) = plan.firing() else { return };
        self.period = self.gather.period();
        self.cycles = self.gather.cycles();
        let rpm = self.rpm(plan);
        let mut waves = [Wave::default(); 2 * ORDERS];
        let mut kept = waves.iter_mut();
        for whole in [true, false] {
            let (Some(system), orders) = self.system(plan, firing, whole, rpm) else { return };
            let answer = system.answer();
            let scale = error_of(whole);
            for (order, pair) in orders.iter().zip(answer.as_chunks().0) {
                if let ([cosine, sine], Some(wave)) = (pair, kept.next()) {
                    *wave = Wave { halves: order.halves, cosine: cosine * scale, sine: sine * scale };
                }
            }
            if whole {
                let at = 2 * orders.len() + 1;
                let doubt = |index: usize| {
                    let mut times = [0.0; UNKNOWNS];
                    times.iter_mut().skip(index).take(1).for_each(|cell| *cell = 1.0);
                    let variance = system.solved(&times).get(index).copied().unwrap_or(1.0);
                    libm::sqrtf(variance) * scale
                };
                self.shifts = [
                    answer.get(at).copied().unwrap_or(0.0) * scale,
                    answer.get(at + 1).copied().unwrap_or(0.0) * scale,
                ];
                self.shifts_known = doubt(at).max(doubt(at + 1)) < SHIFT_KNOWN;
            }
        }
        let found = waves.iter().map(|wave| (wave.halves, wave.cosine * wave.cosine + wave.sine * wave.sine));
        self.unequal = firing.unequal(found, rpm);
        self.waves = waves;
    }

    fn rpm(&self, plan: &Plan) -> f32 {
        plan.rpm_of_turn(self.period / 2.0)
    }

    /// The fit's sums over the teeth, in their triangular root: of the mean of the two turns, which
    /// holds the whole orders, or of half their difference, which holds the odd halves.
    #[inline(never)]
    fn system(
        &self,
        plan: &Plan,
        firing: Firing,
        whole: bool,
        rpm: f32,
    ) -> (Option<System>, Vec<Order, ORDERS>) {
        let orders = firing.orders(whole, rpm, self.unequal);
        let error = error_of(whole);
        let mut likely: Row = [0.0; UNKNOWNS];
        for (order, pair) in orders.iter().zip(likely.as_chunks_mut::<2>().0) {
            pair.fill(order.likely / error);
        }
        let waves = 2 * orders.len();
        let pitch = 360.0 / f32::from(plan.slots().max(1));
        if whole {
            for (cell, value) in likely.iter_mut().skip(waves).zip([OFFSET, SHIFT * pitch, SHIFT * pitch]) {
                *cell = value / error;
            }
        }
        let mut system = System::new(&likely, if whole { waves + 3 } else { waves });
        let last = self.gather.count().saturating_sub(1);
        for index in 0..=last {
            let side = match index {
                0 => Side::First,
                index if index == last => Side::Last,
                _ => Side::Neither,
            };
            let teeth = self.gather.slots(index);
            let turns = middle(&teeth) / f32::from(plan.slots().max(1));
            // So many teeth together err by less, and see a little less of each wave.
            let weight = libm::sqrtf(teeth.len() as f32);
            let row = self.row(plan, &orders, &teeth, side).map(|part| part * weight);
            let even = 2.0 * self.gather.part(index, false) - turns;
            let odd = 2.0 * self.gather.part(index, true) - turns - 1.0;
            let seen = if whole { (even + odd) / 2.0 } else { (even - odd) / 2.0 };
            system.add(&row, seen * 360.0 / error * weight);
        }
        (system.rooted(), orders)
    }

    /// What the mean place of a block of teeth is made of: its part of each wave, the common offset, and a
    /// shift where it stands beside the gap.
    #[inline(never)]
    fn row(&self, plan: &Plan, orders: &[Order], teeth: &Range<u8>, side: Side) -> Row {
        let mut row: Row = [0.0; UNKNOWNS];
        let slots = f32::from(plan.slots().max(1));
        let (turns, half_width) = (middle(teeth) / slots, (teeth.len() as f32 - 1.0) / slots / 2.0);
        let phase = Phase::at(turns);
        for (order, pair) in orders.iter().zip(row.as_chunks_mut::<2>().0) {
            let (sine, cosine) = phase.wave(order.halves);
            // A block of half width w sees a wave as much weaker as its teeth are spread: w (w + pitch) / 6.
            let spread = half_width * (half_width + 1.0 / slots) / 6.0;
            let swing = f32::from(order.halves) * 0.5 * core::f32::consts::TAU;
            let seen = 1.0 - spread * swing * swing;
            *pair = [cosine * seen, sine * seen];
        }
        let own = |beside: Side| f32::from(u8::from(side == beside));
        let others = row.iter_mut().skip(2 * orders.len());
        others.zip([1.0, own(Side::First), own(Side::Last)]).for_each(|(cell, value)| *cell = value);
        row
    }

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
    fn doubt(&self, plan: &Plan, turns: f32, support: &[Support], seen: Misfit) -> Option<Component> {
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
                let row = self.row(plan, &orders, &teeth, tooth.side);
                block = (teeth, row.iter().zip(&through).map(|(row, through)| row * through).sum());
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
        let teeth = Component::new(libm::sqrtf(part.max(0.0) * tooth), freedom);
        Some(combine(&[teeth, Component::exact(libm::sqrtf(rest))]))
    }
}

/// On which side of the gap a tooth stands, if beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    First,
    Last,
    Neither,
}

/// A tooth that an angle rests on.
#[derive(Debug, Clone, Copy)]
pub(super) struct Support {
    pub(super) turns: f32,
    pub(super) weight: f32,
    pub(super) side: Side,
    pub(super) slot: u8,
}

/// How much the teeth around sparks disagreed with a smooth course.
#[derive(Debug, Clone, Copy)]
pub struct Misfit {
    /// Sum of the squared misfits around a spark, degrees squared.
    pub squares: f32,
    /// Degrees of freedom behind it.
    pub freedom: f32,
}

fn error_of(whole: bool) -> f32 {
    if whole { TOOTH } else { BETWEEN_TURNS }
}

/// The middle of a stretch of slots.
fn middle(slots: &Range<u8>) -> f32 {
    f32::from(slots.start) + (slots.len() as f32 - 1.0) / 2.0
}

/// By how much each wave of the orders, a degree of it not known of, moves the angle.
#[inline(never)]
fn moved_by(orders: &[Order], turns: f32, support: &[Support]) -> Row {
    let mut moved: Row = [0.0; UNKNOWNS];
    let mut add = |turns: f32, weight: f32| {
        let phase = Phase::at(turns);
        for (order, pair) in orders.iter().zip(moved.as_chunks_mut::<2>().0) {
            let (sine, cosine) = phase.wave(order.halves);
            for (cell, part) in pair.iter_mut().zip([cosine, sine]) {
                *cell += weight * part;
            }
        }
    };
    support.iter().for_each(|tooth| add(tooth.turns, tooth.weight));
    add(turns, -1.0);
    moved
}
