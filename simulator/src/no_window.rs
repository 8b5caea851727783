//! Stands for the bench window in a build without the feature `window`: says that there is none.

use crate::drill::{Ending, Outcome, Session};
use crate::replay::Handheld;
use std::fmt;
use std::io::Write;

/// No window was built in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoDisplay;

impl fmt::Display for NoDisplay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("this keyway was built without its window")
    }
}

/// There is never a display.
///
/// # Errors
/// Always.
pub fn display() -> Result<(), NoDisplay> {
    Err(NoDisplay)
}

/// There is no bench to open.
///
/// # Errors
/// Always.
pub fn bench() -> Result<(), NoDisplay> {
    Err(NoDisplay)
}

/// There is no window for a drill.
///
/// # Errors
/// Always.
pub fn drill(_session: Session, _ending: Ending) -> Result<Option<Outcome>, NoDisplay> {
    Err(NoDisplay)
}

/// There is no window for a replay.
///
/// # Errors
/// Always.
pub fn replay<F, T>(_named: &str, _play: F) -> Result<T, NoDisplay>
where
    F: FnOnce(&mut dyn FnMut(&mut dyn Handheld) -> bool, &mut dyn Write) -> T + Send + 'static,
    T: Send + 'static,
{
    Err(NoDisplay)
}
