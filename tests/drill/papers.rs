//! What is printed and kept: score sheet, class table, debrief, and the command line.

use super::work;
use keyway::drill::{Level, Session, append, named, sheet};
use keyway_tests::running::{Scratch, keyway};

const HOSTILE: &str = "=cmd(\"<script>alert('1')</script>\"),\n& \"quoted\"";

fn finished_by(trainee: &str, script: &str) -> Session {
    let started = named("sluice-no-pull").and_then(|drill| Session::start(drill, 7, Level::Strobe, trainee));
    let mut run = started.unwrap_or_else(|error| panic!("{error}"));
    work(&mut run, script);
    run.finish();
    run
}

#[test]
fn the_sheet_holds_what_is_signed_and_escapes_hostile_names() {
    let mut run = finished_by(HOSTILE, "commit none steady-on-target none 0\npull 2\nfinish");
    let page = sheet(run.finish());
    for words in [
        "Trainee",
        "Assessor",
        "signature and date",
        "seed 7",
        "True advance at the end",
        "How it is counted",
        "a lead pulled while the engine ran",
        "What the customer gets",
        "<svg",
        "failed",
    ] {
        assert!(page.contains(words), "{words}");
    }
    assert!(!page.contains("<script>") && page.contains("&lt;script&gt;"));
    assert!(
        !page.contains("http://")
            || page.matches("http://").count() == page.matches("http://www.w3.org/").count()
    );
}

#[test]
fn the_class_table_gets_one_row_a_trainee_and_tames_hostile_names() {
    let scratch = Scratch::new();
    let path = scratch.path("class.csv");
    let mut rows = Vec::new();
    for trainee in ["Ada Weir", HOSTILE, "-1+2"] {
        let mut run = finished_by(trainee, "commit none steady-on-target none 0\nfinish");
        assert_eq!(append(path.as_ref(), run.finish()), Ok(()));
        rows.push(run.finish().marks.total);
    }
    let text = std::fs::read_to_string(&path).unwrap_or_default();
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines.len(), 4, "{text}");
    assert!(lines[0].starts_with("trainee,drill,seed,level,result,total,true_advance_at_the_end,cause,"));
    assert!(lines[1].starts_with(&format!("Ada Weir,sluice-no-pull,7,strobe,failed,{:.1},", rows[0])));
    assert!(lines[2].starts_with("\"'=cmd(\"\"<script>"), "{}", lines[2]);
    assert!(lines[3].starts_with("'-1+2,"));
    let other = scratch.file("other.csv", "a,b\n1,2\n");
    let mut run = finished_by("Ada", "finish");
    let refused = append(other.as_ref(), run.finish());
    assert!(refused.is_err_and(|line| line.contains("found another table, expected")));
}

#[test]
fn the_debrief_lays_the_truth_over_the_run_and_says_what_the_customer_gets() {
    // Nothing is done: the number is right with the connector in, the base ten degrees low.
    let mut run =
        finished_by("Ada", "commit none steady-on-target none 0\nkey off\nwait 4\nclips off\nfinish");
    let outcome = run.finish();
    let text = outcome.debrief();
    for words in [
        "What was wrong: Set without base mode",
        "The answer: Nothing is wrong",
        "late: it starts hard, runs hot, pulls poorly and uses more fuel",
        "Whoever reads it with the connector in finds",
        "It idles at",
        "key off",
        "To talk about:",
    ] {
        assert!(text.contains(words), "{words}\n{text}");
    }
    let scene = outcome.scene(2.0);
    let error = scene.map(|scene| scene.error).unwrap_or(f64::NAN);
    assert!((error + 11.0).abs() < 1.0, "the computer adds 11 degrees: {error}");
    assert!(scene.is_some_and(|scene| !scene.on_target));
    let gaps = outcome.frames.windows(2).map(|pair| pair[1].at - pair[0].at);
    assert!(gaps.fold(0.0, f64::max) < 0.3, "a frame every fifth of a second");
}

#[test]
fn a_connector_left_as_for_setting_takes_the_advance_above_idle_from_the_customer() {
    let mut run = finished_by("Ada", "link base\nkey off\nwait 4\nclips off\nfinish");
    let text = run.finish().left.owner.join("\n");
    assert!(text.contains("no advance above idle"), "{text}");
    let mut run = finished_by("Ada", "bolt loose\nhousing 8\nwait 2\nbolt tight\nfinish");
    let text = run.finish().left.owner.join("\n");
    assert!(text.contains("pings under load"), "{text}");
}

#[test]
fn the_command_lists_runs_and_refuses_in_one_line() {
    let listed = keyway(&["drill", "--list"]);
    assert_eq!((listed.status, listed.out.lines().count()), (0, 12));
    let words = keyway(&["drill", "--words"]);
    assert!(words.out.contains("set-after-tdc") && words.out.contains("twice-the-target"), "{}", words.out);
    let scratch = Scratch::new();
    let acts = scratch.file("a.acts", "commit none steady-on-target none 0\nfinish\n");
    let (sheet, class) = (scratch.path("s.html"), scratch.path("c.csv"));
    let arguments = ["drill", "3", "--seed", "5", "--no-window", "--acts", &acts, "--trainee", "Ada"];
    let files = ["--sheet", &sheet, "--class", &class];
    let one = keyway(&[&arguments[..], &files].concat());
    assert_eq!(one.status, 1, "steps were skipped: {}", one.out);
    assert_eq!(one.out, keyway(&arguments).out, "one seed, one run");
    assert!(std::fs::read_to_string(&sheet).is_ok_and(|page| page.contains("Ada")));
    assert!(std::fs::read_to_string(&class).is_ok_and(|table| table.lines().count() == 2));
    let bad = scratch.file("b.acts", "wait 1\ncommit nothing steady-off none 0\n");
    let unknown = scratch.file("d.acts", "dance\n");
    let wrong_place = scratch.file("c.acts", "press Save\n");
    for (arguments, words) in [
        (vec!["drill", "no-such", "--no-window", "--acts", &acts], "read \"no-such\", expected 1 to 12"),
        (vec!["drill", "1", "--no-window", "--acts", &bad], "b.acts:2: read \"commit nothing"),
        (vec!["drill", "1", "--no-window", "--acts", &wrong_place], "c.acts:1: no key is labelled"),
        (
            vec!["drill", "1", "--no-window", "--acts", &unknown],
            "d.acts:1: read \"dance\", expected an act of a drill",
        ),
        (vec!["drill"], "read no name, expected"),
        (vec!["drill", "1", "--level", "all"], "--level: read \"all\", expected causes, number or strobe"),
        (vec!["drill", "1", "--no-window"], "expected --acts SCRIPT"),
        (vec!["drill", "1", "--no-window", "--acts", "nowhere.acts"], "nowhere.acts: cannot be read"),
    ] {
        let answer = keyway(&arguments);
        let line = answer.refusal();
        assert!(line.contains(words), "{line}");
    }
}
