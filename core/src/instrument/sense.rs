//! What the instrument senses at a tick: turning or not, how fast, how old the newest spark, the reading.

use super::Instrument;
use crate::corrections::Corrections;
use crate::guide::{Guide, Known, Sensed, teaching_job};
use crate::judge::Search;
use crate::meter::Meter;
use crate::reading::Withheld;
use crate::units::Instant;

/// Without a crank edge for so long the engine stands, ms.
const STANDS_MS: u32 = 700;
/// A value whose newest spark is older than this is not shown, ms.
const OLDEST_MS: u32 = 2500;
/// The reading is put together so often, ms.
const REPORT_EVERY_MS: u32 = 250;
/// Checks weighed at a tick in the search for the best: all of them within half the time between two reports.
const CHECKS_A_TICK: u32 = 4;
/// Above idle no more sparks a second are placed: a screen shows ten numbers in that time, and a reading of some seconds
/// is as sure of its centre and scatter. All those of one lead are up to 3000 rpm, where a blip goes.
const SPARKS_A_SECOND: u32 = 32;
/// No hand bar turns a crank faster, rpm.
const BY_HAND_RPM: f32 = 40.0;

/// Crank edges over time.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Edges {
    count: u32,
    newest_ms: Option<u32>,
    window_ms: u32,
    at_window: u32,
    before_window: u32,
    reported_ms: u32,
    restarted_ms: u32,
    newest_spark: Option<Instant>,
}

impl Instrument {
    /// Hands the sparks whose fate is settled to the guide.
    #[inline(never)]
    pub(super) fn drain_sparks(&mut self) {
        let Some(meter) = &mut self.meter else { return };
        while let Some(record) = meter.next_spark() {
            if record.advance.is_some() {
                self.edges.newest_spark = Some(record.at);
            }
            if let Some(guide) = &mut self.guide {
                guide.on_spark(&record);
            }
        }
    }

    /// Forgets the settled reading.
    pub(super) fn restart(&mut self) {
        if let Some(meter) = &mut self.meter {
            meter.restart();
        }
        self.edges.restarted_ms = self.ms;
        self.search = Search::DONE;
        self.sensed.known =
            Known { why: [Some(Withheld::TooFewSparks), None, None, None], ..Known::default() };
        self.sensed.settled_ms = 0;
    }

    /// A new meter for the job with its corrections, or for teaching.
    pub(super) fn rebuild_meter(&mut self) {
        let Some(spec) = &self.spec else { return };
        let teaching = self.guide.as_ref().is_some_and(Guide::teaching);
        let job = if teaching { teaching_job(spec).build() } else { self.corrections().apply(spec) };
        if let Ok(job) = job {
            let mut meter = Meter::new(job, self.rate);
            meter.look_at_most(SPARKS_A_SECOND);
            self.meter = Some(meter);
            self.edges = Edges { window_ms: self.ms, ..Edges::default() };
            self.restart();
        }
    }

    pub(super) fn corrections(&self) -> Corrections {
        self.guide.as_ref().map(|guide| guide.facts().corrections).unwrap_or_default()
    }

    pub(super) fn sense(&mut self) {
        let ms = self.ms;
        self.sensed.ms = ms;
        // Teaching measures with what was entered, and adds the doubt of the zero itself.
        let teaching = self.guide.as_ref().is_some_and(Guide::teaching);
        let corrections = if teaching { Corrections::default() } else { self.corrections() };
        let Some(meter) = &self.meter else {
            self.sensed = Sensed { ms, supply: self.sensed.supply, ..Sensed::default() };
            return;
        };
        let edges = &mut self.edges;
        let count = meter.crank_edges();
        let any_edge = count != edges.count;
        edges.count = count;
        if any_edge {
            edges.newest_ms = Some(ms);
        }
        if ms.wrapping_sub(edges.window_ms) >= 1000 {
            edges.window_ms = ms;
            edges.before_window = edges.at_window;
            edges.at_window = count;
        }
        let turning = edges.newest_ms.is_some_and(|newest| ms.wrapping_sub(newest) < STANDS_MS);
        // One to two seconds' worth of edges, so that a single mark counts a few.
        let recent = count.wrapping_sub(edges.before_window) as f32;
        let by_hand = (f32::from(meter.job().pattern().count()) * BY_HAND_RPM / 60.0 * 2.0).max(3.0);
        let turning_fast =
            turning && (recent > by_hand || meter.rpm().is_some_and(|rpm| rpm > 2.0 * BY_HAND_RPM));
        let age = edges.newest_spark.map(|at| meter.now().since(at));
        let age_ms = age.map_or(9999, |ticks| (ticks / self.rate.ticks_in_ms(1).max(1)).min(9999) as u32);
        let stopped = !turning && self.sensed.turning;
        self.sensed.turning = turning;
        self.sensed.turning_fast = turning_fast;
        self.sensed.any_edge = any_edge;
        self.sensed.in_sync = meter.in_sync();
        self.sensed.rpm = if turning { meter.rpm() } else { None };
        self.sensed.live = Sensed::followed(meter, &corrections).filter(|_| turning && age_ms < OLDEST_MS);
        self.sensed.quality = Sensed::quality_of(meter, turning);
        self.sensed.settled_ms = ms.wrapping_sub(edges.restarted_ms);
        if ms.wrapping_sub(edges.reported_ms) >= REPORT_EVERY_MS {
            edges.reported_ms = ms;
            let (report, search) = meter.report_and_search();
            // Until this search has ended the check that the last one found stands.
            let before = self.sensed.known.next_check;
            self.sensed.known = Known::of(&report, &corrections);
            if self.sensed.known.next_check.is_none() {
                self.sensed.known.next_check = before;
                self.search = search;
            }
        } else if (0..CHECKS_A_TICK).any(|_| !self.search.go_on()) {
            self.sensed.known.next_check = self.search.found();
        }
        // A number that is gone comes back with the next report.
        self.sensed.known.age_ms = age_ms as u16;
        if !turning {
            self.sensed.known.fade(Withheld::NoCrank);
        } else if age_ms >= OLDEST_MS && self.sensed.known.advance.is_some() {
            self.sensed.known.fade(Withheld::NoSpark);
        }
        // What was read before the engine stood says nothing of what comes after: something may be mended.
        if stopped {
            self.rebuild_meter();
        }
    }
}
