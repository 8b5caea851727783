//! The trainee's desk while a drill is under way: story, clock, answer, hints, marks and debrief.

use super::look::{self, INK, RED};
use super::open::Finished;
use super::stage::Stage;
use crate::drill::{self, Commit, Drill, Ending, Evidence, Level, Outcome, Session};
use eframe::egui::{
    self, Align2, Button, Checkbox, ComboBox, Context, DragValue, Grid, Layout, Rect, RichText, TextEdit, Ui,
    UiBuilder, pos2, vec2,
};
use keyway_core::job::Rotation;
use keyway_core::judge::CauseId;
use keyway_core::words::{self, Btdc};

/// The answer as far as it was chosen.
#[derive(Debug, Clone, Default)]
struct Answer {
    cause: Option<CauseId>,
    second: Option<CauseId>,
    evidence: Option<Evidence>,
    /// `None` not chosen; then to leave it, or a way to turn.
    turn: Option<Option<Rotation>>,
    degrees: f64,
}

/// The desk.
#[derive(Default)]
pub(super) struct Desk {
    /// What is written when a drill is finished.
    pub(super) ending: Ending,
    /// Where it is left for whoever opened the window.
    pub(super) finished: Option<Finished>,
    answer: Answer,
    hints: Vec<String>,
    trainee: String,
    seed: u32,
    level: Option<Level>,
    drills: Vec<Drill>,
    /// Moment of the debrief, s.
    pub(super) moment: f64,
    pub(super) marks_open: bool,
}

/// Minutes and seconds.
pub(super) fn clock(seconds: f64) -> String {
    format!("{}:{:02}", seconds as u64 / 60, seconds as u64 % 60)
}

impl Desk {
    /// The drills to choose from.
    pub(super) fn choose(&mut self, context: &Context, open: &mut bool, stage: &mut Stage) {
        self.debrief(context, stage);
        if !*open {
            return;
        }
        if self.drills.is_empty() {
            self.drills = drill::all().unwrap_or_default();
            self.seed = self.seed.max(1);
        }
        let mut begun = None;
        let mut shown = true;
        let window = egui::Window::new("Drills").collapsible(false).open(&mut shown).default_width(620.0);
        window.default_pos(pos2(470.0, 60.0)).show(context, |ui| {
            ui.horizontal(|ui| {
                ui.label("Trainee");
                ui.add(TextEdit::singleline(&mut self.trainee).desired_width(170.0));
                ui.label("Seed");
                ui.add(DragValue::new(&mut self.seed).range(1..=99_999))
                    .on_hover_text("One seed gives a class one engine.");
                let level = self.level.get_or_insert(Level::Causes);
                for one in Level::ALL {
                    ui.selectable_value(level, one, one.words());
                }
            });
            ui.separator();
            Grid::new("drills").striped(true).spacing(vec2(14.0, 5.0)).show(ui, |ui| {
                for one in &self.drills {
                    ui.label(RichText::new(format!("{}", one.number)).size(15.0));
                    ui.label(RichText::new(&one.notes.title).size(15.0));
                    ui.label(format!("{:.0} min", one.notes.minutes));
                    if ui.button("Begin").clicked() {
                        begun = Some(one.clone());
                    }
                    ui.end_row();
                }
            });
            if stage.session().is_some() && ui.button("Back to the free bench").clicked() {
                stage.put(stage.choice);
                *open = false;
            }
        });
        *open &= shown;
        if let Some(drill) = begun {
            *open = false;
            match Session::start(drill, self.seed, self.level.unwrap_or(Level::Causes), &self.trainee) {
                Ok(session) => {
                    stage.put_session(session);
                    self.clear();
                }
                Err(why) => stage.say(&why),
            }
        }
    }

    fn clear(&mut self) {
        self.answer = Answer::default();
        self.hints.clear();
        self.moment = 0.0;
        self.marks_open = false;
    }

    /// Draws the desk.
    pub(super) fn show(&mut self, ui: &mut Ui, rect: Rect, stage: &mut Stage) {
        let Some(session) = stage.session() else { return };
        let notes = session.drill().notes.clone();
        let title =
            format!("Drill {}, seed {}, {}", session.drill().number, session.seed(), session.level().words());
        let left = notes.minutes * 60.0 - session.seconds();
        let time = format!("{} of {:.0} min", clock(session.seconds()), notes.minutes);
        look::plate(ui.painter(), rect, &title);
        let corner = pos2(rect.max.x - 12.0, rect.min.y + 5.0);
        look::write(ui.painter(), corner, Align2::RIGHT_TOP, &time, 16.0, if left < 0.0 { RED } else { INK });
        let inner = Rect::from_min_max(rect.min + vec2(12.0, 28.0), rect.max - vec2(12.0, 10.0));
        let mut desk =
            ui.new_child(UiBuilder::new().max_rect(inner).layout(Layout::top_down(egui::Align::Min)));
        desk.spacing_mut().item_spacing.y = 6.0;
        desk.label(RichText::new(&notes.title).size(17.0).strong());
        desk.label(RichText::new(&notes.story).size(14.0));
        for hint in &self.hints {
            desk.label(RichText::new(format!("Hint: {hint}")).size(13.5).color(RED));
        }
        desk.separator();
        if session.committed() || session.outcome().is_some() {
            self.told(&mut desk, stage);
        } else {
            self.form(&mut desk, stage);
        }
        self.foot(&mut desk, stage);
    }

    fn form(&mut self, ui: &mut Ui, stage: &mut Stage) {
        let answer = &mut self.answer;
        let cause = |chosen: Option<CauseId>, none: &str| {
            chosen.map_or_else(|| none.to_owned(), |cause| words::cause_title(cause).to_owned())
        };
        Grid::new("answer").spacing(vec2(8.0, 6.0)).show(ui, |ui| {
            ui.label("Cause");
            ui.horizontal(|ui| {
                let list = ComboBox::from_id_salt("cause").width(165.0);
                let shown = list.selected_text(cause(answer.cause, "choose a cause")).show_ui(ui, |ui| {
                    for one in CauseId::ALL {
                        ui.selectable_value(&mut answer.cause, Some(one), words::cause_title(one));
                    }
                });
                shown.response.on_hover_text("What is wrong");
                let list = ComboBox::from_id_salt("other").width(120.0);
                let shown = list.selected_text(cause(answer.second, "and …")).show_ui(ui, |ui| {
                    ui.selectable_value(&mut answer.second, None, "nothing else");
                    for one in CauseId::ALL {
                        ui.selectable_value(&mut answer.second, Some(one), words::cause_title(one));
                    }
                });
                shown.response.on_hover_text("A second cause, where there is one");
            });
            ui.end_row();
            ui.label("Evidence");
            let chosen = answer.evidence.map_or("choose the evidence", Evidence::words);
            let list = ComboBox::from_id_salt("evidence").width(320.0).truncate();
            let shown = list.selected_text(chosen).show_ui(ui, |ui| {
                for one in Evidence::ALL {
                    ui.selectable_value(&mut answer.evidence, Some(*one), one.words());
                }
            });
            shown.response.on_hover_text("What was seen that settles it");
            ui.end_row();
            ui.label("Housing");
            ui.horizontal(|ui| {
                ui.selectable_value(&mut answer.turn, Some(None), "leave it");
                ui.selectable_value(&mut answer.turn, Some(Some(Rotation::Clockwise)), "clockwise");
                ui.selectable_value(&mut answer.turn, Some(Some(Rotation::Counterclockwise)), "counter");
                ui.add(DragValue::new(&mut answer.degrees).range(0.0..=90.0).speed(0.1).suffix("°"))
                    .on_hover_text("Degrees at the housing: half the crank's on a four-stroke.");
            });
            ui.end_row();
        });
        let ready = answer.cause.is_some() && answer.evidence.is_some() && answer.turn.is_some();
        let commit = Button::new(RichText::new("Commit this answer").size(15.0));
        let pressed =
            ui.add_enabled(ready, commit).on_hover_text("Once, and before anything is told.").clicked();
        if let (true, Some(cause), Some(evidence), Some(turn)) =
            (pressed, answer.cause, answer.evidence, answer.turn)
        {
            let mut causes = vec![cause];
            causes.extend(answer.second.filter(|second| *second != cause));
            let housing_deg = if turn.is_some() { answer.degrees } else { 0.0 };
            let commit = Commit { causes, evidence, turn, housing_deg };
            if let Some(session) = stage.session_mut()
                && let Err(why) = session.commit(commit)
            {
                stage.say(&why);
            }
        }
    }

    fn told(&mut self, ui: &mut Ui, stage: &Stage) {
        let Some(Ok(truth)) = stage.session().map(Session::truth) else { return };
        let causes: Vec<&str> = truth.causes.iter().map(|cause| words::cause_title(*cause)).collect();
        ui.label(RichText::new(format!("It was: {}", causes.join(" and "))).size(17.0).color(RED));
        let turn = truth.turn.map_or_else(
            || "The housing is not to be turned.".to_owned(),
            |turn| format!("To turn: {:.1}° {} at the housing.", truth.housing_deg, words::turn(turn)),
        );
        ui.label(RichText::new(format!("{turn} Target {}.", Btdc(truth.target as f32))).size(15.0));
        let open = stage.session().is_some_and(|session| session.outcome().is_none());
        if open {
            ui.label(RichText::new("Now put it right, give control back, and keep a record.").size(15.0));
        }
    }

    fn foot(&mut self, ui: &mut Ui, stage: &mut Stage) {
        ui.with_layout(Layout::bottom_up(egui::Align::Min), |ui| {
            ui.horizontal(|ui| {
                let Some(session) = stage.session_mut() else { return };
                if session.outcome().is_some() {
                    if ui.button(RichText::new("Marks and debrief").size(15.0)).clicked() {
                        self.marks_open = true;
                    }
                    return;
                }
                let next = session.drill().hints.get(self.hints.len()).map(|hint| hint.cost);
                let words =
                    next.map_or("No further hint".to_owned(), |cost| format!("A hint, {cost:.0} marks"));
                if ui.add_enabled(next.is_some(), Button::new(RichText::new(words).size(15.0))).clicked()
                    && let Some((text, _)) = session.hint()
                {
                    self.hints.push(text);
                }
                if ui
                    .button(RichText::new("Finish").size(15.0))
                    .on_hover_text("The work is looked over and marked.")
                    .clicked()
                {
                    let outcome = session.finish().clone();
                    let written = self.ending.write(&outcome);
                    self.leave(outcome);
                    if let Err(why) = written {
                        stage.say(&why);
                    }
                }
                self.stop_switch(ui, stage);
            });
        });
    }

    /// The piston stop, which an engine with an untrue mark may ask for.
    fn stop_switch(&mut self, ui: &mut Ui, stage: &mut Stage) {
        let id = ui.scope_id().with("stop");
        let mut stop = ui.data(|data| data.get_temp(id)).unwrap_or(false);
        let switch = ui.add(Checkbox::new(&mut stop, "piston stop in"));
        if switch
            .on_hover_text("Only on a cold engine that stands. Out again before anything turns.")
            .changed()
            && let Some(session) = stage.session_mut()
        {
            session.piston_stop(stop);
            ui.data_mut(|data| data.insert_temp(id, stop));
        }
    }

    fn leave(&mut self, outcome: Outcome) {
        self.marks_open = true;
        if let Some(finished) = &self.finished {
            *finished.lock().unwrap_or_else(std::sync::PoisonError::into_inner) = Some(outcome);
        }
    }
}
