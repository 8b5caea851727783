//! Hands what waits in the rings to the core.
//!
//! Every edge passes through here, up to 17,400 a second, so this crate is built for speed where the rest of the
//! program is built for size; what the core does with an ordinary edge is marked for inlining and becomes part of
//! this loop.

use crate::capture::Channels;
use crate::delays::Delays;
use crate::kind::{Kind, KindFinder};
use keyway_core::edges::{Channel, Edge, Level};
use keyway_core::instrument::{Event, Instrument};
use keyway_core::units::Stamp;

/// Who hears of edges beside the core.
pub trait Beside {
    /// So many edges of this channel were lost in the capture.
    fn on_lost(&mut self, channel: Channel, count: u32);
    /// The crank's input is to be switched to this kind.
    fn on_kind(&mut self, kind: Kind);
    /// Whether it hears of every edge, as things are now.
    fn hears_edges(&self) -> bool;
    /// The levels of crank and spark after edges that it did not hear of.
    fn on_levels(&mut self, levels: [Level; 2]);
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
    let hears_edges = beside.hears_edges();
    let battery_v = instrument.sensed().supply;
    loop {
        if hears_edges {
            let heard = |level, at| beside.on_edge(Channel::Crank, level, at, battery_v);
            run_crank(channels, now, delays, kinds, instrument, heard);
        } else {
            run_crank(channels, now, delays, kinds, instrument, |_, _| {});
        }
        let Some((channel, captured)) = channels.next(now) else { break };
        if captured.lost > 0 {
            beside.on_lost(channel, captured.lost);
            instrument.step_other(Event::Lost { channel, count: captured.lost }, now);
        }
        if let Some((level, at)) = captured.edge {
            if let Some(kind) = kinds.on_edge(channel) {
                beside.on_kind(kind);
            }
            let at = delays.at_lead(channel, level, at);
            instrument.step_any_edge(Edge { channel, level, at });
            if hears_edges {
                beside.on_edge(channel, level, at, battery_v);
            }
        }
    }
    if !hears_edges {
        beside.on_levels(channels.levels());
    }
}

/// Hands over crank edges in a row, up to the next spark: nearly all there are.
#[inline(always)]
fn run_crank(
    channels: &mut Channels<'_>,
    now: Stamp,
    delays: &mut Delays,
    kinds: &mut KindFinder,
    instrument: &mut Instrument,
    mut heard: impl FnMut(Level, Stamp),
) {
    let [low, high] = delays.of_crank();
    let mut run = channels.crank_run(now);
    instrument.step_crank_edges(|| {
        let (level, at) = run.next_edge()?;
        let at = Stamp(at.0.wrapping_sub(if level == Level::High { high } else { low }));
        heard(level, at);
        Some((level, at))
    });
    for (level, at) in run.end() {
        // The crank speaks, so no other kind is asked for.
        let _ = kinds.on_edge(Channel::Crank);
        delays.note_crank(level, at);
    }
}
