//! What a page must hold, whatever was read.

use super::*;
use crate::capture::{Format, Names};
use crate::read::{TimedSpark, measure};

const JOB: &str = include_str!("../../../demo/pump-six.job.toml");
const CAPTURE: &[u8] = include_bytes!("../../../demo/pump-six.vcd");
const SILENT: &[u8] = b"time_s,crank,spark1\n0,0,0\n2.5,0,0\n";

fn page(job: &str, capture: &[u8], format: Format) -> String {
    let job = crate::job_file::read::job(job).unwrap();
    let mut plot = Plot::new();
    let mut add = |spark: TimedSpark| plot.add(&spark);
    let outcome = measure(capture, format, &Names::default(), &job, Some(&mut add)).unwrap();
    let origin = Origin { capture: "a&b.vcd".into(), job: "<j>.toml".into(), signals: "crank: \"c\"".into() };
    page::page(&origin, &job, &outcome, &plot.draw(&job, &outcome, Heading::KeyAlone))
}

fn given() -> String {
    page(JOB, CAPTURE, Format::Vcd)
}

fn withheld() -> String {
    page(JOB, SILENT, Format::Csv)
}

#[test]
fn a_given_reading_has_every_section() {
    let page = given();
    for words in [
        "9.9° ATDC",
        "late",
        "Correction",
        "turn it, facing the cap",
        "at its rim",
        "What explains it",
        "The mark on the wrong side of zero was used",
        "Because",
        "What to do",
        "The numbers",
        "from spark to spark",
        "Every spark",
        "time from the first spark, s",
        "speed, rpm",
        "The job as entered",
        "36 slots, 1 missing",
        "The capture",
        "Before anyone reaches in",
        "Exhaust gas",
        "label and workshop manual",
        concat!("keyway ", env!("CARGO_PKG_VERSION")),
    ] {
        assert!(page.contains(words), "{words}");
    }
    assert!(page.starts_with("<!DOCTYPE html>") && page.ends_with("</html>"));
    assert!(!page.contains("NaN") && !page.contains("inf°"));
}

#[test]
fn a_withheld_reading_says_why_and_what_to_do_and_gives_nothing_to_turn() {
    let page = withheld();
    for words in [
        "No reading",
        "What is withheld, and why",
        "The crank pickup gives no edges",
        "check the crank pickup",
        "Every spark",
        "The job as entered",
        "Before anyone reaches in",
    ] {
        assert!(page.contains(words), "{words}");
    }
    for words in ["Correction", "turn it, facing the cap", "What explains it"] {
        assert!(!page.contains(words), "{words}");
    }
}

#[test]
fn a_hostile_name_stays_a_name() {
    let name = r#"<script>x('1')</script>&\"<b"#;
    let page = page(&JOB.replace("Weir pump six", name), CAPTURE, Format::Vcd);
    assert!(!page.contains("<script") && !page.contains("<b\""), "a tag of the name's own");
    assert!(page.contains("&lt;script&gt;x('1')&lt;/script&gt;&amp;&quot;&lt;b"));
    assert!(page.contains("a&amp;b.vcd") && page.contains("&lt;j&gt;.toml"));
}

#[test]
fn a_page_asks_for_nothing_outside_itself_and_runs_nothing() {
    for page in [given(), withheld()] {
        for outside in ["://", "src=", "href=", "@import", "url(", "<script", "<link", "<img", "<iframe"] {
            assert!(!page.contains(outside), "{outside}");
        }
        assert!(!["onload=", "onclick=", "onerror="].iter().any(|event| page.contains(event)));
    }
}

#[test]
fn every_tag_that_is_opened_is_closed_in_its_order() {
    for page in [given(), withheld()] {
        let mut open: Vec<&str> = Vec::new();
        for tag in page.split('<').skip(1).map(|rest| rest.split_once('>').unwrap().0) {
            let name = tag.trim_start_matches('/').split([' ', '/']).next().unwrap();
            match tag {
                _ if tag.starts_with('!') || tag.ends_with('/') || name == "meta" => {}
                _ if tag.starts_with('/') => assert_eq!(open.pop(), Some(name)),
                _ => open.push(name),
            }
        }
        assert!(open.is_empty(), "{open:?}");
    }
}
