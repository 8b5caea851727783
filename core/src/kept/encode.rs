//! Writes values in the `postcard` wire format, which that library reads back.
//!
//! *Wire format*: whole numbers beyond a byte in groups of seven bits, the lowest first, a set eighth bit for "more
//! follows"; signed ones folded first, so that small ones of either sign stay short. Floats in their four or eight bytes,
//! least significant first. An enum's variant by its number; text, lists and maps after their length.
//!
//! The library's own writer indexes an array by a number whose bound the compiler cannot see, at whatever level it
//! optimises: a panic would be linked into the handheld between edges and guide. Here a byte either has room or is refused.

use core::fmt::Display;
use serde::ser::{self, Serialize, Serializer};

/// Writes `value` at the start of `room`: how many bytes it took; `None` if it does not fit.
pub(super) fn encode<T: Serialize + ?Sized>(value: &T, room: &mut [u8]) -> Option<usize> {
    let whole = room.len();
    let mut writer = Writer { left: room };
    value.serialize(&mut writer).ok()?;
    Some(whole - writer.left.len())
}

/// What has not been written to yet.
struct Writer<'a> {
    left: &'a mut [u8],
}

/// There is no room left, or a length that is not known beforehand.
#[derive(Debug)]
struct Refused;

impl Writer<'_> {
    fn bytes(&mut self, bytes: &[u8]) -> Result<(), Refused> {
        let (here, left) =
            core::mem::take(&mut self.left).split_at_mut_checked(bytes.len()).ok_or(Refused)?;
        // Of one length, but a copy of slices would keep its check.
        here.iter_mut().zip(bytes).for_each(|(place, byte)| *place = *byte);
        self.left = left;
        Ok(())
    }

    fn long(&mut self, mut number: u64) -> Result<(), Refused> {
        while number >= 0x80 {
            self.bytes(&[number as u8 | 0x80])?;
            number >>= 7;
        }
        self.bytes(&[number as u8])
    }

    /// As [`Self::long`], without the arithmetic of 64 bits: 420 bytes of flash less than one for both.
    fn short(&mut self, mut number: u32) -> Result<(), Refused> {
        while number >= 0x80 {
            self.bytes(&[number as u8 | 0x80])?;
            number >>= 7;
        }
        self.bytes(&[number as u8])
    }

    fn length(&mut self, length: Option<usize>) -> Result<&mut Self, Refused> {
        self.long(length.ok_or(Refused)? as u64)?;
        Ok(self)
    }

    fn variant(&mut self, number: u32) -> Result<&mut Self, Refused> {
        self.short(number)?;
        Ok(self)
    }
}

impl Serializer for &mut Writer<'_> {
    type Ok = ();
    type Error = Refused;
    type SerializeSeq = Self;
    type SerializeTuple = Self;
    type SerializeTupleStruct = Self;
    type SerializeTupleVariant = Self;
    type SerializeMap = Self;
    type SerializeStruct = Self;
    type SerializeStructVariant = Self;

    fn is_human_readable(&self) -> bool {
        false
    }

    fn serialize_bool(self, value: bool) -> Result<(), Refused> {
        self.bytes(&[u8::from(value)])
    }

    fn serialize_i8(self, value: i8) -> Result<(), Refused> {
        self.bytes(&value.to_le_bytes())
    }

    fn serialize_i16(self, value: i16) -> Result<(), Refused> {
        self.serialize_i32(i32::from(value))
    }

    fn serialize_i32(self, value: i32) -> Result<(), Refused> {
        self.short(((value << 1) ^ (value >> 31)) as u32)
    }

    fn serialize_i64(self, value: i64) -> Result<(), Refused> {
        self.long(((value << 1) ^ (value >> 63)) as u64)
    }

    fn serialize_u8(self, value: u8) -> Result<(), Refused> {
        self.bytes(&[value])
    }

    fn serialize_u16(self, value: u16) -> Result<(), Refused> {
        self.short(u32::from(value))
    }

    fn serialize_u32(self, value: u32) -> Result<(), Refused> {
        self.short(value)
    }

    fn serialize_u64(self, value: u64) -> Result<(), Refused> {
        self.long(value)
    }

    fn serialize_f32(self, value: f32) -> Result<(), Refused> {
        self.bytes(&value.to_le_bytes())
    }

    fn serialize_f64(self, value: f64) -> Result<(), Refused> {
        self.bytes(&value.to_le_bytes())
    }

    fn serialize_char(self, value: char) -> Result<(), Refused> {
        self.serialize_str(value.encode_utf8(&mut [0; 4]))
    }

    fn serialize_str(self, value: &str) -> Result<(), Refused> {
        self.serialize_bytes(value.as_bytes())
    }

    fn serialize_bytes(self, value: &[u8]) -> Result<(), Refused> {
        self.length(Some(value.len()))?.bytes(value)
    }

    fn serialize_none(self) -> Result<(), Refused> {
        self.bytes(&[0])
    }

    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Result<(), Refused> {
        self.bytes(&[1])?;
        value.serialize(self)
    }

    fn serialize_unit(self) -> Result<(), Refused> {
        Ok(())
    }

    fn serialize_unit_struct(self, _: &'static str) -> Result<(), Refused> {
        Ok(())
    }

    fn serialize_unit_variant(self, _: &'static str, number: u32, _: &'static str) -> Result<(), Refused> {
        self.short(number)
    }

    fn serialize_newtype_struct<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        value: &T,
    ) -> Result<(), Refused> {
        value.serialize(self)
    }

    fn serialize_newtype_variant<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        number: u32,
        _: &'static str,
        value: &T,
    ) -> Result<(), Refused> {
        value.serialize(self.variant(number)?)
    }

    fn serialize_seq(self, length: Option<usize>) -> Result<Self, Refused> {
        self.length(length)
    }

    fn serialize_tuple(self, _: usize) -> Result<Self, Refused> {
        Ok(self)
    }

    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Result<Self, Refused> {
        Ok(self)
    }

    fn serialize_tuple_variant(
        self,
        _: &'static str,
        number: u32,
        _: &'static str,
        _: usize,
    ) -> Result<Self, Refused> {
        self.variant(number)
    }

    fn serialize_map(self, length: Option<usize>) -> Result<Self, Refused> {
        self.length(length)
    }

    fn serialize_struct(self, _: &'static str, _: usize) -> Result<Self, Refused> {
        Ok(self)
    }

    fn serialize_struct_variant(
        self,
        _: &'static str,
        number: u32,
        _: &'static str,
        _: usize,
    ) -> Result<Self, Refused> {
        self.variant(number)
    }

    fn collect_str<T: Display + ?Sized>(self, _: &T) -> Result<(), Refused> {
        Err(Refused)
    }
}

/// What holds several values: each is written where the one before it ended, without a name.
macro_rules! one_after_the_other {
    ($($holder:ident: $part:ident($($name:ty)?);)*) => {$(
        impl ser::$holder for &mut Writer<'_> {
            type Ok = ();
            type Error = Refused;

            fn $part<T: Serialize + ?Sized>(&mut self, $(_: $name,)? value: &T) -> Result<(), Refused> {
                value.serialize(&mut **self)
            }

            fn end(self) -> Result<(), Refused> {
                Ok(())
            }
        }
    )*};
}

one_after_the_other! {
    SerializeSeq: serialize_element();
    SerializeTuple: serialize_element();
    SerializeTupleStruct: serialize_field();
    SerializeTupleVariant: serialize_field();
    SerializeStruct: serialize_field(&'static str);
    SerializeStructVariant: serialize_field(&'static str);
}

impl ser::SerializeMap for &mut Writer<'_> {
    type Ok = ();
    type Error = Refused;

    fn serialize_key<T: Serialize + ?Sized>(&mut self, key: &T) -> Result<(), Refused> {
        key.serialize(&mut **self)
    }

    fn serialize_value<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), Refused> {
        value.serialize(&mut **self)
    }

    fn end(self) -> Result<(), Refused> {
        Ok(())
    }
}

impl ser::Error for Refused {
    fn custom<T: Display>(_: T) -> Self {
        Self
    }
}

impl Display for Refused {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        formatter.write_str("no room")
    }
}

impl core::error::Error for Refused {}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::console::blank;
    use crate::corrections::Corrections;
    use heapless::LinearMap;

    /// Every shape that a value can have.
    #[derive(serde::Serialize)]
    enum Shape {
        Alone,
        Holding(i64),
        Pair(u16, char),
        Named { number: i32, list: &'static [(u8, i64)], text: &'static str },
        Kept(LinearMap<u8, Option<f64>, 2>),
        Nothing((), Unit, Wrapped, Tuple),
    }
    #[derive(serde::Serialize)]
    struct Unit;
    #[derive(serde::Serialize)]
    struct Wrapped(i16);
    #[derive(serde::Serialize)]
    struct Tuple(i8, bool);

    /// The same bytes as the library's own writer, in any room; refused where one byte is missing.
    fn same<T: Serialize>(value: &T) {
        let expected = postcard::to_slice(value, &mut [0; 600]).unwrap().to_vec();
        let mut room = [0xAA; 600];
        assert_eq!(encode(value, &mut room), Some(expected.len()));
        assert_eq!(&room[..expected.len()], &expected[..]);
        assert!(room[expected.len()..].iter().all(|byte| *byte == 0xAA));
        for length in 0..expected.len() {
            assert_eq!(encode(value, &mut room[..length]), None, "{length}");
        }
        assert_eq!(encode(value, &mut room[..expected.len()]), Some(expected.len()));
    }

    #[test]
    fn numbers_about_every_power_of_two_are_written_as_the_library_writes_them() {
        for bit in 0..64 {
            for number in [(1u64 << bit) - 1, 1 << bit, (1 << bit) + 1, !(1 << bit)] {
                same(&(number, number as i64, number as u32, number as i32));
                same(&(number as u16, number as i16, number as u8, number as i8, number as usize));
                same(&(f32::from_bits(number as u32), f64::from_bits(number)));
            }
        }
    }

    #[test]
    fn every_shape_of_a_value_is_written_as_the_library_writes_it() {
        same(&Shape::Alone);
        same(&Shape::Holding(-70_000));
        for letter in ['k', 'ü', '°', '\u{1F527}'] {
            same(&Shape::Pair(300, letter));
        }
        let text = "pump house, workshop, training hall ".repeat(5).leak();
        same(&Shape::Named { number: -1, list: &[(1, i64::MIN), (255, 63)], text });
        same(&Shape::Kept([(7, None), (200, Some(-0.0))].into_iter().collect()));
        same(&Shape::Nothing((), Unit, Wrapped(-200), Tuple(-3, true)));
        same(&(blank(), Corrections::default(), Some("workshop")));
    }

    #[test]
    fn a_list_of_unknown_length_is_refused() {
        struct Unknown;
        impl Serialize for Unknown {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                ser::SerializeSeq::end(serializer.serialize_seq(None)?)
            }
        }
        assert_eq!(encode(&Unknown, &mut [0; 8]), None);
    }
}
