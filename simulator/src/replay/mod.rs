//! `keyway replay`: what two pickups recorded, fed to the handheld at real time, for the firmware bench.
//!
//! *Source*: a capture file, or the edge stream of a handheld's USB port, live or kept in a file. *Hand*: who
//! presses the keys: by itself it tells everything that can be told and leaves out what may be left out,
//! until the step that reads; a script of keys may do it instead. *Pace*: how time passes: real, so many
//! times faster, or not waited for.
//!
//! The handheld is the very instrument of the firmware, with the job in its store. What its screen shows and
//! its sounder plays is told line by line as it changes, beside the time since the capture began.

mod command;
mod hand;
mod pace;
mod player;
mod stream;

pub use command::{Handheld, Order, run};
pub use hand::Hand;
pub use pace::{AtOnce, Pace, RealTime};
pub use player::{Input, Player};
pub use stream::{Batch, Line, Reader, line};
