//! Sum, difference and product of 32-bit floats, and the product of 64-bit integers, for a processor that has neither
//! a float unit nor a product longer than 32 bits.
//!
//! The compiler's own routines take 64-bit products, each a call of its own on a Cortex-M0+, and count leading
//! zeros in a loop. These keep to 32 bits: the same results to the last bit (IEEE Std 754-2019, binary32, to
//! nearest, ties to even), at a third to a half of the cycles.
//!
//! *Ordinary*: neither zero nor subnormal, infinite or not a number. What is not ordinary, or would not be as a
//! result, is `None` here: the compiler's routine does it.

#![cfg_attr(not(test), no_std)]
#![deny(unsafe_code)]

#[cfg(target_arch = "arm")]
mod instead;

const SIGN: u32 = 0x8000_0000;
const MANTISSA: u32 = 0x007f_ffff;
const HIDDEN: u32 = 0x0080_0000;
/// Bits below the mantissa while a sum is worked out.
const GUARD: u32 = 6;

/// Where a sum's or a product's leading bit stands while it is worked out.
const TOP: u32 = HIDDEN << GUARD;

fn exponent(bits: u32) -> u32 {
    (bits >> 23) & 0xff
}

fn mantissa(bits: u32) -> u32 {
    bits & MANTISSA | HIDDEN
}

fn is_ordinary(exponent: u32) -> bool {
    exponent.wrapping_sub(1) < 254
}

/// The lower 64 bits of the product of two integers: four products of halves of 16 bits, and two of 32 bits that reach
/// the upper half alone.
#[inline(always)]
pub fn long_product(a: u64, b: u64) -> u64 {
    let (a_word, b_word) = (a as u32, b as u32);
    let upper = ((a >> 32) as u32).wrapping_mul(b_word).wrapping_add(a_word.wrapping_mul((b >> 32) as u32));
    let (a_low, a_high) = (a_word & 0xffff, a_word >> 16);
    let (b_low, b_high) = (b_word & 0xffff, b_word >> 16);
    // What goes to the middle overflows by one bit at most.
    let (middle, carry) = (a_high * b_low).overflowing_add(a_low * b_high);
    let (low, over) = (a_low * b_low).overflowing_add(middle << 16);
    let high = a_high * b_high + (middle >> 16) + (u32::from(carry) << 16) + u32::from(over);
    u64::from(high.wrapping_add(upper)) << 32 | u64::from(low)
}

/// Product of two floats, given and returned as bits.
#[inline(always)]
pub fn product(a: u32, b: u32) -> Option<u32> {
    let (ea, eb) = (exponent(a), exponent(b));
    if !is_ordinary(ea) || !is_ordinary(eb) {
        return None;
    }
    // 24 by 24 bits in halves of 16: high and middle parts have room to spare in 32 bits.
    let (a_bits, b_bits) = (mantissa(a), mantissa(b));
    let (a_low, a_high) = (a_bits & 0xffff, a_bits >> 16);
    let (b_low, b_high) = (b_bits & 0xffff, b_bits >> 16);
    let low = a_low * b_low;
    let mut top = ((a_high * b_high) << 16) + (a_low * b_high + a_high * b_low) + (low >> 16);
    let mut rest = low << 16;
    // Biased once too often, and one less than it is for a product of two or more.
    let mut exponent = ea + eb;
    if top & SIGN == 0 {
        top = top << 1 | rest >> 31;
        rest <<= 1;
    } else {
        exponent += 1;
    }
    // Subnormal or infinite: not here. 127 is the bias; the hidden bit is added with the mantissa.
    if exponent.wrapping_sub(128) >= 253 {
        return None;
    }
    let kept = top >> 8;
    let cut = top & 0xff;
    let up = cut > 0x80 || cut == 0x80 && (rest != 0 || kept & 1 == 1);
    Some(((a ^ b) & SIGN) | (((exponent - 128) << 23) + kept + u32::from(up)))
}

/// Sum of two floats, given and returned as bits.
#[inline(always)]
pub fn sum(a: u32, b: u32) -> Option<u32> {
    let (a, b) = if a << 1 >= b << 1 { (a, b) } else { (b, a) };
    let (ea, eb) = (exponent(a), exponent(b));
    if !is_ordinary(ea) {
        return None;
    }
    if eb == 0 {
        // Nothing is added; what is subnormal is not ours.
        return (b << 1 == 0).then_some(a);
    }
    let apart = ea - eb;
    let large = mantissa(a) << GUARD;
    let small = mantissa(b) << GUARD;
    // What is shifted out leaves a one behind: enough to round by.
    let small = if apart == 0 {
        small
    } else if apart < 31 {
        small >> apart | u32::from(small << (32 - apart) != 0)
    } else {
        1
    };
    let mut exponent = ea;
    let mut found;
    if (a ^ b) & SIGN == 0 {
        found = large + small;
        if found >= TOP << 1 {
            found = found >> 1 | found & 1;
            exponent += 1;
        }
    } else {
        found = large - small;
        if found == 0 {
            return Some(0);
        }
        for step in [16, 8, 4, 2, 1] {
            if found < TOP >> (step - 1) && exponent > step {
                found <<= step;
                exponent -= step;
            }
        }
        if found < TOP {
            return None;
        }
    }
    if exponent >= 254 {
        return None;
    }
    let kept = found >> GUARD;
    let cut = found & ((1 << GUARD) - 1);
    let half = 1 << (GUARD - 1);
    let up = cut > half || cut == half && kept & 1 == 1;
    Some((a & SIGN) | (((exponent - 1) << 23) + kept + u32::from(up)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Floats of every kind, and pairs that nearly cancel, from a fixed seed.
    fn pairs() -> impl Iterator<Item = (u32, u32)> {
        let mut state = 0x9e37_79b9_7f4a_7c15u64;
        let mut next = move || {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            (state >> 16) as u32
        };
        let near_one = |bits: u32| bits & (SIGN | MANTISSA) | (120 + (bits >> 26) % 16) << 23;
        (0..6_000_000).map(move |index| {
            let (a, b) = (next(), next());
            match index % 4 {
                0 => (a, b),
                1 => (near_one(a), near_one(b)),
                2 => (near_one(a), (near_one(a) ^ SIGN).wrapping_add(b % 64)),
                // Few bits set: ties.
                _ => (near_one(a) & 0xffff_f000, near_one(b) & 0xffff_f000),
            }
        })
    }

    fn check(ours: impl Fn(u32, u32) -> Option<u32>, theirs: impl Fn(f32, f32) -> f32) -> (u32, u32) {
        let (mut done, mut left) = (0, 0);
        for (a, b) in pairs() {
            let right = theirs(f32::from_bits(a), f32::from_bits(b));
            match ours(a, b) {
                Some(bits) => {
                    assert_eq!(bits, right.to_bits(), "{a:08x} {b:08x}");
                    done += 1;
                }
                None => left += 1,
            }
        }
        (done, left)
    }

    #[test]
    fn long_products_are_those_of_the_host() {
        let ends = [0, 1, 0xffff, 0x1_0000, 0xffff_ffff, 1 << 32, u64::MAX, 1 << 63, 0xffff_0000_ffff];
        for a in ends {
            for b in ends {
                assert_eq!(long_product(a, b), a.wrapping_mul(b), "{a:x} {b:x}");
            }
        }
        let mut last = 1u64;
        for (a, b) in pairs().take(1_000_000) {
            let (a, b) = (u64::from(a) << 32 | u64::from(b), last);
            last = long_product(a, b);
            assert_eq!(last, a.wrapping_mul(b), "{a:x} {b:x}");
            last |= 1;
        }
    }

    #[test]
    fn products_are_those_of_the_host_to_the_last_bit() {
        let (done, left) = check(product, |a, b| a * b);
        assert!(done > 5_000_000 && left > 100_000, "{done} done, {left} left");
    }

    #[test]
    fn sums_are_those_of_the_host_to_the_last_bit() {
        let (done, left) = check(sum, |a, b| a + b);
        assert!(done > 5_000_000 && left > 1_000, "{done} done, {left} left");
    }

    #[test]
    fn corners_are_right_or_left_to_the_compiler() {
        let corners = [
            0.0f32,
            -0.0,
            1.0,
            -1.0,
            1.5,
            f32::MIN_POSITIVE,
            -f32::MIN_POSITIVE,
            1e-45,
            f32::MAX,
            f32::MIN,
            f32::INFINITY,
            f32::NEG_INFINITY,
            f32::NAN,
            f32::EPSILON,
            16_777_216.0,
            16_777_215.0,
            0.1,
            3.4e38,
        ];
        for a in corners {
            for b in corners {
                if let Some(bits) = sum(a.to_bits(), b.to_bits()) {
                    assert_eq!(bits, (a + b).to_bits(), "{a} + {b}");
                }
                if let Some(bits) = product(a.to_bits(), b.to_bits()) {
                    assert_eq!(bits, (a * b).to_bits(), "{a} * {b}");
                }
            }
        }
        assert_eq!(sum(3.0f32.to_bits(), 0.0f32.to_bits()), Some(3.0f32.to_bits()));
        assert_eq!(sum(1.0f32.to_bits(), (-1.0f32).to_bits()), Some(0));
    }
}
