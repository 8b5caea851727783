//! What lies over a screen: an alarm, a stop of the guide, a short notice.

use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::pixelcolor::BinaryColor;

use super::super::canvas::{Canvas, Placed, Witness};
use super::super::face::Face;
use super::super::room::Room;
use super::super::rows::MIDDLE;
use super::super::text::{Line, Side, lines};
use super::super::value::{VALUE_HEIGHT, VALUE_WIDTH};
use crate::view::{Alarm, Halt, Notice, Value};
use crate::words::{self, GoOn, What};

/// Where a notice stands.
pub(super) const FOOT: Room = MIDDLE.cut_bottom(54).0;

impl<D, W> Canvas<'_, D, W>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    /// Danger, or a gate lost: the whole middle, dark and bright in turn.
    pub(super) fn alarm(&mut self, alarm: Alarm, blink: bool) -> Result<(), D::Error> {
        if blink {
            self.ground(MIDDLE)?;
            self.reversed(|canvas| canvas.alarm_words(alarm))
        } else {
            self.framed(MIDDLE, 6)?;
            self.alarm_words(alarm)
        }
    }

    fn alarm_words(&mut self, alarm: Alarm) -> Result<(), D::Error> {
        let (sign, words) = MIDDLE.inset(10, 10).cut_left(100);
        self.warning(sign.inset(2, 20))?;
        let words_room = Room::new(words.left + 8, words.top, words.width - 8, words.height);
        let faces = [Face::Large, Face::Text];
        match alarm {
            Alarm::GateLost(_) => self.words_centered(
                format_args!("No longer holds: {}", words::alarm(alarm)),
                words_room,
                &faces,
                Side::Left,
            ),
            Alarm::TurnsWithStop | Alarm::SpeedWithBoltLoose | Alarm::TurnsWhileReachingIn => {
                self.words_centered(words::alarm(alarm), words_room, &faces, Side::Left)
            }
        }
    }

    /// The guide has stopped: the value stays, what was seen stands on dark ground, how to go on below.
    pub(super) fn halt(&mut self, halt: Halt, value: Option<&Value>) -> Result<(), D::Error> {
        let mut room = MIDDLE;
        if let Some(value) = value {
            let (head, rest) = room.cut_top(VALUE_HEIGHT);
            self.value(value, head.cut_left(VALUE_WIDTH).0)?;
            (_, room) = rest.cut_top(2);
        }
        let faces = [Face::Text, Face::Small];
        let (what, how) = room.cut_top(52);
        self.ground(what)?;
        self.reversed(|canvas| {
            let what = what.inset(4, 2);
            let (sign, words) = what.cut_left(36);
            let words = Room::new(words.left + 6, words.top, words.width - 6, words.height);
            let text = Line::of(What(halt));
            // A long one needs the sign's columns; the dark ground says stop by itself.
            if lines(text.as_str(), Face::Small, words.width) > 2 {
                return canvas.words_centered(text.as_str(), what, &faces, Side::Left);
            }
            canvas.warning(sign)?;
            canvas.words_centered(text.as_str(), words, &faces, Side::Left)
        })?;
        let how = Room::new(how.left, how.top + 2, how.width, how.height - 2);
        self.words_centered(GoOn(halt), how, &[Face::Sentence, Face::Text, Face::Small], Side::Left)
    }

    /// A short word over the foot of the screen; it goes by itself.
    pub(super) fn notice(&mut self, notice: Notice) -> Result<(), D::Error> {
        self.placed(Placed::Over, FOOT, |canvas| {
            // Paper round it, so that nobody reads what is half covered as a part of it.
            canvas.reversed(|canvas| canvas.ink(FOOT))?;
            let dark = FOOT.inset(0, 8);
            canvas.ink(dark)?;
            canvas.reversed(|canvas| {
                canvas.words_centered(
                    words::notice(notice),
                    dark.inset(2, 4),
                    &[Face::Text, Face::Small],
                    Side::Middle,
                )
            })?;
            Ok(false)
        })
    }
}
