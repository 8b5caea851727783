//! What the instrument found out about itself at start.

use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::pixelcolor::BinaryColor;

use super::super::canvas::{Canvas, Witness};
use super::super::face::Face;
use super::super::number::Fixed;
use super::super::room::Room;
use super::super::rows::MIDDLE;
use super::super::text::Side;
use crate::view::{Mark, SelfTest, TestResult};
use crate::words;

impl<D, W> Canvas<'_, D, W>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    pub(super) fn self_test(&mut self, test: &SelfTest) -> Result<(), D::Error> {
        let mut rest = MIDDLE;
        for (name, result) in [("Capture", test.capture), ("Store", test.store), ("Supply", test.supply)] {
            let row;
            (row, rest) = rest.cut_top(28);
            let error = if name == "Capture" { test.angle_error } else { None };
            self.tested(name, result, error, row)?;
        }
        let small = [Face::Small];
        let (line, rest_of) = rest.cut_top(26);
        match test.calibrated {
            Some((year, month, day)) => {
                let date = format_args!("Calibrated {year:04}-{month:02}-{day:02}");
                self.words_centered(date, line, &small, Side::Left)?;
            }
            None => self.words_centered("Not calibrated", line, &small, Side::Left)?,
        }
        let (line, rest) = rest_of.cut_top(22);
        let made = format_args!("Instrument {}, firmware {:08x}", test.instrument, test.firmware);
        self.words_centered(made, line, &small, Side::Left)?;
        if test.last_run_failed {
            let (foot, _) = rest.cut_bottom(40);
            self.ground(foot)?;
            self.reversed(|canvas| {
                let text = "The last run ended by a fault: look at the readings twice.";
                canvas.words_centered(text, foot.inset(6, 0), &small, Side::Left)
            })?;
        }
        Ok(())
    }

    fn tested(
        &mut self,
        name: &str,
        result: TestResult,
        error: Option<f32>,
        row: Room,
    ) -> Result<(), D::Error> {
        let mark = match result {
            TestResult::Running => Mark::Open,
            TestResult::Passed => Mark::Proven,
            TestResult::Failed => Mark::Failed,
            TestResult::Absent => Mark::Skipped,
        };
        let (square, text) = row.cut_left(24);
        self.mark(mark, square)?;
        let text = Room::new(text.left + 4, text.top, text.width - 4, text.height);
        let (name_room, word) = text.cut_left(110);
        self.row_words(name, name_room)?;
        let word_text = words::test_result(result);
        match error {
            Some(error) => {
                let error = Fixed::hundredths(error.abs().min(360.0));
                self.row_words(format_args!("{word_text}, error {error}°"), word)
            }
            None => self.row_words(word_text, word),
        }
    }
}
