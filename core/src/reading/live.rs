//! The value while a hand turns the distributor: it follows the hand, and stands still when the hand does.
//!
//! *Line*: a robust straight line through the newest sparks; while its slope is more than chance, the
//! value is the line's end. *Centre*: the median of the sparks since the setting last moved; shown with
//! hysteresis, so that the digits don't flicker. *Jump*: the median of the newest sparks lies farther from that
//! of those before than they scatter by: a bolt or a knock moved the setting at once, and no line shows that.

use crate::fixed::{Newest, gather};
use crate::statistics::functions::square_root;
use crate::statistics::median::{DEVIATION_SCALE, median, median_of_integers};
use crate::units::{Advance, Instant, TURN, TickRate};
use heapless::Vec;

/// Sparks kept.
const KEPT: usize = 32;
/// Sparks of the line: about a second at idle.
const LINE: usize = 8;
/// Fewest sparks that a value is shown from.
const FEWEST: usize = 5;
/// The slope's significance: so many of its standard uncertainties.
const CLEAR_SLOPE: f32 = 4.6;
/// A jump shows in the median of so many of the newest sparks,
const JUMPED: usize = 5;
/// by more than so many times the scatter (4.5 standard uncertainties of that median) and so many degrees.
const JUMP_SCATTERS: f32 = 2.75;
const LEAST_JUMP: f32 = 0.3;
/// A shown value moves only if the centre has gone so many of its standard uncertainties,
const HYSTERESIS: f32 = 2.0;
/// and never for less, nor only for more, than these, degrees.
const LEAST_HYSTERESIS: f32 = 0.06;
const MOST_HYSTERESIS: f32 = 0.15;
/// Standard uncertainty of a median by that of a mean: √(π / 2) on normal scatter.
const MEDIAN_FACTOR: f32 = 1.2533;
/// The value is worked out anew so often at most, milliseconds: at idle for every spark.
const EVERY_MS: u32 = 45;
/// Above this speed nobody sets anything, rpm: there it is worked out as often as digits can be read.
const SETTING_RPM: f32 = 2000.0;
const FAST_EVERY_MS: u32 = 180;
/// A value older than this is not shown, milliseconds.
const OLDEST_MS: u32 = 1500;

/// Degrees of a unit of 2⁻³² turn.
const DEGREES_PER_UNIT: f32 = 360.0 / TURN as f32;

/// What to show now.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct LiveValue {
    /// The advance.
    pub advance: Advance,
    /// Standard uncertainty from the scatter of the sparks, degrees.
    pub doubt: f32,
    /// The setting is moving, degrees per second, positive = advancing; zero while it stands.
    pub degrees_per_second: f32,
    /// Sparks that the value rests on.
    pub sparks: u8,
}

/// The newest sparks.
#[derive(Debug, Clone)]
pub struct Live {
    rate: TickRate,
    /// The low halves of their moments, and where they came.
    sparks: Newest<(u32, Advance), KEPT>,
    /// The moment of the newest.
    newest: Instant,
    still_since: Option<Instant>,
    shown: Option<Advance>,
    moving: f32,
    /// Scatter of the newest sparks about their line, when that was last worked out.
    scatter: Option<f32>,
    worked_out: Instant,
}

impl Live {
    /// Nothing seen yet.
    pub fn new(rate: TickRate) -> Self {
        Self {
            rate,
            sparks: Newest::default(),
            newest: Instant::default(),
            still_since: None,
            shown: None,
            moving: 0.0,
            scatter: None,
            worked_out: Instant::default(),
        }
    }

    /// Forgets what was seen: after the engine stopped, or sync was lost.
    pub fn clear(&mut self) {
        *self = Self::new(self.rate);
    }

    /// The next spark, at this speed.
    pub fn add(&mut self, at: Instant, advance: Advance, rpm: f32) {
        if !self.sparks.is_empty() && at.since(self.newest) > self.rate.ticks_in_ms(OLDEST_MS) {
            self.clear();
        }
        self.sparks.push((at.ticks() as u32, advance));
        self.newest = at;
        let ticks = self.rate.ticks_in_ms(if rpm > SETTING_RPM { FAST_EVERY_MS } else { EVERY_MS });
        if at.since(self.worked_out) < ticks {
            return;
        }
        self.worked_out = at;
        self.moving = 0.0;
        let line = self.line();
        self.scatter = line.as_ref().map(|line| line.scatter);
        let Some(line) = line else { return };
        if line.slope.abs() > CLEAR_SLOPE * line.slope_doubt && line.slope.abs() > 0.5 {
            self.moving = line.slope;
            self.shown = Some(line.end);
            // What came before the movement says nothing of the new setting.
            self.still_since = Some(at);
        } else {
            self.still_since = self.jump().or(self.still_since);
            let Some((centre, scatter, count)) = self.centre() else { return };
            let doubt = MEDIAN_FACTOR * scatter / square_root(count as f32);
            let slack = (HYSTERESIS * doubt).clamp(LEAST_HYSTERESIS, MOST_HYSTERESIS);
            if self.shown.is_none_or(|shown| centre.minus(shown).degrees().abs() > slack) {
                self.shown = Some(centre);
            }
        }
    }

    /// What to show at `now`; `None` before there are enough sparks and when the newest is too old.
    pub fn value(&self, now: Instant) -> Option<LiveValue> {
        if self.sparks.is_empty() || now.since(self.newest) > self.rate.ticks_in_ms(OLDEST_MS) {
            return None;
        }
        let sparks = self.sparks.len();
        Some(LiveValue {
            advance: self.shown?,
            doubt: MEDIAN_FACTOR * self.scatter? / square_root(sparks.min(LINE) as f32),
            degrees_per_second: self.moving,
            sparks: sparks as u8,
        })
    }

    /// When the setting jumped, if it did since it last moved.
    fn jump(&self) -> Option<Instant> {
        let mut before = self.still(JUMPED, KEPT);
        let count = before.len();
        let from = median_of_integers(&mut before)?;
        let to = median_of_integers(&mut self.still(0, JUMPED))?;
        let by = Advance::from_fraction(to.wrapping_sub(from)).degrees().abs();
        // Most often it lies no farther than no jump does, and the scatter need not be asked.
        if count < FEWEST || by <= LEAST_JUMP || by <= JUMP_SCATTERS * scatter(&mut before, from)? {
            return None;
        }
        self.sparks.back(JUMPED - 1).map(|(at, _)| self.newest.near(*at))
    }

    /// The median of the sparks since the setting last moved, their scatter in degrees, and how many they are.
    fn centre(&self) -> Option<(Advance, f32, usize)> {
        let mut offsets = self.still(0, KEPT);
        let middle = median_of_integers(&mut offsets)?;
        let centre = self.sparks.newest()?.1.plus(Advance::from_fraction(middle));
        Some((centre, scatter(&mut offsets, middle)?, offsets.len()))
    }

    /// Up to `most` sparks since the setting last moved, the `newest` left out: by how much each is beyond the newest of
    /// all, units of 2⁻³² turn.
    fn still(&self, newest: usize, most: usize) -> Vec<i32, KEPT> {
        let reference = self.sparks.newest().map_or(Advance::default(), |(_, advance)| *advance);
        let oldest = self.still_since.map_or(u64::MAX, |since| self.newest.since(since));
        let still = self.sparks.iter().rev().filter(|(at, _)| u64::from(self.age(*at)) <= oldest);
        gather(still.skip(newest).take(most).map(|(_, advance)| advance.minus(reference).fraction()))
    }

    /// Ticks from a spark to the newest.
    fn age(&self, at: u32) -> u32 {
        (self.newest.ticks() as u32).wrapping_sub(at)
    }

    /// The robust line (median of all pairs' slopes) through the newest sparks; worked out in ticks and units of 2⁻³² turn.
    fn line(&self) -> Option<LiveLine> {
        let (_, reference) = *self.sparks.newest()?;
        let mut points: Vec<(f32, f32), LINE> = Vec::new();
        for (at, advance) in self.sparks.iter().rev().take(LINE) {
            let _ = points.push((-(self.age(*at) as f32), advance.minus(reference).fraction() as f32));
        }
        if points.len() < FEWEST {
            return None;
        }
        let mut slopes: Vec<f32, { LINE * (LINE - 1) / 2 }> = Vec::new();
        for (index, (x, y)) in points.iter().enumerate() {
            for (earlier_x, earlier_y) in points.iter().skip(index + 1) {
                if x > earlier_x {
                    let _ = slopes.push((y - earlier_y) / (x - earlier_x));
                }
            }
        }
        let slope = median(&mut slopes)?;
        let mut ends: Vec<f32, LINE> = gather(points.iter().map(|(x, y)| y - slope * x));
        let end = median(&mut ends)?;
        let mut rests: Vec<f32, LINE> = gather(points.iter().map(|(x, y)| (y - slope * x - end).abs()));
        // Two numbers were fitted, so the rests are too small by the freedom they took.
        let freedom = square_root(points.len() as f32 / (points.len() as f32 - 2.0));
        let scatter = (median(&mut rests)? * (DEVIATION_SCALE * DEGREES_PER_UNIT) * freedom).max(0.05);
        let mean = points.iter().map(|(x, _)| x).sum::<f32>() / points.len() as f32;
        let spread = points.iter().map(|(x, _)| (x - mean) * (x - mean)).sum::<f32>();
        let a_second = self.rate.hertz() as f32;
        Some(LiveLine {
            slope: slope * (a_second * DEGREES_PER_UNIT),
            slope_doubt: scatter * a_second / square_root(spread).max(a_second * 1e-3),
            end: reference.plus(Advance::from_fraction(end as i32)),
            scatter,
        })
    }
}

/// Scatter of the offsets about their middle, degrees.
fn scatter(offsets: &mut [i32], middle: i32) -> Option<f32> {
    offsets.iter_mut().for_each(|offset| *offset = offset.saturating_sub(middle).saturating_abs());
    Some(median_of_integers(offsets)? as f32 * (DEVIATION_SCALE * DEGREES_PER_UNIT))
}

struct LiveLine {
    slope: f32,
    slope_doubt: f32,
    end: Advance,
    scatter: f32,
}
