//! The grid's tables as text and as JSON.

use super::Grid;
use super::measure::Cell;
use std::fmt::Write;

/// One JSON object with both tables.
///
/// # Errors
/// The serialiser's own.
pub fn to_json(grid: &Grid) -> Result<String, serde_json::Error> {
    let object = serde_json::json!({ "from": grid.from, "seeds": grid.seeds, "measure": grid.measure, "name": grid.name });
    Ok(format!("{}\n", serde_json::to_string_pretty(&object)?))
}

fn line(text: &mut String, cell: &Cell) {
    let withheld: Vec<String> =
        cell.withheld.iter().map(|(reason, count)| format!("{reason} {count}")).collect();
    let _ = writeln!(
        text,
        "{:<15}{:>6} {:<9}{:>5}{:>6}  {:>7.3}{:>8.3}  {:>6.1}%  {:>7.3}{:>6}  {}",
        cell.wheel,
        cell.rpm,
        cell.noise,
        cell.engines,
        cell.given,
        cell.median_error,
        cell.worst_error,
        cell.covered * 100.0,
        cell.median_doubt,
        cell.wild,
        withheld.join(", ")
    );
}

/// Both tables for people.
pub fn to_text(grid: &Grid) -> String {
    let mut text = String::new();
    let _ = writeln!(text, "Measuring: {} engines from number {} on; degrees\n", grid.seeds, grid.from);
    let _ = writeln!(
        text,
        "wheel             rpm noise    engines given   median   worst   within ±  med. ±  wild  withheld"
    );
    for cell in grid.measure.cells.iter().filter(|cell| cell.engines > 0) {
        line(&mut text, cell);
    }
    line(&mut text, &grid.measure.toothed);
    let toothed = |cell: &&Cell| !cell.wheel.contains("mark") && cell.given > 0;
    let worst = grid
        .measure
        .cells
        .iter()
        .filter(toothed)
        .max_by(|one, other| one.worst_error.total_cmp(&other.worst_error));
    if let Some(worst) = worst {
        let _ = writeln!(
            text,
            "\nWorst toothed cell: {} at {} rpm, {}: {:.3}° (case {}).",
            worst.wheel,
            worst.rpm,
            worst.noise,
            worst.worst_error,
            worst.worst_case.unwrap_or(0)
        );
    }
    let _ = writeln!(text, "\nReasons for withholding: named of played");
    for (reason, (played, named)) in &grid.measure.reasons {
        let given = grid
            .measure
            .not_withheld
            .get(reason)
            .map_or(String::new(), |cases| format!("   a number was given in cases {cases:?}"));
        let _ = writeln!(text, "  {reason:<20}{named:>4} of {played}{given}");
    }
    causes(&mut text, grid);
    text
}

fn causes(text: &mut String, grid: &Grid) {
    let name = &grid.name;
    let _ = writeln!(text, "\nCauses: first named right {:.1} % of {}", name.right * 100.0, name.singles);
    for (cause, named) in &name.confusion {
        let all: usize = named.values().sum();
        let right = named.get(cause).copied().unwrap_or(0);
        let others: Vec<String> = named
            .iter()
            .filter(|(other, _)| *other != cause)
            .map(|(other, count)| format!("{other} {count}"))
            .collect();
        let _ = writeln!(text, "  {cause:<22}{right:>4} of {all:<4} {}", others.join(", "));
    }
    let _ = writeln!(
        text,
        "Ties: another cause would read the same within 2° and the ±; the true one is among the first two in {} of {} {:?}",
        name.ties_named, name.ties, name.ties_missed
    );
    let _ = writeln!(
        text,
        "\nFalse alarms: {} of {} healthy engines {:?}",
        name.false_alarms.len(),
        name.healthy,
        name.false_alarms
    );
    let _ = writeln!(
        text,
        "Pairs: both among the first three in {} of {} {:?}",
        name.pairs_named, name.pairs, name.pairs_missed
    );
    let _ = writeln!(text, "Wrongly named: {:?}", name.wrong);
    let _ = writeln!(text, "\nSureness: claimed, right of verdicts");
    for bin in name.sureness.iter().filter(|bin| bin.verdicts > 0) {
        let _ = writeln!(text, "  {:>5.1} %  {:>4} of {}", bin.claimed * 100.0, bin.right, bin.verdicts);
    }
}
