//! The proofs: the step of the advance at a change and its answer to speed; the clamp's hold.

use core::fmt::{Display, Formatter, Result as Written};

use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::pixelcolor::BinaryColor;

use super::super::canvas::{Canvas, Witness};
use super::super::number::Fixed;
use super::super::room::Room;
use super::super::rows::MIDDLE;
use super::super::value::{VALUE_HEIGHT, VALUE_WIDTH};
use crate::view::{BaseProof, ClampProof, Mark, Screen, Value};

/// Lines of one proof.
const ROW: i32 = 24;

/// The answer to speed, as far as it is known.
struct Answer {
    slope: Option<(f32, f32)>,
    blip: (Option<f32>, f32),
}

impl Display for Answer {
    fn fmt(&self, f: &mut Formatter<'_>) -> Written {
        match (self.slope, self.blip) {
            (Some((slope, doubt)), _) => {
                let size = Fixed::tenths(slope.abs().min(999.0));
                let way = match Fixed::tenths(slope).scaled() {
                    Some(tenths) if tenths > 0 => "rises",
                    Some(tenths) if tenths < 0 => "falls",
                    _ => "stays",
                };
                // The technician reads a ± as 95 %, so the standard uncertainty is doubled.
                let doubt = Fixed::tenths((doubt * 2.0).clamp(0.0, 99.0));
                write!(f, "{way} {size}° ±{doubt} per 1000 rpm")
            }
            (None, (Some(top), reach)) => {
                write!(f, "blip: {} of {} rpm", Fixed::whole(top.max(0.0)), Fixed::whole(reach.max(0.0)))
            }
            (None, (None, reach)) => write!(f, "blip to {} rpm still to come", Fixed::whole(reach.max(0.0))),
        }
    }
}

impl<D, W> Canvas<'_, D, W>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    pub(super) fn proof(&mut self, proof: &BaseProof, screen: &Screen) -> Result<(), D::Error> {
        let (first, second) = self.proof_frame(&proof.now, proof.before, screen)?;
        let expected = Fixed::tenths(proof.expected_step.abs().min(180.0));
        match proof.seen_step {
            Some(seen) => {
                let seen = Fixed::tenths(seen.abs().min(180.0));
                self.proof_row(
                    proof.step_mark,
                    format_args!("stepped {seen}°, about {expected}° is due"),
                    first,
                )?;
            }
            None => {
                self.proof_row(
                    proof.step_mark,
                    format_args!("step of about {expected}° still to come"),
                    first,
                )?;
            }
        }
        self.proof_row(proof.slope_mark, Answer { slope: proof.slope, blip: proof.blip }, second)
    }

    pub(super) fn clamp_proof(&mut self, proof: &ClampProof, screen: &Screen) -> Result<(), D::Error> {
        let (first, second) = self.proof_frame(&proof.now, proof.before, screen)?;
        let allowed = Fixed::tenths(proof.allowed.clamp(0.0, 180.0));
        match proof.change {
            Some(change) => {
                let change = Fixed::tenths(change.abs().min(180.0));
                self.proof_row(
                    proof.clamp_mark,
                    format_args!("moved {change}° of {allowed}° allowed"),
                    first,
                )?;
            }
            None => self.proof_row(proof.clamp_mark, "clamp still to be read", first)?,
        }
        self.proof_row(proof.base_mark, Answer { slope: proof.slope, blip: proof.blip }, second)
    }

    /// Value now, value before, sentence; gives the rooms of the two proofs.
    fn proof_frame(
        &mut self,
        now: &Value,
        before: Option<f32>,
        screen: &Screen,
    ) -> Result<(Room, Room), D::Error> {
        let (head, rest) = MIDDLE.cut_top(VALUE_HEIGHT);
        let (beside, value) = head.cut_right(104);
        self.value(now, value.cut_left(VALUE_WIDTH).0)?;
        if let Some(before) = before {
            let beside = Room::new(beside.left + 2, beside.top, beside.width - 2, beside.height);
            self.figure("before", before, beside)?;
        }
        let (_, rest) = rest.cut_top(4);
        let (first, rest) = rest.cut_top(ROW);
        let (second, rest) = rest.cut_top(ROW);
        self.sentence(screen, Room::new(rest.left, rest.top + 2, rest.width, rest.height - 2))?;
        Ok((first, second))
    }

    fn proof_row(&mut self, mark: Mark, words: impl Display, room: Room) -> Result<(), D::Error> {
        let (square, text) = room.cut_left(24);
        self.mark(mark, square)?;
        self.row_words(words, Room::new(text.left + 4, text.top, text.width - 4, text.height))
    }
}
