//! Hands what waits in the rings to the core.
//!
//! Every edge passes through here, up to 17,400 a second, so this crate is built for speed where the rest of the
//! program is built for size; what the core does with an ordinary edge is marked for inlining and becomes part of
//! this loop.

use crate::capture::{AT_ONCE, Channels};
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
    loop {
        let heard: Option<&mut dyn Beside> = if hears_edges { Some(&mut *beside) } else { None };
        run_crank(channels, now, delays, kinds, instrument, heard);
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
                beside.on_edge(channel, level, at, instrument.sensed().supply);
            }
        }
    }
    if !hears_edges {
        beside.on_levels(channels.levels());
    }
}

/// Hands over crank edges in a row, up to the next spark: nearly all there are.
fn run_crank(
    channels: &mut Channels<'_>,
    now: Stamp,
    delays: &mut Delays,
    kinds: &mut KindFinder,
    instrument: &mut Instrument,
    mut heard: Option<&mut dyn Beside>,
) {
    let held_back = delays.of_crank();
    let mut run = channels.crank_run(now);
    loop {
        let (first, edges) = run.next_edges(held_back);
        instrument.step_crank_edges(first, edges);
        if let Some(beside) = &mut heard {
            let levels = [first, first.other()].into_iter().cycle();
            for (at, level) in edges.iter().zip(levels) {
                beside.on_edge(Channel::Crank, level, *at, instrument.sensed().supply);
            }
        }
        if edges.len() < AT_ONCE {
            break;
        }
    }
    for (level, at) in run.end() {
        // The crank speaks, so no other kind is asked for.
        let _ = kinds.on_edge(Channel::Crank);
        delays.note_crank(level, at);
    }
}
