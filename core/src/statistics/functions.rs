//! The few mathematical functions of the measuring path, in one place, each with its measured error.
//!
//! Powers and arctangents come from the library `libm`, whose code is the same on every target, so the desk computes
//! the same bits as the handheld. Root, logarithm and sine are written here, in whole numbers and by series, where the library's tables and far arguments cost the handheld more flash than they are worth. The library
//! `micromath` is smaller and far too coarse here: measured by a test below, its square root is up to 6.1 % off and its
//! arctangent 0.16°; it serves drawing alone, and even there only called as `micromath::F32Ext::sqrt(x)`, because
//! `x.sqrt()` in a host test silently means the standard library's.
//!
//! Errors stated are the largest seen against the standard library in 64 bits over the tests' grids.

/// Radians of one unit of 2⁻³² turn.
const RADIANS_PER_UNIT: f64 = core::f64::consts::TAU / crate::units::TURN as f64;

/// Square root; NaN below zero, nothing below 10⁻³⁷. Relative error at most 6.0 × 10⁻⁸ (correctly rounded).
///
/// In whole numbers, one binary place after the other as on paper: the library's takes 580 bytes of the handheld with
/// its table.
#[inline(never)]
pub fn square_root(value: f32) -> f32 {
    if !value.is_finite() || value < 0.0 {
        return if value > 0.0 { value } else { f32::NAN };
    }
    if value < f32::MIN_POSITIVE {
        return 0.0;
    }
    // Sign and exponent; an odd one leaves a factor of two to the rest.
    let exponent = (value.to_bits() >> 23) as i32 - 127;
    let mantissa = value.to_bits() & 0x007f_ffff | 0x0080_0000;
    let mut places = mantissa << (7 + (exponent & 1));
    let (mut root, mut left) = (0u32, 0u32);
    for _ in 0..25 {
        left = left << 2 | places >> 30;
        places <<= 2;
        let tried = root << 2 | 1;
        root <<= 1;
        if left >= tried {
            left -= tried;
            root |= 1;
        }
    }
    // The last place rounds; it is never all there is left.
    let halved = ((exponent >> 1) + 126) as u32;
    f32::from_bits((halved << 23) + ((root + 1) >> 1))
}

/// Square root in 64 bits of at most 10³⁸; NaN below zero, nothing below 10⁻³⁰. Relative error at most 3 × 10⁻¹⁶.
///
/// Two of Newton's steps from the root in 32 bits: a root of its own would take 600 bytes of the handheld.
#[inline(never)]
pub fn square_root_wide(value: f64) -> f64 {
    let mut root = f64::from(square_root(value as f32));
    if value < 1e-30 {
        return if value < 0.0 { root } else { 0.0 };
    }
    for _ in 0..2 {
        root = (root + value / root) / 2.0;
    }
    root
}

/// Natural logarithm of a value from 10⁻³⁷ on; nothing that means anything below. Error at most 1.1 × 10⁻⁷ of the value,
/// or 1.1 × 10⁻⁷ (every seventh float tried).
///
/// A power of two and what is left of it, within √2 of one, by the series of the inverse hyperbolic tangent: the
/// library's would take 360 bytes of the handheld.
#[inline(never)]
pub fn natural_log(value: f32) -> f32 {
    const LOWEST: i32 = core::f32::consts::FRAC_1_SQRT_2.to_bits() as i32;
    // The logarithm of two in a part whose multiples are exact, and what that leaves.
    const WHOLE: f32 = 355.0 / 512.0;
    const LEFT: f32 = (core::f64::consts::LN_2 - WHOLE as f64) as f32;
    let exponent = (value.to_bits() as i32).wrapping_sub(LOWEST) >> 23;
    let rest = f32::from_bits(value.to_bits().wrapping_sub((exponent << 23) as u32));
    let part = (rest - 1.0) / (rest + 1.0);
    let square = part * part;
    let series = square * (1.0 / 3.0 + square * (1.0 / 5.0 + square * (1.0 / 7.0 + square * (1.0 / 9.0))));
    let twos = exponent as f32;
    twos * WHOLE + (twos * LEFT + 2.0 * (part + part * series))
}

/// Natural logarithm in 64 bits; −∞ at zero, NaN below. Within a unit of the last digit.
pub fn natural_log_wide(value: f64) -> f64 {
    libm::log(value)
}

/// e to a power. Relative error at most 1.2 × 10⁻⁷ within ±80.
pub fn exponential(power: f32) -> f32 {
    libm::expf(power)
}

/// Sine of an angle in units of 2⁻³² turn. Error at most 1.6 × 10⁻⁷.
pub fn sine(angle: i32) -> f32 {
    // Half a quarter turn either side of a multiple of a quarter: the library's way there takes two kilobytes and
    // 64-bit floats, for angles beyond a turn that an integer cannot hold.
    let quarter = (angle as u32).wrapping_add(1 << 29) >> 30;
    let x = angle.wrapping_sub((quarter << 30) as i32) as f32 * RADIANS_PER_UNIT as f32;
    let square = x * x;
    let value = if quarter & 1 == 0 {
        x + x * square * (-1.0 / 6.0 + square * (1.0 / 120.0 + square * (-1.0 / 5040.0 + square / 362_880.0)))
    } else {
        let rest = 1.0 / 24.0 + square * (-1.0 / 720.0 + square * (1.0 / 40_320.0 - square / 3_628_800.0));
        1.0 + square * (square * rest - 0.5)
    };
    if quarter & 2 == 0 { value } else { -value }
}

/// Cosine of an angle in units of 2⁻³² turn. Error at most 1.6 × 10⁻⁷.
pub fn cosine(angle: i32) -> f32 {
    sine(angle.wrapping_add(1 << 30))
}

/// The direction of the point (`across`, `along`) in units of 2⁻³² turn, zero along the second argument:
/// the arctangent of `across / along` in the right quadrant. Error at most 4 × 10⁻⁷ rad (2.3 × 10⁻⁵ °);
/// zero where both are zero.
pub fn direction(across: f32, along: f32) -> i32 {
    if across == 0.0 && along == 0.0 {
        return 0;
    }
    let units = f64::from(libm::atan2f(across, along)) / RADIANS_PER_UNIT;
    // Through 64 bits, so that half a turn wraps instead of sticking at the largest value.
    units as i64 as i32
}

/// Radians in (−π, π] of an angle in units of 2⁻³² turn, to the nearest f32.
pub fn radians(angle: i32) -> f32 {
    (f64::from(angle) * RADIANS_PER_UNIT) as f32
}

/// Units of 2⁻³² turn of an angle in radians, rounded towards zero; |radians| below 10⁶.
pub fn from_radians(radians: f32) -> i32 {
    (f64::from(radians) / RADIANS_PER_UNIT) as i64 as i32
}

#[cfg(test)]
mod tests {
    use super::*;
    use micromath::F32Ext;

    /// Angles over the whole turn with the corners of the integer.
    fn angles() -> impl Iterator<Item = i32> {
        let corners = [0, 1, -1, i32::MAX, i32::MIN, 1 << 30, -(1 << 30), 1 << 29];
        (0..200_000u32).map(|step| step.wrapping_mul(21_474).wrapping_mul(7) as i32).chain(corners)
    }

    #[test]
    fn sine_and_cosine_hold_their_stated_error() {
        let mut worst = 0.0f64;
        for angle in angles() {
            let exact = f64::from(angle) * RADIANS_PER_UNIT;
            worst = worst.max((f64::from(sine(angle)) - exact.sin()).abs());
            worst = worst.max((f64::from(cosine(angle)) - exact.cos()).abs());
        }
        assert!(worst <= 1.6e-7, "{worst:e}");
    }

    #[test]
    fn a_direction_comes_back_from_its_sine_and_cosine() {
        let mut worst = 0i64;
        for angle in angles() {
            let back = direction(sine(angle), cosine(angle));
            worst = worst.max(i64::from(back.wrapping_sub(angle)).abs());
        }
        // Sine and cosine's own error included: 4e-7 rad.
        assert!((worst as f64) * RADIANS_PER_UNIT <= 4e-7, "{worst}");
    }

    #[test]
    fn half_a_turn_wraps_and_nothing_has_direction_zero() {
        assert!(direction(0.0, -1.0).unsigned_abs() > i32::MAX as u32 - 400);
        assert_eq!(direction(0.0, 0.0), 0);
    }

    #[test]
    fn roots_logarithms_and_powers_hold_their_stated_error() {
        let (mut root, mut log, mut power) = (0.0f64, 0.0f64, 0.0f64);
        for step in 1..400_000u32 {
            let x = step as f32 * 0.01;
            root = root.max((f64::from(square_root(x)) / f64::from(x).sqrt() - 1.0).abs());
            let exact = f64::from(x).ln();
            log = log.max((f64::from(natural_log(x)) - exact).abs() / exact.abs().max(1.0));
            let exponent = (step as f32 - 200_000.0) * 0.0004;
            power = power.max((f64::from(exponential(exponent)) / f64::from(exponent).exp() - 1.0).abs());
        }
        assert!(root <= 6.0e-8, "{root:e}");
        assert!((0..=0xffu32).all(|step| {
            let x = f32::from_bits(0x0080_0000 + step * 0x007f_1234);
            square_root(x) == x.sqrt()
        }));
        assert_eq!((square_root(0.0), square_root(f32::INFINITY)), (0.0, f32::INFINITY));
        assert!(square_root(-1.0).is_nan() && square_root(f32::NAN).is_nan());
        for step in -290..380 {
            let x = 1.1 * 10.0f64.powf(f64::from(step) * 0.1);
            assert!((square_root_wide(x) / x.sqrt() - 1.0).abs() <= 3e-16, "{x}");
        }
        assert_eq!((square_root_wide(0.0), square_root_wide(1e-31)), (0.0, 0.0));
        assert!(square_root_wide(-1.0).is_nan());
        assert!(log <= 1.0e-7, "{log:e}");
        for x in [1e-300, 0.1, 0.999_999, 1.0 - 1e-15, 2.0, 1e300f64] {
            assert!((natural_log_wide(x) / x.ln() - 1.0).abs() < 3e-16, "{x}");
        }
        assert!(power <= 1.2e-7, "{power:e}");
    }

    #[test]
    fn micromath_is_too_coarse_for_a_measuring_path() {
        let (mut root, mut arc) = (0.0f64, 0.0f64);
        for step in 1..100_000u32 {
            let x = step as f32 * 0.001;
            root = root.max((f64::from(F32Ext::sqrt(x)) / f64::from(x).sqrt() - 1.0).abs());
            arc = arc.max((f64::from(F32Ext::atan2(x, 1.0)) - f64::from(x).atan()).abs());
        }
        assert!(root > 0.05 && root < 0.0615, "{root}");
        assert!(arc.to_degrees() > 0.1 && arc.to_degrees() < 0.165, "{arc}");
    }
}
