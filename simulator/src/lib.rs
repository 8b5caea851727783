//! Keyway on the desktop.

pub mod engine;
