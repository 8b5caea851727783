//! What else hands do to an engine than its controls, and what a stethoscope for the truth would hear.

use super::Engine;
use super::distributor::Drive;
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

    /// The distributor is taken out and put in again, so many crank degrees earlier than it was: by teeth of its gear.
    pub fn put_in_again(&mut self, earlier: f64) {
        self.setup.spark.setting += earlier;
    }

    /// Gear, chain and bushing of the distributor are replaced by sound ones.
    pub fn fit_sound_drive(&mut self) {
        self.setup.drive = Drive::sound(self.setup.drive.times_spark);
    }

    /// Truth: gear, chain and bushing are worn.
    pub fn drive_is_worn(&self) -> bool {
        let drive = &self.setup.drive;
        drive.times_spark && drive.play > 2.0
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
