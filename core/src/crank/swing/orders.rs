//! Which swings of the crank are looked for, and how large each may be.
//!
//! *Half*: an order counted in half turns: so many swings in two turns, which every order of a four-stroke is
//! a whole number of. *Whole* orders repeat every turn, *odd halves* change sign from turn to turn.
//!
//! Evenly firing cylinders swing the crank at the firing order and its multiples; what little they differ in
//! shows at all other halves. Cylinders that fire unevenly, or one or two alone, swing it at any.

use crate::job::Job;
use heapless::Vec;

/// Swings in two turns of the highest order that matters: above it none is a hundredth of a degree.
const HIGHEST: u8 = 32;
/// The most orders of a kind.
pub(super) const ORDERS: usize = 5;

/// Half the swing of a rough four's speed, as a part of the speed, times its order: 710 to 860 rpm at 800
/// (published in "Doing the Twist"). At equal torque and inertia a swing falls with its order.
const ROUGH_SWING_TIMES_ORDER: f32 = 0.094 * 2.0;
/// The speed of that four, rpm; above it the swing falls in proportion.
const FULL_SWING_RPM: f32 = 800.0;
/// The largest swing at idle taken for possible, of engines with few cylinders.
const LARGEST_SWING: f32 = 0.25;
/// The second and third multiple of the firing order against the first (an assumption: from gas torque).
const MULTIPLES: [f32; 3] = [1.0, 0.35, 0.12];
/// By what part of their work cylinders may differ.
const UNEQUAL: f32 = 0.4;

/// How an engine fires, as far as the crank's swing goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Firing {
    /// Firings in two turns.
    halves: u8,
    /// They come at equal intervals.
    even: bool,
}

/// A swing that is looked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Order {
    /// Swings in two turns.
    pub halves: u8,
    /// Degrees that either of its two waves (cosine and sine) may have, standard deviation.
    pub likely: f32,
}

impl Firing {
    /// How the engine of a job fires.
    pub fn of(job: &Job) -> Self {
        let intervals = job.firing_intervals();
        let first = intervals.first().copied().unwrap_or(0.0);
        let even = intervals.iter().all(|interval| (interval - first).abs() < 1.0);
        let cylinders = job.spec().engine.cylinders;
        Self { halves: if job.turns_per_cycle() == 2 { cylinders } else { cylinders * 2 }, even }
    }

    /// Firings in a turn.
    pub fn per_turn(&self) -> f32 {
        f32::from(self.halves) / 2.0
    }

    /// Half the swing of the speed at the firing order that a rough engine has, as a part of the speed.
    pub fn rough_swing(&self, rpm: f32) -> f32 {
        let part = FULL_SWING_RPM / rpm.max(1.0);
        // Slower engines swing more, but carry heavier flywheels to idle so slowly at all.
        let grown = if part > 1.0 { libm::sqrtf(part) } else { part };
        (ROUGH_SWING_TIMES_ORDER / self.per_turn().max(0.5) * grown).min(LARGEST_SWING)
    }

    /// The orders that repeat every turn (`whole`) or change sign (not `whole`), at this speed.
    #[inline(never)]
    pub fn orders(&self, whole: bool, rpm: f32) -> Vec<Order, ORDERS> {
        let mut orders = Vec::new();
        let few = self.halves <= 2 || !self.even;
        let multiples = if few { [0; 3] } else { [1, 2, 3] };
        for multiple in multiples.into_iter().filter(|multiple| *multiple > 0) {
            self.add(&mut orders, self.halves.saturating_mul(multiple), whole, rpm);
        }
        let others: &[u8] = if whole { &[2, 4, 6, 8, 12] } else { &[1, 3, 5, 7, 9] };
        let most = if few { ORDERS } else { ORDERS.min(orders.len() + 2 + usize::from(!whole)) };
        for halves in others {
            if orders.len() < most && orders.iter().all(|order: &Order| order.halves != *halves) {
                self.add(&mut orders, *halves, whole, rpm);
            }
        }
        orders
    }

    /// The next two orders above those that are looked for.
    pub(super) fn beyond(&self, rpm: f32) -> Vec<Order, ORDERS> {
        let few = self.halves <= 2 || !self.even;
        let next = if few { [14, 16] } else { [4, 5].map(|multiple| self.halves.saturating_mul(multiple)) };
        let mut orders = Vec::new();
        for halves in next.into_iter().filter(|halves| *halves < HIGHEST) {
            let _ = orders.push(Order { halves, likely: self.likely(halves, rpm) });
        }
        orders
    }

    fn add(&self, orders: &mut Vec<Order, ORDERS>, halves: u8, whole: bool, rpm: f32) {
        if halves.is_multiple_of(2) == whole && halves < HIGHEST {
            let _ = orders.push(Order { halves, likely: self.likely(halves, rpm) });
        }
    }

    /// Degrees that a wave of this order may have.
    #[inline(never)]
    pub fn likely(&self, halves: u8, rpm: f32) -> f32 {
        let rough = self.rough_swing(rpm);
        let firing = f32::from(self.halves.max(1));
        let order = f32::from(halves) / 2.0;
        let swing = if self.halves <= 2 || !self.even {
            // A lone firing's gas torque falls off slowly over its multiples.
            rough / (1.0 + order)
        } else if halves.is_multiple_of(self.halves.max(1)) {
            let multiple = usize::from(halves / self.halves.max(1));
            rough * MULTIPLES.get(multiple.saturating_sub(1)).copied().unwrap_or(0.05)
        } else {
            rough * UNEQUAL / firing * (self.per_turn() / order.max(0.5))
        };
        swing / order.max(0.5) * (180.0 / core::f32::consts::PI) * core::f32::consts::FRAC_1_SQRT_2
    }
}
