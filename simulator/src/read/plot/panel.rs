//! One panel of the picture: a frame with axes, the target's band and the sparks in it.

use super::axis::marks;
use super::drawing::{Drawing, FAINT, Hold, INK};
use super::grid::Grid;

/// Width of the picture.
pub(super) const WIDTH: f64 = 960.0;
/// Height of a panel with its axes.
pub(super) const HEIGHT: f64 = 330.0;
/// Height of what stands above the panels.
pub(super) const HEAD: f64 = 104.0;
/// Height of that without title and reading.
pub(super) const KEY: f64 = 34.0;

const LEFT: f64 = 104.0;
const RIGHT: f64 = 28.0;
const TOP: f64 = 12.0;
const BOTTOM: f64 = 56.0;

const USED: &str = "#1f5fa8";
const OTHERS: &str = "#9aa3ad";
const TARGET: &str = "#2c7a3f";
const BAND: &str = "#dcefdc";
const IDLE: &str = "#f1f2f4";
const MEASURED: &str = "#c2571a";
const DOUBT: &str = "#f6ddc9";

/// The angles shown, degrees before top dead centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct View {
    /// At the bottom.
    pub(super) low: f64,
    /// At the top.
    pub(super) high: f64,
}

/// Title and reading.
pub(super) fn title(drawing: &mut Drawing, engine: &str, verdict: &str) {
    drawing.text((LEFT, 34.0), 20.0, Hold::Start, "font-weight=\"bold\"", engine);
    // What does not fit beside the sheet's edges is smaller.
    let room = (WIDTH - LEFT - RIGHT) / verdict.chars().count().max(1) as f64;
    drawing.text((LEFT, 60.0), (room / 0.58).clamp(8.0, 14.0), Hold::Start, "", verdict);
}

/// What the colours mean, in a line at this height.
pub(super) fn key(drawing: &mut Drawing, y: f64) {
    let mut x = LEFT;
    for (name, kind) in
        [("spark that counts", 0), ("other spark", 1), ("target and tolerance", 2), ("measured and its ±", 3)]
    {
        match kind {
            0 => drawing.dots(&[(x + 10.0, y)], USED, 6.0, 1.0),
            1 => drawing.dots(&[(x + 10.0, y)], OTHERS, 6.0, 1.0),
            2 => {
                drawing.area(x, y - 6.0, x + 20.0, y + 6.0, BAND);
                drawing.line((x, y), (x + 20.0, y), TARGET, 1.5, "");
            }
            _ => {
                drawing.area(x, y - 6.0, x + 20.0, y + 6.0, DOUBT);
                drawing.line((x, y), (x + 20.0, y), MEASURED, 1.5, "stroke-dasharray=\"6 3\"");
            }
        }
        drawing.text((x + 27.0, y + 4.0), 12.0, Hold::Start, "", name);
        x += 52.0 + 6.6 * name.chars().count() as f64;
    }
}

/// A panel that is being filled.
#[derive(Debug)]
pub(super) struct Panel<'d> {
    drawing: &'d mut Drawing,
    top: f64,
    view: View,
    from: f64,
    to: f64,
}

impl<'d> Panel<'d> {
    /// An empty panel whose axis goes from one value to another.
    pub(super) fn new(drawing: &'d mut Drawing, top: f64, view: View, (from, to): (f64, f64)) -> Self {
        Self { drawing, top: top + TOP, view, from, to }
    }

    fn x(&self, at: f64) -> f64 {
        LEFT + (at - self.from) / (self.to - self.from) * (WIDTH - LEFT - RIGHT)
    }

    fn y(&self, degrees: f64) -> f64 {
        self.top + (self.view.high - degrees) / (self.view.high - self.view.low) * (HEIGHT - TOP - BOTTOM)
    }

    fn band(&mut self, middle: f64, half: f64, fill: &str) {
        let high = (middle + half).min(self.view.high);
        let low = (middle - half).max(self.view.low);
        let (top, bottom) = (self.y(high), self.y(low));
        self.drawing.area(LEFT, top, WIDTH - RIGHT, bottom, fill);
    }

    /// The lines of the angle axis and, over the band that was drawn first, the target's own.
    pub(super) fn target(&mut self, target: f64, tolerance: f64) {
        self.band(target, tolerance, BAND);
        for degrees in marks(self.view.low, self.view.high, 7).0 {
            let y = self.y(degrees);
            self.drawing.line((LEFT, y), (WIDTH - RIGHT, y), FAINT, 1.0, "stroke-opacity=\"0.8\"");
        }
        let y = self.y(target);
        self.drawing.line((LEFT, y), (WIDTH - RIGHT, y), TARGET, 1.5, "");
    }

    /// The number with its ±, where there is one.
    pub(super) fn measured(&mut self, measured: Option<f64>, doubt: f64) {
        let Some(measured) = measured else { return };
        self.band(measured, doubt, DOUBT);
        let y = self.y(measured);
        self.drawing.line((LEFT, y), (WIDTH - RIGHT, y), MEASURED, 1.5, "stroke-dasharray=\"6 3\"");
    }

    /// The speeds that count as idle.
    pub(super) fn idle_band(&mut self, [low, high]: [f64; 2]) {
        let (left, right, bottom) = (self.x(low), self.x(high), self.y(self.view.low));
        self.drawing.area(left, self.top, right, bottom, IDLE);
        // Above the frame, where no spark covers it.
        self.drawing.text((left, self.top - 3.0), 11.0, Hold::Start, "fill-opacity=\"0.7\"", "idle band");
    }

    /// The sparks of a grid; the more in a place, the larger and darker its dot.
    pub(super) fn sparks(&mut self, grid: &Grid, used: bool) {
        let ink = if used { USED } else { OTHERS };
        let mut sizes: [Vec<(f64, f64)>; 3] = Default::default();
        for (at, degrees, count) in grid.cells() {
            let inside =
                degrees >= self.view.low && degrees <= self.view.high && at >= self.from && at <= self.to;
            let place = (self.x(at), self.y(degrees));
            let [few, some, many] = &mut sizes;
            match count {
                _ if !inside => {}
                0..=1 => few.push(place),
                2..=7 => some.push(place),
                _ => many.push(place),
            }
        }
        for (places, (size, opacity)) in sizes.iter().zip([(4.4, 0.65), (5.4, 0.8), (6.4, 0.95)]) {
            self.drawing.dots(places, ink, size, opacity);
        }
    }

    /// The frame with its marks and names.
    pub(super) fn axes(&mut self, name: &str) {
        let (bottom, right) = (self.y(self.view.low), WIDTH - RIGHT);
        let (angles, decimals) = marks(self.view.low, self.view.high, 7);
        for degrees in angles {
            let y = self.y(degrees);
            let side = match degrees {
                degrees if degrees > 0.0 => " BTDC",
                degrees if degrees < 0.0 => " ATDC",
                _ => " TDC",
            };
            let label = format!("{:.decimals$}°{side}", degrees.abs());
            self.drawing.text((LEFT - 9.0, y + 4.0), 12.0, Hold::End, "", &label);
        }
        let (places, decimals) = marks(self.from, self.to, 9);
        for at in places {
            let x = self.x(at);
            self.drawing.line((x, bottom), (x, bottom + 5.0), INK, 1.0, "");
            let label = format!("{at:.decimals$}");
            self.drawing.text((x, bottom + 20.0), 12.0, Hold::Middle, "", &label);
        }
        self.drawing.line((LEFT, self.top), (LEFT, bottom), INK, 1.2, "");
        self.drawing.line((LEFT, bottom), (right, bottom), INK, 1.2, "");
        self.drawing.text(((LEFT + right) / 2.0, bottom + 40.0), 13.0, Hold::Middle, "", name);
        let middle = (self.top + bottom) / 2.0;
        let turned = format!("transform=\"rotate(-90 18 {middle:.1})\"");
        self.drawing.text((18.0, middle), 13.0, Hold::Middle, &turned, "advance, crank degrees");
    }
}
