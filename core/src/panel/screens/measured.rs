//! The screens with the value in large digits: live setting, reading, reference angle, cranking, and no
//! reading.

use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::pixelcolor::BinaryColor;

use super::super::canvas::{Canvas, Witness};
use super::super::face::Face;
use super::super::number::Fixed;
use super::super::room::Room;
use super::super::rows::MIDDLE;
use super::super::scale::Scale;
use super::super::text::Side;
use super::measured_rooms;
use crate::view::{Cranking, LiveScreen, Mark, ReadingScreen, ReferenceChange, Screen, Value, ValueKind};

/// Faces of a few words in the picture's column.
const BESIDE: [Face; 2] = [Face::Text, Face::Small];

/// The spark to show on the scale: only ever a value that is shown.
fn spark(value: &Value) -> Option<f32> {
    match value {
        Value::Shown { advance, .. } => Some(*advance),
        Value::Gathering { .. } | Value::Withheld { .. } => None,
    }
}

impl<D, W> Canvas<'_, D, W>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    pub(super) fn live(&mut self, live: &LiveScreen, screen: &Screen) -> Result<(), D::Error> {
        let (value, under, picture, sentence) = measured_rooms();
        self.value(&live.value, value)?;
        let shown = spark(&live.value);
        self.scale(Scale { target: live.target, tolerance: live.tolerance, spark: shown }, under)?;
        let on_target = live.error.is_some_and(|error| error.abs() <= live.tolerance);
        let target = if live.bolt_moves == 0.0 { "target" } else { "aim" };
        match (&live.correction, shown) {
            (_, None) => self.target(target, live.target, picture)?,
            (_, Some(_)) if on_target => self.hold(live.hold_percent, picture)?,
            (Some(correction), _) if correction.turn.is_some() => self.turn(correction, picture)?,
            _ => self.target(target, live.target, picture)?,
        }
        self.sentence(screen, sentence)
    }

    pub(super) fn reading(&mut self, reading: &ReadingScreen, screen: &Screen) -> Result<(), D::Error> {
        let (value, under, picture, sentence) = measured_rooms();
        self.value(&reading.value, value)?;
        let shown = spark(&reading.value);
        self.scale(Scale { target: reading.target, tolerance: reading.tolerance, spark: shown }, under)?;
        let (facts, target) =
            Room::new(picture.left + 4, picture.top, picture.width - 4, picture.height).cut_top(46);
        let (zero, base) = facts.cut_bottom(23);
        self.known("base", reading.base_mark, base)?;
        self.known("zero", reading.zero_mark, zero)?;
        self.figure("target", reading.target, target)?;
        self.sentence(screen, sentence)
    }

    pub(super) fn reference(&mut self, change: &ReferenceChange, screen: &Screen) -> Result<(), D::Error> {
        let (value, under, picture, sentence) = measured_rooms();
        self.value(&change.value, value)?;
        let shown = spark(&change.value);
        self.scale(Scale { target: change.target, tolerance: change.tolerance, spark: shown }, under)?;
        let on_target = change.error.is_some_and(|error| error.abs() <= change.tolerance);
        if on_target && shown.is_some() {
            self.hold(100, picture)?;
        } else {
            let picture = Room::new(picture.left + 2, picture.top, picture.width - 2, picture.height);
            let (head, rest) = picture.cut_top(28);
            let (figure, foot) = rest.cut_top(40);
            let add = if change.add_btdc < 0.0 { "Take off" } else { "Add" };
            let amount = Fixed::tenths(change.add_btdc.abs().min(360.0));
            self.words_centered(add, head, &BESIDE, Side::Middle)?;
            let faces = [Face::Large, Face::Text];
            self.words_centered(format_args!("{amount}°"), figure, &faces, Side::Middle)?;
            self.words("before TDC", foot, &BESIDE, Side::Middle)?;
        }
        self.sentence(screen, sentence)
    }

    pub(super) fn cranking(&mut self, cranking: &Cranking, screen: &Screen) -> Result<(), D::Error> {
        let (value, under, picture, sentence) = measured_rooms();
        self.value(&cranking.value, value)?;
        // No gate: a number taken while cranking is never on target.
        let scale = Scale { target: cranking.target, tolerance: 0.0, spark: spark(&cranking.value) };
        self.scale(scale, under)?;
        match cranking.value {
            Value::Shown { kind: ValueKind::Held, .. } => {
                // Dark, as attention is everywhere here: it is no new value.
                let mark = picture.cut_top(44).0.inset(4, 4);
                self.ground(mark)?;
                self.reversed(|canvas| {
                    canvas.words_centered("held", mark.inset(2, 2), &[Face::Large, Face::Text], Side::Middle)
                })?;
            }
            Value::Shown { .. } | Value::Gathering { .. } | Value::Withheld { .. } => {
                self.target("target", cranking.target, picture)?;
            }
        }
        self.sentence(screen, sentence)
    }

    pub(super) fn no_reading(&mut self, value: &Value, screen: &Screen) -> Result<(), D::Error> {
        let (head, rest) = MIDDLE.cut_top(72);
        self.value(value, Room::new(head.left, head.top + 4, head.width, head.height - 4))?;
        if let Value::Withheld { sparks_per_turn, wheel_found, .. } = *value {
            let (found, _) = rest.cut_top(26);
            if let Some((slots, missing)) = wheel_found {
                let line = format_args!("The wheel looks like {slots} slots, {missing} missing.");
                self.row_words(line, found)?;
            } else if let Some(rate) = sparks_per_turn {
                let rate = Fixed::tenths(rate.clamp(0.0, 999.0));
                self.row_words(format_args!("{rate} sparks a turn come in."), found)?;
            }
        }
        let (_, sentence) = rest.cut_top(30);
        self.sentence(screen, sentence)
    }

    /// The target, by its name, with its word, in the picture's column.
    fn target(&mut self, name: &str, target: f32, room: Room) -> Result<(), D::Error> {
        self.figure(name, target, Room::new(room.left + 4, room.top, room.width - 4, room.height))
    }

    /// How something is known, with its name.
    fn known(&mut self, name: &str, mark: Mark, room: Room) -> Result<(), D::Error> {
        let (square, word) = room.cut_left(24);
        self.mark(mark, square)?;
        let word = Room::new(word.left + 2, word.top, word.width - 2, word.height);
        self.words_centered(name, word, &BESIDE, Side::Left)
    }
}
