//! The result of a reading for people: a sentence first, what to do, then the numbers.
//!
//! An advance never stands as a bare sign: the word says on which side of top dead centre it lies. A
//! difference never does either: it is *late* or *early*. Where the text tells someone to turn
//! something, it defers to the vehicle's label and manual.

mod numbers;
mod opening;
mod withheld;

use super::Outcome;
use keyway_core::job::{Control, Job, Rotation};
use keyway_core::judge::{CauseId, Move, Verdict};
use keyway_core::meter::Report;
use keyway_core::reading::Status;

/// The whole answer, lines with an end each.
pub fn to_text(job: &Job, outcome: &Outcome) -> String {
    let report = &outcome.report;
    let mut lines = Vec::new();
    match report.reading.status {
        Status::Withheld => withheld::explain(&mut lines, job, &report.reading),
        Status::Given => {
            lines.push(opening::sentence(job, report));
            lines.extend(doubt(job, report));
            lines.extend(correction(job, report));
        }
    }
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
    let mut text = lines.join("\n");
    text.push('\n');
    if report.reading.status == Status::Given {
        causes(&mut text, report);
    }
    numbers::block(&mut text, job, outcome);
    text
}

/// The answer's first sentence alone.
pub(super) fn opening_line(job: &Job, outcome: &Outcome) -> String {
    let report = &outcome.report;
    match report.reading.status {
        Status::Withheld => withheld::opening(job, &report.reading),
        Status::Given => opening::sentence(job, report),
    }
}

/// The causes, the most probable first.
fn causes(text: &mut String, report: &Report) {
    let shown: Vec<_> = report.judgement.causes.iter().filter(|cause| cause.probability >= 0.01).collect();
    if shown.is_empty() {
        return;
    }
    text.push_str("\nWhat explains it\n");
    for cause in shown {
        let percent = cause.probability * 100.0;
        let evidence = full_stop(&cause.because.to_string());
        text.push_str(&format!("  {percent:>3.0} %  {}. {evidence}\n", capitalised(name_of(cause.id))));
        text.push_str(&format!("         {}\n", cause.remedy));
    }
    if let Some(check) = report.judgement.next_check {
        text.push_str(&format!("\nNext check\n  {}\n", full_stop(&check.to_string())));
    }
}

/// What a wide ± means here, and what narrows it.
fn doubt(job: &Job, report: &Report) -> Vec<String> {
    let mut lines = Vec::new();
    let reading = &report.reading;
    let Some(uncertainty) = reading.uncertainty else { return lines };
    let tolerance = job.spec().timing.tolerance;
    if uncertainty > tolerance && !reading.cranking {
        let narrow = match reading.degrees_to_mark {
            Some(_) => "use a mark nearer to the spark, and record a longer steady idle",
            None => "record a longer steady idle",
        };
        lines.push(format!(
            "The doubt of ± {} is wider than the tolerance of ± {}, so the verdict is not sure: to narrow it, {narrow}.",
            degrees(uncertainty),
            degrees(tolerance)
        ));
    }
    if let Some(distance) = reading.degrees_to_mark {
        lines.push(format!(
            "The nearest mark passes {distance:.0}° from the spark; a mark nearer to the spark gives a smaller ±."
        ));
    }
    lines
}

/// How to put it right, or why nobody should turn anything yet.
fn correction(job: &Job, report: &Report) -> Vec<String> {
    let judgement = &report.judgement;
    let off = matches!(judgement.verdict, Some(Verdict::Late | Verdict::Early));
    let mut lines = Vec::new();
    if judgement.base_mode_unproven {
        lines.push(
            "As long as it is not proven in base mode, nobody turns the distributor: open, bridge or command \
             the base mode as the vehicle's label and manual say, then read again."
                .into(),
        );
    } else if let Some(movement) = &judgement.movement
        && off
    {
        let by_turning = judgement.causes.first().is_none_or(|cause| mended_by_turning(cause.id));
        lines.push(match movement.turn {
            Some(turn) if by_turning => turn_housing(movement, turn),
            None if by_turning && !job.distributor_times_spark() => correct_reference(movement),
            Some(_) => "Before the housing is turned, settle the first cause below and read again.".into(),
            None => {
                "Don't turn the distributor for this: settle the first cause below, then read again.".into()
            }
        });
    }
    lines
}

fn turn_housing(movement: &Move, turn: Rotation) -> String {
    let purpose = if movement.crank_deg > 0.0 { "advance" } else { "retard" };
    let turn = match turn {
        Rotation::Clockwise => "clockwise",
        Rotation::Counterclockwise => "counterclockwise",
    };
    let rim = match movement.rim_mm {
        Some(rim) => format!(", {:.1} mm at its rim", rim.abs()),
        None => String::new(),
    };
    format!(
        "To {purpose} it by {}, turn the housing {} {turn} facing the cap{rim}, clamp down and read again. \
         The vehicle's label and manual go before this.",
        degrees(movement.crank_deg.abs()),
        degrees(movement.housing_deg.abs())
    )
}

fn correct_reference(movement: &Move) -> String {
    let (before, after) = if movement.crank_deg > 0.0 { ("add", "take off") } else { ("take off", "add") };
    format!(
        "No housing sets this spark. Where the computer's reference angle can be entered, {before} {} if it \
         counts before top dead centre ({after} it if it counts after), then read again; if the error \
         doubles, put it back. The vehicle's label and manual go before this.",
        degrees(movement.crank_deg.abs())
    )
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

/// A sentence with its full stop.
fn full_stop(sentence: &str) -> String {
    if sentence.ends_with('.') { sentence.into() } else { format!("{sentence}.") }
}

/// A phrase as the beginning of a sentence.
fn capitalised(phrase: &str) -> String {
    let mut letters = phrase.chars();
    letters.next().into_iter().flat_map(char::to_uppercase).chain(letters).collect()
}

/// Whether turning the housing is what mends a cause.
fn mended_by_turning(cause: CauseId) -> bool {
    matches!(cause, CauseId::Healthy | CauseId::OffTarget | CauseId::SetAfterTdc | CauseId::SetOutOfBaseMode)
}

/// A cause by its name in the trade.
fn name_of(cause: CauseId) -> &'static str {
    match cause {
        CauseId::Healthy => "nothing is wrong",
        CauseId::OffTarget => "plainly set off the target",
        CauseId::SetAfterTdc => "the mark on the wrong side of zero was used",
        CauseId::SetOutOfBaseMode => "it was set without base mode",
        CauseId::NotInBaseMode => "the computer is steering",
        CauseId::ClampOnOtherLead => "the clamp is on another cylinder's lead",
        CauseId::DriveToothOff => "the distributor is in a tooth out",
        CauseId::FixedDelay => "the spark comes a fixed time late",
        CauseId::MechanismAdvancing => "the weights or the vacuum unit already advance at idle",
        CauseId::WornDrive => "the distributor's drive is worn",
        CauseId::WeakSupply => "the supply is low at idle",
        CauseId::DeadCylinder => "a cylinder does no work",
        CauseId::ClampOnCoilLead => "the clamp is on the coil's lead",
        CauseId::DwellStartSeen => "the clamp is turned round",
    }
}

#[cfg(test)]
mod tests;
