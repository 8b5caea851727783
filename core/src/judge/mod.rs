//! The verdict against the target, what explains it, and how to put it right.

mod correction;
mod result;
mod verdict;

pub use result::{Because, Cause, CauseId, Causes, Judgement, Move, Remedy, Verdict};
pub use verdict::judge;
