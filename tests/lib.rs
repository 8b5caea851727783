//! What the whole-product tests share.

pub mod noise;
pub mod running;
