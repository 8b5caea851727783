//! What surrounds the core in the handheld, without a chip: each part is pure or generic over the
//! embedded-hal traits, and so is tested on the desktop.
#![no_std]
#![forbid(unsafe_code)]

#[cfg(test)]
extern crate std;

pub mod arming;
pub mod capture;
pub mod delays;
pub mod display;
pub mod faults;
pub mod feed;
pub mod identity;
pub mod keys;
pub mod kind;
pub mod progress;
pub mod selftest;
pub mod sounder;
pub mod supply;
