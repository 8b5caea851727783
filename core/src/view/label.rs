//! A short name that people entered, of fixed size so that it can be copied.

/// The longest label, bytes of UTF-8: as long as a job's name.
const LONGEST: usize = 40;

/// A name of at most 40 bytes of UTF-8.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct Label {
    bytes: [u8; LONGEST],
    length: u8,
}

impl Label {
    /// The empty name.
    pub const EMPTY: Self = Self { bytes: [0; LONGEST], length: 0 };

    /// As much of `text` as fits, cut between letters.
    pub fn new(text: &str) -> Self {
        let mut label = Self::EMPTY;
        let whole = |end: &usize| text.is_char_boundary(*end);
        let end = (0..=LONGEST.min(text.len())).rev().find(whole).unwrap_or(0);
        for (kept, byte) in label.bytes.iter_mut().zip(text.bytes().take(end)) {
            *kept = byte;
        }
        label.length = end as u8;
        label
    }

    /// The name.
    pub fn as_str(&self) -> &str {
        let bytes = self.bytes.get(..usize::from(self.length)).unwrap_or(&[]);
        core::str::from_utf8(bytes).unwrap_or("")
    }
}

impl core::fmt::Debug for Label {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        core::fmt::Debug::fmt(self.as_str(), f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_label_is_cut_between_letters() {
        assert_eq!(Label::new("Weir pump six").as_str(), "Weir pump six");
        let long = "ü".repeat_to_bytes();
        assert_eq!(Label::new(&long).as_str().len(), 40);
    }

    trait Repeat {
        fn repeat_to_bytes(&self) -> std::string::String;
    }

    impl Repeat for str {
        fn repeat_to_bytes(&self) -> std::string::String {
            self.repeat(21)
        }
    }
}
