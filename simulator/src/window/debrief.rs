//! Marks and debrief of a finished drill: the run once more, the truth laid over it.

use super::drill::{Desk, clock};
use super::look::{self, FAINT, RED};
use super::stage::Stage;
use crate::drill::{self, Session};
use eframe::egui::{self, Context, Grid, Label, RichText, ScrollArea, Slider, pos2, vec2};
use keyway_core::words::{self, Btdc};
use std::path::Path;

impl Desk {
    /// Marks, and the run once more with the truth laid over it.
    pub(super) fn debrief(&mut self, context: &Context, stage: &mut Stage) {
        let Some(outcome) = stage.session().and_then(Session::outcome) else { return };
        let mut open = self.marks_open;
        let mut kept = None;
        let window =
            egui::Window::new("Marks and debrief").collapsible(false).open(&mut open).default_width(790.0);
        window.default_pos(pos2(466.0, 54.0)).show(context, |ui| {
            let head = format!("{:.0} of 100: {}", outcome.marks.total, outcome.word());
            let colour = if outcome.marks.passed { look::GREEN } else { RED };
            ui.label(RichText::new(head).size(24.0).color(colour));
            for critical in &outcome.marks.critical {
                ui.label(
                    RichText::new(format!("Critical error: {}", critical.words())).size(15.0).color(RED),
                );
            }
            Grid::new("marks").striped(true).spacing(vec2(12.0, 3.0)).show(ui, |ui| {
                for mark in &outcome.marks.marks {
                    ui.label(RichText::new(mark.name).size(14.0));
                    ui.label(RichText::new(format!("{:.1} of {:.0}", mark.got, mark.most)).size(14.0));
                    // Wrapped, or the longest reason widens the whole window beyond the bench.
                    ui.scope(|ui| {
                        ui.set_max_width(520.0);
                        ui.add(Label::new(RichText::new(&mark.why).size(13.5).color(FAINT)).wrap());
                    });
                    ui.end_row();
                }
            });
            ui.separator();
            ui.horizontal(|ui| {
                ui.label("The run again");
                ui.spacing_mut().slider_width = 420.0;
                ui.add(Slider::new(&mut self.moment, 0.0..=outcome.seconds.max(0.1)).show_value(false));
                ui.label(clock(self.moment));
            });
            if let Some(scene) = outcome.scene(self.moment) {
                let spark = scene
                    .frame
                    .advance
                    .map_or("no spark seen".to_owned(), |advance| format!("spark {}", Btdc(advance as f32)));
                let truth = format!(
                    "{:.0} rpm, {spark}, base {}, {}",
                    scene.frame.rpm,
                    Btdc(scene.frame.base as f32),
                    words::Off(scene.error as f32)
                );
                ui.label(RichText::new(truth).size(15.0).color(if scene.on_target {
                    look::GREEN
                } else {
                    RED
                }));
                ui.label(RichText::new(scene.entry.map_or("", |entry| entry.what.as_str())).size(15.0));
            }
            ui.separator();
            ScrollArea::vertical().max_height(250.0).show(ui, |ui| {
                ui.label(RichText::new("What the customer gets").strong());
                for sentence in &outcome.left.owner {
                    ui.label(sentence);
                }
                ui.label(RichText::new(format!("To talk about: {}", outcome.drill.notes.question)).strong());
                ui.collapsing("The whole run with its truth", |ui| {
                    ui.label(RichText::new(outcome.debrief()).size(12.5).monospace());
                });
            });
            ui.horizontal(|ui| {
                if ui.button("Score sheet to print").on_hover_text("As HTML, into this folder").clicked() {
                    let path = format!("drill-{}-seed-{}.html", outcome.drill.name, outcome.seed);
                    kept = Some(match std::fs::write(&path, drill::sheet(outcome)) {
                        Ok(()) => format!("Score sheet kept as {path}."),
                        Err(error) => format!("{path}: cannot be written ({error})"),
                    });
                }
                if ui
                    .button("Row of the class table")
                    .on_hover_text("Added to class.csv in this folder")
                    .clicked()
                {
                    let added = drill::append(Path::new("class.csv"), outcome);
                    kept = Some(added.map_or_else(|why| why, |()| "Row added to class.csv.".to_owned()));
                }
            });
        });
        self.marks_open = open;
        if let Some(word) = kept {
            stage.say(&word);
        }
    }
}
