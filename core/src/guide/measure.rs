//! Gates that open by what was measured.

use super::{Clock, Facts, Now};
use crate::job::Control;
use crate::reading::{Withheld, can_weigh};
use crate::view::{GateId, GateValue, Unit};

/// What a measured gate shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Measure {
    /// It holds; `None` while it can't be told.
    pub(super) holds: Option<bool>,
    /// The number, where there is one.
    pub(super) value: Option<GateValue>,
}

/// A gate must hold so long to open, ms.
const LONG_ENOUGH_MS: u32 = 2000;

/// Weights at work at idle move the advance by more than this with the wander, degrees per 1000 rpm: a
/// third of what they do at work (8 to 15, common practice, no source).
const FOLLOWS: f32 = 4.0;

/// The idle is watched so long for its wander before the weights may be told to be at rest, ms.
const WANDERS_MS: u32 = 12_000;

/// An idle as long as this, and the cylinders are weighed if they can be.
const WEIGHED_MS: u32 = 8000;

fn plain(holds: Option<bool>) -> Option<Measure> {
    Some(Measure { holds, value: None })
}

/// What is measured of a gate; `None` for a gate that can only be told.
pub(super) fn measure(gate: GateId, now: &Now, clock: &Clock, facts: &Facts) -> Option<Measure> {
    let sensed = now.sensed;
    let timing = &now.job.spec().timing;
    let [low, high] = timing.idle_rpm;
    let since = |start: Option<u32>| start.map_or(0, |start| sensed.ms.wrapping_sub(start));
    match gate {
        // Silence of a trigger that never spoke proves nothing.
        GateId::EngineStands if !clock.trigger_seen => {
            if sensed.turning {
                plain(Some(false))
            } else {
                None
            }
        }
        GateId::EngineStands => plain(Some(since(clock.still_since) >= LONG_ENOUGH_MS)),
        GateId::SupplySeen => Some(Measure {
            holds: sensed.supply.map(|volts| volts >= 6.0),
            value: Some(GateValue {
                measured: sensed.supply,
                low: 6.0,
                high: f32::INFINITY,
                unit: Unit::Volt,
            }),
        }),
        GateId::EngineRuns => Some(Measure {
            holds: Some(since(clock.running_since) >= LONG_ENOUGH_MS),
            value: Some(GateValue {
                measured: sensed.rpm,
                low: running_rpm(low),
                high: f32::INFINITY,
                unit: Unit::Rpm,
            }),
        }),
        GateId::WheelKnown => {
            let wrong = sensed.known.why.iter().flatten().any(|why| {
                matches!(why, Withheld::PatternMismatch | Withheld::WrongEdge | Withheld::PickupsSwapped)
            });
            // While the starter turns it, a wheel may be lost again: it is proven once the engine runs.
            let runs = clock.running_since.is_some();
            plain(if sensed.in_sync { runs.then_some(true) } else { wrong.then_some(false) })
        }
        GateId::SparksRight => {
            let due = f32::from(now.job.sparks_per_cycle()) / f32::from(now.job.turns_per_cycle());
            let wrong =
                sensed.known.why.iter().flatten().any(|why| {
                    matches!(why, Withheld::SparkRate | Withheld::NoSpark | Withheld::PickupsSwapped)
                });
            let right = sensed.known.sparks_per_turn.map(|rate| (rate / due - 1.0).abs() < 0.2 && !wrong);
            Some(Measure {
                holds: right.filter(|_| since(clock.running_since) >= LONG_ENOUGH_MS),
                value: Some(GateValue {
                    measured: sensed.known.sparks_per_turn,
                    low: due,
                    high: due,
                    unit: Unit::Count,
                }),
            })
        }
        GateId::IdleInBand => Some(Measure {
            holds: Some(since(clock.in_band_since) >= LONG_ENOUGH_MS),
            value: Some(GateValue { measured: sensed.rpm, low, high, unit: Unit::Rpm }),
        }),
        GateId::SupplyHealthy => {
            let limit = timing.supply_min_v?;
            // Before it has idled for a while, what the starter drew is still in the mean.
            let idles = since(clock.in_band_since) >= LONG_ENOUGH_MS;
            let volts = sensed.known.supply.filter(|_| idles);
            Some(Measure {
                holds: volts.map(|volts| volts >= limit),
                value: Some(GateValue { measured: volts, low: limit, high: f32::INFINITY, unit: Unit::Volt }),
            })
        }
        GateId::CylindersWork => {
            // Told only where it cannot be weighed, or not within this time.
            let works = sensed.known.balanced.then_some(sensed.known.weak == [0, 0]);
            let waits = || since(clock.in_band_since) < WEIGHED_MS && can_weigh(now.job);
            if works.is_some() || waits() { plain(works) } else { None }
        }
        GateId::BelowWeights => {
            let (slope, doubt) = clock.wander_slope().unwrap_or((0.0, f32::INFINITY));
            let follows = slope > FOLLOWS && slope > 4.0 * doubt;
            let sure = doubt < 0.3 * FOLLOWS;
            let value = (follows || sure).then_some(GateValue {
                measured: Some(slope),
                low: -FOLLOWS,
                high: FOLLOWS,
                unit: Unit::DegreesPer1000Rpm,
            });
            // An idle that wanders too little to tell within this time can only be told.
            let waits = since(clock.in_band_since) < LONG_ENOUGH_MS || sensed.settled_ms < WANDERS_MS;
            (value.is_some() || waits).then_some(Measure { holds: value.map(|_| !follows), value })
        }
        GateId::ZeroKnown => {
            let proven = facts.corrections.shift().is_some();
            if proven { plain(Some(true)) } else { None }
        }
        GateId::KeyOut
        | GateId::Uncoupled
        | GateId::OutOfGear
        | GateId::ExhaustOut
        | GateId::LeadsClear
        | GateId::ClampOnOne
        | GateId::WitnessScribed
        | GateId::BoltSnug
        | GateId::PointsSet
        | GateId::HandsClear
        | GateId::Warm
        | GateId::ChokeOff
        | GateId::HosesOff
        | GateId::HosesOn
        | GateId::LinkSet
        | GateId::BaseStep
        | GateId::NoRise
        | GateId::FixedHeld
        | GateId::TrimsOff
        | GateId::Settled
        | GateId::OnTarget
        | GateId::BoltTight
        | GateId::ClampHeld
        | GateId::ReferenceEntered
        | GateId::SpeedsSeen
        | GateId::DelayEntered
        | GateId::StoredInComputer
        | GateId::LinkBack
        | GateId::OffsetBack
        | GateId::RisesAgain
        | GateId::Restarted
        | GateId::LeadsOff
        | GateId::StopOut
        | GateId::RecordStored => None,
    }
}

/// The speed above which an engine runs by itself, rpm: half its lowest idle, but above any starter.
pub(super) fn running_rpm(idle_low: f32) -> f32 {
    (idle_low * 0.5).max(320.0).min(idle_low)
}

/// The speed that a blip, the sweep or a curve has to reach, rpm.
pub(super) fn reach(now: &Now, step: crate::view::StepId) -> f32 {
    use crate::view::StepId;
    let [low, high] = now.job.spec().timing.idle_rpm;
    match step {
        StepId::Sweep => low + 1600.0,
        StepId::CurveOff | StepId::CurveOn => high + 1800.0,
        _ => high + 700.0,
    }
}

/// Whether base mode is this job's business.
pub(super) fn has_link(now: &Now) -> bool {
    now.job.spec().timing.control == Control::Computer
}
