//! The loaded segments of a 32-bit little-endian ELF file, at the addresses they are stored at.
//!
//! Offsets: Tool Interface Standard, Executable and Linking Format 1.2, from memory.

/// What is to be stored where.
pub(crate) struct Segment<'a> {
    /// Physical address.
    pub(crate) address: u32,
    /// What lies there.
    pub(crate) data: &'a [u8],
}

fn word(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_le_bytes(bytes.get(at..at.checked_add(4)?)?.try_into().ok()?))
}

fn half(bytes: &[u8], at: usize) -> Option<usize> {
    Some(usize::from(u16::from_le_bytes(bytes.get(at..at.checked_add(2)?)?.try_into().ok()?)))
}

/// All segments that are loaded and not empty.
pub(crate) fn segments(bytes: &[u8]) -> Result<Vec<Segment<'_>>, String> {
    if bytes.get(..6) != Some(&[0x7f, b'E', b'L', b'F', 1, 1]) {
        return Err("not an ELF file of 32 bits, least byte first".to_owned());
    }
    let cut = || "the ELF file is cut short".to_owned();
    let table = word(bytes, 0x1c).ok_or_else(cut)? as usize;
    let (size, count) = (half(bytes, 0x2a).ok_or_else(cut)?, half(bytes, 0x2c).ok_or_else(cut)?);
    let mut segments = Vec::new();
    for index in 0..count {
        let at = table.checked_add(index * size).ok_or_else(cut)?;
        let field = |offset| word(bytes, at.checked_add(offset)?);
        let (Some(kind), Some(offset), Some(address), Some(length)) =
            (field(0), field(4), field(12), field(16))
        else {
            return Err(cut());
        };
        // Kind 1: loaded.
        if kind == 1 && length > 0 {
            let end = (offset as usize).checked_add(length as usize).ok_or_else(cut)?;
            let data = bytes.get(offset as usize..end).ok_or_else(cut)?;
            segments.push(Segment { address, data });
        }
    }
    if segments.is_empty() { Err("nothing in it is loaded".to_owned()) } else { Ok(segments) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A file with one loaded segment of four bytes at 0x10000000, and one that is not loaded.
    fn file() -> Vec<u8> {
        let mut file = vec![0x7f, b'E', b'L', b'F', 1, 1];
        file.resize(0x34, 0);
        file[0x1c] = 0x34;
        file[0x2a] = 32;
        file[0x2c] = 2;
        let data = (0x34 + 64_u32).to_le_bytes();
        let kinds: [u32; 2] = [1, 4];
        for kind in kinds {
            file.extend(kind.to_le_bytes());
            file.extend(data);
            file.extend(0x2000_0000_u32.to_le_bytes());
            file.extend(0x1000_0000_u32.to_le_bytes());
            file.extend(4_u32.to_le_bytes());
            file.resize(file.len() + 12, 0);
        }
        file.extend([1, 2, 3, 4]);
        file
    }

    #[test]
    fn a_segment_is_read_at_its_physical_address_and_what_is_not_loaded_is_left_out() {
        let file = file();
        let segments = segments(&file).unwrap();
        assert_eq!(segments.len(), 1);
        assert_eq!((segments[0].address, segments[0].data), (0x1000_0000, &[1, 2, 3, 4][..]));
    }

    #[test]
    fn a_file_cut_anywhere_is_refused_and_never_panics() {
        let file = file();
        for length in 0..file.len() {
            assert!(segments(&file[..length]).is_err(), "{length}");
        }
    }
}
