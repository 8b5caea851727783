//! Seeded random numbers, so that every run of a test sees the same ones.

/// A permuted linear congruential generator of 64 bits of state.
#[derive(Debug, Clone)]
pub struct Noise(u64);

impl Noise {
    /// The row of numbers that belongs to this seed.
    pub fn seeded(seed: u64) -> Self {
        let mut noise = Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x5851_f42d_4c95_7f2d);
        noise.uniform();
        noise
    }

    /// Evenly spread in `0.0..1.0`.
    pub fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let mixed = (self.0 ^ (self.0 >> 33)).wrapping_mul(0xff51_afd7_ed55_8ccd);
        ((mixed ^ (mixed >> 29)) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Normal, mean zero, standard deviation one (Box and Muller).
    pub fn normal(&mut self) -> f64 {
        let (length, turn) = (1.0 - self.uniform(), self.uniform());
        (-2.0 * length.ln()).sqrt() * (std::f64::consts::TAU * turn).cos()
    }
}
