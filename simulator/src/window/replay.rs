//! The window of `keyway replay`: the handheld alone, fed by a recording that plays beside it.

use super::handheld::Handheld as Picture;
use super::look::{self, FAINT, INK};
use super::open::{self, NoDisplay};
use super::sounder::Speaker;
use crate::replay::Handheld;
use eframe::egui::{CentralPanel, Event, Frame, Key, Rect, RichText, ScrollArea, Ui, UiBuilder, pos2, vec2};
use keyway_core::sounder::Tone;
use keyway_core::view::View;
use std::collections::VecDeque;
use std::io::{self, Write};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::Duration;

/// Lines that are kept.
const LINES: usize = 400;

/// What player and window share.
#[derive(Debug, Default)]
struct Shared {
    shown: Option<(View, Tone)>,
    keys: VecDeque<(u8, bool)>,
    lines: VecDeque<String>,
    /// A line that is not yet complete.
    part: String,
    closed: bool,
}

type Both = Arc<Mutex<Shared>>;

fn lock(both: &Both) -> MutexGuard<'_, Shared> {
    both.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Takes the player's lines.
struct Lines(Both);

impl Write for Lines {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let mut shared = lock(&self.0);
        shared.part.push_str(&String::from_utf8_lossy(bytes));
        while let Some(end) = shared.part.find('\n') {
            let line: String = shared.part.drain(..=end).collect();
            shared.lines.push_back(line.trim_end().to_owned());
            if shared.lines.len() > LINES {
                shared.lines.pop_front();
            }
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// The window.
struct Replay {
    both: Both,
    named: String,
    picture: Picture,
    speaker: Speaker,
}

impl eframe::App for Replay {
    fn clear_color(&self, _visuals: &eframe::egui::Visuals) -> [f32; 4] {
        look::cleared(look::WALL)
    }

    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        let mut keys = Vec::new();
        ui.input(|input| {
            for event in &input.events {
                if let Event::Key { key, pressed, repeat: false, .. } = event {
                    let places = [Key::Num1, Key::Num2, Key::Num3, Key::Num4];
                    keys.extend(
                        places.iter().position(|one| one == key).map(|place| (place as u8, *pressed)),
                    );
                }
            }
        });
        let shown = lock(&self.both).shown.unwrap_or((View::start(), Tone::SILENT));
        self.speaker.play(shown.1);
        CentralPanel::no_frame().frame(Frame::NONE).show(ui, |ui| {
            let place = ui.max_rect();
            let at = Rect::from_min_size(place.min + vec2(8.0, 8.0), vec2(440.0, 344.0));
            keys.extend(self.picture.show(ui, at, (Some(shown.0), shown.1), None));
            let words = format!("Fed by {} at its own time. Keys 1 to 4 are the handheld's.", self.named);
            look::write_wrapped(ui.painter(), at.left_bottom() + vec2(4.0, 10.0), 430.0, &words, 15.0, FAINT);
            let log = Rect::from_min_max(pos2(at.max.x + 10.0, at.min.y), place.max - vec2(8.0, 8.0));
            look::sheet(ui.painter(), log, "What screen and sounder did");
            let inner = Rect::from_min_max(log.min + vec2(10.0, 28.0), log.max - vec2(10.0, 8.0));
            let mut list = ui.new_child(UiBuilder::new().max_rect(inner));
            ScrollArea::vertical().stick_to_bottom(true).auto_shrink(false).show(&mut list, |ui| {
                for line in &lock(&self.both).lines {
                    ui.label(RichText::new(line).size(13.0).color(INK));
                }
            });
        });
        lock(&self.both).keys.extend(keys);
        ui.ctx().request_repaint_after(Duration::from_millis(30));
    }
}

/// Opens the window and lets `play` feed it from beside; gives what `play` gave, once the window is closed.
///
/// # Errors
/// There is no display.
pub fn replay<F, T>(named: &str, play: F) -> Result<T, NoDisplay>
where
    F: FnOnce(&mut dyn FnMut(&mut dyn Handheld) -> bool, &mut dyn Write) -> T + Send + 'static,
    T: Send + 'static,
{
    open::display()?;
    let both = Both::default();
    let feeds = Arc::clone(&both);
    let player = thread::spawn(move || {
        let mut looks = |handheld: &mut dyn Handheld| {
            let mut shared = lock(&feeds);
            while let Some((key, down)) = shared.keys.pop_front() {
                handheld.press(key, down);
            }
            shared.shown = Some(handheld.shown());
            !shared.closed
        };
        play(&mut looks, &mut Lines(Arc::clone(&feeds)))
    });
    let window = Replay {
        both: Arc::clone(&both),
        named: named.to_owned(),
        picture: Picture::default(),
        speaker: Speaker::new(),
    };
    let ran = open::run(window);
    lock(&both).closed = true;
    let gave = player.join().map_err(|_| NoDisplay::because("the player stopped"));
    ran?;
    gave
}
