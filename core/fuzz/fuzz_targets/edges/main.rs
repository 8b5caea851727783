//! Arbitrary jobs, edges, silences and voltages into the meter, in any order and at any time.
//!
//! *Script*: the fuzzer's bytes read as commands, see [`script`]. Most commands make an engine run, so
//! that the rooms behind sync are reached at all; the rest break what it says. After each report, and at
//! the end, what the meter says is held against what can be: see [`possible`].
#![no_main]

mod engine;
mod jobs;
mod possible;
mod script;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| script::play(bytes));
