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
mod doubt;
mod gather;
mod orders;
mod phase;
mod solve;

use crate::statistics::functions::square_root;
pub(super) use course::Course;
pub use course::swing_doubt;
pub(super) use course::wheel_response;
pub use orders::{FULL_SWING_RPM, Firing, Kind, Order, ROUGH_SWING_TIMES_ORDER};
use orders::{ORDERS, Unequal};
pub(super) use phase::wave_at;

use super::plan::Plan;
use super::teeth::Tooth;
use core::ops::Range;
use gather::{Gather, MOST_CYCLES};
use heapless::Vec;
use phase::{ONE, ONE_BITS, Place};
use solve::{Parts, Row, Sums, System, UNKNOWNS};

/// Likely error of a tooth's place, degrees: 0.023 rms on a real wheel, and what else an order not looked
/// for adds.
const TOOTH: f32 = 0.04;
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
/// A wave of the swing, degrees.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Wave {
    pub(super) halves: u8,
    pub(super) cosine: f32,
    pub(super) sine: f32,
}

/// What is known of the crank's swing.
#[derive(Debug, Clone, Default)]
pub struct Swing {
    gather: Gather,
    due: u8,
    /// The whole orders are learned anew, the odd halves not yet.
    half_learned: bool,
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
        self.half_learned = false;
        for wave in self.waves.iter_mut().filter(|wave| wave.halves % 2 == 1) {
            *wave = Wave::default();
        }
    }

    /// Whether the teeth that pass are taken in now.
    #[inline]
    pub(super) fn gathers(&self) -> bool {
        self.gather.is_open()
    }

    /// The next tooth placed, where it is not the first of a turn; the upper half of its moment is not looked at.
    #[inline]
    pub(super) fn place_inner(&mut self, tooth: &Tooth) {
        self.gather.add(tooth);
    }

    /// The next tooth placed.
    pub(super) fn place(&mut self, plan: &Plan, tooth: &Tooth) {
        if self.half_learned && tooth.slot == 0 {
            self.learn_rest(plan);
        }
        if self.gather.place(tooth) {
            self.take_in(plan);
        }
    }

    /// A cycle was taken in.
    fn take_in(&mut self, plan: &Plan) {
        let cycles = self.gather.cycles();
        if cycles < FIRST_CYCLES {
            self.due = FIRST_CYCLES;
        } else if cycles >= self.due
            && let Some(firing) = plan.firing()
        {
            self.half_learned = self.learn_whole(plan, firing).is_some();
            self.due = self.due.saturating_mul(2).min(MOST_CYCLES);
        }
    }

    /// The second half of learning, a turn after the first: one after the other they never take long.
    fn learn_rest(&mut self, plan: &Plan) {
        if let Some(firing) = plan.firing() {
            let _ = self.learn_odd(plan, firing);
        }
        self.half_learned = false;
        if self.gather.cycles() >= MOST_CYCLES {
            self.gather.halve();
        }
    }

    /// Whether the swing is known.
    pub fn known(&self) -> bool {
        self.period > 0.0
    }

    /// Degrees that the teeth beside the gap (first after it, last before it) come late by, where that is
    /// known well enough to use them at such a part of the turn; a wheel with no teeth to spare uses them as
    /// well as they are known.
    pub(super) fn shifts(&self, plan: &Plan, ratio: f32) -> Option<[f32; 2]> {
        let known = self.shifts_known && ratio > 0.85 && ratio < 1.18;
        (known || !plan.beside_gap(0)).then_some(self.shifts)
    }

    /// Whether the teeth beside the gap can be used at a turn of so many ticks, or at that which was learned.
    pub(super) fn knows_ends(&self, plan: &Plan, turn: Option<u32>) -> bool {
        let ratio = turn.map_or(1.0, |turn| self.ratio(turn as f32));
        self.shifts(plan, ratio).is_some()
    }

    /// A turn of so many ticks as a part of that at which the swing was learned.
    pub(super) fn ratio(&self, turn_ticks: f32) -> f32 {
        2.0 * turn_ticks / self.period.max(1.0)
    }

    /// The waves that matter at such a part of the turn: the work of the gas is the same at any speed, so
    /// they shrink with its square.
    pub(super) fn waves(&self, ratio: f32) -> impl Iterator<Item = Wave> {
        let share = (ratio * ratio).min(1.3);
        let least = NO_WAVE / share.max(1e-3);
        let least_square = least * least;
        // Where neither part of a wave reaches this, the wave does not reach the least: told without a sum, since at
        // speed most waves are so.
        let either = (least * core::f32::consts::FRAC_1_SQRT_2).to_bits();
        let reaches = move |part: f32| part.abs().to_bits() >= either;
        self.waves.iter().filter_map(move |wave| {
            let Wave { halves, cosine, sine } = *wave;
            let matters = halves > 0
                && (reaches(cosine) || reaches(sine))
                && cosine * cosine + sine * sine > least_square;
            // The products are made for those alone.
            if matters { Some(Wave { halves, cosine: cosine * share, sine: sine * share }) } else { None }
        })
    }

    /// Learns the whole orders and the shifts. `None` where the sums tell nothing.
    #[inline(never)]
    fn learn_whole(&mut self, plan: &Plan, firing: Firing) -> Option<()> {
        self.period = self.gather.period();
        self.cycles = self.gather.cycles();
        let (system, orders) = self.system(plan, firing, true, self.rpm(plan));
        let system = system?;
        let answer = system.answer();
        self.keep(0, &orders, &answer, TOOTH);
        let at = 2 * orders.len() + 1;
        self.shifts = [at, at + 1].map(|index| answer.get(index).copied().unwrap_or(0.0) * TOOTH);
        let doubt = square_root(system.variance(at).max(system.variance(at + 1))) * TOOTH;
        self.shifts_known = doubt < SHIFT_KNOWN;
        Some(())
    }

    /// Learns the odd halves, and how unequal the cylinders are.
    #[inline(never)]
    fn learn_odd(&mut self, plan: &Plan, firing: Firing) -> Option<()> {
        let rpm = self.rpm(plan);
        let (system, orders) = self.system(plan, firing, false, rpm);
        let whole = self.waves.iter().take_while(|wave| wave.halves > 0 && wave.halves % 2 == 0).count();
        self.keep(whole, &orders, &system?.answer(), BETWEEN_TURNS);
        let square = |wave: &Wave| (wave.halves, wave.cosine * wave.cosine + wave.sine * wave.sine);
        self.unequal = firing.unequal(self.waves.iter().map(square), rpm);
        Some(())
    }

    /// Puts away the waves found, in units of `scale`, from place `first` on.
    fn keep(&mut self, first: usize, orders: &[Order], answer: &Row, scale: f32) {
        let found = orders.iter().zip(answer.as_chunks::<2>().0);
        for (wave, (order, [cosine, sine])) in self.waves.iter_mut().skip(first).zip(found) {
            *wave = Wave { halves: order.halves, cosine: cosine * scale, sine: sine * scale };
        }
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
        let mut sums = Sums::new(if whole { waves + 3 } else { waves });
        let half_pitch = 0.5 * plan.turns_per_pitch();
        let last = self.gather.count().saturating_sub(1);
        for index in 0..=last {
            let side = match index {
                0 => Side::First,
                index if index == last => Side::Last,
                _ => Side::Neither,
            };
            let teeth = self.gather.slots(index);
            let turns = f32::from(twice_the_middle(&teeth)) * half_pitch;
            let parts = self.parts(plan, &orders, &teeth, side);
            let even = 2.0 * self.gather.part(index, false) - turns;
            let odd = 2.0 * self.gather.part(index, true) - turns - 1.0;
            let seen = if whole { (even + odd) / 2.0 } else { (even - odd) / 2.0 };
            // So many teeth together err by less, and see a little less of each wave.
            sums.add(&parts, seen * 360.0 / error, teeth.len() as u8);
        }
        (sums.rooted(&likely), orders)
    }

    /// What the mean place of a block of teeth is made of: its part of each wave, the common offset, and a
    /// shift where it stands beside the gap.
    #[inline(never)]
    fn parts(&self, plan: &Plan, orders: &[Order], teeth: &Range<u8>, side: Side) -> Parts {
        let mut parts: Parts = [0; UNKNOWNS];
        let per_slot = plan.turns_per_pitch();
        let half_width = (teeth.len() as f32 - 1.0) * per_slot / 2.0;
        let place = Place::of_half_slots(twice_the_middle(teeth), plan.slots());
        // A block of half width w sees a wave as much weaker as its teeth are spread: w (w + pitch) / 6 times its swing's
        // square. Its swing is π times its halves.
        let spread = half_width * (half_width + per_slot) / 6.0;
        let weaker = (spread * core::f32::consts::PI * core::f32::consts::PI * ONE as f32) as i32;
        for (order, pair) in orders.iter().zip(parts.as_chunks_mut::<2>().0) {
            let (sine, cosine) = place.wave(order.halves);
            let seen = ONE - weaker * i32::from(order.halves) * i32::from(order.halves);
            *pair = [cosine, sine].map(|part| (part * seen) >> ONE_BITS);
        }
        let own = |beside: Side| if side == beside { ONE } else { 0 };
        let others = parts.iter_mut().skip(2 * orders.len());
        others.zip([ONE, own(Side::First), own(Side::Last)]).for_each(|(cell, value)| *cell = value);
        parts
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

/// The middle of a stretch of slots, in half slots.
fn twice_the_middle(slots: &Range<u8>) -> u16 {
    2 * u16::from(slots.start) + (slots.len() as u16).saturating_sub(1)
}
