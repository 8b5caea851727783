//! Edges like most of a wheel that is followed, from the pickup to the tooth put away, in 32 bits.
//!
//! At 9000 rpm a 60-2 wheel makes 17,400 level changes a second, and all but some four a turn are of one kind: the level
//! alternates, the run is as long as ever, and the tooth comes where it is expected. For the stretch between two gaps
//! pulse filter and following lend themselves in a form in which such an edge costs few cycles: what is like most is told
//! once for the stretch, as a window that holds whatever they learn within it, and a tooth's edge and its end pass
//! together. Beside the gap only the edges of the teeth pass that way, not their ends. What they do with it is the same, but
//! that runs and pitch are learned from the newest tooth as they are given back; any other edge, and everything else that
//! looks at them, gets them back first.

use crate::crank::{Decoder, Ordinary};
use crate::edges::{Alternating, Level, PulseFilter, Unwrap};
use crate::units::Stamp;

/// What is lent, if anything.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Cruise {
    is_lent: bool,
    /// The newest change was a tooth's edge, not its end.
    is_on: bool,
    /// Changes were taken in.
    changed: bool,
    /// Once no more teeth are ordinary, sparks may be due.
    may_be_due: bool,
    alternating: Alternating,
    ordinary: Ordinary,
}

/// The crank's sensor.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sensor {
    /// The low half of its declared delay.
    pub(super) delay: u32,
    /// The level after an active edge.
    pub(super) active: Level,
}

/// Why no more of some edges in a row were taken in.
pub(super) enum Stopped {
    /// There are no more.
    Ended,
    /// The next is not like most: nothing was done for it.
    Other,
    /// No more teeth are to be placed before sparks are looked for.
    Over,
}

impl Cruise {
    /// Level changes of the crank's signal in a row, as long as they are like most, the first of them to this level; the
    /// decoder keeps the teeth. How many were taken in, and why no more.
    #[inline(always)]
    pub(super) fn pass(
        &mut self,
        first: Level,
        edges: &[Stamp],
        Sensor { delay, active }: Sensor,
        crank: &mut Decoder,
    ) -> (usize, Stopped) {
        // The first may be to the level that is held.
        if !self.is_lent || self.is_on == (first == active) {
            return (0, Stopped::Other);
        }
        let mut taken = 0;
        if self.is_on {
            let Some(end) = edges.first() else { return (0, Stopped::Ended) };
            if !self.pass_end(*end, delay, crank) {
                return (0, Stopped::Other);
            }
            taken = 1;
        }
        taken += self.pass_teeth(edges.get(taken..).unwrap_or_default(), delay, crank);
        if taken > 0 {
            self.changed = true;
        }
        if self.ordinary.left() == 0 {
            if self.may_be_due {
                return (taken, Stopped::Over);
            }
            self.alternating.stop();
        }
        let Some(edge) = edges.get(taken) else { return (taken, Stopped::Ended) };
        // Nearly always the last of them.
        if !self.alternating.turn_on(edge.0.wrapping_sub(delay)) {
            return (taken, Stopped::Other);
        }
        (self.is_on, self.changed) = (true, true);
        (taken + 1, if taken + 1 < edges.len() { Stopped::Other } else { Stopped::Ended })
    }

    /// Teeth in a row, each an edge and its end. How many edges were taken in.
    #[inline]
    fn pass_teeth(&mut self, edges: &[Stamp], delay: u32, crank: &mut Decoder) -> usize {
        let teeth = edges.as_chunks::<2>().0;
        let teeth = teeth.get(..usize::from(self.ordinary.left())).unwrap_or(teeth);
        // Looked at one after the other, then put away: either alone needs few of the processor's registers.
        let count = self.alternating.pass_teeth(teeth, delay);
        crank.pass(teeth.get(..count).unwrap_or_default(), delay, &mut self.ordinary);
        2 * count
    }

    /// The end of a tooth, which lets out its edge. Whether both are like most: nothing was done if not.
    fn pass_end(&mut self, end: Stamp, delay: u32, crank: &mut Decoder) -> bool {
        let is_like = self.alternating.turn_off(end.0.wrapping_sub(delay));
        if is_like {
            let [edge, _] = self.alternating.newest();
            crank.pass(&[[Stamp(edge.wrapping_add(delay)), end]], delay, &mut self.ordinary);
            self.is_on = false;
        }
        is_like
    }

    /// Whether anything is lent: only a wheel that is followed and verified is.
    pub(super) fn is_lent(&self) -> bool {
        self.is_lent
    }

    /// Edges taken in that the decoder does not know of yet.
    pub(super) fn taken(&self) -> u32 {
        if self.is_lent { u32::from(self.ordinary.taken()) } else { 0 }
    }

    /// The newest stamp taken in, where there is one that nobody else knows of.
    pub(super) fn newest(&self, sensor: Sensor) -> Option<Stamp> {
        let [on, off] = self.alternating.newest();
        let newest = if self.is_on { on } else { off };
        (self.is_lent && self.changed).then(|| Stamp(newest.wrapping_add(sensor.delay)))
    }

    /// Borrows what can be lent; no more than so many teeth are placed with it.
    pub(super) fn begin(&mut self, filter: &PulseFilter, crank: &Decoder, sensor: Sensor, most: u8) {
        self.changed = false;
        let pace = crank.lend(&mut self.ordinary);
        let is_on = pace.and_then(|pace| filter.lend(sensor.active, pace, &mut self.alternating));
        (self.is_lent, self.is_on) = (is_on.is_some(), is_on.unwrap_or_default());
        self.may_be_due = self.ordinary.limit(most);
    }

    /// Gives back what was lent.
    pub(super) fn end(
        &mut self,
        unwrap: &mut Unwrap,
        filter: &mut PulseFilter,
        crank: &mut Decoder,
        sensor: Sensor,
    ) {
        if let Some(newest) = self.newest(sensor) {
            let _ = unwrap.moment(newest);
            let runs = (self.taken() > 0).then(|| {
                let [_, off] = self.alternating.newest();
                let waiting = self.ordinary.waiting();
                let while_on = off.wrapping_sub(waiting);
                [while_on, waiting.wrapping_sub(crank.take_back(&self.ordinary)).wrapping_sub(while_on)]
            });
            filter.take_back(&self.alternating, sensor.active, self.is_on, runs);
        }
        self.is_lent = false;
    }
}
