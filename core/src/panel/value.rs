//! The value: large digits with their word beside them, or why there is none.
//!
//! The digits are 63 pixels high and each has the same width, so that the number does not dance. A value
//! that is withheld or not yet there leaves no digits at all: its reason stands in the same place.

use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::Point;
use embedded_graphics::pixelcolor::BinaryColor;

use super::canvas::{Canvas, Placed, Witness};
use super::face::{DIGIT_HEIGHT, DIGIT_WIDTH, Face, POINT_WIDTH, digit};
use super::number::{Advance, Fixed};
use super::room::Room;
use super::text::{Line, Side};
use crate::view::Value;
use crate::words;

/// Columns that value and word take together.
pub(super) const VALUE_WIDTH: i32 = 284;
/// Lines that they take.
pub(super) const VALUE_HEIGHT: i32 = DIGIT_HEIGHT + 2;
/// Columns of four digits and a point.
const NUMBER_WIDTH: i32 = 4 * DIGIT_WIDTH + POINT_WIDTH;

/// Width of a number in the value's digits.
pub(super) fn digits_width(text: &str) -> i32 {
    text.chars()
        .fold(0, |sum, letter| sum.saturating_add(if letter == '.' { POINT_WIDTH } else { DIGIT_WIDTH }))
}

impl<D, W> Canvas<'_, D, W>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    /// A value, its word and its ± in a room of 284 by 65, or the reason that there is none.
    pub(super) fn value(&mut self, value: &Value, room: Room) -> Result<(), D::Error> {
        match *value {
            Value::Shown { advance, doubt, .. } => {
                // Right-aligned, so that the point and the word stay where they are as digits come and go.
                let number = Fixed::tenths(advance.abs().min(180.0));
                let wide = digits_width(Line::of(number).as_str()).min(NUMBER_WIDTH);
                let (digits, beside) = room.cut_left(NUMBER_WIDTH);
                self.number(number, digits.cut_right(wide).0)?;
                let beside = Room::new(beside.left + 4, beside.top, beside.width - 4, beside.height);
                let (word, below) = beside.cut_top(32);
                self.words(Advance(advance).word(), word, &[Face::Large], Side::Left)?;
                // Never finer than the figure itself.
                let doubt = Fixed::tenths(doubt.clamp(0.1, 180.0));
                let (plus, _) = below.cut_top(24);
                self.words(format_args!("±{doubt}°"), plus, &[Face::Sentence, Face::Text], Side::Left)
            }
            Value::Gathering { sparks, needed } => {
                let (words, bar) = room.cut_top(34);
                self.words("Reading...", words, &[Face::Large], Side::Left)?;
                let (bar, count) = bar.cut_left(NUMBER_WIDTH);
                let percent = if needed == 0 { 0 } else { i32::from(sparks) * 100 / i32::from(needed) };
                self.bar(percent, bar.cut_top(24).0)?;
                let (count, _) = Room::new(count.left + 6, count.top, count.width - 6, 24).cut_top(24);
                let line = format_args!("{sparks}/{needed}");
                self.words_centered(line, count, &[Face::Text, Face::Small], Side::Left)
            }
            Value::Withheld { why, .. } => {
                let (sign, words) = room.cut_left(54);
                self.warning(Room::new(sign.left, sign.top + 6, 48, 52))?;
                let why = why.iter().flatten().next();
                let reason = why.map_or("No reading", |why| words::reason(*why));
                self.words_centered(reason, words, &[Face::Large, Face::Sentence, Face::Text], Side::Left)
            }
        }
    }

    /// A number in digits of 63 pixels, at the left of a room; too long a one is told as cut.
    pub(super) fn number(&mut self, number: Fixed, room: Room) -> Result<(), D::Error> {
        let line = Line::of(number);
        let text = line.as_str();
        self.placed(Placed::Text, room, |canvas| {
            let mut foot = Point::new(room.left, room.top + DIGIT_HEIGHT + 1);
            if digits_width(text) > room.width || room.height < VALUE_HEIGHT {
                return Ok(true);
            }
            for letter in text.chars() {
                foot.x += digit(letter, foot, canvas)?;
            }
            Ok(false)
        })
    }
}
