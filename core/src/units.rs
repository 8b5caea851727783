//! The quantities everything else is written in: time in ticks, crank positions and advances as
//! fractions of a turn, speed in revolutions per minute.
//!
//! *Stamp*: what a free-running 32-bit counter read when something happened. *Instant*: the same
//! counter unwrapped to 64 bits, so that two of them can be subtracted. *Crank angle*: where the
//! crank is within one turn, growing with rotation, zero at top dead centre of cylinder one.
//! *Advance*: how far before top dead centre something happened, positive before, negative after.
//!
//! Angles are kept as a 32-bit fraction of a turn: one unit is 360 / 2³² degrees (8.4 × 10⁻⁸), the
//! wrap at a full turn is the wrap of the integer, and no division is needed to add two of them.

/// Units of a whole turn in the binary angles: 2³².
pub const TURN: u64 = 1 << 32;

/// How many ticks the counter behind every [`Stamp`] makes in a second. Range 100 kHz to 1 GHz.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct TickRate(u32);

impl TickRate {
    /// The desktop's rate: 0.1 µs per tick, a 32-bit counter wraps every 429.5 s.
    pub const DESKTOP: Self = Self(10_000_000);

    /// A rate in ticks per second; `None` outside 100 kHz to 1 GHz.
    pub const fn from_hertz(hertz: u32) -> Option<Self> {
        if hertz >= 100_000 && hertz <= 1_000_000_000 { Some(Self(hertz)) } else { None }
    }

    /// Ticks per second.
    pub const fn hertz(self) -> u32 {
        self.0
    }

    /// Ticks in so many microseconds, to the nearest tick. Range ±2000 s at 1 GHz.
    pub fn ticks_in_us(self, us: f32) -> i64 {
        let whole = us as i64;
        let hertz = i64::from(self.0);
        let rest = (us - whole as f32) * self.0 as f32;
        nearest(whole.wrapping_mul(hertz).wrapping_add(rest as i64), 1_000_000)
    }

    /// Ticks in so many milliseconds, rounded down.
    #[inline(never)]
    pub const fn ticks_in_ms(self, ms: u32) -> u64 {
        self.0 as u64 * ms as u64 / 1000
    }

    /// Seconds in so many ticks, to seven digits.
    pub fn seconds(self, ticks: u64) -> f32 {
        ticks as f32 / self.0 as f32
    }

    /// The speed of a crank that makes `turns` turns in `ticks` ticks; zero for zero ticks.
    pub fn rpm(self, turns: f32, ticks: u64) -> f32 {
        // Nearly always they fit in 32 bits, which are a float at a third of the cost.
        let ticks = u32::try_from(ticks).map_or(ticks as f32, |ticks| ticks as f32);
        if ticks > 0.0 { turns * 60.0 * self.0 as f32 / ticks } else { 0.0 }
    }

    /// Ticks of one turn at so many revolutions per minute, to seven digits; `u64::MAX` at or below zero.
    pub fn ticks_per_turn(self, rpm: f32) -> u64 {
        if rpm > 0.0 { (60.0 * self.0 as f32 / rpm) as u64 } else { u64::MAX }
    }
}

/// A reading of the free-running 32-bit counter. Wraps; so it has no order and no difference of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Stamp(pub u32);

/// A moment, in ticks since the counter's zero, unwrapped to 64 bits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Instant(u64);

impl Instant {
    /// The moment so many ticks after the counter's zero.
    pub const fn from_ticks(ticks: u64) -> Self {
        Self(ticks)
    }

    /// Ticks since the counter's zero.
    pub const fn ticks(self) -> u64 {
        self.0
    }

    /// Ticks from `earlier` to here; zero if `earlier` is later.
    #[inline(never)]
    pub const fn since(self, earlier: Self) -> u64 {
        self.0.saturating_sub(earlier.0)
    }

    /// Ticks from `earlier` to here in 32 bits, as an edge needs them: zero if `earlier` is later, `u32::MAX` at
    /// most. For moments less than 2⁶³ ticks apart, as all are that ever come.
    pub const fn ticks_since(self, earlier: Self) -> u32 {
        let ticks = self.0.wrapping_sub(earlier.0);
        match (ticks >> 32) as u32 {
            0 => ticks as u32,
            high if (high as i32) < 0 => 0,
            _ => u32::MAX,
        }
    }

    /// Signed ticks from `other` to here.
    pub const fn minus(self, other: Self) -> i64 {
        self.0.wrapping_sub(other.0) as i64
    }

    /// This moment moved by so many ticks, not below the counter's zero.
    #[inline(never)]
    pub const fn shifted(self, ticks: i64) -> Self {
        let moved = self.0.wrapping_add_signed(ticks);
        // Moments lie far from the upper end.
        Self(if ticks < 0 && moved > self.0 { 0 } else { moved })
    }

    /// The moment nearest to this one with these lower 32 bits.
    #[inline(never)]
    pub const fn near(self, low: u32) -> Self {
        self.shifted(low.wrapping_sub(self.0 as u32) as i32 as i64)
    }

    /// What the 32-bit counter read at this moment.
    pub const fn stamp(self) -> Stamp {
        Stamp(self.0 as u32)
    }
}

/// A position of the crank within one turn, growing with rotation, zero at top dead centre of
/// cylinder one. Wraps at a full turn, so it has no order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CrankAngle(u32);

impl CrankAngle {
    /// A position given as a fraction of a turn in units of 2⁻³² turn.
    pub const fn from_fraction(fraction: u32) -> Self {
        Self(fraction)
    }

    /// The position so many degrees before top dead centre of cylinder one; any finite value wraps.
    pub fn from_degrees_btdc(degrees: f64) -> Self {
        Self(degrees_to_fraction(-degrees))
    }

    /// The same of degrees in 32 bits.
    pub fn at_btdc(degrees: f32) -> Self {
        Self(fraction_of(-degrees))
    }

    /// Units of 2⁻³² turn after top dead centre.
    pub const fn fraction(self) -> u32 {
        self.0
    }

    /// Units of 2⁻³² turn that the crank turns from here until it reaches `later`.
    pub const fn to(self, later: Self) -> u32 {
        later.0.wrapping_sub(self.0)
    }

    /// This position turned on by so many units of 2⁻³² turn.
    pub const fn turned(self, fraction: u32) -> Self {
        Self(self.0.wrapping_add(fraction))
    }

    /// How far before top dead centre this is.
    pub const fn advance(self) -> Advance {
        Advance(0i32.wrapping_sub(self.0 as i32))
    }
}

/// Crank degrees before top dead centre of cylinder one: positive before, negative after; within
/// half a turn either way (`-180 <= x < 180`).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Advance(i32);

impl Advance {
    /// So many degrees before top dead centre; any finite value wraps into half a turn either way.
    pub fn from_degrees(degrees: f64) -> Self {
        Self(degrees_to_fraction(degrees) as i32)
    }

    /// The same of degrees in 32 bits.
    pub fn of_degrees(degrees: f32) -> Self {
        Self(fraction_of(degrees) as i32)
    }

    /// An advance given in units of 2⁻³² turn.
    pub const fn from_fraction(fraction: i32) -> Self {
        Self(fraction)
    }

    /// Units of 2⁻³² turn.
    pub const fn fraction(self) -> i32 {
        self.0
    }

    /// Degrees before top dead centre, in `(-180, 180]`.
    pub fn degrees(self) -> f32 {
        // In single precision what is just above half a turn late rounds down to it.
        let degrees = fraction_to_degrees(self.0);
        if degrees <= -180.0 { 180.0 } else { degrees }
    }

    /// The shorter way from `other` to this advance, wrapped.
    pub const fn minus(self, other: Self) -> Self {
        Self(self.0.wrapping_sub(other.0))
    }

    /// This advance moved by another, wrapped.
    pub const fn plus(self, other: Self) -> Self {
        Self(self.0.wrapping_add(other.0))
    }
}

/// Degrees of so many units of 2⁻³² turn.
pub fn fraction_to_degrees(fraction: i32) -> f32 {
    // The product is exact, so this rounds once.
    (i64::from(fraction) * 360) as f32 * (1.0 / TURN as f32)
}

/// Units of 2⁻³² turn, wrapped into one turn, of so many degrees (|degrees| below 10⁶).
pub fn degrees_to_fraction(degrees: f64) -> u32 {
    let scaled = degrees * (TURN as f64 / 360.0);
    let rounded = if scaled >= 0.0 { scaled + 0.5 } else { scaled - 0.5 };
    rounded as i64 as u32
}

/// The same of degrees in 32 bits, as the handheld has them: exact to half a unit.
pub fn fraction_of(degrees: f32) -> u32 {
    // In 2⁻²⁴ degrees, of which 45 are 32 units.
    nearest(((degrees * (1 << 24) as f32) as i64).wrapping_mul(32), 45) as u32
}

/// A difference of two angles in degrees, wrapped into `(-180, 180]`.
pub fn wrap_degrees(degrees: f32) -> f32 {
    Advance::of_degrees(degrees).degrees()
}

/// A whole number's part, to the nearest; half a unit away from zero. `parts` above zero.
const fn nearest(value: i64, parts: i64) -> i64 {
    let half = if value < 0 { -(parts / 2) } else { parts / 2 };
    match value.wrapping_add(half).checked_div(parts) {
        Some(part) => part,
        None => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_advance_of_half_a_turn_reads_plus_180_and_never_minus_180() {
        assert_eq!(Advance::from_degrees(180.0).degrees(), 180.0);
        assert_eq!(Advance::from_degrees(-180.0).degrees(), 180.0);
        assert_eq!(Advance::from_fraction(i32::MIN + 3).degrees(), 180.0);
    }

    #[test]
    fn a_position_before_zero_reads_as_that_advance() {
        for degrees in [-179.9, -10.0, 0.0, 10.0, 84.0, 179.5] {
            let read = CrankAngle::from_degrees_btdc(degrees).advance().degrees();
            assert!((f64::from(read) - degrees).abs() < 1e-4, "{degrees} read {read}");
        }
    }

    #[test]
    fn degrees_in_32_bits_are_the_same_fraction_as_in_64() {
        for step in -40_000..40_000i32 {
            let degrees = step as f32 * 0.0371;
            let (narrow, wide) = (fraction_of(degrees), degrees_to_fraction(f64::from(degrees)));
            assert!((narrow.wrapping_sub(wide) as i32).abs() <= 1, "{degrees}: {narrow} {wide}");
        }
        // What is no angle makes none, and does no harm.
        for wild in [f32::MAX, f32::MIN, f32::NAN, f32::INFINITY, 1e12, -1e12] {
            let _ = (fraction_of(wild), TickRate::DESKTOP.ticks_in_us(wild));
        }
        assert_eq!(
            [-1.26, -0.04, 0.04, 0.06, 1e6].map(|us| TickRate::DESKTOP.ticks_in_us(us)),
            [-13, 0, 0, 1, 10_000_000]
        );
    }

    #[test]
    fn the_way_from_one_position_to_a_later_one_crosses_zero() {
        let before = CrankAngle::from_degrees_btdc(10.0);
        let after = CrankAngle::from_degrees_btdc(-20.0);
        assert_eq!(before.to(after), degrees_to_fraction(30.0));
    }

    #[test]
    fn a_thousandth_of_a_second_at_3000_rpm_is_a_twentieth_of_a_turn() {
        // 18 degrees per millisecond at 3000 rpm: CHECKS.md section 4, "Ignition Timing Project".
        let rate = TickRate::DESKTOP;
        assert_eq!(rate.ticks_per_turn(3000.0), 200_000);
        assert_eq!(rate.rpm(0.05, rate.ticks_in_ms(1)), 3000.0);
    }
}
