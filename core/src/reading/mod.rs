//! A number and its doubt, or the reason why there is none.
//!
//! Two accumulators are fed by one stream of placed sparks: [`Settled`] since the last disturbance or over
//! a whole capture, in a fixed space, and [`Live`], about a second long, which follows the hand.

mod assemble;
mod balance;
mod blocks;
mod budget;
mod by_speed;
mod live;
mod other_wheel;
mod reasons;
mod result;
mod settled;

pub use assemble::assemble;
pub use balance::{Balancer, Weighed, can_weigh};
pub use live::{Live, LiveValue};
pub use reasons::Signals;
pub use result::{
    Balance, BalanceSigns, Reading, Reasons, Signature, SparkFate, SparkRecord, SpeedTrend, Status, Withheld,
};
pub use settled::Settled;
