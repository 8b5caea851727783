//! The class table: one row for each trainee, added to a CSV file that a trainer opens in a spreadsheet.
//!
//! A name that a spreadsheet would take for a formula gets an apostrophe in front, so that a table of names
//! stays a table of names.

use super::marks::CRITERIA;
use super::outcome::Outcome;
use std::fs::OpenOptions;
use std::io::Write;
use std::path::Path;

/// The columns.
fn header() -> Vec<String> {
    let first = ["trainee", "drill", "seed", "level", "result", "total"];
    let criteria = CRITERIA.iter().map(|criterion| criterion.1.to_lowercase().replace(' ', "_"));
    let last = ["hints", "critical_errors", "minutes"];
    first.map(str::to_owned).into_iter().chain(criteria).chain(last.map(str::to_owned)).collect()
}

/// A text that no spreadsheet takes for a formula, in one line.
fn tame(text: &str) -> String {
    let line: String = text.chars().map(|letter| if letter.is_control() { ' ' } else { letter }).collect();
    let formula = line.trim_start().starts_with(['=', '+', '-', '@']);
    if formula { format!("'{line}") } else { line }
}

/// The row of a run.
fn row(outcome: &Outcome) -> Vec<String> {
    let marks = &outcome.marks;
    let critical: Vec<String> = marks.critical.iter().map(|critical| critical.words()).collect();
    let mut row = vec![
        tame(&outcome.trainee),
        outcome.drill.name.to_owned(),
        outcome.seed.to_string(),
        outcome.level.id().to_owned(),
        outcome.word().to_owned(),
        format!("{:.1}", marks.total),
    ];
    row.extend(marks.marks.iter().map(|mark| format!("{:.1}", mark.got)));
    row.extend([
        format!("{:.0}", marks.hints + 0.0),
        critical.join("; "),
        format!("{:.1}", outcome.seconds / 60.0),
    ]);
    row
}

/// Adds the row of a run to a class table, with its header where the file is new.
///
/// # Errors
/// One line: the file cannot be written, or is another table.
pub fn append(path: &Path, outcome: &Outcome) -> Result<(), String> {
    let named = path.display();
    let bad = |error: &dyn std::fmt::Display| format!("{named}: cannot be written ({error})");
    let before = match std::fs::read_to_string(path) {
        Ok(text) => text,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => String::new(),
        Err(error) => return Err(bad(&error)),
    };
    let line = |fields: Vec<String>| -> Result<Vec<u8>, String> {
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.write_record(fields).map_err(|error| bad(&error))?;
        writer.into_inner().map_err(|error| bad(&error))
    };
    let head = line(header())?;
    let mut added = Vec::new();
    if before.trim().is_empty() {
        added.extend(head);
    } else if before.lines().next().map(str::trim_end) != std::str::from_utf8(&head).ok().map(str::trim_end) {
        return Err(format!("{named}:1: found another table, expected the header of a class table"));
    } else if !before.ends_with('\n') {
        added.push(b'\n');
    }
    added.extend(line(row(outcome))?);
    let mut file = OpenOptions::new().create(true).append(true).open(path).map_err(|error| bad(&error))?;
    file.write_all(&added).map_err(|error| bad(&error))
}
