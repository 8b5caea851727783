//! The verdict against the target, what explains it, which check would settle it, and how to put it right.
//!
//! A differential diagnosis: [`table`](self) holds for each cause how common it is and what it predicts for
//! each piece of evidence; the posterior weighs the evidence in whole numbers; checks are ranked by what
//! they are expected to tell for their effort.

mod because;
mod bits;
mod checks;
mod correction;
mod evidence;
mod expectation;
mod posterior;
mod proven;
#[cfg(test)]
mod reachable;
mod remedy;
mod result;
mod table;
mod verdict;

pub use checks::Search;
pub use evidence::{Evidence, Measured};
pub use proven::{LinkAnswer, Proven};
pub use result::{Because, Cause, CauseId, Causes, Judgement, Move, NextCheck, Remedy, Verdict};
pub use verdict::{judge, judge_evidence};
