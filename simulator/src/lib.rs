//! Keyway on the desktop: captures and job files read, readings told to people and programs, engines
//! simulated.
//!
//! Everything that measures is in the core; here is what a desk has and an instrument has not: files,
//! text, pictures, a command line, and engines whose truth is known.

pub mod capture;
pub mod command;
pub mod demo;
pub mod engine;
pub mod grid;
pub mod guide_play;
pub mod job_file;
pub mod make;
pub mod read;
pub mod scenario;
pub mod screens;
