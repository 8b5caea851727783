//! How well a reading of a capture of the population could be done at best: what the teeth leave open.
//!
//! *Best*: the linear estimate with the least mean square error (after Gauss and Markov, with priors; from memory). It is
//! told what no instrument knows: which orders the crank swings at and how large each of them is in this very engine, how
//! large the errors of the teeth are, the swings that change from turn to turn, and each tooth's mean time, without
//! jitter. What it does not know is the phases of the swings and the error of each tooth. Where this misses a figure, no
//! work on the decoder will reach it: at a wheel of twelve slots a swing of six in a turn has the same phase at all teeth.
//!
//! The teeth beside the gap of a variable-reluctance wheel, which stand off by any amount, tell nothing.

use crate::edge_source::{Chance, Ripple, Source, Wheel};

const DEGREE: f64 = core::f64::consts::PI / 180.0;
/// Nothing is known of where the wheel stands but what its teeth tell, degrees squared.
const ANYWHERE: f64 = 1e4;

/// By how many degrees the best estimate of an engine's spark at this advance is off, its teeth drawn anew.
pub fn error_at_best(source: &Source, advance: f64, chance: &mut Chance) -> f64 {
    let rpm = source.motion.rpm_at(0.0);
    // Degrees at a crank angle of each swing that repeats with the turn.
    let swings: Vec<(Ripple, f64)> = source
        .motion
        .ripples()
        .iter()
        .filter(|ripple| ripple.order.fract() == 0.0)
        .map(|ripple| (*ripple, source.motion.ripple_part(rpm) * ripple.swing / ripple.order / DEGREE))
        .collect();
    let swing = |angle: f64| -> f64 {
        let at =
            |(ripple, size): &(Ripple, f64)| size * libm::sin(ripple.order * angle * DEGREE + ripple.phase);
        swings.iter().map(at).sum()
    };
    let row = |angle: f64| -> Vec<f64> {
        let waves = swings.iter().flat_map(|(ripple, _)| {
            let (sine, cosine) = libm::sincos(ripple.order * angle * DEGREE);
            [sine, cosine]
        });
        std::iter::once(1.0).chain(waves).collect()
    };
    let mut priors = vec![ANYWHERE];
    priors.extend(swings.iter().flat_map(|(_, size)| [size * size / 2.0; 2]));

    let tooth = source.trigger.tooth_error;
    let mut normal: Vec<Vec<f64>> = vec![vec![0.0; priors.len()]; priors.len()];
    let mut right = vec![0.0; priors.len()];
    for (line, prior) in normal.iter_mut().enumerate().map(|(index, line)| (&mut line[index], priors[index]))
    {
        *line = 1.0 / prior.max(1e-12);
    }
    for angle in teeth(source) {
        let (seen, parts) = (swing(angle) + tooth * chance.normal(), row(angle));
        for (line, part) in parts.iter().enumerate() {
            for (column, other) in parts.iter().enumerate() {
                normal[line][column] += part * other / (tooth * tooth);
            }
            right[line] += part * seen / (tooth * tooth);
        }
    }
    let found = solved(normal, right);
    let told: f64 = row(-advance).iter().zip(&found).map(|(part, size)| part * size).sum();
    (swing(-advance) - told).abs()
}

/// Crank degrees after top dead centre at which what tells something passes.
fn teeth(source: &Source) -> Vec<f64> {
    match &source.trigger.wheel {
        Wheel::Marks(marks) => marks.iter().map(|mark| -mark).collect(),
        Wheel::Teeth { slots, missing, first_btdc } => {
            let count = slots - missing;
            let shifted = source.trigger.end_shift != (0.0, 0.0);
            let inner = |slot: &u8| !shifted || (*slot > 0 && slot + 1 < count);
            let place = |slot: u8| f64::from(slot) * 360.0 / f64::from(*slots) - first_btdc;
            (0..count).filter(inner).map(place).collect()
        }
    }
}

/// The solution of equations whose matrix is symmetric and positive.
fn solved(mut matrix: Vec<Vec<f64>>, mut right: Vec<f64>) -> Vec<f64> {
    let count = right.len();
    for pivot in 0..count {
        let first = matrix[pivot].clone();
        for line in pivot + 1..count {
            let factor = matrix[line][pivot] / first[pivot];
            matrix[line].iter_mut().zip(&first).for_each(|(part, above)| *part -= factor * above);
            right[line] -= factor * right[pivot];
        }
    }
    for line in (0..count).rev() {
        let rest: f64 = (line + 1..count).map(|column| matrix[line][column] * right[column]).sum();
        right[line] = (right[line] - rest) / matrix[line][line];
    }
    right
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::population::{Cell, Kind, Noise, source};

    fn worst(kind: Kind, noise: Noise) -> f64 {
        let mut chance = Chance::new(3);
        let of = |seed| {
            let (source, _, set) = source(Cell { kind, rpm: 700.0, noise }, seed);
            error_at_best(&source, set, &mut chance)
        };
        (0..200).map(of).fold(0.0, f64::max)
    }

    #[test]
    fn equations_are_solved() {
        let matrix = vec![vec![4.0, 1.0, 0.0], vec![1.0, 3.0, 1.0], vec![0.0, 1.0, 2.0]];
        let found = solved(matrix, vec![6.0, 10.0, 8.0]);
        assert!(found.iter().zip([1.0, 2.0, 3.0]).all(|(found, true_one)| (found - true_one).abs() < 1e-12));
    }

    #[test]
    fn many_teeth_leave_little_open_and_few_much() {
        let many = worst(Kind::Wheel(60, 2), Noise::Clean);
        let few = worst(Kind::Wheel(4, 1), Noise::Clean);
        assert!(many < 0.05 && few > 1.0, "{many} {few}");
    }
}
