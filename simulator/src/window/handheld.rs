//! The handheld: its real screen, its four keys, its sounder.

use super::look::{self, BRASS, DARK, FAINT, GREEN, RED};
use super::part::Part;
use crate::screens;
use eframe::egui::{
    Align2, Color32, ColorImage, CornerRadius, Image, Pos2, Rect, Sense, Stroke, StrokeKind, TextureHandle,
    TextureOptions, Ui, pos2, vec2,
};
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::prelude::Point;
use keyway_core::panel::{HEIGHT, WIDTH};
use keyway_core::sounder::Tone;
use keyway_core::view::{KeyLabel, View};
use keyway_core::words;

/// Paper of the reflective screen.
const PAPER: Color32 = Color32::from_rgb(0xD6, 0xDC, 0xC6);
/// Its ink.
const PRINT: Color32 = Color32::from_rgb(0x16, 0x1C, 0x18);

/// What the picture of the handheld remembers.
#[derive(Default)]
pub(super) struct Handheld {
    texture: Option<TextureHandle>,
    shown: Option<View>,
    /// Keys that the mouse holds down.
    held: [bool; 4],
    /// Seconds into the sounder's period.
    beat: f64,
}

/// A view as the screen shows it.
fn pixels(view: &View) -> ColorImage {
    let display = screens::picture(view);
    let colours = (0..HEIGHT).flat_map(|y| (0..WIDTH).map(move |x| (x, y))).map(|(x, y)| {
        let ink = display.get_pixel(Point::new(x as i32, y as i32)) == BinaryColor::On;
        if ink { PRINT } else { PAPER }
    });
    ColorImage::new([WIDTH as usize, HEIGHT as usize], colours.collect())
}

impl Handheld {
    /// Draws it, and lets the mouse at its keys; gives the keys that went down or up. Without a view it is covered.
    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        rect: Rect,
        (view, tone): (Option<View>, Tone),
        next: Option<Part>,
    ) -> Vec<(u8, bool)> {
        let painter = ui.painter().clone();
        look::wall_around(&painter, rect, 14, 6.0);
        painter.rect(
            rect,
            CornerRadius::same(14),
            DARK,
            Stroke::new(3.0, Color32::BLACK),
            StrokeKind::Inside,
        );
        let screen = Rect::from_min_size(
            pos2(rect.center().x - WIDTH as f32 / 2.0, rect.min.y + 16.0),
            vec2(WIDTH as f32, HEIGHT as f32),
        );
        painter.rect_filled(screen.expand(5.0), CornerRadius::same(4), Color32::BLACK);
        match &view {
            Some(view) => self.screen(ui, screen, view),
            None => {
                painter.rect_filled(screen, CornerRadius::ZERO, Color32::from_rgb(0x44, 0x4C, 0x50));
                let text = "Covered at this level:\nuse strobe and scale.";
                look::write(&painter, screen.center(), Align2::CENTER_CENTER, text, 20.0, Color32::WHITE);
            }
        }
        let labels = view.map_or([KeyLabel::None; 4], |view| view.keys);
        let moved = self.keys(ui, screen, labels, next);
        let foot = rect.max.y - 15.0;
        look::write(&painter, pos2(screen.min.x, foot), Align2::LEFT_CENTER, "KEYWAY", 14.0, BRASS);
        self.sounder(ui, pos2(screen.max.x, foot), if view.is_some() { tone } else { Tone::SILENT });
        moved
    }

    fn screen(&mut self, ui: &mut Ui, screen: Rect, view: &View) {
        if self.shown.as_ref() != Some(view) {
            let image = pixels(view);
            match &mut self.texture {
                Some(texture) => texture.set(image, TextureOptions::LINEAR),
                None => self.texture = Some(ui.ctx().load_texture("screen", image, TextureOptions::LINEAR)),
            }
            self.shown = Some(*view);
        }
        if let Some(texture) = &self.texture {
            ui.put(screen, Image::new(texture).fit_to_exact_size(screen.size()));
        }
    }

    fn keys(&mut self, ui: &Ui, screen: Rect, labels: [KeyLabel; 4], next: Option<Part>) -> Vec<(u8, bool)> {
        let mut moved = Vec::new();
        for (place, label) in labels.into_iter().enumerate() {
            let key = place as u8;
            let width = screen.width() / 4.0;
            let at = Rect::from_min_size(
                pos2(screen.min.x + width * place as f32 + 6.0, screen.max.y + 13.0),
                vec2(width - 12.0, 38.0),
            );
            let part = Part::Key(key);
            let response = look::grip(ui, at, part, Sense::click_and_drag(), next);
            let down = response.is_pointer_button_down_on();
            let clicked = response.clicked();
            let fill =
                if down { Color32::from_rgb(0x90, 0x98, 0x98) } else { Color32::from_rgb(0xC9, 0xCE, 0xCA) };
            let painter = ui.painter();
            painter.rect(
                at,
                CornerRadius::same(9),
                fill,
                Stroke::new(1.5, Color32::BLACK),
                StrokeKind::Inside,
            );
            let word = words::key(label);
            let faint = if word.is_empty() { FAINT } else { DARK };
            let shown = if word.is_empty() { format!("{}", key + 1) } else { format!("{}  {word}", key + 1) };
            look::write(painter, at.center(), Align2::CENTER_CENTER, &shown, 15.0, faint);
            let Some(held) = self.held.get_mut(place) else { continue };
            if down != *held {
                *held = down;
                moved.push((key, down));
            } else if clicked && !down {
                // A click by assistive means has no length of its own, nor one that came and went within a frame.
                moved.extend([(key, true), (key, false)]);
            }
        }
        moved
    }

    /// The sounder as a lamp with its words, so that it is seen where nothing can be heard.
    fn sounder(&mut self, ui: &Ui, right: Pos2, tone: Tone) {
        let period = f64::from(tone.pulse_ms) + f64::from(tone.pause_ms);
        self.beat = (self.beat + f64::from(ui.input(|input| input.stable_dt)) * 1000.0) % period.max(1.0);
        let sounds =
            tone.pitch_hertz > 0 && (tone.pause_ms == 0 || self.beat < f64::from(tone.pulse_ms).max(60.0));
        let colour = match (sounds, tone.always_loud) {
            (false, _) => Color32::from_rgb(0x50, 0x5A, 0x5E),
            (true, true) => RED,
            (true, false) => Color32::from_rgb(0xF0, 0xC0, 0x50),
        };
        let painter = ui.painter();
        painter.circle_filled(right - vec2(8.0, 0.0), 7.0, colour);
        let words = match (tone.pitch_hertz, tone.pause_ms) {
            (0, _) => "sounder silent".to_owned(),
            (pitch, 0) => format!("steady {pitch} Hz"),
            (pitch, pause) => format!("{pitch} Hz, every {:.2} s", f64::from(pause + tone.pulse_ms) / 1000.0),
        };
        let pale = if tone.pause_ms == 0 && tone.pitch_hertz > 0 {
            GREEN.gamma_multiply(1.6)
        } else {
            Color32::LIGHT_GRAY
        };
        look::write(painter, right - vec2(22.0, 0.0), Align2::RIGHT_CENTER, &words, 13.0, pale);
    }
}
