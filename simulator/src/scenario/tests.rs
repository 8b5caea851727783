use super::scenario;

const GOOD: &str = r#"name = "Weir pump four"

[engine]
cylinders = 4
firing_order = [1, 3, 4, 2]
spark = "distributor"
rotor = "clockwise"

[timing]
control = "computer"
base_btdc = 10.0
calibration = "stock"
extra = 0.0
tolerance = 1.0
harness_offset = 10.0
idle_rpm = [600, 900]

[crank]
teeth = 36
missing = 1
first_edge_btdc = 84.0
active_edge = "rising"

[spark_pickup]
active_edge = "rising"

[run]
seed = 3
"#;

fn refused(addition: &str) -> String {
    match scenario(&format!("{GOOD}{addition}")) {
        Ok(_) => "accepted".into(),
        Err(error) => error.in_file("x.toml").to_string(),
    }
}

#[test]
fn a_scenario_without_the_simulators_own_sections_is_a_healthy_engine() {
    let case = scenario(GOOD).expect("a good scenario");
    assert!(case.faults.is_empty());
    assert_eq!(case.setup.seed, 3);
    assert_eq!(case.seconds, 10.0);
}

#[test]
fn a_mistake_is_named_with_its_line_its_key_what_was_read_and_what_is_allowed() {
    for (addition, expected) in [
        ("secondz = 4\n", "x.toml:29: run.secondz: read an unknown key, allowed seed, seconds, start"),
        ("seconds = 0\n", "x.toml:29: run.seconds: read 0, allowed 0.1 to 3600"),
        ("[model]\nidle_rpm = \"slow\"\n", "x.toml:30: model.idle_rpm: read \"slow\", allowed 300 to 9000"),
        ("[[fault]]\nseverity = 0.5\n", "x.toml:29: fault.id: read nothing, allowed the id of a cause"),
        (
            "[[fault]]\nid = \"gremlins\"\n",
            "x.toml:30: fault.id: read \"gremlins\", allowed none, off-target",
        ),
        (
            "[[fault]]\nid = \"mechanism-advancing\"\n",
            "x.toml:30: fault.id: read \"mechanism-advancing\", allowed this fault only with weights and vacuum",
        ),
        ("[[fault]]\nid = \"none\"\nseverity = 1.5\n", "x.toml:31: fault.severity: read 1.5, allowed 0 to 1"),
        (
            "[[do]]\nat = 1.0\nclamp = \"5\"\n",
            "x.toml:31: do.clamp: read \"5\", allowed \"off\", \"coil\", or",
        ),
        ("[[blip]]\nthrottle = 0.2\n", "x.toml:29: blip.at: read nothing, allowed 0 to 10"),
        ("fault = 3\n", "x.toml:29: run.fault: read an unknown key"),
    ] {
        let found = refused(addition);
        assert!(found.starts_with(expected), "{found}\nexpected: {expected}");
    }
}

#[test]
fn a_mistake_in_the_jobs_part_is_named_as_in_a_job_file() {
    let text = GOOD.replace("teeth = 36", "teeth = 3");
    let error = scenario(&text).expect_err("three teeth").in_file("x.toml").to_string();
    assert_eq!(error, "x.toml:19: crank.teeth: read 3, allowed 4 to 120");
    let text = GOOD.replace("seed = 3", "seed = -3");
    let error = scenario(&text).expect_err("a negative seed").in_file("x.toml").to_string();
    assert_eq!(error, "x.toml:28: run.seed: read -3, allowed a whole number, 0 or more");
}
