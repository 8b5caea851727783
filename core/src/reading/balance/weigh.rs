//! Which cylinder is dead, if any: the likelihood of the energies with none, one or two dead.
//!
//! *Lack*: what a cylinder's work is short of, 0 for one like the others, −work for a dead one. *Work*: what
//! a healthy cylinder gives, relative to the energy of the turning crank. Its size is not known beforehand,
//! since neither the flywheel nor the load is: a grid of sizes is gone through, each weighed by how usual it
//! is. Healthy cylinders differ by [`INEQUALITY`] of that same work, so the family of the others tells its
//! size as well: one far out of an even family is dead, one among uneven ones is not.

use super::matrix::{Column, SIZE, Square};
use super::model::Equations;
use super::size::Size;
use crate::statistics::functions::{exponential, natural_log};

/// Sizes of the work that are gone through, and the step from one to the next as a logarithm.
const GRID: usize = 7;
const GRID_STEP: f32 = 0.35;
/// How far a healthy cylinder's work is from the others', part of it, standard deviation.
const INEQUALITY: f32 = 0.09;
/// How likely two dead ones are against one.
const TWO_AGAINST_ONE: f32 = 0.05;
/// Evidence that a cylinder is called dead from, natural logarithm of the likelihood ratio: one engine in
/// thirty has a dead cylinder, so this is where it becomes the likelier.
const CALLED_DEAD: f32 = 3.5;
/// Evidence of engines that can't have one.
const NEVER_DEAD: f32 = -20.0;

/// What the weighing found.
#[derive(Debug, Clone)]
pub(super) struct Finding {
    /// Natural logarithm of the likelihood ratio of some dead cylinder against none.
    pub(super) evidence: f32,
    /// The dead cylinders, or the one most like it, from 0; none called where the evidence is small.
    pub(super) weakest: usize,
    pub(super) second: Option<usize>,
    pub(super) called: bool,
    /// Each cylinder's share of the work, 1 = average.
    pub(super) share: Column,
    /// Work of a healthy cylinder relative to the energy of the turning crank, as weighed.
    pub(super) work: f32,
    /// Logarithm of the likelihood of all this, up to a number that the data alone sets.
    pub(super) likelihood: f32,
}

/// The estimate with one size of the work.
struct Solved {
    /// Estimated lacks if none is dead.
    lacks: Column,
    covariance: Square,
    /// Logarithm of the likelihood if none is dead.
    none_dead: f32,
}

fn solve(equations: &Equations, cylinders: usize, work: f32) -> Option<Solved> {
    let usual = INEQUALITY * work;
    let weight = 1.0 / (usual * usual);
    let mut square = equations.information.clone();
    for index in 0..cylinders {
        square.add(index, index, weight);
    }
    let (lower, log) = square.factor()?;
    let covariance = lower.inverse();
    let lacks = covariance.times(&equations.pull);
    let fit: f32 = lacks.iter().zip(&equations.pull).map(|(a, b)| a * b).sum();
    let none_dead = fit / 2.0 - (log - cylinders as f32 * natural_log(weight)) / 2.0;
    Some(Solved { lacks, covariance, none_dead })
}

impl Solved {
    fn lack(&self, cylinder: usize) -> f32 {
        self.lacks.get(cylinder).copied().unwrap_or(0.0)
    }

    /// Gain of the likelihood's logarithm with these cylinders dead.
    fn gain(&self, work: f32, dead: Dead) -> f32 {
        let tight = 1.0 / (INEQUALITY * INEQUALITY);
        let (mut lack, mut number, mut doubt) = (0.0, 0.0, 0.0);
        for cylinder in dead.into_iter().flatten() {
            lack += self.lack(cylinder);
            number += 1.0;
            doubt += dead.iter().flatten().map(|other| self.covariance.at(cylinder, *other)).sum::<f32>();
        }
        -lack / work * tight - (number - doubt * tight / (work * work)) * tight / 2.0
    }
}

/// A cylinder or two that are dead, or none.
type Dead = [Option<usize>; 2];

/// What a piece of work came to.
pub(super) enum Progress {
    /// More pieces are to come.
    GoesOn,
    /// The last is done: what was found, `None` where the equations say nothing.
    Done(Option<Finding>),
}

/// The best so far of one kind of guess.
#[derive(Debug, Clone, Copy)]
struct Best {
    likelihood: f32,
    work: f32,
    dead: Dead,
}

impl Best {
    const NOTHING: Self = Self { likelihood: f32::MIN, work: 1.0, dead: [None; 2] };

    fn improve(&mut self, likelihood: f32, work: f32, dead: Dead) {
        if likelihood > self.likelihood {
            *self = Self { likelihood, work, dead };
        }
    }
}

/// The search for who is dead, one size of the work at a time: none against one and two dead, each with the
/// size of the work that suits it best.
#[derive(Debug, Clone)]
pub(super) struct Search {
    none: Best,
    one: Best,
    two: Best,
    /// Sizes gone through, first those of the grid, then those about the best.
    steps: usize,
    weights: f32,
    logs: f32,
}

/// Sizes about the best one that its mean is taken over.
const ABOUT_BEST: usize = 3;

impl Search {
    pub(super) const fn new() -> Self {
        let nothing = Best::NOTHING;
        Self { none: nothing, one: nothing, two: nothing, steps: 0, weights: 0.0, logs: 0.0 }
    }

    /// One piece more; `usual`: what a healthy cylinder usually gives. What was found once all is done.
    pub(super) fn go_on(&mut self, equations: &Equations, cylinders: usize, usual: Size) -> Progress {
        let cylinders = cylinders.min(SIZE);
        let step = self.steps;
        self.steps += 1;
        if step < GRID {
            return match self.try_size(equations, cylinders, usual, step) {
                Some(()) => Progress::GoesOn,
                None => Progress::Done(None),
            };
        }
        if step < GRID + ABOUT_BEST {
            return match self.refine(equations, cylinders, usual, step - GRID) {
                Some(()) => Progress::GoesOn,
                None => Progress::Done(None),
            };
        }
        Progress::Done(self.found(equations, cylinders))
    }

    fn try_size(&mut self, equations: &Equations, cylinders: usize, usual: Size, step: usize) -> Option<()> {
        let each = 1.0 / cylinders.max(1) as f32;
        let single_prior = natural_log(each);
        let pair_prior = natural_log(TWO_AGAINST_ONE * 2.0 * each * each);
        let away = (step as f32 - (GRID / 2) as f32) * GRID_STEP;
        let work = usual.work * exponential(away);
        let solved = solve(equations, cylinders, work)?;
        let base = solved.none_dead - unusual(away, usual);
        self.none.improve(base, work, [None; 2]);
        for cylinder in 0..cylinders {
            let gain = solved.gain(work, [Some(cylinder), None]);
            self.one.improve(base + gain + single_prior, work, [Some(cylinder), None]);
            // Two of three, or three of four, are no longer the odd ones.
            for second in (0..cylinder).filter(|_| cylinders > 3) {
                let gain = solved.gain(work, [Some(cylinder), Some(second)]);
                self.two.improve(base + gain + pair_prior, work, [Some(cylinder), Some(second)]);
            }
        }
        Some(())
    }

    fn dead(&self) -> Best {
        if self.two.likelihood > self.one.likelihood { self.two } else { self.one }
    }

    fn evidence(&self, cylinders: usize) -> f32 {
        // Engines of one or two cylinders do not idle with one dead.
        if cylinders > 2 { self.dead().likelihood - self.none.likelihood } else { NEVER_DEAD }
    }

    fn chosen(&self, cylinders: usize) -> Best {
        if self.evidence(cylinders) > CALLED_DEAD { self.dead() } else { self.none }
    }

    /// The size of the work between those of the grid, as a mean weighed by likelihood.
    fn refine(&mut self, equations: &Equations, cylinders: usize, usual: Size, step: usize) -> Option<()> {
        let best = self.chosen(cylinders);
        let away = (step as f32 - 1.0) * GRID_STEP / 2.0;
        let work = best.work * exponential(away);
        let solved = solve(equations, cylinders, work)?;
        let gain = if best.dead == [None; 2] { 0.0 } else { solved.gain(work, best.dead) };
        let likelihood = solved.none_dead + gain - unusual(natural_log(work / usual.work), usual);
        let weight = exponential((likelihood - best.likelihood).clamp(-80.0, 80.0));
        self.weights += weight;
        self.logs += weight * away;
        Some(())
    }

    fn found(&self, equations: &Equations, cylinders: usize) -> Option<Finding> {
        let (dead, chosen) = (self.dead(), self.chosen(cylinders));
        let evidence = self.evidence(cylinders);
        let mean = if self.weights > 0.0 { self.logs / self.weights } else { 0.0 };
        let work = chosen.work * exponential(mean);
        let solved = solve(equations, cylinders, work)?;
        let lack = |cylinder: &Option<usize>| cylinder.map_or(0.0, |cylinder| solved.lack(cylinder));
        let [mut weakest, mut second] = dead.dead;
        if lack(&second) < lack(&weakest) {
            core::mem::swap(&mut weakest, &mut second);
        }
        Some(Finding {
            evidence,
            weakest: weakest.unwrap_or(0),
            second,
            called: evidence > CALLED_DEAD,
            share: shares(&solved, cylinders, work, chosen.dead),
            work,
            likelihood: chosen.likelihood,
        })
    }
}

/// How much less likely a work this far from the usual is, as logarithms.
fn unusual(away: f32, usual: Size) -> f32 {
    let away = away / usual.spread;
    away * away / 2.0
}

/// Shares of the work, given which cylinders are dead.
fn shares(solved: &Solved, cylinders: usize, work: f32, dead: Dead) -> Column {
    let tight = 1.0 / (INEQUALITY * INEQUALITY * work);
    let mut works = [0.0; SIZE];
    for (cylinder, given) in works.iter_mut().enumerate().take(cylinders) {
        let mut lack = solved.lack(cylinder);
        for gone in dead.iter().flatten() {
            lack -= solved.covariance.at(cylinder, *gone) * tight;
        }
        *given = work + lack;
    }
    let mean = works.iter().take(cylinders).sum::<f32>() / cylinders.max(1) as f32;
    works.map(|given| if mean > 0.0 { given / mean } else { 1.0 })
}
