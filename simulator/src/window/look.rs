//! Colours and strokes of the bench, and the few shapes that several parts are drawn from.
//!
//! Its look is its own: a workshop wall of pale lime, enamel plates with a dark rim, brass and slate. Red is danger
//! or wrong alone, green is the hand's next grip alone.

use eframe::egui::{
    Align2, Color32, CornerRadius, FontId, Id, Painter, Pos2, Rect, Response, Role, Sense, Shape, Stroke,
    StrokeKind, Ui, Vec2, WidgetInfo, pos2, vec2,
};

use super::part::Part;

/// The wall.
pub(super) const WALL: Color32 = Color32::from_rgb(0xDF, 0xE3, 0xDA);
/// A colour as a picture is cleared to.
pub(super) fn cleared(colour: Color32) -> [f32; 4] {
    colour.to_normalized_gamma_f32()
}

/// An enamel plate.
pub(super) const PLATE: Color32 = Color32::from_rgb(0xF7, 0xF5, 0xEC);
/// Writing.
pub(super) const INK: Color32 = Color32::from_rgb(0x1C, 0x28, 0x2E);
/// Writing that stands back.
pub(super) const FAINT: Color32 = Color32::from_rgb(0x5E, 0x6B, 0x70);
/// Castings.
pub(super) const SLATE: Color32 = Color32::from_rgb(0x56, 0x65, 0x6E);
/// Dark parts.
pub(super) const DARK: Color32 = Color32::from_rgb(0x2E, 0x3A, 0x41);
/// Turned parts.
pub(super) const BRASS: Color32 = Color32::from_rgb(0xB5, 0x86, 0x2E);
/// Bright metal.
pub(super) const STEEL: Color32 = Color32::from_rgb(0xB9, 0xC2, 0xC4);
/// Danger, wrong.
pub(super) const RED: Color32 = Color32::from_rgb(0xBE, 0x3A, 0x26);
/// The next grip.
pub(super) const GREEN: Color32 = Color32::from_rgb(0x1E, 0x8A, 0x5A);
/// The clamp and its lead.
pub(super) const BLUE: Color32 = Color32::from_rgb(0x24, 0x5E, 0x9C);
/// The flash.
pub(super) const FLASH: Color32 = Color32::from_rgb(0xFF, 0xF1, 0xB0);

/// Writes a line and gives its place.
pub(super) fn write(
    painter: &Painter,
    at: Pos2,
    align: Align2,
    text: &str,
    size: f32,
    colour: Color32,
) -> Rect {
    painter.text(at, align, text, FontId::proportional(size), colour)
}

/// Writes on as many lines as the width asks for, and gives the place.
pub(super) fn write_wrapped(
    painter: &Painter,
    at: Pos2,
    width: f32,
    text: &str,
    size: f32,
    colour: Color32,
) -> Rect {
    let galley = painter.layout(text.to_owned(), FontId::proportional(size), colour, width);
    let rect = Rect::from_min_size(at, galley.size());
    painter.galley(at, galley, colour);
    rect
}

/// A plate of the bench with a title in its upper left corner; gives what is left of it. The picture is cleared to
/// enamel, and only the wall around the plate is drawn: where software draws, every pixel filled again costs time.
pub(super) fn plate(painter: &Painter, rect: Rect, title: &str) -> Rect {
    wall_around(painter, rect, 7, 4.0);
    painter.rect_stroke(rect, CornerRadius::same(7), Stroke::new(1.5, SLATE), StrokeKind::Inside);
    titled(painter, rect, title)
}

/// A plate laid over others.
pub(super) fn sheet(painter: &Painter, rect: Rect, title: &str) -> Rect {
    painter.rect(rect, CornerRadius::same(7), PLATE, Stroke::new(1.5, SLATE), StrokeKind::Inside);
    titled(painter, rect, title)
}

fn titled(painter: &Painter, rect: Rect, title: &str) -> Rect {
    if title.is_empty() {
        return rect.shrink(8.0);
    }
    write(painter, rect.min + vec2(10.0, 6.0), Align2::LEFT_TOP, title, 13.0, FAINT);
    Rect::from_min_max(rect.min + vec2(8.0, 24.0), rect.max - vec2(8.0, 8.0))
}

/// The wall around something with round corners, so many points wide: beside it, and in the corners themselves.
pub(super) fn wall_around(painter: &Painter, rect: Rect, corner: u8, width: f32) {
    let wall = Stroke::new(width, WALL);
    painter.rect_stroke(rect, CornerRadius::ZERO, wall, StrokeKind::Outside);
    painter.rect_stroke(rect, CornerRadius::same(corner), wall, StrokeKind::Outside);
}

/// The wall from the bench's edge to the window's.
pub(super) fn wall_beyond(painter: &Painter, bench: Rect, window: Rect) {
    let beside = [
        Rect::from_min_max(window.min, pos2(bench.min.x, window.max.y)),
        Rect::from_min_max(pos2(bench.max.x, window.min.y), window.max),
        Rect::from_min_max(pos2(bench.min.x, window.min.y), pos2(bench.max.x, bench.min.y)),
        Rect::from_min_max(pos2(bench.min.x, bench.max.y), pos2(bench.max.x, window.max.y)),
    ];
    for rect in beside.into_iter().filter(|rect| rect.is_positive()) {
        painter.rect_filled(rect, CornerRadius::ZERO, WALL);
    }
}

/// A point at an angle, degrees clockwise from the top.
pub(super) fn around(centre: Pos2, radius: f32, degrees: f64) -> Pos2 {
    let (sine, cosine) = degrees.to_radians().sin_cos();
    centre + vec2(radius * sine as f32, -radius * cosine as f32)
}

/// An arc, degrees clockwise from the top, with an arrow at its end.
pub(super) fn arc_arrow(painter: &Painter, centre: Pos2, radius: f32, from: f64, to: f64, stroke: Stroke) {
    let steps = 24;
    let points: Vec<Pos2> = (0..=steps)
        .map(|step| around(centre, radius, from + (to - from) * f64::from(step) / f64::from(steps)))
        .collect();
    painter.add(Shape::line(points, stroke));
    let back = if to > from { -1.0 } else { 1.0 };
    let reach = f64::from(9.0 / radius).to_degrees();
    let tip = around(centre, radius, to - back * 0.4 * reach);
    let wings = [
        around(centre, radius - 5.0, to + back * reach),
        tip,
        around(centre, radius + 5.0, to + back * reach),
    ];
    painter.add(Shape::convex_polygon(wings.to_vec(), stroke.color, Stroke::NONE));
}

/// A part's grip: its place, how it is grabbed, its word for those who cannot see it, its tooltip; it is ringed
/// where it is the hand's next grip.
pub(super) fn grip(ui: &Ui, rect: Rect, part: Part, sense: Sense, next: Option<Part>) -> Response {
    let response = ui.interact(rect, Id::unique(part.word()), sense);
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, part.word()));
    if next == Some(part) {
        ring(ui, rect);
    } else if response.hovered() {
        let stroke = Stroke::new(1.5, BRASS);
        ui.painter().rect_stroke(rect.expand(3.0), CornerRadius::same(6), stroke, StrokeKind::Outside);
    }
    response.on_hover_text(part.tip())
}

/// A ring that breathes around the hand's next grip.
pub(super) fn ring(ui: &Ui, rect: Rect) {
    let time = ui.input(|input| input.time);
    let breath = 0.5 + 0.5 * (time * 4.0).sin() as f32;
    let stroke = Stroke::new(2.5 + 1.5 * breath, GREEN.gamma_multiply(0.65 + 0.35 * breath));
    ui.painter().rect_stroke(rect.expand(4.0), CornerRadius::same(7), stroke, StrokeKind::Outside);
}

/// A switch with two named places; the one that holds is filled.
pub(super) fn two_way(painter: &Painter, rect: Rect, words: [&str; 2], second: bool) {
    let half = Vec2::new(rect.width(), rect.height() / 2.0);
    for (place, word) in words.iter().enumerate() {
        let at = Rect::from_min_size(pos2(rect.min.x, rect.min.y + half.y * place as f32), half).shrink(1.5);
        let holds = second == (place == 1);
        let (fill, colour) =
            if holds { (DARK, Color32::WHITE) } else { (Color32::from_rgb(0xE6, 0xE6, 0xDC), FAINT) };
        painter.rect_filled(at, CornerRadius::same(4), fill);
        write(painter, at.center(), Align2::CENTER_CENTER, word, 13.5, colour);
    }
}

/// The head of a bolt.
pub(super) fn bolt_head(painter: &Painter, centre: Pos2, radius: f32, degrees: f64, fill: Color32) {
    let corners = (0..6).map(|corner| around(centre, radius, degrees + 60.0 * f64::from(corner))).collect();
    painter.add(Shape::convex_polygon(corners, fill, Stroke::new(1.5, DARK)));
    painter.circle_stroke(centre, radius * 0.5, Stroke::new(1.0, DARK));
}
