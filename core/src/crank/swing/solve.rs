//! Least squares with a prior: a small symmetric system, its answer and the doubt of it.

/// The most unknowns: five orders of two waves, an offset, and the two teeth beside the gap.
pub(super) const UNKNOWNS: usize = 2 * super::orders::ORDERS + 3;

/// One number for each unknown.
pub(super) type Row = [f32; UNKNOWNS];

/// The sums of a least-squares fit, then their triangular root.
pub(super) struct System {
    size: usize,
    matrix: [Row; UNKNOWNS],
    likely: Row,
    right: Row,
    squares: f32,
    rows: u8,
}

impl System {
    /// No observation yet; each unknown is likely to be of this size, in units of an observation's error.
    pub(super) fn new(likely: &Row, size: usize) -> Self {
        let mut matrix = [[0.0; UNKNOWNS]; UNKNOWNS];
        for (index, (row, likely)) in matrix.iter_mut().zip(likely).enumerate() {
            if let Some(cell) = row.get_mut(index) {
                *cell = 1.0 / (likely * likely).max(1e-9);
            }
        }
        Self {
            size: size.min(UNKNOWNS),
            matrix,
            likely: *likely,
            right: [0.0; UNKNOWNS],
            squares: 0.0,
            rows: 0,
        }
    }

    /// An observation: what it is of each unknown, and its value, in units of its error.
    pub(super) fn add(&mut self, row: &Row, value: f32) {
        let used = row.iter().take(self.size);
        for (index, (part, right)) in used.clone().zip(&mut self.right).enumerate() {
            // A shift is no part of most observations.
            if *part == 0.0 {
                continue;
            }
            *right += part * value;
            if let Some(line) = self.matrix.get_mut(index) {
                for (cell, other) in line.iter_mut().zip(used.clone()).take(index + 1) {
                    *cell += part * other;
                }
            }
        }
        self.squares += value * value;
        self.rows = self.rows.saturating_add(1);
    }

    /// Turns the sums into their triangular root (Cholesky). `None` where they have none.
    pub(super) fn rooted(mut self) -> Option<Self> {
        for i in 0..self.size {
            for j in 0..=i {
                let (line, upper) = (*self.matrix.get(i)?, *self.matrix.get(j)?);
                let before: f32 = line.iter().zip(&upper).take(j).map(|(a, b)| a * b).sum();
                let rest = line.get(j)? - before;
                let cell = self.matrix.get_mut(i)?.get_mut(j)?;
                if i == j {
                    if rest <= 0.0 {
                        return None;
                    }
                    *cell = libm::sqrtf(rest);
                } else {
                    *cell = rest / upper.get(j)?;
                }
            }
        }
        Some(self)
    }

    /// The first half of solving: the root against this right side.
    fn forward(&self, right: &Row) -> Row {
        let mut out = [0.0; UNKNOWNS];
        for (i, line) in self.matrix.iter().enumerate().take(self.size) {
            let before: f32 = line.iter().zip(&out).take(i).map(|(a, b)| a * b).sum();
            let value = (right.get(i).unwrap_or(&0.0) - before) / line.get(i).unwrap_or(&1.0);
            if let Some(cell) = out.get_mut(i) {
                *cell = value;
            }
        }
        out
    }

    /// The unknowns of a right side; of a single unknown's own, its variance is among them.
    pub(super) fn solved(&self, right: &Row) -> Row {
        let half = self.forward(right);
        let mut out = [0.0; UNKNOWNS];
        for i in (0..self.size).rev() {
            let below = self.matrix.iter().zip(&out).take(self.size).skip(i + 1);
            let after: f32 = below.map(|(line, value)| line.get(i).unwrap_or(&0.0) * value).sum();
            let pivot = self.matrix.get(i).and_then(|line| line.get(i)).unwrap_or(&1.0);
            let value = (half.get(i).unwrap_or(&0.0) - after) / pivot;
            if let Some(cell) = out.get_mut(i) {
                *cell = value;
            }
        }
        out
    }

    /// The unknowns of the observations.
    pub(super) fn answer(&self) -> Row {
        self.solved(&self.right)
    }

    /// The squares that an answer leaves of the observations, in squares of their error.
    pub(super) fn left(&self, answer: &Row) -> f32 {
        let explained: f32 = self.right.iter().zip(answer).map(|(right, value)| right * value).sum();
        let pulled = answer.iter().zip(&self.likely).take(self.size);
        let pull: f32 = pulled.map(|(value, likely)| value * value / (likely * likely).max(1e-9)).sum();
        (self.squares - explained - pull).max(0.0)
    }

    /// How many observations' worth of freedom the unknowns use up: those larger than the observations' error.
    pub(super) fn used(&self) -> f32 {
        let used = |likely: &f32| {
            // A wave is seen by half of the rows.
            let seen = likely * likely * f32::from(self.rows) / 2.0;
            seen / (1.0 + seen)
        };
        self.likely.iter().take(self.size).map(used).sum()
    }

    /// Observations taken in.
    pub(super) fn rows(&self) -> f32 {
        f32::from(self.rows)
    }
}
