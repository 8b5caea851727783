//! The screens: each lays out its rooms between bar and keys and fills them from the view.
//!
//! A screen about a running engine has the value at the upper left, a picture at the upper right, and one
//! sentence below, always in the same places, so that a glance finds them. Where the guide has stopped,
//! the value stays and everything else gives way to what was seen and how to go on.

mod causes;
mod corrections;
mod entry;
mod lists;
mod measured;
mod over;
mod plot;
mod proof;
mod record;
mod selftest;
mod steps;

use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::pixelcolor::BinaryColor;

use super::canvas::{Canvas, Witness};
use super::face::Face;
use super::number::{Advance, Fixed};
use super::room::Room;
use super::rows::{MIDDLE, WHOLE_MIDDLE};
use super::text::Side;
use crate::view::{Screen, Value, View};
use crate::words::{self, Now};

/// Faces of a sentence.
const SENTENCE: [Face; 3] = [Face::Sentence, Face::Text, Face::Small];
/// Faces of a line in a row.
const ROW: [Face; 2] = [Face::Text, Face::Small];

/// The title in the bar, where the view has no step.
fn title(screen: &Screen) -> &'static str {
    match screen {
        Screen::Menu(menu) => words::menu_title(menu.id),
        Screen::Engines(_) => "Engines",
        Screen::Field(_) => "Engine's entries",
        Screen::Caution { .. } => "Caution",
        Screen::Steps(steps) => words::title(steps.step),
        Screen::BaseProof(proof) | Screen::ControlProof(proof) => words::title(proof.step),
        Screen::Reading(reading) => words::title(reading.step),
        Screen::Live(live) => words::title(live.step),
        Screen::ClampProof(proof) => words::title(proof.step),
        Screen::Reference(change) => words::title(change.step),
        Screen::Sweep(_) => "Sweep",
        Screen::Curve(curve) => words::title(curve.step),
        Screen::Causes(_) => "Causes",
        Screen::NextCheck { .. } => "Next check",
        Screen::OtherChecks(_) => "What else",
        Screen::Cranking(_) => "It does not start",
        Screen::TrueZero(_) => "True zero",
        Screen::Teach(_) => "Teach the wheel",
        Screen::Corrections(_) => "Corrections",
        Screen::Records(_) => "Records",
        Screen::Record(_) => "Record",
        Screen::Settings(_) => "Settings",
        Screen::SelfTest(_) => "Self-test",
        Screen::NoReading { .. } => "No reading",
    }
}

/// The value that stays in sight while the guide has stopped.
fn value_of(screen: &Screen) -> Option<&Value> {
    match screen {
        Screen::Steps(steps) => steps.value.as_ref(),
        Screen::BaseProof(proof) | Screen::ControlProof(proof) => Some(&proof.now),
        Screen::ClampProof(proof) => Some(&proof.now),
        Screen::Reading(reading) => Some(&reading.value),
        Screen::Live(live) => Some(&live.value),
        Screen::Reference(change) => Some(&change.value),
        Screen::Cranking(cranking) => Some(&cranking.value),
        Screen::Teach(teach) => Some(&teach.value),
        Screen::NoReading { value } => Some(value),
        Screen::Menu(_)
        | Screen::Engines(_)
        | Screen::Field(_)
        | Screen::Caution { .. }
        | Screen::Sweep(_)
        | Screen::Curve(_)
        | Screen::Causes(_)
        | Screen::NextCheck { .. }
        | Screen::OtherChecks(_)
        | Screen::TrueZero(_)
        | Screen::Corrections(_)
        | Screen::Records(_)
        | Screen::Record(_)
        | Screen::Settings(_)
        | Screen::SelfTest(_) => None,
    }
}

impl<D, W> Canvas<'_, D, W>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    /// The whole display for one view.
    pub(super) fn screen(&mut self, view: &View) -> Result<(), D::Error> {
        self.paper(Room::SCREEN)?;
        self.surround(view, title(&view.screen))?;
        self.between(view)
    }

    /// What differs from a view that is shown.
    pub(super) fn changes(&mut self, view: &View, shown: &View) -> Result<(), D::Error> {
        self.surround_again((view, title(&view.screen)), (shown, title(&shown.screen)))?;
        let over = |view: &View| (view.halt, view.alarm, view.notice, view.alarm.is_some() && view.blink);
        if view.screen.is_same(&shown.screen) && over(view) == over(shown) {
            return Ok(());
        }
        self.paper(WHOLE_MIDDLE)?;
        self.between(view)
    }

    /// What fills the middle, or lies over it.
    fn between(&mut self, view: &View) -> Result<(), D::Error> {
        if let Some(alarm) = view.alarm {
            return self.alarm(alarm, view.blink);
        }
        if let Some(halt) = view.halt {
            return self.halt(halt, value_of(&view.screen));
        }
        let Some(notice) = view.notice else { return self.middle(&view.screen) };
        self.beneath(over::FOOT, |canvas| canvas.middle(&view.screen))?;
        self.notice(notice)
    }

    fn middle(&mut self, screen: &Screen) -> Result<(), D::Error> {
        match screen {
            Screen::Menu(menu) => self.menu(menu),
            Screen::Engines(engines) => self.engines(engines),
            Screen::Field(field) => self.field(field),
            Screen::Caution { id, number, of, held_percent } => {
                self.caution(*id, *number, *of, *held_percent)
            }
            Screen::Steps(steps) => self.steps(steps, screen),
            Screen::BaseProof(proof) | Screen::ControlProof(proof) => self.proof(proof, screen),
            Screen::ClampProof(proof) => self.clamp_proof(proof, screen),
            Screen::Reading(reading) => self.reading(reading, screen),
            Screen::Live(live) => self.live(live, screen),
            Screen::Reference(change) => self.reference(change, screen),
            Screen::Cranking(cranking) => self.cranking(cranking, screen),
            Screen::NoReading { value } => self.no_reading(value, screen),
            Screen::Sweep(sweep) => self.sweep(sweep, screen),
            Screen::Curve(curve) => self.curve(curve, screen),
            Screen::Causes(causes) => self.causes(causes),
            Screen::NextCheck { check, bolt_loose } => self.next_check(*check, *bolt_loose),
            Screen::OtherChecks(others) => self.other_checks(others),
            Screen::TrueZero(zero) => self.true_zero(zero, screen),
            Screen::Teach(teach) => self.teach(teach, screen),
            Screen::Corrections(list) => self.corrections(list, screen),
            Screen::Records(records) => self.records(records),
            Screen::Record(record) => self.record(record),
            Screen::Settings(settings) => self.settings(settings),
            Screen::SelfTest(test) => self.self_test(test),
        }
    }

    /// The one sentence, in a room.
    fn sentence(&mut self, screen: &Screen, room: Room) -> Result<(), D::Error> {
        self.words_centered(Now(screen), room, &SENTENCE, Side::Left)
    }

    /// One line of words in a row, at the left.
    fn row_words(&mut self, words: impl core::fmt::Display, room: Room) -> Result<(), D::Error> {
        self.words_centered(words, room, &ROW, Side::Left)
    }

    /// A figure under its name, with its word under it, in a narrow column.
    fn figure(&mut self, name: &str, advance: f32, room: Room) -> Result<(), D::Error> {
        let size = Fixed::tenths(advance.abs().min(180.0));
        let (head, rest) = room.cut_top(20);
        let (figure, word) = rest.cut_top(22);
        self.words_centered(name, head, &[Face::Small], Side::Left)?;
        self.words_centered(format_args!("{size}°"), figure, &ROW, Side::Left)?;
        self.words_centered(Advance(advance).word(), word.cut_top(22).0, &ROW, Side::Left)
    }
}

/// The upper part of a screen about a running engine: the value's column and the picture's.
const UPPER: i32 = 112;

/// Value, what is under it, picture, sentence.
fn measured_rooms() -> (Room, Room, Room, Room) {
    let (upper, sentence) = MIDDLE.cut_top(UPPER);
    let (picture, left) = upper.cut_right(super::turn::TURN);
    let (value, under) = left.cut_top(super::value::VALUE_HEIGHT);
    let (value, _) = value.cut_left(super::value::VALUE_WIDTH);
    // Digits and gate must not grow together at arm's length.
    let (_, under) = under.cut_top(3);
    (value, under, picture, Room::new(sentence.left, sentence.top + 4, sentence.width, sentence.height - 4))
}
