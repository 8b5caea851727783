//! How things are kept: a version, a compact encoding, and a checksum over both.
//!
//! *Sealed*: the version in one byte, the value in the `postcard` wire format, CRC-32 (ISO-HDLC) of all that in
//! four bytes. Bytes after the checksum are refused, so that a cut or joined block never opens.

mod encode;

use crc::{CRC_32_ISO_HDLC, Crc, NoTable};
use encode::encode;
use serde::{Serialize, de::DeserializeOwned};

/// The longest sealed block, bytes.
pub const LONGEST: usize = 704;

const SUM: Crc<u32, NoTable> = Crc::<u32, NoTable>::new(&CRC_32_ISO_HDLC);

/// Why a block does not open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Unreadable {
    /// Empty, cut, changed, or followed by something.
    Damaged,
    /// Of a version that this firmware does not know.
    Version(u8),
}

/// Seals `value` into `room` and gives its bytes; `None` if it does not fit.
pub fn seal<'a, T: Serialize>(version: u8, value: &T, room: &'a mut [u8]) -> Option<&'a [u8]> {
    let length = encode(&(version, value), room)?;
    let sum = SUM.checksum(room.get(..length)?).to_le_bytes();
    room.get_mut(length..length + sum.len())?.copy_from_slice(&sum);
    room.get(..length + sum.len())
}

/// The version a block says it is of; not yet checked against its sum.
pub fn version(bytes: &[u8]) -> Option<u8> {
    bytes.first().copied()
}

/// Opens a block sealed as `version`.
///
/// # Errors
/// [`Unreadable`], with the version it is of where that is another.
pub fn open<T: DeserializeOwned>(expected: u8, bytes: &[u8]) -> Result<T, Unreadable> {
    match version(bytes) {
        Some(found) if found != expected => return Err(Unreadable::Version(found)),
        Some(_) => {}
        None => return Err(Unreadable::Damaged),
    }
    let (body, sum) = bytes.split_last_chunk::<4>().ok_or(Unreadable::Damaged)?;
    if SUM.checksum(body) != u32::from_le_bytes(*sum) {
        return Err(Unreadable::Damaged);
    }
    // The decoder takes trailing bytes silently: they are looked for.
    let ((_, value), rest): ((u8, T), &[u8]) =
        postcard::take_from_bytes(body).map_err(|_| Unreadable::Damaged)?;
    if rest.is_empty() { Ok(value) } else { Err(Unreadable::Damaged) }
}

/// CRC-32 of a value's encoding: tells two jobs apart, is no secret. 0 for what does not fit 512 bytes.
pub fn hash<T: Serialize>(value: &T) -> u32 {
    let mut room = [0; 512];
    encode(value, &mut room).and_then(|length| room.get(..length)).map_or(0, |bytes| SUM.checksum(bytes))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_single_changed_bit_a_cut_and_a_longer_tail_are_found() {
        let mut room = [0; 64];
        let value = (7u32, -1.5f32, [1u8, 2, 3]);
        let sealed = seal(1, &value, &mut room).map(<[u8]>::to_vec).unwrap_or_default();
        assert_eq!(open(1, &sealed), Ok(value));
        for bit in 0..sealed.len() * 8 {
            let mut changed = sealed.clone();
            changed[bit / 8] ^= 1 << (bit % 8);
            assert!(open::<(u32, f32, [u8; 3])>(1, &changed).is_err(), "{bit}");
        }
        for length in 0..sealed.len() {
            assert!(open::<(u32, f32, [u8; 3])>(1, &sealed[..length]).is_err(), "{length}");
        }
        let mut longer = sealed.clone();
        longer.push(0);
        assert!(open::<(u32, f32, [u8; 3])>(1, &longer).is_err());
        assert_eq!(open::<u8>(2, &sealed), Err(Unreadable::Version(1)));
    }

    #[test]
    fn the_checksum_is_the_published_one() {
        // Check value of CRC-32/ISO-HDLC over "123456789": 0xCBF43926 (Catalogue of parametrised CRC algorithms).
        assert_eq!(SUM.checksum(b"123456789"), 0xCBF4_3926);
    }
}
