//! Keyway on the desktop: captures and job files read, readings told to people and programs.
//!
//! Everything that measures is in the core; here is what a desk has and an instrument has not: files,
//! text, pictures and a command line.

pub mod capture;
pub mod command;
pub mod demo;
pub mod job_file;
pub mod read;
