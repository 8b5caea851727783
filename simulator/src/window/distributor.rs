//! The distributor from above: cap, rotor, housing, witness mark and clamp bolt.

use super::look::{self, BRASS, DARK, FAINT, GREEN, INK, RED, SLATE, STEEL};
use super::part::Part;
use super::stage::Stage;
use super::strobe::rotor_turns;
use eframe::egui::{
    Align2, Button, Color32, CornerRadius, Painter, Pos2, Rect, RichText, Sense, Stroke, StrokeKind, Ui,
    Vec2, pos2, vec2,
};
use keyway_core::job::Rotation;

/// Housing degrees for each degree that the mouse goes around: geared down, so that a hand can set a tenth.
const GEARED: f64 = 0.25;
/// Housing degrees of a click of the mouse's wheel.
const CLICK: f64 = 0.1;

/// Draws it where the engine has one, and lets hands at it.
pub(super) fn show(ui: &mut Ui, rect: Rect, stage: &mut Stage, next: Option<Part>) {
    let Some(rotor) = stage.job().engine.rotor else {
        return without(ui, rect, stage);
    };
    look::plate(ui.painter(), rect, "Distributor, facing the cap");
    let centre = pos2(rect.min.x + 134.0, rect.min.y + 164.0);
    let radius = 104.0;
    let turned = stage.housing_clockwise();
    block(ui.painter(), centre, radius, turned);
    cap(ui.painter(), stage, centre, radius, rotor, turned);
    housing(ui, stage, centre, radius, next);
    bolt(ui, stage, pos2(rect.max.x - 66.0, rect.min.y + 92.0), next);
    side(
        ui.painter(),
        stage,
        Rect::from_min_max(pos2(rect.max.x - 124.0, rect.min.y + 140.0), rect.max),
        rotor,
        turned,
    );
    let foot = Rect::from_min_max(pos2(rect.min.x + 10.0, rect.max.y - 34.0), rect.max - vec2(10.0, 8.0));
    refit(ui, foot, stage, next);
}

/// What is done with the distributor out: by teeth of its gear, or with a new drive.
fn refit(ui: &mut Ui, rect: Rect, stage: &mut Stage, next: Option<Part>) {
    if next == Some(Part::Refit) {
        look::ring(ui, rect);
    }
    let geared = stage.job().engine.drive_gear_teeth.is_some();
    let acts = [("Tooth earlier", Some(1)), ("Tooth later", Some(-1)), ("New drive", None)];
    let mut left = rect.min.x;
    for (word, teeth) in acts.into_iter().filter(|(_, teeth)| geared || teeth.is_none()) {
        let width = if teeth.is_some() { 88.0 } else { 82.0 };
        let at = Rect::from_min_size(pos2(left, rect.min.y), vec2(width, rect.height()));
        left += width + 5.0;
        let button = ui.put(at, Button::new(RichText::new(word).size(12.5)));
        if !button.on_hover_text(Part::Refit.tip()).clicked() {
            continue;
        }
        match teeth {
            Some(teeth) => stage.put_in_again(teeth),
            None => stage.fit_drive(),
        }
    }
}

fn without(ui: &Ui, rect: Rect, stage: &Stage) {
    let inner = look::plate(ui.painter(), rect, "No distributor");
    let cylinders = usize::from(stage.job().engine.cylinders);
    let paired = stage.job().engine.spark == keyway_core::job::SparkKind::Paired;
    let coils = if paired { cylinders.div_ceil(2) } else { cylinders };
    for coil in 0..coils {
        let at = pos2(
            inner.min.x + 30.0 + 70.0 * (coil % 5) as f32,
            inner.min.y + 40.0 + 90.0 * (coil / 5) as f32,
        );
        let body = Rect::from_center_size(at, vec2(44.0, 60.0));
        ui.painter().rect(body, CornerRadius::same(5), DARK, Stroke::new(2.0, BRASS), StrokeKind::Inside);
        look::write(ui.painter(), at, Align2::CENTER_CENTER, &format!("{}", coil + 1), 18.0, Color32::WHITE);
    }
    let words = if paired {
        "One coil for two cylinders, a spark every turn. Nothing here is turned: what is off is changed in the computer."
    } else {
        "A coil for each cylinder. Nothing here is turned: what is off is changed in the computer."
    };
    look::write_wrapped(ui.painter(), inner.min + vec2(8.0, 200.0), inner.width() - 16.0, words, 15.0, INK);
}

/// The block with the scribed line, and degrees beside it.
fn block(painter: &Painter, centre: Pos2, radius: f32, turned: f64) {
    for mark in -20..=20 {
        let length = if mark % 5 == 0 { 14.0 } else { 7.0 };
        // Magnified three times, so that a degree is seen from the back of a class.
        let at = 180.0 - 3.0 * f64::from(mark);
        let points =
            [look::around(centre, radius + 12.0, at), look::around(centre, radius + 12.0 + length, at)];
        painter.line_segment(
            points,
            Stroke::new(if mark == 0 { 3.0 } else { 1.2 }, if mark == 0 { RED } else { SLATE }),
        );
        if mark % 5 == 0 && mark != 0 && mark % 10 == 0 {
            let place = look::around(centre, radius + 37.0, at);
            look::write(painter, place, Align2::CENTER_CENTER, &format!("{}", i32::abs(mark)), 12.0, FAINT);
        }
    }
    let at = 180.0 + 3.0 * turned.clamp(-20.0, 20.0);
    let points = [look::around(centre, radius - 16.0, at), look::around(centre, radius + 14.0, at)];
    painter.line_segment(points, Stroke::new(4.0, BRASS));
}

fn cap(painter: &Painter, stage: &Stage, centre: Pos2, radius: f32, rotor: Rotation, turned: f64) {
    painter.circle(centre, radius - 4.0, SLATE, Stroke::new(3.0, DARK));
    painter.circle(centre, radius - 22.0, Color32::from_rgb(0x7C, 0x5A, 0x3C), Stroke::new(2.0, DARK));
    let way = if rotor == Rotation::Clockwise { 1.0 } else { -1.0 };
    let cycle = stage.bench().engine.setup().layout.cycle();
    let fires_at = stage.bench().engine.setup().layout.fires_at.clone();
    let first = -40.0;
    let reach = radius - 42.0;
    if let Some(turns) = rotor_turns(stage) {
        let at = first + way * 360.0 * turns;
        let tip = look::around(centre, reach - 12.0, at);
        painter.line_segment([look::around(centre, 22.0, at + 180.0), tip], Stroke::new(15.0, DARK));
        painter.line_segment([centre, tip], Stroke::new(6.0, BRASS));
    } else {
        painter.circle_stroke(centre, reach - 16.0, Stroke::new(6.0, BRASS.gamma_multiply(0.4)));
    }
    painter.circle_filled(centre, 13.0, DARK);
    for (place, angle) in fires_at.iter().enumerate() {
        let at = first + turned + way * 360.0 * angle / cycle;
        let tower = look::around(centre, reach, at);
        let one = place == 0;
        painter.circle(tower, 13.5, if one { BRASS } else { STEEL }, Stroke::new(2.0, DARK));
        look::write(painter, tower, Align2::CENTER_CENTER, &format!("{}", place + 1), 17.0, INK);
    }
    let (from, to) = if way > 0.0 { (-35.0, 35.0) } else { (35.0, -35.0) };
    look::arc_arrow(painter, centre, radius + 10.0, from, to, Stroke::new(3.0, FAINT));
}

fn housing(ui: &mut Ui, stage: &mut Stage, centre: Pos2, radius: f32, next: Option<Part>) {
    let area = Rect::from_center_size(centre, Vec2::splat(2.0 * radius));
    let response = look::grip(ui, area, Part::Housing, Sense::click_and_drag(), next);
    // From the first pixel on: the last half degree is smaller than what a window calls a drag.
    let moved = ui.input(|input| input.pointer.delta());
    if response.is_pointer_button_down_on()
        && !ui.input(|input| input.pointer.primary_pressed())
        && let Some(now) = response.interact_pointer_pos()
    {
        let before = now - moved;
        let angle = |at: Pos2| f64::from((at - centre).angle()).to_degrees();
        let swept = (angle(now) - angle(before) + 180.0).rem_euclid(360.0) - 180.0;
        if swept.abs() < 60.0 && swept != 0.0 {
            stage.turn_clockwise(GEARED * swept);
        }
    }
    if response.hovered() {
        let wheel = ui.input(|input| input.smooth_scroll_delta.y);
        if wheel.abs() > 0.5 {
            stage.turn_clockwise(-CLICK * f64::from(wheel / 25.0).clamp(-3.0, 3.0));
        }
    }
}

fn bolt(ui: &mut Ui, stage: &mut Stage, at: Pos2, next: Option<Part>) {
    let tight = stage.controls().bolt_tight;
    let area = Rect::from_center_size(at, vec2(104.0, 92.0));
    let response = look::grip(ui, area, Part::Bolt, Sense::click(), next);
    if response.clicked() {
        stage.controls_mut().bolt_tight = !tight;
    }
    let painter = ui.painter();
    painter.rect(area, CornerRadius::same(8), STEEL, Stroke::new(1.5, DARK), StrokeKind::Inside);
    look::bolt_head(painter, at - vec2(0.0, 12.0), 24.0, if tight { 0.0 } else { -25.0 }, BRASS);
    let (word, colour) = if tight { ("bolt tight", INK) } else { ("bolt LOOSE", RED) };
    look::write(painter, at + vec2(0.0, 31.0), Align2::CENTER_CENTER, word, 15.0, colour);
}

/// What the housing has been turned by, and what turning does.
fn side(painter: &Painter, stage: &Stage, rect: Rect, rotor: Rotation, turned: f64) {
    let (turns, earlier) = match rotor {
        Rotation::Clockwise => ("clockwise", "counterclockwise"),
        Rotation::Counterclockwise => ("counterclockwise", "clockwise"),
    };
    let at = |line: f32| pos2(rect.min.x, rect.min.y + 4.0 + line);
    let from_witness = if turned.abs() < 0.05 {
        "on the witness mark".to_owned()
    } else {
        format!("{:.1}° {}", turned.abs(), if turned > 0.0 { "clockwise" } else { "counter-clockwise" })
    };
    look::write(painter, at(0.0), Align2::LEFT_TOP, "The housing stands", 12.5, FAINT);
    let end = look::write_wrapped(painter, at(16.0), 116.0, &from_witness, 16.0, INK).max.y;
    let at = |line: f32| pos2(rect.min.x, end + line);
    look::write(painter, at(10.0), Align2::LEFT_TOP, "The rotor turns", 12.5, FAINT);
    look::write(painter, at(26.0), Align2::LEFT_TOP, turns, 15.0, INK);
    look::write(painter, at(52.0), Align2::LEFT_TOP, "To make it earlier", 12.5, FAINT);
    look::write(painter, at(68.0), Align2::LEFT_TOP, earlier, 15.0, INK);
    let loose = !stage.controls().bolt_tight;
    let hint = if loose {
        "Drag the rim, turn the mouse wheel, or tap the arrow keys"
    } else {
        "Loosen the bolt to turn"
    };
    look::write_wrapped(painter, at(100.0), 116.0, hint, 13.0, if loose { GREEN } else { FAINT });
}
