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

/// Why edges in a row came to an end.
pub(super) enum Stopped {
    /// There are no more.
    Ended,
    /// This one is not like most: nothing was done.
    Other(Level, Stamp),
    /// No more edges can be ordinary.
    Over,
}

impl Cruise {
    /// Level changes of the crank's signal in a row, as long as they are like most; the decoder keeps the teeth.
    #[inline]
    pub(super) fn pass(
        &mut self,
        next: &mut impl FnMut() -> Option<(Level, Stamp)>,
        Sensor { delay, active }: Sensor,
        crank: &mut Decoder,
    ) -> Stopped {
        if !self.is_lent {
            return next().map_or(Stopped::Ended, |(level, at)| Stopped::Other(level, at));
        }
        let (alternating, ordinary) = (&mut self.alternating, &mut self.ordinary);
        let mut is_on = self.is_on;
        let before = alternating.newest();
        let stopped = loop {
            if !is_on {
                let Some((level, at)) = next() else { break Stopped::Ended };
                let edge = at.0.wrapping_sub(delay);
                if level != active {
                    break Stopped::Other(level, at);
                }
                if !alternating.turn_on(edge) {
                    ordinary.stop();
                    if !alternating.turn_on_late(edge) {
                        break Stopped::Other(level, at);
                    }
                }
                is_on = true;
            }
            let Some((level, at)) = next() else { break Stopped::Ended };
            let end = at.0.wrapping_sub(delay);
            let let_out = if level == active { None } else { alternating.let_out_by(end) };
            let Some(tooth) = let_out.and_then(|edge| ordinary.pass(edge)) else {
                break Stopped::Other(level, at);
            };
            alternating.turn_off(end);
            is_on = false;
            crank.keep(tooth, ordinary);
            if ordinary.is_over() {
                break Stopped::Over;
            }
        };
        self.is_on = is_on;
        self.changed |= alternating.newest() != before;
        stopped
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
