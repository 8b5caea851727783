//! Which cylinder is dead, if any: the likelihood of the energies with none, one or two dead.
//!
//! *Lack*: what a cylinder's work is short of, 0 for one like the others, −work for a dead one. *Work*: what
//! a healthy cylinder gives, relative to the energy of the turning crank. Its size is not known beforehand,
//! since neither the flywheel nor the load is: a grid of sizes is gone through, each weighed by how usual it
//! is. Healthy cylinders differ by [`INEQUALITY`] of that same work, so the family of the others tells its
//! size as well: one far out of an even family is dead, one among uneven ones is not.

use super::matrix::{Column, SIZE, Square};
use super::model::Equations;
use crate::statistics::functions::{exponential, natural_log};

/// Sizes of the work that are gone through, and the step from one to the next as a logarithm.
const GRID: usize = 7;
const GRID_STEP: f32 = 0.35;
/// Standard deviation of the logarithm of the usual work.
const WORK_SPREAD: f32 = 0.45;
/// How far a healthy cylinder's work is from the others', part of it, standard deviation.
const INEQUALITY: f32 = 0.09;
/// How likely two dead ones are against one.
const TWO_AGAINST_ONE: f32 = 0.05;
/// Evidence that a cylinder is called dead from, natural logarithm of the likelihood ratio.
const CALLED_DEAD: f32 = 5.5;

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
    fn gain(&self, work: f32, dead: usize, second: Option<usize>) -> f32 {
        let tight = 1.0 / (INEQUALITY * INEQUALITY);
        let per_work = 1.0 / (INEQUALITY * work * INEQUALITY * work);
        let mut lack = self.lack(dead);
        let mut number = 1.0;
        let mut doubt = self.covariance.at(dead, dead);
        if let Some(second) = second {
            lack += self.lack(second);
            number += 1.0;
            doubt += self.covariance.at(second, second) + 2.0 * self.covariance.at(dead, second);
        }
        -lack / work * tight - (number - doubt * per_work) * tight / 2.0
    }
}

/// Weighs none against one and two dead. `usual_work`: what a healthy cylinder usually gives.
pub(super) fn weigh(equations: &Equations, cylinders: usize, usual_work: f32) -> Option<Finding> {
    let cylinders = cylinders.min(SIZE);
    let works: [f32; GRID] =
        core::array::from_fn(|index| usual_work * exponential((index as f32 - 3.0) * GRID_STEP));
    let mut none = [f32::MIN; GRID];
    let mut one = [[f32::MIN; GRID]; SIZE];
    let mut two = [[f32::MIN; GRID]; SIZE];
    let deepest = deepest(&solve(equations, cylinders, usual_work)?, cylinders);
    for (index, work) in works.iter().enumerate() {
        let solved = solve(equations, cylinders, *work)?;
        let away = (index as f32 - 3.0) * GRID_STEP / WORK_SPREAD;
        let base = solved.none_dead - away * away / 2.0;
        if let Some(cell) = none.get_mut(index) {
            *cell = base;
        }
        for cylinder in 0..cylinders {
            if let Some(cell) = one.get_mut(cylinder).and_then(|row| row.get_mut(index)) {
                *cell = base + solved.gain(*work, cylinder, None);
            }
            if cylinder != deepest
                && cylinders > 3
                && let Some(cell) = two.get_mut(cylinder).and_then(|row| row.get_mut(index))
            {
                *cell = base + solved.gain(*work, deepest, Some(cylinder));
            }
        }
    }
    let against = total(&none);
    let each = 1.0 / cylinders.max(1) as f32;
    let single: Column = core::array::from_fn(|index| one.get(index).map_or(f32::MIN, |row| total(row)));
    let pair: Column = core::array::from_fn(|index| two.get(index).map_or(f32::MIN, |row| total(row)));
    let pair_prior = natural_log(TWO_AGAINST_ONE * 2.0 * each);
    let (weakest, alone) = highest(&single);
    let (partner, together) = highest(&pair);
    let is_pair = together + pair_prior > alone + natural_log(each);
    let evidence = sum_of(&single, natural_log(each), &pair, pair_prior) - against;
    let called = evidence > CALLED_DEAD && cylinders > 2;
    let (weakest, second) = if is_pair { (deepest, Some(partner)) } else { (weakest, None) };
    let chosen = match (called, is_pair) {
        (false, _) => &none,
        (true, false) => one.get(weakest)?,
        (true, true) => two.get(partner)?,
    };
    let top = chosen.iter().copied().fold(f32::MIN, f32::max);
    let weights: [f32; GRID] = core::array::from_fn(|index| {
        exponential((chosen.get(index).copied().unwrap_or(f32::MIN) - top).max(-80.0))
    });
    let all: f32 = weights.iter().sum();
    let work = works.iter().zip(&weights).map(|(work, weight)| work * weight).sum::<f32>() / all;
    let dead = if called { [Some(weakest), second] } else { [None, None] };
    let share = shares(&solve(equations, cylinders, work)?, cylinders, work, dead);
    Some(Finding { evidence, weakest, second, called, share })
}

fn deepest(solved: &Solved, cylinders: usize) -> usize {
    let mut deepest = 0;
    for cylinder in 1..cylinders {
        if solved.lack(cylinder) < solved.lack(deepest) {
            deepest = cylinder;
        }
    }
    deepest
}

/// Logarithm of the sum of likelihoods given by their logarithms.
fn total(logs: &[f32]) -> f32 {
    let top = logs.iter().copied().fold(f32::MIN, f32::max);
    if top == f32::MIN {
        return top;
    }
    top + natural_log(logs.iter().map(|log| exponential((log - top).max(-80.0))).sum())
}

fn sum_of(single: &Column, single_prior: f32, pair: &Column, pair_prior: f32) -> f32 {
    total(&[total(single) + single_prior, total(pair) + pair_prior])
}

fn highest(column: &Column) -> (usize, f32) {
    column
        .iter()
        .copied()
        .enumerate()
        .fold((0, f32::MIN), |best, (index, value)| if value > best.1 { (index, value) } else { best })
}

/// Shares of the work, given which cylinders are dead.
fn shares(solved: &Solved, cylinders: usize, work: f32, dead: [Option<usize>; 2]) -> Column {
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
