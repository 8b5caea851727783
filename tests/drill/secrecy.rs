//! One seed gives a class one engine, and nothing is told before the answer is committed.

use super::{session, truth_of, work};
use keyway::drill::{Level, all};
use keyway_core::judge::CauseId;
use keyway_core::words::cause_title;

#[test]
fn the_same_seed_is_the_same_engine_and_another_seed_another() {
    for drill in all().unwrap_or_default() {
        let cases = [drill.case(12), drill.case(12), drill.case(13)];
        let [one, same, other] = cases.map(|case| case.unwrap_or_else(|error| panic!("{error}")));
        assert_eq!(one, same, "{}", drill.name);
        assert_ne!(one.setup, other.setup, "{}", drill.name);
    }
    assert_eq!(truth_of("weir-pump", 12), truth_of("weir-pump", 12));
    assert_ne!(truth_of("weir-pump", 12).housing_deg, truth_of("weir-pump", 13).housing_deg);
    let lines = |seed| {
        let mut run = session("lock-gate-kicks", seed, Level::Strobe);
        work(&mut run, "wait 2\nkey off\nwait 3");
        run.lines().to_vec()
    };
    assert_eq!(lines(3), lines(3));
}

#[test]
fn the_truth_is_refused_until_an_answer_is_committed() {
    let mut run = session("spare-pump", 7, Level::Causes);
    let refused = run.truth().map(|_| ()).map_err(|error| error.to_string());
    assert_eq!(refused, Err("commit cause, evidence, way to turn and housing degrees first".into()));
    work(&mut run, "commit off-target steady-off clockwise 3");
    assert_eq!(run.truth().map(|truth| truth.causes.clone()), Ok(vec![CauseId::SetAfterTdc]));
    let again = keyway::drill::parse("commit set-after-tdc twice-the-target none 0");
    let again = again.unwrap_or_default();
    assert!(again.iter().all(|(_, deed)| run.carry_out(deed).is_err()), "the answer stands");
}

#[test]
fn whoever_finishes_without_an_answer_is_told_and_gets_nothing_for_it() {
    let mut run = session("spare-pump", 7, Level::Strobe);
    work(&mut run, "wait 1\nfinish");
    assert!(run.truth().is_ok() && run.outcome().is_some());
    let table = run.finish().table();
    assert_eq!(table.matches("nothing was committed").count(), 4, "{table}");
    assert!(run.carry_out(&keyway::drill::Deed::Hint).is_err(), "the bench stands");
}

#[test]
fn the_lines_of_the_harder_levels_name_no_cause() {
    for level in [Level::Number, Level::Strobe] {
        let mut run = session("gantry-reads-wild", 7, level);
        let script = match level {
            Level::Strobe => "wait 3\nlink base\nwait 3".to_owned(),
            _ => run
                .drill()
                .model_run
                .lines()
                .take_while(|line| !line.starts_with("commit"))
                .collect::<Vec<_>>()
                .join("\n"),
        };
        work(&mut run, &script);
        let lines: Vec<&str> = run.lines().iter().map(|(_, line)| line.as_str()).collect();
        assert!(lines.len() > 2);
        for cause in CauseId::ALL {
            let named = lines.iter().find(|line| line.contains(cause_title(cause)));
            assert_eq!(named, None, "{level:?}");
        }
        assert!(!lines.iter().any(|line| line.contains("clamp looks to be")), "{lines:#?}");
    }
}

#[test]
fn at_the_strobe_the_handheld_is_covered_and_the_scale_is_what_is_seen() {
    let mut run = session("weir-pump", 7, Level::Strobe);
    assert!(run.view().is_none());
    work(&mut run, "link base\nwait 3");
    let base = truth_of("weir-pump", 7).base.unwrap_or(f64::NAN);
    let seen = run.strobe().unwrap_or(f64::NAN);
    assert!((seen - base).abs() <= 1.5 && seen.fract() == 0.0, "{seen} of {base}");
    let press = keyway::drill::parse("press Next").unwrap_or_default();
    assert!(press.iter().all(|(_, deed)| run.carry_out(deed).is_err()));
}
