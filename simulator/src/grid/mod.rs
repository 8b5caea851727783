//! `keyway grid`: how well the meter measures and names, over many seeded engines.
//!
//! *Case*: one engine of the population, drawn from its number alone, so that the same number is the same
//! engine whatever else is run. *Cell*: wheel × speed × noise. Each case is played by the engine model, its
//! edges go through the very meter of the handheld, and the reading is held against the truth.

mod measure;
mod name;
mod population;
mod report;

pub use measure::{Cell, MeasureTable};
pub use name::NameTable;
pub use population::{Drawn, Kind, draw};
pub use report::{to_json, to_text};

use crate::engine::case::{Case, CaseTruth};
use indicatif::{ParallelProgressIterator, ProgressBar, ProgressStyle};
use keyway_core::edges::Edge;
use keyway_core::meter::{Meter, Report};
use keyway_core::units::{Stamp, TickRate};
use rayon::prelude::*;

/// One case, played and read.
#[derive(Debug, Clone)]
pub struct Played {
    /// What was drawn.
    pub drawn: Drawn,
    /// What is true of it.
    pub truth: CaseTruth,
    /// What the meter said.
    pub report: Report,
}

/// Both tables.
#[derive(Debug, Clone)]
pub struct Grid {
    /// Number of the first engine.
    pub from: u64,
    /// Engines asked for.
    pub seeds: u64,
    /// Error, doubt and withholding by cell.
    pub measure: MeasureTable,
    /// Causes.
    pub name: NameTable,
}

/// Plays `seeds` cases on all cores, the first of them number `from`. The same numbers give the same tables.
pub fn run(from: u64, seeds: u64, progress: bool) -> Grid {
    let bar = if progress { ProgressBar::new(seeds) } else { ProgressBar::hidden() };
    if let Ok(style) = ProgressStyle::with_template("{bar:40} {pos} of {len} engines, {eta} to go") {
        bar.set_style(style);
    }
    let played: Vec<Played> = (from..from.saturating_add(seeds))
        .into_par_iter()
        .progress_with(bar)
        .filter_map(|number| play(draw(number)?))
        .collect();
    Grid { from, seeds, measure: MeasureTable::of(&played), name: NameTable::of(&played) }
}

/// Plays a drawn case through the meter; `None` where the job cannot be.
pub fn play(drawn: Drawn) -> Option<Played> {
    let record = drawn.case.run();
    let truth = drawn.case.truth(&record);
    let report = read(&drawn.case, &record)?;
    Some(Played { drawn, truth, report })
}

/// Reads a record as the command reads a capture.
pub fn read(case: &Case, record: &crate::engine::truth::Record) -> Option<Report> {
    let mut meter = Meter::new(case.job.build().ok()?, TickRate::DESKTOP);
    let ticks = |nanoseconds: u64| Stamp(((nanoseconds + 50) / 100 + 100_000) as u32);
    let mut supply = record.supply.iter().peekable();
    for (at, channel, level) in &record.levels {
        while let Some((sampled, volts)) = supply.next_if(|sample| sample.0 <= *at) {
            meter.on_supply(*volts as f32, ticks(*sampled));
        }
        meter.on_edge(Edge { channel: *channel, level: *level, at: ticks(*at) });
    }
    for (sampled, volts) in supply {
        meter.on_supply(*volts as f32, ticks(*sampled));
    }
    meter.poll(ticks(record.length));
    meter.finish();
    Some(meter.report())
}
