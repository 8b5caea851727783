//! What explains a reading: each cause with its probability, what was seen of it and what to do.
//!
//! *Beside*: a weak supply, a worn drive and a dead cylinder can stand beside a wrong setting, so their
//! shares and that of the setting are shared out, not rivals. All other causes exclude each other.

use keyway_core::judge::{Cause, CauseId, Judgement};
use std::fmt::Write;

/// Below this a cause is named in passing only.
const IN_FULL: f32 = 0.05;
/// Below this it is not told.
const TOLD: f32 = 0.01;
/// Two shares that lie no farther apart than this are a tie.
const TIE: f32 = 0.02;

/// The causes as lines, the most probable first.
pub(super) fn block(text: &mut String, judgement: &Judgement) {
    if judgement.causes.is_empty() {
        return;
    }
    text.push_str("\nWhat explains it\n");
    for cause in in_full(judgement) {
        // Writing to a text cannot fail.
        let _ = writeln!(text, "  {:>5}  {}", percent(cause.probability), capitalised(name_of(cause.id)));
        let _ = writeln!(text, "         seen: {}", cause.because);
        let _ = writeln!(text, "         do:   {}", cause.remedy);
    }
    for line in less_likely(judgement).into_iter().chain(together(judgement)) {
        let _ = writeln!(text, "  {line}");
    }
    if let Some(check) = judgement.next_check {
        let _ = write!(text, "\nNext check\n  {check}\n");
    }
}

/// The causes that are told with their evidence.
pub(in crate::read) fn in_full(judgement: &Judgement) -> impl Iterator<Item = &Cause> {
    // The first is told whatever its share.
    judgement
        .causes
        .iter()
        .enumerate()
        .filter(|(place, cause)| *place == 0 || cause.probability >= IN_FULL)
        .map(|(_, cause)| cause)
}

/// The causes that are named in passing, in a line.
pub(in crate::read) fn less_likely(judgement: &Judgement) -> Option<String> {
    let names: Vec<String> = judgement
        .causes
        .iter()
        .skip(1)
        .filter(|cause| (TOLD..IN_FULL).contains(&cause.probability))
        .map(|cause| format!("{} ({})", name_of(cause.id), percent(cause.probability)))
        .collect();
    (!names.is_empty()).then(|| format!("Less likely: {}.", names.join("; ")))
}

/// How the shares belong together where that is not plain: a tie, or two faults at once.
pub(in crate::read) fn together(judgement: &Judgement) -> Vec<String> {
    let mut lines = Vec::new();
    let rivals: Vec<&Cause> = judgement
        .causes
        .iter()
        .filter(|cause| !stands_beside(cause.id) && cause.probability >= IN_FULL)
        .collect();
    if let Some(most) = rivals.iter().map(|cause| cause.probability).reduce(f32::max) {
        let tied: Vec<&str> = rivals
            .iter()
            .filter(|cause| most - cause.probability <= TIE)
            .map(|cause| name_of(cause.id))
            .collect();
        if tied.len() > 1 {
            lines.push(format!("A tie, these fit what was seen equally well: {}.", tied.join("; ")));
        }
    }
    let wrong = |beside: bool| {
        let of_kind = |cause: &&Cause| stands_beside(cause.id) == beside && cause.id != CauseId::Healthy;
        judgement.causes.iter().filter(of_kind).map(|cause| cause.probability).sum::<f32>()
    };
    if wrong(true) > 0.2 && wrong(false) > 0.2 {
        lines.push(
            "Two things can be wrong at once: they then share the certainty between them, and both are to be put right."
                .into(),
        );
    }
    lines
}

/// Whether it can be there beside a wrong setting.
pub(super) fn stands_beside(cause: CauseId) -> bool {
    matches!(cause, CauseId::WeakSupply | CauseId::WornDrive | CauseId::DeadCylinder)
}

/// A probability for people, who trust no 100 %.
pub(in crate::read) fn percent(probability: f32) -> String {
    if probability > 0.99 { ">99 %".into() } else { format!("{:.0} %", probability * 100.0) }
}

/// A phrase as the beginning of a sentence.
pub(in crate::read) fn capitalised(phrase: &str) -> String {
    let mut letters = phrase.chars();
    letters.next().into_iter().flat_map(char::to_uppercase).chain(letters).collect()
}

/// Whether a new setting is what mends a cause.
pub(super) fn mended_by_setting(cause: CauseId) -> bool {
    matches!(cause, CauseId::Healthy | CauseId::OffTarget | CauseId::SetAfterTdc | CauseId::SetOutOfBaseMode)
}

/// A cause by its name in the trade.
pub(in crate::read) fn name_of(cause: CauseId) -> &'static str {
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
