//! A strip that shows at a glance how the reading lies to the target.

use crate::read::plot::drawing::{Drawing, Hold, INK};
use crate::read::words::advance;

const WIDTH: f64 = 440.0;
const HEIGHT: f64 = 76.0;
/// Of the strip itself.
const TOP: f64 = 26.0;
const BOTTOM: f64 = 46.0;
const EDGE: f64 = 70.0;

/// The target with its tolerance as a band, the reading with its ± as a mark; late to the left.
pub(super) fn strip(target: f32, tolerance: f32, error: f32, doubt: f32) -> String {
    let reach = f64::from((tolerance * 3.0).max(error.abs() * 1.15).max(tolerance + doubt));
    let x = |error: f32| WIDTH / 2.0 + f64::from(error) / reach * (WIDTH / 2.0 - EDGE);
    let inside = |x: f64| x.clamp(0.0, WIDTH);
    let mut drawing = Drawing::new(WIDTH, HEIGHT);
    drawing.area(x(-tolerance), TOP, x(tolerance), BOTTOM, "#dddddd");
    drawing.line((EDGE / 2.0, BOTTOM), (WIDTH - EDGE / 2.0, BOTTOM), INK, 1.0, "");
    drawing.line((x(0.0), TOP - 6.0), (x(0.0), BOTTOM + 6.0), INK, 1.0, "");
    drawing.text((x(0.0), BOTTOM + 21.0), 11.0, Hold::Middle, "", &format!("target {}", advance(target, 1)));
    drawing.text((0.0, BOTTOM + 4.0), 11.0, Hold::Start, "", "late");
    drawing.text((WIDTH, BOTTOM + 4.0), 11.0, Hold::End, "", "early");
    let middle = (TOP + BOTTOM) / 2.0;
    let ends = (inside(x(error - doubt)), inside(x(error + doubt)));
    drawing.line((ends.0, middle), (ends.1, middle), INK, 3.0, "");
    drawing.line((x(error), TOP - 4.0), (x(error), BOTTOM), INK, 2.5, "");
    let size = if error > 0.0 { "early" } else { "late" };
    let words = format!("{:.1}° {size}", error.abs());
    drawing.text((x(error), TOP - 10.0), 12.0, Hold::Middle, "font-weight=\"bold\"", &words);
    drawing.finish()
}
