//! A straight line through points, with the doubt of its slope, its height and its predictions.
//!
//! *Freedom*: degrees of freedom, the points less the numbers fitted. *Standard uncertainty*: here the
//! points' own scatter about the line, carried into the result.
//!
//! The sums are kept about the running means (Welford), so that a small slope on a large offset does not
//! drown in its own square. They are in 64 bits: a point costs one division (1270 cycles measured on a
//! Cortex-M0+) and some twenty additions and products, cheap at one spark or one second a point, and the
//! reference line of the test `regression` comes out to twelve digits where 32 bits could hold seven.

use super::functions::square_root_wide;

/// Running sums of points (x, y).
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct LineSums {
    count: u32,
    weight: f64,
    mean_x: f64,
    mean_y: f64,
    xx: f64,
    xy: f64,
    yy: f64,
}

/// A line y = `intercept` + `slope` · x and its doubt. Units are those of x and y.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Mean of x, where the line is known best.
    pub mean_x: f64,
    /// Height of the line at the mean of x.
    pub height: f64,
    /// Rise of y for one of x.
    pub slope: f64,
    /// Standard uncertainty of the height at the mean of x; independent of the slope's.
    pub height_uncertainty: f64,
    /// Standard uncertainty of the slope.
    pub slope_uncertainty: f64,
    /// Standard deviation of the points about the line.
    pub residual: f64,
    /// Degrees of freedom behind the uncertainties.
    pub freedom: f64,
}

impl LineSums {
    /// No points yet.
    pub const fn new() -> Self {
        Self { count: 0, weight: 0.0, mean_x: 0.0, mean_y: 0.0, xx: 0.0, xy: 0.0, yy: 0.0 }
    }

    /// Adds a point; one that is not finite is left out.
    pub fn add(&mut self, x: f64, y: f64) {
        self.add_weighted(x, y, 1.0);
    }

    /// Adds a point whose variance is one over `weight` (above zero) of the others'.
    #[inline(never)]
    pub fn add_weighted(&mut self, x: f64, y: f64, weight: f64) {
        if !(x.is_finite() && y.is_finite() && weight.is_finite() && weight > 0.0) {
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
    pub fn spread_of_y(&self) -> Option<(f64, f64)> {
        if self.count < 2 {
            return None;
        }
        Some((self.mean_y, square_root_wide(self.yy / (f64::from(self.count) - 1.0))))
    }

    /// How much of the squares of y the line explains; NaN where all x are equal.
    pub fn explained(&self) -> f64 {
        self.xy * self.xy / self.xx
    }

    /// The line of least squares. `None` below three points or where all x are equal.
    #[inline(never)]
    pub fn fit(&self) -> Option<Line> {
        if self.count < 3 || self.xx <= 0.0 {
            return None;
        }
        let slope = self.xy / self.xx;
        let freedom = f64::from(self.count) - 2.0;
        let variance = ((self.yy - slope * self.xy) / freedom).max(0.0);
        Some(Line {
            mean_x: self.mean_x,
            height: self.mean_y,
            slope,
            height_uncertainty: square_root_wide(variance / self.weight),
            slope_uncertainty: square_root_wide(variance / self.xx),
            residual: square_root_wide(variance),
            freedom,
        })
    }

    /// The line of least squares through the origin: its slope, that one's standard uncertainty and its
    /// degrees of freedom. `None` below two points or where all x are zero.
    pub fn fit_through_origin(&self) -> Option<(f64, f64, f64)> {
        let xx = self.xx + self.weight * self.mean_x * self.mean_x;
        if self.count < 2 || xx <= 0.0 {
            return None;
        }
        let slope = (self.xy + self.weight * self.mean_x * self.mean_y) / xx;
        let freedom = f64::from(self.count) - 1.0;
        // The residuals about their own mean, and that mean: each small where the line fits.
        let off = self.mean_y - slope * self.mean_x;
        let squares = self.yy - 2.0 * slope * self.xy + slope * slope * self.xx + self.weight * off * off;
        let variance = (squares / freedom).max(0.0);
        Some((slope, square_root_wide(variance / xx), freedom))
    }
}

impl Line {
    /// Height of the line at zero.
    pub fn intercept(&self) -> f64 {
        self.height - self.slope * self.mean_x
    }

    /// Standard uncertainty of the height at zero.
    pub fn intercept_uncertainty(&self) -> f64 {
        self.predict(0.0).1
    }

    /// Covariance of the height at zero with the slope.
    pub fn covariance(&self) -> f64 {
        -self.mean_x * self.slope_uncertainty * self.slope_uncertainty
    }

    /// Correlation of the height at zero with the slope, −1 to 1; zero for a line without doubt.
    pub fn correlation(&self) -> f64 {
        let both = self.intercept_uncertainty() * self.slope_uncertainty;
        if both > 0.0 { self.covariance() / both } else { 0.0 }
    }

    /// Height of the line at `x` and its standard uncertainty (of the line, not of one more point).
    pub fn predict(&self, x: f64) -> (f64, f64) {
        let away = x - self.mean_x;
        let tilt = away * self.slope_uncertainty;
        let variance = self.height_uncertainty * self.height_uncertainty + tilt * tilt;
        (self.height + self.slope * away, square_root_wide(variance))
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;

    #[test]
    fn points_on_a_line_give_that_line_without_doubt() {
        let mut sums = LineSums::new();
        (0..10).for_each(|i| sums.add(f64::from(i) * 100.0, 10.0 - 0.5 * f64::from(i)));
        let line = sums.fit().unwrap();
        assert!((line.slope + 0.005).abs() < 1e-15 && (line.intercept() - 10.0).abs() < 1e-12);
        assert!(line.slope_uncertainty < 1e-9 && line.predict(300.0).1 < 1e-6);
    }

    #[test]
    fn a_weight_of_three_counts_as_three_equal_points_in_the_line() {
        let (mut weighted, mut repeated) = (LineSums::new(), LineSums::new());
        for (x, y, times) in [(1.0, 2.0, 1u32), (2.0, 3.5, 3), (4.0, 4.0, 2)] {
            weighted.add_weighted(x, y, f64::from(times));
            (0..times).for_each(|_| repeated.add(x, y));
        }
        let (one, other) = (weighted.fit().unwrap(), repeated.fit().unwrap());
        assert!((one.slope - other.slope).abs() < 1e-14 && (one.height - other.height).abs() < 1e-14);
    }

    #[test]
    fn too_few_points_or_no_spread_give_no_line() {
        let mut sums = LineSums::new();
        assert_eq!(sums.fit(), None);
        (0..5).for_each(|i| sums.add(3.0, f64::from(i)));
        sums.add(f64::NAN, 1.0);
        sums.add(1.0, f64::INFINITY);
        assert_eq!((sums.fit(), sums.count()), (None, 5));
    }
}
