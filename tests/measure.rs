//! Puts a capture through the meter and keeps what it says.

use crate::edge_source::Capture;
use keyway_core::job::JobSpec;
use keyway_core::meter::{Meter, Report};
use keyway_core::reading::{Signals, SparkRecord, Status, Withheld};
use keyway_core::units::TickRate;

/// What the meter said of a capture.
#[derive(Debug, Clone)]
pub struct Measured {
    /// The reading at the end.
    pub report: Report,
    /// Every event at the spark pickup.
    pub sparks: Vec<SparkRecord>,
    /// What the signals looked like.
    pub signals: Signals,
}

impl Measured {
    /// Whether a number was given.
    pub fn given(&self) -> bool {
        self.report.reading.status == Status::Given
    }

    /// The number; fails the test where it was withheld.
    pub fn advance(&self) -> f64 {
        let reading = &self.report.reading;
        let advance = reading.advance.unwrap_or_else(|| panic!("withheld: {:?}", reading.reasons));
        f64::from(advance.degrees())
    }

    /// Its ±; fails the test where it was withheld.
    pub fn uncertainty(&self) -> f64 {
        let reading = &self.report.reading;
        f64::from(reading.uncertainty.unwrap_or_else(|| panic!("withheld: {:?}", reading.reasons)))
    }

    /// The reason to say first.
    pub fn reason(&self) -> Option<Withheld> {
        self.report.reading.reasons.first().copied()
    }
}

/// A meter for a job on the desktop's counter; fails the test where the job can't be.
pub fn meter(job: &JobSpec) -> Meter {
    let job = job.build().unwrap_or_else(|error| panic!("job: {error}"));
    Meter::new(job, TickRate::DESKTOP)
}

/// Measures a capture as an instrument does, which looks at its clock every so many seconds, edge or none.
pub fn measure_looking_every(seconds: f64, capture: &Capture, job: &JobSpec) -> Measured {
    let mut meter = meter(job);
    let mut sparks = Vec::new();
    let mut look = 0.0;
    for (edge, (ticks, ..)) in capture.stamped().zip(&capture.edges) {
        while look * 1e7 < *ticks as f64 {
            meter.poll(capture.instant(look).stamp());
            look += seconds;
        }
        meter.on_edge(edge);
        sparks.extend(core::iter::from_fn(|| meter.next_spark()));
    }
    meter.finish();
    sparks.extend(core::iter::from_fn(|| meter.next_spark()));
    Measured { report: meter.report(), sparks, signals: meter.signals() }
}

/// Measures a capture to its end.
pub fn measure(capture: &Capture, job: &JobSpec) -> Measured {
    let mut meter = meter(job);
    let mut sparks = Vec::new();
    for edge in capture.stamped() {
        meter.on_edge(edge);
        sparks.extend(core::iter::from_fn(|| meter.next_spark()));
    }
    meter.finish();
    sparks.extend(core::iter::from_fn(|| meter.next_spark()));
    Measured { report: meter.report(), sparks, signals: meter.signals() }
}
