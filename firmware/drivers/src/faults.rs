//! Faults of the handheld, counted: none is silent.

/// What can go wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u8)]
pub enum Fault {
    /// Edges were lost in the capture machine or its ring; the core is told how many.
    EdgesLost,
    /// A ring was overrun: the program was away for too long.
    RingOverrun,
    /// A key is held longer than anyone would.
    KeyStuck,
    /// The supply is outside 6 to 32 V.
    SupplyOutOfRange,
    /// The store had no room, or would not be written.
    StoreFailed,
    /// The log found no room.
    LogDropped,
    /// The serial line found no room.
    SerialDropped,
    /// The last run ended by a panic or by the watchdog.
    LastRunFailed,
}

/// How many kinds there are.
pub const KINDS: usize = Fault::LastRunFailed as usize + 1;

/// How often each came.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Faults([u32; KINDS]);

impl Faults {
    /// None yet.
    pub const fn new() -> Self {
        Self([0; KINDS])
    }

    /// So many more of this kind.
    pub fn add(&mut self, fault: Fault, count: u32) {
        if let Some(counted) = self.0.get_mut(fault as usize) {
            *counted = counted.saturating_add(count);
        }
    }

    /// This kind has been counted elsewhere, up to `count`; whether that is more than was known.
    pub fn raise_to(&mut self, fault: Fault, count: u32) -> bool {
        match self.0.get_mut(fault as usize) {
            Some(counted) if count > *counted => {
                *counted = count;
                true
            }
            _ => false,
        }
    }

    /// How often this kind came.
    pub fn count(&self, fault: Fault) -> u32 {
        self.0.get(fault as usize).copied().unwrap_or(0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_kind_is_counted_by_itself_and_never_wraps() {
        let mut faults = Faults::new();
        faults.add(Fault::KeyStuck, 1);
        faults.add(Fault::KeyStuck, u32::MAX);
        assert_eq!(faults.count(Fault::KeyStuck), u32::MAX);
        assert_eq!(faults.count(Fault::EdgesLost), 0);
        assert!(faults.raise_to(Fault::RingOverrun, 2));
        assert!(!faults.raise_to(Fault::RingOverrun, 2));
    }
}
