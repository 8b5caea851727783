//! The letters: three sizes for words, one for the value.
//!
//! At arm's length (0.6 m) a pixel of the display (0.147 mm, from memory of a 2.7-inch one) is 0.84
//! minutes of arc, so that capitals of 17 pixels are 14 minutes high, and the value's digits 52.
//! Words are set in the bold of Free Universal, the value in the bold of Inconsolata, both under the SIL
//! Open Font Licence (notice: `LICENSES/OFL-fonts.txt`). Letters stand a pixel closer than the fonts ask
//! for, and words as near as the dark of a bold letter allows, so that a line holds 38 of them.

use embedded_graphics::Drawable;
use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::{Point, Size};
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::prelude::Primitive;
use embedded_graphics::primitives::{
    Circle, Ellipse, PrimitiveStyle, PrimitiveStyleBuilder, StrokeAlignment,
};
use u8g2_fonts::types::{FontColor, VerticalPosition};
use u8g2_fonts::{Error, Font, FontRenderer, fonts};

use super::room::Room;
use super::{glyph, ways};

/// A size of letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) enum Face {
    /// Capitals of 14 pixels: details read close up.
    Small,
    /// Capitals of 17 pixels: lists, and sentences that are too long for the next.
    Text,
    /// Capitals of 20 pixels: the sentence that says what to do now.
    Sentence,
    /// Capitals of 25 pixels: a word beside the value, a title.
    Large,
}

static SMALL: FontRenderer = FontRenderer::new::<fonts::u8g2_font_fub14_tf>();
static TEXT: FontRenderer = FontRenderer::new::<fonts::u8g2_font_fub17_tf>();
static SENTENCE: FontRenderer = FontRenderer::new::<fonts::u8g2_font_fub20_tr>();
static LARGE: FontRenderer = FontRenderer::new::<fonts::u8g2_font_fub25_tr>();

/// Columns by which a letter may reach over the way to the next, since letters stand closer than drawn.
pub(super) const OVERHANG: i32 = 2;

impl Face {
    fn font(self) -> &'static FontRenderer {
        match self {
            Self::Small => &SMALL,
            Self::Text => &TEXT,
            Self::Sentence => &SENTENCE,
            Self::Large => &LARGE,
        }
    }

    /// The font's bytes.
    const fn data(self) -> &'static [u8] {
        match self {
            Self::Small => fonts::u8g2_font_fub14_tf::DATA,
            Self::Text => fonts::u8g2_font_fub17_tf::DATA,
            Self::Sentence => fonts::u8g2_font_fub20_tr::DATA,
            Self::Large => fonts::u8g2_font_fub25_tr::DATA,
        }
    }

    /// Pixels from the top of a capital to the line it stands on.
    pub(super) const fn capital(self) -> i32 {
        match self {
            Self::Small => 14,
            Self::Text => 17,
            Self::Sentence => 20,
            Self::Large => 25,
        }
    }

    /// Pixels that letters reach below the line they stand on.
    pub(super) const fn descent(self) -> i32 {
        match self {
            Self::Small => 4,
            Self::Text | Self::Sentence => 5,
            Self::Large => 7,
        }
    }

    /// Pixels from one line to the next.
    pub(super) const fn pitch(self) -> i32 {
        match self {
            Self::Small => 20,
            Self::Text => 24,
            Self::Sentence => 28,
            Self::Large => 32,
        }
    }

    /// Pixels from one letter to the next, so that a text's width is the sum of its letters'.
    pub(super) fn advance(self, letter: char) -> i32 {
        match plain(letter) {
            ' ' => match self {
                Self::Small => 5,
                Self::Text => 6,
                Self::Sentence => 7,
                Self::Large => 9,
            },
            '\u{200a}' => 2,
            '°' => self.ring().saturating_add(2),
            '±' => self.plus().saturating_add(3),
            letter => match self.ways().get((letter as u32).wrapping_sub(ways::FIRST) as usize) {
                Some(way) => i32::from(*way),
                None => self.way_in_font(letter),
            },
        }
    }

    /// The way of a letter beyond the tables, from the font; a question mark's if the font lacks it.
    fn way_in_font(self, letter: char) -> i32 {
        let measure = |letter: char| {
            self.font().get_rendered_dimensions(letter, Point::zero(), VerticalPosition::Baseline)
        };
        let dimensions = measure(letter).or_else(|_| measure('?'));
        dimensions.map_or(0, |dimensions| dimensions.advance.x.saturating_sub(1))
    }

    /// Ways of the letters from `!` to `~`.
    const fn ways(self) -> &'static [u8; 94] {
        match self {
            Self::Small => &ways::SMALL,
            Self::Text => &ways::TEXT,
            Self::Sentence => &ways::SENTENCE,
            Self::Large => &ways::LARGE,
        }
    }

    /// Width of a text in one line, the overhang of its last letter included.
    pub(super) fn width(self, text: &str) -> i32 {
        text.chars().fold(OVERHANG, |sum, letter| sum.saturating_add(self.advance(letter)))
    }

    /// Draws one letter whose line stands at `at`; gives the way to the next.
    pub(super) fn letter<D>(self, letter: char, at: Point, target: &mut D) -> Result<i32, D::Error>
    where
        D: DrawTarget<Color = BinaryColor>,
    {
        let way = self.advance(letter);
        match plain(letter) {
            ' ' | '\u{200a}' => {}
            '°' => self.degree(at, target)?,
            '±' => self.plus_minus(at, target)?,
            shown => self.font_letter(shown, at, target)?,
        }
        if matches!(letter, 'µ' | 'μ') {
            // The fonts have no micro sign: a "u" with its stem drawn down.
            let stem = Room::new(at.x.saturating_add(1), at.y, self.stroke(), self.descent());
            target.fill_solid(&stem.rectangle(), BinaryColor::On)?;
        }
        Ok(way)
    }

    /// A letter of the font; one that the font lacks shows as a question mark rather than not at all.
    fn font_letter<D>(self, letter: char, at: Point, target: &mut D) -> Result<(), D::Error>
    where
        D: DrawTarget<Color = BinaryColor>,
    {
        if glyph::draw(self.data(), letter, at, target)? {
            return Ok(());
        }
        let ink = FontColor::Transparent(BinaryColor::On);
        let font = self.font();
        let done = font.render(letter, at, VerticalPosition::Baseline, ink, target);
        let done = match done {
            Err(Error::GlyphNotFound(_)) => font.render('?', at, VerticalPosition::Baseline, ink, target),
            done => done,
        };
        match done {
            Err(Error::DisplayError(error)) => Err(error),
            _ => Ok(()),
        }
    }

    /// A degree sign: a ring that can be seen at arm's length, as the fonts' own can't.
    fn degree<D>(self, at: Point, target: &mut D) -> Result<(), D::Error>
    where
        D: DrawTarget<Color = BinaryColor>,
    {
        let corner = Point::new(at.x.saturating_add(1), at.y.saturating_sub(self.capital()));
        let style = PrimitiveStyleBuilder::new()
            .stroke_color(BinaryColor::On)
            .stroke_width(if self.ring() > 8 { 3 } else { 2 })
            .stroke_alignment(StrokeAlignment::Inside);
        Circle::new(corner, self.ring() as u32).into_styled(style.build()).draw(target)
    }

    /// A plus over a minus.
    fn plus_minus<D>(self, at: Point, target: &mut D) -> Result<(), D::Error>
    where
        D: DrawTarget<Color = BinaryColor>,
    {
        let (side, thick) = (self.plus(), self.stroke());
        let square = Room::new(
            at.x.saturating_add(1),
            at.y.saturating_sub(side.saturating_add(thick).saturating_add(2)),
            side,
            side,
        );
        let middle = (side - thick) / 2;
        let (_, across) = square.cut_top(middle);
        let (_, upright) = square.cut_left(middle);
        let foot = Room::new(square.left, at.y.saturating_sub(thick), side, thick);
        for bar in [across.cut_top(thick).0, upright.cut_left(thick).0, foot] {
            target.fill_solid(&bar.rectangle(), BinaryColor::On)?;
        }
        Ok(())
    }

    /// Width of a degree sign.
    const fn ring(self) -> i32 {
        match self {
            Self::Small => 6,
            Self::Text => 7,
            Self::Sentence => 8,
            Self::Large => 10,
        }
    }

    /// Side of the plus of a plus-minus.
    const fn plus(self) -> i32 {
        match self {
            Self::Small => 8,
            Self::Text => 10,
            Self::Sentence => 12,
            Self::Large => 14,
        }
    }

    /// Thickness of a stroke.
    const fn stroke(self) -> i32 {
        match self {
            Self::Small | Self::Text => 2,
            Self::Sentence => 3,
            Self::Large => 4,
        }
    }
}

/// The letter drawn for another one: typographic marks as their plain cousins.
fn plain(letter: char) -> char {
    match letter {
        '’' | '‘' => '\'',
        '“' | '”' => '"',
        '–' | '—' | '−' | '\u{ad}' => '-',
        '…' => '.',
        'µ' | 'μ' => 'u',
        '\u{a0}' => ' ',
        letter => letter,
    }
}

/// Height of the value's digits, pixels.
pub(super) const DIGIT_HEIGHT: i32 = 63;
/// Width given to each of the value's digits, so that the number does not dance as it changes.
pub(super) const DIGIT_WIDTH: i32 = 42;
/// Width given to its decimal point.
pub(super) const POINT_WIDTH: i32 = 18;
/// Half the width of the point itself.
const POINT_SIZE: i32 = 11;
/// Blank columns left of the ink in the font's cell of 51.
const CELL_MARGIN: i32 = 4;

/// Draws one of the value's digits, or its point, with its left edge and its foot at `foot`; gives the
/// way to the next.
pub(super) fn digit<D>(letter: char, foot: Point, target: &mut D) -> Result<i32, D::Error>
where
    D: DrawTarget<Color = BinaryColor>,
{
    if letter == '.' {
        let dot = Room::new(
            foot.x.saturating_add((POINT_WIDTH - POINT_SIZE) / 2),
            foot.y.saturating_sub(POINT_SIZE),
            POINT_SIZE,
            POINT_SIZE,
        );
        target.fill_solid(&dot.rectangle(), BinaryColor::On)?;
        return Ok(POINT_WIDTH);
    }
    let at = Point::new(foot.x.saturating_sub(CELL_MARGIN), foot.y.saturating_sub(1));
    glyph::draw(fonts::u8g2_font_inb63_mn::DATA, letter, at, target)?;
    if letter == '0' {
        // The font strikes its zero through; at a glance that is an eight, so its eye is cleared.
        let corner = Point::new(foot.x.saturating_add(EYE.0), foot.y.saturating_sub(EYE.1));
        Ellipse::new(corner, EYE_SIZE)
            .into_styled(PrimitiveStyle::with_fill(BinaryColor::Off))
            .draw(target)?;
    }
    Ok(DIGIT_WIDTH)
}

/// Where the eye of a zero begins: right of its cell's left edge, above its foot.
const EYE: (i32, i32) = (9, 53);
/// The eye of a zero.
const EYE_SIZE: Size = Size::new(24, 45);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_face_has_every_letter_that_words_are_written_in() {
        for face in [Face::Small, Face::Text, Face::Sentence, Face::Large] {
            for letter in (' '..='~').filter(|letter| *letter != ' ') {
                let found =
                    face.font().get_rendered_dimensions(letter, Point::zero(), VerticalPosition::Baseline);
                assert!(found.is_ok(), "{face:?} lacks {letter}");
                assert_eq!(face.advance(letter), face.way_in_font(letter), "{face:?} {letter}");
            }
            for drawn in ['°', '±', 'µ', '–', '’'] {
                assert!(face.advance(drawn) > 2, "{face:?} {drawn}");
            }
        }
    }

    #[test]
    fn the_value_has_its_digits_and_they_are_sixty_pixels_high_at_least() {
        for letter in "0123456789-".chars() {
            let value = FontRenderer::new::<fonts::u8g2_font_inb63_mn>();
            let found = value.get_rendered_dimensions(letter, Point::zero(), VerticalPosition::Baseline);
            assert!(found.is_ok(), "{letter}");
        }
        let mut frame = super::super::frame::Frame::new();
        let Ok(way) = digit('8', Point::new(10, 100), &mut frame);
        assert_eq!(way, DIGIT_WIDTH);
        let inked = |y: &u32| (0..400).any(|x| frame.pixel(x, *y).is_some_and(BinaryColor::is_on));
        let lines = (0..240).filter(inked).count();
        assert!((60..=64).contains(&lines), "{lines}");
    }

    #[test]
    fn a_letter_that_the_font_lacks_takes_the_place_of_a_question_mark() {
        assert_eq!(Face::Text.advance('水'), Face::Text.advance('?'));
    }
}
