//! What a trainee can do wrong: errors that fail the drill, turns that were not needed, steps skipped,
//! things left undone. Every one of them stays possible.

use super::{session, truth_of, work};
use keyway::drill::{Criterion, Critical, Level};
use keyway_core::view::CautionId;

/// Works at a healthy engine without the handheld, and says what failed it.
fn critical_after(script: &str, level: Level) -> Vec<Critical> {
    let mut run = session("sluice-after-service", 5, level);
    work(&mut run, script);
    let outcome = run.finish();
    assert!(!outcome.marks.passed);
    assert!(outcome.marks.critical.is_empty() || outcome.table().contains("Critical error"));
    outcome.marks.critical.clone()
}

#[test]
fn speed_raised_with_the_bolt_loose_fails() {
    let blip = "throttle 0.12\nwait 1\nthrottle 0\nwait 2\n";
    assert_eq!(critical_after(&format!("bolt loose\n{blip}"), Level::Strobe), [Critical::SpeedWithBoltLoose]);
    assert!(critical_after(blip, Level::Strobe).is_empty(), "with the bolt tight it is no error");
}

#[test]
fn a_lead_pulled_on_a_running_engine_fails_and_on_a_standing_one_does_not() {
    assert_eq!(critical_after("pull 3", Level::Strobe), [Critical::LeadPulledRunning]);
    assert!(critical_after("key off\nwait 4\npull 3\npush 3", Level::Strobe).is_empty());
}

#[test]
fn a_piston_stop_left_in_fails_whether_or_not_the_engine_turns() {
    let put_in = "key off\nwait 4\nstop in\n";
    assert_eq!(critical_after(put_in, Level::Strobe), [Critical::StopLeftIn]);
    assert_eq!(
        critical_after(&format!("{put_in}key on\nstarter on\nwait 1"), Level::Strobe),
        [Critical::StopLeftIn]
    );
    assert!(critical_after(&format!("{put_in}stop out"), Level::Strobe).is_empty());
}

#[test]
fn work_over_a_caution_that_was_not_acknowledged_fails() {
    let to_first_caution =
        "press Next\nchoose Choose an engine\npress Select\nwait 0.2\nchoose Start the job\n";
    let failed = critical_after(&format!("{to_first_caution}bolt loose"), Level::Causes);
    assert_eq!(failed, [Critical::CautionSkipped(CautionId::LabelFirst)]);
    assert!(
        critical_after(&format!("{to_first_caution}key off"), Level::Causes).is_empty(),
        "stopping is safe"
    );
}

#[test]
fn the_clamp_moved_on_a_running_engine_goes_against_its_caution() {
    assert_eq!(critical_after("lead 3", Level::Strobe), [Critical::CautionSkipped(CautionId::HoldHousing)]);
    assert!(critical_after("key off\nwait 4\nlead 3", Level::Strobe).is_empty());
}

#[test]
fn a_critical_error_fails_a_run_that_is_perfect_otherwise() {
    let mut run = session("weir-pump", 7, Level::Causes);
    let model = run.drill().model_run.replace("clips off", "pull 2\npush 2\nstop in\nstop out\nclips off");
    work(&mut run, &model.replace("pull 2", "key on\nstarter on\nwait 1.5\nstarter off\nwait 1\npull 2"));
    let outcome = run.finish();
    assert!(outcome.marks.total >= 70.0, "{}", outcome.table());
    assert!(outcome.marks.critical.contains(&Critical::LeadPulledRunning) && !outcome.marks.passed);
}

#[test]
fn turning_a_healthy_engine_loses_all_marks_for_needless_turns_and_more_where_it_is_left_off() {
    for (degrees, timing) in [("0.2", 25.0), ("3", 0.0)] {
        let mut run = session("sluice-after-service", 5, Level::Strobe);
        let script =
            format!("commit none steady-on-target none 0\nbolt loose\nhousing {degrees}\nwait 2\nbolt tight");
        work(&mut run, &script);
        let marks = &run.finish().marks;
        assert_eq!(marks.got(Criterion::NeedlessTurns), 0.0);
        assert_eq!(marks.got(Criterion::Timing), timing, "{degrees}");
    }
}

#[test]
fn way_and_degrees_count_for_nothing_once_the_housing_was_turned() {
    let truth = truth_of("weir-pump", 7);
    let turn = truth.turn.map_or("none", keyway_core::words::turn);
    let commit = format!("commit off-target steady-off {turn} {:.2}\n", truth.housing_deg);
    for (first, second, marks) in
        [(commit.as_str(), "housing 1\n", 5.0), ("housing 1\n", commit.as_str(), 0.0)]
    {
        let mut run = session("weir-pump", 7, Level::Strobe);
        work(&mut run, &format!("bolt loose\n{first}{second}bolt tight"));
        assert_eq!(run.finish().marks.got(Criterion::Way), marks);
        assert_eq!(run.finish().marks.got(Criterion::Degrees), marks);
    }
}

#[test]
fn things_left_undone_cost_five_each_and_are_named() {
    let mut run = session("sluice-after-service", 5, Level::Strobe);
    work(&mut run, "link base\nkey off\nwait 4\nclips off");
    let outcome = run.finish();
    assert_eq!(outcome.left.undone, ["the base-mode link was left as for reading the base"]);
    assert_eq!(outcome.marks.got(Criterion::Undone), 5.0);
    let mut run = session("sluice-after-service", 5, Level::Strobe);
    work(&mut run, "bolt loose");
    assert_eq!(run.finish().left.undone, ["the clamp bolt was left loose", "clips and leads were left on"]);
    assert_eq!(run.finish().marks.got(Criterion::Undone), 0.0);
}

#[test]
fn a_technician_without_the_handheld_can_get_full_marks_too() {
    let truth = truth_of("weir-pump", 7);
    let turn = truth.turn.map_or("none", keyway_core::words::turn);
    let early = truth.base.unwrap_or(0.0) > truth.target;
    let degrees = truth.housing_deg * if early { -1.0 } else { 1.0 };
    let start = "key on\nstarter on\nwait 1.5\nstarter off\nwait 3\n";
    let blip = "throttle 0.12\nwait 1\nthrottle 0\nwait 4\n";
    let script = format!(
        "key off\nwait 4\n{start}link base\nwait 4\n{blip}commit off-target steady-off {turn} {:.2}\n\
         bolt loose\nhousing {degrees:.2}\nwait 2\nbolt tight\n{blip}link back\n{blip}key off\nwait 4\n{start}\
         key off\nwait 4\nclips off\nfinish",
        truth.housing_deg
    );
    let mut run = session("weir-pump", 7, Level::Strobe);
    work(&mut run, &script);
    let outcome = run.finish();
    assert_eq!(outcome.marks.total, 100.0, "{}", outcome.table());
}

#[test]
fn minutes_over_the_time_allowed_cost_one_mark_each_and_never_more_than_five() {
    for (seconds, marks) in [(700, 5.0), (721, 4.0), (3500, 0.0)] {
        let mut run = session("weir-pump", 7, Level::Strobe);
        work(&mut run, &format!("key off\nwait {seconds}"));
        assert_eq!(run.finish().marks.got(Criterion::Time), marks, "{seconds}");
    }
}

#[test]
fn hints_are_told_in_order_and_taken_off_the_sum() {
    let mut run = session("weir-pump", 7, Level::Strobe);
    let costs: Vec<f64> = run.drill().hints.iter().map(|hint| hint.cost).collect();
    let first = run.hint().map(|(_, cost)| cost);
    assert_eq!(first, costs.first().copied());
    while run.hint().is_some() {}
    let without = session("weir-pump", 7, Level::Strobe).finish().marks.total;
    assert_eq!(run.finish().marks.total, without - costs.iter().sum::<f64>());
}

#[test]
fn a_right_guess_without_a_reading_passes_nothing() {
    for (name, guess) in [
        ("sluice-after-service", "commit none steady-on-target none 0\nclips off"),
        ("barge-dim", "commit weak-supply low-volts none 0\nload 0\nclips off"),
    ] {
        let mut run = session(name, 5, Level::Causes);
        work(&mut run, guess);
        let outcome = run.finish();
        assert_eq!(outcome.marks.got(Criterion::Cause), 20.0);
        assert!(!outcome.marks.passed, "{}", outcome.table());
        assert!(outcome.table().contains("fewer than half of the steps"), "{}", outcome.table());
    }
}

#[test]
fn turning_the_wrong_way_and_back_is_needless() {
    let truth = truth_of("spare-pump", 9);
    let right = truth.housing_deg;
    for (turns, marks) in [
        (vec![right], 10.0),
        // Three degrees the wrong way and back are six that lead nowhere; 1.5 of them are feeling.
        (vec![-3.0, 3.0 + right], 1.0),
        (vec![-3.0], 7.0),
    ] {
        let mut run = session("spare-pump", 9, Level::Strobe);
        let script: String = turns.iter().map(|degrees| format!("housing {degrees}\nwait 1\n")).collect();
        work(&mut run, &format!("bolt loose\n{script}bolt tight"));
        let outcome = run.finish();
        assert_eq!(outcome.marks.got(Criterion::NeedlessTurns), marks, "{turns:?}\n{}", outcome.table());
    }
}
