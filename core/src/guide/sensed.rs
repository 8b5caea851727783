//! What the guide sees of the engine at a tick: the meter's word, boiled down to what can be copied.

use crate::corrections::Corrections;
use crate::judge::{Cause, Move, NextCheck, Verdict};
use crate::meter::{Meter, Report};
use crate::reading::{SpeedTrend, Status, Withheld};
use crate::view::{Quality, Value, ValueKind};

/// The settled reading and what it means.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Known {
    /// Degrees before top dead centre; `None` while withheld or gathering.
    pub advance: Option<f32>,
    /// Half width at 95 % with that of the corrections, degrees.
    pub doubt: f32,
    /// Scatter of the single sparks, degrees.
    pub scatter: Option<f32>,
    /// Mean speed, rpm.
    pub rpm: Option<f32>,
    /// Cranking: no verdict.
    pub cranking: bool,
    /// Why there is none.
    pub why: [Option<Withheld>; 4],
    /// Sparks it rests on.
    pub sparks: u16,
    /// Sparks a turn.
    pub sparks_per_turn: Option<f32>,
    /// The wheel that would fit.
    pub wheel_found: Option<(u8, u8)>,
    /// Mean supply at idle, V.
    pub supply: Option<f32>,
    /// Measured minus target.
    pub error: Option<f32>,
    /// Against the target.
    pub verdict: Option<Verdict>,
    /// The most probable causes.
    pub causes: [Option<Cause>; 4],
    /// The check that would tell most.
    pub next_check: Option<NextCheck>,
    /// How to correct.
    pub movement: Option<Move>,
    /// Advance against speed.
    pub trend: Option<SpeedTrend>,
    /// Cylinders found weak; zeros for none.
    pub weak: [u8; 2],
    /// The balance could be told.
    pub balanced: bool,
    /// Since the newest spark, ms, at most 9999.
    pub age_ms: u16,
}

impl Known {
    /// What the meter's report comes to, its ± widened by that of the corrections.
    pub fn of(report: &Report, corrections: &Corrections) -> Self {
        let reading = &report.reading;
        let given = reading.status == Status::Given;
        let mut known = Self {
            advance: reading.advance.filter(|_| given).map(|advance| advance.degrees()),
            doubt: corrections.widen(reading.uncertainty.unwrap_or(0.0)),
            scatter: reading.scatter,
            rpm: reading.rpm,
            cranking: reading.cranking,
            sparks: reading.sparks_used.min(9999) as u16,
            sparks_per_turn: reading.sparks_per_revolution,
            wheel_found: reading.wheel_found,
            supply: reading.battery_v,
            error: report.judgement.error,
            verdict: report.judgement.verdict,
            next_check: report.judgement.next_check,
            movement: report.judgement.movement,
            trend: report.trend,
            balanced: report.balance.is_some(),
            ..Self::default()
        };
        for (place, why) in known.why.iter_mut().zip(&reading.reasons) {
            *place = Some(*why);
        }
        for (place, cause) in known.causes.iter_mut().zip(&report.judgement.causes) {
            *place = Some(*cause);
        }
        if let Some(balance) = &report.balance {
            for (place, cylinder) in known.weak.iter_mut().zip(&balance.weak) {
                *place = *cylinder;
            }
        }
        known
    }

    /// It is too old to be shown: from now on no number, and why.
    pub fn fade(&mut self, why: Withheld) {
        (self.advance, self.error, self.verdict, self.movement) = (None, None, None, None);
        self.why = [Some(why), None, None, None];
    }

    /// The settled value as a screen shows it.
    pub fn value(&self) -> Value {
        match self.advance {
            Some(advance) => Value::Shown {
                advance,
                doubt: self.doubt,
                age_ms: self.age_ms,
                kind: if self.cranking { ValueKind::Cranking } else { ValueKind::Settled },
                verdict: self.verdict,
            },
            None if self.why == [Some(Withheld::TooFewSparks), None, None, None] => {
                Value::Gathering { sparks: self.sparks, needed: FIRST_NUMBER }
            }
            None => Value::Withheld {
                why: self.why,
                sparks_per_turn: self.sparks_per_turn,
                wheel_found: self.wheel_found,
            },
        }
    }
}

/// Sparks that a first number needs.
const FIRST_NUMBER: u16 = 6;

/// The value that follows the hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Followed {
    /// Degrees before top dead centre.
    pub advance: f32,
    /// Half width at about 95 %, degrees.
    pub doubt: f32,
    /// Degrees per second, zero while it stands.
    pub rate: f32,
}

/// What the guide sees at a tick.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Sensed {
    /// Milliseconds on the instrument's clock, wrapping.
    pub ms: u32,
    /// A crank edge came within the last half second.
    pub turning: bool,
    /// Quicker than any hand turns it.
    pub turning_fast: bool,
    /// Ticks of any edge at all since the last tick.
    pub any_edge: bool,
    /// The crank's place is known.
    pub in_sync: bool,
    /// Speed of the newest turn; `None` out of sync.
    pub rpm: Option<f32>,
    /// The live value.
    pub live: Option<Followed>,
    /// The settled reading; renewed four times a second.
    pub known: Known,
    /// Milliseconds since the meter was last restarted.
    pub settled_ms: u32,
    /// Supply now, V.
    pub supply: Option<f32>,
    /// How good the signals are.
    pub quality: Quality,
}

impl Sensed {
    /// The live value of a meter, widened by the corrections.
    pub fn followed(meter: &Meter, corrections: &Corrections) -> Option<Followed> {
        let live = meter.live(meter.now())?;
        Some(Followed {
            advance: live.advance.degrees(),
            doubt: corrections.widen(2.0 * live.doubt),
            rate: live.degrees_per_second,
        })
    }

    /// How good a meter's signals are.
    pub fn quality_of(meter: &Meter, turning: bool) -> Quality {
        if !turning {
            return Quality::Silent;
        }
        if !meter.in_sync() {
            return Quality::NoSync;
        }
        let signals = meter.signals();
        let crank = signals.crank;
        let wrong = crank.false_edges + crank.missing_edges + signals.pulses_removed;
        if wrong == 0 {
            Quality::Good
        } else if wrong.saturating_mul(50) > crank.edges {
            Quality::Doubtful
        } else {
            Quality::Fair
        }
    }
}
