//! Entering a job with four keys: back, the digit or letter to change, more of it, and on to the next field.
//!
//! *More* adds one of the chosen digit and wraps from the most to the least that is allowed, so that every
//! value is reached with one key; held down it goes on by itself. The last field's *enter* builds the job;
//! what [`JobSpec::build`] refuses is shown at the field it names.

use super::fields::{Place, choices, list, of_key, range, read, write};
use crate::job::{JobSpec, Problem};
use crate::view::{FieldId, FieldView, KeyLabel, Label};
use crate::words;

/// A job being entered.
#[derive(Debug, Clone)]
pub struct Editor {
    /// As entered so far.
    pub spec: JobSpec,
    place: u8,
    digit: f32,
    letter: u8,
    problem: Option<Problem>,
}

/// What came of a key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Edited {
    /// Going on.
    Going,
    /// The job is possible: keep it.
    Finished,
    /// Given up before the first field.
    GivenUp,
}

impl Editor {
    /// Begins with these entries.
    pub fn new(spec: JobSpec) -> Self {
        let mut editor = Self { spec, place: 0, digit: 1.0, letter: 0, problem: None };
        editor.arrive();
        editor
    }

    fn field(&self) -> Place {
        list(&self.spec).get(usize::from(self.place)).copied().unwrap_or((FieldId::Name, 0))
    }

    fn arrive(&mut self) {
        let (field, _) = self.field();
        self.digit = range(field, &self.spec).map_or(1.0, |range| range.digit);
        self.letter = 0;
    }

    /// The labels of the four keys.
    pub fn keys(&self) -> [KeyLabel; 4] {
        let back = if self.place == 0 { KeyLabel::Cancel } else { KeyLabel::Back };
        let last = usize::from(self.place) + 1 >= list(&self.spec).len();
        let (digit, more) = match self.field().0 {
            FieldId::Name => (KeyLabel::Letter, KeyLabel::Change),
            field if choices(field) > 0 => (KeyLabel::None, KeyLabel::Change),
            _ => (KeyLabel::Digit, KeyLabel::More),
        };
        [back, digit, more, if last { KeyLabel::Save } else { KeyLabel::Enter }]
    }

    /// A key was pressed, or repeats.
    pub fn key(&mut self, key: usize) -> Edited {
        match key {
            0 => {
                self.problem = None;
                let Some(before) = self.place.checked_sub(1) else { return Edited::GivenUp };
                self.place = before;
                self.arrive();
            }
            1 => self.next_digit(),
            2 => self.more(),
            _ => return self.enter(),
        }
        Edited::Going
    }

    fn enter(&mut self) -> Edited {
        self.problem = None;
        let fields = list(&self.spec);
        if usize::from(self.place) + 1 < fields.len() {
            self.place += 1;
            self.arrive();
            return Edited::Going;
        }
        match self.spec.build() {
            Ok(_) => Edited::Finished,
            Err(error) => {
                let wrong = of_key(error.key);
                self.place = fields.iter().position(|(field, _)| *field == wrong).unwrap_or(0) as u8;
                self.arrive();
                self.problem = Some(error.problem);
                Edited::Going
            }
        }
    }

    fn next_digit(&mut self) {
        let (field, _) = self.field();
        if field == FieldId::Name {
            let longest = crate::job::MAX_NAME.min(self.spec.name.len() + 1) as u8;
            self.letter = (self.letter + 1) % longest.max(1);
            return;
        }
        let Some(range) = range(field, &self.spec) else { return };
        let least = if range.decimals == 0 { 1.0 } else { 0.1 };
        self.digit =
            if self.digit <= least * 1.01 { largest(range.digit, range.high) } else { self.digit / 10.0 };
    }

    fn more(&mut self) {
        self.problem = None;
        let (field, index) = self.field();
        if field == FieldId::Name {
            return self.next_letter();
        }
        let now = read(&self.spec, (field, index));
        let most = choices(field);
        if most > 0 {
            let next = if now + 1.0 >= f32::from(most) { 0.0 } else { now + 1.0 };
            return write(&mut self.spec, (field, index), next);
        }
        let Some(range) = range(field, &self.spec) else { return };
        let raised = now + self.digit;
        let wrapped = if raised > range.high + 1e-3 { range.low } else { raised };
        let scale = if range.decimals == 0 { 1.0 } else { 10.0 };
        write(&mut self.spec, (field, index), libm::roundf(wrapped * scale) / scale);
    }

    /// Changes the chosen letter to the next; beyond the end of the name one is added, and trailing blanks
    /// fall away.
    fn next_letter(&mut self) {
        let chosen = usize::from(self.letter);
        let mut name = heapless::String::new();
        let mut letters = self.spec.name.split_inclusive(|_: char| true);
        for place in 0..crate::job::MAX_NAME {
            let kept = letters.next();
            let letter = if place == chosen {
                let now = words::LETTERS
                    .bytes()
                    .position(|letter| kept.is_some_and(|kept| kept.as_bytes() == [letter]))
                    .unwrap_or(0);
                words::letter(now + 1)
            } else {
                match kept {
                    Some(kept) => kept,
                    None if place < chosen => " ",
                    None => break,
                }
            };
            if name.push_str(letter).is_err() {
                break;
            }
        }
        while name.as_bytes().last() == Some(&b' ') && name.len() > chosen + 1 {
            name.pop();
        }
        self.spec.name = name;
    }

    /// The field as a screen shows it.
    pub fn view(&self) -> FieldView {
        let fields = list(&self.spec);
        let (field, index) = self.field();
        let several = matches!(field, FieldId::FiringOrder | FieldId::FiringInterval | FieldId::MarkAngle);
        let range = range(field, &self.spec);
        FieldView {
            field,
            index: several.then_some(index + 1),
            place: (self.place + 1, fields.len() as u8),
            number: read(&self.spec, (field, index)),
            low: range.map_or(0.0, |range| range.low),
            high: range.map_or(0.0, |range| range.high),
            digit: self.digit,
            decimals: range.map_or(0, |range| range.decimals),
            unit: range.map(|range| range.unit),
            text: Label::new(&self.spec.name),
            letter: self.letter,
            problem: self.problem,
        }
    }
}

/// The largest digit worth changing: not above the most.
fn largest(first: f32, most: f32) -> f32 {
    let mut digit = first;
    while digit * 10.0 <= most {
        digit *= 10.0;
    }
    digit
}

#[cfg(test)]
mod tests {
    use super::super::fields::blank;
    use super::*;

    fn turn_to(editor: &mut Editor, field: FieldId) {
        for _ in 0..64 {
            if editor.view().field == field {
                return;
            }
            editor.key(3);
        }
        panic!("{field:?} is not among the fields");
    }

    #[test]
    fn a_job_entered_without_a_change_is_possible() {
        let mut editor = Editor::new(blank());
        let finished = (0..64).any(|_| editor.key(3) == Edited::Finished);
        assert!(finished);
    }

    #[test]
    fn every_field_of_every_kind_of_control_is_reached_and_keeps_within_its_range() {
        for control in 0..3 {
            let mut editor = Editor::new(blank());
            turn_to(&mut editor, FieldId::Control);
            for _ in 0..control {
                editor.key(2);
            }
            for _ in 0..64 {
                for _ in 0..5 {
                    editor.key(2);
                    let view = editor.view();
                    if view.unit.is_some() {
                        assert!((view.low - 1e-3..=view.high + 1e-3).contains(&view.number), "{view:?}");
                    }
                }
                editor.key(1);
                editor.key(3);
            }
        }
    }

    #[test]
    fn a_contradiction_is_shown_at_the_field_it_is_in() {
        let mut editor = Editor::new(blank());
        turn_to(&mut editor, FieldId::FiringOrder);
        editor.key(2);
        let finished = (0..64).any(|_| {
            let ended = editor.key(3) == Edited::Finished;
            ended || editor.view().problem.is_some()
        });
        assert!(finished);
        assert_eq!(editor.view().field, FieldId::FiringOrder);
        assert!(editor.view().problem.is_some());
    }

    #[test]
    fn a_name_is_entered_letter_by_letter_and_back_leaves_it() {
        let mut editor = Editor::new(blank());
        assert_eq!(editor.view().text.as_str(), "Engine");
        editor.key(2);
        assert_eq!(editor.view().text.as_str(), "Fngine");
        assert_eq!(editor.key(0), Edited::GivenUp);
    }
}
