//! Entering with four keys: a field of an engine, the readings of true zero, the taught wheel.
//!
//! A number stands in the value's digits with a bar under the digit that the keys change; a choice stands
//! in words with a row of boxes that tells how many there are; a name stands in equal cells, the one being
//! changed on dark ground.

use core::fmt::{Display, Formatter, Result as Written};

use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::Point;
use embedded_graphics::pixelcolor::BinaryColor;

use super::super::canvas::{Canvas, Witness};
use super::super::face::{DIGIT_WIDTH, Face, OVERHANG, POINT_WIDTH};
use super::super::number::{Advance, Fixed};
use super::super::room::Room;
use super::super::rows::MIDDLE;
use super::super::text::{Line, Side};
use super::super::value::{VALUE_HEIGHT, digits_width};
use crate::job::Problem;
use crate::view::{FieldId, FieldView, Screen, Teach, TrueZero, Unit, Value, ZeroStage};
use crate::words;

const FACES: [Face; 2] = [Face::Text, Face::Small];
/// Columns of one letter's cell in a name.
const CELL: i32 = 24;
/// Letters of a name in one line.
const CELLS: i32 = 16;

/// A number being entered, and which of its digits the keys change.
struct Entry {
    number: Fixed,
    digit: f32,
    word: &'static str,
}

/// From where to where a field may go, with the words that its numbers need.
struct Limits<'a> {
    field: &'a FieldView,
    low: f32,
    high: f32,
}

impl Display for Limits<'_> {
    fn fmt(&self, f: &mut Formatter<'_>) -> Written {
        if self.field.unit == Some(Unit::Advance) {
            return write!(f, "{} to {}", Advance(self.low), Advance(self.high));
        }
        let (low, high) = (decimals(self.low, self.field.decimals), decimals(self.high, self.field.decimals));
        write!(f, "{low} to {high}")
    }
}

impl<D, W> Canvas<'_, D, W>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    pub(super) fn field(&mut self, field: &FieldView) -> Result<(), D::Error> {
        let (head, rest) = MIDDLE.cut_top(28);
        let (place, name) = head.cut_right(70);
        let (at, of) = (field.place.0.min(99), field.place.1.min(99));
        self.words_centered(format_args!("{at}/{of}"), place, &FACES, Side::Right)?;
        match field.index {
            Some(index) => {
                let line = format_args!("{} {}", words::field(field.field), index.min(99));
                self.words_centered(line, name, &FACES, Side::Left)?;
            }
            None => self.words_centered(words::field(field.field), name, &FACES, Side::Left)?,
        }
        let (body, foot) = rest.cut_top(96);
        let body = Room::new(body.left, body.top + 8, body.width, body.height - 8);
        if field.field == FieldId::Name {
            self.letters(field, body)?;
        } else if field.unit.is_some() {
            self.entry(&entry_of(field), body)?;
        } else {
            self.choice(field, body)?;
        }
        match field.problem {
            Some(problem) => {
                self.ground(foot)?;
                self.reversed(|canvas| canvas.problem(problem, field, foot.inset(6, 2)))
            }
            None if field.unit.is_some() => {
                let limits = Limits { field, low: field.low, high: field.high };
                self.words_centered(limits, foot, &FACES, Side::Left)
            }
            None => Ok(()),
        }
    }

    fn problem(&mut self, problem: Problem, field: &FieldView, room: Room) -> Result<(), D::Error> {
        match problem {
            Problem::OutOfRange { low, high, .. } => {
                let limits = Limits { field, low, high };
                self.words_centered(format_args!("Must be from {limits}."), room, &FACES, Side::Left)
            }
            Problem::Expected(what) => {
                self.words_centered(format_args!("Expected: {what}"), room, &FACES, Side::Left)
            }
        }
    }

    /// A number in large digits, the one being changed underlined, its word beside it.
    fn entry(&mut self, entry: &Entry, room: Room) -> Result<(), D::Error> {
        let line = Line::of(entry.number);
        let wide = digits_width(line.as_str()).min(room.width);
        let (number, rest) = room.cut_left(wide);
        self.number(entry.number, number.cut_top(VALUE_HEIGHT).0)?;
        let end = number.right();
        let under = Room::new(
            end - from_right(entry.number, entry.digit),
            number.top + VALUE_HEIGHT + 3,
            DIGIT_WIDTH - 6,
            6,
        );
        if Room::new(room.left, room.top, room.width, room.height).contains(under) {
            self.picture(under, |canvas| canvas.ink(under))?;
        }
        let word = Room::new(rest.left + 8, rest.top, rest.width - 8, VALUE_HEIGHT);
        self.words_centered(entry.word, word, &[Face::Large, Face::Text, Face::Small], Side::Left)
    }

    /// The words of the chosen, and a box for each choice.
    fn choice(&mut self, field: &FieldView, room: Room) -> Result<(), D::Error> {
        let index = field.number.clamp(0.0, 99.0) as u8;
        let (words_room, boxes) = room.cut_top(64);
        let text = words::choice(field.field, index);
        self.words_centered(text, words_room, &[Face::Large, Face::Text], Side::Left)?;
        let count = i32::from(words::choices(field.field));
        if count == 0 {
            return Ok(());
        }
        let row = Room::new(boxes.left, boxes.top + 2, count * 28, 16);
        self.picture(row, |canvas| {
            for place in 0..count {
                let square = Room::new(row.left + place * 28, row.top, 22, 14);
                if place == i32::from(index) { canvas.ink(square)? } else { canvas.frame(square, 2)? }
            }
            Ok(())
        })
    }

    /// A name in equal cells, three lines of sixteen.
    fn letters(&mut self, field: &FieldView, room: Room) -> Result<(), D::Error> {
        let text = field.text.as_str();
        let letters = text.chars().chain(core::iter::repeat(' '));
        let last = (text.chars().count() as i32).max(i32::from(field.letter) + 1).min(3 * CELLS);
        for (place, letter) in (0..last).zip(letters) {
            let cell =
                Room::new(room.left + place % CELLS * CELL, room.top + 2 + place / CELLS * 28, CELL, 27);
            self.picture(cell, |canvas| {
                let draw = |canvas: &mut Self| {
                    let wide = Face::Text.advance(letter) + OVERHANG;
                    let at = Point::new(cell.left + (CELL - wide).max(0) / 2, cell.top + 19);
                    Face::Text.letter(letter, at, canvas).map(|_| ())
                };
                if place == i32::from(field.letter) {
                    canvas.ink(cell)?;
                    canvas.reversed(draw)
                } else {
                    let line = Room::new(cell.left + 1, cell.bottom() - 2, CELL - 2, 2);
                    canvas.ink(line)?;
                    draw(canvas)
                }
            })?;
        }
        Ok(())
    }

    pub(super) fn true_zero(&mut self, zero: &TrueZero, screen: &Screen) -> Result<(), D::Error> {
        let (upper, sentence) = MIDDLE.cut_top(106);
        let sentence = Room::new(sentence.left, sentence.top + 2, sentence.width, sentence.height - 2);
        match zero.stage {
            ZeroStage::Prepare | ZeroStage::StopOut => {
                let (sign, words) = MIDDLE.cut_left(100);
                self.warning(sign.inset(4, 40))?;
                let words = Room::new(words.left + 8, words.top, words.width - 8, words.height);
                return self.sentence(screen, words);
            }
            ZeroStage::First | ZeroStage::Second => {
                let entry = Entry {
                    number: Fixed::tenths(zero.entry.abs().min(360.0)),
                    digit: zero.digit,
                    word: Advance(zero.entry).word(),
                };
                let (head, body) = upper.cut_top(24);
                if let Some(first) = zero.first {
                    let line = format_args!("first reading {}", Advance(first.clamp(-360.0, 360.0)));
                    self.row_words(line, head)?;
                }
                self.entry(&entry, body)?;
            }
            ZeroStage::Result => {
                let (head, body) = upper.cut_top(24);
                self.row_words("The mark's zero lies at", head)?;
                if let Some((mark, doubt)) = zero.mark_btdc {
                    let value = Value::Shown {
                        advance: mark,
                        doubt,
                        age_ms: 0,
                        kind: crate::view::ValueKind::Settled,
                        verdict: None,
                    };
                    self.value(&value, body.cut_top(VALUE_HEIGHT).0)?;
                }
            }
        }
        self.sentence(screen, sentence)
    }

    pub(super) fn teach(&mut self, teach: &Teach, screen: &Screen) -> Result<(), D::Error> {
        let (head, rest) = MIDDLE.cut_top(24);
        let entered = Fixed::tenths(teach.entered.clamp(-360.0, 360.0));
        self.row_words(format_args!("First edge as entered: {entered}° BTDC"), head)?;
        let (body, sentence) = rest.cut_top(86);
        match (teach.found, &teach.value) {
            (Some((found, doubt)), _) => {
                let number = Fixed::tenths(found.clamp(0.0, 360.0));
                let (digits, beside) = body.cut_left(4 * DIGIT_WIDTH + POINT_WIDTH + 4);
                self.number(number, digits.cut_top(VALUE_HEIGHT).0)?;
                let (unit, plus) = beside.cut_top(32);
                self.words("BTDC", unit, &[Face::Large], Side::Left)?;
                let doubt = Fixed::hundredths(doubt.clamp(0.0, 180.0));
                self.words(format_args!("±{doubt}°"), plus, &FACES, Side::Left)?;
            }
            (None, value @ Value::Withheld { .. }) => self.value(value, body.cut_top(VALUE_HEIGHT).0)?,
            (None, Value::Shown { .. } | Value::Gathering { .. }) => {
                let (turns, needed) = teach.turns;
                let value = Value::Gathering { sparks: turns, needed };
                self.value(&value, body.cut_top(VALUE_HEIGHT).0)?;
            }
        }
        self.sentence(screen, sentence)
    }
}

/// A field's number with its unit's word.
fn entry_of(field: &FieldView) -> Entry {
    let advance = field.unit == Some(Unit::Advance);
    // An advance never shows a bare sign: its side is its word.
    let number = if advance { field.number.abs() } else { field.number };
    let word = match field.unit {
        Some(Unit::Advance) => match Advance(field.number).word() {
            "TDC" => "BTDC",
            word => word,
        },
        Some(Unit::Degrees) => "°",
        Some(Unit::Rpm) => "rpm",
        Some(Unit::Volt) => "V",
        Some(Unit::Millimetre) => "mm",
        Some(Unit::Microsecond) => "µs",
        Some(Unit::DegreesPer1000Rpm) => "° per 1000 rpm",
        Some(Unit::Second) => "s",
        Some(Unit::Count) | None => "",
    };
    Entry { number: decimals(number, field.decimals), digit: field.digit, word }
}

/// A number with so many decimals.
fn decimals(value: f32, decimals: u8) -> Fixed {
    match decimals {
        0 => Fixed::whole(value),
        1 => Fixed::tenths(value),
        _ => Fixed::hundredths(value),
    }
}

/// Columns from the right end of a number to the left edge of the bar under the digit worth `digit`.
fn from_right(number: Fixed, digit: f32) -> i32 {
    let places = i32::from(number.decimals());
    let mut columns = DIGIT_WIDTH - 3;
    let mut worth = match places {
        0 => 1.0,
        1 => 0.1,
        _ => 0.01,
    };
    let mut place = 0;
    // A digit of 10 000 is the farthest that any number here has.
    while worth * 5.0 < digit && place < 6 {
        worth *= 10.0;
        place += 1;
        columns += DIGIT_WIDTH + if place == places { POINT_WIDTH } else { 0 };
    }
    columns
}
