//! The verdict against the target, what explains it, and how to put it right.

mod result;

pub use result::{Because, Cause, CauseId, Causes, Judgement, Move, Remedy, Verdict};
