//! The spark leads to the plugs, and the clamp on one of them with its direction.

use super::look::{self, BLUE, DARK, FAINT, INK, RED, STEEL};
use super::part::Part;
use super::stage::Stage;
use crate::engine::controls::Lead;
use eframe::egui::{
    Align2, Color32, ComboBox, CornerRadius, CursorIcon, Id, Painter, Pos2, Rect, Role, Sense, Shape, Stroke,
    StrokeKind, Ui, UiBuilder, WidgetInfo, pos2, vec2,
};
use keyway_core::job::SparkKind;

/// Where a lead's plug stands, and where the clamp sits on it.
fn places(rect: Rect, count: usize, lead: Lead) -> (Pos2, Pos2) {
    let room = rect.width() - 170.0;
    let column = |place: usize| rect.min.x + 60.0 + room * (place as f32 + 0.5) / count.max(1) as f32;
    let plug = |x: f32| pos2(x, rect.max.y - 34.0);
    let at = match lead {
        Lead::Cylinder(number) => plug(column(usize::from(number).saturating_sub(1))),
        Lead::Coil => pos2(rect.max.x - 66.0, rect.min.y + 66.0),
        Lead::Off => pos2(rect.min.x + 34.0, rect.max.y - 34.0),
    };
    let clamp = match lead {
        Lead::Cylinder(_) => at - vec2(0.0, 42.0),
        Lead::Coil => at + vec2(-46.0, -24.0),
        Lead::Off => at - vec2(0.0, 4.0),
    };
    (at, clamp)
}

/// Draws them, and lets hands at the clamp and the leads.
pub(super) fn show(ui: &mut Ui, rect: Rect, stage: &mut Stage, next: Option<Part>) {
    look::plate(
        ui.painter(),
        rect,
        "Spark leads and clamp: click a lead or drag the clamp; right-click pulls a lead off its plug",
    );
    let count = usize::from(stage.job().engine.cylinders);
    let distributor = stage.job().engine.spark == SparkKind::Distributor;
    let mut spots: Vec<Lead> = (1..=count as u8).map(Lead::Cylinder).collect();
    if distributor && count > 1 {
        spots.push(Lead::Coil);
    }
    spots.push(Lead::Off);
    for lead in &spots {
        draw(ui.painter(), rect, stage, *lead, count);
        grab(ui, rect, stage, *lead, count);
    }
    clamp(ui, rect, stage, &spots, count, next);
    injectors(ui, rect, stage);
}

/// Injector connectors, to be cleaned and plugged in again.
fn injectors(ui: &mut Ui, rect: Rect, stage: &mut Stage) {
    let place = Rect::from_min_size(pos2(rect.max.x - 130.0, rect.max.y - 34.0), vec2(120.0, 26.0));
    let mut room = ui.new_child(UiBuilder::new().max_rect(place));
    let list = ComboBox::from_id_salt("injectors").width(112.0).selected_text("plug in injector");
    let shown = list.show_ui(&mut room, |ui| {
        for cylinder in 1..=stage.job().engine.cylinders {
            if ui.button(format!("connector {cylinder}")).clicked() {
                stage.plug_in(cylinder);
            }
        }
    });
    shown
        .response
        .on_hover_text("Cleans an injector's connector and plugs it in again: mends a dead cylinder");
}

fn draw(painter: &Painter, rect: Rect, stage: &Stage, lead: Lead, count: usize) {
    let (at, _) = places(rect, count, lead);
    match lead {
        Lead::Cylinder(number) => {
            let top = pos2(rect.max.x - 230.0 + 8.0 * f32::from(number), rect.min.y + 28.0);
            let bend = pos2(at.x, rect.min.y + 34.0);
            let points = [top, bend, at - vec2(0.0, 90.0), at - vec2(0.0, 22.0)];
            let on = !stage.pulled.contains(&number);
            let colour = if on { DARK } else { RED };
            let curve = eframe::egui::epaint::CubicBezierShape::from_points_stroke(
                points,
                false,
                Color32::TRANSPARENT,
                Stroke::new(5.0, colour),
            );
            painter.add(Shape::CubicBezier(curve));
            let plug = Rect::from_center_size(at, vec2(20.0, 30.0));
            painter.rect(
                plug,
                CornerRadius::same(3),
                Color32::WHITE,
                Stroke::new(2.0, DARK),
                StrokeKind::Inside,
            );
            if on {
                painter.rect_filled(
                    Rect::from_center_size(at - vec2(0.0, 16.0), vec2(14.0, 22.0)),
                    CornerRadius::same(4),
                    DARK,
                );
            }
            let word = if on { format!("{number}") } else { format!("{number} off") };
            look::write(
                painter,
                at + vec2(0.0, 24.0),
                Align2::CENTER_CENTER,
                &word,
                16.0,
                if on { INK } else { RED },
            );
        }
        Lead::Coil => {
            let body = Rect::from_center_size(at, vec2(58.0, 40.0));
            painter.line_segment([at + vec2(-20.0, -16.0), at + vec2(-110.0, -36.0)], Stroke::new(5.0, DARK));
            painter.rect(body, CornerRadius::same(6), DARK, Stroke::new(2.0, STEEL), StrokeKind::Inside);
            look::write(painter, body.center(), Align2::CENTER_CENTER, "coil", 15.0, Color32::WHITE);
        }
        Lead::Off => {
            let tray = Rect::from_center_size(at, vec2(52.0, 36.0));
            painter.rect(
                tray,
                CornerRadius::same(4),
                Color32::from_rgb(0xDD, 0xDD, 0xD2),
                Stroke::new(1.0, FAINT),
                StrokeKind::Inside,
            );
            look::write(painter, at + vec2(0.0, 25.0), Align2::CENTER_CENTER, "tray", 12.5, FAINT);
        }
    }
}

fn name(lead: Lead) -> String {
    match lead {
        Lead::Cylinder(number) => format!("Lead {number}"),
        Lead::Coil => "Coil lead".to_owned(),
        Lead::Off => "Tray".to_owned(),
    }
}

fn area(rect: Rect, lead: Lead, count: usize) -> Rect {
    let (at, clamp) = places(rect, count, lead);
    match lead {
        Lead::Cylinder(_) => Rect::from_center_size(at - vec2(0.0, 24.0), vec2(44.0, 104.0)),
        Lead::Coil => Rect::from_center_size(at, vec2(64.0, 48.0))
            .union(Rect::from_center_size(clamp, vec2(30.0, 24.0))),
        Lead::Off => Rect::from_center_size(at, vec2(56.0, 44.0)),
    }
}

fn grab(ui: &mut Ui, rect: Rect, stage: &mut Stage, lead: Lead, count: usize) {
    let word = name(lead);
    let response = ui.interact(area(rect, lead, count), Id::unique(&word), Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, &word));
    if response.clicked() {
        stage.clamp_on(lead);
    }
    if let Lead::Cylinder(number) = lead
        && response.secondary_clicked()
    {
        stage.pull_lead(number);
    }
    let tip = match lead {
        Lead::Cylinder(number) => format!(
            "Spark lead of cylinder {number}\nClick: the clamp goes here. Right-click: off its plug, or back on.\nNever pull a lead on a running engine."
        ),
        Lead::Coil => "The coil's lead\nIt carries the spark of every cylinder.".to_owned(),
        Lead::Off => "The clamp lies in the tray and sees nothing.".to_owned(),
    };
    response.on_hover_text(tip);
}

fn clamp(ui: &mut Ui, rect: Rect, stage: &mut Stage, spots: &[Lead], count: usize, next: Option<Part>) {
    let controls = *stage.controls();
    let (_, home) = places(rect, count, controls.lead);
    let id = Id::unique(Part::Clamp.word());
    let dragged =
        ui.ctx().is_being_dragged(id).then(|| ui.input(|input| input.pointer.latest_pos())).flatten();
    let at = dragged.unwrap_or(home);
    let body = Rect::from_center_size(at, vec2(40.0, 34.0));
    let response = look::grip(ui, body, Part::Clamp, Sense::click_and_drag(), next);
    if response.clicked() {
        stage.controls_mut().clamp_reversed = !controls.clamp_reversed;
    }
    if response.drag_stopped()
        && let Some(to) = response.interact_pointer_pos().or(ui.input(|input| input.pointer.latest_pos()))
    {
        let near = |lead: &Lead| area(rect, *lead, count).distance_to_pos(to);
        if let Some(lead) = spots.iter().min_by(|one, other| near(one).total_cmp(&near(other))) {
            stage.clamp_on(*lead);
        }
    }
    if response.hovered() {
        ui.ctx().set_cursor_icon(CursorIcon::Grab);
    }
    let painter = ui.painter();
    painter.rect(body, CornerRadius::same(7), BLUE, Stroke::new(2.0, Color32::WHITE), StrokeKind::Inside);
    let down = if controls.clamp_reversed { -1.0 } else { 1.0 };
    let tip = at + vec2(0.0, 11.0 * down);
    painter.line_segment([at - vec2(0.0, 10.0 * down), tip], Stroke::new(3.5, Color32::WHITE));
    let wings =
        vec![tip + vec2(0.0, 3.0 * down), tip + vec2(-7.0, -7.0 * down), tip + vec2(7.0, -7.0 * down)];
    painter.add(Shape::convex_polygon(wings, Color32::WHITE, Stroke::NONE));
    if controls.clamp_reversed {
        look::write(painter, at + vec2(26.0, 0.0), Align2::LEFT_CENTER, "turned round", 12.5, RED);
    }
}
