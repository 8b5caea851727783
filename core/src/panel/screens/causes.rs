//! Causes with their evidence, the next check, and what else makes such an engine run badly.

use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::pixelcolor::BinaryColor;

use super::super::canvas::{Canvas, Witness};
use super::super::face::Face;
use super::super::geom::nearest;
use super::super::room::Room;
use super::super::rows::MIDDLE;
use super::super::text::{Line, Side, lines};
use crate::judge::{Cause, NextCheck};
use crate::view::{Causes, Mark, OtherCheck, OtherChecks};
use crate::words;

/// Faces of what is read standing still.
const READ: [Face; 3] = [Face::Sentence, Face::Text, Face::Small];
/// Faces of an entry.
const ENTRY: [Face; 2] = [Face::Text, Face::Small];
/// Lines of one entry where there are four causes, so that the evidence has room.
const LOW_ROW: i32 = 20;
/// Lines of one entry.
const ROW: i32 = 23;

impl<D, W> Canvas<'_, D, W>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    pub(super) fn causes(&mut self, causes: &Causes) -> Result<(), D::Error> {
        let count = causes.causes.iter().flatten().count();
        let Some(first) = causes.causes.iter().flatten().next() else {
            let text = "Nothing to tell yet: read first.";
            return self.words_centered(text, MIDDLE.inset(8, 8), &READ, Side::Middle);
        };
        let selected = usize::from(causes.selected).min(count.saturating_sub(1));
        let cause = causes.causes.iter().flatten().nth(selected).unwrap_or(first);
        let text = Line::of(format_args!("{} {}", cause.because, cause.remedy));
        // Long evidence takes the place of one entry, never of the selected one.
        let long = lines(text.as_str(), Face::Small, MIDDLE.width) > 5;
        let skipped = usize::from(long && count > 3 && selected == 3);
        let shown = if long { count.min(3) } else { count };
        let pitch = if count > 3 || long { LOW_ROW } else { ROW };
        let mut rest = MIDDLE;
        for (index, cause) in causes.causes.iter().flatten().enumerate().skip(skipped).take(shown) {
            let row;
            (row, rest) = rest.cut_top(pitch);
            self.selectable(index == selected, row, |canvas| canvas.cause(cause, row))?;
        }
        let room = Room::new(rest.left, rest.top + 2, rest.width, rest.height - 2);
        self.words(text.as_str(), room, &READ, Side::Left)
    }

    /// Its probability as a bar and in percent, and its name.
    fn cause(&mut self, cause: &Cause, row: Room) -> Result<(), D::Error> {
        let percent = nearest(cause.probability.clamp(0.0, 1.0) * 100.0);
        let (bar, rest) = row.cut_left(64);
        self.bar(percent, bar.inset(3, 3))?;
        let (figure, name) = rest.cut_left(58);
        self.words_centered(format_args!("{percent}%"), figure.inset(2, 0), &ENTRY, Side::Right)?;
        let name = Room::new(name.left + 8, name.top, name.width - 8, name.height);
        self.words_centered(words::cause_title(cause.id), name, &ENTRY, Side::Left)
    }

    pub(super) fn next_check(&mut self, check: NextCheck, bolt_loose: bool) -> Result<(), D::Error> {
        let (title, rest) = MIDDLE.cut_top(40);
        let faces = [Face::Large, Face::Text];
        self.words_centered(words::check_title(check), title, &faces, Side::Left)?;
        if !bolt_loose {
            return self.words(check, rest, &READ, Side::Left);
        }
        let (foot, rest) = rest.cut_bottom(32);
        self.words(check, rest, &READ, Side::Left)?;
        self.ground(foot)?;
        self.reversed(|canvas| {
            let text = "Bolt loose: tighten it before any blip.";
            canvas.words_centered(text, foot.inset(6, 2), &READ, Side::Middle)
        })
    }

    pub(super) fn other_checks(&mut self, others: &OtherChecks) -> Result<(), D::Error> {
        let mut rest = MIDDLE;
        let mut spelt_out: Option<OtherCheck> = None;
        for (index, (check, mark)) in (0u8..).zip(others.checks.iter()) {
            let row;
            (row, rest) = rest.cut_top(ROW);
            let selected = index == others.selected;
            if selected {
                spelt_out = Some(*check);
            }
            self.selectable(selected, row, |canvas| canvas.marked(*mark, words::other_title(*check), row))?;
        }
        let Some(check) = spelt_out else { return Ok(()) };
        let room = Room::new(rest.left, rest.top + 4, rest.width, rest.height - 4);
        self.words(words::other_how(check), room, &READ, Side::Left)
    }

    /// A mark and a name in a row.
    fn marked(&mut self, mark: Mark, name: &str, row: Room) -> Result<(), D::Error> {
        let (square, name_room) = row.inset(2, 0).cut_left(24);
        self.mark(mark, square)?;
        self.row_words(name, Room::new(name_room.left + 4, row.top, name_room.width - 4, row.height))
    }

    /// A row of a list, reversed where it is the selected one.
    pub(super) fn selectable(
        &mut self,
        selected: bool,
        row: Room,
        draw: impl FnOnce(&mut Self) -> Result<(), D::Error>,
    ) -> Result<(), D::Error> {
        if selected {
            self.ground(row)?;
            self.reversed(draw)
        } else {
            draw(self)
        }
    }
}
