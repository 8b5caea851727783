//! The numbers of a reading, one to a line.

use super::{advance, degrees};
use crate::read::Outcome;
use keyway_core::job::Job;
use keyway_core::reading::{Balance, SpeedTrend};
use std::fmt::Write;

/// The numbers that are known, as lines.
pub(super) fn block(text: &mut String, job: &Job, outcome: &Outcome) {
    text.push_str("\nThe numbers\n");
    for (name, value) in rows(job, outcome) {
        // Writing to a text cannot fail.
        let _ = writeln!(text, "  {name:<12} {value}");
    }
    if outcome.report.reading.advance.is_some() {
        let _ = writeln!(text, "{}", exact());
    }
}

/// What the ± does not cover.
pub(in crate::read) fn exact() -> &'static str {
    "The ± covers what was measured; angles and delays entered in the job count as exact."
}

/// The numbers that are known, each with its name.
pub(in crate::read) fn rows(job: &Job, outcome: &Outcome) -> Vec<(&'static str, String)> {
    let reading = &outcome.report.reading;
    let mut rows = Vec::new();
    let mut row = |name: &'static str, value: String| rows.push((name, value));
    row("engine", job.spec().name.to_string());
    if let Some(measured) = reading.advance {
        let doubt = reading.uncertainty.map(|doubt| format!(" ± {doubt:.2}° (95 %)")).unwrap_or_default();
        row("advance", format!("{}{doubt}", advance(measured.degrees(), 2)));
    }
    let tolerance = degrees(job.spec().timing.tolerance);
    row("target", format!("{} ± {tolerance}", advance(job.target_degrees(), 1)));
    if let Some(scatter) = reading.scatter {
        row("scatter", format!("{scatter:.2}° from spark to spark"));
    }
    if let Some(rpm) = reading.rpm {
        row("speed", format!("{rpm:.0} rpm, {} turns followed", reading.revolutions));
    }
    let rate = match reading.sparks_per_revolution {
        Some(rate) => format!("; {rate:.2} a turn"),
        None => String::new(),
    };
    let left_out = match reading.sparks_rejected {
        0 => String::new(),
        left_out => format!(", {left_out} left out (speed changing, later strikes, noise)"),
    };
    row("sparks", format!("{} used{left_out}{rate}", reading.sparks_used));
    row("crank edges", format!("{} rejected", reading.edges_rejected));
    if let Some(volts) = reading.battery_v {
        row("supply", format!("{volts:.1} V"));
    }
    if let Some(trend) = &outcome.report.trend {
        row("with speed", trend_in_words(trend));
    }
    if let Some(balance) = outcome.report.balance.as_ref().filter(|balance| balance.share.len() > 1) {
        row("cylinders", balance_in_words(balance));
    }
    row(
        "capture",
        format!("{:.1} s{}", outcome.seconds(), if outcome.outline.truncated { ", cut" } else { "" }),
    );
    rows
}

fn trend_in_words(trend: &SpeedTrend) -> String {
    let slope = trend.deg_per_1000rpm;
    let from_to = format!("from {:.0} to {:.0} rpm", trend.rpm_low, trend.rpm_high);
    if slope.abs() <= 2.0 * trend.slope_uncertainty {
        return format!(
            "no change beyond its doubt, ± {:.2}° per 1000 rpm ({from_to})",
            2.0 * trend.slope_uncertainty
        );
    }
    let word = if slope < 0.0 { "loses" } else { "gains" };
    let delay = if slope < 0.0 {
        format!(", as a fixed delay of {:.0} µs would", trend.delay_us.abs())
    } else {
        String::new()
    };
    format!("{word} {:.2}° per 1000 rpm{delay} ({from_to})", slope.abs())
}

fn balance_in_words(balance: &Balance) -> String {
    let percent = |share: &f32| (share * 100.0).max(0.0);
    let shares: Vec<String> = (1..)
        .zip(&balance.share)
        .map(|(cylinder, share): (u8, _)| format!("{cylinder}: {:.0} %", percent(share)))
        .collect();
    let weak: Vec<String> = balance.weak.iter().map(u8::to_string).collect();
    match weak.is_empty() {
        true => format!("{} of an equal share", shares.join(", ")),
        false => format!("{} of an equal share; weak: {}", shares.join(", "), weak.join(", ")),
    }
}
