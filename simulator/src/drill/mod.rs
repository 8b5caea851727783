//! The trainer's exercises: a hidden fault or none, a clock, the trainee's own engine and handheld, and marks.
//!
//! *Drill*: an exercise as data. *Seed*: which engine it is; one seed gives a class one engine. *Session*: one
//! run of it. *Deed*: one act of a trainee. *Commit*: cause, evidence, way to turn and housing degrees, named
//! before anything is told. *Outcome*: truth, marks and log of a finished run, of which sheet, class table
//! and debrief are made. *Critical*: an error that fails a drill whatever its marks.
//!
//! Nothing here needs a display: a window draws a [`Session`] and lets hands at its bench; a script does the
//! same without one. Every wrong act stays possible; it is seen, noted with the truth at that moment, and
//! marked.

mod acts;
mod class;
mod command;
mod commit;
mod customer;
mod debrief;
mod evidence;
mod exercise;
mod level;
mod log;
mod marks;
mod outcome;
pub mod refit;
mod session;
mod sheet;
mod timeline;
mod truth;
mod watch;
mod work;

pub use acts::{Deed, parse, words};
pub use class::append;
pub use command::{Ending, Order, list, run};
pub use commit::{Answer, Commit};
pub use debrief::Scene;
pub use evidence::Evidence;
pub use exercise::{Drill, Hint, Notes, all, named};
pub use level::Level;
pub use log::{Critical, Entry, FRAME, Frame, Kind, Seen};
pub use marks::{CRITERIA, Criterion, Mark, Marks, PASS};
pub use outcome::Outcome;
pub use session::{NotCommitted, Session};
pub use sheet::sheet;
pub use truth::{Idle, Left, Truth};
