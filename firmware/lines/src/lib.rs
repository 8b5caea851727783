//! The lines that go over the handheld's USB port: one JSON object a line, both ways.
//!
//! *Line*: what stands before a line feed. *Command*: a line to the handheld. *Said*: a line from it. *Batch*: one
//! piece of the edge stream. The format is written down in this crate's `README.md`, the same for whoever reads it.
//!
//! A line is taken whole or not at all: [`Gather`] collects bytes and refuses what is too long, [`command`] makes a
//! command of a line or says what is wrong with it. Neither changes anything; the firmware acts on whole commands.

#![no_std]
#![forbid(unsafe_code)]

#[cfg(test)]
extern crate std;

mod command;
mod gather;
mod job;
mod record;
mod said;
mod stream;

pub use command::{Command, Refused, What, command};
pub use gather::{Gather, LONGEST_IN, Line};
pub use job::JobLine;
pub use record::{RecordLine, Sealed};
pub use said::{Done, ErrorLine, Hello, KeptJob, LONGEST_OUT, Live, Said, StreamOn};
pub use stream::{BATCH, Batch, EdgesLine};

/// The protocol spoken.
pub const PROTOCOL: u8 = 1;
