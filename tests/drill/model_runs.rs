//! A careful trainee gets full marks in every drill, on more than one engine; the usual wrong answer costs
//! what the table of marks says.

use super::{model_with, session, truth_of, work};
use keyway::drill::{Criterion, Level, all};
use keyway_core::judge::CauseId;

#[test]
fn every_model_run_gets_full_marks_on_several_engines() {
    for drill in all().unwrap_or_default() {
        for seed in [1, 7, 4711] {
            let mut run = session(drill.name, seed, Level::Causes);
            work(&mut run, drill.model_run);
            let outcome = run.finish();
            assert!(outcome.marks.passed, "{} {seed}\n{}", drill.name, outcome.table());
            assert_eq!(outcome.marks.total, 100.0, "{} {seed}\n{}", drill.name, outcome.table());
        }
    }
}

#[test]
fn the_usual_wrong_cause_costs_the_marks_for_the_cause_and_no_more() {
    for drill in all().unwrap_or_default() {
        let wrong = |line: &str| {
            let rest: Vec<&str> = line.split_whitespace().skip(2).collect();
            format!("commit {} {}", drill.notes.wrong_cause, rest.join(" "))
        };
        let mut run = session(drill.name, 7, Level::Causes);
        work(&mut run, &model_with(drill.name, wrong));
        let outcome = run.finish();
        assert_eq!(outcome.marks.got(Criterion::Cause), 0.0, "{}", drill.name);
        assert_eq!(outcome.marks.total, 80.0, "{}\n{}", drill.name, outcome.table());
    }
}

#[test]
fn wrong_evidence_wrong_way_and_wrong_degrees_cost_ten_five_and_five() {
    for (commit, total) in [
        ("commit off-target wide-scatter as-shown", 90.0),
        ("commit off-target steady-off none 0", 90.0),
        ("commit off-target steady-off clockwise 20", 95.0),
    ] {
        let mut run = session("weir-pump", 7, Level::Causes);
        work(&mut run, &model_with("weir-pump", |_| commit.to_owned()));
        let outcome = run.finish();
        assert_eq!(outcome.marks.total, total, "{commit}\n{}", outcome.table());
    }
}

#[test]
fn of_two_causes_each_counts_half() {
    let mut run = session("barge-late-season", 7, Level::Causes);
    let one = |line: &str| line.replace("weak-supply,", "");
    work(&mut run, &model_with("barge-late-season", one));
    assert_eq!(run.finish().marks.got(Criterion::Cause), 10.0);
}

#[test]
fn there_are_healthy_engines_and_faults_that_are_not_timing() {
    let truths: Vec<_> = all().unwrap_or_default().iter().map(|drill| truth_of(drill.name, 3)).collect();
    assert_eq!(truths.len(), 12);
    let healthy = truths.iter().filter(|truth| truth.causes == [CauseId::Healthy]).count();
    let other = |truth: &&keyway::drill::Truth| {
        matches!(truth.causes.as_slice(), [CauseId::WeakSupply] | [CauseId::DeadCylinder])
            && truth.turn.is_none()
    };
    assert!(healthy >= 2, "{healthy} healthy");
    assert!(truths.iter().filter(other).count() >= 2);
}

#[test]
fn a_worn_drive_and_a_distributor_a_tooth_out_are_among_them_and_are_not_turned_away() {
    for (drill, cause) in
        [("mill-race-pings", CauseId::WornDrive), ("lock-gate-kicks", CauseId::DriveToothOff)]
    {
        for seed in [1, 2, 7, 4711] {
            let truth = truth_of(drill, seed);
            assert_eq!(truth.causes, [cause], "{drill} {seed}");
            assert_eq!((truth.turn, truth.housing_deg), (None, 0.0), "{drill} {seed}: mended, not turned");
        }
        // Left as it was found it is a mark lost, or a number off.
        let mut run = session(drill, 7, Level::Causes);
        work(&mut run, &format!("commit {} steady-off none 0\nkey off\nwait 4\nclips off", cause.id()));
        let left = &run.finish().left;
        let off = left.base.is_none_or(|base| (base - truth_of(drill, 7).target).abs() > 3.0);
        assert!(off || left.undone.iter().any(|what| what.contains("worn drive")), "{left:?}");
    }
}

#[test]
fn a_distributor_is_only_taken_out_of_a_standing_engine() {
    let mut run = session("lock-gate-kicks", 7, Level::Causes);
    for act in ["tooth 1", "drive new"] {
        let deeds = keyway::drill::parse(act).unwrap_or_default();
        let refused = deeds.iter().find_map(|(_, deed)| run.carry_out(deed).err());
        assert!(refused.is_some_and(|why| why.contains("stop it first")), "{act}");
    }
    assert!(keyway::drill::parse("tooth 4").is_err() && keyway::drill::parse("drive old").is_err());
}

#[test]
fn the_names_and_titles_of_the_drills_tell_no_cause() {
    for drill in all().unwrap_or_default() {
        let told = format!("{} {}", drill.name, drill.notes.title).to_lowercase();
        for cause in CauseId::ALL {
            assert!(!told.contains(cause.id()), "{told}");
        }
        assert!(drill.hints.iter().all(|hint| hint.cost > 0.0) && !drill.hints.is_empty());
    }
}

#[test]
fn with_the_causes_covered_the_answer_can_be_worked_out_from_the_number() {
    let mut run = session("weir-pump", 7, Level::Number);
    work(&mut run, &model_with("weir-pump", |line| line.replace("as-shown", "as-read")));
    let outcome = run.finish();
    assert_eq!(outcome.marks.total, 100.0, "{}", outcome.table());
    let mut covered = session("weir-pump", 7, Level::Number);
    let until: Vec<&str> =
        covered.drill().model_run.lines().take_while(|line| !line.starts_with("commit")).collect();
    work(&mut covered, &until.join("\n"));
    let copied = keyway::drill::parse("commit off-target steady-off as-shown").unwrap_or_default();
    assert!(copied.iter().all(|(_, deed)| covered.carry_out(deed).is_err()), "the correction is covered");
}
