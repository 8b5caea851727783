//! A step done by hand or waiting for its gates, and the cautions before it.
//!
//! Each gate is a line: how it is known, its name, and what was measured; a gate that does not hold says
//! by how much. Where the step is about a running engine and has few gates, the value stays in large
//! digits, since the hands are at work on it.

use core::fmt::{Display, Formatter, Result as Written};

use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::pixelcolor::BinaryColor;

use super::super::canvas::{Canvas, Witness};
use super::super::face::Face;
use super::super::number::{Advance, Fixed};
use super::super::room::Room;
use super::super::rows::MIDDLE;
use super::super::text::{Line, Side, height, lines};
use super::super::value::{VALUE_HEIGHT, VALUE_WIDTH};
use crate::view::{CautionId, GateLine, GateValue, Mark, Screen, Steps, Unit, Value, ValueKind};
use crate::words::{self, Now};

/// Most gates beside a value in large digits.
const GATES_WITH_VALUE: usize = 3;

/// Lines that a gate takes at least.
const LOWEST_ROW: i32 = 18;

/// What a gate measured, and how far it is from what it needs.
struct Measured(GateValue);

impl Measured {
    fn figure(&self, value: f32, f: &mut Formatter<'_>) -> Written {
        let value = value.clamp(-99_999.0, 99_999.0);
        match self.0.unit {
            // Half a spark a turn is a count too.
            Unit::Count if value.abs() < 10.0 => Fixed::tenths(value).fmt(f),
            Unit::Count | Unit::Rpm | Unit::Microsecond | Unit::Second => Fixed::whole(value).fmt(f),
            Unit::Advance | Unit::Degrees | Unit::Volt | Unit::Millimetre | Unit::DegreesPer1000Rpm => {
                Fixed::tenths(value).fmt(f)
            }
        }
    }

    const fn unit(&self) -> &'static str {
        match self.0.unit {
            Unit::Count => "",
            Unit::Advance | Unit::Degrees | Unit::DegreesPer1000Rpm => "°",
            Unit::Rpm => " rpm",
            Unit::Volt => " V",
            Unit::Millimetre => " mm",
            Unit::Microsecond => " µs",
            Unit::Second => " s",
        }
    }
}

impl Display for Measured {
    fn fmt(&self, f: &mut Formatter<'_>) -> Written {
        let Some(measured) = self.0.measured else { return f.write_str("...") };
        if self.0.unit == Unit::Advance {
            return Advance(measured.clamp(-180.0, 180.0)).fmt(f);
        }
        self.figure(measured, f)?;
        if measured < self.0.low {
            f.write_str("\u{200a}<\u{200a}")?;
            self.figure(self.0.low, f)?;
        } else if measured > self.0.high {
            f.write_str("\u{200a}>\u{200a}")?;
            self.figure(self.0.high, f)?;
        }
        f.write_str(self.unit())
    }
}

impl<D, W> Canvas<'_, D, W>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    pub(super) fn steps(&mut self, steps: &Steps, screen: &Screen) -> Result<(), D::Error> {
        let count = steps.gates.iter().flatten().count();
        let sentence = Line::of(Now(screen));
        let mut room = MIDDLE;
        match &steps.value {
            Some(value) if count <= GATES_WITH_VALUE => {
                let (head, rest) = MIDDLE.cut_top(VALUE_HEIGHT);
                self.value(value, head.cut_left(VALUE_WIDTH).0)?;
                (_, room) = rest.cut_top(4);
            }
            Some(Value::Shown { advance, doubt, kind, .. }) => {
                let (head, rest) = MIDDLE.cut_top(24);
                let doubt = Fixed::tenths(doubt.clamp(0.1, 180.0));
                let when = if *kind == ValueKind::Held { "held from cranking:" } else { "now" };
                self.row_words(format_args!("{when} {} ±{doubt}°", Advance(*advance)), head)?;
                room = rest;
            }
            _ => {}
        }
        // The sentence is as large as leaves each gate a line that can be read.
        let taken = |face: Face| height(lines(sentence.as_str(), face, room.width), face) + 4;
        let rows = |face: Face| (room.height - taken(face)) / (count.max(1) as i32);
        let face = match [Face::Sentence, Face::Text].into_iter().find(|face| rows(*face) >= 23) {
            Some(face) => face,
            None => Face::Small,
        };
        let (head, rest) = room.cut_top(if count == 0 { room.height } else { taken(face) });
        self.words(sentence.as_str(), head, &[face, Face::Small], Side::Left)?;
        self.gates(steps, rest, rows(face).clamp(LOWEST_ROW, 26))
    }

    /// The gates in rows of `pitch`. Where they are more than the rows, what is missing comes first and
    /// the last row tells how many more there are.
    fn gates(&mut self, steps: &Steps, room: Room, pitch: i32) -> Result<(), D::Error> {
        let count = steps.gates.iter().flatten().count() as i32;
        let fit = room.height / pitch;
        let shown = if count > fit { fit - 1 } else { count };
        let missing = |line: &&GateLine| matches!(line.mark, Mark::Open | Mark::Failed);
        let lines = steps.gates.iter().flatten();
        let (mut rest, mut row);
        rest = room;
        if count <= fit {
            for line in lines {
                (row, rest) = rest.cut_top(pitch);
                self.gate(line, row)?;
            }
            return Ok(());
        }
        let first = lines.clone().filter(missing);
        let last = lines.filter(|line| !missing(line));
        for line in first.chain(last).take(shown.max(0) as usize) {
            (row, rest) = rest.cut_top(pitch);
            self.gate(line, row)?;
        }
        (row, _) = rest.cut_top(pitch);
        let text = Room::new(row.left + 26, row.top, row.width - 26, row.height);
        self.row_words(format_args!("and {} more", count - shown), text)
    }

    fn gate(&mut self, line: &GateLine, room: Room) -> Result<(), D::Error> {
        let (square, text) = room.cut_left(24);
        self.mark(line.mark, square)?;
        let text = Room::new(text.left + 2, text.top, text.width - 2, text.height);
        let name = words::gate(line.gate);
        let Some(value) = line.value else { return self.row_words(name, text) };
        // What it needs is told only while it is not met.
        let any = GateValue { low: f32::NEG_INFINITY, high: f32::INFINITY, ..value };
        let value = if line.mark == Mark::Proven { any } else { value };
        let mut measured = Line::of(Measured(value));
        let mut wide = Face::Small.width(measured.as_str()) + 4;
        if Face::Small.width(name) + 4 + wide > text.width {
            // A long name leaves room for what was measured, not for what it needs.
            measured = Line::of(Measured(any));
            wide = Face::Small.width(measured.as_str()) + 4;
        }
        let (figure, text) = text.cut_right(wide);
        if line.mark == Mark::Failed {
            self.ground(figure)?;
            // A point lower where there is room, so that the ground shows above the figures too.
            let by = i32::from(figure.height > LOWEST_ROW);
            let words = Room::new(figure.left + 1, figure.top + by, figure.width - 2, figure.height - by);
            self.reversed(|canvas| {
                canvas.words_centered(measured.as_str(), words, &[Face::Small], Side::Middle)
            })?;
        } else {
            self.words_centered(measured.as_str(), figure, &[Face::Small], Side::Right)?;
        }
        self.row_words(name, Room::new(text.left, text.top, text.width - 4, text.height))
    }

    pub(super) fn caution(
        &mut self,
        id: CautionId,
        number: u8,
        of: u8,
        held_percent: u8,
    ) -> Result<(), D::Error> {
        let (foot, body) = MIDDLE.cut_bottom(24);
        let (sign, text) = body.cut_left(72);
        let (sign, _) = sign.cut_top(72);
        self.warning(sign.inset(3, 3))?;
        let text = Room::new(text.left + 6, text.top + 2, text.width - 6, text.height - 4);
        self.words_centered(
            words::caution(id),
            text,
            &[Face::Sentence, Face::Text, Face::Small],
            Side::Left,
        )?;
        let (count, bar) = foot.cut_left(92);
        self.words_centered(
            format_args!("{} of {}", number.min(99), of.min(99)),
            count,
            &[Face::Text],
            Side::Left,
        )?;
        self.bar(i32::from(held_percent), bar.inset(0, 3))
    }
}
