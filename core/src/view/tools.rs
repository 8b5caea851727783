//! What the screens beside the job's steps show: true zero, teaching, records, settings, self-test.

use super::{Label, SettingId, Value};
use crate::job::Rotation;
use crate::judge::{CauseId, Verdict};

/// Where the true-zero entry stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum ZeroStage {
    /// Prepare: cold, battery off, plugs out, stop in.
    Prepare,
    /// Turn by hand the engine's way until it meets the stop; enter what the pointer reads.
    First,
    /// Turn by hand the other way; enter.
    Second,
    /// The result, to be taken.
    Result,
    /// Stop out, to be acknowledged.
    StopOut,
}

/// True zero from a two-sided piston stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrueZero {
    /// Where it stands.
    pub stage: ZeroStage,
    /// The reading being entered, degrees before top dead centre (negative = after), in steps of 0.1.
    pub entry: f32,
    /// The digit being changed: 100, 10, 1 or 0.1 degrees.
    pub digit: f32,
    /// The first reading.
    pub first: Option<f32>,
    /// The second reading.
    pub second: Option<f32>,
    /// Where the mark's zero lies, degrees before true top dead centre, and its ±.
    pub mark_btdc: Option<(f32, f32)>,
}

/// Teaching the wheel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Teach {
    /// The first edge as entered, degrees before top dead centre.
    pub entered: f32,
    /// As found, with its ±; `None` until there are enough turns.
    pub found: Option<(f32, f32)>,
    /// Turns in it, and turns needed.
    pub turns: (u16, u16),
    /// Why there is none, where something is in the way.
    pub value: Value,
}

/// Something measured about the job, that stands in place of what was entered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CorrectionLine {
    /// Where the mark's zero really lies.
    Zero {
        /// Degrees before true top dead centre.
        mark_btdc: f32,
        /// Half width at 95 %, degrees.
        doubt: f32,
        /// The taught wheel stands in place of it.
        idle: bool,
    },
    /// The first edge, or the first mark, degrees before top dead centre.
    Wheel {
        /// As entered.
        entered: f32,
        /// As taught.
        found: f32,
        /// Half width at 95 %, degrees.
        doubt: f32,
    },
    /// The rotor's turn, facing the cap; the other one was entered.
    Rotor(Rotation),
}

/// The corrections of a job.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CorrectionList {
    /// Those that stand.
    pub lines: [Option<CorrectionLine>; 3],
    /// Index into `lines`.
    pub selected: u8,
}

/// A record in a list.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RecordLine {
    /// Its number, counting up from 1 over the instrument's life.
    pub number: u32,
    /// The engine.
    pub engine: Label,
    /// The advance it ended with, degrees before top dead centre.
    pub after: Option<f32>,
    /// Within the tolerance at the end.
    pub on_target: bool,
}

/// Records kept, the newest first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RecordList {
    /// Those in view.
    pub lines: [Option<RecordLine>; 4],
    /// Index into `lines`.
    pub selected: u8,
    /// Place of the selected in all, from 1.
    pub number: u16,
    /// All.
    pub of: u16,
}

/// A value in a record.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct RecordResult {
    /// Degrees before top dead centre.
    pub advance: f32,
    /// ± at 95 %, degrees.
    pub doubt: f32,
    /// rpm.
    pub rpm: f32,
}

/// One record; what it shows of it fits one screen, the rest is in its code (`qr`) and on the desktop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RecordDetail {
    /// Its number.
    pub number: u32,
    /// The engine.
    pub engine: Label,
    /// Degrees before top dead centre.
    pub target: f32,
    /// What was found.
    pub before: Option<RecordResult>,
    /// What it was left at.
    pub after: Option<RecordResult>,
    /// Against the target at the end.
    pub verdict: Option<Verdict>,
    /// Gates proven, told, skipped.
    pub marks: [u8; 3],
    /// The first cause found, with its probability.
    pub cause: Option<(CauseId, f32)>,
    /// The job was left before its end.
    pub left_early: bool,
    /// Show the code instead of the text.
    pub as_code: bool,
    /// Instrument, firmware and job hash, for the code.
    pub instrument: u32,
    /// First bytes of the firmware's commit.
    pub firmware: u32,
    /// Hash of the job.
    pub job_hash: u32,
}

/// A setting and its value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct SettingLine {
    /// Which.
    pub id: SettingId,
    /// 0 to 5, or 0 and 1 for off and on.
    pub value: u8,
    /// The most.
    pub most: u8,
}

/// The settings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Settings {
    /// All of them.
    pub lines: [SettingLine; 4],
    /// Index into `lines`.
    pub selected: u8,
}

/// How one part of the self-test went.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum TestResult {
    /// Not yet done.
    Running,
    /// Passed.
    Passed,
    /// Failed.
    Failed,
    /// This part is not there.
    Absent,
}

/// Self-test results.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SelfTest {
    /// Known pattern looped through the capture path.
    pub capture: TestResult,
    /// Its angle's error, degrees.
    pub angle_error: Option<f32>,
    /// Memory of jobs and records.
    pub store: TestResult,
    /// Supply measured.
    pub supply: TestResult,
    /// The last start ended in a panic or a watchdog reset.
    pub last_run_failed: bool,
    /// First bytes of the firmware's commit.
    pub firmware: u32,
    /// The instrument's number.
    pub instrument: u32,
    /// Calibration: year, month, day.
    pub calibrated: Option<(u16, u8, u8)>,
}

impl SelfTest {
    /// Nothing tested yet.
    pub const fn running() -> Self {
        Self {
            capture: TestResult::Running,
            angle_error: None,
            store: TestResult::Running,
            supply: TestResult::Running,
            last_run_failed: false,
            firmware: 0,
            instrument: 0,
            calibrated: None,
        }
    }
}
