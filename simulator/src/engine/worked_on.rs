//! What else hands do to an engine than its controls, and what a stethoscope for the truth would hear.

use super::Engine;
use keyway_core::job::Control;

impl Engine {
    /// A cylinder, from 1, gets this share of its fuel from now on: 0 with its connector or spark lead off,
    /// 1 with everything plugged in. Another number than the engine has is no cylinder.
    pub fn feed(&mut self, cylinder: u8, share: f64) {
        let place = usize::from(cylinder).checked_sub(1);
        if let Some(fuel) = place.and_then(|place| self.setup.fuel_share.get_mut(place)) {
            *fuel = share;
        }
    }

    /// Truth: where the spark lies while nothing steers it, degrees before top dead centre; what a fixed
    /// delay takes off it is left out.
    pub fn base_advance(&self) -> f64 {
        let spark = &self.setup.spark;
        let told = if spark.control == Control::Commanded { spark.commanded } else { spark.base };
        let bolt = if self.controls.bolt_tight { 0.0 } else { -spark.bolt_shift };
        told + spark.setting + bolt + self.controls.housing_deg * self.setup.crank_per_housing()
    }
}
