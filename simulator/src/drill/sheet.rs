//! The score sheet: one run as a page to print, sign and file.
//!
//! A single file without script or network, like the page of a reading. Whatever a person typed is escaped
//! by the library that writes it.

use super::debrief::clock;
use super::log::Kind;
use super::marks::{CRITERIA, PASS};
use super::outcome::Outcome;
use super::timeline;
use maud::{DOCTYPE, Markup, PreEscaped, html};

const STYLE: &str = include_str!("sheet.css");

/// The page.
pub fn sheet(outcome: &Outcome) -> String {
    let notes = &outcome.drill.notes;
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Score sheet: " (notes.title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    div {
                        p.kind { "Base timing drill " (outcome.drill.number) " of the training hall" }
                        h1 { (notes.title) }
                        p { (notes.story) }
                    }
                    dl.run {
                        dt { "Trainee" } dd { (outcome.trainee) }
                        dt { "Assessor" } dd {}
                        dt { "Date" } dd {}
                        dt { "Engine" } dd { (outcome.job.name.as_str()) ", seed " (outcome.seed) }
                        dt { "Level" } dd { (outcome.level.words()) }
                        dt { "Time" } dd { (clock(outcome.seconds)) " of " (notes.minutes) ":00" }
                    }
                }
                (result(outcome))
                section {
                    h2 { "The run" }
                    (PreEscaped(timeline::draw(outcome)))
                }
                (criteria(outcome))
                (answer(outcome))
                (log(outcome))
                section.remarks { h2 { "Assessor's remarks" } div.rule {} div.rule {} }
                section.signatures {
                    div { p { "Trainee, signature and date" } }
                    div { p { "Assessor, signature and date" } }
                }
                footer {
                    p { "A simulated engine: on a real one the vehicle's label and manual, local rules and a licensed technician's judgement go first." }
                    p { "keyway " (env!("CARGO_PKG_VERSION")) ", drill " (outcome.drill.name) }
                }
            }
        }
    };
    page.into_string()
}

fn result(outcome: &Outcome) -> Markup {
    let marks = &outcome.marks;
    html! {
        section.result {
            div.number {
                p.value { (format!("{:.0}", marks.total)) " of 100" }
                p.verdict { (outcome.word()) }
            }
            div.words {
                @if marks.critical.is_empty() {
                    p { "No critical error. " (PASS) " marks and half of the steps pass." }
                } @else {
                    p.sentence { "Failed by a critical error, whatever the marks:" }
                    ul { @for critical in &marks.critical { li { (critical.words()) } } }
                }
                h3 { "What the customer gets" }
                @for sentence in &outcome.left.owner { p { (sentence) } }
            }
        }
    }
}

fn criteria(outcome: &Outcome) -> Markup {
    html! {
        section.criteria {
            h2 { "Marks" }
            table.marks {
                thead { tr { th { "Criterion" } th { "Marks" } th { "Found" } th { "How it is counted" } } }
                tbody {
                    @for (mark, (_, _, _, how)) in outcome.marks.marks.iter().zip(CRITERIA) {
                        tr {
                            th { (mark.name) }
                            td.figure { (format!("{:.1} of {:.0}", mark.got, mark.most)) }
                            td { (mark.why) }
                            td.how { (how) }
                        }
                    }
                    @if outcome.marks.hints > 0.0 {
                        tr { th { "Hints" } td.figure { (format!("-{:.0}", outcome.marks.hints)) } td { "taken off" } td.how { "each has its cost" } }
                    }
                    tr.sum { th { "Sum" } td.figure { (format!("{:.1} of 100", outcome.marks.total)) } td colspan="2" { (outcome.marks.word()) } }
                }
            }
        }
    }
}

fn answer(outcome: &Outcome) -> Markup {
    html! {
        section.answer {
            div { h2 { "Committed" } p { (outcome.answer()) } }
            div { h2 { "Right" } p { (outcome.causes()) "; " (outcome.right_turn()) } p { (outcome.drill.notes.expected_evidence) } }
        }
    }
}

fn log(outcome: &Outcome) -> Markup {
    html! {
        section.log {
            h2 { "What was done, with the truth at that moment" }
            table {
                thead { tr { th { "No." } th { "Time" } th { "Act" } th { "True advance" } } }
                tbody {
                    @for (place, entry) in outcome.entries.iter().enumerate() {
                        tr.critical[entry.kind == Kind::Critical].guide[entry.kind == Kind::Guide] {
                            td { (place + 1) }
                            td { (clock(entry.at)) }
                            td { (entry.what) }
                            td { (outcome.truth_at(entry)) }
                        }
                    }
                }
            }
        }
    }
}
