//! Which way to turn the housing, seen from above, and how far at its rim.
//!
//! The distributor is a ring with its lead towers; a broad arrow runs around it the way the hand has to
//! go, and the way at the rim stands in the middle, since that is what a thumb on the housing can judge.
//! The farther it is to go the longer the arrow: from 110° of the ring at next to nothing to 230°.

use embedded_graphics::Drawable;
use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::{Point, Size};
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::prelude::Primitive;
use embedded_graphics::primitives::{Circle, PrimitiveStyle};

use super::canvas::{Canvas, Witness};
use super::face::Face;
use super::geom::at_bearing;
use super::number::Fixed;
use super::room::Room;
use super::text::Side;
use crate::job::Rotation;
use crate::view::Correction;

/// Side of the square that the picture takes.
pub(super) const TURN: i32 = 108;
/// Radii of arrow and ring.
const ARROW_OUT: f32 = 53.0;
const ARROW_IN: f32 = 39.0;
const HEAD_IN: f32 = 32.0;
const RING: u32 = 64;

impl<D, W> Canvas<'_, D, W>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    /// The turn that is left, in a square of 108.
    pub(super) fn turn(&mut self, correction: &Correction, room: Room) -> Result<(), D::Error> {
        let Some(turn) = correction.turn else { return Ok(()) };
        let middle = room.center();
        self.picture(room, |canvas| {
            let corner = middle - Size::new(RING / 2, RING / 2);
            Circle::new(corner, RING)
                .into_styled(PrimitiveStyle::with_stroke(BinaryColor::On, 3))
                .draw(canvas)?;
            canvas.arrow(middle, turn, correction.housing_deg.abs())?;
            canvas.way(correction, Room::new(middle.x - 26, middle.y - 21, 52, 44))
        })
    }

    /// The broad arrow: a band of short wedges and a head.
    fn arrow(&mut self, middle: Point, turn: Rotation, degrees: f32) -> Result<(), D::Error> {
        let degrees = if degrees.is_finite() { degrees.min(30.0) } else { 30.0 };
        let reach = 110.0 + degrees * 4.0;
        let way = match turn {
            Rotation::Clockwise => 1.0,
            Rotation::Counterclockwise => -1.0,
        };
        let start = -way * reach / 2.0;
        let steps = nearest_steps(reach);
        let head = 34.0;
        let body = reach - head;
        for step in 0..steps {
            let from = start + way * body * step as f32 / steps as f32;
            let to = start + way * body * (step + 1) as f32 / steps as f32;
            let (outer, inner) =
                (at_bearing(middle, ARROW_OUT - 3.0, from), at_bearing(middle, ARROW_IN, from));
            let (outer_to, inner_to) =
                (at_bearing(middle, ARROW_OUT - 3.0, to), at_bearing(middle, ARROW_IN, to));
            self.triangle(outer, inner, outer_to)?;
            self.triangle(inner, outer_to, inner_to)?;
        }
        let neck = start + way * body;
        self.triangle(
            at_bearing(middle, ARROW_OUT, neck),
            at_bearing(middle, HEAD_IN, neck),
            at_bearing(middle, (ARROW_OUT + ARROW_IN) / 2.0, neck + way * head),
        )
    }

    /// How far: millimetres at the rim, or degrees at the housing where the rim's size is not known.
    fn way(&mut self, correction: &Correction, room: Room) -> Result<(), D::Error> {
        let (number, unit) = room.cut_top(25);
        // Four letters have to stay inside the ring.
        let wide = correction.rim_mm.unwrap_or(correction.housing_deg).abs() >= 9.95;
        let faces = if wide { [Face::Text, Face::Small] } else { [Face::Sentence, Face::Text] };
        match correction.rim_mm {
            Some(mm) => {
                let mm = mm.abs().min(999.0);
                let figure = if mm < 99.95 { Fixed::tenths(mm) } else { Fixed::whole(mm) };
                self.words_centered(figure, number, &faces, Side::Middle)?;
                self.words("mm", unit, &[Face::Small], Side::Middle)
            }
            None => {
                let degrees = correction.housing_deg.abs().min(180.0);
                let figure = if degrees < 99.95 { Fixed::tenths(degrees) } else { Fixed::whole(degrees) };
                self.words_centered(format_args!("{figure}°"), number, &faces, Side::Middle)
            }
        }
    }

    /// On target: a tick in a ring that closes while it is held still, in a square of 108.
    pub(super) fn hold(&mut self, percent: u8, room: Room) -> Result<(), D::Error> {
        let middle = room.center();
        self.picture(room, |canvas| {
            let steps = i32::from(percent.min(100)) * 36 / 100;
            for step in 0..steps {
                let (from, to) = (step as f32 * 10.0, (step + 1) as f32 * 10.0);
                let (outer, inner) = (at_bearing(middle, 52.0, from), at_bearing(middle, 42.0, from));
                let (outer_to, inner_to) = (at_bearing(middle, 52.0, to), at_bearing(middle, 42.0, to));
                canvas.triangle(outer, inner, outer_to)?;
                canvas.triangle(inner, outer_to, inner_to)?;
            }
            Circle::new(middle - Size::new(52, 52), 105)
                .into_styled(PrimitiveStyle::with_stroke(BinaryColor::On, 1))
                .draw(canvas)?;
            canvas.tick(Room::new(middle.x - 25, middle.y - 24, 50, 48), 10)
        })
    }
}

/// Wedges of an arrow's band: one for each ten degrees or so.
fn nearest_steps(degrees: f32) -> i32 {
    super::geom::nearest(degrees / 10.0).max(1)
}
