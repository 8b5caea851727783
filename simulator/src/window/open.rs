//! Opening the window, or saying that there is no display.

use super::app::Window;
use super::stage::Stage;
use crate::drill::{Ending, Outcome, Session};
use eframe::egui::{ViewportBuilder, vec2};
use std::fmt;
use std::sync::{Arc, Mutex, PoisonError};

/// There is no display to open a window on; why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoDisplay(String);

impl NoDisplay {
    pub(super) fn because(why: &str) -> Self {
        Self(why.to_owned())
    }
}

impl fmt::Display for NoDisplay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "no window can be opened here ({})", self.0)
    }
}

/// Where a finished drill is left for whoever opened the window.
pub(super) type Finished = Arc<Mutex<Option<Outcome>>>;

/// Whether the desktop says that it has a display.
///
/// # Errors
/// It has none; why.
pub fn display() -> Result<(), NoDisplay> {
    if cfg!(all(unix, not(target_os = "macos"))) {
        let set = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
        if !set("DISPLAY") && !set("WAYLAND_DISPLAY") {
            return Err(NoDisplay("neither DISPLAY nor WAYLAND_DISPLAY is set".into()));
        }
    }
    Ok(())
}

/// Runs a window until it is closed.
pub(super) fn run(window: impl eframe::App + 'static) -> Result<(), NoDisplay> {
    let viewport = ViewportBuilder::default()
        .with_title("Keyway bench")
        .with_inner_size(vec2(1280.0, 800.0))
        .with_min_inner_size(vec2(640.0, 400.0));
    // Nothing here fades over an area, and noise on every pixel costs a machine without a graphics card most.
    let options = eframe::NativeOptions { viewport, dithering: false, ..Default::default() };
    let create: eframe::AppCreator<'_> = Box::new(move |_| Ok(Box::new(window)));
    eframe::run_native("keyway", options, create).map_err(|error| NoDisplay(error.to_string()))
}

/// Opens the bench, and comes back when the window is closed.
///
/// # Errors
/// There is no display.
pub fn bench() -> Result<(), NoDisplay> {
    display()?;
    let stage = Stage::new().map_err(NoDisplay)?;
    run(Window::new(stage, true))
}

/// Opens the bench on a drill; gives what came of it when the window is closed, `None` where it was not finished.
///
/// # Errors
/// There is no display.
pub fn drill(session: Session, ending: Ending) -> Result<Option<Outcome>, NoDisplay> {
    display()?;
    let stage = Stage::of_session(session).map_err(NoDisplay)?;
    let finished = Finished::default();
    run(Window::new(stage, true).ending(ending, Arc::clone(&finished)))?;
    let outcome = finished.lock().unwrap_or_else(PoisonError::into_inner).take();
    Ok(outcome)
}
