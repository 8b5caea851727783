//! One field of a job being entered with four keys.

use super::{Label, Unit};
use crate::job::Problem;

listed! {
/// A field of a job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum FieldId {
    /// Name of the engine.
    Name,
    /// 1 to 12.
    Cylinders,
    /// 4 or 2.
    Strokes,
    /// The firing order, place by place.
    FiringOrder,
    /// Even, or entered one by one.
    EvenFiring,
    /// One interval, crank degrees.
    FiringInterval,
    /// How sparks are made.
    Spark,
    /// The rotor's turn.
    Rotor,
    /// What times the spark.
    Reference,
    /// Teeth of the distributor's gear, 0 for none.
    GearTeeth,
    /// Diameter of the housing, mm, 0 for not known.
    HousingDiameter,
    /// Kind of control.
    Control,
    /// The label's value.
    Base,
    /// Calibration.
    Calibration,
    /// The owner's addition.
    Extra,
    /// The fixed value held.
    Commanded,
    /// Half width of on target.
    Tolerance,
    /// What the computer adds at idle.
    HarnessOffset,
    /// Idle from.
    IdleLow,
    /// Idle to.
    IdleHigh,
    /// Least supply, V, 0 for none.
    SupplyMin,
    /// Toothed wheel or marks.
    CrankKind,
    /// Slots.
    Teeth,
    /// Missing.
    Missing,
    /// First edge after the gap.
    FirstEdge,
    /// Number of marks.
    MarkCount,
    /// One mark.
    MarkAngle,
    /// The crank's active edge.
    CrankEdge,
    /// The sensor's delay.
    SensorDelay,
    /// The clamp's active edge.
    SparkEdge,
    /// The clamp's delay.
    SparkDelay,
}
}

/// One field being edited.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FieldView {
    /// Which.
    pub field: FieldId,
    /// Which of several (place in the firing order, interval, mark), from 1.
    pub index: Option<u8>,
    /// Its place among the fields of this job, from 1, and how many there are.
    pub place: (u8, u8),
    /// The number as it stands; for a choice, the index of the chosen.
    pub number: f32,
    /// The least allowed.
    pub low: f32,
    /// The most allowed.
    pub high: f32,
    /// What `more` and `less` change it by.
    pub digit: f32,
    /// Digits after the point.
    pub decimals: u8,
    /// Of the number; `None` for a choice (its words are `words::choice(field, index)`) and a name.
    pub unit: Option<Unit>,
    /// The name so far.
    pub text: Label,
    /// Which letter of the name is being changed.
    pub letter: u8,
    /// What is wrong: the job's own error names this field; its words are those of the job.
    pub problem: Option<Problem>,
}
