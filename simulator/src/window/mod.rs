//! The bench window: the handheld beside an engine that can be grabbed.
//!
//! *Stage*: what stands on the bench, without a picture: engine and handheld on one clock, or a drill, or a capture.
//! *Part*: something that a hand can grab, with its word, its key and what it is for. *Advice*: the one
//! sentence that says what to do next with the hands. Everything else draws: one file a part.
//!
//! The window is laid out once, on 1280 × 800 points, and scaled as a whole; so what is legible at a desk is
//! legible on a wall. Every frame the stage goes on by the time that has passed, then everything is drawn anew.

mod advice;
mod app;
mod balancer;
mod catalogue;
mod computer;
mod controls;
mod debrief;
mod distributor;
mod drill;
mod halted;
mod handheld;
mod hands;
mod keys;
mod leads;
mod look;
mod open;
mod part;
mod replay;
mod save;
mod sounder;
mod stage;
mod strobe;
#[cfg(test)]
mod tests;
mod trainer;
mod truth;

pub use open::{NoDisplay, bench, display, drill};
pub use replay::replay;
