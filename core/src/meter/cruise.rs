//! Edges like most of a wheel that is followed, from the pickup to the tooth put away, in 32 bits.
//!
//! At 9000 rpm a 60-2 wheel makes 17,400 level changes a second, and all but some four a turn are of one kind: the level
//! alternates, the run is as long as ever, and the tooth comes where it is expected. For the stretch between two gaps
//! pulse filter and following lend themselves in a form in which such an edge costs few cycles: what is like most is told
//! once for the stretch, as a window that holds whatever they learn within it, and a tooth's edge and its end pass
//! together. Beside the gap only the ends of the teeth pass that way. What they do with it is the same; any other edge,
//! and everything else that looks at them, gets them back first.

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
    /// No more edges can be ordinary.
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
            if !self.pass_end(end.0.wrapping_sub(delay), crank) {
                return (0, Stopped::Other);
            }
            taken = 1;
        }
        taken += self.pass_teeth(edges.get(taken..).unwrap_or_default(), delay, crank);
        if taken > 0 {
            self.changed = true;
        }
        if self.ordinary.left() == 0 {
            return (taken, Stopped::Over);
        }
        let Some(edge) = edges.get(taken) else { return (taken, Stopped::Ended) };
        // Nearly always the last of them.
        if !self.alternating.turn_on(edge.0.wrapping_sub(delay)) {
            self.ordinary.stop();
            if !self.alternating.turn_on_late(edge.0.wrapping_sub(delay)) {
                return (taken, Stopped::Other);
            }
        }
        (self.is_on, self.changed) = (true, true);
        (taken + 1, if taken + 1 < edges.len() { Stopped::Other } else { Stopped::Ended })
    }

    /// Teeth in a row, each an edge and its end. How many edges were taken in.
    #[inline]
    fn pass_teeth(&mut self, edges: &[Stamp], delay: u32, crank: &mut Decoder) -> usize {
        // Near at hand: in the meter they are out of reach of the processor's short instructions.
        let (mut alternating, mut ordinary) = (self.alternating, self.ordinary);
        let left = ordinary.left();
        for [edge, end] in edges.as_chunks::<2>().0.iter().take(usize::from(left)) {
            let (edge, end) = (edge.0.wrapping_sub(delay), end.0.wrapping_sub(delay));
            if !alternating.is_tooth(edge, end) {
                break;
            }
            let Some(tooth) = ordinary.pass(edge) else { break };
            alternating.pass_tooth(edge, end);
            crank.keep(tooth, &ordinary);
        }
        (self.alternating, self.ordinary) = (alternating, ordinary);
        2 * usize::from(left - ordinary.left())
    }

    /// The end of a tooth, which lets out its edge. Whether both are like most: nothing was done if not.
    fn pass_end(&mut self, end: u32, crank: &mut Decoder) -> bool {
        let tooth = self.alternating.let_out_by(end).and_then(|edge| self.ordinary.pass(edge));
        let Some(tooth) = tooth else { return false };
        self.alternating.turn_off(end);
        self.is_on = false;
        crank.keep(tooth, &self.ordinary);
        true
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
        let is_on = if crank.lend(&mut self.ordinary) {
            filter.lend(sensor.active, &mut self.alternating)
        } else {
            None
        };
        (self.is_lent, self.is_on) = (is_on.is_some(), is_on.unwrap_or_default());
        self.ordinary.limit(most);
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
            filter.take_back(&self.alternating, sensor.active, self.is_on);
        }
        if self.taken() > 0 {
            crank.take_back(&self.ordinary);
        }
        self.is_lent = false;
    }
}
