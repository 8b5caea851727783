//! How far readings are off, over a population of engines: the figures of DESIGN.md section 8.
//!
//! The error is the reading minus the median of the true spark angles of the capture, as the contract
//! defines the truth; beside it stands how often the advance that the engine was set to lies inside the ±.
//! The table is kept in `accuracy.txt`: a change of the estimator shows there as a difference to be read.
//! `KEYWAY_TABLE=write` writes it anew.
//!
//! *At best*: the error of the best estimate there is, told more than any instrument can know (`best_possible`), over a
//! thousand engines of the cell. *Out of reach*: the figures that it misses too.
//!
//! The default run has few captures a cell, so shares are judged over cells of a kind taken together, and a
//! cell is called short only where chance would do it less than once in a thousand. `KEYWAY_CAPTURES=400`
//! (any number from 100 on) runs so many a cell and holds every cell to the figures in reach as they stand.

use keyway_tests::best_possible::error_at_best;
use keyway_tests::edge_source::{Chance, wrapped};
use keyway_tests::measure::measure;
use keyway_tests::population::{Cell, Kind, Noise, draw, source};
use std::fmt::Write;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};

const WHEELS: [(u8, u8); 9] =
    [(60, 2), (36, 1), (36, 2), (24, 2), (24, 1), (12, 1), (12, 3), (4, 1), (120, 2)];
const SPEEDS: [f64; 5] = [400.0, 700.0, 1500.0, 3500.0, 9000.0];
const NOISES: [Noise; 3] = [Noise::Clean, Noise::Ordinary, Noise::Noisy];
const CAPTURES_BY_DEFAULT: usize = 12;

/// What became of a capture.
#[derive(Debug, Clone, Copy)]
struct Outcome {
    /// Against the median of the true sparks.
    error: f64,
    /// Against the advance that was set.
    from_setting: f64,
    uncertainty: f64,
}

struct Row {
    cell: Cell,
    captures: usize,
    outcomes: Vec<Outcome>,
    /// Errors of the best estimate there is, the smallest first.
    at_best: Vec<f64>,
}

/// Engines of a cell whose best estimate is looked at.
const AT_BEST: u64 = 1000;

impl Row {
    fn quantile(&self, part: f64, of: impl Fn(&Outcome) -> f64) -> f64 {
        let mut values: Vec<f64> = self.outcomes.iter().map(of).collect();
        values.sort_by(f64::total_cmp);
        within(&values, part)
    }

    /// The error that the best estimate keeps to in this part of the engines.
    fn best(&self, part: f64) -> f64 {
        within(&self.at_best, part)
    }

    fn median_error(&self) -> f64 {
        self.quantile(0.5, |outcome| outcome.error)
    }

    fn worst_error(&self) -> f64 {
        self.quantile(0.999, |outcome| outcome.error)
    }

    fn median_uncertainty(&self) -> f64 {
        self.quantile(0.5, |outcome| outcome.uncertainty)
    }

    fn outside(&self) -> usize {
        self.outcomes.iter().filter(|outcome| outcome.error > outcome.uncertainty).count()
    }

    fn setting_outside(&self) -> usize {
        self.outcomes.iter().filter(|outcome| outcome.from_setting > outcome.uncertainty).count()
    }

    fn gross(&self) -> usize {
        let gross = |outcome: &&Outcome| outcome.error > (2.0 * outcome.uncertainty).max(0.5);
        self.outcomes.iter().filter(gross).count()
    }

    fn withheld(&self) -> usize {
        self.captures - self.outcomes.len()
    }

    /// Median and worst error and the ± that DESIGN.md section 8 asks of this cell.
    fn asked(&self) -> [f64; 3] {
        match self.cell.kind {
            Kind::Wheel(slots, _) => [0.05, 0.25, if slots >= 24 { 0.15 } else { f64::INFINITY }],
            Kind::OneMark(_, high) if high <= 10.0 && self.cell.rpm <= 900.0 => [0.25, 1.0, 0.5],
            _ => [f64::INFINITY; 3],
        }
    }

    /// The figures of DESIGN.md section 8 that this cell does not reach, in a word each.
    fn short_of(&self) -> Vec<&'static str> {
        let [median, worst, uncertainty] = self.asked();
        let misses = [
            ("median", self.median_error() > median),
            ("worst", self.worst_error() > worst),
            ("sharpness", self.median_uncertainty() > uncertainty),
            ("coverage", too_many(self.outside(), self.outcomes.len(), 0.05)),
        ];
        words(&misses)
    }

    /// Those that the best estimate of engines of this cell does not reach either.
    fn out_of_reach(&self) -> Vec<&'static str> {
        let [median, worst, _] = self.asked();
        words(&[("median", self.best(0.5) > median), ("worst", self.best(0.999) > worst)])
    }
}

/// The value that this part of some in order of size keep to.
fn within(values: &[f64], part: f64) -> f64 {
    let index = (part * values.len() as f64).ceil() as usize;
    values.get(index.saturating_sub(1)).copied().unwrap_or(f64::NAN)
}

fn words(misses: &[(&'static str, bool)]) -> Vec<&'static str> {
    misses.iter().filter(|(_, misses)| *misses).map(|(word, _)| *word).collect()
}

/// More than this share; of few captures, more than chance gives once in a thousand.
fn too_many(count: usize, of: usize, share: f64) -> bool {
    if of >= 100 {
        return count as f64 > share * of as f64;
    }
    // The probability of `count` or more, from the binomial law.
    let mut term = (1.0 - share).powi(of as i32);
    let mut below = 0.0;
    for k in 0..count {
        below += term;
        term *= (of - k) as f64 / (k + 1) as f64 * share / (1.0 - share);
    }
    1.0 - below < 0.001
}

fn captures() -> usize {
    std::env::var("KEYWAY_CAPTURES").ok().and_then(|text| text.parse().ok()).unwrap_or(CAPTURES_BY_DEFAULT)
}

fn cells() -> Vec<Cell> {
    let mut kinds: Vec<Kind> = WHEELS.iter().map(|(slots, missing)| Kind::Wheel(*slots, *missing)).collect();
    kinds.extend([Kind::TwoMarks, Kind::ThreeMarks, Kind::EightMarks]);
    kinds.extend([Kind::OneMark(10.0, 40.0), Kind::OneMark(40.0, 100.0), Kind::OneMark(100.0, 180.0)]);
    let mut cells = Vec::new();
    for kind in kinds {
        for rpm in SPEEDS {
            cells.extend(NOISES.map(|noise| Cell { kind, rpm, noise }));
        }
    }
    for rpm in [600.0, 750.0, 900.0, 3500.0] {
        cells.extend(NOISES.map(|noise| Cell { kind: Kind::OneMark(0.0, 10.0), rpm, noise }));
    }
    cells
}

fn run(cell: Cell, number: usize, captures: usize) -> Row {
    let outcomes = (0..captures)
        .filter_map(|capture| {
            let seed = (number * 100_000 + capture) as u64;
            let (capture, job, set) = draw(cell, seed);
            let reading = measure(&capture, &job).report.reading;
            let (advance, uncertainty) = (reading.advance?, reading.uncertainty?);
            let advance = f64::from(advance.degrees());
            Some(Outcome {
                error: wrapped(advance - capture.centre()).abs(),
                from_setting: wrapped(advance - set).abs(),
                uncertainty: f64::from(uncertainty),
            })
        })
        .collect();
    let mut chance = Chance::new(number as u64);
    let mut at_best: Vec<f64> = (0..AT_BEST)
        .map(|engine| {
            let (source, _, set) = source(cell, 50_000_000 + number as u64 * 100_000 + engine);
            error_at_best(&source, set, &mut chance)
        })
        .collect();
    at_best.sort_by(f64::total_cmp);
    Row { cell, captures, outcomes, at_best }
}

fn rows() -> &'static [Row] {
    static ROWS: OnceLock<Vec<Row>> = OnceLock::new();
    ROWS.get_or_init(|| {
        let cells = cells();
        let captures = captures();
        let next = AtomicUsize::new(0);
        let workers = std::thread::available_parallelism().map_or(1, |count| count.get());
        let mut numbered: Vec<(usize, Row)> = std::thread::scope(|scope| {
            let work = || {
                let mut done = Vec::new();
                loop {
                    let number = next.fetch_add(1, Ordering::Relaxed);
                    let Some(cell) = cells.get(number) else { return done };
                    done.push((number, run(*cell, number, captures)));
                }
            };
            let handles: Vec<_> = (0..workers).map(|_| scope.spawn(work)).collect();
            handles.into_iter().flat_map(|handle| handle.join().expect("a worker ends")).collect()
        });
        numbered.sort_by_key(|(number, _)| *number);
        numbered.into_iter().map(|(_, row)| row).collect()
    })
}

fn table() -> String {
    let mut text = String::from(
        "wheel            rpm  noise    withheld  error: median  worst  at best: median  worst  outside ±  setting outside  median ±  gross  out of reach  short of\n",
    );
    for row in rows() {
        let part = |count: usize| format!("{count}/{}", row.outcomes.len());
        let _ = writeln!(
            text,
            "{:<15} {:>4}  {:<8} {:>8}  {:>13.3}  {:>5.3}  {:>15.3}  {:>5.3}  {:>9}  {:>15}  {:>8.3}  {:>5}  {:<12}  {}",
            row.cell.kind.name(),
            row.cell.rpm,
            row.cell.noise.name(),
            format!("{}/{}", row.withheld(), row.captures),
            row.median_error(),
            row.worst_error(),
            row.best(0.5),
            row.best(0.999),
            part(row.outside()),
            part(row.setting_outside()),
            row.median_uncertainty(),
            row.gross(),
            row.out_of_reach().join(" "),
            row.short_of().join(" "),
        );
    }
    text.lines().map(|line| format!("{}\n", line.trim_end())).collect()
}

#[test]
fn the_table_of_errors_is_the_one_kept() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/accuracy.txt");
    let now = table();
    if captures() != CAPTURES_BY_DEFAULT {
        println!("{now}");
        return;
    }
    if std::env::var("KEYWAY_TABLE").is_ok_and(|word| word == "write") {
        std::fs::write(path, &now).expect("the table can be written");
    }
    let kept = std::fs::read_to_string(path).unwrap_or_default().replace('\r', "");
    let differs: Vec<String> = now
        .lines()
        .zip(kept.lines().chain(std::iter::repeat("")))
        .filter(|(now, kept)| now != kept)
        .map(|(now, kept)| format!("was {kept}\nnow {now}"))
        .collect();
    assert!(
        differs.is_empty() && now.len() == kept.len(),
        "the readings changed; read the difference, then keep it with KEYWAY_TABLE=write:\n{}",
        differs.join("\n")
    );
}

/// The cells that the kept table admits to fall short of a figure, as the table's lines begin.
fn admitted(figure: &str) -> Vec<String> {
    let kept = include_str!("accuracy.txt");
    let cell = |line: &str| line.get(..CELL_WIDTH).map(str::to_owned);
    let falls_short = |line: &&str| {
        line.rsplit("  ").next().is_some_and(|words| words.split(' ').any(|word| word == figure))
    };
    kept.lines().skip(1).filter(falls_short).filter_map(cell).collect()
}

/// Width of wheel, speed and noise in the table.
const CELL_WIDTH: usize = 30;

/// The figures of DESIGN.md section 8 hold in every cell but those whose shortfall the kept table admits, in
/// its last column; with a hundred captures a cell or more they hold wherever they are in reach, or the test fails.
fn assert_none_short(figure: &str) {
    let by_default = captures() == CAPTURES_BY_DEFAULT;
    let admitted = if by_default { admitted(figure) } else { Vec::new() };
    let short: Vec<String> = rows()
        .iter()
        .filter(|row| row.short_of().contains(&figure))
        .filter(|row| by_default || !row.out_of_reach().contains(&figure))
        .map(|row| format!("{:<15} {:>4}  {:<8}", row.cell.kind.name(), row.cell.rpm, row.cell.noise.name()))
        .filter(|cell| !admitted.iter().any(|known| known.trim_end() == cell.trim_end()))
        .collect();
    assert!(short.is_empty(), "{} cells fall short of the {figure}: {}", short.len(), short.join("; "));
}

#[test]
fn half_of_the_errors_are_smaller_than_promised() {
    assert_none_short("median");
}

#[test]
fn the_worst_errors_are_smaller_than_promised() {
    assert_none_short("worst");
}

#[test]
fn the_doubt_is_as_small_as_promised() {
    assert_none_short("sharpness");
}

#[test]
fn the_truth_lies_inside_the_doubt_in_every_cell() {
    assert_none_short("coverage");
}

#[test]
fn the_truth_lies_inside_the_doubt_over_all() {
    let outside = rows().iter().map(Row::outside).sum();
    let given = rows().iter().map(|row| row.outcomes.len()).sum();
    assert!(!too_many(outside, given, 0.05), "{outside} of {given} outside");
}

/// A cell of the default run is too small to show a share of a tenth; those of one speed together are not.
#[test]
fn the_truth_lies_inside_the_doubt_at_every_speed_of_wheels_and_of_marks() {
    for rpm in SPEEDS {
        for wheels in [true, false] {
            let of_kind = |row: &&Row| matches!(row.cell.kind, Kind::Wheel(..)) == wheels;
            let rows = || rows().iter().filter(|row| row.cell.rpm == rpm).filter(of_kind);
            let outside = rows().map(Row::outside).sum();
            let given = rows().map(|row| row.outcomes.len()).sum();
            let kind = if wheels { "wheels" } else { "marks" };
            assert!(!too_many(outside, given, 0.05), "{kind} at {rpm} rpm: {outside} of {given} outside");
        }
    }
}

#[test]
fn a_number_far_beyond_its_doubt_is_shown_at_most_once_in_a_thousand() {
    let gross: usize = rows().iter().map(Row::gross).sum();
    let given: usize = rows().iter().map(|row| row.outcomes.len()).sum();
    assert!(gross <= given / 1000, "{gross} of {given}");
}

#[test]
fn a_healthy_signal_is_hardly_ever_withheld() {
    let kept = |noise: Noise| {
        let rows = rows().iter().filter(|row| row.cell.noise == noise);
        rows.fold((0, 0), |sum, row| (sum.0 + row.withheld(), sum.1 + row.captures))
    };
    // No figure is promised; one in two hundred is what we hold to where nothing is wrong.
    for noise in [Noise::Clean, Noise::Ordinary] {
        let (withheld, captures) = kept(noise);
        assert!(withheld <= captures / 200, "{}: {withheld} of {captures}", noise.name());
    }
}
