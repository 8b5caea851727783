//! Edges like most of a wheel that is followed, from the pickup to the tooth put away, in 32 bits.
//!
//! At 9000 rpm a 60-2 wheel makes 17,400 level changes a second, and all but some ten a turn are of one kind: the level
//! alternates, the run is as long as ever, and the tooth comes where it is expected. For the stretch between two gaps
//! pulse filter and following lend themselves in a form in which such an edge costs few cycles, with no step that is
//! not needed for it. Beside the gap only the ends of the teeth pass that way. What they do with it is the same; any other edge, and everything else that looks at them, gets
//! them back first.

use crate::crank::{Decoder, Ordinary};
use crate::edges::{Alternating, Level, PulseFilter, Unwrap};
use crate::units::Stamp;

/// What is lent, if anything.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Cruise {
    lent: Option<(Alternating, Ordinary)>,
    /// The low half of the declared delay of the crank's sensor.
    delay: u32,
    /// The level after an active edge.
    active: Level,
    /// Level changes taken in.
    changed: bool,
}

/// What became of a level change.
pub(super) enum Passed {
    /// It is not like most: nothing was done.
    Not,
    /// It let out the end of a tooth.
    End,
    /// It let out a tooth's edge, and a tooth was placed that passed at this moment, of which this is the lower half.
    Tooth(u32),
}

impl Cruise {
    /// For a crank whose sensor delays by so many ticks and whose active edge leads to this level.
    pub(super) fn new(delay: i64, active: Level) -> Self {
        Self { lent: None, delay: delay as u32, active, changed: false }
    }

    /// A level change of the crank's signal.
    #[inline]
    pub(super) fn pass(&mut self, level: Level, at: Stamp) -> Passed {
        let Some((alternating, ordinary)) = &mut self.lent else { return Passed::Not };
        let at = at.0.wrapping_sub(self.delay);
        let Some((let_out, its_level)) = alternating.next(at, level) else { return Passed::Not };
        let mut passed = Passed::End;
        if its_level == self.active {
            let Some(tooth) = ordinary.pass(let_out) else { return Passed::Not };
            passed = Passed::Tooth(tooth);
        }
        alternating.pass(at, level);
        self.changed = true;
        passed
    }

    /// Following as it is lent.
    #[inline]
    pub(super) fn ordinary(&self) -> Option<&Ordinary> {
        self.lent.as_ref().map(|(_, ordinary)| ordinary)
    }

    /// Edges taken in that the decoder does not know of yet.
    pub(super) fn taken(&self) -> u32 {
        self.ordinary().map_or(0, |ordinary| u32::from(ordinary.taken()))
    }

    /// The newest stamp taken in, where there is one that nobody else knows of.
    pub(super) fn newest(&self) -> Option<Stamp> {
        let (alternating, _) = self.lent.filter(|_| self.changed)?;
        Some(Stamp(alternating.newest().wrapping_add(self.delay)))
    }

    /// Borrows what can be lent; no more than so many teeth are placed with it.
    pub(super) fn begin(&mut self, filter: &PulseFilter, crank: &Decoder, most: u8) {
        let Some(mut ordinary) = crank.lend() else { return };
        ordinary.limit(most);
        self.lent = filter.lend().map(|alternating| (alternating, ordinary));
    }

    /// Gives back what was lent.
    pub(super) fn end(&mut self, unwrap: &mut Unwrap, filter: &mut PulseFilter, crank: &mut Decoder) {
        let newest = self.newest();
        let Some((alternating, ordinary)) = self.lent.take() else { return };
        if let Some(newest) = newest {
            let _ = unwrap.moment(newest);
            filter.take_back(&alternating);
        }
        if ordinary.taken() > 0 {
            crank.take_back(&ordinary);
        }
        self.changed = false;
    }
}
