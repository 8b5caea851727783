//! The balancer with its degree marks, and the pointer, as a strobe on the clamp's spark shows them.
//!
//! Seen from the front, the wheel turns clockwise. The mark `m` before zero lies `m` degrees clockwise of zero, so
//! that it meets the pointer when the crank is `m` before top dead centre. The numbers are the same on both
//! sides of zero, as they are on real wheels; the sides are named only where the trainer shows the truth.

use super::look::{self, DARK, FAINT, FLASH, INK, PLATE, RED, STEEL};
use super::part::Part;
use super::stage::Stage;
use super::strobe::{Sight, sight};
use eframe::egui::{Align2, Color32, CornerRadius, Painter, Pos2, Rect, Sense, Stroke, Ui, pos2, vec2};

/// The marks reach so far before zero.
const BEFORE: i32 = 45;
/// And so far after it.
const AFTER: i32 = 30;

/// Draws it.
pub(super) fn show(ui: &mut Ui, rect: Rect, stage: &Stage, named: bool) {
    look::plate(ui.painter(), rect, "Balancer and pointer");
    let view = Rect::from_min_max(rect.min + vec2(8.0, 26.0), rect.max - vec2(8.0, 8.0));
    let response = ui.interact(view, ui.scope_id().with("balancer"), Sense::hover());
    response.on_hover_text(Part::Balancer.tip());
    let painter = ui.painter().with_clip_rect(view);
    let radius = view.width() * 0.80;
    let centre = pos2(view.center().x, view.min.y + 40.0 + radius);
    let sight = sight(stage);
    let lit = matches!(sight, Sight::Followed(_, _, true));
    painter.rect_filled(
        view,
        CornerRadius::same(4),
        if lit { FLASH } else { Color32::from_rgb(0x39, 0x46, 0x4D) },
    );
    painter.circle_filled(centre, radius, STEEL);
    painter.circle_stroke(centre, radius, Stroke::new(3.0, DARK));
    painter.circle_stroke(centre, radius - 62.0, Stroke::new(2.0, DARK));
    let note = match &sight {
        Sight::Frozen(advance, older) => {
            for (advance, fading) in older {
                shadow(&painter, centre, radius, -advance, *fading);
            }
            scale(&painter, centre, radius, -advance, named);
            let seen = (f64::from(-AFTER)..=f64::from(BEFORE)).contains(advance);
            if seen { "strobe on the clamp's spark" } else { "strobe: no mark in sight" }
        }
        Sight::Followed(angle, spark, _) => {
            let turned = if *angle > 180.0 { angle - 360.0 } else { *angle };
            scale(&painter, centre, radius, turned, named);
            if let Some(advance) = spark {
                let at = look::around(centre, radius - 50.0, turned + advance);
                painter.circle_filled(at, 6.0, RED);
            }
            if stage.bench().engine.rpm() > 30.0 { "red dot: where the spark came" } else { "standing" }
        }
        Sight::Blurred => {
            for ring in 0..5 {
                painter.circle_stroke(
                    centre,
                    radius - 8.0 - 10.0 * ring as f32,
                    Stroke::new(4.0, FAINT.gamma_multiply(0.25)),
                );
            }
            "nothing flashes: no spark"
        }
    };
    pointer(&painter, centre, radius);
    let foot = Rect::from_min_max(pos2(view.min.x, view.max.y - 20.0), view.max);
    painter.rect_filled(foot, CornerRadius::ZERO, PLATE.gamma_multiply(0.85));
    look::write(&painter, foot.left_center() + vec2(6.0, 0.0), Align2::LEFT_CENTER, note, 12.5, INK);
    let way = "the wheel turns clockwise";
    look::write(&painter, foot.right_center() - vec2(30.0, 0.0), Align2::RIGHT_CENTER, way, 12.5, INK);
    let arrow = foot.right_center() - vec2(16.0, -6.0);
    look::arc_arrow(&painter, arrow, 9.0, -60.0, 70.0, Stroke::new(2.0, INK));
}

fn pointer(painter: &Painter, centre: Pos2, radius: f32) {
    let tip = centre - vec2(0.0, radius - 2.0);
    let body = vec![tip, tip + vec2(-9.0, -34.0), tip + vec2(9.0, -34.0)];
    painter.add(eframe::egui::Shape::convex_polygon(body, Color32::WHITE, Stroke::new(1.5, DARK)));
}

/// The marks, with zero so many degrees clockwise of the pointer.
fn scale(painter: &Painter, centre: Pos2, radius: f32, turned: f64, named: bool) {
    for mark in -AFTER..=BEFORE {
        let at = turned + f64::from(mark);
        if at.abs() > 40.0 {
            continue;
        }
        let (length, width) = match (mark % 10, mark % 5) {
            (0, _) => (26.0, 2.5),
            (_, 0) => (20.0, 2.0),
            _ => (12.0, 1.2),
        };
        let colour = if mark == 0 { RED } else { INK };
        let points = [look::around(centre, radius - 2.0, at), look::around(centre, radius - length, at)];
        painter.line_segment(points, Stroke::new(if mark == 0 { 4.0 } else { width }, colour));
        if mark % 10 == 0 {
            let number = format!("{}", mark.abs());
            let place = look::around(centre, radius - 38.0, at);
            look::write(painter, place, Align2::CENTER_CENTER, &number, 17.0, colour);
        }
    }
    if named {
        for (at, word) in [(turned - 12.0, "AFTER"), (turned + 14.0, "BEFORE")] {
            let place = look::around(centre, radius - 78.0, at);
            look::write(painter, place, Align2::CENTER_CENTER, word, 15.0, RED);
        }
    }
}

/// Where an older flash showed the mark of zero, and the tens.
fn shadow(painter: &Painter, centre: Pos2, radius: f32, turned: f64, fading: f32) {
    for mark in (-AFTER..=BEFORE).filter(|mark| mark % 10 == 0) {
        let at = turned + f64::from(mark);
        if at.abs() < 40.0 {
            let points = [look::around(centre, radius - 2.0, at), look::around(centre, radius - 26.0, at)];
            painter.line_segment(points, Stroke::new(2.0, INK.gamma_multiply(0.35 * fading)));
        }
    }
}
