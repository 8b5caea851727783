//! Small marks: how something is known, how good the signals are, a warning, a bar that fills.
//!
//! A thing *told* is a ring with a dot, a thing *proven* a tick on dark ground: the two must never look
//! alike from arm's length. The quality of the signals is a row of four teeth, as on a trigger wheel, that
//! fill up as the signals get better; where nothing comes in the wheel has no teeth at all.

use embedded_graphics::Drawable;
use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::Point;
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::prelude::Primitive;
use embedded_graphics::primitives::{Circle, Line, PrimitiveStyle};

use super::canvas::{Canvas, Witness};
use super::room::Room;
use crate::view::{Mark, Quality};

/// Side of the square that a mark takes.
pub(super) const MARK: i32 = 18;

/// The columns that a straight side takes on a line of the display; `None` where it does not reach it.
fn crossed(from: Point, to: Point, y: i32) -> Option<(i32, i32)> {
    let (upper, lower) = if from.y <= to.y { (from, to) } else { (to, from) };
    if y < upper.y || y > lower.y {
        return None;
    }
    let (rise, run) = (lower.y - upper.y, lower.x - upper.x);
    if rise == 0 {
        return Some((upper.x.min(lower.x), upper.x.max(lower.x)));
    }
    // From half a line above to half a line below, within the side's ends, each to the nearest column.
    let at = |halves: i32| {
        let halves = halves.clamp(0, 2 * rise);
        upper.x + (halves * run + rise * run.signum()) / (2 * rise)
    };
    let (one, other) = (at(2 * (y - upper.y) - 1), at(2 * (y - upper.y) + 1));
    Some((one.min(other), one.max(other)))
}

impl<D, W> Canvas<'_, D, W>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    /// How something is known, in a square of 18 pixels in the middle of `room`.
    pub(super) fn mark(&mut self, mark: Mark, room: Room) -> Result<(), D::Error> {
        let middle = room.center();
        // A line lower than the mark and a gap gets a smaller mark, of an even size.
        let side = MARK.min(room.height - 2) / 2 * 2;
        let square = Room::new(middle.x - side / 2, middle.y - side / 2, side, side);
        self.picture(room, |canvas| match mark {
            Mark::Open => canvas.frame(square, 2),
            Mark::Told => {
                let corner = Point::new(square.left, square.top);
                Circle::new(corner, side as u32)
                    .into_styled(PrimitiveStyle::with_stroke(BinaryColor::On, 2))
                    .draw(canvas)?;
                canvas.ink(Room::new(middle.x - 2, middle.y - 2, 4, 4))
            }
            Mark::Proven => {
                canvas.ink(square)?;
                canvas.reversed(|canvas| canvas.tick(square.inset(3, 3), 3))
            }
            Mark::Failed => {
                canvas.ink(square)?;
                canvas.reversed(|canvas| canvas.cross(square.inset(4, 4), 3))
            }
            Mark::Skipped => canvas.ink(Room::new(square.left + 2, middle.y - 2, side - 4, 4)),
        })
    }

    /// A tick that fills `room`.
    pub(super) fn tick(&mut self, room: Room, thick: u32) -> Result<(), D::Error> {
        let knee = Point::new(room.left + room.width * 2 / 5, room.bottom() - 2);
        self.stroke(Point::new(room.left + 1, room.top + room.height / 2), knee, thick)?;
        self.stroke(knee, Point::new(room.right() - 2, room.top + 1), thick)
    }

    /// A cross that fills `room`.
    pub(super) fn cross(&mut self, room: Room, thick: u32) -> Result<(), D::Error> {
        let (right, bottom) = (room.right() - 1, room.bottom() - 1);
        self.stroke(Point::new(room.left, room.top), Point::new(right, bottom), thick)?;
        self.stroke(Point::new(room.left, bottom), Point::new(right, room.top), thick)
    }

    /// A straight stroke.
    pub(super) fn stroke(&mut self, from: Point, to: Point, thick: u32) -> Result<(), D::Error> {
        Line::new(from, to).into_styled(PrimitiveStyle::with_stroke(BinaryColor::On, thick)).draw(self)
    }

    /// A filled triangle, a row of ink for each line.
    pub(super) fn triangle(&mut self, one: Point, two: Point, three: Point) -> Result<(), D::Error> {
        let sides = [(one, two), (two, three), (three, one)];
        let (top, foot) = (one.y.min(two.y).min(three.y), one.y.max(two.y).max(three.y));
        for y in top.max(0)..=foot.min(Room::SCREEN.height) {
            let (mut left, mut right) = (i32::MAX, i32::MIN);
            for (from, to) in sides {
                let Some((low, high)) = crossed(from, to, y) else { continue };
                (left, right) = (left.min(low), right.max(high));
            }
            if left <= right {
                self.ink(Room::new(left, y, right.saturating_sub(left).saturating_add(1), 1))?;
            }
        }
        Ok(())
    }

    /// Four teeth that fill with the quality of the signals.
    pub(super) fn quality(&mut self, quality: Quality, room: Room) -> Result<(), D::Error> {
        let filled = match quality {
            Quality::Silent => -1,
            Quality::NoSync => 0,
            Quality::Doubtful => 1,
            Quality::Fair => 2,
            Quality::Good => 4,
        };
        self.picture(room, |canvas| {
            let (base, teeth) = room.cut_bottom(3);
            canvas.ink(base)?;
            if filled < 0 {
                return Ok(());
            }
            for index in 0..4 {
                let tooth = teeth.column(index, 4);
                let tooth = Room::new(tooth.left, tooth.top, tooth.width - 2, tooth.height);
                if index < filled { canvas.ink(tooth)? } else { canvas.frame(tooth, 1)? }
            }
            Ok(())
        })
    }

    /// A warning: a triangle with a stroke and a dot.
    pub(super) fn warning(&mut self, room: Room) -> Result<(), D::Error> {
        self.picture(room, |canvas| {
            let size = room.width.min(room.height);
            let middle = room.center();
            let (top, foot) = (middle.y - size / 2, middle.y + size / 2 - 1);
            canvas.triangle(
                Point::new(middle.x, top),
                Point::new(middle.x - size / 2, foot),
                Point::new(middle.x + size / 2 - 1, foot),
            )?;
            let thick = (size / 9).max(3);
            canvas.paper(Room::new(middle.x - thick / 2, top + size * 3 / 8, thick, size / 3))?;
            canvas.paper(Room::new(middle.x - thick / 2, foot - size / 6, thick, thick))
        })
    }

    /// A bar that is full at 100.
    pub(super) fn bar(&mut self, percent: i32, room: Room) -> Result<(), D::Error> {
        self.picture(room, |canvas| {
            canvas.frame(room, 2)?;
            let inside = room.inset(4, 4);
            let (full, _) = inside.cut_left(inside.width * percent.clamp(0, 100) / 100);
            canvas.ink(full)
        })
    }

    /// Where a list is longer than the screen: an arrow up or down.
    pub(super) fn more(&mut self, up: bool, room: Room) -> Result<(), D::Error> {
        self.picture(room, |canvas| {
            let middle = room.center();
            let (tip, foot) = if up { (room.top, room.bottom() - 1) } else { (room.bottom() - 1, room.top) };
            canvas.triangle(
                Point::new(middle.x, tip),
                Point::new(room.left, foot),
                Point::new(room.right() - 1, foot),
            )
        })
    }
}
