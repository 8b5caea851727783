//! Letters as rows of ink: the fonts' run lengths handed on as fills, without a step by pixels between.
//!
//! *Run*: so many blank pixels, then so many of ink, along the lines of a letter's box from its upper left
//! corner; a bit after each pair says whether it comes once more. Bits are taken from the lowest of each
//! byte. The format is that of the u8g2 project (its documentation: "u8g2 font format"), as the font crate
//! carries it; what cannot be read that way is left to the crate itself.

use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::Point;
use embedded_graphics::pixelcolor::BinaryColor;

use super::room::Room;

/// Bytes before the first letter.
const HEADER: usize = 23;

/// Bits of a letter, the lowest of each byte first.
struct Bits<'a> {
    rest: &'a [u8],
    /// Bits not yet taken, the next one lowest, and how many there are.
    held: u32,
    count: u32,
}

impl Bits<'_> {
    /// The next bits, at most 8, as a number; zeros beyond the end.
    fn take(&mut self, count: u8) -> i32 {
        let count = u32::from(count.min(8));
        if self.count < count {
            if let Some((byte, rest)) = self.rest.split_first() {
                self.held |= u32::from(*byte) << self.count;
                self.rest = rest;
            }
            self.count += 8;
        }
        let taken = self.held & ((1 << count) - 1);
        self.held >>= count;
        self.count -= count;
        taken as i32
    }

    /// The next bits as a number that may be negative.
    fn signed(&mut self, count: u8) -> i32 {
        self.take(count) - (1 << count.clamp(1, 8) >> 1)
    }
}

/// A letter's data, found by walking from the nearest of three places that the font names.
fn find(font: &[u8], letter: u8) -> Option<&[u8]> {
    let place = |at: usize| {
        let [high, low] = font.get(at..at + 2)? else { return None };
        Some(usize::from(*high) << 8 | usize::from(*low))
    };
    let start = match letter {
        b'a'.. => place(19)?,
        b'A'.. => place(17)?,
        _ => 0,
    };
    let mut rest = font.get(HEADER + start..)?;
    loop {
        let (code, jump) = (*rest.first()?, usize::from(*rest.get(1)?));
        if jump < 2 {
            return None;
        }
        if code == letter {
            return rest.get(2..jump);
        }
        rest = rest.get(jump..)?;
    }
}

/// Draws one letter of ASCII whose line stands at `at`; gives whether the font has it.
pub(super) fn draw<D>(font: &[u8], letter: char, at: Point, target: &mut D) -> Result<bool, D::Error>
where
    D: DrawTarget<Color = BinaryColor>,
{
    let Some(data) = u8::try_from(letter).ok().filter(u8::is_ascii).and_then(|letter| find(font, letter))
    else {
        return Ok(false);
    };
    let Some([blank_bits, ink_bits, width_bits, height_bits, x_bits, y_bits, way_bits]) = font.get(2..9)
    else {
        return Ok(false);
    };
    let mut bits = Bits { rest: data, held: 0, count: 0 };
    let (width, height) = (bits.take(*width_bits), bits.take(*height_bits));
    let (left, below) = (bits.signed(*x_bits), bits.signed(*y_bits));
    bits.signed(*way_bits);
    let left = at.x.saturating_add(left);
    let top = at.y.saturating_sub(height.saturating_add(below));
    let (mut x, mut y) = (0, 0);
    if width == 0 {
        return Ok(true);
    }
    while y < height {
        let (blank, ink) = (bits.take(*blank_bits), bits.take(*ink_bits));
        loop {
            x += blank;
            while x >= width {
                (x, y) = (x - width, y + 1);
            }
            // A run goes on along the next line where it reaches the end of one.
            let mut left_of_run = ink;
            while left_of_run > 0 && y < height {
                let length = left_of_run.min(width - x);
                let row = Room::new(left.saturating_add(x), top.saturating_add(y), length, 1);
                target.fill_solid(&row.rectangle(), BinaryColor::On)?;
                left_of_run -= length;
                x += length;
                if x >= width {
                    (x, y) = (0, y + 1);
                }
            }
            if y >= height || bits.take(1) == 0 {
                break;
            }
        }
        if blank == 0 && ink == 0 {
            // No letter is made of nothing: damaged data ends here.
            return Ok(true);
        }
    }
    Ok(true)
}

#[cfg(test)]
mod tests {
    use super::super::frame::Frame;
    use super::*;
    use u8g2_fonts::types::{FontColor, VerticalPosition};
    use u8g2_fonts::{Font, FontRenderer, fonts};

    fn every_letter_is_the_same<F: Font>() {
        let renderer = FontRenderer::new::<F>();
        for letter in ' '..='~' {
            let at = Point::new(60, 120);
            let (mut theirs, mut ours) = (Frame::new(), Frame::new());
            let ink = FontColor::Transparent(BinaryColor::On);
            let drawn = renderer.render(letter, at, VerticalPosition::Baseline, ink, &mut theirs).is_ok();
            let Ok(found) = draw(F::DATA, letter, at, &mut ours);
            assert_eq!(found, drawn, "{letter}");
            assert!(theirs == ours, "{letter}");
        }
    }

    #[test]
    fn every_letter_has_the_pixels_that_the_font_crate_draws() {
        every_letter_is_the_same::<fonts::u8g2_font_fub14_tf>();
        every_letter_is_the_same::<fonts::u8g2_font_fub17_tf>();
        every_letter_is_the_same::<fonts::u8g2_font_fub20_tr>();
        every_letter_is_the_same::<fonts::u8g2_font_fub25_tr>();
        every_letter_is_the_same::<fonts::u8g2_font_inb63_mn>();
    }

    #[test]
    fn damaged_data_ends_and_never_stops_the_drawing() {
        let font = fonts::u8g2_font_fub14_tf::DATA;
        for cut in (0..font.len()).step_by(37) {
            let mut frame = Frame::new();
            let Ok(_) = draw(&font[..cut], 'g', Point::new(60, 120), &mut frame);
            let mut changed = font.to_vec();
            changed[cut] ^= 0x5a;
            let Ok(_) = draw(&changed, 'g', Point::new(60, 120), &mut frame);
        }
    }
}
