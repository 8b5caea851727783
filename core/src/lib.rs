//! Keyway's core: from the edges of two pickups to an engine's ignition advance, its doubt, and what
//! is wrong.
//!
//! It knows no chip, no clock and no file: time is always an argument, and the handheld, the desktop
//! and the tests drive the same functions. Data goes one way, and each room knows only those before
//! it: [`units`], [`job`], [`edges`], [`reading`], [`judge`], with [`meter`] as their front door; then
//! [`guide`], [`console`] and [`view`], with [`instrument`] as the front door of the whole handheld.
#![no_std]
#![forbid(unsafe_code)]

#[cfg(test)]
extern crate std;

pub mod console;
pub mod corrections;
pub mod crank;
pub mod edges;
mod elsewhere;
pub mod fixed;
pub mod geometry;
pub mod guide;
pub mod instrument;
pub mod job;
pub mod judge;
pub mod kept;
pub mod meter;
pub mod panel;
pub mod reading;
pub mod record;
pub mod scan;
pub mod sounder;
pub mod sparks;
pub mod statistics;
pub mod units;
pub mod view;
pub mod words;
