//! A whole guided job without a window: the handheld's core on a simulated engine, worked by scripted hands.
//!
//! *Bench*: engine, instrument and store on one clock. *Hands*: a technician who sees what the screen shows
//! and hears what the sounder plays, never the engine's truth, and does as told, but for the *slips* that
//! are asked for.

mod bench;
pub mod event_log;
mod hands;
mod mend;
mod moment;
mod play;
mod running;
mod script;
mod self_test;
mod slips;
mod tape;
pub mod transcript;
mod wire;
mod zero;

pub use bench::{Bench, Told};
pub use hands::Hands;
pub use moment::Moment;
pub use play::run;
pub use script::{Act, Hand, carry_out, parse};
pub use slips::Slip;
pub use tape::Tape;
