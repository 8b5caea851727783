//! Words in rooms: one line or wrapped, in the largest face that fits, and told to the witness if cut.
//!
//! A text that is too long for its room in the smallest face allowed ends in two dots, and the witness
//! hears of it; no text is ever drawn outside its room. Where lines are broken is decided by widths alone,
//! at spaces, so that measuring and drawing cannot disagree.

use core::fmt::{self, Display, Write};

use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::Point;
use embedded_graphics::pixelcolor::BinaryColor;
use heapless::String;

use super::canvas::{Canvas, Placed, Witness};
use super::face::{Face, OVERHANG};
use super::room::Room;

/// Bytes of the longest text that is put together on the panel.
pub(super) const LONGEST: usize = 320;

/// Where a text stands in its room.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    /// At the left.
    Left,
    /// In the middle.
    Middle,
    /// At the right.
    Right,
}

/// A text put together from numbers and words, cut at 320 bytes.
#[derive(Debug, Clone, Default)]
pub(super) struct Line {
    text: String<LONGEST>,
    cut: bool,
}

impl Line {
    /// The words as they would be printed.
    pub(super) fn of(words: impl Display) -> Self {
        let mut line = Self::default();
        if write!(line, "{words}").is_err() {
            line.cut = true;
        }
        line
    }

    /// The text itself.
    pub(super) fn into_text(self) -> String<LONGEST> {
        self.text
    }

    /// The text.
    pub(super) fn as_str(&self) -> &str {
        &self.text
    }
}

impl Write for Line {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        for letter in text.chars() {
            if self.text.push(letter).is_err() {
                self.cut = true;
                return Ok(());
            }
        }
        Ok(())
    }
}

/// The next line of `text` no wider than `width`, and what follows it. A word wider than a line is
/// broken; the line is never empty while there is text.
fn break_line(text: &str, face: Face, width: i32) -> (&str, &str) {
    let text = text.trim_start_matches(' ');
    let mut used: i32 = OVERHANG;
    let mut last_space = None;
    for (place, letter) in text.char_indices() {
        if letter == '\n' {
            return split(text, place, 1);
        }
        if letter == ' ' {
            last_space = Some(place);
        }
        used = used.saturating_add(face.advance(letter));
        if used > width && letter != ' ' && place > 0 {
            return match last_space {
                Some(space) => split(text, space, 1),
                None => split(text, place, 0),
            };
        }
    }
    (text.trim_end_matches(' '), "")
}

/// `text` before `place`, and after `place + skip`.
fn split(text: &str, place: usize, skip: usize) -> (&str, &str) {
    let before = text.get(..place).unwrap_or("");
    (before.trim_end_matches(' '), text.get(place.saturating_add(skip)..).unwrap_or(""))
}

/// Lines that `text` takes in `face` at `width`.
pub(super) fn lines(text: &str, face: Face, width: i32) -> i32 {
    let (mut count, mut rest) = (0, text);
    while !rest.is_empty() && count < 99 {
        (_, rest) = break_line(rest, face, width);
        count += 1;
    }
    count
}

/// Height of so many lines in `face`, from the first's capitals to the last's tails.
pub(super) const fn height(lines: i32, face: Face) -> i32 {
    if lines < 1 { 0 } else { (lines - 1) * face.pitch() + face.capital() + face.descent() }
}

/// Whether `text` fits into `room` in `face`, and no word has to be broken.
fn fits(text: &str, face: Face, room: Room) -> bool {
    text.split([' ', '\n']).all(|word| face.width(word) <= room.width)
        && height(lines(text, face, room.width), face) <= room.height
}

/// The first of `faces` in which `text` fits; the last if none does.
fn fitting(text: &str, faces: &[Face], room: Room) -> Face {
    let last = faces.last().copied().unwrap_or(Face::Small);
    faces.iter().copied().find(|face| fits(text, *face, room)).unwrap_or(last)
}

impl<D, W> Canvas<'_, D, W>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    /// Writes wrapped words from the top of a room, in the first of `faces` in which all fits.
    pub(super) fn words(
        &mut self,
        words: impl Display,
        room: Room,
        faces: &[Face],
        side: Side,
    ) -> Result<(), D::Error> {
        let line = Line::of(words);
        self.block(&line, room, faces, side, false)
    }

    /// Writes wrapped words in the middle of a room's height.
    pub(super) fn words_centered(
        &mut self,
        words: impl Display,
        room: Room,
        faces: &[Face],
        side: Side,
    ) -> Result<(), D::Error> {
        let line = Line::of(words);
        self.block(&line, room, faces, side, true)
    }

    /// Writes a name that people entered in one line, ended by two dots where it is longer than its room.
    pub(super) fn entered(&mut self, name: &str, room: Room, side: Side) -> Result<(), D::Error> {
        let face = fitting(name, &[Face::Text, Face::Small], room);
        self.placed(Placed::Text, room, |canvas| {
            let above = (room.height - height(1, face)).max(0) / 2;
            let foot = room.top + above + face.capital();
            canvas.row(name, false, Point::new(room.left, foot), room.width, face, side)?;
            Ok(false)
        })
    }

    fn block(
        &mut self,
        line: &Line,
        room: Room,
        faces: &[Face],
        side: Side,
        centered: bool,
    ) -> Result<(), D::Error> {
        let text = line.as_str();
        if text.is_empty() {
            return Ok(());
        }
        let face = fitting(text, faces, room);
        self.placed(Placed::Text, room, |canvas| {
            // As many lines as the room is high, at least one, and the last one shows that it was cut.
            let most = (room.height - height(1, face)).max(0) / face.pitch() + 1;
            let needed = lines(text, face, room.width);
            let tall = height(needed.min(most), face);
            let mut cut = line.cut || needed > most || tall > room.height;
            let drop = if centered { (room.height - tall).max(0) / 2 } else { 0 };
            let mut foot = room.top.saturating_add(drop).saturating_add(face.capital());
            let mut rest = text;
            for row in 1..=needed.min(most) {
                let (shown, after) = break_line(rest, face, room.width);
                let ends = row == most && !after.is_empty();
                cut |= canvas.row(shown, ends, Point::new(room.left, foot), room.width, face, side)?;
                rest = after;
                foot = foot.saturating_add(face.pitch());
            }
            Ok(cut)
        })
    }

    /// One line of letters; whether it was cut.
    fn row(
        &mut self,
        text: &str,
        ends: bool,
        foot: Point,
        width: i32,
        face: Face,
        side: Side,
    ) -> Result<bool, D::Error> {
        let whole = face.width(text);
        let cut = ends || whole > width;
        let dots = face.width("..");
        let left = match side {
            _ if cut => 0,
            Side::Left => 0,
            Side::Middle => (width - whole).max(0) / 2,
            Side::Right => (width - whole).max(0),
        };
        let mut at = Point::new(foot.x.saturating_add(left), foot.y);
        let end = foot.x.saturating_add(if cut { width - dots } else { width });
        for letter in text.chars() {
            if at.x.saturating_add(face.advance(letter)).saturating_add(OVERHANG) > end {
                break;
            }
            at.x = at.x.saturating_add(face.letter(letter, at, self)?);
        }
        if cut && dots <= width {
            for letter in "..".chars() {
                at.x = at.x.saturating_add(face.letter(letter, at, self)?);
            }
        }
        Ok(cut)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_at_spaces_and_lose_no_letter() {
        let text = "Turn the housing slowly against the rotor until the screen inverts";
        let (mut rest, mut letters) = (text, 0);
        while !rest.is_empty() {
            let (line, after) = break_line(rest, Face::Text, 200);
            assert!(Face::Text.width(line) <= 200, "{line}");
            assert!(!line.is_empty());
            letters += line.chars().filter(|letter| *letter != ' ').count();
            rest = after;
        }
        assert_eq!(letters, text.chars().filter(|letter| *letter != ' ').count());
    }

    #[test]
    fn a_word_wider_than_its_room_is_broken_rather_than_lost() {
        let (line, rest) = break_line("Incomprehensibilities", Face::Large, 60);
        assert!(!line.is_empty() && !rest.is_empty());
    }

    #[test]
    fn the_largest_face_that_fits_is_taken() {
        let faces = [Face::Large, Face::Text, Face::Small];
        assert_eq!(fitting("Hold", &faces, Room::new(0, 0, 200, 40)), Face::Large);
        assert_eq!(fitting("Hold it still", &faces, Room::new(0, 0, 120, 30)), Face::Text);
        assert_eq!(fitting("Hold it still now, please", &faces, Room::new(0, 0, 60, 20)), Face::Small);
    }
}
