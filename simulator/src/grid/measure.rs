//! Error, doubt and withholding by cell.

use super::population::{Kind, NOISES, SPEEDS, WHEELS};
use super::{Drawn, Played};
use keyway_core::reading::{Reasons, Status};
use serde::Serialize;
use std::collections::BTreeMap;

/// One cell of wheel × speed × noise.
#[derive(Debug, Clone, Serialize)]
pub struct Cell {
    /// The wheel.
    pub wheel: &'static str,
    /// Idle speed, rpm.
    pub rpm: u32,
    /// How noisy.
    pub noise: &'static str,
    /// Engines played.
    pub engines: usize,
    /// Numbers given.
    pub given: usize,
    /// Median of the error's size, degrees.
    pub median_error: f64,
    /// The 99.9th percentile of it: the largest, for fewer than a thousand.
    pub worst_error: f64,
    /// Part of the engines whose truth lies within the ±.
    pub covered: f64,
    /// Median ±, degrees.
    pub median_doubt: f64,
    /// Errors larger than 0.5° and two times the ±.
    pub wild: usize,
    /// Numbers withheld from a healthy engine, by the first reason.
    pub withheld: BTreeMap<&'static str, usize>,
    /// The case with the largest error.
    pub worst_case: Option<u64>,
}

/// All cells.
#[derive(Debug, Clone, Serialize)]
pub struct MeasureTable {
    /// In the order of wheels, speeds, noise.
    pub cells: Vec<Cell>,
    /// The same pooled over all toothed wheels.
    pub toothed: Cell,
    /// Numbers given where one should have been withheld: the case and what was given, by the reason.
    pub not_withheld: BTreeMap<&'static str, Vec<u64>>,
    /// Engines played for each reason, and how many had that reason named.
    pub reasons: BTreeMap<&'static str, (usize, usize)>,
}

fn empty(wheel: &'static str, rpm: u32, noise: &'static str) -> Cell {
    Cell {
        wheel,
        rpm,
        noise,
        engines: 0,
        given: 0,
        median_error: f64::NAN,
        worst_error: f64::NAN,
        covered: f64::NAN,
        median_doubt: f64::NAN,
        wild: 0,
        withheld: BTreeMap::new(),
        worst_case: None,
    }
}

fn first(reasons: &Reasons) -> &'static str {
    reasons.first().map_or("", |reason| reason.id())
}

/// Error and ± of a case whose number was given.
pub(super) fn error_of(played: &Played) -> Option<(f64, f64)> {
    let truth = played.truth.advance?;
    let read = f64::from(played.report.reading.advance?.degrees());
    let error = (read - truth + 540.0).rem_euclid(360.0) - 180.0;
    Some((error, f64::from(played.report.reading.uncertainty?)))
}

fn cell_of<'p>(mut cell: Cell, played: impl Iterator<Item = &'p Played>) -> Cell {
    let mut errors: Vec<(f64, f64, u64)> = Vec::new();
    for one in played {
        // An engine that never idled steadily has no truth to hold a number against.
        if one.truth.advance.is_none() {
            continue;
        }
        cell.engines += 1;
        if one.report.reading.status == Status::Withheld {
            *cell.withheld.entry(first(&one.report.reading.reasons)).or_default() += 1;
        }
        if let Some((error, doubt)) = error_of(one) {
            errors.push((error.abs(), doubt, one.drawn.number));
        }
    }
    cell.given = errors.len();
    if errors.is_empty() {
        return cell;
    }
    cell.covered =
        errors.iter().filter(|(error, doubt, _)| error <= doubt).count() as f64 / errors.len() as f64;
    cell.wild = errors.iter().filter(|(error, doubt, _)| *error > f64::max(0.5, 2.0 * doubt)).count();
    let mut doubts: Vec<f64> = errors.iter().map(|(_, doubt, _)| *doubt).collect();
    doubts.sort_by(f64::total_cmp);
    errors.sort_by(|one, other| one.0.total_cmp(&other.0));
    let at = |share: f64| ((errors.len() - 1) as f64 * share).round() as usize;
    cell.median_doubt = doubts.get(at(0.5)).copied().unwrap_or(f64::NAN);
    cell.median_error = errors.get(at(0.5)).map_or(f64::NAN, |error| error.0);
    cell.worst_error = errors.get(at(0.999)).map_or(f64::NAN, |error| error.0);
    cell.worst_case = errors.last().map(|error| error.2);
    cell
}

impl MeasureTable {
    /// The table of what was played.
    pub fn of(played: &[Played]) -> Self {
        let mut cells = Vec::new();
        for (wheel, wheel_name) in WHEELS.iter().enumerate() {
            for (speed, rpm) in SPEEDS.iter().enumerate() {
                for (noise, noise_name) in NOISES.iter().enumerate() {
                    let kind = Kind::Measure { wheel, speed, noise };
                    let of_cell = played.iter().filter(|one| one.drawn.kind == kind);
                    cells.push(cell_of(empty(wheel_name, *rpm, noise_name), of_cell));
                }
            }
        }
        let on_teeth =
            played.iter().filter(|one| matches!(one.drawn.kind, Kind::Measure { wheel, .. } if wheel < 4));
        let toothed = cell_of(empty("all toothed", 0, "all"), on_teeth);
        let mut reasons: BTreeMap<&'static str, (usize, usize)> = BTreeMap::new();
        let mut not_withheld: BTreeMap<&'static str, Vec<u64>> = BTreeMap::new();
        for one in played {
            let (Drawn { kind: Kind::Reason(_), .. }, Some(due)) = (&one.drawn, one.truth.withheld) else {
                continue;
            };
            let entry = reasons.entry(due.id()).or_default();
            entry.0 += 1;
            if one.report.reading.reasons.contains(&due) {
                entry.1 += 1;
            }
            if one.report.reading.status == Status::Given {
                not_withheld.entry(due.id()).or_default().push(one.drawn.number);
            }
        }
        Self { cells, toothed, not_withheld, reasons }
    }
}
