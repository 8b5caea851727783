//! Numbers as people read them: whole, in tenths or hundredths, never a bare sign on a degree.
//!
//! Written from whole numbers, because formatting a float costs the handheld more flash than a font.
//! A value that is no number is written as a dash, one beyond the last digit is held at it.

use core::fmt::{self, Display, Formatter};

use super::geom::nearest;

/// A number with a fixed count of decimals, 0 to 2; held within ±99 999.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fixed {
    value: f32,
    decimals: u8,
}

impl Fixed {
    /// Without decimals.
    pub const fn whole(value: f32) -> Self {
        Self { value, decimals: 0 }
    }

    /// With one.
    pub const fn tenths(value: f32) -> Self {
        Self { value, decimals: 1 }
    }

    /// With two.
    pub const fn hundredths(value: f32) -> Self {
        Self { value, decimals: 2 }
    }

    /// The value in its last decimal, rounded: 12.34 in tenths is 123. `None` if it is no number.
    pub fn scaled(self) -> Option<i32> {
        let value = self.value.clamp(-99_999.0, 99_999.0);
        if value.is_nan() {
            return None;
        }
        Some(nearest(value * self.power() as f32))
    }

    /// Digits after the point.
    pub const fn decimals(self) -> u8 {
        self.decimals
    }

    const fn power(self) -> i32 {
        match self.decimals {
            0 => 1,
            1 => 10,
            _ => 100,
        }
    }
}

impl Display for Fixed {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let Some(scaled) = self.scaled() else { return f.write_str("-") };
        if scaled < 0 {
            f.write_str("-")?;
        }
        let size = scaled.unsigned_abs();
        match self.decimals {
            0 => write!(f, "{size}"),
            1 => write!(f, "{}.{}", size / 10, size % 10),
            _ => write!(f, "{}.{:02}", size / 100, size % 100),
        }
    }
}

/// An advance with its word: `12.3° BTDC`, `4.0° ATDC`, `0.0° TDC`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Advance(
    /// Degrees before top dead centre, negative after.
    pub f32,
);

impl Advance {
    /// The word that goes with it, decided on the tenths that are shown.
    pub fn word(self) -> &'static str {
        match Fixed::tenths(self.0).scaled() {
            Some(tenths) if tenths > 0 => "BTDC",
            Some(tenths) if tenths < 0 => "ATDC",
            Some(_) => "TDC",
            None => "",
        }
    }
}

impl Display for Advance {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let size = if self.0 < 0.0 { -self.0 } else { self.0 };
        write!(f, "{}° {}", Fixed::tenths(size), self.word())
    }
}

/// A difference with its word: `2.5° early`, `0.4° late`, or nothing but `0.0°`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Error(
    /// Degrees, positive is early.
    pub f32,
);

impl Display for Error {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let size = if self.0 < 0.0 { -self.0 } else { self.0 };
        write!(f, "{}°", Fixed::tenths(size))?;
        match Fixed::tenths(self.0).scaled() {
            Some(tenths) if tenths > 0 => f.write_str(" early"),
            Some(tenths) if tenths < 0 => f.write_str(" late"),
            _ => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::format;

    #[test]
    fn numbers_round_to_what_is_shown() {
        assert_eq!(format!("{}", Fixed::tenths(12.34)), "12.3");
        assert_eq!(format!("{}", Fixed::tenths(-0.04)), "0.0");
        assert_eq!(format!("{}", Fixed::whole(712.4)), "712");
        assert_eq!(format!("{}", Fixed::hundredths(0.054)), "0.05");
        assert_eq!(format!("{}", Fixed::tenths(f32::NAN)), "-");
        assert_eq!(format!("{}", Fixed::whole(f32::INFINITY)), "99999");
    }

    #[test]
    fn an_advance_never_stands_without_its_word() {
        assert_eq!(format!("{}", Advance(10.0)), "10.0° BTDC");
        assert_eq!(format!("{}", Advance(-3.96)), "4.0° ATDC");
        assert_eq!(format!("{}", Advance(-0.02)), "0.0° TDC");
        assert_eq!(format!("{}", Error(-2.5)), "2.5° late");
    }
}
