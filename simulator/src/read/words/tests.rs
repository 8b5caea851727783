//! What people are told, from results made by hand.

use super::*;
use crate::capture::Outline;
use keyway_core::job::Rotation;
use keyway_core::judge::{Because, Cause, CauseId, Judgement, Move, NextCheck, Remedy, Verdict};
use keyway_core::meter::Report;
use keyway_core::reading::{Reading, Reasons, Withheld};
use keyway_core::units::Advance;

const JOB: &str = include_str!("../../../demo/pump-six.job.toml");

fn job() -> Job {
    crate::job_file::read::job(JOB).unwrap()
}

fn cause(id: CauseId, because: Because) -> Cause {
    Cause { id, probability: 1.0, because, remedy: Remedy(id) }
}

/// A reading of the demonstration's engine: label 10° BTDC, tolerance 1°.
fn given(degrees: f64, verdict: Option<Verdict>, cause: Cause) -> Outcome {
    let error = degrees as f32 - 10.0;
    let mut causes = keyway_core::judge::Causes::new();
    causes.push(cause).unwrap();
    let turn = (verdict != Some(Verdict::OnTarget)).then_some(Rotation::Counterclockwise);
    Outcome {
        outline: Outline { first_seconds: 0.0, ticks: 100_000_000, step_ticks: 1.0, truncated: false },
        report: Report {
            reading: Reading {
                status: Status::Given,
                reasons: Reasons::new(),
                cranking: verdict.is_none(),
                advance: Some(Advance::from_degrees(degrees)),
                uncertainty: Some(0.12),
                scatter: Some(0.3),
                rpm: Some(712.0),
                revolutions: 84,
                sparks_used: 41,
                sparks_rejected: 1,
                edges_rejected: 3,
                sparks_per_revolution: Some(0.5),
                battery_v: Some(13.9),
                degrees_to_mark: None,
                wheel_found: None,
            },
            trend: None,
            balance: None,
            judgement: Judgement {
                verdict,
                error: Some(error),
                causes,
                next_check: None,
                movement: Some(Move {
                    crank_deg: -error,
                    housing_deg: -error / 2.0,
                    rim_mm: Some(1.5),
                    turn,
                }),
                base_mode_unproven: false,
                sureness: 0.9,
            },
        },
    }
}

fn withheld(reason: Withheld) -> Outcome {
    let healthy = cause(CauseId::Healthy, Because::Within { error: 0.0 });
    let mut outcome = given(10.0, Some(Verdict::OnTarget), healthy);
    outcome.report.reading.status = Status::Withheld;
    outcome.report.reading.advance = None;
    outcome.report.reading.uncertainty = None;
    outcome.report.reading.reasons.push(reason).unwrap();
    outcome
}

fn healthy(degrees: f64) -> Outcome {
    given(degrees, Some(Verdict::OnTarget), cause(CauseId::Healthy, Because::Within { error: 0.0 }))
}

fn first_line(outcome: &Outcome) -> String {
    to_text(&job(), outcome).lines().next().unwrap().to_owned()
}

#[test]
fn an_advance_is_told_with_its_side_and_never_with_a_sign() {
    assert_eq!(advance(9.98, 1), "10.0° BTDC");
    assert_eq!(advance(-10.12, 1), "10.1° ATDC");
    assert_eq!(advance(-0.04, 1), "0.0° (top dead centre)");
    assert_eq!(advance(-0.04, 2), "0.04° ATDC");
}

#[test]
fn on_target_opens_with_that_and_gives_nothing_to_turn() {
    let text = to_text(&job(), &healthy(9.98));
    assert!(
        text.starts_with("On target: reads 10.0° BTDC ± 0.1°, and the target is 10.0° BTDC ± 1.0°.\n"),
        "{text}"
    );
    assert!(!text.contains("turn the housing"), "{text}");
}

#[test]
fn off_target_says_how_far_to_turn_and_that_the_label_goes_first() {
    let off = cause(CauseId::OffTarget, Because::Off { error: -5.0 });
    let text = to_text(&job(), &given(5.0, Some(Verdict::Late), off));
    assert!(
        text.starts_with("Off target: reads 5.0° BTDC ± 0.1°, 5.0° late for the target of 10.0° BTDC.\n"),
        "{text}"
    );
    assert!(
        text.contains("To advance it by 5.0°, turn the housing 2.5° counterclockwise facing the cap, 1.5 mm")
    );
    assert!(text.contains("label and manual go before this"), "{text}");
}

#[test]
fn what_is_too_much_for_a_setting_is_not_turned_away() {
    let off = cause(CauseId::OffTarget, Because::Off { error: -94.0 });
    let text = to_text(&job(), &given(-84.0, Some(Verdict::Late), off));
    assert!(text.contains("can hardly be set 94° off") && !text.contains("turn the housing"), "{text}");
}

#[test]
fn a_cause_that_turning_does_not_mend_is_named_in_place_of_a_turn() {
    let tooth = cause(CauseId::DriveToothOff, Because::ToothAway { teeth: 1, error: -55.0 });
    let text = to_text(&job(), &given(-45.0, Some(Verdict::Late), tooth));
    assert!(text.contains("; most likely the distributor is in a tooth out."), "{text}");
    assert!(text.contains("Before the housing is turned, settle"), "{text}");
    assert!(!text.contains("turn the housing"), "{text}");
}

#[test]
fn on_target_with_a_cause_opens_with_the_cause() {
    // The sentence of CONTRACT.md.
    let steering = cause(CauseId::NotInBaseMode, Because::RisesWithSpeed { per_1000: 8.0 });
    let mut outcome = given(10.0, Some(Verdict::OnTarget), steering);
    outcome.report.judgement.base_mode_unproven = true;
    let expected = "Reads 10.0° BTDC, but the computer is steering: this is not the base.";
    assert_eq!(first_line(&outcome), expected);
    assert!(to_text(&job(), &outcome).contains("not proven in base mode"));
}

#[test]
fn without_proof_of_base_mode_the_text_opens_with_that_and_nobody_turns() {
    let off = cause(CauseId::OffTarget, Because::Off { error: 6.0 });
    let mut outcome = given(16.0, Some(Verdict::Early), off);
    outcome.report.judgement.base_mode_unproven = true;
    let text = to_text(&job(), &outcome);
    assert!(text.starts_with("Not proven in base mode: reads 16.0° BTDC"), "{text}");
    assert!(
        text.contains("nobody sets anything by this number") && !text.contains("turn the housing"),
        "{text}"
    );
}

#[test]
fn a_doubt_wider_than_the_tolerance_is_told_with_what_narrows_it() {
    let mut outcome = healthy(10.0);
    outcome.report.reading.uncertainty = Some(1.4);
    let text = to_text(&job(), &outcome);
    assert!(text.contains("± 1.4° is wider than the tolerance of ± 1.0°"), "{text}");
    assert!(text.contains("longer steady idle"), "{text}");
    outcome.report.reading.degrees_to_mark = Some(84.0);
    let text = to_text(&job(), &outcome);
    assert!(text.contains("a mark nearer to the spark, and record"), "{text}");
    assert!(
        text.contains("passes 84° from the spark; a mark nearer to the spark gives a smaller ±"),
        "{text}"
    );
}

#[test]
fn cranking_gives_a_number_without_a_verdict() {
    let outcome = given(8.0, None, cause(CauseId::Healthy, Because::Within { error: 0.0 }));
    assert!(
        first_line(&outcome)
            .starts_with("While cranking it reads 8.0° BTDC ± 0.1°, 2.0° late for the target of 10.0° BTDC:")
    );
    assert_eq!(crate::read::exit_status(&outcome.report), 1);
}

#[test]
fn every_reason_for_withholding_has_its_sentence_and_what_to_do() {
    let reasons = [
        (Withheld::NoCrank, "crank pickup gives no edges"),
        (Withheld::NoSpark, "clamp gives no sparks"),
        (Withheld::PatternMismatch, "not that of the job's wheel (36 slots, 1 missing)"),
        (Withheld::Unsteady, "never steady enough"),
        (Withheld::TooFewSparks, "only 41 sparks of steady idle"),
        (Withheld::Interference, "not the engine's"),
        (Withheld::PickupsSwapped, "at the spark clamp"),
        (Withheld::WrongEdge, "other edge of the crank signal"),
        (Withheld::SparkRate, "sees 0.50 sparks a turn, where this ignition makes 0.50"),
        (Withheld::OutsideIdleBand, "712 rpm, outside the idle band of 600 to 900 rpm"),
        (Withheld::SettingMoved, "moved during the capture"),
    ];
    for (reason, words) in reasons {
        let outcome = withheld(reason);
        let text = to_text(&job(), &outcome);
        assert!(text.starts_with("No reading: ") && text.contains(words), "{text}");
        assert!(text.lines().nth(1).is_some_and(|line| line.len() > 20 && line.ends_with('.')), "{text}");
        assert_eq!(crate::read::exit_status(&outcome.report), 3);
    }
    let mut outcome = withheld(Withheld::PatternMismatch);
    outcome.report.reading.wheel_found = Some((60, 2));
    assert!(first_line(&outcome).contains("a wheel of 60 slots, 2 missing, would fit"));
}

#[test]
fn a_cut_file_coarse_time_and_the_next_check_are_told() {
    let mut outcome = healthy(10.0);
    outcome.outline.truncated = true;
    outcome.outline.step_ticks = 10_000.0;
    outcome.report.judgement.next_check = Some(NextCheck::Blip);
    let text = to_text(&job(), &outcome);
    assert!(text.contains("The file ends in the middle"), "{text}");
    assert!(text.contains("steps of 1 ms, which is 4.3° at this speed"), "{text}");
    assert!(text.contains("Next check\n  "), "{text}");
    assert!(!text.contains(".."), "{text}");
}

#[test]
fn exit_status_zero_needs_the_target_and_nothing_wrong() {
    assert_eq!(crate::read::exit_status(&healthy(10.0).report), 0);
    let weak = cause(CauseId::WeakSupply, Because::LowSupply { volts: 12.1, limit: 13.2 });
    assert_eq!(crate::read::exit_status(&given(10.0, Some(Verdict::OnTarget), weak).report), 1);
}

#[test]
fn causes_that_fit_equally_are_called_a_tie_and_two_faults_at_once_are_not() {
    let late = cause(CauseId::OffTarget, Because::Off { error: -4.5 });
    let mut outcome = given(5.5, Some(Verdict::Late), Cause { probability: 0.5, ..late });
    let delay = cause(CauseId::FixedDelay, Because::LateByTime { error: -4.5 });
    outcome.report.judgement.causes.push(Cause { probability: 0.49, ..delay }).unwrap();
    let text = to_text(&job(), &outcome);
    let tie = "A tie, these fit what was seen equally well: plainly set off the target; the spark comes a fixed time late.";
    assert!(text.contains(tie), "{text}");
    assert!(!text.contains("Two things"), "{text}");

    let mut outcome = given(5.5, Some(Verdict::Late), Cause { probability: 0.5, ..late });
    let weak = cause(CauseId::WeakSupply, Because::LowSupply { volts: 12.1, limit: 13.2 });
    outcome.report.judgement.causes.push(Cause { probability: 0.5, ..weak }).unwrap();
    let text = to_text(&job(), &outcome);
    assert!(text.contains("Two things can be wrong at once") && !text.contains("A tie"), "{text}");
}

#[test]
fn a_cause_below_one_in_twenty_is_named_in_passing() {
    let mut outcome = healthy(10.3);
    let delay = cause(CauseId::FixedDelay, Because::LateByTime { error: 0.3 });
    outcome.report.judgement.causes.push(Cause { probability: 0.03, ..delay }).unwrap();
    let text = to_text(&job(), &outcome);
    assert!(
        text.contains("Less likely: the spark comes a fixed time late (3 %).")
            && !text.contains("a blip would")
    );
    assert!(text.contains(">99 %  Nothing is wrong\n"), "{text}");
}
