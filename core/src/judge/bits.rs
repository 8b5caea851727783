//! Probabilities as whole numbers of 1/256 bit, so that a posterior needs no floating point.
//!
//! *Bits*: the logarithm to base two of a probability or density, times 256. *Density*: per hundredth of
//! a degree, or per hundredth of whatever the evidence is measured in: only differences between causes
//! matter, and all causes are measured with the same unit.
//!
//! Why whole numbers: thirty hypotheses by six pieces of evidence in single precision take 2.5 ms on a
//! Cortex-M0+ at 48 MHz; in whole numbers a tenth of it. The tables are good to 1/64 bit, which is 1 % of
//! a probability, far below what any of the priors is worth.

/// A logarithm to base two, in 1/256.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Bits(pub(super) i32);

/// No evidence speaks against anything with more than this: what is wild is wild for all.
const FLOOR: i32 = -16 * 256;

impl Bits {
    /// Certain.
    pub(super) const ONE: Self = Self(0);
    /// Impossible: below any sum of evidence.
    pub(super) const NEVER: Self = Self(-4000 * 256);

    /// Of a share in ten thousandths, at least one.
    pub(super) const fn of(ten_thousandths: u32) -> Self {
        // Most shares are the whole.
        if ten_thousandths == 10_000 {
            return Self::ONE;
        }
        // log2(10000) = 13.2877
        Self(log2(ten_thousandths) - 3402)
    }

    /// Both.
    pub(super) const fn and(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

/// 256 · log2(x) for x of one or more (zero counts as one), within 1.
const fn log2(x: u32) -> i32 {
    let x = if x == 0 { 1 } else { x };
    let whole = 31 - x.leading_zeros();
    // The mantissa in 1/4096 of one, and a parabola for its logarithm: off by 0.0078 bit at most.
    let part = if whole > 12 { x >> (whole - 12) } else { x << (12 - whole) } as i32 - 4096;
    let bend = (part * (4096 - part)) >> 12;
    (whole as i32) * 256 + ((part * 256 + bend * 88) >> 12)
}

/// 2 to the power of bits, times 2^16; zero below 2^-16.
pub(super) fn power(bits: Bits) -> u32 {
    let bits = bits.0.min(0);
    let whole = (-bits) >> 8;
    let part = (-bits) & 255;
    if whole >= 20 {
        return 0;
    }
    // 2^-part/256 by a parabola, off by 0.2 % at most, with four more places than are kept.
    let line = (1 << 20) - (part << 11);
    let bend = (part * (256 - part) * 11) >> 2;
    (((line - bend) >> whole) as u32) >> 4
}

/// The same of the error itself, whose doubt is well known: a setting that is far off is not on target, however rare.
const FLOOR_OF_ERROR: i32 = -40 * 256;

/// No spread is wider, so that a few of them stay within 32 bits: a product that looks for overflow is dear as well.
const WIDEST: u32 = 1 << 27;

/// What a value so many spreads away loses against the top of a normal density.
fn fall(away: u32, spread: u32, floor: i32) -> i32 {
    // Sixteen bits lie 4.71 spreads away, forty 7.45. A division is dear on the handheld, and nearly all are as far or
    // at 0.
    if away == 0 {
        return 0;
    }
    let spread = spread.min(WIDEST);
    if away >= spread * 8 || floor == FLOOR && away >= spread * 5 {
        return floor;
    }
    // In sixteenths of the spread; the large ones need no last digit.
    let sixteenths = (if away < 1 << 27 { (away << 4) / spread } else { away / (spread >> 4).max(1) }) as i32;
    (-((sixteenths * sixteenths * 185) >> 8)).max(floor)
}

/// The density of a normal spread about `centre`, at `at`; all in hundredths.
pub(super) fn near(at: i32, centre: i32, spread: u32) -> Bits {
    normal(at, centre, spread, FLOOR)
}

/// The same for the error from the target.
pub(super) fn error_near(at: i32, centre: i32, spread: u32) -> Bits {
    normal(at, centre, spread, FLOOR_OF_ERROR)
}

fn normal(at: i32, centre: i32, spread: u32, floor: i32) -> Bits {
    let spread = spread.max(1);
    // log2(√(2π)) = 1.3257
    Bits(fall(at.saturating_sub(centre).unsigned_abs(), spread, floor) - log2(spread) - 339)
}

/// The density of anything from `low` to `high` alike, at `at`, with edges softened by `blur`: flat within, half a
/// normal on either side, and the whole of it one, so that a doubt wider than the range tells nothing for or
/// against it.
pub(super) fn between(at: i32, low: i32, high: i32, blur: u32) -> Bits {
    level(at, low, high, blur, FLOOR)
}

/// The same for the error from the target.
pub(super) fn error_between(at: i32, low: i32, high: i32, blur: u32) -> Bits {
    level(at, low, high, blur, FLOOR_OF_ERROR)
}

fn level(at: i32, low: i32, high: i32, blur: u32, floor: i32) -> Bits {
    let width = high.saturating_sub(low).max(1).unsigned_abs();
    let outside = low.saturating_sub(at).max(at.saturating_sub(high)).max(0).unsigned_abs();
    let blur = blur.max(1);
    // Both tails together hold √(2π) = 2.507 blurs.
    let whole = width.saturating_add((blur.min(WIDEST) >> 1) * 5);
    Bits(fall(outside, blur, floor) - log2(whole))
}

/// The density of a value that spreads by factors: normal in its logarithm, about `centre`, with
/// `spread_bits` 1/256 bit of spread.
pub(super) fn around(at: u32, centre: u32, spread_bits: u32) -> Bits {
    near(log2(at.max(1)), log2(centre.max(1)), spread_bits)
}

/// The root of the sum of two squares, within 1.5 % and one: the highest of three lines in the larger and the smaller,
/// which needs neither root nor division.
pub(super) fn both(a: u32, b: u32) -> u32 {
    let (large, small) = if a > b { (a, b) } else { (b, a) };
    let (large, small) = (large.min(1 << 26), small.min(1 << 26));
    let flat = large + (small >> 3);
    let middle = large - (large >> 3) + (small >> 1);
    let steep = (large * 23 + small * 22) >> 5;
    flat.max(middle).max(steep) + 1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tables_hold_to_a_sixty_fourth_bit() {
        for x in (1..100_000u32).step_by(7) {
            let true_bits = f64::from(x).log2() * 256.0;
            assert!((f64::from(log2(x)) - true_bits).abs() <= 4.0, "{x}: {} for {true_bits}", log2(x));
        }
        for bits in 0..2560 {
            let read = f64::from(power(Bits(-bits))) / 65536.0;
            let truth = (-f64::from(bits) / 256.0).exp2();
            assert!((read - truth).abs() <= 0.004 * truth + 2e-5, "{bits}: {read} for {truth}");
        }
    }

    #[test]
    fn the_root_of_two_squares_holds_to_a_sixty_fourth() {
        for (a, b) in (0..2000u32).flat_map(|a| (0..2000).step_by(37).map(move |b| (a, b))) {
            let truth = f64::from(a).hypot(f64::from(b));
            assert!((f64::from(both(a, b)) - truth).abs() <= truth / 64.0 + 2.0, "{a} {b}: {}", both(a, b));
        }
        assert!(both(u32::MAX, u32::MAX) > 1 << 26);
    }

    #[test]
    fn a_normal_density_falls_by_its_square() {
        let top = near(0, 0, 100);
        assert_eq!(top.0, -log2(100) - 339);
        // Two spreads away: 2 / ln 2 = 2.885 bits.
        assert!(((top.0 - near(200, 0, 100).0) - 739).abs() <= 4);
    }

    #[test]
    fn a_softened_range_is_one_in_all_however_wide_the_doubt() {
        for blur in [1u32, 30, 300, 3000] {
            let all: f64 =
                (-30_000..30_000).map(|at| (f64::from(between(at, -900, -60, blur).0) / 256.0).exp2()).sum();
            assert!((all - 1.0).abs() < 0.03, "{all} for a blur of {blur}");
        }
    }
}
