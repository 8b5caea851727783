//! What the screens draw with: ink and paper on a target, with a witness to every room used.
//!
//! *Ink* is what a mark is made of, *paper* what it lies on; [`Canvas::reversed`] exchanges the two, for
//! a selected line or the whole screen. *Witness*: told of each thing placed, its room and the room its
//! ink takes; the handheld's witness is `()` and costs nothing, a test's finds cut texts and overlaps.
//!
//! On the handheld the unlit (dark) pixel is ink: [`BinaryColor::On`] is dark, `Off` is the bright ground
//! of a reflective display.

use embedded_graphics::Pixel;
use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::{OriginDimensions, Point, Size};
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::primitives::Rectangle;

use super::room::Room;

/// What was placed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Placed {
    /// A text: its room is its own, and a cut one was too long for it.
    Text,
    /// A picture, mark or bar: its room is its own.
    Picture,
    /// A frame or ground that other things are placed on.
    Ground,
    /// Something that lies over others for a while.
    Over,
}

/// Is told of everything placed.
pub trait Witness {
    /// Something is drawn from now on in `room`, and must stay inside.
    fn begin(&mut self, what: Placed, room: Room);
    /// It is done; `cut` if a text was too long for its room.
    fn end(&mut self, cut: bool);
}

/// The handheld's witness: sees nothing.
impl Witness for () {
    fn begin(&mut self, _what: Placed, _room: Room) {}
    fn end(&mut self, _cut: bool) {}
}

/// A target to draw on with ink and paper.
pub struct Canvas<'a, D, W> {
    target: &'a mut D,
    witness: &'a mut W,
    reversed: bool,
    /// What will lie over the foot of the screen.
    over: Option<Room>,
}

/// A line of a list is no higher than this; it is read whole or not at all.
const LINE_OF_A_LIST: i32 = 36;

impl<'a, D, W> Canvas<'a, D, W>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    /// A canvas on `target`; `reversed` for bright ink on dark paper.
    pub fn new(target: &'a mut D, witness: &'a mut W, reversed: bool) -> Self {
        Self { target, witness, reversed, over: None }
    }

    /// Draws with ink and paper exchanged.
    pub fn reversed(&mut self, draw: impl FnOnce(&mut Self) -> Result<(), D::Error>) -> Result<(), D::Error> {
        self.reversed = !self.reversed;
        let done = draw(self);
        self.reversed = !self.reversed;
        done
    }

    /// Draws dark on bright even where the screen is reversed, for what a camera has to read.
    pub fn upright(&mut self, draw: impl FnOnce(&mut Self) -> Result<(), D::Error>) -> Result<(), D::Error> {
        let before = core::mem::replace(&mut self.reversed, false);
        let done = draw(self);
        self.reversed = before;
        done
    }

    /// Draws what `over` will lie on, without the lines of which it would cover a part.
    pub(super) fn beneath(
        &mut self,
        over: Room,
        draw: impl FnOnce(&mut Self) -> Result<(), D::Error>,
    ) -> Result<(), D::Error> {
        self.over = Some(over);
        let done = draw(self);
        self.over = None;
        done
    }

    /// Fills a room with ink.
    pub fn ink(&mut self, room: Room) -> Result<(), D::Error> {
        self.fill_solid(&room.rectangle(), BinaryColor::On)
    }

    /// Fills a room with paper.
    pub fn paper(&mut self, room: Room) -> Result<(), D::Error> {
        self.fill_solid(&room.rectangle(), BinaryColor::Off)
    }

    /// A frame of `thick` pixels inside a room.
    pub fn frame(&mut self, room: Room, thick: i32) -> Result<(), D::Error> {
        let (top, rest) = room.cut_top(thick);
        let (bottom, rest) = rest.cut_bottom(thick);
        let (left, rest) = rest.cut_left(thick);
        let (right, _) = rest.cut_right(thick);
        self.ink(top)?;
        self.ink(bottom)?;
        self.ink(left)?;
        self.ink(right)
    }

    /// Places a picture in its own room.
    pub fn picture(
        &mut self,
        room: Room,
        draw: impl FnOnce(&mut Self) -> Result<(), D::Error>,
    ) -> Result<(), D::Error> {
        self.placed(Placed::Picture, room, |canvas| draw(canvas).map(|()| false))
    }

    /// A ground of ink, on which things are placed in reverse.
    pub fn ground(&mut self, room: Room) -> Result<(), D::Error> {
        self.placed(Placed::Ground, room, |canvas| canvas.ink(room).map(|()| false))
    }

    /// A framed ground of paper.
    pub fn framed(&mut self, room: Room, thick: i32) -> Result<(), D::Error> {
        self.placed(Placed::Ground, room, |canvas| {
            canvas.paper(room)?;
            canvas.frame(room, thick).map(|()| false)
        })
    }

    /// Places something and tells the witness; `draw` says whether it was cut.
    pub(super) fn placed(
        &mut self,
        what: Placed,
        room: Room,
        draw: impl FnOnce(&mut Self) -> Result<bool, D::Error>,
    ) -> Result<(), D::Error> {
        let line = matches!(what, Placed::Text | Placed::Picture) && room.height <= LINE_OF_A_LIST;
        if line && self.over.is_some_and(|over| over.overlaps(room)) {
            return Ok(());
        }
        self.witness.begin(what, room);
        let cut = draw(self)?;
        self.witness.end(cut);
        Ok(())
    }

    fn toned(&self, color: BinaryColor) -> BinaryColor {
        if self.reversed { color.invert() } else { color }
    }
}

impl<D, W> OriginDimensions for Canvas<'_, D, W> {
    fn size(&self) -> Size {
        Size::new(Room::SCREEN.width as u32, Room::SCREEN.height as u32)
    }
}

/// Shapes of embedded-graphics draw on a canvas with `On` as ink.
impl<D, W> DrawTarget for Canvas<'_, D, W>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    type Color = BinaryColor;
    type Error = D::Error;

    fn draw_iter<I>(&mut self, pixels: I) -> Result<(), D::Error>
    where
        I: IntoIterator<Item = Pixel<BinaryColor>>,
    {
        let reversed = self.reversed;
        let mut pixels = pixels.into_iter();
        // Letters come as pixels in reading order: neighbours are gathered, so that a stroke is one fill.
        let mut run: Option<(Point, u32, BinaryColor)> = None;
        loop {
            let next = pixels.next();
            match (run, next) {
                (Some((start, length, color)), Some(Pixel(point, tone)))
                    if tone == color
                        && point.y == start.y
                        && i64::from(point.x) == i64::from(start.x) + i64::from(length) =>
                {
                    run = Some((start, length.saturating_add(1), color));
                }
                (before, next) => {
                    if let Some((start, length, color)) = before {
                        let color = if reversed { color.invert() } else { color };
                        self.target.fill_solid(&Rectangle::new(start, Size::new(length, 1)), color)?;
                    }
                    let Some(Pixel(point, tone)) = next else { return Ok(()) };
                    run = Some((point, 1, tone));
                }
            }
        }
    }

    fn fill_contiguous<I>(&mut self, area: &Rectangle, colors: I) -> Result<(), D::Error>
    where
        I: IntoIterator<Item = BinaryColor>,
    {
        let reversed = self.reversed;
        let toned = colors.into_iter().map(move |color| if reversed { color.invert() } else { color });
        self.target.fill_contiguous(area, toned)
    }

    fn fill_solid(&mut self, area: &Rectangle, color: BinaryColor) -> Result<(), D::Error> {
        let color = self.toned(color);
        self.target.fill_solid(area, color)
    }
}
