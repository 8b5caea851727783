//! What each screen shows.

use super::{GateId, Label, Mark, MenuId, MenuItem, OtherCheck, StepId, Value};
use crate::job::Rotation;
use crate::judge::Cause;

/// A menu.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Menu {
    /// Which.
    pub id: MenuId,
    /// The engine it is about.
    pub engine: Label,
    /// The items in view.
    pub items: [Option<MenuItem>; 6],
    /// Index into `items`.
    pub selected: u8,
    /// There are items before these.
    pub above: bool,
    /// There are items after these.
    pub below: bool,
}

/// The engines kept, five in view.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EngineList {
    /// Those in view; the first entry of the whole list is "enter a new engine" and stands as an empty label.
    pub engines: [Option<Label>; 5],
    /// Index into `engines`.
    pub selected: u8,
    /// Place of the selected in the whole list, from 1.
    pub number: u8,
    /// Length of the whole list.
    pub of: u8,
}

/// What a number is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Unit {
    /// A plain count.
    Count,
    /// Degrees before top dead centre; negative shows as after.
    Advance,
    /// Crank degrees without a side.
    Degrees,
    /// rpm.
    Rpm,
    /// V.
    Volt,
    /// mm.
    Millimetre,
    /// µs.
    Microsecond,
    /// Degrees per 1000 rpm.
    DegreesPer1000Rpm,
    /// Seconds.
    Second,
}

/// What a gate measured, and what it needs.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct GateValue {
    /// Measured; `None` before there is anything.
    pub measured: Option<f32>,
    /// The least that opens it.
    pub low: f32,
    /// The most that opens it; infinite where there is no upper limit.
    pub high: f32,
    /// Of all three.
    pub unit: Unit,
}

/// One line of a step: a gate and how it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct GateLine {
    /// Which.
    pub gate: GateId,
    /// How it is known.
    pub mark: Mark,
    /// What was measured, for those that are.
    pub value: Option<GateValue>,
}

/// A step done by hand, or one that waits for gates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Steps {
    /// Which: title and sentence are its words.
    pub step: StepId,
    /// Its gates, at most seven.
    pub gates: [Option<GateLine>; 7],
    /// The advance now, where the step is about a running engine.
    pub value: Option<Value>,
}

/// The step of the advance at a change, and its rise with speed: base mode proof, or control given back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BaseProof {
    /// Which step: words and title.
    pub step: StepId,
    /// The reading before the change, degrees before top dead centre; `None` if never taken.
    pub before: Option<f32>,
    /// The value now.
    pub now: Value,
    /// What the change should come to, degrees (positive = advance).
    pub expected_step: f32,
    /// What it came to.
    pub seen_step: Option<f32>,
    /// The step, told or proven.
    pub step_mark: Mark,
    /// Degrees per 1000 rpm over the blip, with its standard uncertainty.
    pub slope: Option<(f32, f32)>,
    /// Highest speed of the blip, rpm, and the speed it should reach.
    pub blip: (Option<f32>, f32),
    /// The answer to speed, told or proven.
    pub slope_mark: Mark,
}

/// How to correct.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Correction {
    /// Crank degrees to go, positive = advance.
    pub crank_deg: f32,
    /// The same at the housing.
    pub housing_deg: f32,
    /// The same at its rim, mm; `None` without a diameter.
    pub rim_mm: Option<f32>,
    /// Which way to turn the housing, facing the cap; `None` where turning is not the remedy.
    pub turn: Option<Rotation>,
}

/// The settled reading with what it means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadingScreen {
    /// Which step asks for it.
    pub step: StepId,
    /// The value.
    pub value: Value,
    /// Degrees before top dead centre.
    pub target: f32,
    /// Measured minus target, degrees, positive = early.
    pub error: Option<f32>,
    /// Half width of "on target", degrees.
    pub tolerance: f32,
    /// Scatter of the single sparks, degrees.
    pub scatter: Option<f32>,
    /// How base mode is known.
    pub base_mark: Mark,
    /// How the zero mark is known.
    pub zero_mark: Mark,
    /// The most probable cause.
    pub first_cause: Option<Cause>,
    /// The reading is settled: narrow enough against the tolerance, or as narrow as it gets.
    pub settled: bool,
    /// How to correct.
    pub correction: Option<Correction>,
}

/// The live setting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LiveScreen {
    /// Set, or SetFine.
    pub step: StepId,
    /// The value; live.
    pub value: Value,
    /// What is aimed at, degrees before top dead centre: the target, led by what the bolt will move.
    pub target: f32,
    /// Degrees that tightening the bolt is known to add; 0 where it held.
    pub bolt_moves: f32,
    /// Half width of "on target", degrees.
    pub tolerance: f32,
    /// Measured minus what is aimed at, degrees, positive = early.
    pub error: Option<f32>,
    /// Degrees per second while the setting moves, positive = advancing; zero while it stands.
    pub rate: f32,
    /// Still on target for so long, 0 to 100 % of what is needed.
    pub hold_percent: u8,
    /// What is left to turn.
    pub correction: Option<Correction>,
    /// Which way the spark really went at the first movement; `None` before any.
    pub rotor_proven: Option<bool>,
}

/// The clamp check.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClampProof {
    /// ClampBlip or BlipFine.
    pub step: StepId,
    /// Reading with the bolt loose, and what tightening is known to add: degrees before top dead centre.
    pub before: Option<f32>,
    /// The value now.
    pub now: Value,
    /// Change since, degrees.
    pub change: Option<f32>,
    /// The most allowed, degrees.
    pub allowed: f32,
    /// How the clamp's hold is known.
    pub clamp_mark: Mark,
    /// Degrees per 1000 rpm over the blip, with its standard uncertainty.
    pub slope: Option<(f32, f32)>,
    /// Highest speed of the blip, rpm, and the speed it should reach.
    pub blip: (Option<f32>, f32),
    /// The base over speed: no rise.
    pub base_mark: Mark,
}

/// What to change the computer's reference angle by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReferenceChange {
    /// Reference, or SetFine.
    pub step: StepId,
    /// The value now.
    pub value: Value,
    /// Degrees before top dead centre.
    pub target: f32,
    /// Half width of "on target", degrees.
    pub tolerance: f32,
    /// Error when the step opened, degrees, positive = early.
    pub error_before: f32,
    /// Error now.
    pub error: Option<f32>,
    /// What to add to the reference angle where it counts before top dead centre, degrees; where it counts
    /// after, the same is taken away.
    pub add_btdc: f32,
    /// The error doubled: put it back.
    pub sign_wrong: bool,
}

/// A point of a curve.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CurvePoint {
    /// rpm.
    pub rpm: f32,
    /// Degrees before top dead centre.
    pub advance: f32,
}

/// The advance against speed, and the fixed delay that it amounts to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sweep {
    /// Points gathered, by speed.
    pub points: [Option<CurvePoint>; 12],
    /// Speed now, rpm.
    pub rpm: Option<f32>,
    /// The speed to reach, rpm.
    pub reach: f32,
    /// The fixed delay to enter, µs, with its ± at 95 %; `None` until speeds span 1000 rpm.
    pub delay_us: Option<(f32, f32)>,
    /// The fitted line: degrees before top dead centre at standstill, and degrees per 1000 rpm.
    pub line: Option<(f32, f32)>,
    /// The speeds suffice.
    pub enough: bool,
}

/// The curve of a mechanical distributor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Curve {
    /// CurveOff or CurveOn.
    pub step: StepId,
    /// With the hose off, by speed.
    pub hose_off: [Option<CurvePoint>; 12],
    /// With the hose on, by speed.
    pub hose_on: [Option<CurvePoint>; 12],
    /// Speed now, rpm.
    pub rpm: Option<f32>,
    /// The advance now, degrees before top dead centre.
    pub advance: Option<f32>,
    /// The speed to reach, rpm.
    pub reach: f32,
    /// The speeds suffice.
    pub enough: bool,
}

/// Causes with their evidence, the most probable first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Causes {
    /// At most four.
    pub causes: [Option<Cause>; 4],
    /// The one whose evidence and remedy are spelt out.
    pub selected: u8,
}

/// What else makes such an engine run badly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OtherChecks {
    /// All of them, with how each is known.
    pub checks: [(OtherCheck, Mark); 5],
    /// The one whose check is spelt out.
    pub selected: u8,
}

/// A no-start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cranking {
    /// The value, of the cranking kind: wide ±, never a verdict.
    pub value: Value,
    /// Degrees before top dead centre.
    pub target: f32,
    /// Measured minus target, degrees.
    pub error: Option<f32>,
    /// The error is so wide that it is a tooth, half a turn or a lead, not a setting: see the causes.
    pub far_off: bool,
}
