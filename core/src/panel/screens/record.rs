//! One record: what was found, what it was left at; or its code, for a phone to read.

use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::pixelcolor::BinaryColor;

use super::super::canvas::{Canvas, Witness};
use super::super::code;
use super::super::face::Face;
use super::super::geom::nearest;
use super::super::number::{Advance, Fixed};
use super::super::room::Room;
use super::super::rows::{MIDDLE, WHOLE_MIDDLE};
use super::super::text::Side;
use crate::judge::Verdict;
use crate::view::{RecordDetail, RecordResult};
use crate::words;

const FACES: [Face; 2] = [Face::Text, Face::Small];

impl<D, W> Canvas<'_, D, W>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    pub(super) fn record(&mut self, record: &RecordDetail) -> Result<(), D::Error> {
        if record.as_code { self.record_code(record) } else { self.record_text(record) }
    }

    fn record_text(&mut self, record: &RecordDetail) -> Result<(), D::Error> {
        let (name, rest) = MIDDLE.cut_top(26);
        self.entered(record.engine.as_str(), name, Side::Left)?;
        let (found, rest) = rest.cut_top(26);
        let (left, rest) = rest.cut_top(26);
        let (target, rest) = rest.cut_top(26);
        self.result("found", record.before, found)?;
        self.result("left at", record.after, left)?;
        let (word, value) = target.cut_left(78);
        self.row_words("target", word)?;
        self.row_words(Advance(record.target.clamp(-180.0, 180.0)), value)?;
        let (verdict, rest) = rest.cut_top(28);
        self.verdict(record, verdict)?;
        let (marks, cause) = rest.cut_top(24);
        let [proven, told, skipped] = record.marks;
        self.words_centered(
            format_args!("{proven} proven, {told} told, {skipped} skipped"),
            marks,
            &FACES,
            Side::Left,
        )?;
        if let Some((cause_id, probability)) = record.cause {
            let percent = nearest(probability.clamp(0.0, 1.0) * 100.0);
            let line = format_args!("{}, {percent}%", words::cause_title(cause_id));
            self.words_centered(line, cause, &FACES, Side::Left)?;
        }
        Ok(())
    }

    fn result(&mut self, word: &str, result: Option<RecordResult>, room: Room) -> Result<(), D::Error> {
        let (word_room, value) = room.cut_left(78);
        self.row_words(word, word_room)?;
        match result {
            Some(result) => {
                let advance = Advance(result.advance.clamp(-180.0, 180.0));
                let doubt = Fixed::tenths(result.doubt.clamp(0.1, 180.0));
                let rpm = Fixed::whole(result.rpm.clamp(0.0, 20_000.0));
                self.row_words(format_args!("{advance} ±{doubt}° at {rpm} rpm"), value)
            }
            None => self.row_words("no value", value),
        }
    }

    fn verdict(&mut self, record: &RecordDetail, room: Room) -> Result<(), D::Error> {
        let word = match record.verdict {
            Some(Verdict::OnTarget) => "on target",
            Some(Verdict::Late) => "late",
            Some(Verdict::Early) => "early",
            None => "no verdict",
        };
        let left_early = if record.left_early { ", job left before its end" } else { "" };
        self.ground(room)?;
        self.reversed(|canvas| {
            canvas.words_centered(format_args!("{word}{left_early}"), room.inset(6, 1), &FACES, Side::Left)
        })
    }

    fn record_code(&mut self, record: &RecordDetail) -> Result<(), D::Error> {
        let (square, beside) = WHOLE_MIDDLE.cut_left(WHOLE_MIDDLE.height);
        self.code(code::text(record).as_str(), square)?;
        let beside = Room::new(beside.left + 8, beside.top + 6, beside.width - 12, beside.height - 12);
        let (number, rest) = beside.cut_top(40);
        let faces = [Face::Large, Face::Text];
        self.words_centered(format_args!("{}", record.number), number, &faces, Side::Left)?;
        let (name, words) = rest.cut_top(52);
        self.words(record.engine.as_str(), name, &FACES, Side::Left)?;
        self.words("Hold a phone's camera in front: it reads the record.", words, &FACES, Side::Left)
    }
}
