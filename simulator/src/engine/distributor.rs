//! The distributor's drive: how its shaft follows the crank, with play.
//!
//! *Play*: the dead-band of gear, chain and bushing, in crank degrees (a degree of shaft is two of the
//! crank on a four-stroke). *Ahead*: how far the shaft is ahead of the flank that drives it, 0 to the
//! play. The drive can only push: friction holds the shaft on the driving flank while the crank
//! speeds up, and when the crank slows faster than friction slows the shaft, the shaft runs ahead to
//! the other flank. So worn play shows as scatter at idle, and as an early spark on falling speed.

use super::random::Dice;

/// Settings of the drive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drive {
    /// The distributor times the spark: its play is in the spark.
    pub times_spark: bool,
    /// Play, crank degrees.
    pub play: f64,
    /// Deceleration of the free shaft by friction and the loads on it, crank rad/s².
    pub drag: f64,
    /// Relative standard deviation of that drag, from cam and pump loads.
    pub drag_spread: f64,
    /// Standard deviation of the spark from a worn bushing, crank degrees.
    pub wobble: f64,
}

impl Drive {
    /// A drive in good order.
    pub fn sound(times_spark: bool) -> Self {
        Self { times_spark, play: 0.2, drag: 900.0, drag_spread: 0.3, wobble: 0.02 }
    }
}

/// Where the shaft is in its play.
#[derive(Debug, Clone)]
pub struct Shaft {
    ahead: f64,
    speed: f64,
    load: f64,
    wobble: f64,
    dice: Dice,
}

impl Shaft {
    /// A shaft on its driving flank.
    pub fn new(dice: Dice) -> Self {
        Self { ahead: 0.0, speed: 0.0, load: 0.0, wobble: 0.0, dice }
    }

    /// Follows the crank for `seconds` at this acceleration, rad/s².
    #[inline]
    pub fn follow(&mut self, drive: &Drive, acceleration: f64, seconds: f64) {
        let drag = drive.drag * (1.0 + drive.drag_spread * self.load).max(0.0);
        self.speed -= (acceleration + drag).to_degrees() * seconds;
        self.ahead += self.speed * seconds;
        // A flank takes the speed out of the shaft, nearly all of it.
        if self.ahead <= 0.0 {
            self.ahead = 0.0;
            self.speed = self.speed.max(-0.1 * self.speed);
        } else if self.ahead >= drive.play {
            self.ahead = drive.play;
            self.speed = self.speed.min(-0.1 * self.speed);
        }
    }

    /// How much earlier the spark comes than with the shaft on its driving flank, crank degrees.
    pub fn lead(&mut self, drive: &Drive) -> f64 {
        self.load = 0.6 * self.load + 0.8 * self.dice.normal();
        self.wobble = 0.3 * self.wobble + 0.954 * self.dice.normal();
        self.ahead + drive.wobble * self.wobble
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_shaft_rests_on_the_driving_flank_and_runs_ahead_when_the_crank_falls_back() {
        let drive = Drive { play: 6.0, wobble: 0.0, ..Drive::sound(true) };
        let mut shaft = Shaft::new(Dice::new(1, "drive"));
        for _ in 0..2000 {
            shaft.follow(&drive, 100.0, 1e-4);
        }
        assert_eq!(shaft.lead(&drive), 0.0);
        for _ in 0..2000 {
            shaft.follow(&drive, -5000.0, 1e-4);
        }
        assert_eq!(shaft.lead(&drive), 6.0);
    }
}
