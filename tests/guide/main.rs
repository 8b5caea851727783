//! Whole jobs on the simulated engine, worked by hands that see only the screen and hear only the sounder:
//! each kind of control from a badly set engine to a record within tolerance; then the usual mistakes, made
//! on purpose: the guide stops, says why, and goes on once it is put right.

mod every_kind;
mod live;
mod mistakes;
mod records;
mod replays;
mod resets;
mod support;
mod tools;
mod whole_jobs;
