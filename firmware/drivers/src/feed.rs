//! Hands what waits in the rings to the core.
//!
//! Every edge passes through here, up to 17,400 a second, so this crate is built for speed where the rest of the
//! program is built for size; what the core does with an ordinary edge is marked for inlining and becomes part of
//! this loop.

use crate::capture::Channels;
use crate::delays::Delays;
use crate::kind::{Kind, KindFinder};
use keyway_core::edges::{Channel, Level};
use keyway_core::instrument::{Event, Instrument};
use keyway_core::units::Stamp;

/// Who hears of edges beside the core.
pub trait Beside {
    /// So many edges of this channel were lost in the capture.
    fn on_lost(&mut self, channel: Channel, count: u32);
    /// The crank's input is to be switched to this kind.
    fn on_kind(&mut self, kind: Kind);
    /// An edge, when it was at the lead, and the supply.
    fn on_edge(&mut self, channel: Channel, level: Level, at: Stamp, battery_v: Option<f32>);
}

/// Hands over, in the order of time, all that the rings held when their heads were last looked at.
#[inline(never)]
pub fn feed(
    channels: &mut Channels<'_>,
    now: Stamp,
    (delays, kinds): (&mut Delays, &mut KindFinder),
    instrument: &mut Instrument,
    beside: &mut dyn Beside,
) {
    while let Some((channel, captured)) = channels.next(now) {
        if captured.lost > 0 {
            beside.on_lost(channel, captured.lost);
            instrument.step_other(Event::Lost { channel, count: captured.lost }, now);
        }
        if let Some((level, at)) = captured.edge {
            if let Some(kind) = kinds.on_edge(channel) {
                beside.on_kind(kind);
            }
            let at = delays.at_lead(channel, level, at);
            let _ = instrument.step_edge(channel, level, at);
            beside.on_edge(channel, level, at, instrument.sensed().supply);
        }
    }
}
