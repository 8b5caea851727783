//! Keeps jobs, settings, the job under way and records in NOR flash, so that a power cut at any moment leaves
//! what was kept before or what was to be kept, never neither.
//!
//! *Sector*: 4096 bytes, the least that can be erased. *Leaf*: a quarter of a sector, 1024 bytes, room for one
//! sealed block. *Ring*: the sectors of one place, written leaf after leaf, the newest leaf being what is kept.
//! *Fresh*: erased, found blank and marked so. *Tidy*: erase ahead.
//!
//! Why it holds: nothing that is kept is ever written over. A block goes into a blank leaf, its last page first
//! and the page with its head last, and is read back; the leaf before it stays until a later one stands whole. A
//! sector is only erased while the newest whole leaf lies in another, and only trusted as blank if its mark says
//! that an erase ended: the mark is taken away before the erase and put back after it was found blank. Both
//! checksums (of the head, of the block) must agree, or the leaf does not count and the one before it does.
//!
//! Why not a general key-value library, which the parts list would have: those keep one erased sector ahead, so
//! that the thirty saves of a job would meet an erase with the engine running; they find a record by its number
//! only by walking all of them; and they take a sector for blank by its first and last bytes, which an erase cut
//! short leaves blank with the middle still set.
//!
//! Work is bounded ([`Store::save`] says how), and in the usual case of a tidied store no erase happens at a save.

#![no_std]
#![forbid(unsafe_code)]

#[cfg(feature = "mock")]
extern crate std;

mod leaf;
#[cfg(feature = "mock")]
pub mod mock;
mod places;
mod ring;
mod store;

pub use leaf::{FORMAT, LEAF};
pub use places::{LEAST_SECTORS, MOST_SECTORS};
pub use store::{Capacity, Store};

/// Bytes of a sector: what is erased at once.
pub const SECTOR: u32 = 4096;
/// Bytes of a page: what is programmed at once.
pub const PAGE: u32 = 256;

/// Why something could not be kept or fetched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// No room for another record: fetch them and let them be forgotten.
    Full,
    /// Leaves or sectors that no longer take what is written; tried as many as one call may.
    Worn,
    /// The flash refused.
    Flash,
    /// The block is longer than [`keyway_core::kept::LONGEST`], or empty.
    Length,
    /// There is no such place.
    Place,
}
