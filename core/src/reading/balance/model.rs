//! What one cylinder's work does to the energy of the crank, and what else is in that energy.
//!
//! *Pulse*: the part of a cylinder's work that is done by a crank angle after its firing top dead centre.
//! *Halves*: half the sum and half the difference of what the same window shows in the two turns of a
//! cycle. An error of the wheel comes every turn, so it is in the sums alone: the differences are free of
//! it. *Common*: what a working engine shows with all cylinders alike, compression above all; where the
//! firing is even it has only multiples of the firing order.
//!
//! Each cylinder alike, a dead one lacks its pulse: the energy falls behind over its stroke, and the load
//! takes the rest of the cycle to take as little from all others.

use super::cycles::{Energies, WINDOWS};
use super::matrix::{Column, SIZE, Square};
use crate::crank::Milestones;
use crate::job::Job;
use crate::statistics::functions::{cosine, sine, square_root};
use crate::units::fraction_of;

/// The pulse runs from firing top dead centre to here, degrees, as 3t² − 2t³. Work of a burn of 60 to 80°
/// from a spark at 10° before top dead centre (Wiebe law, exponents of 1.3), computed: centre 65 to 71°,
/// standard deviation 29°; of this pulse, 67 and 30°.
const PULSE_DEGREES: f32 = 134.0;
/// How far a tooth stands from its place, degrees, standard deviation (0.023° measured on a good wheel,
/// CHECKS 8.1; with the end of the teeth's edges and cheap wheels, assumed).
const TOOTH_ERROR: f32 = 0.06;
/// Amplitude of the wheel's run-out, degrees (assumed).
const RUN_OUT: f32 = 0.15;
/// What the pulse's real shape leaves unexplained, part of what is seen.
const MISFIT: f32 = 0.1;
/// The common part of one cylinder in one harmonic, in parts of the usual work.
const COMMON: f32 = 0.5;
/// Harmonics of a cycle that windows of 30° let through.
pub(super) const HARMONICS: u32 = 24;

/// The balance's equations, the noise brought to 1: what is known of each cylinder's lack.
#[derive(Debug, Clone)]
pub(super) struct Equations {
    /// Information: the inverse of the covariance that the data alone would leave.
    pub(super) information: Square,
    /// Information times the estimate.
    pub(super) pull: Column,
}

impl Equations {
    pub(super) fn new(cylinders: usize) -> Self {
        Self { information: Square::zero(cylinders), pull: [0.0; SIZE] }
    }

    /// Adds what one half says of a cylinder: `answer` is its response over the noise, `seen` what was seen.
    pub(super) fn pull(&mut self, cylinder: usize, answer: &Column, seen: &Column) {
        if let Some(pull) = self.pull.get_mut(cylinder) {
            *pull += dot(answer, seen);
        }
    }

    /// Adds what one half tells of two cylinders together, the second no later than the first.
    pub(super) fn inform(&mut self, cylinder: usize, other: usize, answer: &Column, response: &Column) {
        self.information.add(cylinder, other, dot(answer, response));
    }
}

fn dot(a: &Column, b: &Column) -> f32 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// One half of what a window shows: the sums where `sum`, else the differences.
fn half(energies: &Energies, count: usize, two_turns: bool, sum: bool) -> Column {
    let mut column = [0.0; SIZE];
    for (index, value) in column.iter_mut().enumerate().take(count) {
        let at = |place: usize| energies.get(place).copied().unwrap_or(0.0);
        let first = at(index);
        *value = match (two_turns, sum) {
            (false, _) => first,
            (true, true) => (first + at(index + count)) / 2.0,
            (true, false) => (first - at(index + count)) / 2.0,
        };
    }
    column
}

/// Where the windows are.
pub(super) struct Windows<'a> {
    pub(super) milestones: &'a Milestones,
    /// Degrees from slot 0 to firing top dead centre of cylinder one.
    pub(super) zero: f32,
    pub(super) pitch: f32,
    pub(super) cycle: f32,
}

impl Windows<'_> {
    /// Start and span of window `index` of the cycle, degrees after firing top dead centre of cylinder one.
    fn window(&self, index: usize) -> (f32, f32) {
        let start = self.milestones.pitches(index);
        let span = self.milestones.pitches(index + 1) - start;
        (start as f32 * self.pitch - self.zero, span as f32 * self.pitch)
    }

    pub(super) fn two_turns(&self) -> bool {
        self.cycle > 400.0
    }

    /// The energy that a cylinder's work of 1 brings to each window, when it fires at this angle.
    fn response(&self, fires_at: f32) -> Energies {
        let windows = self.milestones.count() * if self.two_turns() { 2 } else { 1 };
        let mut response = [0.0; WINDOWS];
        for (index, value) in response.iter_mut().enumerate().take(windows) {
            let (start, span) = self.window(index);
            let mut since = start - fires_at;
            while since < 0.0 {
                since += self.cycle;
            }
            while since >= self.cycle {
                since -= self.cycle;
            }
            *value = (self.gathered(since + span) - self.gathered(since)) / span;
        }
        response
    }

    /// The integral of pulse less load from the firing on; the load takes the same from each degree.
    fn gathered(&self, since: f32) -> f32 {
        let within = |angle: f32| {
            let part = (angle / PULSE_DEGREES).min(1.0);
            let pulse = PULSE_DEGREES * part * part * part * (1.0 - part / 2.0);
            pulse + (angle - PULSE_DEGREES).max(0.0) - angle * angle / (2.0 * self.cycle)
        };
        if since > self.cycle { within(self.cycle) + within(since - self.cycle) } else { within(since) }
    }

    /// Adds a harmonic of the cycle, in any phase, to the noise of one half.
    fn add_harmonic(&self, noise: &mut Square, count: usize, harmonic: u32, variance: f32) {
        let per_degree = harmonic as f32 * 360.0 / self.cycle;
        let (mut cosines, mut sines) = ([0.0; SIZE], [0.0; SIZE]);
        for (index, (along, across)) in cosines.iter_mut().zip(sines.iter_mut()).enumerate().take(count) {
            let (start, span) = self.window(index);
            let phase = |degrees: f32| fraction_of(degrees * per_degree) as i32;
            let (from, to) = (phase(start), phase(start + span));
            let width = (span * per_degree).to_radians();
            *along = (sine(to) - sine(from)) / width;
            *across = (cosine(from) - cosine(to)) / width;
        }
        noise.add_outer(&cosines, variance);
        noise.add_outer(&sines, variance);
    }

    /// What else is in the sums or the differences, without what the cylinders have in common.
    pub(super) fn bare_noise(&self, variance: f32, sum: bool) -> Square {
        let count = self.milestones.count();
        let mut noise = Square::zero(count);
        for index in 0..count {
            noise.add(index, index, variance);
        }
        let ones = core::array::from_fn(|index| if index < count { 1.0 } else { 0.0 });
        if sum {
            noise.add_outer(&ones, 0.05);
            self.add_wheel_error(&mut noise, count);
        }
        noise
    }

    /// Adds what the cylinders have in common in one harmonic of the cycle, 1 to [`HARMONICS`].
    pub(super) fn add_common(
        &self,
        noise: &mut Square,
        job: &Job,
        usual_work: f32,
        sum: bool,
        harmonic: u32,
    ) {
        let every_turn = !self.two_turns() || harmonic.is_multiple_of(2);
        if every_turn != sum {
            return;
        }
        let common = firing_sum(job, harmonic) * COMMON * usual_work;
        let order = harmonic as f32 * 360.0 / self.cycle;
        let run_out = if order == 1.0 { 2.0 * RUN_OUT.to_radians() } else { 0.0 };
        let variance = common * common + run_out * run_out;
        if variance > 1e-7 {
            self.add_harmonic(noise, self.milestones.count(), harmonic, variance);
        }
    }

    /// Amplitude of a harmonic of the cycle in what was seen.
    pub(super) fn swing(&self, energies: &Energies, harmonic: u32) -> f32 {
        let per_degree = harmonic as f32 * 360.0 / self.cycle;
        let windows = self.milestones.count() * if self.two_turns() { 2 } else { 1 };
        let (mut along, mut across, mut seen) = (0.0, 0.0, 0.0);
        for (index, energy) in energies.iter().enumerate().take(windows) {
            let (start, span) = self.window(index);
            let middle = fraction_of((start + span / 2.0) * per_degree) as i32;
            let half = (span * per_degree / 2.0).to_radians();
            along += energy * span * cosine(middle);
            across += energy * span * sine(middle);
            // A window is the mean of what is in it: of a fast swing little is left, the sine of half its width over
            // that, as a series.
            let square = half * half / 6.0;
            seen += span * (1.0 - square * (1.0 - square * 0.3));
        }
        if seen > 0.0 { 2.0 * square_root(along * along + across * across) / seen } else { 0.0 }
    }

    fn add_wheel_error(&self, noise: &mut Square, count: usize) {
        for index in 0..count {
            let next = (index + 1) % count;
            let (here, there) =
                (2.0 * TOOTH_ERROR / self.window(index).1, 2.0 * TOOTH_ERROR / self.window(next).1);
            noise.add(index, index, here * here);
            noise.add(next, next, there * there);
            noise.add(index.max(next), index.min(next), -here * there);
        }
    }

    /// The noise of one window beside all that repeats, from the variance of a mean energy.
    pub(super) fn noise_each(&self, energies: &Energies, variance: f32) -> f32 {
        let count = self.milestones.count();
        let mean_square = |column: &Column| column.iter().map(|x| x * x).sum::<f32>() / count as f32;
        let unexplained = if self.two_turns() {
            mean_square(&self.half(energies, false))
        } else {
            mean_square(&self.half(energies, true)) / 4.0
        };
        variance + MISFIT * MISFIT * unexplained + 1e-7
    }

    /// The sums or the differences of what was seen.
    pub(super) fn half(&self, energies: &Energies, sum: bool) -> Column {
        half(energies, self.milestones.count(), self.two_turns() || !sum, sum)
    }

    /// The same of what a cylinder's work of 1 brings, when it fires at this angle.
    pub(super) fn half_response(&self, fires_at: f32, sum: bool) -> Column {
        half(&self.response(fires_at), self.milestones.count(), self.two_turns(), sum)
    }
}

/// How much the cylinders, all alike, give to a harmonic of the cycle: as many as there are where they
/// fire in its step, 0 where they cancel.
pub(super) fn firing_sum(job: &Job, harmonic: u32) -> f32 {
    let (mut along, mut across) = (0.0, 0.0);
    for cylinder in 1..=job.spec().engine.cylinders {
        let degrees =
            job.firing_angle(cylinder).unwrap_or(0.0) * harmonic as f32 * 360.0 / job.cycle_degrees();
        let phase = fraction_of(degrees) as i32;
        along += cosine(phase);
        across += sine(phase);
    }
    square_root(along * along + across * across)
}
