//! The reading since the last disturbance, or over a whole capture of any length, in a fixed space.
//!
//! *Used*: a spark of steady idle. *Steady*: the speed of the turn after the spark differs from that of
//! the turn before the last by less than a speed climbing or falling in a blip makes it. *Stray*: a spark
//! so far from the others that it can't be one of them.

use super::blocks::Blocks;
use super::by_speed::BySpeed;
use super::result::{Signature, SparkFate, SparkRecord, SpeedTrend};
use crate::fixed::Newest;
use crate::job::{Control, Job, Pattern};
use crate::sparks::{PlacedSpark, SparkEvent};
use crate::statistics::correlation::Row;
use crate::statistics::functions::square_root;
use crate::statistics::histogram::Histogram;
use crate::statistics::line::LineSums;
use crate::units::{Advance, TickRate};

/// From one turn to the next but one a steady idle's speed changes by less than this part.
const STEADY_CLIMB: f32 = 0.10;
/// By more than this part, and the same way as at the spark before, it changes in hardly any spark of an engine
/// that idles, however roughly, and in many of one that hunts.
const RESTLESS_CLIMB: f32 = 0.06;
/// The same while cranking, where every compression is felt.
const STEADY_CLIMB_CRANKING: f32 = 0.25;
/// Cranking speeds, rpm.
pub(super) const CRANKING: [f32; 2] = [100.0, 300.0];
/// Cranking sparks kept.
pub(super) const CRANKING_KEPT: usize = 32;
/// Sparks used before a slope over the wander of idle is claimed.
const FEWEST_FOR_SLOPE: u32 = 12;
/// Sparks outside idle that are more than a disturbance.
const FEWEST_OUTSIDE: u32 = 5;
/// What else moves the sparks of an opening throttle, degrees.
const DIP_DOUBT: f32 = 0.3;
/// What correlation between sparks widens the doubt of that slope by at the least.
const SLOPE_DOUBT_FACTOR: f32 = 1.4;
/// Correlation of idle's speed from one spark to the next, as two turns' mean speeds overlap.
const SPEED_CORRELATION: f32 = 0.9;
/// Sparks used before one can be called stray.
const BEFORE_STRAYS: u32 = 8;
/// Sparks farther than this from the centre are strays, degrees: at idle steering moves them by less, above
/// it a map or weights do.
const STRAY_AT_IDLE: f32 = 18.0;
const STRAY_ABOVE_IDLE: f32 = 55.0;
/// And a degree more for so many rpm above it: the start of six milliseconds of charging lies so much earlier.
const RPM_A_DEGREE: f32 = 1000.0 / 36.0;
/// Blocks take no spark farther from the centre than this, degrees: what lies beyond is a stray.
const FARTHEST_IN_BLOCKS: f32 = STRAY_AT_IDLE;
/// Sums over sparks leave out those farther from the centre than this, degrees, and six scatters.
const FARTHEST_IN_SUMS: f32 = 4.0;
/// Width of a bin of the ring of all sparks, degrees.
pub(super) const RING_DEGREES: f32 = 5.0;
/// Bins of that ring.
pub(super) const RING_BINS: usize = 72;

/// How many sparks met which fate.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Fates {
    pub(super) used: u32,
    pub(super) outside_idle: u32,
    pub(super) unsteady: u32,
    /// Sparks in the idle band, steady or not, around which the speed went on changing.
    pub(super) restless: u32,
    pub(super) no_sync: u32,
    pub(super) doubtful: u32,
    pub(super) stray: u32,
    pub(super) at_the_end: u32,
    /// How many more of those outside the idle band came at a changing speed than at a steady one, as far as it goes.
    pub(super) passing: i16,
    pub(super) cranking: u16,
}

/// Another way to take advance against speed, by what times the spark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Another {
    None,
    /// Weights follow the speed at once: within the idle band, sparks of a climbing or falling speed with them. Only
    /// where a wheel shows the angle while it climbs.
    InBand,
    /// A computer: against the mean speed of the two turns before the spark.
    SpeedBefore,
}

/// The sum of sparks' speeds, in sixty-fourths of a rpm: as a whole number it stays right however long it grows.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Speeds(u64);

impl Speeds {
    fn add(&mut self, rpm: f32) {
        self.0 += u64::from((rpm * 64.0) as u32);
    }

    /// Their mean, rpm.
    pub(super) fn mean(self, count: u32) -> f32 {
        self.0 as f32 / 64.0 / count as f32
    }
}

/// What is kept of all sparks.
#[derive(Debug, Clone)]
pub struct Settled {
    idle: [f32; 2],
    pub(super) histogram: Histogram,
    pub(super) fates: Fates,
    pub(super) row: Row,
    pub(super) idle_line: LineSums,
    another: Another,
    another_line: LineSums,
    pub(super) blocks: Blocks,
    pub(super) by_speed: BySpeed,
    pub(super) cranking: Newest<i32, CRANKING_KEPT>,
    pub(super) ring: [u16; RING_BINS],
    /// Sum over the used sparks of their nodes' squared misfits, degrees squared, and of their freedom.
    pub(super) misfit_squares: f32,
    pub(super) misfit_freedom: f32,
    pub(super) leverages: f32,
    /// Used sparks whose crank's swing was known.
    pub(super) evened: u32,
    pub(super) used_rpm: Speeds,
    pub(super) all_rpm: Speeds,
    pub(super) placed: u32,
    /// Change of speed around the newest spark in the idle band.
    climb: f32,
    /// The centre that strays are judged by; renewed now and then.
    centre: Option<(i32, f32)>,
}

impl Settled {
    /// Nothing read yet.
    pub fn new(job: &Job, rate: TickRate) -> Self {
        let idle = job.spec().timing.idle_rpm;
        Self {
            idle,
            histogram: Histogram::new(),
            fates: Fates::default(),
            row: Row::new(),
            idle_line: LineSums::new(),
            another: match (job.spec().timing.control, job.pattern()) {
                (Control::Mechanical, Pattern::Marks(_)) => Another::None,
                (Control::Mechanical, Pattern::Wheel { .. }) => Another::InBand,
                (Control::Computer | Control::Commanded, _) => Another::SpeedBefore,
            },
            another_line: LineSums::new(),
            blocks: Blocks::new(rate),
            by_speed: BySpeed::new(idle),
            cranking: Newest::default(),
            ring: [0; RING_BINS],
            misfit_squares: 0.0,
            misfit_freedom: 0.0,
            leverages: 0.0,
            evened: 0,
            used_rpm: Speeds::default(),
            all_rpm: Speeds::default(),
            placed: 0,
            climb: 0.0,
            centre: None,
        }
    }

    /// Takes in what the sparks room says of a strike.
    pub fn on_event(&mut self, event: SparkEvent) -> SparkRecord {
        match event {
            SparkEvent::Dropped(at, fate) => {
                match fate {
                    SparkFate::NoSync => self.fates.no_sync += 1,
                    SparkFate::Doubtful => self.fates.doubtful += 1,
                    SparkFate::AtTheEnd => self.fates.at_the_end += 1,
                    _ => {}
                }
                SparkRecord { at, advance: None, rpm: 0.0, fate }
            }
            SparkEvent::Placed(spark) => {
                let fate = self.on_placed(&spark);
                SparkRecord { at: spark.at, advance: Some(spark.advance()), rpm: spark.rpm, fate }
            }
        }
    }

    /// How the advance goes with speed; `None` unless the speeds span 300 rpm or more.
    pub fn trend(&self) -> Option<SpeedTrend> {
        self.by_speed.trend(self.span())
    }

    /// The lowest and the highest speed that the advance is compared at: not those of cranking, where an ignition has its
    /// own, nor what a few sparks outside idle would make of a disturbance.
    fn span(&self) -> [f32; 2] {
        let [low, high] = self.idle;
        let few_outside = self.fates.outside_idle < FEWEST_OUTSIDE;
        self.by_speed.span(if few_outside { [low, high] } else { [low.min(CRANKING[1]), f32::INFINITY] })
    }

    /// How the advance behaves beside its value.
    pub fn signature(&self) -> Signature {
        let scatter = self.histogram.scatter().map(|scatter| scatter * (360.0 / (1u64 << 32) as f32));
        let (sums, another) = (&self.idle_line, &self.another_line);
        // A computer may go by the turns before the spark: whichever speed explains more.
        let before = self.another == Another::SpeedBefore && another.explained() > sums.explained();
        let line = if before { another } else { sums }.fit();
        let line = line.filter(|line| self.fates.used >= FEWEST_FOR_SLOPE && line.freedom > 3.0);
        let band = if self.another == Another::InBand { another.fit() } else { None };
        let in_band = band.or(line).filter(|_| line.is_some());
        let left_over = match (line, self.idle_line.spread_of_y()) {
            (Some(line), Some((_, spread))) if spread > 0.0 => (line.residual / spread).min(1.0),
            _ => 1.0,
        };
        let widened = self.slope_doubt_factor(left_over);
        let idle_slope = in_band.map(|line| (line.slope * 1000.0, line.slope_uncertainty * 1000.0 * widened));
        let idle = self.histogram.median().zip(self.by_speed.reference());
        let dip = self.by_speed.opening().zip(idle).map(|(opening, (idle, reference))| {
            let idle = Advance::from_fraction(idle.angle).minus(reference).degrees();
            let one = scatter.unwrap_or(0.3).max(0.2).max(opening.scatter);
            (opening.offset - idle, one / square_root(opening.count) + DIP_DOUBT)
        });
        let span = self.span();
        Signature {
            dip,
            idle_slope,
            scatter: scatter.map(|scatter| scatter * left_over),
            bend: self.by_speed.bend(span),
            top_slope: self.by_speed.top_slope(span),
            up_minus_down: self.by_speed.up_minus_down(self.idle[1]),
        }
    }

    /// Sparks in a row take after each other, and so does the speed: a slope through them is less sure than it
    /// would be through as many strangers, by √((1 + ρ) / (1 − ρ)), where ρ is both correlations together.
    /// `left`: the part of their spread that the line leaves.
    fn slope_doubt_factor(&self, left: f32) -> f32 {
        let of_all = self.row.lag_one().unwrap_or(0.0);
        let left = left.max(0.2);
        // What the line explains is as correlated as the speed is; the rest is what disturbs the slope.
        let explained = 1.0 - left * left;
        let of_rest = ((of_all - explained * SPEED_CORRELATION) / (left * left)).clamp(0.0, 0.9);
        let correlation = SPEED_CORRELATION * of_rest;
        square_root((1.0 + correlation) / (1.0 - correlation)).max(SLOPE_DOUBT_FACTOR)
    }

    fn on_placed(&mut self, spark: &PlacedSpark) -> SparkFate {
        let advance = spark.advance();
        self.placed = self.placed.saturating_add(1);
        self.all_rpm.add(spark.rpm);
        let turned = (advance.fraction() as u32) as f32 / (1u64 << 32) as f32;
        if let Some(bin) = self.ring.get_mut((turned * RING_BINS as f32) as usize % RING_BINS) {
            *bin = bin.saturating_add(1);
        }
        if self.is_stray(advance, spark.rpm) {
            self.fates.stray += 1;
            return SparkFate::Stray;
        }
        self.by_speed.add(spark);
        let [low, high] = self.idle;
        if spark.rpm < low || spark.rpm > high {
            self.note_cranking(spark);
            self.fates.outside_idle += 1;
            let steady = spark.climb.abs() <= RESTLESS_CLIMB;
            self.fates.passing = self.fates.passing.saturating_add(if steady { -1 } else { 1 });
            return SparkFate::OutsideIdle;
        }
        self.use_in_band(spark);
        self.note_restless(spark.climb);
        let allowed = if spark.rpm < CRANKING[1] { STEADY_CLIMB_CRANKING } else { STEADY_CLIMB };
        if spark.climb.abs() > allowed {
            self.fates.unsteady += 1;
            return SparkFate::Unsteady;
        }
        self.use_spark(spark);
        SparkFate::Used
    }

    fn note_restless(&mut self, climb: f32) {
        let before = core::mem::replace(&mut self.climb, climb);
        let goes_on = climb > RESTLESS_CLIMB && before > RESTLESS_CLIMB / 2.0
            || climb < -RESTLESS_CLIMB && before < -RESTLESS_CLIMB / 2.0;
        self.fates.restless += u32::from(goes_on);
    }

    fn note_cranking(&mut self, spark: &PlacedSpark) {
        if (CRANKING[0]..CRANKING[1]).contains(&spark.rpm) {
            self.fates.cranking = self.fates.cranking.saturating_add(1);
            self.cranking.push(spark.advance().fraction());
        }
    }

    fn use_spark(&mut self, spark: &PlacedSpark) {
        let advance = spark.advance();
        self.fates.used += 1;
        self.histogram.add(advance.fraction());
        let renew_every = if self.fates.used < 64 { 8 } else { 64 };
        if self.fates.used.is_multiple_of(renew_every) {
            self.renew_centre();
        }
        self.use_in_sums(spark);
        let freedom = f32::from(spark.located.freedom);
        self.misfit_squares += spark.located.misfit_square * freedom;
        self.misfit_freedom += freedom;
        self.leverages += spark.located.leverage;
        self.evened += u32::from(spark.located.evened);
        self.used_rpm.add(spark.rpm);
    }

    /// Sums that one wild spark would spoil take only those near the centre, once that is known.
    fn use_in_sums(&mut self, spark: &PlacedSpark) {
        let Some((centre, scatter)) = self.centre else { return };
        let centre = Advance::from_fraction(centre);
        let away = spark.advance().minus(centre).degrees();
        let middle = self.offset(centre);
        if away.abs() <= FARTHEST_IN_BLOCKS {
            self.blocks.add(spark.at, middle + away, spark.rpm);
        }
        if away.abs() <= FARTHEST_IN_SUMS.max(6.0 * scatter) {
            self.row.add(middle + away);
            self.idle_line.add(spark.rpm, middle + away);
            if self.another == Another::SpeedBefore {
                let before = spark.rpm * (1.0 - 0.5 * spark.climb);
                self.another_line.add(before, middle + away);
            }
        }
    }

    fn use_in_band(&mut self, spark: &PlacedSpark) {
        let Some((centre, scatter)) = self.centre else { return };
        let centre = Advance::from_fraction(centre);
        let away = spark.advance().minus(centre).degrees();
        if away.abs() > FARTHEST_IN_SUMS.max(6.0 * scatter) {
            return;
        }
        let offset = self.offset(centre) + away;
        if self.another == Another::InBand {
            self.another_line.add(spark.rpm, offset);
        }
    }

    /// Degrees from the first used spark, which all sums are taken about.
    fn offset(&mut self, advance: Advance) -> f32 {
        self.by_speed.offset(advance)
    }

    fn renew_centre(&mut self) {
        let median = self.histogram.median();
        let scatter = self.histogram.scatter();
        if let (Some(median), Some(scatter)) = (median, scatter) {
            self.centre = Some((median.angle, scatter * (360.0 / (1u64 << 32) as f32)));
        }
    }

    /// Far beyond where the sparks of this setting are, and beyond what steering moves it by at idle or a
    /// mechanism above it.
    fn is_stray(&self, advance: Advance, rpm: f32) -> bool {
        let Some((centre, scatter)) = self.centre else { return false };
        if self.fates.used < BEFORE_STRAYS {
            return false;
        }
        let away = advance.minus(Advance::from_fraction(centre)).degrees();
        let above = rpm - self.idle[1];
        let reach = if above <= 0.0 { STRAY_AT_IDLE } else { STRAY_ABOVE_IDLE + above / RPM_A_DEGREE };
        away.abs() > reach.max(8.0 * scatter)
    }
}
