//! The engine's computer: the base-mode connector, the held value, what is entered.

use super::look::{self, BRASS, DARK, FAINT, GREEN, INK};
use super::part::Part;
use super::stage::Stage;
use eframe::egui::{
    Align2, Button, Color32, CornerRadius, Rect, RichText, Sense, Stroke, StrokeKind, Ui, pos2, vec2,
};
use keyway_core::job::Control;

/// Draws it, as far as the engine has one.
pub(super) fn show(ui: &mut Ui, rect: Rect, stage: &mut Stage, next: Option<Part>) {
    match stage.job().timing.control {
        Control::Computer => factory(ui, rect, stage, next),
        Control::Commanded => aftermarket(ui, rect, stage, next),
        Control::Mechanical => {
            look::plate(ui.painter(), rect, "Computer");
            let words = "none: weights and vacuum time the spark";
            look::write_wrapped(
                ui.painter(),
                rect.min + vec2(12.0, 32.0),
                rect.width() - 24.0,
                words,
                14.0,
                FAINT,
            );
        }
    }
}

fn factory(ui: &mut Ui, rect: Rect, stage: &mut Stage, next: Option<Part>) {
    look::plate(ui.painter(), rect, "Computer and its base-mode connector");
    let changed = stage.controls().base_mode;
    let foot = if stage.job().engine.rotor.is_none() { 68.0 } else { 12.0 };
    let body = Rect::from_min_max(rect.min + vec2(12.0, 28.0), rect.max - vec2(12.0, foot));
    if look::grip(ui, body, Part::Link, Sense::click(), next).clicked() {
        stage.controls_mut().base_mode = !changed;
    }
    if stage.job().engine.rotor.is_none() {
        entry(
            ui,
            Rect::from_min_max(pos2(rect.min.x + 12.0, rect.max.y - 64.0), rect.max - vec2(12.0, 10.0)),
            stage,
            next,
        );
    }
    let painter = ui.painter();
    let case = Rect::from_min_size(body.min + vec2(4.0, 2.0), vec2(64.0, 54.0));
    painter.rect(case, CornerRadius::same(5), DARK, Stroke::new(2.0, Color32::BLACK), StrokeKind::Inside);
    look::write(painter, case.center(), Align2::CENTER_CENTER, "computer", 12.5, Color32::WHITE);
    let lead = case.right_center();
    let gap = if changed { 46.0 } else { 0.0 };
    let left = Rect::from_min_size(lead + vec2(22.0, -16.0), vec2(34.0, 32.0));
    let right = left.translate(vec2(35.0 + gap, 0.0));
    painter.line_segment([lead, left.left_center()], Stroke::new(5.0, BRASS));
    painter.line_segment(
        [right.right_center(), pos2(body.max.x - 4.0, right.center().y)],
        Stroke::new(5.0, BRASS),
    );
    for half in [left, right] {
        painter.rect(
            half,
            CornerRadius::same(4),
            Color32::from_rgb(0xC9, 0xB4, 0x8A),
            Stroke::new(2.0, DARK),
            StrokeKind::Inside,
        );
    }
    if changed {
        let pins = left.right_center();
        for row in [-8.0, 0.0, 8.0] {
            painter.line_segment([pins + vec2(0.0, row), pins + vec2(12.0, row)], Stroke::new(2.5, DARK));
        }
    }
    let (word, about) = if changed {
        ("connector OPEN", "the computer holds the base")
    } else {
        ("connector IN", "the computer steers the spark")
    };
    let at = pos2(body.min.x + 4.0, case.max.y + 6.0);
    look::write(painter, at, Align2::LEFT_TOP, word, 18.0, if changed { GREEN } else { INK });
    look::write(painter, at + vec2(0.0, 24.0), Align2::LEFT_TOP, about, 14.0, FAINT);
}

fn aftermarket(ui: &mut Ui, rect: Rect, stage: &mut Stage, next: Option<Part>) {
    look::plate(ui.painter(), rect, "Aftermarket computer");
    let held = stage.controls().hold_fixed;
    let body = Rect::from_min_size(rect.min + vec2(12.0, 28.0), vec2(rect.width() - 24.0, 72.0));
    if look::grip(ui, body, Part::Fixed, Sense::click(), next).clicked() {
        stage.controls_mut().hold_fixed = !held;
    }
    let fixed = stage.job().timing.commanded_btdc.unwrap_or(0.0);
    let words = format!("hold {} fixed", keyway_core::words::Btdc(fixed));
    look::two_way(ui.painter(), body, [&words, "let its map steer"], !held);
    entry(ui, Rect::from_min_max(rect.min + vec2(12.0, 108.0), rect.max - vec2(12.0, 10.0)), stage, next);
}

/// Reference angle and delay, with the keys that change them.
fn entry(ui: &mut Ui, rect: Rect, stage: &mut Stage, next: Option<Part>) {
    if next == Some(Part::Entry) {
        look::ring(ui, rect);
    }
    let (reference, delay) = stage.entered;
    let rows = [
        ("reference", format!("{reference:+.1}°"), [(-0.5, 0.0), (0.5, 0.0)]),
        ("delay", format!("{delay:+.0} µs"), [(0.0, -10.0), (0.0, 10.0)]),
    ];
    let height = rect.height() / 2.0;
    for (row, (word, value, steps)) in rows.into_iter().enumerate() {
        let y = rect.min.y + height * (row as f32 + 0.5);
        look::write(ui.painter(), pos2(rect.min.x, y), Align2::LEFT_CENTER, word, 13.5, FAINT);
        look::write(ui.painter(), pos2(rect.min.x + 72.0, y), Align2::LEFT_CENTER, &value, 16.0, INK);
        for (place, (degrees, micros)) in steps.into_iter().enumerate() {
            let at =
                Rect::from_center_size(pos2(rect.max.x - 60.0 + 40.0 * place as f32, y), vec2(34.0, 24.0));
            let sign = if place == 0 { "-" } else { "+" };
            let button = ui.put(at, Button::new(RichText::new(sign).size(16.0)));
            if button.on_hover_text(Part::Entry.tip()).clicked() {
                stage.enter(degrees, micros);
            }
        }
    }
}
