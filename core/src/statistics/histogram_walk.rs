//! The half width about a point that holds half of the counts of a row of bins: a median absolute
//! deviation without the values.
//!
//! The walk widens by one bin width at a time, so it costs two bins a step, and interpolates in the last
//! step. Counts are taken as even within their bin.

/// A row of bins, seen as a function so that counts of any width fit, with one walk for all.
pub(super) struct Row<'a> {
    /// Bins in the row.
    pub(super) len: usize,
    /// Whether the last bin touches the first.
    pub(super) closed: bool,
    /// The count of a bin.
    pub(super) count: &'a dyn Fn(usize) -> u32,
}

impl Row<'_> {
    /// The count `step` bins from `bin`; `None` beyond an open row's end.
    fn at(&self, bin: usize, step: isize) -> Option<u32> {
        let place = bin.checked_add_signed(step);
        if self.closed {
            let length = isize::try_from(self.len).ok()?;
            let wrapped = isize::try_from(bin).ok()?.checked_add(step)?.checked_rem_euclid(length)?;
            return Some((self.count)(usize::try_from(wrapped).ok()?));
        }
        place.filter(|&place| place < self.len).map(self.count)
    }
}

/// Half width, in bins, of the interval about the point `inside` (0 to 1) of bin `bin` that holds half of
/// `total`: the middle of the two middle ones for an even total. `None` if an open row ends first, or the
/// row is empty.
pub(super) fn half_width(row: &Row<'_>, bin: usize, inside: f32, total: u32) -> Option<f32> {
    let half = total as f32 / 2.0;
    if total == 0 {
        return None;
    }
    if total % 2 == 1 {
        return width_holding(row, bin, inside, half);
    }
    // The value of rank r stands at r − ½ counts.
    let lower = width_holding(row, bin, inside, half - 0.5)?;
    let upper = width_holding(row, bin, inside, half + 0.5)?;
    Some((lower + upper) * 0.5)
}

/// Half width, in bins, that holds this many counts.
fn width_holding(row: &Row<'_>, bin: usize, inside: f32, wanted: f32) -> Option<f32> {
    let mut whole = 0u32;
    let mut held = 0.0f32;
    // A closed row is full at half its length either way.
    let furthest = isize::try_from(if row.closed { row.len / 2 } else { row.len }).ok()?;
    for step in 1..=furthest {
        let upper = row.at(bin, step)? as f32;
        let lower = row.at(bin, -step)? as f32;
        whole += if step == 1 { row.at(bin, 0)? } else { row.at(bin, step - 1)? + row.at(bin, 1 - step)? };
        let now = whole as f32 + upper * inside + lower * (1.0 - inside);
        if now >= wanted {
            let gained = now - held;
            let share = if gained > 0.0 { (wanted - held) / gained } else { 0.0 };
            return Some((step - 1) as f32 + share);
        }
        held = now;
    }
    Some(furthest as f32)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;

    #[test]
    fn even_counts_hold_half_within_a_quarter_of_the_row() {
        let row = Row { len: 100, closed: false, count: &|_| 10 };
        assert!((half_width(&row, 50, 0.0, 1000).unwrap() - 25.0).abs() < 1e-4);
        assert!((half_width(&row, 49, 0.5, 1000).unwrap() - 25.0).abs() < 1e-4);
    }

    #[test]
    fn an_open_row_that_ends_first_says_so_and_a_ring_goes_round() {
        let ends = |bin: usize| if (5..95).contains(&bin) { 0 } else { 10 };
        let open = Row { len: 100, closed: false, count: &ends };
        let ring = Row { len: 100, closed: true, count: &ends };
        assert_eq!(half_width(&open, 1, 0.0, 100), None);
        assert!((half_width(&ring, 0, 0.0, 100).unwrap() - 2.5).abs() < 1e-4);
    }

    #[test]
    fn everything_in_one_bin_reads_as_half_a_bin() {
        let row = Row { len: 9, closed: false, count: &|bin| if bin == 4 { 7 } else { 0 } };
        assert!((half_width(&row, 4, 0.3, 7).unwrap() - 0.5).abs() < 1e-6);
    }
}
