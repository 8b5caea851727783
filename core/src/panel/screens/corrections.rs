//! What was measured about the job itself and stands in place of what was entered.

use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::pixelcolor::BinaryColor;

use super::super::canvas::{Canvas, Witness};
use super::super::face::Face;
use super::super::number::{Advance, Fixed};
use super::super::room::Room;
use super::super::rows::MIDDLE;
use super::super::text::Side;
use crate::view::{CorrectionLine, CorrectionList, Screen};
use crate::words;

/// Lines of the display that a correction takes.
const ROW: i32 = 48;

impl<D, W> Canvas<'_, D, W>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    pub(super) fn corrections(&mut self, list: &CorrectionList, screen: &Screen) -> Result<(), D::Error> {
        let (mut rest, sentence) = MIDDLE.cut_top(3 * ROW);
        if list.lines.iter().all(Option::is_none) {
            return self.sentence(screen, MIDDLE);
        }
        for (index, line) in (0u8..).zip(list.lines.iter().flatten()) {
            let row;
            (row, rest) = rest.cut_top(ROW);
            self.selectable(index == list.selected, row, |canvas| canvas.corrected(line, row.inset(6, 2)))?;
        }
        self.words_centered(words::Now(screen), sentence, &[Face::Text, Face::Small], Side::Left)
    }

    /// What stands over what it is about.
    fn corrected(&mut self, line: &CorrectionLine, row: Room) -> Result<(), D::Error> {
        let (upper, lower) = row.cut_top(24);
        let small = [Face::Small];
        let shown = |degrees: f32| Advance(degrees.clamp(-360.0, 360.0));
        let within = |doubt: f32| Fixed::tenths(doubt.clamp(0.0, 180.0));
        match *line {
            CorrectionLine::Zero { mark_btdc, doubt, idle } => {
                let doubt = within(doubt);
                self.row_words(format_args!("Mark's zero at {} ±{doubt}°", shown(mark_btdc)), upper)?;
                let source =
                    if idle { "not used: the wheel is taught" } else { "by piston stop, for this job" };
                self.words_centered(source, lower, &small, Side::Left)
            }
            CorrectionLine::Wheel { entered, found, doubt } => {
                let doubt = within(doubt);
                self.row_words(format_args!("First edge {} ±{doubt}°", shown(found)), upper)?;
                let source = format_args!("taught; {} was entered", shown(entered));
                self.words_centered(source, lower, &small, Side::Left)
            }
            CorrectionLine::Rotor(rotor) => {
                self.row_words(format_args!("Rotor turns {}", words::turn(rotor)), upper)?;
                let source = format_args!("confirmed; {} was entered", words::turn(rotor.opposite()));
                self.words_centered(source, lower, &small, Side::Left)
            }
        }
    }
}
