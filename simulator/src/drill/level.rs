//! How much of the handheld a trainee sees: three levels, from everything to a strobe and the scale.
//!
//! What is covered is covered for the window, for the transcript and for "as shown" in scripts alike.

use keyway_core::view::{Halt, KeyLabel, Screen, View};

/// What the trainee may see.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// The handheld as it is: causes, checks, corrections.
    Causes,
    /// The handheld's number; what it makes of it is covered.
    Number,
    /// A strobe and the degree marks; the handheld is covered.
    Strobe,
}

impl Level {
    /// All of them, the easiest first.
    pub const ALL: [Self; 3] = [Self::Causes, Self::Number, Self::Strobe];

    /// Its name on the command line.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Causes => "causes",
            Self::Number => "number",
            Self::Strobe => "strobe",
        }
    }

    /// Its words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Causes => "causes shown",
            Self::Number => "number only",
            Self::Strobe => "strobe and scale only",
        }
    }

    /// The level of this name.
    pub fn named(id: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|level| level.id() == id)
    }

    /// What is left of a view; `None` where the screen is covered.
    pub fn uncovered(self, view: &View) -> Option<View> {
        let mut view = *view;
        match (self, &mut view.screen) {
            (Self::Causes, _) => return Some(view),
            (Self::Strobe, _)
            | (Self::Number, Screen::Causes(_) | Screen::NextCheck { .. } | Screen::OtherChecks(_)) => {
                return None;
            }
            (Self::Number, Screen::Reading(reading)) => {
                reading.first_cause = None;
                reading.correction = None;
            }
            (Self::Number, Screen::Cranking(cranking)) => cranking.far_off = false,
            (Self::Number, _) => {}
        }
        if matches!(view.halt, Some(Halt::OtherCause(_))) {
            view.halt = None;
        }
        for key in &mut view.keys {
            if matches!(key, KeyLabel::Causes | KeyLabel::Check | KeyLabel::Turn) {
                *key = KeyLabel::None;
            }
        }
        Some(view)
    }
}
