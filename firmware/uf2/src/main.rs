//! Writes the UF2 file that a handheld takes by drag and drop, from the ELF file of its firmware.
//!
//! `keyway-uf2 FIRMWARE.elf FIRMWARE.uf2`
//!
//! *Block*: 512 bytes, of which 256 are data with the address they belong at; the boot ROM writes each as it
//! comes. Format and magic numbers: the published UF2 specification; family 0xe48bff56: RP2040 datasheet, section on
//! the boot ROM's USB mass storage. Both from memory, as neither could be fetched.
//! All blocks lie on pages of 256 bytes, and a page that two segments share is written once.

mod elf;

use std::collections::BTreeMap;
use std::process::ExitCode;
use std::{env, fs};

const PAGE: u32 = 256;
const FLASH: core::ops::Range<u32> = 0x1000_0000..0x1020_0000;
const MAGIC: (u32, u32, u32) = (0x0a32_4655, 0x9e5d_5157, 0x0ab1_6f30);
const FAMILY: u32 = 0xe48b_ff56;
/// Flag: the last word before the data is a family.
const HAS_FAMILY: u32 = 0x2000;
/// Data that a block has room for; the rest of it stays zero.
const ROOM: usize = 476;

fn main() -> ExitCode {
    let arguments: Vec<String> = env::args().skip(1).collect();
    let [from, to] = arguments.as_slice() else {
        eprintln!("usage: keyway-uf2 FIRMWARE.elf FIRMWARE.uf2");
        return ExitCode::from(2);
    };
    match convert(from, to) {
        Ok(blocks) => {
            println!("{to}: {blocks} blocks of 256 bytes");
            ExitCode::SUCCESS
        }
        Err(error) => {
            eprintln!("{error}");
            ExitCode::from(2)
        }
    }
}

fn convert(from: &str, to: &str) -> Result<usize, String> {
    let bytes = fs::read(from).map_err(|error| format!("{from}: {error}"))?;
    let segments = elf::segments(&bytes).map_err(|problem| format!("{from}: {problem}"))?;
    let pages = pages(&segments).map_err(|problem| format!("{from}: {problem}"))?;
    fs::write(to, uf2(&pages)).map_err(|error| format!("{to}: {error}"))?;
    Ok(pages.len())
}

/// The pages of flash that the segments fill; what no segment fills stays erased.
fn pages(segments: &[elf::Segment<'_>]) -> Result<BTreeMap<u32, [u8; PAGE as usize]>, String> {
    let mut pages = BTreeMap::new();
    for segment in segments {
        for (offset, byte) in (0..).zip(segment.data) {
            let at = segment.address.wrapping_add(offset);
            if !FLASH.contains(&at) {
                return Err(format!("data at {at:#010x}, expected within flash, {FLASH:#010x?}"));
            }
            let page = pages.entry(at / PAGE * PAGE).or_insert([0xff; PAGE as usize]);
            page[(at % PAGE) as usize] = *byte;
        }
    }
    Ok(pages)
}

fn uf2(pages: &BTreeMap<u32, [u8; PAGE as usize]>) -> Vec<u8> {
    let mut file = Vec::with_capacity(pages.len() * 512);
    for (number, (address, data)) in (0_u32..).zip(pages) {
        let head = [MAGIC.0, MAGIC.1, HAS_FAMILY, *address, PAGE, number, pages.len() as u32, FAMILY];
        head.iter().for_each(|word| file.extend(word.to_le_bytes()));
        file.extend(data);
        file.resize(file.len() + ROOM - data.len(), 0);
        file.extend(MAGIC.2.to_le_bytes());
    }
    file
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_whole_blocks_with_their_numbers_addresses_and_family() {
        let first = elf::Segment { address: 0x1000_0000, data: &[1; 300] };
        let second = elf::Segment { address: 0x1000_0180, data: &[2; 4] };
        let pages = pages(&[first, second]).unwrap();
        let file = uf2(&pages);
        assert_eq!(file.len(), 2 * 512);
        let word = |at: usize| u32::from_le_bytes(file[at..at + 4].try_into().unwrap());
        assert_eq!([word(512), word(516), word(512 + 508)], [MAGIC.0, MAGIC.1, MAGIC.2]);
        assert_eq!([word(512 + 12), word(512 + 20), word(512 + 24)], [0x1000_0100, 1, 2]);
        assert_eq!(word(28), FAMILY);
        // The second page holds the end of the first segment, a hole, and the second segment.
        assert_eq!((file[512 + 32 + 43], file[512 + 32 + 44], file[512 + 32 + 0x80]), (1, 0xff, 2));
    }

    #[test]
    fn data_outside_of_flash_is_refused_with_its_address() {
        let outside = elf::Segment { address: 0x2000_0000, data: &[1; 4] };
        assert!(pages(&[outside]).unwrap_err().contains("0x20000000"));
    }
}
