#![doc = include_str!("../../README.md")]
//!
//! # This crate
//! What a desk has and an instrument has not: captures and job files read, readings told to people and programs, a
//! command line, and engines whose truth is known. Everything that measures is in [`keyway_core`].

pub mod capture;
pub mod command;
pub mod demo;
pub mod drill;
pub mod engine;
pub mod grid;
pub mod guide_play;
pub mod job_file;
pub mod make;
pub mod read;
pub mod record_file;
pub mod replay;
pub mod scenario;
pub mod screens;
#[cfg(feature = "window")]
pub mod window;
#[cfg(not(feature = "window"))]
#[path = "no_window.rs"]
pub mod window;
