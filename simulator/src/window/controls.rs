//! Ignition key and starter, throttle, vacuum hose, accessories, and the clips of the handheld.

use super::look::{self, BRASS, DARK, FAINT, GREEN, INK, RED, STEEL};
use super::part::Part;
use super::stage::Stage;
use eframe::egui::{Align2, Color32, CornerRadius, Painter, Rect, Sense, Stroke, StrokeKind, Ui, pos2, vec2};

/// What the row of controls remembers of the mouse.
#[derive(Debug, Default)]
pub(super) struct Row {
    /// The mouse holds the starter.
    starts: bool,
    /// The mouse holds the throttle.
    pulls: bool,
}

impl Row {
    /// Key and starter.
    pub(super) fn ignition(&mut self, ui: &mut Ui, rect: Rect, stage: &mut Stage, next: Option<Part>) {
        look::plate(ui.painter(), rect, "Key");
        let on = stage.controls().ignition;
        let body = Rect::from_min_size(rect.min + vec2(12.0, 28.0), vec2(rect.width() - 24.0, 88.0));
        let response = look::grip(ui, body, Part::Ignition, Sense::click(), next);
        if response.clicked() {
            let controls = stage.controls_mut();
            controls.ignition = !on;
            controls.fuel = !on;
        }
        let painter = ui.painter();
        let centre = body.center() - vec2(0.0, 8.0);
        painter.circle(centre, 30.0, STEEL, Stroke::new(2.0, DARK));
        let at = if on { 40.0 } else { -40.0 };
        painter.line_segment(
            [look::around(centre, 22.0, at + 180.0), look::around(centre, 26.0, at)],
            Stroke::new(9.0, BRASS),
        );
        let word = if on { "ignition ON" } else { "ignition off" };
        look::write(painter, body.center_bottom() - vec2(0.0, 4.0), Align2::CENTER_BOTTOM, word, 15.0, INK);
        let start = Rect::from_min_size(rect.min + vec2(12.0, 128.0), vec2(rect.width() - 24.0, 56.0));
        let response = look::grip(ui, start, Part::Start, Sense::click_and_drag(), next);
        let down = response.is_pointer_button_down_on();
        if down != self.starts {
            self.starts = down;
            stage.controls_mut().starter = down;
        }
        let cranks = stage.controls().starter;
        let painter = ui.painter();
        let fill = if cranks { GREEN } else { DARK };
        painter.rect(
            start,
            CornerRadius::same(9),
            fill,
            Stroke::new(2.0, Color32::BLACK),
            StrokeKind::Inside,
        );
        let word = if cranks { "cranking" } else { "START, hold" };
        look::write(painter, start.center(), Align2::CENTER_CENTER, word, 16.0, Color32::WHITE);
    }

    /// The throttle: pulled down and held, it falls shut when let go.
    pub(super) fn throttle(&mut self, ui: &mut Ui, rect: Rect, stage: &mut Stage, next: Option<Part>) {
        look::plate(ui.painter(), rect, "Throttle");
        let track = Rect::from_min_max(rect.min + vec2(14.0, 30.0), rect.max - vec2(14.0, 32.0));
        let response = look::grip(ui, track, Part::Throttle, Sense::click_and_drag(), next);
        let down = response.is_pointer_button_down_on();
        if down && let Some(at) = response.interact_pointer_pos() {
            let pulled = f64::from(((at.y - track.min.y - 14.0) / (track.height() - 28.0)).clamp(0.0, 1.0));
            stage.controls_mut().throttle = opening(pulled);
        } else if self.pulls {
            stage.controls_mut().throttle = 0.0;
        }
        self.pulls = down;
        let painter = ui.painter();
        painter.rect(
            track,
            CornerRadius::same(8),
            Color32::from_rgb(0xE6, 0xE6, 0xDC),
            Stroke::new(1.5, FAINT),
            StrokeKind::Inside,
        );
        let pulled = pull(stage.controls().throttle) as f32;
        let y = track.min.y + 14.0 + pulled * (track.height() - 28.0);
        painter.vline(track.center().x, track.min.y + 8.0..=y, Stroke::new(3.0, DARK));
        let knob = Rect::from_center_size(pos2(track.center().x, y), vec2(track.width() - 10.0, 26.0));
        painter.rect(knob, CornerRadius::same(12), RED, Stroke::new(1.5, DARK), StrokeKind::Inside);
        let foot = rect.center_bottom() - vec2(0.0, 8.0);
        let word = if pulled > 0.01 { "open" } else { "pull, or space" };
        look::write(painter, foot, Align2::CENTER_BOTTOM, word, 13.0, INK);
    }
}

/// A pull of the lever, 0 to 1, opens so far: gently at first, wide open is of no use at a stand.
pub(super) fn opening(pull: f64) -> f64 {
    0.3 * pull.clamp(0.0, 1.0).powf(1.6)
}

fn pull(opening: f64) -> f64 {
    (opening / 0.3).clamp(0.0, 1.0).powf(1.0 / 1.6)
}

/// The vacuum hose.
pub(super) fn hose(ui: &mut Ui, rect: Rect, stage: &mut Stage, next: Option<Part>) {
    look::plate(ui.painter(), rect, "Vacuum hose");
    if stage.job().timing.control != keyway_core::job::Control::Mechanical {
        let at = rect.min + vec2(12.0, 32.0);
        look::write_wrapped(ui.painter(), at, rect.width() - 24.0, "none on this engine", 13.0, FAINT);
        return;
    }
    let body = rect.shrink2(vec2(10.0, 28.0));
    let on = stage.controls().hose_on;
    if look::grip(ui, body, Part::Hose, Sense::click(), next).clicked() {
        stage.controls_mut().hose_on = !on;
    }
    look::two_way(ui.painter(), body, ["on", "off, plugged"], !on);
}

/// Clips and leads of the handheld.
pub(super) fn clips(ui: &mut Ui, rect: Rect, stage: &mut Stage, next: Option<Part>) {
    look::plate(ui.painter(), rect, "Handheld's clips");
    let body = rect.shrink2(vec2(10.0, 28.0));
    let on = stage.bench().clipped();
    if look::grip(ui, body, Part::Clips, Sense::click(), next).clicked() {
        stage.bench_mut().clip(!on);
    }
    look::two_way(ui.painter(), body, ["clipped on", "off"], !on);
}

/// Accessories.
pub(super) fn loads(ui: &mut Ui, rect: Rect, stage: &mut Stage, next: Option<Part>) {
    look::plate(ui.painter(), rect, "Accessories");
    let body = rect.shrink2(vec2(10.0, 28.0));
    let on = stage.controls().accessory_load > 0.5;
    if look::grip(ui, body, Part::Loads, Sense::click(), next).clicked() {
        stage.controls_mut().accessory_load = if on { 0.2 } else { 1.0 };
    }
    look::two_way(ui.painter(), body, ["lamps, fans on", "off"], !on);
}

/// The engine's own dial: speed and supply, as the panel of the engine shows them.
pub(super) fn dial(painter: &Painter, rect: Rect, stage: &Stage) {
    look::plate(painter, rect, "Engine");
    let engine = &stage.bench().engine;
    let rpm = engine.rpm();
    let [low, high] = stage.job().timing.idle_rpm.map(f64::from);
    let shown = if rpm < 5.0 { "stands".to_owned() } else { format!("{:.0}", (rpm / 10.0).round() * 10.0) };
    let at = pos2(rect.min.x + 14.0, rect.max.y - 8.0);
    let number = look::write(painter, at, Align2::LEFT_BOTTOM, &shown, 36.0, INK);
    if rpm >= 5.0 {
        let unit = pos2(number.max.x + 6.0, rect.max.y - 15.0);
        look::write(painter, unit, Align2::LEFT_BOTTOM, "rpm", 15.0, FAINT);
    }
    // A strip: speed up to four times idle, with the idle band on it.
    let strip = Rect::from_min_max(
        pos2(rect.min.x + 190.0, rect.min.y + 36.0),
        pos2(rect.max.x - 12.0, rect.min.y + 56.0),
    );
    let most = 4.5 * high;
    let x = |speed: f64| strip.min.x + strip.width() * (speed / most).clamp(0.0, 1.0) as f32;
    painter.rect_filled(strip, CornerRadius::same(3), Color32::from_rgb(0xE0, 0xE2, 0xD8));
    let band = Rect::from_x_y_ranges(x(low)..=x(high), strip.y_range());
    painter.rect_filled(band, CornerRadius::ZERO, Color32::from_rgb(0xA9, 0xCF, 0xB8));
    painter.vline(x(rpm), strip.min.y - 5.0..=strip.max.y + 5.0, Stroke::new(4.0, RED));
    let words = format!("idle band {low:.0} to {high:.0}");
    look::write(painter, pos2(strip.min.x, strip.max.y + 9.0), Align2::LEFT_TOP, &words, 13.0, FAINT);
}
