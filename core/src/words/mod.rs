//! Every word that screen, text and report show, in one table: plain, imperative, the trade's.
//!
//! *Title*: what a screen is, at most 28 letters. *Sentence*: the one thing to do now, at most 138 letters,
//! so that it takes three lines of 46. *Key*: at most 9 letters. *Line*: an entry of a list, at most 34.
//! *Caution*: at most 184 letters, four lines of 46. A test walks all ids and holds them to it.
//!
//! One function for each kind of id, each a `match` without a rest, so that a new id does not compile until
//! it has words. Values have words of their own: an advance always says on which side of top dead centre it
//! lies ([`Btdc`]), an error whether it is early or late ([`Off`]).

mod cautions;
mod checks;
mod fields;
mod gates;
mod keys;
mod now;
mod reasons;
mod steps;
mod stops;
mod values;

pub use cautions::caution;
pub use checks::{check_title, other_how, other_title};
pub use fields::{LETTERS, choice, choices, field, letter};
pub use gates::{gate, mark};
pub use keys::{key, menu_item, menu_title, setting, test_result};
pub use now::{Now, cause_title};
pub use reasons::{quality, reason, reason_how};
pub use steps::{sentence, title, zero_stage};
pub use stops::{GoOn, What, alarm, notice};
pub use values::{Btdc, In, Off, Wrapped, turn};

/// Longest title, letters.
pub const TITLE: usize = 28;
/// Longest sentence, letters.
pub const SENTENCE: usize = 138;
/// Letters of a line of a sentence.
pub const LINE: usize = 46;
/// Longest word of a key, letters.
pub const KEY: usize = 9;
/// Longest entry of a list, letters.
pub const ENTRY: usize = 34;
/// Longest caution, letters.
pub const CAUTION: usize = 184;

#[cfg(test)]
mod tests;
