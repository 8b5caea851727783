//! The sums that turn many uncertain angles into one number and its doubt.
//!
//! *Angle*: here always a signed 32-bit fraction of a turn, as in [`crate::units::Advance`], so that the
//! wrap at half a turn is the wrap of the integer. *Scaled median absolute deviation*: a robust measure
//! of scatter that equals the standard deviation where the scatter is normal. *Standard uncertainty*:
//! a doubt given as one standard deviation.
//!
//! Each file holds one idea: [`functions`] the roots and arcs with their measured errors; [`median`]
//! centre, scatter and the interval that a few readings support; [`circular`] directions;
//! [`histogram`] a capture of any length in a fixed space; [`mod@line`] and [`robust_line`] advance
//! against speed; [`uncertainty`] the budget; [`correlation`] how many independent readings a row is
//! worth; [`sort`] order without a panic; [`real`] the two widths that sums are kept in.

pub mod circular;
pub mod correlation;
pub mod functions;
pub mod histogram;
mod histogram_bins;
mod histogram_walk;
pub mod line;
pub mod median;
pub mod real;
pub mod robust_line;
pub mod sort;
pub mod uncertainty;
