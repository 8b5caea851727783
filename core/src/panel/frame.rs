//! The picture in memory: 240 lines of 50 bytes, as the display takes them.
//!
//! A set bit is a bright pixel and the most significant bit is the leftmost, which is what a reflective
//! memory display shows and so can be sent as it stands; ink ([`BinaryColor::On`]) clears bits. Rectangles
//! are filled by bytes, not by pixels: a whole line costs 50 stores. [`Frame::changed`] tells which lines
//! differ from another frame, since only those need to be sent.

use core::convert::Infallible;

use embedded_graphics::Pixel;
use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::{OriginDimensions, Point, Size};
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::primitives::Rectangle;

use super::{HEIGHT, WIDTH};

/// Bytes of a line.
pub const LINE_BYTES: usize = WIDTH as usize / 8;
/// Bytes of a frame.
pub const FRAME_BYTES: usize = LINE_BYTES * HEIGHT as usize;

/// One picture, 12 000 bytes.
#[derive(Clone, PartialEq, Eq)]
pub struct Frame {
    bytes: [u8; FRAME_BYTES],
}

impl Frame {
    /// All paper.
    pub const fn new() -> Self {
        Self { bytes: [0xff; FRAME_BYTES] }
    }

    /// The bytes, line after line.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// One line of 50 bytes, counted from 0 at the top; `None` below the last.
    pub fn line(&self, index: usize) -> Option<&[u8]> {
        self.bytes.chunks_exact(LINE_BYTES).nth(index)
    }

    /// The lines that differ from `shown`, from the top.
    pub fn changed<'a>(&'a self, shown: &'a Self) -> impl Iterator<Item = (usize, &'a [u8])> {
        let lines = self.bytes.chunks_exact(LINE_BYTES);
        let before = shown.bytes.chunks_exact(LINE_BYTES);
        lines
            .zip(before)
            .enumerate()
            .filter(|(_, (now, then))| now != then)
            .map(|(index, (now, _))| (index, now))
    }

    /// The pixel at a place; `None` outside.
    pub fn pixel(&self, x: u32, y: u32) -> Option<BinaryColor> {
        if x >= WIDTH {
            return None;
        }
        let byte = self.line(y as usize)?.get(x as usize / 8)?;
        Some(BinaryColor::from(byte & (0x80 >> (x % 8)) == 0))
    }

    /// Fills columns `from` up to but not including `to` of a line; both within the display.
    fn fill_line(line: &mut [u8], from: usize, to: usize, color: BinaryColor) {
        let (first, last) = (from / 8, to / 8);
        let (head, tail) = (0xff_u8 >> (from % 8), !(0xff_u16 >> (to % 8)) as u8);
        if first == last {
            Self::mask(line, first, head & tail, color);
            return;
        }
        Self::mask(line, first, head, color);
        if let Some(middle) = line.get_mut(first.saturating_add(1)..last) {
            middle.fill(if color.is_on() { 0x00 } else { 0xff });
        }
        if tail != 0 {
            Self::mask(line, last, tail, color);
        }
    }

    /// Sets the pixels of `mask` in one byte.
    fn mask(line: &mut [u8], byte: usize, mask: u8, color: BinaryColor) {
        if let Some(byte) = line.get_mut(byte) {
            if color.is_on() {
                *byte &= !mask;
            } else {
                *byte |= mask;
            }
        }
    }
}

impl Default for Frame {
    fn default() -> Self {
        Self::new()
    }
}

impl OriginDimensions for Frame {
    fn size(&self) -> Size {
        Size::new(WIDTH, HEIGHT)
    }
}

impl DrawTarget for Frame {
    type Color = BinaryColor;
    type Error = Infallible;

    fn draw_iter<I>(&mut self, pixels: I) -> Result<(), Infallible>
    where
        I: IntoIterator<Item = Pixel<BinaryColor>>,
    {
        for Pixel(Point { x, y }, color) in pixels {
            let (Ok(x), Ok(y)) = (usize::try_from(x), usize::try_from(y)) else { continue };
            if x < WIDTH as usize
                && let Some(line) = self.bytes.chunks_exact_mut(LINE_BYTES).nth(y)
            {
                Self::mask(line, x / 8, 0x80 >> (x % 8), color);
            }
        }
        Ok(())
    }

    fn fill_solid(&mut self, area: &Rectangle, color: BinaryColor) -> Result<(), Infallible> {
        // Most fills are strokes of letters, a line high and a few pixels wide: clipped by hand, that is
        // a third of the work of intersecting two rectangles.
        let (x, y) = (area.top_left.x, area.top_left.y);
        let width = area.size.width;
        if area.size.height == 1
            && let (Ok(left), Ok(line)) = (u32::try_from(x), u32::try_from(y))
            && (1..=WIDTH).contains(&width)
            && left <= WIDTH - width
        {
            let start = (line as usize).saturating_mul(LINE_BYTES);
            if let Some(bytes) = self.bytes.get_mut(start..start.saturating_add(LINE_BYTES)) {
                Self::fill_line(bytes, left as usize, (left + width) as usize, color);
            }
            return Ok(());
        }
        let right = i64::from(x) + i64::from(area.size.width);
        let bottom = i64::from(y) + i64::from(area.size.height);
        let (left, right) = (x.max(0) as usize, right.clamp(0, i64::from(WIDTH)) as usize);
        let (top, bottom) = (y.max(0) as usize, bottom.clamp(0, i64::from(HEIGHT)) as usize);
        if left >= right {
            return Ok(());
        }
        for line in top..bottom {
            let start = line * LINE_BYTES;
            if let Some(line) = self.bytes.get_mut(start..start + LINE_BYTES) {
                Self::fill_line(line, left, right, color);
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The slow way: pixel by pixel.
    struct Slow(std::vec::Vec<bool>);

    impl Slow {
        fn fill(&mut self, x: i32, y: i32, width: u32, height: u32, ink: bool) {
            for line in y..y + height as i32 {
                for column in x..x + width as i32 {
                    if (0..400).contains(&column) && (0..240).contains(&line) {
                        self.0[(line * 400 + column) as usize] = ink;
                    }
                }
            }
        }
    }

    #[test]
    fn filling_by_bytes_gives_the_same_pixels_as_one_by_one() {
        let (mut fast, mut slow) = (Frame::new(), Slow(std::vec![false; 96_000]));
        let mut seed = 7_u32;
        let mut next = |most: u32| {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (seed >> 8) % most
        };
        for _ in 0..500 {
            let (x, y) = (next(440) as i32 - 20, next(280) as i32 - 20);
            let (width, height, ink) = (next(60), next(40), next(2) == 1);
            let area = Rectangle::new(Point::new(x, y), Size::new(width, height));
            let Ok(()) = fast.fill_solid(&area, BinaryColor::from(ink));
            slow.fill(x, y, width, height, ink);
        }
        for y in 0..240 {
            for x in 0..400 {
                let ink = fast.pixel(x, y).map(BinaryColor::is_on);
                assert_eq!(ink, Some(slow.0[(y * 400 + x) as usize]), "{x},{y}");
            }
        }
    }

    #[test]
    fn only_the_lines_that_differ_are_told() {
        let (shown, mut now) = (Frame::new(), Frame::new());
        assert_eq!(now.changed(&shown).count(), 0);
        let Ok(()) = now.fill_solid(&Rectangle::new(Point::new(3, 10), Size::new(2, 2)), BinaryColor::On);
        let lines: std::vec::Vec<_> = now.changed(&shown).map(|(index, _)| index).collect();
        assert_eq!(lines, [10, 11]);
    }
}
