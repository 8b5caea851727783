//! Takes numbers from the fuzzer's bytes; zeros once they have run out.

/// What is left of the input.
pub struct Bytes<'a>(pub &'a [u8]);

#[allow(dead_code, reason = "each target takes what it needs")]
impl Bytes<'_> {
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    pub fn byte(&mut self) -> u8 {
        let Some((first, rest)) = self.0.split_first() else { return 0 };
        self.0 = rest;
        *first
    }

    pub fn below(&mut self, most: usize) -> usize {
        usize::from(self.byte()) % most.max(1)
    }

    pub fn flag(&mut self) -> bool {
        self.byte() & 1 == 1
    }

    /// A number as an engine gives it, or any float at all.
    pub fn number(&mut self) -> f32 {
        match self.byte() {
            0 => f32::from_bits(u32::from_le_bytes([self.byte(), self.byte(), self.byte(), self.byte()])),
            1 => f32::NAN,
            2 => f32::INFINITY,
            3 => -1e9,
            coarse => (f32::from(coarse) - 128.0) * 1.7 + f32::from(self.byte()) / 100.0,
        }
    }

    pub fn maybe(&mut self) -> Option<f32> {
        if self.flag() { Some(self.number()) } else { None }
    }

    pub fn pick<T: Copy>(&mut self, of: &[T]) -> Option<T> {
        let place = self.below(of.len());
        of.get(place).copied()
    }
}
