//! What may be said at all, whatever came in.

use keyway_core::job::Job;
use keyway_core::meter::Report;
use keyway_core::reading::{LiveValue, SparkFate, SparkRecord, Status};
use keyway_core::units::Advance;

fn in_half_a_turn(advance: Advance) {
    let degrees = advance.degrees();
    assert!(degrees > -180.0 && degrees <= 180.0, "an advance of {degrees}");
}

fn finite_or_absent(what: &str, value: Option<f32>) {
    assert!(value.is_none_or(f32::is_finite), "{what} of {value:?}");
}

/// One settled event at the spark pickup.
pub(crate) fn record(record: &SparkRecord) {
    if let Some(advance) = record.advance {
        in_half_a_turn(advance);
    }
    assert!(record.rpm.is_finite() && record.rpm >= 0.0, "{record:?}");
    assert!(record.fate != SparkFate::Used || record.advance.is_some(), "{record:?}");
}

/// The value that follows the hand.
pub(crate) fn live(value: Option<LiveValue>) {
    let Some(value) = value else { return };
    in_half_a_turn(value.advance);
    assert!(value.doubt.is_finite() && value.doubt >= 0.0, "{value:?}");
    assert!(value.degrees_per_second.is_finite(), "{value:?}");
}

/// A whole report.
pub(crate) fn report(job: &Job, report: &Report) {
    reading(report);
    judgement(job, report);
    if let Some(trend) = &report.trend {
        for value in [trend.deg_per_1000rpm, trend.slope_uncertainty, trend.delay_us] {
            assert!(value.is_finite(), "{trend:?}");
        }
        assert!(trend.slope_uncertainty >= 0.0 && trend.rpm_low <= trend.rpm_high, "{trend:?}");
    }
}

fn reading(report: &Report) {
    let reading = &report.reading;
    let given = reading.status == Status::Given;
    assert_eq!(given, reading.reasons.is_empty(), "{reading:?}");
    assert_eq!(given, reading.advance.is_some(), "{reading:?}");
    assert_eq!(given, reading.uncertainty.is_some(), "{reading:?}");
    if let Some(advance) = reading.advance {
        in_half_a_turn(advance);
    }
    assert!(reading.uncertainty.is_none_or(|doubt| doubt.is_finite() && doubt > 0.0), "{reading:?}");
    assert!(reading.scatter.is_none_or(|scatter| scatter.is_finite() && scatter >= 0.0), "{reading:?}");
    assert!(reading.rpm.is_none_or(|rpm| rpm.is_finite() && rpm >= 0.0), "{reading:?}");
    finite_or_absent("sparks a turn", reading.sparks_per_revolution);
    finite_or_absent("supply", reading.battery_v);
    finite_or_absent("way to the mark", reading.degrees_to_mark);
}

fn judgement(job: &Job, report: &Report) {
    let judgement = &report.judgement;
    let (given, cranking) = (report.reading.status == Status::Given, report.reading.cranking);
    assert_eq!(judgement.verdict.is_some(), given && !cranking, "{judgement:?}");
    assert_eq!(judgement.error.is_some(), given, "{judgement:?}");
    assert!(judgement.error.is_none_or(|error| error > -180.0 && error <= 180.0), "{judgement:?}");
    let total: f32 = judgement.causes.iter().map(|cause| cause.probability).sum();
    if judgement.verdict.is_some() {
        assert!(!judgement.causes.is_empty(), "{judgement:?}");
    }
    if !judgement.causes.is_empty() {
        assert!((total - 1.0).abs() <= 0.01, "the causes sum to {total}: {judgement:?}");
    }
    for cause in &judgement.causes {
        assert!((0.0..=1.0).contains(&cause.probability), "{judgement:?}");
    }
    if let Some(movement) = &judgement.movement {
        assert!(movement.crank_deg.is_finite() && movement.housing_deg.is_finite(), "{movement:?}");
        finite_or_absent("way at the rim", movement.rim_mm);
        assert!(movement.turn.is_none() || job.distributor_times_spark(), "{movement:?}");
    }
}
