//! How a tooth becomes an edge: the law of each kind of sensor.
//!
//! *Good edge*: the one that times the tooth. *Bad edge*: the other one. A variable-reluctance sensor
//! has its good edge where the voltage goes through zero with the tooth centred, its bad edge
//! somewhere in the slot; in the gap the bad edge falls near the middle. Read on the wrong edge, a
//! 60-2 wheel so shows two intervals of 1.65 to 2.4 pitches and never one of 3. Hall and optical
//! sensors show both flanks of the tooth equally well.
//!
//! The teeth beside the gap come out of place on a real wheel: the first after it late, the last
//! before it early, so that the gap measures 3.08 to 3.36 pitches instead of 3 (measured, CHECKS 8.1).

/// The kind of crank sensor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Sensor {
    /// Variable reluctance, timed at the zero crossing; silent below a speed at which it does not arm.
    ZeroCrossing {
        /// Too slow to arm below this, rpm.
        arms_at_rpm: f64,
    },
    /// Variable reluctance, timed where the voltage passes a fixed threshold ahead of the tooth's
    /// centre: the angle moves with the amplitude, and that with speed.
    Threshold {
        /// Speed at which the amplitude just reaches the threshold, rpm.
        reaches_at_rpm: f64,
    },
    /// Hall effect: both flanks of the tooth.
    Hall,
    /// A light barrier: both flanks of the tooth.
    Optical,
}

impl Sensor {
    /// Whether the good edge is a zero crossing or threshold of a coil's voltage.
    pub fn is_variable_reluctance(self) -> bool {
        matches!(self, Self::ZeroCrossing { .. } | Self::Threshold { .. })
    }

    /// Whether the signal is strong enough at this speed.
    pub fn sees(self, rpm: f64) -> bool {
        match self {
            Self::ZeroCrossing { arms_at_rpm } => rpm >= arms_at_rpm,
            Self::Threshold { reaches_at_rpm } => rpm > 1.02 * reaches_at_rpm,
            Self::Hall | Self::Optical => true,
        }
    }

    /// How much earlier than the tooth's centre the good edge comes at this speed, in pitches.
    pub fn early_pitches(self, rpm: f64) -> f64 {
        match self {
            Self::Threshold { reaches_at_rpm } => {
                (reaches_at_rpm / rpm).clamp(0.0, 1.0).asin() / std::f64::consts::TAU
            }
            Self::ZeroCrossing { .. } | Self::Hall | Self::Optical => 0.0,
        }
    }
}

/// How the teeth beside the gap come out of place: the switch "law of the end teeth".
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum EndTeeth {
    /// In their place, as with Hall and optical sensors.
    #[default]
    InPlace,
    /// Out of place by more as the speed grows: 0.08 pitch of gap at 500 rpm, 0.33 at 2400.
    GrowingWithSpeed,
    /// Out of place by 0.2 pitch of gap at any speed, all of it on the first tooth.
    Constant,
}

impl EndTeeth {
    /// Pitches by which the first tooth after the gap comes late and the last before it early.
    pub fn shifts(self, rpm: f64) -> (f64, f64) {
        match self {
            Self::InPlace => (0.0, 0.0),
            Self::GrowingWithSpeed => {
                let widening = (0.02 + 0.13 * rpm / 1000.0).min(0.36);
                (0.62 * widening, 0.38 * widening)
            }
            Self::Constant => (0.2, 0.0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Measured on a real 60-2 wheel (CHECKS 8.1 and 9.1): gap ratio 3.08 motored at 540 rpm, 3.36
    /// coasting at 2400 rpm, where the first tooth is 1.31° late and the last 0.7 to 1.15° early.
    #[test]
    fn the_end_teeth_move_as_far_as_on_the_measured_wheel() {
        let at = |rpm| EndTeeth::GrowingWithSpeed.shifts(rpm);
        let (first, last) = at(540.0);
        assert!((3.0 + first + last - 3.08).abs() < 0.02, "{}", 3.0 + first + last);
        let (first, last) = at(2400.0);
        assert!((3.0 + first + last - 3.36).abs() < 0.04, "{}", 3.0 + first + last);
        assert!((first * 6.0 - 1.31).abs() < 0.1, "{}", first * 6.0);
        assert!((0.7..=1.15).contains(&(last * 6.0)), "{}", last * 6.0);
    }

    #[test]
    fn a_fixed_threshold_moves_the_edge_with_speed_but_not_in_proportion() {
        let sensor = Sensor::Threshold { reaches_at_rpm: 150.0 };
        let early = |rpm| sensor.early_pitches(rpm);
        assert!(early(400.0) > early(800.0) && early(800.0) > early(6000.0));
        assert!(!sensor.sees(120.0) && sensor.sees(200.0));
    }
}
