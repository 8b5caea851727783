//! One leaf: a head, the block, and what tells that both are whole.
//!
//! ```text
//!   0        1     2        4     8          12          16           20
//!   ├ format ┼ kind ┼ length ┼ key ┼ sequence ┼ sum(0..12) ┼ sum(block) ┼ block … ┤ blank to 1024
//! ```
//! All numbers little-endian; sums are CRC-32 (ISO-HDLC). A length of 0 says that the place was emptied. The last
//! eight bytes of the fourth leaf of a sector are the sector's mark.

use crate::{Fault, PAGE};
use crc::{CRC_32_ISO_HDLC, Crc, NoTable};
use embedded_storage::nor_flash::MultiwriteNorFlash;
use keyway_core::kept::LONGEST;

/// The format written. A later firmware opens every earlier one.
pub const FORMAT: u8 = 1;
/// Bytes of a leaf.
pub const LEAF: u32 = 1024;
/// Bytes of a head.
pub(crate) const HEAD: usize = 20;

const SUM: Crc<u32, NoTable> = Crc::<u32, NoTable>::new(&CRC_32_ISO_HDLC);

/// What a leaf says of itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Head {
    pub(crate) kind: u8,
    pub(crate) length: u16,
    pub(crate) key: u32,
    pub(crate) sequence: u32,
    pub(crate) block_sum: u32,
}

impl Head {
    pub(crate) fn of(kind: u8, key: u32, sequence: u32, block: &[u8]) -> Self {
        Self { kind, length: block.len() as u16, key, sequence, block_sum: SUM.checksum(block) }
    }

    fn bytes(&self) -> [u8; HEAD] {
        let mut bytes = [0; HEAD];
        let [length0, length1] = self.length.to_le_bytes();
        let (key, sequence) = (self.key.to_le_bytes(), self.sequence.to_le_bytes());
        let said = [FORMAT, self.kind, length0, length1].into_iter().chain(key).chain(sequence);
        bytes.iter_mut().zip(said).for_each(|(byte, says)| *byte = says);
        let sum = SUM.checksum(bytes.get(..12).unwrap_or_default()).to_le_bytes();
        let sums = sum.into_iter().chain(self.block_sum.to_le_bytes());
        bytes.iter_mut().skip(12).zip(sums).for_each(|(byte, says)| *byte = says);
        bytes
    }

    fn parse(bytes: &[u8; HEAD]) -> Option<Self> {
        let [format, kind, length0, length1, rest @ ..] = *bytes;
        let [k0, k1, k2, k3, s0, s1, s2, s3, h0, h1, h2, h3, b0, b1, b2, b3] = rest;
        let length = u16::from_le_bytes([length0, length1]);
        let sound = format == FORMAT
            && usize::from(length) <= LONGEST
            && SUM.checksum(bytes.get(..12)?) == u32::from_le_bytes([h0, h1, h2, h3]);
        sound.then_some(Self {
            kind,
            length,
            key: u32::from_le_bytes([k0, k1, k2, k3]),
            sequence: u32::from_le_bytes([s0, s1, s2, s3]),
            block_sum: u32::from_le_bytes([b0, b1, b2, b3]),
        })
    }
}

/// The head of the leaf at `address`; `None` where there is no whole one.
pub(crate) fn head<F: MultiwriteNorFlash>(flash: &mut F, address: u32) -> Result<Option<Head>, Fault> {
    let mut bytes = [0; HEAD];
    flash.read(address, &mut bytes).map_err(|_| Fault::Flash)?;
    Ok(Head::parse(&bytes))
}

/// The block of a leaf into `room`; `None` where it is not whole.
pub(crate) fn block<'a, F: MultiwriteNorFlash>(
    flash: &mut F,
    address: u32,
    head: &Head,
    room: &'a mut [u8; LONGEST],
) -> Result<Option<&'a [u8]>, Fault> {
    let block = room.get_mut(..usize::from(head.length)).ok_or(Fault::Length)?;
    flash.read(address + HEAD as u32, block).map_err(|_| Fault::Flash)?;
    Ok((SUM.checksum(block) == head.block_sum).then_some(block))
}

/// Whether the block of a leaf is whole, without room for it.
pub(crate) fn is_whole<F: MultiwriteNorFlash>(
    flash: &mut F,
    address: u32,
    head: &Head,
) -> Result<bool, Fault> {
    let mut digest = SUM.digest();
    let mut piece = [0; 64];
    let mut done = 0;
    while done < usize::from(head.length) {
        let take = (usize::from(head.length) - done).min(piece.len());
        let piece = piece.get_mut(..take).unwrap_or_default();
        flash.read(address + (HEAD + done) as u32, piece).map_err(|_| Fault::Flash)?;
        digest.update(piece);
        done += take;
    }
    Ok(digest.finalize() == head.block_sum)
}

/// Whether `length` bytes from `address` are all set.
pub(crate) fn is_blank<F: MultiwriteNorFlash>(
    flash: &mut F,
    address: u32,
    length: u32,
) -> Result<bool, Fault> {
    let mut piece = [0; 64];
    let mut done = 0;
    while done < length {
        let take = (length - done).min(64);
        let piece = piece.get_mut(..take as usize).unwrap_or_default();
        flash.read(address + done, piece).map_err(|_| Fault::Flash)?;
        if piece.iter().any(|byte| *byte != 0xFF) {
            return Ok(false);
        }
        done += take;
    }
    Ok(true)
}

/// Programs head and block into the blank leaf at `address`, the page with the head last, each read back.
/// `false` where the flash did not take it.
pub(crate) fn program<F: MultiwriteNorFlash>(
    flash: &mut F,
    address: u32,
    head: &Head,
    block: &[u8],
) -> Result<bool, Fault> {
    let head_bytes = head.bytes();
    let pages = (HEAD as u32 + u32::from(head.length)).div_ceil(PAGE);
    for page in (0..pages).rev() {
        let from = (page * PAGE) as usize;
        let mut bytes = [0xFF; PAGE as usize];
        let content = head_bytes.iter().chain(block).skip(from);
        bytes.iter_mut().zip(content).for_each(|(byte, says)| *byte = *says);
        if !program_page(flash, address + page * PAGE, &bytes)? {
            return Ok(false);
        }
    }
    Ok(true)
}

/// Programs one page and reads it back; `false` where it differs in a byte that was to be cleared anywhere.
pub(crate) fn program_page<F: MultiwriteNorFlash>(
    flash: &mut F,
    address: u32,
    bytes: &[u8; PAGE as usize],
) -> Result<bool, Fault> {
    flash.write(address, bytes).map_err(|_| Fault::Flash)?;
    let mut piece = [0; 64];
    for (at, wanted) in bytes.chunks(piece.len()).enumerate() {
        flash.read(address + (at * piece.len()) as u32, &mut piece).map_err(|_| Fault::Flash)?;
        // Bytes of the page that this call leaves alone may hold something already.
        if piece.iter().zip(wanted).any(|(found, wanted)| *wanted != 0xFF && found != wanted) {
            return Ok(false);
        }
    }
    Ok(true)
}
