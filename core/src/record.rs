//! What is kept of a job: what was found, what was done, what it was left at, and how it is known.
//!
//! *Told*, *proven*, *skipped*: how each step was passed. A record stands by itself: it names the
//! instrument, its firmware and calibration, and a hash of the job, so that two of them can be compared.
//!
//! The first byte is the version. A newer firmware opens every older version; fields are only ever added in
//! a new version, never moved in an old one.

use crate::corrections::Corrections;
use crate::guide::{Bolt, Facts, Link, POINTS, Taken};
use crate::job::{Control, Job, JobSpec, MAX_NAME};
use crate::judge::{CauseId, Verdict};
use crate::kept::{Unreadable, hash, open, seal};
use crate::units::wrap_degrees;
use crate::view::{Label, Mark, RecordDetail, RecordLine, RecordResult, StepId};
use heapless::{String, Vec};
use serde::{Deserialize, Serialize};

/// The version written.
pub const VERSION: u8 = 1;

/// Who measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Identity {
    /// The instrument's number.
    pub instrument: u32,
    /// First bytes of the firmware's commit.
    pub firmware: u32,
    /// Calibration: year, month, day.
    pub calibrated: Option<(u16, u8, u8)>,
}

/// One job, as kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// Counting up from 1 over the instrument's life.
    pub number: u32,
    /// Who measured.
    pub identity: Identity,
    /// Seconds since 1970, where somebody told the time; else `None`.
    pub clock: Option<u32>,
    /// Seconds that the job took.
    pub took_s: u32,
    /// The engine.
    pub engine: String<MAX_NAME>,
    /// Hash of the job as entered.
    pub job_hash: u32,
    /// What decides the advance.
    pub control: Control,
    /// Degrees before top dead centre.
    pub target: f32,
    /// Half width of "on target", degrees.
    pub tolerance: f32,
    /// With the computer in charge, before.
    pub steered: Option<Taken>,
    /// What was found.
    pub before: Option<Taken>,
    /// With the bolt loose, on target.
    pub set: Option<Taken>,
    /// What it was left at.
    pub after: Option<Taken>,
    /// After engine off and on.
    pub restarted: Option<Taken>,
    /// The first cause found, with its probability.
    pub cause: Option<(CauseId, f32)>,
    /// What was measured about the job.
    pub corrections: Corrections,
    /// The fixed delay found, µs, with its ±.
    pub delay_us: Option<(f32, f32)>,
    /// Slope of the last blip, degrees per 1000 rpm, with its standard uncertainty.
    pub slope: Option<(f32, f32)>,
    /// The curve with the hose off: rpm, hundredths of a degree.
    pub curve_off: Vec<(u16, i16), POINTS>,
    /// The curve with the hose on.
    pub curve_on: Vec<(u16, i16), POINTS>,
    /// How each step was passed, by the order of [`StepId::ALL`].
    pub steps: Vec<Mark, 40>,
    /// Gates proven, told, skipped or failed.
    pub marks: [u8; 3],
    /// The bolt as left.
    pub bolt: Bolt,
    /// The link as left.
    pub link: Link,
    /// Left before its end.
    pub left_early: bool,
}

/// When a job was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct When {
    /// Seconds since 1970, where known.
    pub clock: Option<u32>,
    /// Seconds that the job took.
    pub took_s: u32,
}

impl Record {
    /// The record of a job with these facts.
    pub fn of(number: u32, identity: Identity, when: When, spec: &JobSpec, job: &Job, facts: &Facts) -> Self {
        let mut steps = Vec::new();
        for mark in facts.steps() {
            let _ = steps.push(*mark);
        }
        Self {
            number,
            identity,
            clock: when.clock,
            took_s: when.took_s,
            engine: spec.name.clone(),
            job_hash: hash(spec),
            control: spec.timing.control,
            target: job.target_degrees(),
            tolerance: spec.timing.tolerance,
            steered: facts.steered,
            before: facts.before,
            set: facts.set,
            after: facts.after,
            restarted: facts.restarted,
            cause: facts.cause,
            corrections: facts.corrections,
            delay_us: facts.delay_us,
            slope: facts.slope,
            curve_off: facts.curve_off.clone(),
            curve_on: facts.curve_on.clone(),
            steps,
            marks: facts.counts(),
            bolt: facts.bolt,
            link: facts.link,
            left_early: facts.left_early,
        }
    }

    /// The record's bytes in `room`; `None` if they do not fit ([`crate::kept::LONGEST`] is enough).
    pub fn encode<'a>(&self, room: &'a mut [u8]) -> Option<&'a [u8]> {
        seal(VERSION, self, room)
    }

    /// The record in these bytes, of whatever version that this firmware or an older one wrote.
    ///
    /// # Errors
    /// [`Unreadable::Damaged`], or the version of a newer firmware.
    pub fn decode(bytes: &[u8]) -> Result<Self, Unreadable> {
        open(VERSION, bytes)
    }

    /// How the job was left against its target; `None` without a last reading.
    pub fn verdict(&self) -> Option<Verdict> {
        let error = wrap_degrees(self.after?.advance - self.target);
        Some(if error.abs() <= self.tolerance {
            Verdict::OnTarget
        } else if error < 0.0 {
            Verdict::Late
        } else {
            Verdict::Early
        })
    }

    /// How a step was passed.
    pub fn step(&self, step: StepId) -> Mark {
        self.steps.get(step as usize).copied().unwrap_or(Mark::Open)
    }

    /// As a line of a list.
    pub fn line(&self) -> RecordLine {
        RecordLine {
            number: self.number,
            engine: Label::new(&self.engine),
            after: self.after.map(|after| after.advance),
            on_target: self.verdict() == Some(Verdict::OnTarget),
        }
    }

    /// As a screen.
    pub fn detail(&self, as_code: bool) -> RecordDetail {
        let result =
            |taken: Taken| RecordResult { advance: taken.advance, doubt: taken.doubt, rpm: taken.rpm };
        RecordDetail {
            number: self.number,
            engine: Label::new(&self.engine),
            target: self.target,
            before: self.before.map(result),
            after: self.after.map(result),
            verdict: self.verdict(),
            marks: self.marks,
            cause: self.cause,
            left_early: self.left_early,
            as_code,
            instrument: self.identity.instrument,
            firmware: self.identity.firmware,
            job_hash: self.job_hash,
        }
    }
}
