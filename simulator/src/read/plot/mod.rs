//! `--plot`: two pictures of every spark, for the eye to judge what the number says.
//!
//! Above, the sparks by angle over time against the target and its tolerance; below, the advance against
//! speed. The sparks are counted in grids of fixed size as the capture streams, so that a picture of an
//! hour takes no more memory than one of ten seconds; a grid that runs out of room folds its columns in
//! two. The picture is an SVG written by hand: two panels need no plotting library and no font file.

mod axis;
pub(crate) mod drawing;
mod grid;
mod panel;

use super::output::Output;
use super::{Outcome, TimedSpark, words};
use drawing::Drawing;
use grid::{Grid, ROW_DEGREES};
use keyway_core::job::Job;
use keyway_core::reading::SparkFate;
use panel::{Panel, View};
use std::io::Write;

/// Width of a column of the time grid before it folds, seconds.
const COLUMN_SECONDS: f64 = 0.02;
/// Width of a column of the speed grid before it folds, rpm.
const COLUMN_RPM: f64 = 2.0;

/// Sparks that count in the reading, and the others whose angle is known.
#[derive(Debug)]
struct Sparks {
    used: Grid,
    others: Grid,
}

impl Sparks {
    fn new(column: f64) -> Self {
        Self { used: Grid::new(column), others: Grid::new(column) }
    }

    fn add(&mut self, at: f64, degrees: f32, used: bool) {
        let grid = if used { &mut self.used } else { &mut self.others };
        grid.add(at, degrees);
    }
}

/// What stands above the panels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Heading {
    /// The engine's name, the reading and what the colours mean.
    Whole,
    /// What the colours mean: name and reading stand elsewhere on the page.
    KeyAlone,
}

/// A picture while its sparks come in.
#[derive(Debug)]
pub(super) struct Plot {
    first_seconds: Option<f64>,
    by_time: Sparks,
    by_speed: Sparks,
}

impl Plot {
    /// A picture without a spark.
    pub(super) fn new() -> Self {
        Self { first_seconds: None, by_time: Sparks::new(COLUMN_SECONDS), by_speed: Sparks::new(COLUMN_RPM) }
    }

    /// Counts a spark whose angle is known.
    pub(super) fn add(&mut self, spark: &TimedSpark) {
        let first = *self.first_seconds.get_or_insert(spark.seconds);
        let Some(advance) = spark.record.advance else { return };
        let used = spark.record.fate == SparkFate::Used;
        self.by_time.add(spark.seconds - first, advance.degrees(), used);
        if spark.record.rpm > 0.0 {
            self.by_speed.add(f64::from(spark.record.rpm), advance.degrees(), used);
        }
    }

    /// Draws the picture and writes it.
    pub(super) fn write(&self, mut output: Output, job: &Job, outcome: &Outcome) -> Result<(), String> {
        output.write(|file| file.write_all(self.draw(job, outcome, Heading::Whole).as_bytes()));
        output.finish()
    }

    /// The picture as SVG.
    pub(super) fn draw(&self, job: &Job, outcome: &Outcome, heading: Heading) -> String {
        let head = match heading {
            Heading::Whole => panel::HEAD,
            Heading::KeyAlone => panel::KEY,
        };
        let mut drawing = Drawing::new(panel::WIDTH, 2.0 * panel::HEIGHT + head);
        if heading == Heading::Whole {
            panel::title(&mut drawing, &job.spec().name, &words::opening_line(job, outcome));
        }
        panel::key(&mut drawing, head - 18.0);
        let target = f64::from(job.target_degrees());
        let tolerance = f64::from(job.spec().timing.tolerance);
        let view = self.view(target, tolerance);
        let measured = outcome.report.reading.advance.map(|advance| f64::from(advance.degrees()));
        let doubt = f64::from(outcome.report.reading.uncertainty.unwrap_or(0.0));
        let mut over_time = Panel::new(&mut drawing, head, view, (0.0, outcome.seconds().max(1e-3)));
        over_time.target(target, tolerance);
        over_time.measured(measured, doubt);
        over_time.sparks(&self.by_time.others, false);
        over_time.sparks(&self.by_time.used, true);
        over_time.axes("time from the first spark, s");

        let idle = job.spec().timing.idle_rpm.map(f64::from);
        let speeds = self.speeds(idle);
        let mut over_speed = Panel::new(&mut drawing, head + panel::HEIGHT, view, speeds);
        over_speed.idle_band(idle);
        over_speed.target(target, tolerance);
        over_speed.sparks(&self.by_speed.others, false);
        over_speed.sparks(&self.by_speed.used, true);
        over_speed.axes("speed, rpm");
        drawing.finish()
    }

    /// The angles shown: every spark that counts, nearly all others, and the target's band.
    fn view(&self, target: f64, tolerance: f64) -> View {
        let (mut low, mut high) = (target - 2.0 * tolerance, target + 2.0 * tolerance);
        let seen =
            [self.by_time.used.range(0.0), self.by_time.others.range(0.02), self.by_speed.others.range(0.02)];
        for (least, most) in seen.into_iter().flatten() {
            (low, high) = (low.min(least), high.max(most));
        }
        let margin = (high - low) * 0.06 + 2.0 * ROW_DEGREES;
        View { low: low - margin, high: high + margin }
    }

    /// The speeds shown: those seen and the idle band.
    fn speeds(&self, idle: [f64; 2]) -> (f64, f64) {
        let [low, high] = idle;
        let spans = [self.by_speed.used.span(), self.by_speed.others.span()].into_iter().flatten();
        let (low, high) = spans.fold((low, high), |(low, high), (from, to)| (low.min(from), high.max(to)));
        let margin = (high - low) * 0.04;
        ((low - margin).max(0.0), high + margin)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use keyway_core::reading::SparkRecord;
    use keyway_core::units::{Advance, Instant};

    const JOB: &str = include_str!("../../../demo/pump-six.job.toml");

    fn plot(sparks: impl Iterator<Item = (f64, f64, f32)>) -> String {
        let job = crate::job_file::read::job(JOB).unwrap();
        let mut plot = Plot::new();
        for (seconds, degrees, rpm) in sparks {
            let advance = Some(Advance::from_degrees(degrees));
            let record = SparkRecord { at: Instant::default(), advance, rpm, fate: SparkFate::Used };
            plot.add(&TimedSpark { seconds, record });
        }
        let capture = "time_s,crank,spark1\n0,0,0\n20,0,0\n";
        let names = crate::capture::Names::default();
        let format = crate::capture::Format::Csv;
        let outcome = crate::read::measure(capture.as_bytes(), format, &names, &job, None).unwrap();
        plot.draw(&job, &outcome, Heading::Whole)
    }

    #[test]
    fn a_picture_names_its_axes_with_units_and_the_words_before_and_after() {
        let text = plot((0..100).map(|n| (f64::from(n) * 0.2, -10.0 + f64::from(n % 3) * 0.2, 700.0)));
        for words in ["rpm", "time from the first spark, s", "BTDC", "ATDC", "Weir pump six", "idle band"] {
            assert!(text.contains(words), "{words}");
        }
        assert!(text.starts_with("<svg ") && text.ends_with("</svg>\n"));
        assert!(!text.contains("NaN") && !text.contains("inf"));
    }

    #[test]
    fn a_picture_without_a_spark_is_still_a_picture() {
        let text = plot(std::iter::empty());
        assert!(text.contains("10° BTDC") && !text.contains("NaN"));
    }

    #[test]
    fn a_picture_of_many_sparks_stays_small() {
        let noise = |n: u32| f64::from(n.wrapping_mul(2_654_435_761) >> 16) / 65536.0;
        let text = plot((0..400_000).map(|n| (f64::from(n) * 0.1, 360.0 * noise(n), 3000.0)));
        assert!(text.len() < 1_500_000, "{} bytes", text.len());
    }
}
