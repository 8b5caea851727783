//! Which kind of crank input is switched in, found by trying.
//!
//! The job does not say whether the crank trigger is variable reluctance or gives a logic level, and the technician
//! need not know. The wrong stage gives no edges at all; so when sparks come and the crank is silent, the other
//! kind is tried, and that goes on until one of them speaks. A trigger that makes edges on both is left alone.

use keyway_core::edges::Channel;

/// What is switched in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Variable reluctance: zero crossings.
    Reluctance,
    /// Hall, optical: a logic level.
    Logic,
}

/// Changes of level at the spark clamp without one at the crank, before the other kind is tried: the sparks of
/// some six turns, so that a start of cranking is no reason.
pub const SILENT_SPARKS: u8 = 12;

/// Watches both channels.
#[derive(Debug)]
pub struct KindFinder {
    kind: Kind,
    silent: u8,
}

impl Default for KindFinder {
    fn default() -> Self {
        Self::new()
    }
}

impl KindFinder {
    /// Begins with variable reluctance.
    pub const fn new() -> Self {
        Self { kind: Kind::Reluctance, silent: 0 }
    }

    /// What is switched in.
    pub fn kind(&self) -> Kind {
        self.kind
    }

    /// A change of level came; the kind to switch to, if it is time to try the other.
    pub fn on_edge(&mut self, channel: Channel) -> Option<Kind> {
        if channel == Channel::Crank {
            self.silent = 0;
            return None;
        }
        self.silent += 1;
        if self.silent < SILENT_SPARKS {
            return None;
        }
        self.silent = 0;
        self.kind = match self.kind {
            Kind::Reluctance => Kind::Logic,
            Kind::Logic => Kind::Reluctance,
        };
        Some(self.kind)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    #[test]
    fn a_silent_crank_beside_sparks_has_the_other_kind_tried_until_it_speaks() {
        let mut finder = KindFinder::new();
        let tried: Vec<Kind> = (0..24).filter_map(|_| finder.on_edge(Channel::Spark)).collect();
        assert_eq!(tried, [Kind::Logic, Kind::Reluctance]);
        for _ in 0..1000 {
            assert_eq!(finder.on_edge(Channel::Crank), None);
            for _ in 1..SILENT_SPARKS {
                assert_eq!(finder.on_edge(Channel::Spark), None);
            }
        }
    }
}
