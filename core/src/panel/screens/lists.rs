//! Menus, the engines kept, the records kept, the settings.
//!
//! The selected line stands on dark ground. Names that people entered end in two dots where they are
//! longer than a line; everything else fits.

use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::pixelcolor::BinaryColor;

use super::super::canvas::{Canvas, Witness};
use super::super::face::Face;
use super::super::number::Advance;
use super::super::room::Room;
use super::super::rows::MIDDLE;
use super::super::text::Side;
use crate::view::{EngineList, Label, Menu, RecordLine, RecordList, SettingLine, Settings};
use crate::words;

const FACES: [Face; 2] = [Face::Text, Face::Small];

impl<D, W> Canvas<'_, D, W>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    pub(super) fn menu(&mut self, menu: &Menu) -> Result<(), D::Error> {
        let mut rest = MIDDLE;
        let mut row;
        if !menu.engine.as_str().is_empty() {
            (row, rest) = rest.cut_top(26);
            self.name(&menu.engine, row, Side::Left)?;
        }
        let count = menu.items.iter().flatten().count().max(1) as i32;
        let pitch = (rest.height / count).min(30);
        let (edge, rest_of) = rest.cut_right(18);
        self.ends(menu.above, menu.below, edge)?;
        rest = rest_of;
        for (index, item) in (0u8..).zip(menu.items.iter().flatten()) {
            (row, rest) = rest.cut_top(pitch);
            self.selectable(index == menu.selected, row, |canvas| {
                canvas.row_words(words::menu_item(*item), row.inset(6, 0))
            })?;
        }
        Ok(())
    }

    /// Arrows where a list goes on.
    fn ends(&mut self, above: bool, below: bool, edge: Room) -> Result<(), D::Error> {
        let edge = Room::new(edge.left + 4, edge.top, edge.width - 4, edge.height);
        if above {
            self.more(true, edge.cut_top(12).0)?;
        }
        if below {
            self.more(false, edge.cut_bottom(12).0)?;
        }
        Ok(())
    }

    pub(super) fn engines(&mut self, list: &EngineList) -> Result<(), D::Error> {
        let (count, rest) = MIDDLE.cut_bottom(24);
        let (edge, mut rest) = rest.cut_right(18);
        let first = list.number.saturating_sub(list.selected);
        let shown = list.engines.iter().flatten().count() as u8;
        self.ends(first > 1, first.saturating_add(shown).saturating_sub(1) < list.of, edge)?;
        for (index, engine) in (0u8..).zip(list.engines.iter().flatten()) {
            let row;
            (row, rest) = rest.cut_top(30);
            self.selectable(index == list.selected, row, |canvas| {
                if engine.as_str().is_empty() {
                    canvas.row_words("+ enter a new engine", row.inset(6, 0))
                } else {
                    canvas.name(engine, row.inset(6, 0), Side::Left)
                }
            })?;
        }
        let line = format_args!("{} of {}", list.number, list.of);
        self.words_centered(line, count, &FACES, Side::Right)
    }

    pub(super) fn records(&mut self, list: &RecordList) -> Result<(), D::Error> {
        let (count, rest) = MIDDLE.cut_bottom(20);
        let (edge, mut rest) = rest.cut_right(18);
        let first = list.number.saturating_sub(u16::from(list.selected));
        let shown = list.lines.iter().flatten().count() as u16;
        self.ends(first > 1, first.saturating_add(shown).saturating_sub(1) < list.of, edge)?;
        if shown == 0 {
            let text = "No records yet.";
            return self.words_centered(text, rest.inset(8, 8), &FACES, Side::Middle);
        }
        for (index, line) in (0u8..).zip(list.lines.iter().flatten()) {
            let row;
            (row, rest) = rest.cut_top(40);
            self.selectable(index == list.selected, row, |canvas| canvas.record_line(line, row))?;
        }
        let line = format_args!("{} of {}", list.number, list.of);
        self.words_centered(line, count, &[Face::Small], Side::Right)
    }

    fn record_line(&mut self, line: &RecordLine, row: Room) -> Result<(), D::Error> {
        let (upper, lower) = row.inset(6, 0).cut_top(22);
        self.name(&line.engine, upper, Side::Left)?;
        let small = [Face::Small];
        let number = line.number;
        match line.after {
            Some(after) => {
                let word = if line.on_target { "on target" } else { "off target" };
                let after = Advance(after.clamp(-180.0, 180.0));
                self.words_centered(format_args!("{number}: {after}, {word}"), lower, &small, Side::Left)
            }
            None => {
                self.words_centered(format_args!("{number}: left without a value"), lower, &small, Side::Left)
            }
        }
    }

    pub(super) fn settings(&mut self, settings: &Settings) -> Result<(), D::Error> {
        let mut rest = MIDDLE;
        for (index, line) in (0u8..).zip(settings.lines.iter()) {
            let row;
            (row, rest) = rest.cut_top(40);
            self.selectable(index == settings.selected, row, |canvas| canvas.setting(line, row))?;
        }
        Ok(())
    }

    fn setting(&mut self, line: &SettingLine, row: Room) -> Result<(), D::Error> {
        let (value, name) = row.inset(6, 0).cut_right(112);
        self.row_words(words::setting(line.id), Room::new(name.left, name.top, name.width - 6, name.height))?;
        if line.most <= 1 {
            let word = if line.value == 0 { "off" } else { "on" };
            return self.words_centered(word, value, &FACES, Side::Right);
        }
        let most = i32::from(line.most);
        let value_room = value.inset(0, 11);
        self.picture(value_room, |canvas| {
            for step in 0..most {
                let block = value_room.column(step, most);
                let block = Room::new(block.left + 2, block.top, block.width - 3, block.height);
                if step < i32::from(line.value) { canvas.ink(block)? } else { canvas.frame(block, 1)? }
            }
            Ok(())
        })
    }

    /// A name that people entered, ended by two dots where it is longer than the row.
    pub(super) fn name(&mut self, name: &Label, room: Room, side: Side) -> Result<(), D::Error> {
        self.entered(name.as_str(), room, side)
    }
}
