//! Crank speed from the torque balance over the angle.
//!
//! *Energy*: ½·J·ω² of everything that turns or goes up and down with the crank. Over a step of angle
//! the energy grows by torque times angle, exactly; the speed follows from it. With the reciprocating
//! masses inside J(θ) the inertia torque −½·J′(θ)·ω² needs no term of its own.
//!
//! Inside a step the acceleration is taken as constant, so that the moment at which any angle is
//! passed, and the angle at any moment, have a closed form: an edge is not placed on the grid.

/// One step of the crank: between two angles, two moments and two speeds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Where it starts, degrees on the running angle.
    pub angle: f64,
    /// How far it goes, degrees.
    pub width: f64,
    /// When it starts, s.
    pub time: f64,
    /// How long it takes, s.
    pub lasts: f64,
    /// Speed at its start, rad/s.
    pub speed: f64,
    /// Speed at its end, rad/s.
    pub end_speed: f64,
}

impl Step {
    /// A step from `speed` to `end_speed` (rad/s, both above zero) over `width` degrees.
    pub fn new(angle: f64, width: f64, time: f64, speed: f64, end_speed: f64) -> Self {
        let lasts = 2.0 * width.to_radians() / (speed + end_speed);
        Self { angle, width, time, lasts, speed, end_speed }
    }

    /// The moment at which `angle` is passed, s; the angle should lie within the step.
    pub fn time_at(&self, angle: f64) -> f64 {
        let gone = angle - self.angle;
        let squares = self.end_speed * self.end_speed - self.speed * self.speed;
        let there = (self.speed * self.speed + squares * gone / self.width).max(0.0).sqrt();
        self.time + 2.0 * gone.to_radians() / (self.speed + there)
    }

    /// The angle at a moment, degrees; the moment should lie within the step.
    pub fn angle_at(&self, time: f64) -> f64 {
        let gone = time - self.time;
        self.angle + (self.speed * gone + 0.5 * self.acceleration() * gone * gone).to_degrees()
    }

    /// Acceleration, rad/s².
    pub fn acceleration(&self) -> f64 {
        (self.end_speed - self.speed) / self.lasts
    }

    /// Angle at the end, degrees.
    pub fn end_angle(&self) -> f64 {
        self.angle + self.width
    }

    /// The moment of the end, s.
    pub fn end_time(&self) -> f64 {
        self.time + self.lasts
    }
}

/// Speed after a step, rad/s: `torque` is the mean over the step, N·m; 0 where the energy runs out.
pub fn speed_after(speed: f64, inertia: f64, end_inertia: f64, torque: f64, width: f64) -> f64 {
    let energy = 0.5 * inertia * speed * speed + torque * width.to_radians();
    if energy > 0.0 { (2.0 * energy / end_inertia).sqrt() } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Statement: adapala-academy.com, turning-moment exercise (CHECKS 7.2): T = 25 − 7.5 sin 3θ kN·m,
    /// load 25 + 3.6 sin θ kN·m, I = 360 kg·m², 450 rpm. Answers computed: 12.2 kJ, 1.526 % to first order.
    #[test]
    fn the_flywheel_exercise_gives_its_fluctuation() {
        let mean = 450.0 * std::f64::consts::TAU / 60.0;
        let mut speed = mean;
        let (mut least, mut most) = (speed, speed);
        let mut energies = Vec::new();
        for degree in 0..360 {
            let torque = |degrees: f64| {
                let angle = degrees.to_radians();
                -7500.0 * (3.0 * angle).sin() - 3600.0 * angle.sin()
            };
            let here = f64::from(degree);
            let average = 0.5 * (torque(here) + torque(here + 1.0));
            speed = speed_after(speed, 360.0, 360.0, average, 1.0);
            least = least.min(speed);
            most = most.max(speed);
            energies.push(0.5 * 360.0 * speed * speed);
        }
        let largest = energies.iter().copied().fold(f64::MIN, f64::max);
        let smallest = energies.iter().copied().fold(f64::MAX, f64::min);
        assert!(((largest - smallest) / 12_200.0 - 1.0).abs() < 1e-3, "{}", largest - smallest);
        // The start is at the top of the swing, so the mean of the turn lies half a swing lower.
        assert!(((most - least) / mean - 0.01526).abs() < 2e-4, "{}", (most - least) / mean);
        assert!((speed - mean).abs() < 1e-6, "a turn without net work gives the speed back");
    }

    #[test]
    fn a_moment_and_its_angle_belong_together() {
        let step = Step::new(100.0, 1.0, 2.0, 80.0, 83.0);
        for angle in [100.0, 100.1, 100.5, 100.999] {
            assert!((step.angle_at(step.time_at(angle)) - angle).abs() < 1e-9);
        }
        assert!((step.time_at(101.0) - step.end_time()).abs() < 1e-15);
    }
}
