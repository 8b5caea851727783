//! How fast the charge burns: the fraction burned over the crank angle after Wiebe.
//!
//! *Start*: where burning becomes visible, a short lag after the spark. *Duration*: crank degrees from
//! there until 99.3 % is burned. x = 1 − exp(−a·y^(m+1)) with y = (θ − start)/duration, a = 5, m = 2
//! (Ghojel, Int. J. Engine Res. 11 (2010) 297 reviews the form).

/// The `a` of the form: 1 − exp(−5) = 99.33 % at the end.
const COMPLETENESS: f64 = 5.0;

/// Fraction burned at `progress` of the duration: 0 before the start, held at its last value after.
pub fn burned(progress: f64) -> f64 {
    let progress = progress.clamp(0.0, 1.0);
    1.0 - (-COMPLETENESS * progress * progress * progress).exp()
}

/// One cylinder's burn in one cycle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Burn {
    /// Crank degrees at which it starts, on the engine's running angle.
    pub start: f64,
    /// Crank degrees until the end.
    pub duration: f64,
    /// Heat released over the whole burn, J.
    pub heat: f64,
    /// Fraction released so far.
    pub released: f64,
}

impl Burn {
    /// Heat released from where it stood until `angle`, J.
    pub fn release_until(&mut self, angle: f64) -> f64 {
        let fraction = burned((angle - self.start) / self.duration);
        let more = (fraction - self.released).max(0.0);
        self.released = fraction.max(self.released);
        more * self.heat
    }

    /// Whether nothing is left to burn at `angle`.
    pub fn over(&self, angle: f64) -> bool {
        angle >= self.start + self.duration
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// CHECKS 7.1, computed to 30 digits for a = 5, m = 2.
    #[test]
    fn the_points_of_the_burn_curve_agree() {
        for (progress, fraction) in [(0.2762078, 0.1), (0.5175494, 0.5), (0.7722334, 0.9)] {
            assert!((burned(progress) - fraction).abs() < 1e-6, "{progress}");
        }
        assert!((burned(0.5) - 0.4647386).abs() < 1e-7);
        assert!((burned(1.0) - 0.9932621).abs() < 1e-7);
        let rate = |progress: f64| burned(progress + 1e-4) - burned(progress - 1e-4);
        assert!(rate(0.5108730) > rate(0.50) && rate(0.5108730) > rate(0.52));
    }

    #[test]
    fn heat_released_step_by_step_adds_up_to_the_whole() {
        let mut burn = Burn { start: -7.3, duration: 55.0, heat: 400.0, released: 0.0 };
        let total: f64 = (-20..80).map(|degree| burn.release_until(f64::from(degree))).sum();
        assert!((total - 400.0 * 0.993_262_1).abs() < 1e-3);
        assert!(burn.over(48.0) && !burn.over(47.0));
    }
}
