//! The truth laid over the bench, for the trainer: what is wrong, where the spark really is, where it belongs.

use super::look::{self, FAINT, INK, RED};
use super::stage::{Rig, Stage};
use eframe::egui::{Painter, Rect, vec2};
use keyway_core::words::{self, Btdc, Off};

/// What may be told now, line by line; `None` where a drill has not been answered.
pub(super) fn lines(stage: &Stage) -> Option<Vec<String>> {
    let wrong = match &stage.rig {
        Rig::Free(_) => stage.wrong.join(", and: "),
        Rig::Drill(session) => {
            let truth = session.truth().ok()?;
            truth.causes.iter().map(|cause| words::cause_title(*cause)).collect::<Vec<_>>().join(" and ")
        }
    };
    let engine = &stage.bench().engine;
    let (base, target) = (engine.base_advance(), stage.target());
    let sparks = stage.bench().tape().and_then(|tape| tape.sparks().next()).filter(|(age, _)| *age < 0.5);
    let seen = sparks.map_or_else(
        || "the clamp sees no spark".to_owned(),
        |(_, spark)| format!("the clamp's spark now: {}", Btdc(spark.advance as f32)),
    );
    Some(vec![
        wrong,
        format!(
            "base {}, {}; target {}",
            Btdc(base as f32),
            Off((base - target) as f32),
            Btdc(target as f32)
        ),
        seen,
    ])
}

/// Draws them.
pub(super) fn show(painter: &Painter, rect: Rect, stage: &Stage) {
    look::sheet(painter, rect, "The truth, for the trainer");
    let told = lines(stage).unwrap_or_else(|| vec!["Told once the answer is committed.".to_owned()]);
    let mut at = rect.min + vec2(12.0, 25.0);
    for (place, line) in told.iter().enumerate() {
        let (size, colour) =
            if place == 0 { (17.0, RED) } else { (14.0, if place == 1 { INK } else { FAINT }) };
        at.y = look::write_wrapped(painter, at, rect.width() - 24.0, line, size, colour).max.y + 2.0;
    }
}
