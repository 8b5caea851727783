//! A straight line through points, with the doubt of its slope, its height and its predictions.
//!
//! *Freedom*: degrees of freedom, the points less the numbers fitted. *Standard uncertainty*: here the
//! points' own scatter about the line, carried into the result.
//!
//! The sums are kept about the running means (Welford), so that a small slope on a large offset does not
//! drown in its own square: in 32 bits a line comes out to six digits, in 64 to twelve (test `regression`).

use super::real::Real;

/// Running sums of points (x, y).
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct LineSums<R = f32> {
    count: u32,
    weight: R,
    mean_x: R,
    mean_y: R,
    xx: R,
    xy: R,
    yy: R,
}

/// A line y = `intercept` + `slope` · x and its doubt. Units are those of x and y.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line<R = f32> {
    /// Mean of x, where the line is known best.
    pub mean_x: R,
    /// Height of the line at the mean of x.
    pub height: R,
    /// Rise of y for one of x.
    pub slope: R,
    /// Standard uncertainty of the height at the mean of x; independent of the slope's.
    pub height_uncertainty: R,
    /// Standard uncertainty of the slope.
    pub slope_uncertainty: R,
    /// Standard deviation of the points about the line.
    pub residual: R,
    /// Degrees of freedom behind the uncertainties.
    pub freedom: R,
}

impl<R: Real> LineSums<R> {
    /// No points yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a point; one that is not finite is left out.
    pub fn add(&mut self, x: R, y: R) {
        self.add_weighted(x, y, R::ONE);
    }

    /// Adds a point whose variance is one over `weight` (above zero) of the others'.
    #[inline(never)]
    pub fn add_weighted(&mut self, x: R, y: R, weight: R) {
        if !(x.is_number() && y.is_number() && weight.is_number() && weight > R::ZERO) {
            return;
        }
        self.count = self.count.saturating_add(1);
        self.weight += weight;
        let share = weight / self.weight;
        let (dx, dy) = (x - self.mean_x, y - self.mean_y);
        self.mean_x += dx * share;
        self.mean_y += dy * share;
        self.xx += weight * dx * (x - self.mean_x);
        self.xy += weight * dx * (y - self.mean_y);
        self.yy += weight * dy * (y - self.mean_y);
    }

    /// Points added.
    pub const fn count(&self) -> u32 {
        self.count
    }

    /// Mean and standard deviation (n − 1) of y. `None` below two points.
    #[inline(never)]
    pub fn spread_of_y(&self) -> Option<(R, R)> {
        if self.count < 2 {
            return None;
        }
        Some((self.mean_y, R::root(self.yy / (R::of(self.count) - R::ONE))))
    }

    /// How much of the squares of y the line explains; NaN where all x are equal.
    pub fn explained(&self) -> R {
        self.xy * self.xy / self.xx
    }

    /// The line of least squares. `None` below three points or where all x are equal.
    #[inline(never)]
    pub fn fit(&self) -> Option<Line<R>> {
        if self.count < 3 || self.xx <= R::ZERO {
            return None;
        }
        let slope = self.xy / self.xx;
        let freedom = R::of(self.count - 2);
        let variance = none_below_zero((self.yy - slope * self.xy) / freedom);
        Some(Line {
            mean_x: self.mean_x,
            height: self.mean_y,
            slope,
            height_uncertainty: R::root(variance / self.weight),
            slope_uncertainty: R::root(variance / self.xx),
            residual: R::root(variance),
            freedom,
        })
    }

    /// The line of least squares through the origin: its slope, that one's standard uncertainty and its
    /// degrees of freedom. `None` below two points or where all x are zero.
    pub fn fit_through_origin(&self) -> Option<(R, R, R)> {
        let xx = self.xx + self.weight * self.mean_x * self.mean_x;
        if self.count < 2 || xx <= R::ZERO {
            return None;
        }
        let slope = (self.xy + self.weight * self.mean_x * self.mean_y) / xx;
        let freedom = R::of(self.count) - R::ONE;
        // The residuals about their own mean, and that mean: each small where the line fits.
        let off = self.mean_y - slope * self.mean_x;
        let squares =
            self.yy - R::of(2) * slope * self.xy + slope * slope * self.xx + self.weight * off * off;
        let variance = none_below_zero(squares / freedom);
        Some((slope, R::root(variance / xx), freedom))
    }
}

/// A variance that rounding took below zero is none.
pub(super) fn none_below_zero<R: Real>(variance: R) -> R {
    if variance > R::ZERO { variance } else { R::ZERO }
}

impl<R: Real> Line<R> {
    /// Height of the line at zero.
    pub fn intercept(&self) -> R {
        self.height - self.slope * self.mean_x
    }

    /// Standard uncertainty of the height at zero.
    pub fn intercept_uncertainty(&self) -> R {
        self.predict(R::ZERO).1
    }

    /// Covariance of the height at zero with the slope.
    pub fn covariance(&self) -> R {
        -self.mean_x * self.slope_uncertainty * self.slope_uncertainty
    }

    /// Correlation of the height at zero with the slope, −1 to 1; zero for a line without doubt.
    pub fn correlation(&self) -> R {
        let both = self.intercept_uncertainty() * self.slope_uncertainty;
        if both > R::ZERO { self.covariance() / both } else { R::ZERO }
    }

    /// Height of the line at `x` and its standard uncertainty (of the line, not of one more point).
    pub fn predict(&self, x: R) -> (R, R) {
        let away = x - self.mean_x;
        let tilt = away * self.slope_uncertainty;
        let variance = self.height_uncertainty * self.height_uncertainty + tilt * tilt;
        (self.height + self.slope * away, R::root(variance))
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;

    #[test]
    fn points_on_a_line_give_that_line_without_doubt() {
        let mut sums = LineSums::<f64>::new();
        (0..10).for_each(|i| sums.add(f64::from(i) * 100.0, 10.0 - 0.5 * f64::from(i)));
        let line = sums.fit().unwrap();
        assert!((line.slope + 0.005).abs() < 1e-15 && (line.intercept() - 10.0).abs() < 1e-12);
        assert!(line.slope_uncertainty < 1e-9 && line.predict(300.0).1 < 1e-6);
    }

    #[test]
    fn a_weight_of_three_counts_as_three_equal_points_in_the_line() {
        let (mut weighted, mut repeated) = (LineSums::<f64>::new(), LineSums::<f64>::new());
        for (x, y, times) in [(1.0, 2.0, 1u32), (2.0, 3.5, 3), (4.0, 4.0, 2)] {
            weighted.add_weighted(x, y, f64::from(times));
            (0..times).for_each(|_| repeated.add(x, y));
        }
        let (one, other) = (weighted.fit().unwrap(), repeated.fit().unwrap());
        assert!((one.slope - other.slope).abs() < 1e-14 && (one.height - other.height).abs() < 1e-14);
    }

    #[test]
    fn too_few_points_or_no_spread_give_no_line() {
        let mut sums = LineSums::<f64>::new();
        assert_eq!(sums.fit(), None);
        (0..5).for_each(|i| sums.add(3.0, f64::from(i)));
        sums.add(f64::NAN, 1.0);
        sums.add(1.0, f64::INFINITY);
        assert_eq!((sums.fit(), sums.count()), (None, 5));
    }
}
