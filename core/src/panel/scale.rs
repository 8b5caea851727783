//! A picture of the error: the rim's degree marks, the target as a gate, the spark as a wedge.
//!
//! Degrees after top dead centre lie to the left, before to the right, with zero as a tall mark wherever
//! it is in view, so that the wrong side of zero looks wrong. The gate is as wide as the tolerance. The
//! scale is fine (30° in view) while the spark is near the target and coarse (120°) once it is not;
//! a spark beyond that shows as a wedge that points out of the picture.

use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::Point;
use embedded_graphics::pixelcolor::BinaryColor;

use super::canvas::{Canvas, Witness};
use super::face::Face;
use super::geom::nearest;
use super::number::Fixed;
use super::room::Room;
use super::text::Side;

/// Lines of the wedge.
const WEDGE: i32 = 15;
/// Columns of a post of the gate.
const POST: i32 = 5;
/// Lines of its sill.
const SILL: i32 = 5;
/// Lines of the figures.
const FIGURES: i32 = 18;

/// What the scale shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scale {
    /// Degrees before top dead centre.
    pub(super) target: f32,
    /// Half width of the gate, degrees.
    pub(super) tolerance: f32,
    /// The spark, degrees before top dead centre; `None` draws no wedge.
    pub(super) spark: Option<f32>,
}

/// Degrees to columns.
#[derive(Debug, Clone, Copy)]
struct Ruler {
    middle: f32,
    per_degree: f32,
    room: Room,
}

impl Ruler {
    fn column(&self, degrees: f32) -> i32 {
        let from_middle = (degrees - self.middle) * self.per_degree;
        (self.room.left + self.room.width / 2).saturating_add(nearest(from_middle.clamp(-9999.0, 9999.0)))
    }
}

impl<D, W> Canvas<'_, D, W>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    /// The scale, in a room 44 lines high.
    pub(super) fn scale(&mut self, scale: Scale, room: Room) -> Result<(), D::Error> {
        let target = if scale.target.is_finite() { scale.target.clamp(-180.0, 180.0) } else { 0.0 };
        let scale = Scale { target, ..scale };
        let near = scale.spark.is_none_or(|spark| (spark - scale.target).abs() <= 14.0);
        let span = if near { 30.0 } else { 120.0 };
        let ruler = Ruler { middle: scale.target, per_degree: (room.width - 24) as f32 / span, room };
        let (wedge, rest) = room.cut_top(WEDGE);
        let (figures, rim) = rest.cut_bottom(FIGURES);
        self.picture(Room::new(room.left, wedge.top, room.width, WEDGE + rim.height), |canvas| {
            canvas.rim(&ruler, span, scale, wedge, rim)?;
            match scale.spark {
                Some(spark) if spark.is_finite() => canvas.wedge(ruler.column(spark), wedge),
                _ => Ok(()),
            }
        })?;
        self.figures(&ruler, span, figures)
    }

    /// The rim's edge with a mark for each degree, or each five where it is coarse, and the gate.
    fn rim(
        &mut self,
        ruler: &Ruler,
        span: f32,
        scale: Scale,
        wedge: Room,
        rim: Room,
    ) -> Result<(), D::Error> {
        let (edge, marks) = rim.cut_top(2);
        self.ink(edge)?;
        let step = if span > 60.0 { 5 } else { 1 };
        let first = nearest(ruler.middle - span / 2.0) / step * step;
        let mut degree = first;
        while degree as f32 <= ruler.middle + span / 2.0 {
            let column = ruler.column(degree as f32);
            let (height, width) = match degree {
                0 => (marks.height, 4),
                _ if degree % (step * 10) == 0 => (marks.height, 3),
                _ if degree % (step * 5) == 0 => (marks.height - 1, 2),
                _ => (marks.height / 2, 1),
            };
            let mark = Room::new(column - width / 2, marks.top, width, height);
            if rim.contains(mark) {
                self.ink(mark)?;
            }
            degree = degree.saturating_add(step);
        }
        // The gate: two posts that stand on the edge, as far apart as the tolerance, on a thick sill.
        let tolerance = scale.tolerance.clamp(0.0, 15.0);
        let left = (ruler.column(scale.target - tolerance) - POST).max(wedge.left);
        let right = (ruler.column(scale.target + tolerance) + POST + 1).min(wedge.right());
        self.ink(Room::new(left, wedge.top, POST, WEDGE))?;
        self.ink(Room::new(right - POST, wedge.top, POST, WEDGE))?;
        self.ink(Room::new(left, wedge.bottom(), right - left, SILL))
    }

    /// The spark's wedge: its tip on the edge, or pointing out of the picture.
    fn wedge(&mut self, column: i32, room: Room) -> Result<(), D::Error> {
        let tip = room.bottom() - 1;
        if column < room.left + 9 {
            let middle = room.top + WEDGE / 2;
            return self.triangle(
                Point::new(room.left, middle),
                Point::new(room.left + 14, room.top),
                Point::new(room.left + 14, tip),
            );
        }
        if column > room.right() - 10 {
            let middle = room.top + WEDGE / 2;
            return self.triangle(
                Point::new(room.right() - 1, middle),
                Point::new(room.right() - 15, room.top),
                Point::new(room.right() - 15, tip),
            );
        }
        self.triangle(
            Point::new(column, tip),
            Point::new(column - 8, room.top),
            Point::new(column + 8, room.top),
        )
    }

    /// Figures under each tenth degree, or each thirtieth where it is coarse; zero carries its name.
    fn figures(&mut self, ruler: &Ruler, span: f32, room: Room) -> Result<(), D::Error> {
        let step = if span > 60.0 { 30 } else { 10 };
        let mut degree = nearest(ruler.middle - span / 2.0) / step * step - step;
        while degree as f32 <= ruler.middle + span / 2.0 {
            let width = if degree == 0 { 46 } else { 36 };
            let place = Room::new(ruler.column(degree as f32) - width / 2, room.top, width, room.height);
            if room.contains(place) {
                let size = Fixed::whole(degree.abs() as f32);
                let line = if degree == 0 {
                    self.words("TDC", place, &[Face::Small], Side::Middle)
                } else {
                    self.words(size, place, &[Face::Small], Side::Middle)
                };
                line?;
            }
            degree = degree.saturating_add(step);
        }
        Ok(())
    }
}
