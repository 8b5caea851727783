//! Seeded chance: the same seed gives the same capture everywhere.

/// A generator of pseudo-random numbers (the public-domain "split mix" step of 64 bits).
#[derive(Debug, Clone)]
pub struct Chance {
    state: u64,
}

impl Chance {
    /// Seeds that differ by one give unrelated sequences.
    pub fn new(seed: u64) -> Self {
        Self { state: seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5EED }
    }

    /// 64 even bits.
    pub fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// Even over `0 <= x < 1`.
    pub fn part(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Even over `low <= x < high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.part()
    }

    /// Normal with mean zero and standard deviation one.
    pub fn normal(&mut self) -> f64 {
        let radius = libm::sqrt(-2.0 * libm::log(1.0 - self.part()));
        radius * libm::cos(core::f64::consts::TAU * self.part())
    }

    /// True with this probability.
    pub fn happens(&mut self, probability: f64) -> bool {
        self.part() < probability
    }

    /// One of these.
    pub fn one_of<T: Copy>(&mut self, choices: &[T]) -> T {
        choices[(self.bits() % choices.len() as u64) as usize]
    }

    /// The seconds from one event to the next where they come at this mean rate.
    pub fn wait(&mut self, per_second: f64) -> f64 {
        if per_second <= 0.0 { f64::INFINITY } else { -libm::log(1.0 - self.part()) / per_second }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn normal_numbers_have_the_spread_of_the_normal_law() {
        let mut chance = Chance::new(7);
        let drawn: Vec<f64> = (0..20_000).map(|_| chance.normal()).collect();
        let mean = drawn.iter().sum::<f64>() / 20_000.0;
        let variance = drawn.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / 20_000.0;
        let within_one = drawn.iter().filter(|x| x.abs() < 1.0).count() as f64 / 20_000.0;
        assert!(mean.abs() < 0.03 && (variance - 1.0).abs() < 0.04, "{mean} {variance}");
        // 68.27 % of a normal law lie within one standard deviation.
        assert!((within_one - 0.6827).abs() < 0.012, "{within_one}");
    }
}
