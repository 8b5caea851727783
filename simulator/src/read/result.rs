//! The result of a reading for programs: the object and the exit status of CONTRACT.md.
//!
//! Every key is always there, what is not known is `null`, every number is finite. Numbers carry the
//! digits that mean something: the rest of a 32-bit float is noise and is rounded away.

use crate::capture::Outline;
use keyway_core::job::{Job, Rotation};
use keyway_core::judge::{CauseId, NextCheck, Verdict};
use keyway_core::meter::Report;
use keyway_core::reading::Status;
use keyway_core::units::TickRate;
use serde::Serialize;

/// A capture read to its end.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// What the capture was like.
    pub outline: Outline,
    /// What the meter says.
    pub report: Report,
}

impl Outcome {
    /// From the first time of the capture to the last, seconds.
    pub fn seconds(&self) -> f64 {
        self.outline.ticks as f64 / f64::from(TickRate::DESKTOP.hertz())
    }
}

/// 0 on target with nothing wrong, 1 any other reading, 3 no reading.
pub fn exit_status(report: &Report) -> u8 {
    let judgement = &report.judgement;
    let healthy = judgement.causes.first().is_some_and(|cause| cause.id == CauseId::Healthy);
    match (report.reading.status, judgement.verdict) {
        (Status::Withheld, _) => 3,
        (Status::Given, Some(Verdict::OnTarget)) if healthy => 0,
        (Status::Given, _) => 1,
    }
}

#[derive(Serialize)]
struct ResultObject<'a> {
    schema: u32,
    capture: CaptureObject,
    reading: ReadingObject,
    speed_trend: Option<TrendObject>,
    balance: Option<BalanceObject<'a>>,
    target_btdc_deg: Option<f64>,
    error_deg: Option<f64>,
    verdict: Option<&'static str>,
    causes: Vec<CauseObject>,
    next_check: Option<&'static str>,
    #[serde(rename = "move")]
    movement: Option<MoveObject>,
}

#[derive(Serialize)]
struct CaptureObject {
    truncated: bool,
    seconds: Option<f64>,
}

#[derive(Serialize)]
struct ReadingObject {
    status: &'static str,
    withheld_because: Vec<&'static str>,
    advance_btdc_deg: Option<f64>,
    uncertainty_deg: Option<f64>,
    scatter_deg: Option<f64>,
    rpm: Option<f64>,
    revolutions: u32,
    sparks_used: u32,
    sparks_rejected: u32,
    edges_rejected: u32,
    sparks_per_revolution: Option<f64>,
    battery_v: Option<f64>,
}

#[derive(Serialize)]
struct TrendObject {
    deg_per_1000rpm: Option<f64>,
    delay_us: Option<f64>,
    rpm_low: Option<f64>,
    rpm_high: Option<f64>,
}

#[derive(Serialize)]
struct BalanceObject<'a> {
    weak_cylinders: &'a [u8],
    share: Vec<Option<f64>>,
}

#[derive(Serialize)]
struct CauseObject {
    id: &'static str,
    probability: Option<f64>,
    because: String,
    #[serde(rename = "do")]
    remedy: String,
}

#[derive(Serialize)]
struct MoveObject {
    crank_deg: Option<f64>,
    housing_deg: Option<f64>,
    rim_mm: Option<f64>,
    turn: Option<&'static str>,
}

/// The result as one JSON object and a line end.
///
/// # Errors
/// None is known; whatever the JSON writer reports is passed on.
pub fn to_json(job: &Job, outcome: &Outcome) -> Result<String, serde_json::Error> {
    let Outcome { outline, report } = outcome;
    let reading = &report.reading;
    let judgement = &report.judgement;
    let object = ResultObject {
        schema: 1,
        capture: CaptureObject { truncated: outline.truncated, seconds: rounded(Some(outcome.seconds()), 6) },
        reading: ReadingObject {
            status: match reading.status {
                Status::Given => "given",
                Status::Withheld => "withheld",
            },
            withheld_because: reading.reasons.iter().map(|reason| reason.id()).collect(),
            advance_btdc_deg: decimal(reading.advance.map(|advance| advance.degrees()), 3),
            uncertainty_deg: decimal(reading.uncertainty, 3),
            scatter_deg: decimal(reading.scatter, 3),
            rpm: decimal(reading.rpm, 1),
            revolutions: reading.revolutions,
            sparks_used: reading.sparks_used,
            sparks_rejected: reading.sparks_rejected,
            edges_rejected: reading.edges_rejected,
            sparks_per_revolution: decimal(reading.sparks_per_revolution, 3),
            battery_v: decimal(reading.battery_v, 2),
        },
        speed_trend: report.trend.map(|trend| TrendObject {
            deg_per_1000rpm: decimal(Some(trend.deg_per_1000rpm), 3),
            delay_us: decimal(Some(trend.delay_us), 1),
            rpm_low: decimal(Some(trend.rpm_low), 0),
            rpm_high: decimal(Some(trend.rpm_high), 0),
        }),
        balance: report.balance.as_ref().map(|balance| BalanceObject {
            weak_cylinders: &balance.weak,
            share: balance.share.iter().map(|share| decimal(Some(*share), 3)).collect(),
        }),
        target_btdc_deg: decimal(Some(job.target_degrees()), 3),
        error_deg: decimal(judgement.error, 3),
        verdict: judgement.verdict.map(Verdict::id),
        causes: judgement
            .causes
            .iter()
            .map(|cause| CauseObject {
                id: cause.id.id(),
                probability: decimal(Some(cause.probability), 4),
                because: cause.because.to_string(),
                remedy: cause.remedy.to_string(),
            })
            .collect(),
        next_check: judgement.next_check.map(NextCheck::id),
        movement: judgement.movement.map(|movement| MoveObject {
            crank_deg: decimal(Some(movement.crank_deg), 3),
            housing_deg: decimal(Some(movement.housing_deg), 3),
            rim_mm: decimal(movement.rim_mm, 2),
            turn: movement.turn.map(|turn| match turn {
                Rotation::Clockwise => "clockwise",
                Rotation::Counterclockwise => "counterclockwise",
            }),
        }),
    };
    let mut text = serde_json::to_string_pretty(&object)?;
    text.push('\n');
    Ok(text)
}

/// A number with so many decimals; `None` where it is not known or not finite.
fn decimal(number: Option<f32>, decimals: i32) -> Option<f64> {
    rounded(number.map(f64::from), decimals)
}

fn rounded(number: Option<f64>, decimals: i32) -> Option<f64> {
    let scale = 10f64.powi(decimals);
    // Adding zero makes one zero of the two.
    number.map(|number| (number * scale).round() / scale + 0.0).filter(|number| number.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::capture::{Format, Names};
    use crate::read::measure;

    const JOB: &str = include_str!("../../demo/pump-six.job.toml");

    #[test]
    fn rounding_leaves_no_noise_no_minus_zero_and_nothing_that_is_not_finite() {
        assert_eq!(decimal(Some(13.9), 2), Some(13.9));
        assert_eq!(decimal(Some(0.1 + 0.2), 3), Some(0.3));
        assert_eq!(decimal(Some(-0.0001), 3).map(f64::is_sign_negative), Some(false));
        assert_eq!(decimal(Some(f32::NAN), 3), None);
        assert_eq!(decimal(Some(f32::INFINITY), 3), None);
    }

    #[test]
    fn a_withheld_result_has_every_key_and_null_for_what_is_not_known() {
        let job = crate::job_file::read::job(JOB).unwrap();
        let capture = "time_s,crank,spark1\n0,0,0\n2.5,0,0\n";
        let outcome = measure(capture.as_bytes(), Format::Csv, &Names::default(), &job, None).unwrap();
        assert_eq!(exit_status(&outcome.report), 3);
        let text = to_json(&job, &outcome).unwrap();
        let object: serde_json::Value = serde_json::from_str(&text).unwrap();
        let keys = |value: &serde_json::Value| {
            value.as_object().unwrap().keys().cloned().collect::<std::collections::BTreeSet<_>>()
        };
        let expected = [
            "schema",
            "capture",
            "reading",
            "speed_trend",
            "balance",
            "target_btdc_deg",
            "error_deg",
            "verdict",
            "causes",
            "next_check",
            "move",
        ];
        assert_eq!(keys(&object), expected.map(String::from).into());
        let expected = [
            "status",
            "withheld_because",
            "advance_btdc_deg",
            "uncertainty_deg",
            "scatter_deg",
            "rpm",
            "revolutions",
            "sparks_used",
            "sparks_rejected",
            "edges_rejected",
            "sparks_per_revolution",
            "battery_v",
        ];
        assert_eq!(keys(&object["reading"]), expected.map(String::from).into());
        assert_eq!(object["capture"], serde_json::json!({ "truncated": false, "seconds": 2.5 }));
        assert_eq!(object["reading"]["status"], "withheld");
        assert_eq!(object["reading"]["withheld_because"][0], "no-crank");
        assert!(object["reading"]["advance_btdc_deg"].is_null() && object["verdict"].is_null());
        assert!(text.ends_with("}\n"));
    }
}
