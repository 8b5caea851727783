//! The page, section by section.

use super::{Origin, cautions, entered, gauge};
use crate::read::Outcome;
use crate::read::words::causes::{capitalised, in_full, less_likely, name_of, percent, together};
use crate::read::words::{self, advance, correction};
use keyway_core::job::Job;
use keyway_core::judge::{Judgement, Verdict};
use keyway_core::reading::Status;
use maud::{DOCTYPE, Markup, PreEscaped, html};

const STYLE: &str = include_str!("style.css");

/// The whole page. `picture` is the plot, an SVG of our own writing.
pub(super) fn page(origin: &Origin, job: &Job, outcome: &Outcome, picture: &str) -> String {
    let name = job.spec().name.as_str();
    let judgement = &outcome.report.judgement;
    let given = outcome.report.reading.status == Status::Given;
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Timing reading: " (name) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    div { p.kind { "Base timing: a reading" } h1 { (name) } }
                    dl.by-hand {
                        @for field in ["Date", "Engine no.", "Read by"] { dt { (field) } dd {} }
                    }
                }
                main {
                    (result(job, outcome))
                    @if given { (what_to_set(job, outcome)) } @else { (withheld(job, outcome)) }
                    @if !judgement.causes.is_empty() { (explanation(judgement)) }
                    @if let Some(check) = judgement.next_check {
                        section.next { h2 { "Next check" } p { (check) } }
                    }
                    (cautions(outcome))
                    (as_entered(job))
                    div.facts { (numbers(job, outcome)) (capture(origin, outcome)) }
                    section.pictures {
                        h2 { "Every spark" }
                        (inline(picture))
                    }
                }
                footer {
                    p { (cautions::FIRST) }
                    p { "keyway " (env!("CARGO_PKG_VERSION")) }
                }
            }
        }
    };
    page.into_string()
}

/// The number, its word, and the sentence.
fn result(job: &Job, outcome: &Outcome) -> Markup {
    let reading = &outcome.report.reading;
    let judgement = &outcome.report.judgement;
    html! {
        section.result {
            div.number {
                @match reading.advance {
                    Some(measured) => {
                        p.value { (advance(measured.degrees(), 1)) }
                        @if let Some(doubt) = reading.uncertainty { p.doubt { "± " (format!("{doubt:.2}°")) " (95 %)" } }
                    }
                    None => { p.value { "No reading" } }
                }
                p.verdict { (verdict(job, outcome)) }
            }
            div.words {
                p.sentence { (words::opening_line(job, outcome)) }
                @for remark in words::remarks(job, outcome) { p { (remark) } }
                @if let (Some(error), Some(doubt)) = (judgement.error, reading.uncertainty) {
                    (inline(&gauge::strip(job.target_degrees(), job.spec().timing.tolerance, error, doubt)))
                }
            }
        }
    }
}

/// The verdict in a word or two.
fn verdict(job: &Job, outcome: &Outcome) -> String {
    let judgement = &outcome.report.judgement;
    let target = advance(job.target_degrees(), 1);
    match (judgement.verdict, judgement.error) {
        _ if outcome.report.reading.status == Status::Withheld => format!("target {target}"),
        _ if judgement.base_mode_unproven => "not proven to be the base".into(),
        (Some(Verdict::OnTarget), _) => "on target".into(),
        (Some(Verdict::Late), Some(error)) => format!("{:.1}° late", error.abs()),
        (Some(Verdict::Early), Some(error)) => format!("{:.1}° early", error.abs()),
        _ => "cranking: no verdict".into(),
    }
}

fn withheld(job: &Job, outcome: &Outcome) -> Markup {
    html! {
        section.withheld {
            h2 { "What is withheld, and why" }
            p { "The advance, its ±, the verdict and any correction are withheld: a number is printed only where it can be stood behind. Nothing is to be turned by this page." }
            @for (why, what_to_do) in words::reasons(job, &outcome.report.reading) {
                p { strong { (capitalised(&why)) "." } " " (what_to_do) }
            }
        }
    }
}

/// The correction in words and in its parts.
fn what_to_set(job: &Job, outcome: &Outcome) -> Markup {
    let report = &outcome.report;
    let sentence = correction::sentence(job, report);
    html! {
        section.correction {
            h2 { "Correction" }
            p { (sentence.as_deref().unwrap_or("None to make.")) }
            @if let Some((movement, turn)) = correction::to_turn(report) {
                table.parts {
                    tr {
                        th { "at the crank" } th { "at the housing" }
                        @if movement.rim_mm.is_some() { th { "at its rim" } }
                        th { "turn it, facing the cap" }
                    }
                    tr {
                        td {
                            (format!("{:.1}° ", movement.crank_deg.abs()))
                            @if movement.crank_deg > 0.0 { "to advance" } @else { "to retard" }
                        }
                        td { (format!("{:.1}°", movement.housing_deg.abs())) }
                        @if let Some(rim) = movement.rim_mm { td { (format!("{:.1} mm", rim.abs())) } }
                        td { (correction::way(turn)) }
                    }
                }
            }
        }
    }
}

fn explanation(judgement: &Judgement) -> Markup {
    html! {
        section.causes {
            h2 { "What explains it" }
            table {
                thead { tr { th {} th { "Cause" } th { "Because" } th { "What to do" } } }
                tbody {
                    @for cause in in_full(judgement) {
                        tr {
                            td.share {
                                (percent(cause.probability))
                                div.bar { div style=(format!("width:{:.0}%", cause.probability * 100.0)) {} }
                            }
                            td { strong { (capitalised(name_of(cause.id))) } }
                            td { (cause.because) }
                            td { (cause.remedy) }
                        }
                    }
                }
            }
            @for line in less_likely(judgement).into_iter().chain(together(judgement)) { p { (line) } }
        }
    }
}

fn numbers(job: &Job, outcome: &Outcome) -> Markup {
    html! {
        section.numbers {
            h2 { "The numbers" }
            table {
                // Engine and length of the capture stand elsewhere on the page.
                @for (name, value) in words::rows(job, outcome) {
                    @if name != "engine" && name != "capture" { tr { th { (name) } td { (value) } } }
                }
            }
            @if outcome.report.reading.advance.is_some() { p.small { (words::exact()) } }
        }
    }
}

fn as_entered(job: &Job) -> Markup {
    html! {
        section.job {
            h2 { "The job as entered" }
            div.columns {
                @for (title, rows) in entered::groups(job) {
                    div {
                        h3 { (title) }
                        table { @for (name, value) in rows { tr { th { (name) } td { (value) } } } }
                    }
                }
            }
        }
    }
}

fn capture(origin: &Origin, outcome: &Outcome) -> Markup {
    let outline = &outcome.outline;
    html! {
        section.capture {
            h2 { "The capture" }
            table {
                tr { th { "recorded in" } td { (origin.capture) } }
                tr { th { "job file" } td { (origin.job) } }
                tr { th { "signals" } td { (origin.signals) } }
                tr { th { "length" } td { (format!("{:.1} s", outcome.seconds())) } }
                tr { th { "time step" } td { (format!("{} µs", outline.step_ticks / 10.0)) } }
                tr {
                    th { "complete" }
                    td { @if outline.truncated { "no: the file ends in the middle" } @else { "yes" } }
                }
            }
        }
    }
}

fn cautions(outcome: &Outcome) -> Markup {
    html! {
        section.cautions {
            h2 { "Before anyone reaches in" }
            dl { @for (about, words) in cautions::of(outcome) { div { dt { (about) } dd { (words) } } } }
        }
    }
}

/// A picture of our own as part of the page, where SVG needs no name space.
fn inline(picture: &str) -> Markup {
    PreEscaped(picture.replacen(" xmlns=\"http://www.w3.org/2000/svg\"", "", 1))
}
