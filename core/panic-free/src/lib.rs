//! Every entry of the core from edges to judgement, and of the handheld from edges to guide, called with values that the optimiser cannot know.
//!
//! Linked with everything unreachable left out, the panic handler stays only if some path leads to a
//! panic. The script `check` beside this looks for it and names the functions from which it is reached.
#![no_std]

use core::hint::black_box;
use keyway_core::edges::{Channel, Edge, Level};
use keyway_core::instrument::{Event, Instrument, Slot};
use keyway_core::job::{Job, JobSpec};
use keyway_core::judge::Proven;
use keyway_core::meter::{Meter, Report};
use keyway_core::record::Identity;
use keyway_core::units::{Instant, Stamp, TickRate};
use keyway_core::view::{SelfTest, View};

unsafe extern "Rust" {
    /// Where the outside puts the meter; never linked, so that nothing is known of it.
    safe fn outside() -> Outside;
    /// What the outside takes.
    safe fn take(report: &Report, meter: &mut Meter);
    /// What happened, for the whole handheld.
    safe fn happened() -> Happened;
    /// Draws, keeps and fetches.
    safe fn act(view: &View, bytes: &[u8], instrument: &mut Instrument);
}

/// What happens to the handheld, of every kind.
pub struct Happened {
    identity: Identity,
    rate: TickRate,
    channel: Channel,
    level: Level,
    count: u32,
    key: u8,
    down: bool,
    volts: f32,
    slot: Slot,
    data: Option<&'static [u8]>,
    test: SelfTest,
    at: Stamp,
}

/// Edges to the guide: the whole handheld without its panel.
#[unsafe(no_mangle)]
pub extern "C" fn edges_to_guide() {
    let begins = happened();
    let mut instrument = Instrument::new(begins.identity, begins.rate);
    loop {
        let now = happened();
        let Happened { channel, level, count, key, down, slot, data, at, .. } = now;
        instrument.step(Event::Edge { channel, level }, at);
        instrument.step(Event::Lost { channel, count }, at);
        instrument.step(Event::Key { key, down }, at);
        instrument.step(Event::Supply(now.volts), at);
        instrument.step(Event::Stored { slot, stored: down }, at);
        instrument.step(Event::Loaded { slot, data }, at);
        instrument.step(Event::Tested(now.test), at);
        instrument.step(Event::Clock(count), at);
        instrument.step(Event::Tick, at);
        while let Some(action) = instrument.next_action() {
            black_box(action);
        }
        black_box(instrument.poll_at());
        let (view, bytes) = (*instrument.view(), black_box(instrument.bytes()).len());
        act(&view, black_box(&[0; 768]).get(..bytes).unwrap_or(&[]), &mut instrument);
    }
}

/// What comes from outside, of every kind.
pub struct Outside {
    spec: JobSpec,
    rate: TickRate,
    edge: Edge,
    lost: u32,
    volts: f32,
    now: Stamp,
    moment: Instant,
    proven: Proven,
}

/// Edges to judgement.
#[unsafe(no_mangle)]
pub extern "C" fn edges_to_judgement() {
    let given = outside();
    let Ok(job) = black_box(&given.spec).build() else { return };
    run(job, &given);
}

fn run(job: Job, given: &Outside) {
    let mut meter = Meter::new(job, given.rate);
    for _ in 0..black_box(2) {
        meter.on_edge(black_box(given.edge));
        meter.on_edge(Edge { channel: Channel::Spark, level: Level::High, at: given.now });
        meter.on_lost(Channel::Crank, given.lost);
        meter.on_supply(given.volts, given.now);
        meter.poll(given.now);
        meter.set_proven(given.proven);
        black_box(meter.job().target_degrees());
        black_box(meter.live(given.moment));
        black_box(meter.signals());
        black_box(meter.signature());
        while let Some(record) = meter.next_spark() {
            black_box(record);
        }
        take(&meter.report(), &mut meter);
    }
    meter.finish();
    take(&meter.report(), &mut meter);
}

#[panic_handler]
fn reached(_: &core::panic::PanicInfo<'_>) -> ! {
    loop {}
}
