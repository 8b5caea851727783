//! The picture: drawn at most ten times a second, only when the core asks, and sent as the changed lines.

use crate::board_rp2040::{self as board, Board};
use embedded_graphics::Drawable;
use embedded_graphics::mono_font::{MonoTextStyle, ascii::FONT_8X13_BOLD};
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::prelude::{DrawTarget, Point};
use embedded_graphics::text::{Baseline, Text};
use embedded_hal::digital::OutputPin;
use keyway_core::panel::{Painter, frame::Frame};
use keyway_core::view::View;
use keyway_drivers::display::Display;

/// At most ten pictures a second, µs.
const DRAW_EVERY_US: u32 = 100_000;
/// Columns of the fault page.
const COLUMNS: usize = 48;

/// Frame, what the display shows, and whether it is to be drawn.
pub(crate) struct Screen {
    frame: &'static mut Frame,
    /// What the frame holds: only what differs from it is drawn.
    painter: Painter,
    display: Display,
    wanted: bool,
    drawn_us: u32,
}

impl Screen {
    /// Nothing drawn yet.
    pub(crate) fn new(frame: &'static mut Frame) -> Self {
        Self { frame, painter: Painter::new(), display: Display::new(), wanted: true, drawn_us: 0 }
    }

    /// The view has changed.
    pub(crate) fn want(&mut self) {
        self.wanted = true;
    }

    /// Draws if it is wanted and time; whether it did.
    #[inline(never)]
    pub(crate) fn draw(&mut self, view: &View) -> bool {
        let now = board::microseconds();
        if !self.wanted || now.wrapping_sub(self.drawn_us) < DRAW_EVERY_US {
            return false;
        }
        self.wanted = false;
        self.drawn_us = now;
        let Ok(changed) = self.painter.draw(view, self.frame);
        if changed {
            self.display.redrawn();
        }
        changed
    }

    /// Hands the next packet to the wire, where that is free.
    #[inline(never)]
    pub(crate) fn send(&mut self, board: &mut Board) {
        let Some(packet) = board.wire.room() else { return };
        let _ = board.select.set_low();
        let length = self.display.pack(self.frame, packet);
        if length > 0 {
            let _ = board.select.set_high();
            board.wire.send(length);
        }
    }

    /// Draws what a panic left behind, broken into lines.
    pub(crate) fn fault_page(&mut self, message: &str) {
        let Ok(()) = self.frame.clear(BinaryColor::Off);
        // The next view is drawn whole.
        self.painter = Painter::new();
        let style = MonoTextStyle::new(&FONT_8X13_BOLD, BinaryColor::On);
        let mut line = |text: &str, row: i32| {
            let Ok(_) =
                Text::with_baseline(text, Point::new(8, 8 + 18 * row), style, Baseline::Top).draw(self.frame);
        };
        line("The last run ended by a fault.", 0);
        line("Please keep this for whoever repairs it:", 1);
        let mut rest = message;
        for row in 3..10 {
            let cut = rest.char_indices().nth(COLUMNS).map_or(rest.len(), |(place, _)| place);
            let (now, later) = rest.split_at(cut);
            line(now, row);
            rest = later;
        }
        line("Any key goes on.", 11);
        self.display.redrawn();
    }
}
