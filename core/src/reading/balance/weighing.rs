//! A weighing under way, cut into pieces that each take little time.
//!
//! *Piece*: the noise of one half, two harmonics of it, its triangle, two cylinders' responses held against
//! each other, or one size of the work. The whole is a hundred pieces for eight cylinders; a handheld does a few at
//! each tick, a desk all at once. The whole at
//! once would keep the instrument from its edges and its screen for a fifth of a second.

use super::cycles::Energies;
use super::matrix::{Column, SIZE, Square};
use super::model::{Equations, HARMONICS, Windows};
use super::size::{Size, likely};
use super::weigh::{Progress, Search};
use crate::job::Job;

#[derive(Debug, Clone, Copy)]
enum Piece {
    Size,
    Noise,
    Harmonic(u32),
    Triangle,
    Pair(usize, usize),
    Search,
}

/// A weighing under way: the energies that it is of, and how far it has come.
#[derive(Debug, Clone)]
pub(super) struct Weighing {
    energies: Energies,
    variance: f32,
    usual_work: f32,
    size: Size,
    /// Of the sums; else of the differences.
    sum: bool,
    piece: Piece,
    /// The noise of this half, and then its triangle.
    noise: Square,
    /// A cylinder's response over the noise.
    answer: Column,
    equations: Equations,
    search: Search,
}

impl Weighing {
    /// Of mean energies with this variance; `usual_work`: what a healthy cylinder usually gives.
    pub(super) fn new(cylinders: usize, energies: &Energies, variance: f32, usual_work: f32) -> Self {
        Self {
            energies: *energies,
            variance,
            usual_work,
            size: Size { work: usual_work, spread: 1.0 },
            sum: true,
            piece: Piece::Size,
            noise: Square::zero(0),
            answer: [0.0; SIZE],
            equations: Equations::new(cylinders),
            search: Search::new(),
        }
    }

    /// One piece more.
    pub(super) fn go_on(&mut self, job: &Job, windows: &Windows) -> Progress {
        let cylinders = usize::from(job.spec().engine.cylinders);
        self.piece = match self.piece {
            Piece::Size => {
                self.size = likely(job, windows, &self.energies, self.usual_work);
                Piece::Noise
            }
            Piece::Noise => {
                let each = windows.noise_each(&self.energies, self.variance);
                self.noise = windows.bare_noise(each, self.sum);
                Piece::Harmonic(1)
            }
            Piece::Harmonic(harmonic) => {
                // Every turn's harmonics are in the sums alone, the others in the differences alone.
                for harmonic in [harmonic, harmonic + 1] {
                    windows.add_common(&mut self.noise, job, self.size.work, self.sum, harmonic);
                }
                if harmonic + 2 <= HARMONICS { Piece::Harmonic(harmonic + 2) } else { Piece::Triangle }
            }
            Piece::Triangle => {
                let Some((lower, _)) = self.noise.clone().factor() else { return Progress::Done(None) };
                self.noise = lower;
                Piece::Pair(0, 0)
            }
            Piece::Pair(cylinder, other) => {
                let half =
                    |index: usize| Some(windows.half_response(job.firing_angle(index as u8 + 1)?, self.sum));
                if other == 0 {
                    let Some(own) = half(cylinder) else { return Progress::Done(None) };
                    self.answer = self.noise.solve_upper(&self.noise.solve_lower(&own));
                    let seen = windows.half(&self.energies, self.sum);
                    self.equations.pull(cylinder, &self.answer, &seen);
                }
                let Some(response) = half(other) else { return Progress::Done(None) };
                self.equations.inform(cylinder, other, &self.answer, &response);
                self.after_pair(cylinder, other, cylinders, windows.two_turns())
            }
            Piece::Search => return self.search.go_on(&self.equations, cylinders, self.size),
        };
        Progress::GoesOn
    }

    fn after_pair(&mut self, cylinder: usize, other: usize, cylinders: usize, two_turns: bool) -> Piece {
        if other < cylinder {
            return Piece::Pair(cylinder, other + 1);
        }
        if cylinder + 1 < cylinders.min(SIZE) {
            return Piece::Pair(cylinder + 1, 0);
        }
        if self.sum && two_turns {
            self.sum = false;
            return Piece::Noise;
        }
        Piece::Search
    }

    /// What is weighed.
    pub(super) const fn energies(&self) -> &Energies {
        &self.energies
    }

    /// The same with other energies, from the beginning.
    pub(super) fn of_others(&self, cylinders: usize, energies: &Energies) -> Self {
        Self::new(cylinders, energies, self.variance, self.usual_work)
    }
}
