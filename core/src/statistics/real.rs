//! The two widths that sums are kept in: 32 bits on the handheld, 64 where more than seven digits are asked for.
//!
//! A Cortex-M0+ has floats of neither width, and those of 64 bits cost it five times the cycles and 3.5 KB of flash.
//! About the running mean 32 bits hold what an engine's advance and speed need (test `regression` states the digits
//! of both).

use super::functions::{square_root, square_root_wide};
use core::ops::{Add, AddAssign, Div, Mul, Neg, Sub};

/// A float that sums are kept in.
pub trait Real:
    Copy
    + Default
    + PartialOrd
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + AddAssign
{
    /// Nothing.
    const ZERO: Self;
    /// One.
    const ONE: Self;
    /// So many, to the nearest.
    fn of(count: u32) -> Self;
    /// The square root; NaN below zero.
    fn root(self) -> Self;
    /// Neither infinite nor NaN.
    fn is_number(self) -> bool;
}

macro_rules! real {
    ($width:ty, $root:path) => {
        impl Real for $width {
            const ZERO: Self = 0.0;
            const ONE: Self = 1.0;

            #[inline]
            fn of(count: u32) -> Self {
                count as Self
            }

            #[inline]
            fn root(self) -> Self {
                $root(self)
            }

            #[inline]
            fn is_number(self) -> bool {
                self.is_finite()
            }
        }
    };
}

real!(f32, square_root);
real!(f64, square_root_wide);
