//! The crank's angle at every moment.
//!
//! *Course*: the speed without ripple, straight from point to point in time, plus a slow wander. *Ripple*:
//! a swing of the speed that stands still on the crank, so many times a turn. Angles are crank degrees
//! that grow without end; top dead centre of cylinder one's firing is at every multiple of the cycle.
//!
//! With b the angle of the course, the crank is at b + g Σ (swing / order) sin(order b + phase): its speed
//! then swings by that part. The factor g falls in proportion to speed, as between the motored and the
//! unloaded recordings of a single-cylinder engine (12 to 18 % at 550 rpm, 2.7 % at 3170: CHECKS.md 7.3); it
//! is 0.94 at 800 rpm and 1.3 at 400.

use super::Chance;

const DEGREE: f64 = core::f64::consts::PI / 180.0;

/// A swing of the speed, locked to the crank.
#[derive(Debug, Clone, Copy)]
pub struct Ripple {
    /// Swings a turn; may be a half.
    pub order: f64,
    /// Half the swing, as a part of the mean speed, at 800 rpm.
    pub swing: f64,
    /// Radians.
    pub phase: f64,
}

#[derive(Debug, Clone, Copy)]
struct Point {
    seconds: f64,
    rpm: f64,
    degrees: f64,
}

#[derive(Debug, Clone, Copy)]
struct Wave {
    rpm: f64,
    hertz: f64,
    phase: f64,
}

/// How the crank turns.
#[derive(Debug, Clone)]
pub struct Motion {
    points: Vec<Point>,
    waves: Vec<Wave>,
    ripples: Vec<Ripple>,
    ripple_falls: bool,
}

impl Motion {
    /// The speed through these points (seconds, rpm), from this angle at time zero. Steady before the
    /// first point and after the last.
    pub fn through(points: &[(f64, f64)], start_degrees: f64) -> Self {
        let mut course: Vec<Point> = Vec::new();
        for (seconds, rpm) in points {
            let degrees = match course.last() {
                Some(last) => last.degrees + 3.0 * (last.rpm + rpm) * (seconds - last.seconds),
                None => start_degrees + 6.0 * rpm * seconds,
            };
            course.push(Point { seconds: *seconds, rpm: *rpm, degrees });
        }
        Self { points: course, waves: Vec::new(), ripples: Vec::new(), ripple_falls: true }
    }

    /// One speed.
    pub fn steady(rpm: f64, start_degrees: f64) -> Self {
        Self::through(&[(0.0, rpm)], start_degrees)
    }

    /// Adds a slow wander of about this many rpm (standard deviation) between 0.1 and 0.8 Hz.
    pub fn wandering(mut self, rpm: f64, chance: &mut Chance) -> Self {
        for (low, high) in [(0.1, 0.25), (0.25, 0.5), (0.5, 0.8)] {
            self.waves.push(Wave {
                rpm: rpm * libm::sqrt(2.0 / 3.0),
                hertz: chance.between(low, high),
                phase: chance.between(0.0, core::f64::consts::TAU),
            });
        }
        self
    }

    /// Adds these ripples.
    pub fn rippled(mut self, ripples: &[Ripple]) -> Self {
        self.ripples.extend_from_slice(ripples);
        self
    }

    /// The ripple of an engine with so many firings a turn, in random phases: the firing order with two
    /// harmonics and the half orders of cylinders that work unequally. `rough` is 1 for a four that swings
    /// from 710 to 860 rpm at idle (published in "Doing the Twist"); at equal torque and inertia a swing
    /// falls with its order.
    pub fn rough(self, firings: f64, rough: f64, chance: &mut Chance) -> Self {
        let firing = rough * 0.094 * 2.0 / firings;
        let parts = [
            (firings, firing),
            (firings * 2.0, firing * 0.3),
            (firings * 3.0, firing * 0.1),
            (0.5, rough * 0.008),
            (1.0, rough * 0.006),
            (1.5, rough * 0.004),
        ];
        let ripples: Vec<Ripple> = parts
            .iter()
            .map(|(order, swing)| Ripple {
                order: *order,
                swing: *swing,
                phase: chance.between(0.0, core::f64::consts::TAU),
            })
            .collect();
        self.rippled(&ripples)
    }

    /// A starter motor's turning: the ripple keeps its size whatever the speed.
    pub fn cranking(mut self) -> Self {
        self.ripple_falls = false;
        self
    }

    /// The swings that stand still on the crank.
    pub fn ripples(&self) -> &[Ripple] {
        &self.ripples
    }

    /// The speed without ripple.
    pub fn rpm_at(&self, seconds: f64) -> f64 {
        let wander: f64 = self
            .waves
            .iter()
            .map(|wave| wave.rpm * libm::cos(core::f64::consts::TAU * wave.hertz * seconds + wave.phase))
            .sum();
        self.course(seconds).0 + wander
    }

    /// Where the crank is.
    pub fn degrees_at(&self, seconds: f64) -> f64 {
        self.angle_and_speed(seconds).0
    }

    /// When the crank is at this angle, looked for from a moment nearby; exact to 1e-9 degrees.
    pub fn seconds_at(&self, degrees: f64, near: f64) -> f64 {
        let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
        let mut seconds = near;
        for _ in 0..100 {
            let (angle, speed) = self.angle_and_speed(seconds);
            let ahead = angle - degrees;
            if ahead.abs() < 1e-9 {
                break;
            }
            if ahead > 0.0 {
                high = seconds
            } else {
                low = seconds
            }
            let step = seconds - ahead / speed.max(60.0);
            let bracketed = low.is_finite() && high.is_finite();
            seconds = if bracketed && !(low < step && step < high) { (low + high) / 2.0 } else { step };
        }
        seconds
    }

    /// Degrees, and degrees a second but for the slow change of the ripple's size.
    fn angle_and_speed(&self, seconds: f64) -> (f64, f64) {
        let (course_rpm, mut base) = self.course(seconds);
        let mut rpm = course_rpm;
        for wave in &self.waves {
            let turn = core::f64::consts::TAU * wave.hertz;
            let (sine, cosine) = libm::sincos(turn * seconds + wave.phase);
            base += 6.0 * wave.rpm / turn * (sine - libm::sin(wave.phase));
            rpm += wave.rpm * cosine;
        }
        let (mut angle, mut speed) = (0.0, 0.0);
        for ripple in &self.ripples {
            let (sine, cosine) = libm::sincos(ripple.order * (base % 720.0) * DEGREE + ripple.phase);
            angle += ripple.swing / ripple.order / DEGREE * sine;
            speed += ripple.swing * cosine;
        }
        let part = self.ripple_part(course_rpm);
        (base + part * angle, 6.0 * rpm * (1.0 + part * speed))
    }

    /// By what part of their size at 800 rpm the ripples swing the crank at this speed.
    pub fn ripple_part(&self, rpm: f64) -> f64 {
        if !self.ripple_falls {
            return 1.0;
        }
        let (squared, full) = (rpm * rpm / 640_000.0, 1.0 / (1.4 * 1.4));
        1.0 / libm::sqrt(libm::sqrt(squared * squared + full * full))
    }

    /// Speed and angle of the course.
    fn course(&self, seconds: f64) -> (f64, f64) {
        let next = self.points.iter().position(|point| point.seconds > seconds);
        let steady = |point: &Point| (point.rpm, point.degrees + 6.0 * point.rpm * (seconds - point.seconds));
        match next {
            None => steady(self.points.last().expect("a motion has a point")),
            Some(0) => steady(&self.points[0]),
            Some(index) => {
                let (from, to) = (&self.points[index - 1], &self.points[index]);
                let since = seconds - from.seconds;
                let per_second = (to.rpm - from.rpm) / (to.seconds - from.seconds);
                let rpm = from.rpm + per_second * since;
                (rpm, from.degrees + 3.0 * (from.rpm + rpm) * since)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_moment_of_an_angle_is_found_to_a_millionth_of_a_degree() {
        let mut chance = Chance::new(3);
        let blip = [(0.0, 700.0), (1.0, 700.0), (1.7, 3000.0), (2.4, 700.0)];
        let motion = Motion::through(&blip, 123.0).wandering(12.0, &mut chance).rough(2.0, 1.0, &mut chance);
        let starter =
            Motion::steady(150.0, 0.0).rippled(&[Ripple { order: 4.0, swing: 0.47, phase: 1.0 }]).cranking();
        for motion in [motion, starter] {
            let mut near = 0.0;
            for step in 0..4000 {
                let degrees = motion.degrees_at(0.0) + f64::from(step) * 1.7;
                near = motion.seconds_at(degrees, near);
                assert!((motion.degrees_at(near) - degrees).abs() < 1e-6, "at {degrees}");
            }
        }
    }

    #[test]
    fn the_angle_is_the_sum_of_the_speed() {
        let mut chance = Chance::new(4);
        let motion = Motion::through(&[(0.0, 700.0), (1.0, 3000.0)], 0.0).wandering(10.0, &mut chance);
        let steps = 100_000;
        let summed: f64 = (0..steps)
            .map(|step| 6.0 * motion.rpm_at(1.5 * (f64::from(step) + 0.5) / f64::from(steps)) * 1.5)
            .sum::<f64>()
            / f64::from(steps);
        assert!((summed - motion.degrees_at(1.5)).abs() < 1e-4);
    }

    #[test]
    fn a_rough_four_swings_from_about_710_to_860_rpm() {
        // Published in "Doing the Twist": 710 to 860 rpm within a turn at a mean of 800.
        let swing = 0.094;
        let motion = Motion::steady(800.0, 0.0).rippled(&[Ripple { order: 2.0, swing, phase: 0.0 }]);
        let speeds: Vec<f64> = (0..1000)
            .map(|step| {
                let at = f64::from(step) * 75e-6;
                (motion.degrees_at(at + 1e-6) - motion.degrees_at(at - 1e-6)) / 12e-6
            })
            .collect();
        let low = speeds.iter().copied().fold(f64::INFINITY, f64::min);
        let high = speeds.iter().copied().fold(0.0, f64::max);
        assert!((high - low - 150.0).abs() < 10.0, "{low} to {high}");
    }
}
