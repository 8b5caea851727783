//! A small seeded source of edges: what the two pickups would tell of a crank that turns as prescribed.
//!
//! *Motion*: the crank's angle at every moment, prescribed, not computed from forces. *Trigger*: the wheel
//! or marks and the faults of their pickup. *Ignition*: when the sparks come and what the clamp makes of
//! them. *Capture*: the edges of both, and the truth.
//!
//! The angle is a closed formula of time, so where the crank was at any edge is known to rounding, and a
//! spark is put at its angle by solving that formula. Sines come from libm, so that a capture is the same
//! on every machine and a table of results can be compared letter by letter.

mod capture;
mod chance;
mod ignition;
mod motion;
mod trigger;

pub use capture::{Capture, Source, TICKS_PER_SECOND, TrueSpark, wrapped};
pub use chance::Chance;
pub use ignition::{Ignition, Setting, Strike};
pub use motion::{Motion, Ripple};
pub use trigger::{Trigger, Wheel};
