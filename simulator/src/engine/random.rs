//! Seeded chance: independent streams from one seed, so that a change in one part of the engine
//! leaves the draws of every other part as they were.

use oorandom::Rand64;

/// One stream of draws.
#[derive(Debug, Clone)]
pub struct Dice(Rand64);

impl Dice {
    /// The stream called `purpose` of this seed.
    pub fn new(seed: u64, purpose: &str) -> Self {
        // FNV-1a over purpose and seed (parameters from memory), then twice the finisher of splitmix64,
        // so that neighbouring seeds start far apart.
        let mut mixed = 0xcbf2_9ce4_8422_2325_u64;
        for byte in purpose.bytes().chain(seed.to_le_bytes()) {
            mixed = (mixed ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
        let low = finish(mixed);
        let high = finish(low ^ seed);
        Self(Rand64::new((u128::from(high) << 64) | u128::from(low)))
    }

    /// Even over 0 to below 1.
    pub fn unit(&mut self) -> f64 {
        self.0.rand_float()
    }

    /// Even over `low` to below `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// A whole number, even over 0 to below `count`; 0 where `count` is 0.
    pub fn below(&mut self, count: u64) -> u64 {
        if count == 0 { 0 } else { self.0.rand_range(0..count) }
    }

    /// True with this probability.
    pub fn chance(&mut self, probability: f64) -> bool {
        probability > 0.0 && self.unit() < probability
    }

    /// Plus or minus one.
    pub fn sign(&mut self) -> f64 {
        if self.chance(0.5) { 1.0 } else { -1.0 }
    }

    /// Normal, mean zero and standard deviation one (polar form of Box and Muller).
    pub fn normal(&mut self) -> f64 {
        loop {
            let across = self.between(-1.0, 1.0);
            let up = self.between(-1.0, 1.0);
            let square = across * across + up * up;
            if square > 0.0 && square < 1.0 {
                return across * (-2.0 * square.ln() / square).sqrt();
            }
        }
    }

    /// The wait until the next of events that come at random at this mean rate a second; endless at 0.
    pub fn wait(&mut self, rate: f64) -> f64 {
        if rate > 0.0 { -(1.0 - self.unit()).ln() / rate } else { f64::INFINITY }
    }
}

fn finish(mixed: u64) -> u64 {
    let mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    mixed ^ (mixed >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_seed_and_purpose_draw_the_same_and_another_purpose_does_not() {
        let draws = |seed, purpose| {
            let mut dice = Dice::new(seed, purpose);
            [dice.unit(), dice.unit(), dice.normal()]
        };
        assert_eq!(draws(7, "wheel"), draws(7, "wheel"));
        assert_ne!(draws(7, "wheel"), draws(7, "clamp"));
        assert_ne!(draws(7, "wheel"), draws(8, "wheel"));
    }

    #[test]
    fn the_first_draws_of_neighbouring_seeds_are_spread_evenly() {
        let mean = (0..2000).map(|seed| Dice::new(seed, "fault").unit()).sum::<f64>() / 2000.0;
        let early = (0..1000).filter(|seed| Dice::new(*seed, "fault").chance(0.5)).count();
        // Four standard errors.
        assert!((mean - 0.5).abs() < 0.026, "{mean}");
        assert!((437..=563).contains(&early), "{early}");
    }

    #[test]
    fn normal_draws_have_mean_zero_and_deviation_one() {
        let mut dice = Dice::new(1, "normal");
        let draws: Vec<f64> = (0..40_000).map(|_| dice.normal()).collect();
        let mean = draws.iter().sum::<f64>() / 40_000.0;
        let square = draws.iter().map(|draw| draw * draw).sum::<f64>() / 40_000.0;
        // Four standard errors: 4/200 for the mean, 4·√2/200 for the square.
        assert!(mean.abs() < 0.02, "{mean}");
        assert!((square - 1.0).abs() < 0.03, "{square}");
    }
}
