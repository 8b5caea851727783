//! `keyway read`: a capture and a job in, a reading out, for people or for programs.
//!
//! The capture is streamed through the meter once; on the way each settled spark goes to the list, the
//! picture and the page that were asked for. What is said at the end is written from the meter's report alone.

mod output;
pub(crate) mod plot;
mod report;
mod result;
mod sparks;
mod words;

pub use result::{Outcome, exit_status, to_json};
pub use words::to_text;

use crate::capture::{self, Feed, Format, Names, START};
use keyway_core::job::Job;
use keyway_core::meter::Meter;
use keyway_core::reading::SparkRecord;
use keyway_core::units::TickRate;
use output::Output;
use plot::Plot;
use sparks::SparkList;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

/// What to read, and what to write beside the answer.
#[derive(Debug, Clone)]
pub struct Request {
    /// The capture.
    pub capture: PathBuf,
    /// The job file.
    pub job: PathBuf,
    /// The signals' names.
    pub names: Names,
    /// A file for every spark.
    pub sparks: Option<PathBuf>,
    /// A file for the picture.
    pub plot: Option<PathBuf>,
    /// A file for the page to print.
    pub report: Option<PathBuf>,
}

/// One spark with its time in the capture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TimedSpark {
    /// Seconds, as the capture counts them.
    pub seconds: f64,
    /// What the meter says of it.
    pub record: SparkRecord,
}

/// Reads a capture and tells every settled spark on the way.
///
/// # Errors
/// The capture cannot be read.
pub fn measure(
    source: impl Read,
    format: Format,
    names: &Names,
    job: &Job,
    mut spark: Option<&mut dyn FnMut(TimedSpark)>,
) -> Result<Outcome, capture::CaptureError> {
    let mut meter = Meter::new(job.clone(), TickRate::DESKTOP);
    let mut feed = Feed::new(&mut meter);
    let mut settle = |meter: &mut Meter| {
        if let Some(spark) = &mut spark {
            while let Some(record) = meter.next_spark() {
                let ticks = record.at.ticks() as f64 - f64::from(START);
                spark(TimedSpark { seconds: ticks / f64::from(TickRate::DESKTOP.hertz()), record });
            }
        }
    };
    let outline = capture::read(source, format, names, |ticks, event| {
        feed.event(ticks, event);
        settle(feed.meter());
    })?;
    feed.finish(outline.ticks);
    settle(feed.meter());
    Ok(Outcome { outline, report: meter.report() })
}

/// Carries out a request.
///
/// # Errors
/// One line that says what is wrong with the job file, the capture or a file to be written.
pub fn run(request: &Request) -> Result<(Job, Outcome), String> {
    let job = crate::job_file::read::file(&request.job)
        .map_err(|error| error.in_file(&shown(&request.job)).to_string())?;
    let name = shown(&request.capture);
    let in_file = |error: capture::CaptureError| error.in_file(&name).to_string();
    let (source, format) = capture::open(&request.capture).map_err(in_file)?;
    let read = [request.capture.as_path(), &request.job];
    let create = |path: &PathBuf| Output::create(path, &read);
    let mut list = request.sparks.as_ref().map(create).transpose()?.map(SparkList::new);
    let picture = request.plot.as_ref().map(create).transpose()?;
    let page = request.report.as_ref().map(create).transpose()?;
    let mut plot = (picture.is_some() || page.is_some()).then(Plot::new);
    let wanted = list.is_some() || plot.is_some();
    let mut on_spark = |spark: TimedSpark| {
        if let Some(list) = &mut list {
            list.add(&spark);
        }
        if let Some(plot) = &mut plot {
            plot.add(&spark);
        }
    };
    let told: Option<&mut dyn FnMut(TimedSpark)> = if wanted { Some(&mut on_spark) } else { None };
    let outcome = measure(source, format, &request.names, &job, told).map_err(in_file)?;
    if let Some(list) = list {
        list.finish()?;
    }
    if let Some(plot) = plot {
        if let Some(output) = picture {
            plot.write(output, &job, &outcome)?;
        }
        if let Some(output) = page {
            report::write(output, request, &job, &outcome, &plot)?;
        }
    }
    Ok((job, outcome))
}

/// A path as people see it.
fn shown(path: &Path) -> String {
    path.display().to_string()
}

/// Writes an answer; a reader that has gone away is no error.
///
/// # Errors
/// Anything else that keeps the answer from being written.
pub fn print(out: &mut dyn Write, answer: &str) -> io::Result<()> {
    match out.write_all(answer.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        other => other,
    }
}
