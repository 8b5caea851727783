//! The names that the compiler calls for a sum, a difference and a product of floats, and for a product of 64 bits
//! (ARM's run-time ABI, IHI 0043).
//!
//! Its own definitions are weak: where these are, they are taken. What is not ordinary goes on to the compiler's
//! general routines, which have names of their own.
#![allow(unsafe_code, reason = "names that the compiler calls, and its own routines")]

use crate::{long_product, product, sum};

const SIGN: u32 = 0x8000_0000;

// Floats travel in integer registers (base variant of the procedure call standard).
unsafe extern "C" {
    fn __addsf3(a: u32, b: u32) -> u32;
    fn __mulsf3(a: u32, b: u32) -> u32;
}

// SAFETY: the name stands for the sum of two floats, which this is.
#[unsafe(no_mangle)]
extern "C" fn __aeabi_fadd(a: u32, b: u32) -> u32 {
    // SAFETY: a pure function of two floats.
    sum(a, b).unwrap_or_else(|| unsafe { __addsf3(a, b) })
}

// SAFETY: the name stands for the difference of two floats, which this is.
#[unsafe(no_mangle)]
extern "C" fn __aeabi_fsub(a: u32, b: u32) -> u32 {
    let b = b ^ SIGN;
    // SAFETY: a pure function of two floats.
    sum(a, b).unwrap_or_else(|| unsafe { __addsf3(a, b) })
}

// SAFETY: the name stands for the product of two floats, which this is.
#[unsafe(no_mangle)]
extern "C" fn __aeabi_fmul(a: u32, b: u32) -> u32 {
    // SAFETY: a pure function of two floats.
    product(a, b).unwrap_or_else(|| unsafe { __mulsf3(a, b) })
}

// SAFETY: the name stands for the lower 64 bits of the product of two integers, which this is.
#[unsafe(no_mangle)]
extern "C" fn __aeabi_lmul(a: u64, b: u64) -> u64 {
    long_product(a, b)
}
