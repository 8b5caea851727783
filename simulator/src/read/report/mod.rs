//! `--report`: the reading as one page to print or to keep beside the job.
//!
//! The page is a single file: its style and its pictures are in it, it runs no script and asks nothing of
//! a network, so that it reads the same in ten years. What it says is what the text and the picture say,
//! from the same words; what was entered stands beside what was measured, so that a reading can be doubted
//! later. Nothing on it depends on colour.

mod cautions;
mod entered;
mod gauge;
mod page;
#[cfg(test)]
mod tests;

use super::output::Output;
use super::plot::{Heading, Plot};
use super::{Outcome, Request};
use keyway_core::job::Job;
use std::io::Write;
use std::path::Path;

/// Where the reading came from.
#[derive(Debug, Clone, PartialEq)]
struct Origin {
    capture: String,
    job: String,
    signals: String,
}

impl Origin {
    fn of(request: &Request) -> Self {
        let name = |path: &Path| path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
        let names = &request.names;
        let supply = names.battery.as_deref().map(|battery| format!(", {battery}")).unwrap_or_default();
        Self {
            capture: name(&request.capture),
            job: name(&request.job),
            signals: format!("{}, {}{supply}", names.crank, names.spark),
        }
    }
}

/// Writes the page.
///
/// # Errors
/// It cannot be written.
pub(super) fn write(
    mut output: Output,
    request: &Request,
    job: &Job,
    outcome: &Outcome,
    plot: &Plot,
) -> Result<(), String> {
    let picture = plot.draw(job, outcome, Heading::KeyAlone);
    let page = page::page(&Origin::of(request), job, outcome, &picture);
    output.write(|file| file.write_all(page.as_bytes()));
    output.finish()
}
