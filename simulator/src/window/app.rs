//! The window: one frame after another, everything in its place.

use super::advice;
use super::balancer;
use super::computer;
use super::controls::{self, Row};
use super::distributor;
use super::drill::Desk;
use super::handheld::Handheld;
use super::keys::{self, Asked, Keyboard};
use super::leads;
use super::look::{self, FAINT, GREEN, INK, RED, WALL};
use super::open::Finished;
use super::part::Part;
use super::save;
use super::sounder::Speaker;
use super::stage::Stage;
use super::trainer::Strip;
use super::truth;
use crate::drill::Ending;
use eframe::egui::{
    self, Align2, CentralPanel, ColorImage, Context, CornerRadius, Frame, Grid, Rect, RichText, ScrollArea,
    Ui, Vec2, Visuals, pos2, vec2,
};
use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

/// What everything is laid out on, points.
const LAID_OUT: Vec2 = Vec2::new(1280.0, 800.0);
/// From one frame to the next at least, ms: 33 frames a second where the machine can.
const FRAME_MS: u64 = 30;
/// Slow motion.
const SLOW: f64 = 0.02;

/// The bench window.
pub(super) struct Window {
    pub(super) stage: Stage,
    pub(super) strip: Strip,
    handheld: Handheld,
    row: Row,
    keyboard: Keyboard,
    desk: Desk,
    speaker: Speaker,
    folder: PathBuf,
    read: Option<String>,
    picture: Arc<Mutex<Option<Arc<ColorImage>>>>,
    dressed: bool,
    last: Option<f64>,
    /// Seconds from frame to frame, smoothed.
    frame: f64,
}

impl Window {
    /// A window on a stage, with or without sound.
    pub(super) fn new(stage: Stage, sound: bool) -> Self {
        Self {
            stage,
            strip: Strip::default(),
            handheld: Handheld::default(),
            row: Row::default(),
            keyboard: Keyboard::default(),
            desk: Desk::default(),
            speaker: if sound { Speaker::new() } else { Speaker::silent() },
            folder: PathBuf::from("."),
            read: None,
            picture: Arc::default(),
            dressed: false,
            last: None,
            frame: 0.025,
        }
    }

    /// What is written when the drill is finished, and where it is left.
    pub(super) fn ending(mut self, ending: Ending, finished: Finished) -> Self {
        self.desk.ending = ending;
        self.desk.finished = Some(finished);
        self
    }

    /// Dresses the library's own widgets, once.
    fn dress(&mut self, context: &Context) {
        if !std::mem::replace(&mut self.dressed, true) {
            context.set_theme(egui::Theme::Light);
            let mut visuals = Visuals::light();
            visuals.panel_fill = WALL;
            visuals.override_text_color = Some(INK);
            context.set_visuals_of(egui::Theme::Light, visuals);
            context.options_mut(|options| options.zoom_with_keyboard = false);
        }
    }

    /// Scales everything so that the layout fills the window.
    fn fit(context: &Context) {
        let points = context.content_rect().size();
        let zoom = context.zoom_factor();
        let wanted = zoom * (points.x / LAID_OUT.x).min(points.y / LAID_OUT.y);
        let wanted = wanted.clamp(0.4, 4.0);
        if (wanted - zoom).abs() > 0.004 {
            context.set_zoom_factor(wanted);
        }
    }

    /// One frame.
    pub(super) fn frame(&mut self, ui: &mut Ui) {
        let context = ui.ctx().clone();
        self.dress(&context);
        Self::fit(&context);
        let now = context.input(|input| input.time);
        let passed = self.last.replace(now).map_or(0.0, |last| now - last);
        self.frame += 0.05 * (passed.clamp(0.001, 1.0) - self.frame);
        let mut asked = self.keyboard.read(&context, &mut self.stage);
        self.stage.go_on(passed);
        self.speaker.play(if self.stage.view().is_some() && !self.stage.paused {
            self.stage.bench().tone()
        } else {
            keyway_core::sounder::Tone::SILENT
        });
        CentralPanel::no_frame().frame(Frame::NONE).show(ui, |ui| {
            let origin = ui.max_rect().min + ((ui.max_rect().size() - LAID_OUT) * 0.5).max(Vec2::ZERO);
            let at = |x: f32, y: f32, right: f32, bottom: f32| {
                Rect::from_min_max(origin + vec2(x, y), origin + vec2(right, bottom))
            };
            let strip = Rect::from_min_max(
                pos2(ui.max_rect().min.x, origin.y),
                pos2(ui.max_rect().max.x, origin.y + 42.0),
            );
            look::wall_beyond(ui.painter(), at(4.0, 44.0, 1276.0, 796.0), ui.max_rect());
            asked.extend(self.strip.show(ui, strip, &mut self.stage));
            let drill = self.stage.session().is_some();
            let advice = advice::next(&self.stage);
            let next = advice.part.filter(|_| !drill);
            let shown = (self.stage.view(), self.stage.bench().tone());
            for (key, down) in self.handheld.show(ui, at(8.0, 48.0, 448.0, 392.0), shown, next) {
                self.stage.bench_mut().key(key, down);
            }
            if drill {
                self.desk.show(ui, at(8.0, 398.0, 448.0, 792.0), &mut self.stage);
            } else {
                now_card(ui, at(8.0, 398.0, 448.0, 528.0), &advice.text, next);
                label(ui, at(8.0, 534.0, 448.0, 670.0), &self.stage);
                if self.strip.truth {
                    truth::show(ui.painter(), at(8.0, 676.0, 448.0, 792.0), &self.stage);
                } else {
                    how(ui, at(8.0, 676.0, 448.0, 792.0));
                }
            }
            let named = self.strip.truth && truth::lines(&self.stage).is_some();
            balancer::show(ui, at(456.0, 48.0, 872.0, 318.0), &self.stage, named);
            controls::dial(ui.painter(), at(456.0, 324.0, 872.0, 408.0), &self.stage);
            distributor::show(ui, at(880.0, 48.0, 1272.0, 408.0), &mut self.stage, next);
            leads::show(ui, at(456.0, 414.0, 1272.0, 590.0), &mut self.stage, next);
            self.row.ignition(ui, at(456.0, 596.0, 590.0, 792.0), &mut self.stage, next);
            self.row.throttle(ui, at(596.0, 596.0, 690.0, 792.0), &mut self.stage, next);
            computer::show(ui, at(696.0, 596.0, 966.0, 792.0), &mut self.stage, next);
            controls::clips(ui, at(972.0, 596.0, 1119.0, 691.0), &mut self.stage, next);
            controls::loads(ui, at(1125.0, 596.0, 1272.0, 691.0), &mut self.stage, next);
            controls::hose(ui, at(972.0, 697.0, 1119.0, 792.0), &mut self.stage, next);
            last_word(ui, at(1125.0, 697.0, 1272.0, 792.0), &self.stage, 1.0 / self.frame);
            if drill && self.strip.truth && truth::lines(&self.stage).is_some() {
                truth::show(ui.painter(), at(456.0, 596.0, 872.0, 700.0), &self.stage);
            }
        });
        self.over(&context);
        for one in asked {
            self.carry_out(one, &context);
        }
        self.pictures();
        context.request_repaint_after(Duration::from_millis(FRAME_MS));
    }

    fn carry_out(&mut self, asked: Asked, context: &Context) {
        let drill = self.stage.session().is_some();
        match asked {
            Asked::Pause => self.stage.paused = !self.stage.paused,
            Asked::Slow => self.stage.pace = if self.stage.pace < 0.5 { 1.0 } else { SLOW },
            Asked::Truth => self.strip.truth = !self.strip.truth,
            Asked::Help => self.strip.help = !self.strip.help,
            Asked::Reading if drill => {}
            Asked::Reading => self.stage.work_to_the_reading(),
            Asked::Picture => {
                let place = Arc::clone(&self.picture);
                context.request_screenshot(move |image| {
                    *place.lock().unwrap_or_else(PoisonError::into_inner) = Some(image);
                });
            }
            Asked::Save if self.stage.session().is_some_and(|session| session.truth().is_err()) => {}
            Asked::Save => {
                let word = match save::capture(&self.stage, &self.folder) {
                    Ok(path) => format!("Kept as {}, its job beside it.", path.display()),
                    Err(why) => why,
                };
                self.stage.say(&word);
            }
        }
    }

    fn pictures(&mut self) {
        let taken = self.picture.lock().unwrap_or_else(PoisonError::into_inner).take();
        if let Some(image) = taken {
            let word = match save::picture(&image, &self.folder) {
                Ok(path) => format!("Picture kept as {}.", path.display()),
                Err(why) => why,
            };
            self.stage.say(&word);
        }
    }

    /// What lies over the bench: keys, captures, drills.
    fn over(&mut self, context: &Context) {
        if self.strip.help {
            let window = egui::Window::new("Keys").collapsible(false).open(&mut self.strip.help);
            window.default_pos(pos2(470.0, 70.0)).show(context, |ui| {
                Grid::new("keys").striped(true).spacing(vec2(18.0, 6.0)).show(ui, |ui| {
                    for (key, what) in keys::list() {
                        ui.label(RichText::new(key).size(15.0).strong());
                        ui.label(RichText::new(what).size(15.0));
                        ui.end_row();
                    }
                });
            });
        }
        if self.strip.captures {
            self.captures(context);
        }
        self.desk.choose(context, &mut self.strip.drills, &mut self.stage);
    }

    fn captures(&mut self, context: &Context) {
        let mut open = true;
        let window = egui::Window::new("Captures in this folder").collapsible(false).open(&mut open);
        window.default_pos(pos2(470.0, 70.0)).default_width(780.0).show(context, |ui| {
            let found = save::captures(&self.folder);
            if found.is_empty() {
                ui.label("None yet: \u{201c}Save 60 s\u{201d} keeps the last minute, its job beside it.");
            }
            ui.horizontal_wrapped(|ui| {
                for path in found.iter().take(12) {
                    let name =
                        path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
                    if ui.button(RichText::new(name).size(14.0)).clicked() {
                        self.read = Some(save::open(path).unwrap_or_else(|why| why));
                    }
                }
            });
            if let Some(read) = &self.read {
                ui.separator();
                ScrollArea::vertical().max_height(520.0).show(ui, |ui| {
                    ui.label(RichText::new(read).size(14.0).monospace());
                });
            }
        });
        self.strip.captures = open;
    }
}

/// What to do next, with the hands.
fn now_card(ui: &Ui, rect: Rect, text: &str, next: Option<Part>) {
    look::plate(ui.painter(), rect, "Now, with your hands");
    let colour = if next.is_some() { GREEN } else { FAINT };
    let bar = Rect::from_min_max(rect.min + vec2(8.0, 28.0), pos2(rect.min.x + 14.0, rect.max.y - 8.0));
    ui.painter().rect_filled(bar, CornerRadius::same(3), colour);
    look::write_wrapped(ui.painter(), rect.min + vec2(24.0, 28.0), rect.width() - 36.0, text, 20.0, INK);
}

/// The label under the hood, and the entries of the job that a hand needs.
fn label(ui: &Ui, rect: Rect, stage: &Stage) {
    let painter = ui.painter();
    let job = stage.job();
    look::plate(painter, rect, "The engine's label");
    let order: Vec<String> = job.engine.firing_order.iter().map(ToString::to_string).collect();
    let [low, high] = job.timing.idle_rpm;
    let base = match job
        .timing
        .commanded_btdc
        .filter(|_| job.timing.control == keyway_core::job::Control::Commanded)
    {
        Some(fixed) => format!("hold {} fixed to set it", keyway_core::words::Btdc(fixed)),
        None => format!("base timing {}", keyway_core::words::Btdc(job.timing.base_btdc)),
    };
    let rows = [
        (job.name.as_str().to_owned(), 20.0),
        (format!("{base}, idle {low:.0} to {high:.0} rpm"), 17.0),
        (format!("firing order {}", order.join("-")), 15.0),
        (held(stage), 15.0),
    ];
    let mut at = rect.min + vec2(12.0, 25.0);
    for (row, size) in rows {
        at.y = look::write_wrapped(painter, at, rect.width() - 24.0, &row, size, INK).max.y + 2.0;
    }
}

fn held(stage: &Stage) -> String {
    let job = stage.job();
    match job.timing.control {
        keyway_core::job::Control::Computer => {
            format!("base mode: open the connector; steering adds about {:.0}°", job.timing.harness_offset)
        }
        keyway_core::job::Control::Commanded => "computer: hold the fixed value, trims off".to_owned(),
        keyway_core::job::Control::Mechanical => {
            "weights and vacuum: hose off and plugged to set it".to_owned()
        }
    }
}

fn how(ui: &Ui, rect: Rect) {
    look::plate(ui.painter(), rect, "How this bench works");
    let words = "Everything with a rim can be grabbed: the handheld's keys, the distributor, bolt, connector, clamp, \
                 key and throttle. Follow the green ring. Hold the mouse over a part to read what it is; F1 lists \
                 the keys. The trainer's strip is at the top.";
    look::write_wrapped(ui.painter(), rect.min + vec2(12.0, 26.0), rect.width() - 24.0, words, 14.5, INK);
}

fn last_word(ui: &Ui, rect: Rect, stage: &Stage, frames: f64) {
    // A frame makes up for a quarter of a second at most: below four a second the bench falls behind.
    let share = (frames * super::stage::LONGEST_FRAME).min(1.0);
    let pace = if share > 0.97 {
        format!("real time\n{frames:.0} frames a second")
    } else {
        format!("{:.0} % of real time:\nthis machine is too slow", 100.0 * share)
    };
    look::plate(ui.painter(), rect, "");
    let (text, colour) = match &stage.word {
        Some((word, _)) => (word.as_str(), RED),
        None if stage.paused => ("Paused: P goes on.", INK),
        None if stage.pace < 0.5 => ("Slow motion: one fiftieth.", INK),
        None => (pace.as_str(), FAINT),
    };
    if stage.word.is_none() && !stage.paused && stage.pace > 0.5 {
        look::write(ui.painter(), rect.center(), Align2::CENTER_CENTER, text, 13.0, colour);
    } else {
        look::write_wrapped(ui.painter(), rect.min + vec2(8.0, 8.0), rect.width() - 16.0, text, 13.0, colour);
    }
}

impl eframe::App for Window {
    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        self.frame(ui);
    }

    fn clear_color(&self, _visuals: &Visuals) -> [f32; 4] {
        look::cleared(look::PLATE)
    }
}
