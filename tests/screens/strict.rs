//! A target and a witness stricter than the display: they note every pixel outside its room, every room
//! that overlaps another, and every text that was cut.

use std::cell::RefCell;
use std::rc::Rc;

use embedded_graphics::Pixel;
use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::{OriginDimensions, Point, Size};
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::primitives::Rectangle;
use keyway_core::panel::{self, Placed, Room, Witness};
use keyway_core::view::View;

/// What was placed in one room, beside each other.
type Beside = Vec<(Placed, Room)>;

/// What is open, what was placed beside it, and what was wrong.
#[derive(Default)]
struct Notes {
    open: Vec<(Placed, Room, Beside)>,
    beside: Beside,
    wrong: Vec<String>,
    drawn: u64,
}

impl Notes {
    fn pixels(&mut self, area: Room) {
        self.drawn += u64::from(area.width.unsigned_abs()) * u64::from(area.height.unsigned_abs());
        if !Room::SCREEN.contains(area) {
            self.wrong.push(format!("outside the display: {area:?}"));
        } else if let Some((what, room, _)) = self.open.last().filter(|(_, room, _)| !room.contains(area)) {
            self.wrong.push(format!("{what:?} in {room:?} drew {area:?}"));
        }
    }
}

#[derive(Clone)]
struct Strict(Rc<RefCell<Notes>>);

impl OriginDimensions for Strict {
    fn size(&self) -> Size {
        Size::new(panel::WIDTH, panel::HEIGHT)
    }
}

impl DrawTarget for Strict {
    type Color = BinaryColor;
    type Error = core::convert::Infallible;

    fn draw_iter<I: IntoIterator<Item = Pixel<BinaryColor>>>(
        &mut self,
        pixels: I,
    ) -> Result<(), Self::Error> {
        for Pixel(Point { x, y }, _) in pixels {
            self.0.borrow_mut().pixels(Room::new(x, y, 1, 1));
        }
        Ok(())
    }

    fn fill_solid(&mut self, area: &Rectangle, _: BinaryColor) -> Result<(), Self::Error> {
        let (width, height) = (area.size.width as i32, area.size.height as i32);
        self.0.borrow_mut().pixels(Room::new(area.top_left.x, area.top_left.y, width, height));
        Ok(())
    }
}

/// Whether two things placed beside each other get in each other's way.
fn clash((what, room): (Placed, Room), (other, taken): (Placed, Room)) -> bool {
    match (what, other) {
        // What is covered for a while is covered whole where it is a line to be read.
        (Placed::Over, Placed::Text | Placed::Picture) => taken.height <= 36 && room.overlaps(taken),
        (Placed::Over, _) | (_, Placed::Over) => false,
        // A text may stand on a ground, but not over its edge.
        (Placed::Ground, _) => room.overlaps(taken) && !room.contains(taken),
        (_, Placed::Ground) => room.overlaps(taken) && !taken.contains(room),
        _ => room.overlaps(taken),
    }
}

impl Witness for Strict {
    fn begin(&mut self, what: Placed, room: Room) {
        let mut notes = self.0.borrow_mut();
        let outer = notes.open.last().map_or(Room::SCREEN, |(_, room, _)| *room);
        if !outer.contains(room) {
            notes.wrong.push(format!("{what:?} in {room:?} leaves {outer:?}"));
        }
        let clashes: Vec<_> =
            notes.beside.iter().filter(|other| clash((what, room), **other)).copied().collect();
        for (other, taken) in clashes {
            notes.wrong.push(format!("{what:?} in {room:?} overlaps {other:?} in {taken:?}"));
        }
        let beside = std::mem::take(&mut notes.beside);
        notes.open.push((what, room, beside));
    }

    fn end(&mut self, cut: bool) {
        let mut notes = self.0.borrow_mut();
        let (what, room, mut beside) = notes.open.pop().expect("something is open");
        if cut {
            notes.wrong.push(format!("{what:?} in {room:?} was cut"));
        }
        beside.push((what, room));
        notes.beside = beside;
    }
}

/// What is wrong with a view's picture, and how many pixels were drawn for it.
pub fn look(view: &View) -> (Vec<String>, u64) {
    let strict = Strict(Rc::default());
    let Ok(()) = panel::draw_witnessed(view, &mut strict.clone(), &mut strict.clone());
    let notes = strict.0.borrow();
    assert!(notes.open.is_empty(), "everything opened was closed");
    (notes.wrong.clone(), notes.drawn)
}
