//! The trainer's strip along the top: engine and mistake, truth, pace, and what is kept.

use super::catalogue::{Choice, mistake, mistakes};
use super::keys::Asked;
use super::look::{DARK, INK, PLATE, RED};
use super::stage::Stage;
use crate::engine::fault::FaultKind;
use eframe::egui::{
    Button, Color32, ComboBox, CornerRadius, Layout, Rect, RichText, Slider, Ui, UiBuilder, vec2,
};
use keyway_core::judge::CauseId;

/// What the strip remembers and decides.
#[derive(Debug, Default)]
pub(super) struct Strip {
    /// The truth is laid over the bench.
    pub(super) truth: bool,
    /// The drills are offered.
    pub(super) drills: bool,
    /// The captures are offered.
    pub(super) captures: bool,
    /// The keys are listed.
    pub(super) help: bool,
}

/// A choice waits until the severity's slider is let go.
fn changed(stage: &mut Stage, choice: Choice) {
    if choice != stage.choice {
        stage.put(choice);
    }
}

fn fault_list(ui: &mut Ui, name: &str, first: &str, chosen: &mut FaultKind) {
    let healthy = FaultKind::Cause(CauseId::Healthy);
    let shown = if *chosen == healthy { first } else { mistake(*chosen) };
    let list = ComboBox::from_id_salt(name).width(if name == "second" { 110.0 } else { 205.0 }).height(700.0);
    let response = list.selected_text(shown).show_ui(ui, |ui| {
        let mut headed = false;
        for kind in mistakes() {
            if matches!(kind, FaultKind::Withheld(_)) && !headed {
                headed = true;
                ui.separator();
                ui.label(RichText::new("No number to be shown").size(12.0));
            }
            ui.selectable_value(chosen, kind, mistake(kind));
        }
    });
    let about = if name == "second" {
        "A second mistake beside the first."
    } else {
        "What is wrong with the engine. Choosing puts a fresh engine on the bench."
    };
    response.response.on_hover_text(about);
}

impl Strip {
    /// Draws it; gives what was asked for.
    pub(super) fn show(&mut self, ui: &mut Ui, rect: Rect, stage: &mut Stage) -> Vec<Asked> {
        ui.painter().rect_filled(rect, CornerRadius::ZERO, DARK);
        let inner = rect.shrink2(vec2(8.0, 5.0));
        let mut asked = Vec::new();
        let mut strip = ui.new_child(
            UiBuilder::new().max_rect(inner).layout(Layout::left_to_right(eframe::egui::Align::Center)),
        );
        strip.spacing_mut().item_spacing.x = 6.0;
        if stage.session().is_some() {
            strip.label(RichText::new("Drill").color(PLATE).size(18.0).strong());
            strip.add_space(40.0);
        } else {
            self.choice(&mut strip, stage);
        }
        let trainee = stage.session().is_some_and(|session| session.truth().is_err());
        let mut toggle = |ui: &mut Ui, on: bool, word: &str, tip: &str, ask: Asked| {
            let (fill, colour) = if on { (Color32::from_rgb(0xF0, 0xC0, 0x50), INK) } else { (PLATE, INK) };
            let button = Button::new(RichText::new(word).size(14.0).color(colour)).fill(fill);
            if ui.add(button).on_hover_text(tip).clicked() {
                asked.push(ask);
            }
        };
        if !trainee {
            toggle(
                &mut strip,
                self.truth,
                "Truth",
                "What is wrong, and where the spark really is (T)",
                Asked::Truth,
            );
        }
        if stage.session().is_none() {
            toggle(
                &mut strip,
                stage.is_brisk(),
                "To the reading",
                "A quick technician works the handheld from here to its reading, just as the guide says (G)",
                Asked::Reading,
            );
        }
        toggle(
            &mut strip,
            stage.pace < 0.5,
            "Slow",
            "Slow motion, one fiftieth: the crank can be followed (M)",
            Asked::Slow,
        );
        toggle(&mut strip, stage.paused, "Pause", "Everything stands still (P)", Asked::Pause);
        // A reading of the capture would tell a trainee what the level hides.
        if !trainee {
            toggle(
                &mut strip,
                false,
                "Save 60 s",
                "The last minute as a capture with its job, into this folder (F5)",
                Asked::Save,
            );
            if strip
                .add(Button::new(RichText::new("Open…").size(14.0)).fill(PLATE))
                .on_hover_text("Read a capture of this folder")
                .clicked()
            {
                self.captures = !self.captures;
            }
        }
        toggle(&mut strip, false, "Picture", "This window as a PNG, into this folder (F6)", Asked::Picture);
        if strip
            .add(Button::new(RichText::new("Drills…").size(14.0)).fill(PLATE))
            .on_hover_text("Exercises with a hidden fault, marked")
            .clicked()
        {
            self.drills = !self.drills;
        }
        toggle(&mut strip, self.help, "Keys", "The keys of the keyboard (F1)", Asked::Help);
        asked
    }

    fn choice(&mut self, ui: &mut Ui, stage: &mut Stage) {
        let mut choice = stage.choice;
        let title = stage.engines.get(choice.engine).map_or("", |kept| kept.job.name.as_str()).to_owned();
        let list = ComboBox::from_id_salt("engine").selected_text(title).width(135.0).height(600.0);
        let response = list.show_ui(ui, |ui| {
            for (place, kept) in stage.engines.iter().enumerate() {
                ui.selectable_value(&mut choice.engine, place, &kept.title);
            }
        });
        response.response.on_hover_text("The engine on the bench");
        fault_list(ui, "mistake", "Nothing is wrong", &mut choice.faults[0]);
        fault_list(ui, "second", "and …", &mut choice.faults[1]);
        ui.spacing_mut().slider_width = 64.0;
        let mut severity = choice.severity;
        let slider = ui.add(Slider::new(&mut severity, 0.0..=1.0).show_value(false).step_by(0.05));
        let slider = slider.on_hover_text(format!("How gross the mistake is: {:.0} %", 100.0 * severity));
        let settled = slider.drag_stopped() || (slider.changed() && !slider.dragged());
        if slider.changed() || slider.dragged() {
            ui.ctx().data_mut(|data| data.insert_temp(slider.id, severity));
        }
        if settled {
            choice.severity = ui.ctx().data(|data| data.get_temp(slider.id)).unwrap_or(severity);
        }
        if ui
            .add(Button::new(RichText::new("Start over").size(14.0).color(RED)).fill(PLATE))
            .on_hover_text("The same engine and mistake once more, from the start")
            .clicked()
        {
            stage.put(choice);
            return;
        }
        changed(stage, choice);
    }
}
