//! The job file of CONTRACT.md: one engine as a technician enters it, in TOML.

pub mod read;
pub mod write;

pub(crate) mod entries;
mod error;

pub use error::JobFileError;
