//! What every screen has: the bar at the top, the four keys at the bottom, and the middle between them.
//!
//! *Bar*: step, speed, supply, quality. *Keys*: a dark tab above each key that does something; a key
//! without a tab does nothing. A supply below the limit stands reversed, as attention does everywhere here.

use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::pixelcolor::BinaryColor;

use super::canvas::{Canvas, Witness};
use super::face::Face;
use super::number::Fixed;
use super::room::Room;
use super::text::Side;
use crate::view::{Bar, KeyLabel, View};
use crate::words;

/// Lines of the bar.
const BAR: i32 = 24;
/// Lines of the key row.
const KEYS: i32 = 28;

/// The room between bar and keys.
pub(super) const MIDDLE: Room = Room::new(4, BAR + 4, 392, 240 - BAR - 4 - KEYS - 4);

/// The room between bar and keys without margins, for pictures that bring their own.
pub(super) const WHOLE_MIDDLE: Room = Room::new(0, BAR, 400, 240 - BAR - KEYS);

impl<D, W> Canvas<'_, D, W>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    /// Bar and keys; `title` stands in the bar where the view has no step.
    pub(super) fn surround(&mut self, view: &View, title: &str) -> Result<(), D::Error> {
        self.bar_row(&view.bar, title)?;
        self.key_row(&view.keys)
    }

    /// Bar and keys where they differ from what is shown, on paper.
    pub(super) fn surround_again(
        &mut self,
        (view, title): (&View, &str),
        (shown, shown_title): (&View, &str),
    ) -> Result<(), D::Error> {
        if view.bar != shown.bar || title != shown_title {
            self.paper(Room::SCREEN.cut_top(BAR).0)?;
            self.bar_row(&view.bar, title)?;
        }
        if view.keys != shown.keys {
            self.paper(Room::SCREEN.cut_bottom(KEYS).0)?;
            self.key_row(&view.keys)?;
        }
        Ok(())
    }

    fn bar_row(&mut self, bar: &Bar, title: &str) -> Result<(), D::Error> {
        let (row, _) = Room::SCREEN.cut_top(BAR);
        let (line, row) = row.cut_bottom(2);
        self.picture(line, |canvas| canvas.ink(line))?;
        let row = Room::new(row.left + 2, row.top, row.width - 4, row.height);
        let (teeth, row) = row.cut_right(25);
        self.quality(bar.quality, teeth.inset(0, 3))?;
        let (_, row) = row.cut_right(3);
        let (supply, row) = row.cut_right(60);
        let (_, row) = row.cut_right(4);
        let (speed, row) = row.cut_right(84);
        let (_, row) = row.cut_right(3);
        self.supply(bar, supply)?;
        let faces = [Face::Text, Face::Small];
        match bar.rpm {
            Some(rpm) => {
                let rpm = Fixed::whole(rpm.clamp(0.0, 99_999.0));
                self.with_unit(rpm, "rpm", 40, speed)?;
            }
            None => self.words_centered("no speed", speed, &faces, Side::Right)?,
        }
        match bar.step {
            Some(place) => {
                let (at, of) = (place.number.min(99), place.of.min(99));
                let words = format_args!("{at}/{of} {}", words::title(place.id));
                self.words_centered(words, row, &faces, Side::Left)
            }
            None => self.words_centered(title, row, &faces, Side::Left),
        }
    }

    fn supply(&mut self, bar: &Bar, room: Room) -> Result<(), D::Error> {
        let Some(volts) = bar.supply_v else {
            return self.words_centered("- V", room, &[Face::Text], Side::Right);
        };
        let volts = Fixed::tenths(volts.clamp(0.0, 99.9));
        if !bar.supply_low {
            return self.with_unit(volts, "V", 16, room);
        }
        self.ground(room)?;
        self.reversed(|canvas| canvas.with_unit(volts, "V", 16, room.inset(1, 0)))
    }

    /// A figure as large as fits, its unit small after it.
    fn with_unit(&mut self, figure: Fixed, unit: &str, unit_width: i32, room: Room) -> Result<(), D::Error> {
        let (unit_room, figure_room) = room.cut_right(unit_width);
        self.words_centered(unit, unit_room, &[Face::Small], Side::Right)?;
        self.words_centered(figure, figure_room, &[Face::Text, Face::Small], Side::Right)
    }

    fn key_row(&mut self, keys: &[KeyLabel; 4]) -> Result<(), D::Error> {
        let (row, _) = Room::SCREEN.cut_bottom(KEYS);
        for (index, key) in (0..).zip(keys) {
            if *key == KeyLabel::None {
                continue;
            }
            let tab = row.column(index, 4);
            let tab = Room::new(tab.left + 2, tab.top, tab.width - 4, tab.height);
            self.ground(tab)?;
            self.reversed(|canvas| {
                canvas.words_centered(
                    words::key(*key),
                    tab.inset(2, 2),
                    &[Face::Text, Face::Small],
                    Side::Middle,
                )
            })?;
        }
        Ok(())
    }
}
