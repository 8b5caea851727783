//! The run as a picture: the true advance over time, the target as a band, and the acts as numbered marks.

use super::log::{Frame, Kind};
use super::outcome::Outcome;
use crate::read::plot::drawing::{Drawing, FAINT, Hold, INK};
use keyway_core::words::Btdc;

const WIDTH: f64 = 760.0;
const HEIGHT: f64 = 300.0;
const LEFT: f64 = 66.0;
const RIGHT: f64 = 748.0;
const TOP: f64 = 44.0;
const BOTTOM: f64 = 262.0;
/// Rows of the acts' numbers: acts close to each other go below each other.
const ROWS: [f64; 3] = [14.0, 26.0, 38.0];
/// Ink of the sparks.
const SPARKS: &str = "#7f93a8";
/// Ink of the target's band.
const BAND: &str = "#d5e3d0";

/// The scales of the picture.
struct Scale {
    seconds: f64,
    low: f64,
    high: f64,
}

impl Scale {
    fn of(outcome: &Outcome) -> Self {
        let target = outcome.truth.target;
        let bases = outcome.frames.iter().map(|frame| frame.base);
        let sparks = outcome.frames.iter().filter_map(|frame| frame.advance);
        // What lies far off is no setting; it is drawn at the edge.
        let near = |degrees: &f64| (degrees - target).abs() <= 45.0;
        let all: Vec<f64> = bases.chain(sparks).filter(near).chain([target - 5.0, target + 5.0]).collect();
        let low = all.iter().copied().fold(f64::INFINITY, f64::min);
        let high = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let seconds = outcome.seconds.max(1.0);
        Self { seconds, low: (low / 5.0).floor() * 5.0, high: (high / 5.0).ceil() * 5.0 }
    }

    fn x(&self, seconds: f64) -> f64 {
        LEFT + (seconds / self.seconds).clamp(0.0, 1.0) * (RIGHT - LEFT)
    }

    fn y(&self, degrees: f64) -> f64 {
        BOTTOM - ((degrees - self.low) / (self.high - self.low)).clamp(0.0, 1.0) * (BOTTOM - TOP)
    }
}

/// The picture, an SVG.
pub(super) fn draw(outcome: &Outcome) -> String {
    let scale = Scale::of(outcome);
    let mut drawing = Drawing::new(WIDTH, HEIGHT);
    let (target, tolerance) = (outcome.truth.target, f64::from(outcome.job.timing.tolerance));
    drawing.area(LEFT, scale.y(target + tolerance), RIGHT, scale.y(target - tolerance), BAND);
    axes(&mut drawing, &scale);
    acts(&mut drawing, &scale, outcome);
    let dots: Vec<(f64, f64)> = outcome
        .frames
        .iter()
        .filter_map(|frame| frame.advance.map(|advance| (scale.x(frame.at), scale.y(advance))))
        .collect();
    drawing.dots(&dots, SPARKS, 2.0, 0.7);
    base(&mut drawing, &scale, &outcome.frames);
    drawing.line((LEFT, HEIGHT - 8.0), (LEFT + 26.0, HEIGHT - 8.0), INK, 2.2, "");
    drawing.text((LEFT + 32.0, HEIGHT - 4.0), 11.0, Hold::Start, "", "true base");
    drawing.dots(&[(LEFT + 118.0, HEIGHT - 8.0), (LEFT + 126.0, HEIGHT - 8.0)], SPARKS, 3.0, 1.0);
    drawing.text((LEFT + 134.0, HEIGHT - 4.0), 11.0, Hold::Start, "", "sparks as they came");
    drawing.area(LEFT + 282.0, HEIGHT - 13.0, LEFT + 308.0, HEIGHT - 3.0, BAND);
    let words = format!("target {} ± {tolerance:.1}°", Btdc(target as f32));
    drawing.text((LEFT + 314.0, HEIGHT - 4.0), 11.0, Hold::Start, "", &words);
    drawing.text((RIGHT, HEIGHT - 4.0), 11.0, Hold::End, "", "minutes");
    drawing.finish()
}

fn axes(drawing: &mut Drawing, scale: &Scale) {
    let step = if scale.high - scale.low > 45.0 { 10.0 } else { 5.0 };
    let mut degrees = (scale.low / step).ceil() * step;
    while degrees <= scale.high {
        let y = scale.y(degrees);
        drawing.line((LEFT, y), (RIGHT, y), FAINT, if degrees == 0.0 { 2.0 } else { 1.0 }, "");
        let side = if degrees > 0.0 {
            " BTDC"
        } else if degrees < 0.0 {
            " ATDC"
        } else {
            " TDC"
        };
        drawing.text((LEFT - 5.0, y + 4.0), 11.0, Hold::End, "", &format!("{:.0}°{side}", degrees.abs()));
        degrees += step;
    }
    let minutes = scale.seconds / 60.0;
    let step = [0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .find(|step| minutes / step <= 10.0)
        .unwrap_or(20.0);
    for count in 0..=(minutes / step) as u32 {
        let minute = f64::from(count) * step;
        let x = scale.x(minute * 60.0);
        drawing.line((x, BOTTOM), (x, BOTTOM + 4.0), INK, 1.0, "");
        let words = format!("{minute:.2}");
        let words = words.trim_end_matches('0').trim_end_matches('.');
        drawing.text((x, BOTTOM + 16.0), 11.0, Hold::Middle, "", if count == 0 { "0" } else { words });
    }
    drawing.line((LEFT, BOTTOM), (RIGHT, BOTTOM), INK, 1.0, "");
}

/// The acts as lines, numbered as in the log.
fn acts(drawing: &mut Drawing, scale: &Scale, outcome: &Outcome) {
    // Where the last number of each row ends; one that finds no room is left to the log.
    let mut ends = [f64::NEG_INFINITY; ROWS.len()];
    for (number, entry) in outcome.entries.iter().enumerate().filter(|(_, entry)| entry.kind != Kind::Guide) {
        let x = scale.x(entry.at);
        let critical = entry.kind == Kind::Critical;
        let dash = if critical { "" } else { "stroke-dasharray=\"2 3\"" };
        drawing.line((x, TOP - 4.0), (x, BOTTOM), INK, if critical { 1.6 } else { 0.6 }, dash);
        let room = ends.iter_mut().zip(ROWS).find(|(end, _)| x - **end >= 16.0);
        let Some((end, y)) = room else { continue };
        *end = x;
        let weight = if critical { "font-weight=\"bold\"" } else { "" };
        let words = if critical { format!("{}!", number + 1) } else { (number + 1).to_string() };
        drawing.text((x, y), 10.0, Hold::Middle, weight, &words);
    }
}

/// The base as a line, broken nowhere.
fn base(drawing: &mut Drawing, scale: &Scale, frames: &[Frame]) {
    let Some(mut from) = frames.first() else { return };
    let mut last = from;
    for frame in frames.iter().chain(frames.last()) {
        if frame.base != from.base || std::ptr::eq(frame, frames.last().unwrap_or(frame)) {
            let y = scale.y(from.base);
            drawing.line((scale.x(from.at), y), (scale.x(frame.at), y), INK, 2.2, "");
            let x = scale.x(frame.at);
            drawing.line((x, y), (x, scale.y(frame.base)), INK, 2.2, "");
            from = frame;
        }
        last = frame;
    }
    drawing.line((scale.x(last.at), scale.y(last.base)), (RIGHT, scale.y(last.base)), INK, 2.2, "");
}
