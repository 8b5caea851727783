//! `keyway make`: what it writes reads back, and every scenario of our own can be made.

mod support;

use keyway::job_file;
use keyway::make;
use keyway::scenario;
use keyway_core::job::{CrankSpec, JobSpec};
use std::path::{Path, PathBuf};

fn scenarios() -> Vec<PathBuf> {
    let folder = support::scenario_path("x").parent().expect("a folder").to_owned();
    let mut paths: Vec<PathBuf> = std::fs::read_dir(folder)
        .expect("scenarios")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "toml"))
        .collect();
    paths.sort();
    paths
}

/// A folder of this test's own, emptied by the system.
fn folder(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::create_dir_all(&folder).expect("a folder");
    folder
}

/// Runs `keyway read --json` on what was made.
fn read(capture: &Path) -> (u8, serde_json::Value) {
    let job = capture.with_extension("job.toml");
    let arguments =
        ["keyway".as_ref(), "read".as_ref(), capture.as_os_str(), "--job".as_ref(), job.as_os_str()];
    let arguments = arguments.into_iter().chain([std::ffi::OsStr::new("--json")]);
    let (mut out, mut errors) = (Vec::new(), Vec::new());
    let status = keyway::command::run(arguments, &mut out, &mut errors);
    assert_ne!(status, 2, "{}", String::from_utf8_lossy(&errors));
    (status, serde_json::from_slice(&out).expect("one object"))
}

#[test]
fn a_dozen_scenarios_teach_something_each_and_can_be_made() {
    let paths = scenarios();
    assert!(paths.len() >= 12, "{}", paths.len());
    for path in paths {
        let text = std::fs::read_to_string(&path).expect("text");
        assert!(text.starts_with("# Teaches: "), "{} says what it teaches", path.display());
        if let Err(error) = scenario::file(&path) {
            panic!("{}", error.in_file(&path.display().to_string()));
        }
    }
}

#[test]
fn what_is_made_is_read_back_at_the_truth() {
    let folder = folder("made");
    for name in ["weir-pump-six-healthy", "lock-gate-four-rough", "weir-pump-six-set-out-of-base-mode"] {
        let capture = folder.join(format!("{name}.vcd"));
        let truth = make::run(&support::scenario_path(name), &capture).expect("a capture");
        let (_, result) = read(&capture);
        let found = result["reading"]["advance_btdc_deg"].as_f64().expect("a number");
        let expected = truth.advance_btdc_deg.expect("a truth");
        assert!((found - expected).abs() < 0.25, "{name}: {found}, truth {expected}");
    }
}

#[test]
fn every_scenario_is_read_as_what_it_is() {
    let folder = folder("told");
    for path in scenarios() {
        let capture = folder.join(path.file_stem().expect("a name")).with_extension("vcd");
        let truth = make::run(&path, &capture).expect("a capture");
        let (_, result) = read(&capture);
        let reasons = result["reading"]["withheld_because"].as_array().expect("a list");
        match truth.withheld {
            Some(reason) => assert_eq!(reasons.first(), Some(&reason.into()), "{}", path.display()),
            None => assert!(reasons.is_empty(), "{}", path.display()),
        }
        // While cranking and while withheld nothing is judged.
        if !result["verdict"].is_null() {
            let first = result["causes"][0]["id"].as_str().expect("a cause");
            assert!(truth.causes.contains(&first), "{}: {first}", path.display());
        }
    }
}

#[test]
fn the_job_file_beside_a_capture_reads_back_as_the_same_job() {
    for path in scenarios() {
        let case = scenario::file(&path).expect("a scenario");
        let text = job_file::write::text(&case.job);
        let back = job_file::read::job(&text).expect("a job file");
        assert_eq!(back.spec(), &case.job, "{}", path.display());
    }
}

#[test]
fn odd_values_of_a_job_survive_writing() {
    let mut spec: JobSpec =
        support::job(7, 4, keyway_core::job::SparkKind::Distributor, keyway_core::job::Control::Computer);
    spec.name = "Say \"seven\" \\ 7".try_into().expect("a short name");
    spec.timing.base_btdc = -0.1;
    spec.timing.extra = 1.0e-3;
    spec.engine.reference = Some(keyway_core::job::Reference::Crank);
    spec.engine.housing_diameter_mm = Some(71.25);
    spec.crank = CrankSpec::Marks([-179.9, 33.3, 359.0].into_iter().collect());
    spec.sensor_delay_us = -12.5;
    spec.base_mode = Some(false);
    let back = job_file::read::job(&job_file::write::text(&spec)).expect("a job file");
    assert_eq!(back.spec(), &spec);
}

#[test]
fn the_truth_has_the_keys_of_the_contract() {
    let capture = folder("truth").join("interference.vcd");
    let truth = make::run(&support::scenario_path("sluice-eight-interference"), &capture).expect("a capture");
    let object = serde_json::to_value(&truth).expect("an object");
    let keys: Vec<&str> = object.as_object().expect("an object").keys().map(String::as_str).collect();
    let mut expected = ["seed", "target_btdc_deg", "advance_btdc_deg", "causes", "withheld"];
    expected.sort_unstable();
    assert_eq!(keys, expected);
    assert_eq!(object["withheld"], "interference");
    assert_eq!(object["causes"], serde_json::json!(["none"]));
}

#[test]
fn a_scenario_that_cannot_be_or_a_place_that_cannot_be_written_is_one_line() {
    let folder = folder("wrong");
    let path = folder.join("wrong.toml");
    std::fs::write(&path, "name = \"x\"\nspeed = 3\n").expect("written");
    let error = make::run(&path, &folder.join("x.vcd")).expect_err("an unknown key").to_string();
    assert!(error.contains("wrong.toml:2: speed: read an unknown key, allowed name, engine"), "{error}");
    assert!(!error.contains('\n'));
    let good = support::scenario_path("weir-pump-six-healthy");
    let error = make::run(&good, &folder.join("none").join("x.vcd")).expect_err("no folder").to_string();
    assert!(error.contains("cannot be written") && !error.contains('\n'), "{error}");
}
