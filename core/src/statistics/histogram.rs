//! The centre and scatter of a capture of any length in a fixed space.
//!
//! *Coarse ring*: 360 bins of one degree that count every value. *Fine window*: 1024 bins of 2¹⁸ units
//! (0.02197°, a power of two so that binning is a shift), 22.5° wide, around where the values are.
//! *Unplaced*: values inside the window that came before the window did, known to a degree only.
//!
//! The first 32 values are kept as they are; their median sets the window. From then on a value costs a
//! multiplication, a shift and two additions. Every 64 values the ring is asked where the crowd is; if it
//! is elsewhere, the window follows by whole bins, keeps what still lies in it, and the rest is unplaced
//! and left out of the centre. Order on the circle is order of the signed way from the window's middle,
//! so the cut lies opposite the crowd.
//!
//! Accuracy: an order statistic lies in its bin, so it is never more than one bin off; a bin of fewer
//! than 32 values gives its middle (half a bin off at most), a fuller one is read by interpolation.
//! Space: 3.7 KB.

use super::circular;
pub use super::histogram_bins::FINE_WIDTH;
use super::histogram_bins::*;
use super::histogram_walk::{Row, half_width};
use super::median::{DEVIATION_SCALE, interval_rank};
use super::sort::sort_by;
use crate::units::TURN;
use heapless::Vec;

/// Values kept as they are before the window is set.
pub const KEPT: usize = 32;
/// Values between two looks at where the crowd is.
const LOOK_EVERY: u32 = 64;
/// Coarse bins either side that make up a crowd.
const CROWD: usize = 5;

/// Where an order statistic lies, and how well that is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Position {
    /// The angle, units of 2⁻³² turn.
    pub angle: i32,
    /// Largest error, units of 2⁻³² turn: none, half a fine bin, or half a degree.
    pub within: u32,
}

/// Counts of angles in bins; see the module.
#[derive(Debug, Clone)]
pub struct Histogram {
    kept: Vec<i32, KEPT>,
    coarse: [u32; COARSE_BINS],
    fine: [u16; FINE_BINS],
    start: Option<u32>,
    total: u32,
    below: u32,
    above: u32,
    placed: u32,
    saturated: bool,
}

impl Default for Histogram {
    fn default() -> Self {
        Self::new()
    }
}

impl Histogram {
    /// An empty histogram.
    pub const fn new() -> Self {
        Self {
            kept: Vec::new(),
            coarse: [0; COARSE_BINS],
            fine: [0; FINE_BINS],
            start: None,
            total: 0,
            below: 0,
            above: 0,
            placed: 0,
            saturated: false,
        }
    }

    /// Forgets everything.
    pub fn clear(&mut self) {
        *self = Self::new();
    }

    /// Counts one angle, units of 2⁻³² turn. Up to 2³² − 1 of them; later ones are dropped.
    pub fn add(&mut self, angle: i32) {
        if self.total == u32::MAX {
            self.saturated = true;
            return;
        }
        self.total += 1;
        if let Some(bin) = self.coarse.get_mut(coarse_bin(angle)) {
            *bin += 1;
        }
        match self.start {
            Some(start) => self.place(start, angle),
            None => {
                let _ = self.kept.push(angle);
                if self.kept.is_full() {
                    self.open_window();
                }
            }
        }
        if self.start.is_some() && self.total.is_multiple_of(LOOK_EVERY) {
            self.follow_the_crowd();
        }
    }

    /// All values counted.
    pub const fn count(&self) -> u32 {
        self.total
    }

    /// Values inside the fine window that are known to a degree only, left out of the centre.
    pub const fn unplaced(&self) -> u32 {
        if self.start.is_none() {
            return 0;
        }
        self.total.saturating_sub(self.placed).saturating_sub(self.below).saturating_sub(self.above)
    }

    /// Whether a bin has run full, so that the centre leans away from it. Takes 65,535 values in one bin.
    pub const fn saturated(&self) -> bool {
        self.saturated
    }

    /// The median: the middle of the two middle values for an even count. `None` if empty.
    pub fn median(&self) -> Option<Position> {
        let placed = self.ordered();
        let lower = self.order_statistic(placed.div_ceil(2))?;
        if placed % 2 == 1 {
            return Some(lower);
        }
        let upper = self.order_statistic(placed / 2 + 1)?;
        let half_gap = (upper.angle.wrapping_sub(lower.angle) as u32) / 2;
        Some(Position {
            angle: lower.angle.wrapping_add_unsigned(half_gap),
            within: lower.within.max(upper.within),
        })
    }

    /// The value below which a share (0 to 1) of the values lie. `None` if empty.
    pub fn quantile(&self, share: f32) -> Option<Position> {
        let placed = self.ordered();
        let rank = (f64::from(share) * f64::from(placed) + 0.5) as u32;
        self.order_statistic(rank.clamp(1, placed.max(1)))
    }

    /// How many values take part in the order: all but the unplaced.
    pub const fn ordered(&self) -> u32 {
        if self.start.is_none() { self.total } else { self.placed + self.below + self.above }
    }

    /// The value of this rank, counted from one, in the order of the signed way from the window's middle.
    /// `None` outside 1 to [`Self::ordered`].
    pub fn order_statistic(&self, rank: u32) -> Option<Position> {
        if rank == 0 || rank > self.ordered() {
            return None;
        }
        let Some(start) = self.start else { return self.kept_statistic(rank) };
        let before = self.below;
        if rank <= before || rank > before + self.placed {
            return self.coarse_statistic(start, rank);
        }
        let mut passed = before;
        for (bin, &count) in (0u32..).zip(&self.fine) {
            let count = u32::from(count);
            if rank <= passed + count {
                let inside = offset_in_bin(rank - passed, count);
                let angle = start.wrapping_add(bin << FINE_SHIFT).wrapping_add(inside) as i32;
                return Some(Position { angle, within: FINE_WIDTH / 2 });
            }
            passed += count;
        }
        None
    }

    /// The two values that enclose the true median with at least 95 %, whatever the scatter's shape, if the
    /// values are independent. `None` below six values.
    pub fn median_interval(&self) -> Option<(Position, Position)> {
        let count = self.ordered();
        let rank = u32::try_from(interval_rank(usize::try_from(count).ok()?)?).ok()?;
        Some((self.order_statistic(rank)?, self.order_statistic(count + 1 - rank)?))
    }

    /// Scaled median absolute deviation about the median, units of 2⁻³² turn: to a fine bin times the scale
    /// (0.033°) while half of the values lie within the window around the median, else to a degree and
    /// a half. Scatter of nothing at all reads as half a bin (0.016° scaled). `None` if empty.
    pub fn scatter(&self) -> Option<f32> {
        let centre = self.median()?.angle;
        let Some(start) = self.start else {
            let mut arcs: Vec<i32, KEPT> = Vec::new();
            for &angle in &self.kept {
                let arc = i32::try_from(circular::arc(angle, centre)).unwrap_or(i32::MAX);
                let _ = arcs.push(arc);
            }
            let deviation = super::median::median_of_integers(&mut arcs)?;
            return Some(deviation as f32 * DEVIATION_SCALE);
        };
        let from_start = (centre as u32).wrapping_sub(start);
        let fine = Row {
            len: FINE_BINS,
            closed: false,
            count: &|bin| self.fine.get(bin).map_or(0, |&c| u32::from(c)),
        };
        let bin = (from_start >> FINE_SHIFT) as usize;
        let inside = (from_start & (FINE_WIDTH - 1)) as f32 / FINE_WIDTH as f32;
        let width = if bin < FINE_BINS { half_width(&fine, bin, inside, self.ordered()) } else { None };
        if let Some(bins) = width {
            return Some(bins * FINE_WIDTH as f32 * DEVIATION_SCALE);
        }
        let ring =
            Row { len: COARSE_BINS, closed: true, count: &|bin| self.coarse.get(bin).copied().unwrap_or(0) };
        let degrees = half_width(&ring, coarse_bin(centre), inside_degree(centre), self.total)?;
        Some(degrees * (TURN as f32 / 360.0) * DEVIATION_SCALE)
    }

    /// Values within `arc` of `centre` (both ends included), all in units of 2⁻³² turn: to half a fine
    /// bin at either end where the arc lies in the window, else to half a degree.
    pub fn count_within(&self, centre: i32, arc: u32) -> u32 {
        let Some(start) = self.start else {
            let near = self.kept.iter().filter(|&&angle| circular::arc(angle, centre) <= arc).count();
            return u32::try_from(near).unwrap_or(u32::MAX);
        };
        let near = |middle: u32| circular::arc(middle as i32, centre) <= arc;
        let from_start = (centre as u32).wrapping_sub(start);
        let in_window = from_start >= arc && from_start.saturating_add(arc) < 2 * HALF_WINDOW;
        if in_window && self.unplaced() == 0 {
            let bins = (0u32..).zip(&self.fine);
            let middles = bins.map(|(bin, &c)| (start.wrapping_add((bin << FINE_SHIFT) + FINE_WIDTH / 2), c));
            return middles.filter(|&(middle, _)| near(middle)).map(|(_, c)| u32::from(c)).sum();
        }
        (0u32..).zip(&self.coarse).filter(|&(bin, _)| near(coarse_middle(bin))).map(|(_, &c)| c).sum()
    }

    fn place(&mut self, start: u32, angle: i32) {
        let bin = (angle as u32).wrapping_sub(start) >> FINE_SHIFT;
        match self.fine.get_mut(bin as usize) {
            Some(count) if *count < u16::MAX => {
                *count += 1;
                self.placed += 1;
            }
            Some(_) => self.saturated = true,
            None if is_below(start, angle) => self.below += 1,
            None => self.above += 1,
        }
    }

    fn open_window(&mut self) {
        let centre = circular::median(&self.kept).unwrap_or(0);
        let start = (centre as u32).wrapping_sub(HALF_WINDOW);
        self.start = Some(start);
        for place in 0..self.kept.len() {
            if let Some(&angle) = self.kept.get(place) {
                self.place(start, angle);
            }
        }
        self.kept.clear();
    }

    /// Moves the window if the crowd is elsewhere, and only if clearly so.
    fn follow_the_crowd(&mut self) {
        let Some(start) = self.start else { return };
        let bin = self.densest();
        let here = coarse_bin(start.wrapping_add(HALF_WINDOW) as i32);
        let away = (bin + COARSE_BINS - here) % COARSE_BINS;
        let apart = away.min(COARSE_BINS - away);
        // Nearer than a crowd's half width, the window still leaves 6° for the scatter.
        let crowd_here = self.crowd_at(here);
        let clearly = self.crowd_at(bin) > crowd_here.saturating_add(crowd_here / 2);
        if apart > CROWD && clearly {
            self.move_window(start, coarse_middle(bin as u32).wrapping_sub(HALF_WINDOW));
        }
    }

    /// Gives a bin what another holds; nothing where there is none.
    fn take_over(&mut self, bin: usize, other: Option<usize>) {
        let held = other.and_then(|other| self.fine.get(other)).copied().unwrap_or(0);
        if let Some(count) = self.fine.get_mut(bin) {
            *count = held;
        }
    }

    fn move_window(&mut self, old: u32, towards: u32) {
        let bins = (towards.wrapping_sub(old) as i32) >> FINE_SHIFT;
        let shift = bins.unsigned_abs() as usize;
        if shift >= FINE_BINS {
            self.fine.fill(0);
        } else if bins >= 0 {
            (0..FINE_BINS).for_each(|bin| self.take_over(bin, bin.checked_add(shift)));
        } else {
            (0..FINE_BINS).rev().for_each(|bin| self.take_over(bin, bin.checked_sub(shift)));
        }
        let start = old.wrapping_add((bins as u32) << FINE_SHIFT);
        self.start = Some(start);
        self.placed = self.fine.iter().map(|&count| u32::from(count)).sum();
        (self.below, self.above) = (0, 0);
        for (bin, &count) in (0u32..).zip(&self.coarse) {
            let middle = coarse_middle(bin);
            if middle.wrapping_sub(start) >= 2 * HALF_WINDOW {
                let side = if is_below(start, middle as i32) { &mut self.below } else { &mut self.above };
                *side += count;
            }
        }
        // A degree that straddles the window's end may be counted on both sides of it.
        let spare = self.total.saturating_sub(self.placed);
        self.below = self.below.min(spare);
        self.above = self.above.min(spare - self.below);
    }

    /// The heaviest degree of the densest crowd, by one sum that slides round the ring.
    fn densest(&self) -> usize {
        let mut crowd = self.crowd_at(0);
        let mut best = (crowd, self.ring(0), 0);
        for bin in 1..COARSE_BINS {
            crowd = crowd.saturating_add(self.ring(bin + CROWD));
            crowd = crowd.saturating_sub(self.ring(bin + COARSE_BINS - 1 - CROWD));
            let own = self.ring(bin);
            if (crowd, own) > (best.0, best.1) {
                best = (crowd, own, bin);
            }
        }
        best.2
    }

    /// Values in this degree and [`CROWD`] degrees either side.
    fn crowd_at(&self, bin: usize) -> u32 {
        (0..=2 * CROWD).map(|step| self.ring(bin + COARSE_BINS - CROWD + step)).sum()
    }

    /// Values in a degree, 0 to 1079: counted on round the ring without a division.
    fn ring(&self, mut bin: usize) -> u32 {
        while bin >= COARSE_BINS {
            bin -= COARSE_BINS;
        }
        self.coarse.get(bin).copied().unwrap_or(0)
    }

    fn kept_statistic(&self, rank: u32) -> Option<Position> {
        let centre = circular::median(&self.kept)?;
        let mut ways = self.kept.clone();
        ways.iter_mut().for_each(|angle| *angle = angle.wrapping_sub(centre));
        sort_by(&mut ways, |one, other| one < other);
        let way = ways.get(usize::try_from(rank.checked_sub(1)?).ok()?)?;
        Some(Position { angle: centre.wrapping_add(*way), within: 0 })
    }

    /// An order statistic from the ring alone, cut opposite the window.
    fn coarse_statistic(&self, start: u32, rank: u32) -> Option<Position> {
        let cut = coarse_bin(start.wrapping_add(HALF_WINDOW) as i32) + COARSE_BINS / 2 + 1;
        // The ring counts the unplaced too: rank in proportion.
        let rank = (u64::from(rank) * u64::from(self.total)).div_ceil(u64::from(self.ordered().max(1)));
        let mut passed = 0u64;
        for step in 0..COARSE_BINS {
            let bin = (cut + step) % COARSE_BINS;
            passed += u64::from(self.coarse.get(bin).copied().unwrap_or(0));
            if passed >= rank {
                let angle = coarse_middle(bin as u32) as i32;
                return Some(Position { angle, within: (TURN / 720) as u32 });
            }
        }
        None
    }
}
