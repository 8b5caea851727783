//! The result of a reading for people: a sentence first, what to do, then the numbers.
//!
//! An advance never stands as a bare sign: the word says on which side of top dead centre it lies. A
//! difference never does either: it is *late* or *early*. Where the text tells someone to turn
//! something, it defers to the vehicle's label and manual.

pub(super) mod causes;
pub(super) mod correction;
mod numbers;
mod opening;
mod withheld;

pub(super) use numbers::{exact, rows};
pub(super) use withheld::reasons;

use super::Outcome;
use keyway_core::job::{Control, Job};
use keyway_core::reading::{Reading, Status};

/// Within so many degrees of the spark a mark is as near as is worth having.
const NEAR_A_MARK: f32 = 10.0;

/// The whole answer, lines with an end each.
pub fn to_text(job: &Job, outcome: &Outcome) -> String {
    let report = &outcome.report;
    let mut lines = vec![opening_line(job, outcome)];
    match report.reading.status {
        Status::Withheld => {
            for (place, (why, what_to_do)) in reasons(job, &report.reading).into_iter().enumerate() {
                // The first is the opening.
                lines.extend((place > 0).then(|| format!("Also: {why}.")));
                lines.push(what_to_do);
            }
        }
        Status::Given => lines.extend(correction::sentence(job, report)),
    }
    lines.extend(remarks(job, outcome));
    let mut text = lines.join("\n");
    text.push('\n');
    causes::block(&mut text, &report.judgement);
    numbers::block(&mut text, job, outcome);
    text
}

/// The answer's first sentence.
pub(super) fn opening_line(job: &Job, outcome: &Outcome) -> String {
    let report = &outcome.report;
    match report.reading.status {
        Status::Withheld => withheld::opening(job, &report.reading),
        Status::Given => opening::sentence(job, report),
    }
}

/// What makes the number less sure than it looks, and what else to mind.
pub(super) fn remarks(job: &Job, outcome: &Outcome) -> Vec<String> {
    let mut lines = doubt(job, &outcome.report.reading);
    if outcome.outline.truncated {
        lines.push(
            "The file ends in the middle: it was read up to the cut, and what came after is not in this."
                .into(),
        );
    }
    lines.extend(coarse_time(outcome));
    if job.spec().timing.extra > 4.0 && job.spec().timing.control != Control::Commanded {
        lines.push(format!(
            "{} are added to the label's value: listen for knock under load, mind the fuel's grade and the \
             emissions rules.",
            degrees(job.spec().timing.extra)
        ));
    }
    lines
}

/// What a wide ± means here, and what narrows it.
fn doubt(job: &Job, reading: &Reading) -> Vec<String> {
    let mut lines = Vec::new();
    let Some(uncertainty) = reading.uncertainty else { return lines };
    let tolerance = job.spec().timing.tolerance;
    if uncertainty > tolerance && !reading.cranking {
        let narrow = match reading.degrees_to_mark {
            Some(_) => "use a mark nearer to the spark, and record a longer steady idle",
            None => "record a longer steady idle",
        };
        lines.push(format!(
            "The doubt of {} is wider than the tolerance of ± {}, so the verdict is not sure: to narrow it, {narrow}.",
            plus_minus(uncertainty),
            degrees(tolerance)
        ));
    }
    if let Some(distance) = reading.degrees_to_mark.filter(|distance| *distance > NEAR_A_MARK) {
        lines.push(format!(
            "The nearest mark passes {distance:.0}° from the spark; a mark nearer to the spark gives a smaller ±."
        ));
    }
    lines
}

/// A word on a capture whose times are too coarse for its speed.
fn coarse_time(outcome: &Outcome) -> Option<String> {
    let seconds = outcome.outline.step_ticks / 1e7;
    let step = seconds * 6.0 * f64::from(outcome.report.reading.rpm?);
    (step > 0.1).then(|| {
        format!(
            "The capture counts time in steps of {} ms, which is {step:.1}° at this speed: the ± does not know of \
             that. Record with a finer time scale.",
            seconds * 1e3
        )
    })
}

/// An advance in words: `9.8° BTDC`, `10.1° ATDC`.
pub(super) fn advance(degrees_btdc: f32, decimals: usize) -> String {
    let size = format!("{:.decimals$}", degrees_btdc.abs());
    let zero = !size.bytes().any(|byte| matches!(byte, b'1'..=b'9'));
    match (zero, degrees_btdc > 0.0) {
        (true, _) => format!("{size}° (top dead centre)"),
        (false, true) => format!("{size}° BTDC"),
        (false, false) => format!("{size}° ATDC"),
    }
}

/// An amount of degrees.
fn degrees(amount: f32) -> String {
    // Small amounts would read 0.0.
    if amount.abs() < 0.1 { format!("{amount:.2}°") } else { format!("{amount:.1}°") }
}

/// A doubt with its sign, never told as nothing: `± 0.1°`.
fn plus_minus(doubt: f32) -> String {
    format!("± {:.1}°", doubt.max(0.1))
}

#[cfg(test)]
mod tests;
