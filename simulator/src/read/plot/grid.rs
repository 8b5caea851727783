//! Counts sparks in cells of a fixed number, however many come and however far they reach.
//!
//! *Row*: 0.1 crank degrees of advance. *Column*: a stretch of time or of speed. A value beyond the last
//! column folds the grid: neighbours are added up in pairs, and each column stands for twice as much.

/// Columns of a grid.
const COLUMNS: usize = 256;
/// Rows of a grid: the whole turn.
const ROWS: usize = 3600;
/// Height of a row.
pub(super) const ROW_DEGREES: f64 = 360.0 / ROWS as f64;

/// Sparks counted by place and angle.
#[derive(Debug)]
pub(super) struct Grid {
    column: f64,
    counts: Vec<u16>,
}

impl Grid {
    /// An empty grid whose columns are so wide.
    pub(super) fn new(column: f64) -> Self {
        Self { column, counts: vec![0; COLUMNS * ROWS] }
    }

    /// Counts one spark; a cell holds at most 65,535.
    pub(super) fn add(&mut self, at: f64, degrees: f32) {
        let at = if at.is_finite() { at.max(0.0) } else { return };
        while at >= self.column * COLUMNS as f64 {
            self.fold();
        }
        let column = (at / self.column) as usize;
        let row = ((f64::from(degrees) + 180.0) / ROW_DEGREES) as usize;
        if let Some(count) = self.counts.get_mut(column.min(COLUMNS - 1) * ROWS + row.min(ROWS - 1)) {
            *count = count.saturating_add(1);
        }
    }

    fn fold(&mut self) {
        for column in 0..COLUMNS {
            for row in 0..ROWS {
                let pair = [2 * column, 2 * column + 1].map(|source| {
                    if source < COLUMNS {
                        self.counts.get(source * ROWS + row).copied().unwrap_or(0)
                    } else {
                        0
                    }
                });
                if let Some(count) = self.counts.get_mut(column * ROWS + row) {
                    *count = pair[0].saturating_add(pair[1]);
                }
            }
        }
        self.column *= 2.0;
    }

    /// The cells that hold a spark: middle of the column, middle of the row, sparks.
    pub(super) fn cells(&self) -> impl Iterator<Item = (f64, f64, u16)> + '_ {
        self.counts.iter().enumerate().filter(|(_, count)| **count > 0).map(|(cell, count)| {
            let at = (0.5 + (cell / ROWS) as f64) * self.column;
            let degrees = (0.5 + (cell % ROWS) as f64) * ROW_DEGREES - 180.0;
            (at, degrees, *count)
        })
    }

    /// From the lowest angle to the highest, a share of the sparks left out at either end.
    pub(super) fn range(&self, share: f64) -> Option<(f64, f64)> {
        let mut rows = vec![0u64; ROWS];
        for (cell, count) in self.counts.iter().enumerate() {
            if let Some(row) = rows.get_mut(cell % ROWS) {
                *row += u64::from(*count);
            }
        }
        let all: u64 = rows.iter().sum();
        let skip = (all as f64 * share) as u64;
        let degrees = |row: usize| (0.5 + row as f64) * ROW_DEGREES - 180.0;
        let low = end(rows.iter(), skip)?;
        let high = end(rows.iter().rev(), skip)?;
        Some((degrees(low), degrees(ROWS - 1 - high)))
    }

    /// From the first column with a spark to the end of the last one.
    pub(super) fn span(&self) -> Option<(f64, f64)> {
        let mut places = self.cells().map(|(at, _, _)| at);
        let first = places.next()?;
        let last = places.last().unwrap_or(first);
        Some((first - 0.5 * self.column, last + 0.5 * self.column))
    }
}

/// The first row, in this order, before which more sparks lie than are left out.
fn end<'a>(mut rows: impl Iterator<Item = &'a u64>, skip: u64) -> Option<usize> {
    let mut seen = 0;
    rows.position(|count| {
        seen += count;
        seen > skip
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folding_keeps_every_spark_and_its_place() {
        let mut grid = Grid::new(1.0);
        for at in [0.0, 100.0, 255.5, 1000.0, 5000.0] {
            grid.add(at, 10.05);
        }
        let cells: Vec<_> = grid.cells().collect();
        assert_eq!(cells.iter().map(|(_, _, count)| u32::from(*count)).sum::<u32>(), 5);
        let (at, degrees, _) = cells[cells.len() - 1];
        assert!((at - 5000.0).abs() <= 16.0 && (degrees - 10.05).abs() < 1e-6, "{at} {degrees}");
    }

    #[test]
    fn a_range_leaves_out_the_share_at_either_end() {
        let mut grid = Grid::new(1.0);
        for _ in 0..98 {
            grid.add(0.0, 10.05);
        }
        grid.add(0.0, -170.0);
        grid.add(0.0, 170.0);
        let (low, high) = grid.range(0.02).unwrap();
        assert!((low - 10.05).abs() < 1e-6 && (high - 10.05).abs() < 1e-6);
        let (low, high) = grid.range(0.0).unwrap();
        assert!(low < -169.0 && high > 169.0);
        assert_eq!(Grid::new(1.0).range(0.02), None);
    }

    #[test]
    fn no_angle_and_no_place_falls_outside() {
        let mut grid = Grid::new(1.0);
        for (at, degrees) in [(-1.0, 180.0), (0.0, -180.0), (f64::NAN, 0.0), (1e9, 0.0)] {
            grid.add(at, degrees);
        }
        assert_eq!(grid.cells().count(), 3);
    }
}
