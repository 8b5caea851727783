//! Which swings of the crank are looked for, and how large each may be.
//!
//! *Half*: an order counted in half turns: so many swings in two turns, which every order of a four-stroke is
//! a whole number of. *Whole* orders repeat every turn, *odd halves* change sign from turn to turn.
//!
//! Evenly firing cylinders swing the crank at the firing order and its multiples; what they differ in, from
//! little to one that does not work at all, shows at all other halves (*between*). How much that is shows first
//! at the lowest of them, which swing the crank most: so likely are the others to be large. Where uneven intervals
//! repeat, as those of a six that fires at 90 and 150 degrees do three times in two turns, the same holds of the
//! multiples of that. Cylinders whose intervals do not repeat, or one or two alone, swing it at any.

use super::phase::wave_at;
use crate::fixed::gather;
use crate::job::Job;
use crate::statistics::functions::square_root;
use heapless::Vec;

/// Swings in two turns of the highest order that matters: above it none is a hundredth of a degree.
const HIGHEST: u8 = 32;
/// The most orders of a kind.
pub(super) const ORDERS: usize = 6;
/// Multiples of the firing order beyond this many halves are too small to be looked for.
const HIGHEST_MULTIPLE: u8 = 16;
/// Orders between those of the firing up to this many halves tell how unequal the cylinders are.
const TELLING: u8 = 4;

/// Half the swing of a rough four's speed, as a part of the speed, times its order: 710 to 860 rpm at 800
/// (published in "Doing the Twist"). At equal torque and inertia a swing falls with its order.
pub const ROUGH_SWING_TIMES_ORDER: f32 = 0.094 * 2.0;
/// The speed of that four, rpm; above it the swing falls in proportion.
pub const FULL_SWING_RPM: f32 = 800.0;
/// The largest swing at idle taken for possible, of engines with few cylinders.
const LARGEST_SWING: f32 = 0.4;
/// The multiples of the firing order against the first (an assumption: from gas torque, whose harmonics fall by
/// about two thirds each), and how many of them are looked for.
const MULTIPLES: [f32; 5] = [1.0, 0.35, 0.12, 0.04, 0.014];
const MULTIPLES_SOUGHT: u8 = 3;
/// The same of a pattern of uneven intervals, which is slower than the firing.
const UNEVEN_SOUGHT: u8 = 5;
/// Degrees of a unit of what two firings are apart.
const APART: f32 = 1.5;
/// By how much more a rough engine's torque swings at its firing order than the gas torque has fallen there, three or
/// four times a turn.
const UNEVEN: f32 = 1.5;
/// No order of two firings together is less than this part of what each makes: their cylinders are not quite alike.
const LEAST_OF_TWO: f32 = 0.1;
/// The order at which the gas torque of one cylinder has fallen to half (the published tables of its harmonics
/// agree on about three to four; from memory).
const GAS_TORQUE_FALLS: f32 = 4.0;
/// By what part of their work cylinders may differ, before it is seen.
const UNEQUAL: f32 = 0.6;
/// What is seen of it is known so well, and never less than this is likely.
const UNEQUAL_DOUBT: f32 = 1.5;
const UNEQUAL_RANGE: [f32; 2] = [0.1, 1.2];

/// How an engine fires, as far as the crank's swing goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Firing {
    /// Firings in two turns.
    halves: u8,
    /// How often in two turns their intervals repeat: as often as they come, where all are equal.
    repeats: u8,
    /// Crank degrees between the two firings of what repeats, in units of [`APART`]; zero where it is one, or more.
    apart: u8,
}

/// Engines by the swings that are large.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// One or two cylinders.
    Few,
    /// Uneven intervals that repeat.
    Uneven,
    /// The rest.
    Even,
}

/// By what part of their work the cylinders differ, standard deviation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unequal(f32);

impl Default for Unequal {
    fn default() -> Self {
        Self(UNEQUAL)
    }
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
        let count = intervals.len();
        let repeat_after = |step: &usize| {
            let later = intervals.iter().skip(*step);
            count.is_multiple_of(*step)
                && intervals.iter().zip(later).all(|(one, other)| (one - other).abs() < 1.0)
        };
        let step = (1..=count).find(repeat_after).unwrap_or(1);
        let cylinders = job.spec().engine.cylinders;
        let halves = if job.turns_per_cycle() == 2 { cylinders } else { cylinders * 2 };
        let apart =
            intervals.first().filter(|_| step == 2).map_or(0.0, |interval| interval * (1.0 / APART)) as u8;
        Self { halves, repeats: halves.checked_div(step as u8).unwrap_or(1), apart }
    }

    /// Slots of a wheel after which the swing repeats, at least `least`; `None` where that takes too long.
    pub fn repeats_after(&self, slots: u8, least: u8) -> Option<u8> {
        let (slots, repeats) = (u32::from(slots), u32::from(self.repeats));
        let mut lags = (1..=4).map_while(|times| (4 * slots * times + repeats).checked_div(2 * repeats));
        u8::try_from(lags.find(|lag| *lag >= u32::from(least))?).ok()
    }

    /// Firings in a turn.
    pub fn per_turn(&self) -> f32 {
        f32::from(self.halves) / 2.0
    }

    /// Half the swing of the speed at the firing order that a rough engine has, as a part of the speed.
    pub fn rough_swing(&self, rpm: f32) -> f32 {
        let part = FULL_SWING_RPM / rpm.max(1.0);
        // Slower engines swing more, but carry heavier flywheels to idle so slowly at all.
        let grown = if part > 1.0 { square_root(part) } else { part };
        (ROUGH_SWING_TIMES_ORDER / self.per_turn().max(0.5) * grown).min(LARGEST_SWING)
    }

    /// The orders that repeat every turn (`whole`) or change sign (not `whole`), at this speed and with
    /// cylinders that differ by this part of their work.
    #[inline(never)]
    pub fn orders(&self, whole: bool, rpm: f32, unequal: Unequal) -> Vec<Order, ORDERS> {
        let mut orders = Vec::new();
        if self.swings_at_multiples() {
            for multiple in 1..=self.sought() {
                self.add(&mut orders, self.repeats.saturating_mul(multiple), whole, rpm, unequal);
            }
        }
        for halves in 1..=2 * ORDERS as u8 {
            if orders.iter().all(|order: &Order| order.halves != halves) {
                self.add(&mut orders, halves, whole, rpm, unequal);
            }
        }
        orders
    }

    /// The largest of the orders that are not looked for.
    pub(super) fn beyond(&self, rpm: f32, unequal: Unequal) -> Vec<Order, ORDERS> {
        let (next, step) = if self.swings_at_multiples() {
            (self.repeats.saturating_mul(self.sought() + 1), self.repeats)
        } else {
            (2 * ORDERS as u8 + 1, 1)
        };
        let orders = [next, next.saturating_add(step)].into_iter();
        let orders = orders.filter(|halves| *halves < HIGHEST);
        gather(orders.map(|halves| Order { halves, likely: self.likely(halves, rpm, unequal) }))
    }

    /// One of the largest swings where nothing can be seen of them, from the slowest on: of one or two cylinders every
    /// order, of uneven intervals that repeat the multiples of that, of others those of the firing.
    pub fn unseen(&self, kind: Kind, multiple: u8, rpm: f32) -> Order {
        let alike = Self { repeats: self.halves, ..*self };
        let (firing, step) = match kind {
            Kind::Few => (self, 1),
            Kind::Uneven => (self, self.repeats),
            Kind::Even => (&alike, self.halves),
        };
        let halves = step.saturating_mul(multiple);
        Order { halves, likely: firing.likely(halves, rpm, Unequal::default()) }
    }

    /// Which swings are large.
    pub fn kind(&self) -> Kind {
        if self.halves <= 2 {
            Kind::Few
        } else if self.swings_at_multiples() && !self.is_even() {
            Kind::Uneven
        } else {
            Kind::Even
        }
    }

    /// Whether cylinders that work alike leave nothing but multiples of how often their firing repeats.
    fn swings_at_multiples(&self) -> bool {
        self.repeats > 2
    }

    fn is_even(&self) -> bool {
        self.repeats == self.halves
    }

    /// How many multiples of how often the firing repeats are looked for.
    fn sought(&self) -> u8 {
        let most = if self.is_even() { MULTIPLES_SOUGHT } else { UNEVEN_SOUGHT };
        HIGHEST_MULTIPLE.checked_div(self.repeats).unwrap_or(0).min(most).max(1)
    }

    fn add(&self, orders: &mut Vec<Order, ORDERS>, halves: u8, whole: bool, rpm: f32, unequal: Unequal) {
        if halves.is_multiple_of(2) == whole && halves < HIGHEST {
            let _ = orders.push(Order { halves, likely: self.likely(halves, rpm, unequal) });
        }
    }

    /// How unequal the cylinders are by the waves found: squares of cosine and sine, degrees, by halves.
    pub(super) fn unequal(&self, waves: impl Iterator<Item = (u8, f32)>, rpm: f32) -> Unequal {
        let between =
            |halves: u8| halves > 0 && halves <= TELLING && !halves.is_multiple_of(self.repeats.max(1));
        let all = Unequal(1.0);
        let (mut squares, mut count) = (0.0, 0.0);
        for (halves, square) in waves.filter(|(halves, _)| between(*halves)) {
            let likely = self.likely(halves, rpm, all);
            squares += square / (2.0 * likely * likely).max(1e-9);
            count += 1.0;
        }
        if count < 1.0 || !self.swings_at_multiples() {
            return Unequal::default();
        }
        let [least, most] = UNEQUAL_RANGE;
        Unequal((UNEQUAL_DOUBT * square_root(squares / count)).clamp(least, most))
    }

    /// Degrees that a wave of this order may have.
    #[inline(never)]
    fn likely(&self, halves: u8, rpm: f32, unequal: Unequal) -> f32 {
        let rough = self.rough_swing(rpm);
        let firing = f32::from(self.halves.max(1));
        let order = (f32::from(halves) / 2.0).max(0.5);
        // Equal torque swings the speed by less the higher its order.
        let slower = rough * (self.per_turn() / order);
        let swing = if !self.swings_at_multiples() {
            rough * gas_torque(order) / (1.0 + order)
        } else if !halves.is_multiple_of(self.repeats.max(1)) {
            slower * unequal.0 / firing
        } else if self.is_even() {
            let multiple = usize::from(halves / self.halves.max(1));
            rough * MULTIPLES.get(multiple.saturating_sub(1)).copied().unwrap_or(0.01)
        } else {
            // Two firings add up to this part of what each makes.
            let together = wave_at(halves, f32::from(self.apart) * (APART / 720.0)).1.abs();
            slower * gas_torque(order) * together.max(LEAST_OF_TWO) * UNEVEN
        };
        swing / order * (180.0 / core::f32::consts::PI * core::f32::consts::FRAC_1_SQRT_2)
    }
}

/// A lone firing's gas torque has every order alike up to about three times a turn, then they fall.
fn gas_torque(order: f32) -> f32 {
    let fallen = order / GAS_TORQUE_FALLS;
    1.0 / (1.0 + fallen * fallen * fallen)
}
