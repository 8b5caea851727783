//! Everything a screen needs to draw one moment of the handheld, as plain data.
//!
//! *View*: one moment: the bar that is always there, the screen in the middle, four key labels, and what
//! may lie over it (a stop, an alarm). *Id*: which words to show; the words themselves are in `words`.
//! The only texts in a view are names that people entered, as [`Label`]s.
//!
//! Everything is `Copy` and of fixed size: a [`View`] is at most 1 KiB. Advances are crank degrees before
//! top dead centre, positive before and negative after; people never see a bare sign, so whoever draws
//! one writes its word beside it. Speeds are rpm, voltages V, times s or µs as named.

/// An enum with the list of all it can be.
macro_rules! listed {
    ($(#[$about:meta])* pub enum $name:ident { $($(#[$what:meta])* $one:ident),* $(,)? }) => {
        $(#[$about])*
        pub enum $name { $($(#[$what])* $one),* }

        impl $name {
            /// All of them, in the order in which they are declared.
            pub const ALL: &'static [Self] = &[$(Self::$one),*];
        }
    };
}

mod field;
mod ids;
mod label;
mod menus;
mod screens;
mod stops;
mod tools;

pub use field::{FieldId, FieldView};
pub use ids::{CautionId, GateId, StepId};
pub use label::Label;
pub use menus::{KeyLabel, MenuId, MenuItem, OtherCheck, SettingId};
pub use screens::{
    BaseProof, Causes, ClampProof, Correction, Cranking, Curve, CurvePoint, EngineList, GateLine, GateValue,
    LiveScreen, Menu, OtherChecks, ReadingScreen, ReferenceChange, Steps, Sweep, Unit,
};
pub use stops::{Alarm, BOLT_HOLDS, Halt, Notice};
pub use tools::{
    CorrectionLine, CorrectionList, RecordDetail, RecordLine, RecordList, RecordResult, SelfTest,
    SettingLine, Settings, Teach, TestResult, TrueZero, ZeroStage,
};

use crate::judge::{NextCheck, Verdict};
use crate::reading::Withheld;

/// One moment of the handheld. At most 1 KiB.
#[derive(Debug, Clone, Copy)]
pub struct View {
    /// What is always visible.
    pub bar: Bar,
    /// What fills the middle.
    pub screen: Screen,
    /// The four keys from left to right; [`KeyLabel::None`] where a key does nothing.
    pub keys: [KeyLabel; 4],
    /// The guide has stopped for this: drawn over the sentence, with its own words, until it is put right.
    pub halt: Option<Halt>,
    /// Danger, or a gate lost: drawn over everything, inverted, blinking.
    pub alarm: Option<Alarm>,
    /// A short word on something that just happened; goes by itself after 3 s.
    pub notice: Option<Notice>,
    /// Draw the whole screen inverted: steady on target, for those with ear protection.
    pub inverted: bool,
    /// Changes twice a second; what blinks is shown while true.
    pub blink: bool,
}

impl PartialEq for View {
    fn eq(&self, other: &Self) -> bool {
        let Self { bar, screen, keys, halt, alarm, notice, inverted, blink } = self;
        screen.is_same(&other.screen)
            && (bar, keys, halt, alarm) == (&other.bar, &other.keys, &other.halt, &other.alarm)
            && (notice, inverted, blink) == (&other.notice, &other.inverted, &other.blink)
    }
}

impl Screen {
    /// Whether both are equal: the one place where all that a screen can hold is compared, which is long.
    #[inline(never)]
    pub fn is_same(&self, other: &Self) -> bool {
        self == other
    }
}

/// What is always visible: step, speed, supply, quality.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bar {
    /// Where in the job; `None` outside one.
    pub step: Option<StepPlace>,
    /// Speed, rpm; `None` without sync. Zero is "engine stands".
    pub rpm: Option<f32>,
    /// The speed lies inside the job's idle band.
    pub in_idle_band: bool,
    /// Supply, V; `None` before the first value.
    pub supply_v: Option<f32>,
    /// The supply lies below the job's limit, while the engine runs.
    pub supply_low: bool,
    /// How good the signals are.
    pub quality: Quality,
}

/// A step and its place among those of this job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct StepPlace {
    /// Which step.
    pub id: StepId,
    /// Its number, 1 to `of`.
    pub number: u8,
    /// Steps of this job.
    pub of: u8,
}

/// How good the signals are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Quality {
    /// Nothing comes in.
    #[default]
    Silent,
    /// Edges come, but the crank's place is not known.
    NoSync,
    /// In sync, with more than 2 % of edges false, lost or filtered.
    Doubtful,
    /// In sync, some edges false, lost or filtered.
    Fair,
    /// In sync and clean.
    Good,
}

/// A value with its doubt, or why there is none.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Value {
    /// A number that the instrument stands behind.
    Shown {
        /// Degrees before top dead centre, (-180, 180].
        advance: f32,
        /// Half width at 95 %, degrees.
        doubt: f32,
        /// Since the newest spark in it, ms, at most 9999.
        age_ms: u16,
        /// Live (follows the hand) or settled (since the last disturbance).
        kind: ValueKind,
        /// Against the target; `None` while cranking.
        verdict: Option<Verdict>,
    },
    /// Sparks are being gathered; no number yet.
    Gathering {
        /// Sparks so far.
        sparks: u16,
        /// Sparks needed for a first number.
        needed: u16,
    },
    /// No number, and why: the first reason is the one to say. Never an old value.
    Withheld {
        /// One to four reasons.
        why: [Option<Withheld>; 4],
        /// For a rate that is not this ignition's: sparks a turn.
        sparks_per_turn: Option<f32>,
        /// For a wheel that is not the job's: slots and missing ones of the wheel that would fit.
        wheel_found: Option<(u8, u8)>,
    },
}

/// What a shown value rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum ValueKind {
    /// About a second of sparks.
    Live,
    /// All sparks since the last disturbance.
    Settled,
    /// At cranking speed: wide ±, no verdict.
    Cranking,
    /// From the last cranking, which is over: told as held, never as new.
    Held,
}

/// How something is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Mark {
    /// Not yet.
    Open,
    /// The technician says so: an empty ring with a dot, never a tick.
    Told,
    /// Measured: a tick.
    Proven,
    /// Measured, and it does not hold: a cross.
    Failed,
    /// Left out on purpose: a dash.
    Skipped,
}

/// What fills the middle of the screen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Screen {
    /// A menu: which, its items, the one selected.
    Menu(Menu),
    /// Choose an engine, or enter a new one.
    Engines(EngineList),
    /// One field of a job being edited.
    Field(FieldView),
    /// One caution, to be acknowledged before the step it belongs to.
    Caution {
        /// Which.
        id: CautionId,
        /// Its number among those of the step, from 1.
        number: u8,
        /// Cautions of the step.
        of: u8,
        /// Full once the key has been held long enough to count, 0 to 100.
        held_percent: u8,
    },
    /// A step that is done by hand and told, or that waits for gates: what is missing and why.
    Steps(Steps),
    /// Base mode proven: the step of the advance as the link changes, and no rise with speed.
    BaseProof(BaseProof),
    /// The settled reading, with what it means.
    Reading(ReadingScreen),
    /// The live setting.
    Live(LiveScreen),
    /// Clamp check: before and after the bolt was tightened, and over a blip.
    ClampProof(ClampProof),
    /// Control given back: base plus the offset, and a rise with speed.
    ControlProof(BaseProof),
    /// What the computer's reference angle has to be changed by, where no distributor sets the spark.
    Reference(ReferenceChange),
    /// The advance against speed at several speeds, and the fixed delay to enter.
    Sweep(Sweep),
    /// The curve of a mechanical distributor.
    Curve(Curve),
    /// Causes with their evidence.
    Causes(Causes),
    /// The check that would tell most, and what to do for it.
    NextCheck {
        /// Which.
        check: NextCheck,
        /// Offered only to be read: the clamp bolt is loose, so nothing that raises the speed.
        bolt_loose: bool,
    },
    /// What else makes such an engine run badly.
    OtherChecks(OtherChecks),
    /// A no-start: the advance at cranking speed.
    Cranking(Cranking),
    /// True zero from a two-sided piston stop.
    TrueZero(TrueZero),
    /// Teaching the wheel's first edge.
    Teach(Teach),
    /// What was measured about the job itself.
    Corrections(CorrectionList),
    /// Records kept.
    Records(RecordList),
    /// One record.
    Record(RecordDetail),
    /// Settings.
    Settings(Settings),
    /// Self-test results.
    SelfTest(SelfTest),
    /// No reading where one is needed: the reason, large.
    NoReading {
        /// Always the withheld or gathering kind.
        value: Value,
    },
}

impl View {
    /// What is shown before anything happened.
    pub const fn start() -> Self {
        Self {
            bar: Bar {
                step: None,
                rpm: None,
                in_idle_band: false,
                supply_v: None,
                supply_low: false,
                quality: Quality::Silent,
            },
            screen: Screen::SelfTest(SelfTest::running()),
            keys: [KeyLabel::None; 4],
            halt: None,
            alarm: None,
            notice: None,
            inverted: false,
            blink: false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_view_fits_into_a_kibibyte() {
        assert!(size_of::<View>() <= 1024, "{}", size_of::<View>());
    }
}
