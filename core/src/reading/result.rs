//! The shapes a reading comes in: what the meter hands to whoever shows it.

use crate::job::PerCylinder;
use crate::units::{Advance, Instant};
use heapless::Vec;

/// Whether a number may be shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Status {
    /// The instrument stands behind the number.
    Given,
    /// It does not, and says why.
    Withheld,
}

/// Why no number is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Withheld {
    /// No edges, or hardly any, at the crank pickup.
    NoCrank,
    /// No edges, or hardly any, at the spark pickup.
    NoSpark,
    /// The wheel is not the one in the job.
    PatternMismatch,
    /// The speed was never steady enough.
    Unsteady,
    /// Fewer sparks of steady idle than a median can be claimed from.
    TooFewSparks,
    /// So many events are not the engine's that those left can't be trusted.
    Interference,
    /// The crank's pattern comes at the spark pickup.
    PickupsSwapped,
    /// The crank's pattern is on the other edge of the crank signal.
    WrongEdge,
    /// More or fewer sparks a turn than this ignition makes.
    SparkRate,
    /// The engine ran steadily, but not at idle.
    OutsideIdleBand,
    /// The distributor was turned during the capture.
    SettingMoved,
}

impl Withheld {
    /// The reason's name in results.
    pub const fn id(self) -> &'static str {
        match self {
            Self::NoCrank => "no-crank",
            Self::NoSpark => "no-spark",
            Self::PatternMismatch => "pattern-mismatch",
            Self::Unsteady => "unsteady",
            Self::TooFewSparks => "too-few-sparks",
            Self::Interference => "interference",
            Self::PickupsSwapped => "pickups-swapped",
            Self::WrongEdge => "wrong-edge",
            Self::SparkRate => "spark-rate",
            Self::OutsideIdleBand => "outside-idle-band",
            Self::SettingMoved => "setting-moved",
        }
    }
}

/// The reasons for withholding, the first the one to say.
pub type Reasons = Vec<Withheld, 4>;

/// What the meter measured over the capture, or since the last disturbance.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Whether a number may be shown.
    pub status: Status,
    /// Why not; empty where a number is given.
    pub reasons: Reasons,
    /// The engine turned at 100 to 300 rpm: a number without a verdict.
    pub cranking: bool,
    /// Median advance over the sparks of steady idle; `None` where withheld.
    pub advance: Option<Advance>,
    /// Expanded uncertainty of it, degrees, coverage 95 %; `None` where withheld.
    pub uncertainty: Option<f32>,
    /// Scaled median absolute deviation of the single sparks, degrees.
    pub scatter: Option<f32>,
    /// Mean speed over the sparks used; over the whole capture where none is; `None` without sync.
    pub rpm: Option<f32>,
    /// Whole turns of the crank in sync.
    pub revolutions: u32,
    /// Sparks of steady idle that the number rests on.
    pub sparks_used: u32,
    /// Events at the spark pickup that were not taken for sparks of cylinder one.
    pub sparks_rejected: u32,
    /// Crank edges found false, missing or doubtful.
    pub edges_rejected: u32,
    /// Sparks a turn, first strikes only; `None` without sync.
    pub sparks_per_revolution: Option<f32>,
    /// Mean supply at idle, volts.
    pub battery_v: Option<f32>,
    /// For a pattern of marks: crank degrees from the spark to the nearest mark.
    pub degrees_to_mark: Option<f32>,
    /// For a mismatch: the wheel that would fit, slots and missing slots.
    pub wheel_found: Option<(u8, u8)>,
}

/// How the advance goes with speed over a span of 300 rpm or more.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct SpeedTrend {
    /// Degrees gained per 1000 rpm.
    pub deg_per_1000rpm: f32,
    /// Standard uncertainty of it.
    pub slope_uncertainty: f32,
    /// The fixed delay, µs, that would explain a retard in proportion to speed; negative for a gain.
    pub delay_us: f32,
    /// Lowest speed seen, rpm.
    pub rpm_low: f32,
    /// Highest speed seen, rpm.
    pub rpm_high: f32,
}

/// Each cylinder's share of the work.
#[derive(Debug, Clone, PartialEq)]
pub struct Balance {
    /// Cylinders found weak.
    pub weak: PerCylinder<u8>,
    /// Share in cylinder order 1..n; 1 is average.
    pub share: PerCylinder<f32>,
}

/// What became of one event at the spark pickup.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SparkFate {
    /// It counts in the reading.
    Used,
    /// A spark, but the speed was outside the idle band.
    OutsideIdle,
    /// A spark at idle, but the speed was climbing or falling.
    Unsteady,
    /// The crank was not in sync around it.
    NoSync,
    /// The crank was in sync, but the marks beside it were doubtful or missing.
    Doubtful,
    /// Part of the group of strikes that an earlier spark opened, or its ringing.
    LaterStrike,
    /// Too far from where the other sparks are to be one of them.
    Stray,
    /// The capture ended before the turn after it was complete.
    AtTheEnd,
}

impl SparkFate {
    /// The fate in a word or two.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Used => "used",
            Self::OutsideIdle => "outside idle",
            Self::Unsteady => "speed changing",
            Self::NoSync => "no sync",
            Self::Doubtful => "doubtful mark",
            Self::LaterStrike => "later strike",
            Self::Stray => "stray",
            Self::AtTheEnd => "end of capture",
        }
    }
}

/// One spark with what became of it.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct SparkRecord {
    /// When, the pickup's declared delay taken off.
    pub at: Instant,
    /// Where the crank was; `None` where it was not known.
    pub advance: Option<Advance>,
    /// Mean speed over the two turns around it (one for a two-stroke); zero where not known.
    pub rpm: f32,
    /// What became of it.
    pub fate: SparkFate,
}

/// How the advance behaves beside its value: what tells one cause from another.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Signature {
    /// Gain with the small wander of idle speed, degrees per 1000 rpm, and its standard uncertainty.
    pub idle_slope: Option<(f32, f32)>,
    /// Scatter of the sparks, degrees, the part that follows the wander of speed taken off.
    pub scatter: Option<f32>,
    /// How much steeper the advance rises over the upper half of the speeds than over the lower, degrees per
    /// 1000 rpm, and its standard uncertainty.
    pub bend: Option<(f32, f32)>,
    /// Slope of the advance over the highest speeds alone, degrees per 1000 rpm, and its standard uncertainty.
    pub top_slope: Option<(f32, f32)>,
    /// Advance of the first sparks after the throttle opens minus that at idle, degrees, and its standard
    /// uncertainty.
    pub dip: Option<(f32, f32)>,
    /// Advance on the way up minus on the way down at the same speeds above idle, degrees, and its
    /// standard uncertainty.
    pub up_minus_down: Option<(f32, f32)>,
}

/// What the balance of the cylinders says.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct BalanceSigns {
    /// The cylinder most like a dead one, 1..n, however little it is.
    pub weakest: u8,
    /// The next weakest where two stand out, or, where the spark comes every turn, the one that fires 360°
    /// from it and can't be told from it; 0 else.
    pub second: u8,
    /// Its share of the work, 1 = average.
    pub share: f32,
    /// Evidence for a dead cylinder against all alike, in bits (log2 of the likelihood ratio).
    pub bits: f32,
}
