//! A number and its doubt, or the reason why there is none.

mod result;

pub use result::{Balance, Reading, Reasons, SparkFate, SparkRecord, SpeedTrend, Status, Withheld};
