//! Each kind of control, from a badly set engine to a record within tolerance.

use keyway_core::job::{Control, SparkKind};
use keyway_core::judge::Verdict;
use keyway_core::view::{Mark, StepId};

use crate::support::{found, found_of, play, spec};

#[test]
fn a_computer_job_ends_in_a_record_within_tolerance() {
    let spec = spec(Control::Computer);
    let played = play(&spec, found(&spec, -7.0, |_| {}), &[]);
    let record = played.on_target(&spec);
    assert_eq!(record.step(StepId::BaseLink), Mark::Told, "the link is told, its step proven");
    assert_eq!(record.step(StepId::BaseBlip), Mark::Proven);
    assert_eq!(record.step(StepId::ClampBlip), Mark::Proven);
    assert_eq!(record.step(StepId::ControlBlip), Mark::Proven);
    assert!(!played.bench.engine.controls().base_mode, "control is given back");
    let before = record.before.map(|taken| taken.advance);
    assert!(before.is_some_and(|before| (before - 3.0).abs() < 1.0), "{before:?}");
    assert!(played.hands.halts.is_empty(), "{:?}", played.hands.halts);
}

#[test]
fn a_computer_job_that_is_on_target_never_loosens_the_bolt() {
    let spec = spec(Control::Computer);
    let played = play(&spec, found(&spec, 0.2, |_| {}), &[]);
    played.on_target(&spec);
    assert!(!played.hands.steps.contains(&StepId::Set));
}

#[test]
fn an_aftermarket_job_finds_the_fixed_delay_and_ends_within_tolerance() {
    let spec = spec(Control::Commanded);
    let played = play(&spec, found(&spec, 6.0, |_| {}), &[]);
    let record = played.on_target(&spec);
    assert_eq!(record.step(StepId::BlipFine), Mark::Proven);
    let delay = record.delay_us;
    assert!(delay.is_some_and(|(delay, doubt)| delay.abs() <= doubt + 20.0), "{delay:?}");
    assert!(!played.bench.engine.controls().hold_fixed);
}

#[test]
fn a_delay_is_found_by_the_sweep_entered_and_gone() {
    let spec = spec(Control::Commanded);
    let played = play(&spec, found(&spec, 4.0, |case| case.setup.spark.delay = 180e-6), &[]);
    let record = played.on_target(&spec);
    let delay = record.delay_us;
    assert!(delay.is_some_and(|(delay, doubt)| (delay - 180.0).abs() <= doubt + 25.0), "{delay:?}");
    assert!(played.bench.engine.setup().spark.delay.abs() < 60e-6);
    assert_eq!(record.step(StepId::BlipFine), Mark::Proven);
}

#[test]
fn an_aftermarket_job_without_a_distributor_changes_the_reference_angle() {
    let mut spec = spec(Control::Commanded);
    spec.engine.spark = SparkKind::Single;
    (spec.engine.rotor, spec.engine.housing_diameter_mm) = (None, None);
    let played = play(&spec, found(&spec, 5.0, |_| {}), &[]);
    played.on_target(&spec);
    assert!(played.hands.steps.contains(&StepId::Reference) && !played.hands.steps.contains(&StepId::Set));
}

#[test]
fn a_mechanical_job_draws_both_curves_and_ends_within_tolerance() {
    let spec = spec(Control::Mechanical);
    let played = play(&spec, found(&spec, 5.0, |_| {}), &[]);
    let record = played.on_target(&spec);
    assert!(record.curve_off.len() >= 5 && record.curve_on.len() >= 5, "{record:?}");
    assert!(played.bench.engine.controls().hose_on);
}

#[test]
fn jobs_of_every_kind_on_other_engines_end_within_tolerance() {
    let mut failed = Vec::new();
    for seed in 20..28 {
        for control in [Control::Computer, Control::Commanded, Control::Mechanical] {
            let spec = spec(control);
            let off = if seed % 2 == 0 { 5.5 } else { -4.5 };
            let played = play(&spec, found_of(seed, &spec, off, |_| {}), &[]);
            let setup = played.bench.engine.setup();
            let left = setup.spark.setting + 2.0 * played.bench.engine.controls().housing_deg;
            let verdict = played.bench.record().and_then(|record| record.verdict());
            println!(
                "{seed} {control:?} from {off} left {left:.2} {verdict:?} halts {:?}",
                played.hands.halts
            );
            let clean = played.hands.halts.is_empty();
            if !clean || verdict != Some(Verdict::OnTarget) || left.abs() > 1.0 {
                failed.push((seed, control, played.hands.steps.last().copied(), played.hands.halts.clone()));
            }
        }
    }
    assert!(failed.is_empty(), "{failed:?}");
}

#[test]
fn a_script_plays_a_whole_job_and_a_bad_line_is_named() {
    let folder = env!("CARGO_MANIFEST_DIR").to_owned() + "/../simulator/scenarios/";
    let scenario = folder.clone() + "weir-pump-six-set-out-of-base-mode.toml";
    let keys = folder + "forgotten-link.keys";
    let played = keyway::guide_play::run(scenario.as_ref(), keys.as_ref(), None);
    let (transcript, status) = played.unwrap_or_default();
    assert_eq!(status, 0, "{transcript}");
    assert!(transcript.contains("not in base mode.") && transcript.contains("as the bolt was tightened."));
    let wrong = keyway::guide_play::parse("wait 2\n\npress Nxt # typing");
    assert_eq!(wrong, Err((3, "read \"press Nxt\", expected the label of a key".to_owned())));
}

/// What is no engine to be set: one whose crank line shows edges while it stands, and one held on its starter.
const NEVER_READY: [&str; 2] = ["sluice-eight-interference", "weir-pump-six-cranking"];

#[test]
fn every_scenario_of_an_engine_that_can_be_set_is_worked_to_a_record() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../simulator/scenarios");
    let entries = std::fs::read_dir(&folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    let mut stuck = Vec::new();
    let mut worked = 0;
    for path in entries.filter_map(|entry| entry.ok().map(|entry| entry.path())) {
        let name = path.file_stem().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        if path.extension().is_none_or(|kind| kind != "toml") || NEVER_READY.contains(&name.as_str()) {
            continue;
        }
        let played = keyway::guide_play::run(&path, &folder.join("whole-job.keys"), None);
        worked += 1;
        match played {
            Ok((transcript, 0)) if transcript.contains("record 1: found") => {}
            Ok((transcript, status)) => {
                stuck.push(format!("{name}: {status}, {}", transcript.lines().last().unwrap_or_default()));
            }
            Err(error) => stuck.push(format!("{name}: {error}")),
        }
    }
    assert!(stuck.is_empty() && worked >= 12, "{worked} worked, stuck:\n{}", stuck.join("\n"));
}
