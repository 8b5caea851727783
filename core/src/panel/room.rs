//! Where things go: rectangles that a screen is divided into before anything is drawn.
//!
//! *Room*: a rectangle of whole pixels, its left and top edge inside it, its right and bottom edge just
//! outside. A screen is one room that is cut into smaller ones; each text and picture is placed in one of
//! its own, so that a test can ask whether anything was cut, drawn outside or laid over something else.
//! Cutting more than there is gives an empty room, never a negative one.

use embedded_graphics::geometry::{Point, Size};
use embedded_graphics::primitives::Rectangle;

/// A rectangle of whole pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Room {
    /// The first column.
    pub left: i32,
    /// The first line.
    pub top: i32,
    /// Columns; never negative.
    pub width: i32,
    /// Lines; never negative.
    pub height: i32,
}

impl Room {
    /// The whole display: 400 columns, 240 lines.
    pub const SCREEN: Self = Self { left: 0, top: 0, width: 400, height: 240 };

    /// A room by its corner and size; negative sizes become zero.
    pub const fn new(left: i32, top: i32, width: i32, height: i32) -> Self {
        Self {
            left,
            top,
            width: if width > 0 { width } else { 0 },
            height: if height > 0 { height } else { 0 },
        }
    }

    /// The first column after it.
    pub const fn right(self) -> i32 {
        self.left.saturating_add(self.width)
    }

    /// The first line below it.
    pub const fn bottom(self) -> i32 {
        self.top.saturating_add(self.height)
    }

    /// Its middle.
    pub const fn center(self) -> Point {
        Point::new(self.left.saturating_add(self.width / 2), self.top.saturating_add(self.height / 2))
    }

    /// The uppermost `height` lines, and what is left.
    pub const fn cut_top(self, height: i32) -> (Self, Self) {
        let height = clamp(height, self.height);
        (
            Self::new(self.left, self.top, self.width, height),
            Self::new(self.left, self.top.saturating_add(height), self.width, self.height - height),
        )
    }

    /// The lowest `height` lines, and what is left.
    pub const fn cut_bottom(self, height: i32) -> (Self, Self) {
        let (rest, cut) = self.cut_top(self.height.saturating_sub(clamp(height, self.height)));
        (cut, rest)
    }

    /// The leftmost `width` columns, and what is left.
    pub const fn cut_left(self, width: i32) -> (Self, Self) {
        let width = clamp(width, self.width);
        (
            Self::new(self.left, self.top, width, self.height),
            Self::new(self.left.saturating_add(width), self.top, self.width - width, self.height),
        )
    }

    /// The rightmost `width` columns, and what is left.
    pub const fn cut_right(self, width: i32) -> (Self, Self) {
        let (rest, cut) = self.cut_left(self.width.saturating_sub(clamp(width, self.width)));
        (cut, rest)
    }

    /// Smaller by so many columns on either side and lines above and below.
    pub const fn inset(self, columns: i32, lines: i32) -> Self {
        Self::new(
            self.left.saturating_add(columns),
            self.top.saturating_add(lines),
            self.width.saturating_sub(columns.saturating_mul(2)),
            self.height.saturating_sub(lines.saturating_mul(2)),
        )
    }

    /// The `index`th of `count` equal columns, from the left; the last takes what does not divide.
    pub const fn column(self, index: i32, count: i32) -> Self {
        let count = if count < 1 { 1 } else { count };
        let width = self.width / count;
        let left = self.left.saturating_add(width.saturating_mul(index));
        let last = index.saturating_add(1) >= count;
        Self::new(left, self.top, if last { self.right().saturating_sub(left) } else { width }, self.height)
    }

    /// Whether it has no pixel.
    pub const fn is_empty(self) -> bool {
        self.width == 0 || self.height == 0
    }

    /// Whether `other` lies wholly inside; an empty room lies inside any.
    pub const fn contains(self, other: Self) -> bool {
        other.is_empty()
            || (other.left >= self.left
                && other.top >= self.top
                && other.right() <= self.right()
                && other.bottom() <= self.bottom())
    }

    /// Whether they share a pixel.
    pub const fn overlaps(self, other: Self) -> bool {
        !self.is_empty()
            && !other.is_empty()
            && self.left < other.right()
            && other.left < self.right()
            && self.top < other.bottom()
            && other.top < self.bottom()
    }

    /// As embedded-graphics writes it.
    pub const fn rectangle(self) -> Rectangle {
        Rectangle::new(Point::new(self.left, self.top), Size::new(self.width as u32, self.height as u32))
    }
}

/// `value` within 0 to `most`.
const fn clamp(value: i32, most: i32) -> i32 {
    if value < 0 {
        0
    } else if value > most {
        most
    } else {
        value
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cutting_keeps_every_line_and_column() {
        let (top, rest) = Room::SCREEN.cut_top(26);
        assert_eq!((top.height, rest.top, rest.height), (26, 26, 214));
        let (keys, middle) = rest.cut_bottom(34);
        assert_eq!((keys.top, keys.height, middle.height), (206, 34, 180));
        let (side, text) = middle.cut_right(150);
        assert_eq!((side.left, side.right(), text.width), (250, 400, 250));
    }

    #[test]
    fn cutting_more_than_there_is_gives_an_empty_rest() {
        let (all, rest) = Room::new(0, 0, 10, 10).cut_top(99);
        assert_eq!(all.height, 10);
        assert!(rest.is_empty());
        assert!(Room::new(0, 0, 10, 10).inset(8, 8).is_empty());
    }

    #[test]
    fn columns_fill_the_room() {
        let row = Room::new(0, 0, 403, 10);
        assert_eq!(row.column(3, 4).right(), 403);
        assert!(!row.column(0, 4).overlaps(row.column(1, 4)));
    }
}
