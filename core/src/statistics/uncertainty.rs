//! The budget of a doubt: several standard uncertainties made into one ± with a stated confidence.
//!
//! *Standard uncertainty*: a doubt as one standard deviation. *Freedom*: degrees of freedom, how well the
//! standard uncertainty itself is known; infinite for a bound that is simply known. *Coverage factor*:
//! what to multiply by so that the interval holds the truth with the stated confidence (Student's t).
//! *Expanded uncertainty*: the product, the ± that people read.
//!
//! After the *Guide to the expression of uncertainty in measurement* (JCGM 100:2008): components add as
//! squares (5.1.2), the freedom of the sum follows Welch and Satterthwaite (G.4.1).

use super::functions::{exponential, square_root};

/// One contribution to a doubt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Component {
    /// Standard uncertainty in the result's unit, zero or more.
    pub standard: f32,
    /// Degrees of freedom, one or more; infinite where the uncertainty itself is exact.
    pub freedom: f32,
}

/// How sure an interval is to hold the truth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Confidence {
    /// 95 %, the one shown to people.
    Percent95,
    /// 99 %.
    Percent99,
}

impl Component {
    /// A standard uncertainty with its degrees of freedom.
    pub const fn new(standard: f32, freedom: f32) -> Self {
        Self { standard, freedom }
    }

    /// A standard uncertainty taken as exact.
    pub const fn exact(standard: f32) -> Self {
        Self { standard, freedom: f32::INFINITY }
    }

    /// Anything within ± `bound`, all equally likely: bound / √3 (GUM 4.3.7).
    pub const fn within(bound: f32) -> Self {
        Self::exact(bound * 0.577_350_26)
    }

    /// A sine that swings ± `bound`, seen at any moment: bound / √2 (the arcsine distribution).
    pub const fn swinging(bound: f32) -> Self {
        Self::exact(bound * core::f32::consts::FRAC_1_SQRT_2)
    }

    /// Rounding to steps of this size: step / √12 (GUM F.2.2.1).
    pub const fn rounded_to(step: f32) -> Self {
        Self::within(step * 0.5)
    }

    /// This contribution through a slope of the result against it.
    pub const fn times(self, sensitivity: f32) -> Self {
        Self { standard: self.standard * sensitivity.abs(), freedom: self.freedom }
    }

    /// The ± that holds the truth with this confidence.
    pub fn expanded(self, confidence: Confidence) -> f32 {
        if self.standard == 0.0 { 0.0 } else { self.standard * coverage_factor(confidence, self.freedom) }
    }
}

/// All contributions in one: root of the sum of squares, and the effective degrees of freedom of that.
/// Independent contributions only. Relative error 3 × 10⁻⁷ for up to twenty of them.
pub fn combine(components: &[Component]) -> Component {
    let largest = components.iter().map(|component| component.standard.abs()).fold(0.0f32, f32::max);
    if largest == 0.0 || !largest.is_finite() {
        return Component::exact(largest);
    }
    // In shares of the largest, so that fourth powers of small doubts do not vanish.
    let (mut squares, mut fourths) = (0.0f32, 0.0f32);
    for component in components {
        let share = component.standard / largest;
        let square = share * share;
        squares += square;
        if component.freedom.is_finite() {
            fourths += square * square / component.freedom;
        }
    }
    let freedom = if fourths > 0.0 { squares * squares / fourths } else { f32::INFINITY };
    Component { standard: largest * square_root(squares), freedom }
}

/// Student's t, two-sided, for one degree of freedom or more (fractions allowed: no rounding down is
/// needed). Relative error at most 5 × 10⁻⁶. Infinite below one degree of freedom or for NaN: nothing can
/// be claimed.
///
/// A polynomial of our own in 1/ν, fitted to the logarithm of t over that of the normal quantile, which
/// runs smoothly from ν = 1 to ∞.
pub fn coverage_factor(confidence: Confidence, freedom: f32) -> f32 {
    if freedom.is_nan() || freedom < 1.0 {
        return f32::INFINITY;
    }
    let (normal, fit): (f32, [f32; 8]) = match confidence {
        Confidence::Percent95 => (
            1.959_964,
            [
                1.210_345_7,
                0.708_191,
                0.145_682_48,
                -0.201_766_8,
                -0.153_494_02,
                0.272_129_8,
                -0.136_467_74,
                0.024_543_745,
            ],
        ),
        Confidence::Percent99 => (
            2.575_829_3,
            [
                1.909_100_7,
                1.596_907_5,
                0.598_133_9,
                -1.507_942_7,
                -0.117_636_35,
                1.797_017_2,
                -1.448_206_5,
                0.379_963_4,
            ],
        ),
    };
    let inverse = 1.0 / freedom;
    let logarithm = fit.iter().rev().fold(0.0f32, |sum, &factor| sum * inverse + factor) * inverse;
    normal * exponential(logarithm)
}

/// Standard uncertainty of a mean of `effective` independent readings with this standard deviation.
/// Infinite below one reading.
pub fn of_mean(deviation: f32, effective: f32) -> f32 {
    if effective >= 1.0 { deviation / square_root(effective) } else { f32::INFINITY }
}

/// Standard uncertainty of a median of `effective` independent normal readings with this standard
/// deviation: √(π/2) of the mean's, right for ten readings or more and up to 10 % too large below.
/// Infinite below one reading.
pub fn of_median(deviation: f32, effective: f32) -> f32 {
    1.253_314_1 * of_mean(deviation, effective)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    #[test]
    fn the_coverage_factor_falls_from_one_degree_of_freedom_to_the_normal_one() {
        for confidence in [Confidence::Percent95, Confidence::Percent99] {
            let steps: Vec<f32> =
                (0..2000).map(|i| coverage_factor(confidence, 1.0 + i as f32 * 0.05)).collect();
            assert!(steps.windows(2).all(|pair| pair[1] < pair[0]));
        }
        assert_eq!(coverage_factor(Confidence::Percent95, f32::INFINITY), 1.959_964);
    }

    #[test]
    fn without_a_degree_of_freedom_nothing_is_claimed() {
        assert_eq!(coverage_factor(Confidence::Percent95, 0.99), f32::INFINITY);
        assert_eq!(coverage_factor(Confidence::Percent95, f32::NAN), f32::INFINITY);
        assert_eq!(of_mean(1.0, 0.5), f32::INFINITY);
    }

    #[test]
    fn doubts_add_as_squares_at_any_scale() {
        for scale in [1e-18f32, 1e-3, 1.0, 1e15] {
            let both = combine(&[Component::new(3.0 * scale, 5.0), Component::new(4.0 * scale, 5.0)]);
            assert!((both.standard / scale - 5.0).abs() < 1e-5, "{scale}");
            // 5⁴ / (3⁴/5 + 4⁴/5)
            assert!((both.freedom - 3125.0 / 337.0).abs() < 1e-4, "{scale}");
        }
        assert_eq!(combine(&[]), Component::exact(0.0));
    }
}
