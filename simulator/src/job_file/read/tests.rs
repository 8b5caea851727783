//! Job files that are right, and every way in which one can be wrong.

use super::*;

const GOOD: &str = r#"name = "Weir pump six"

[engine]
cylinders = 6
firing_order = [1, 5, 3, 6, 2, 4]
spark = "distributor"
rotor = "clockwise"

[timing]
control = "computer"
base_btdc = 10
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
"#;

/// The refusal of the good file with one line changed, as `line: message`.
fn changed(from: &str, to: &str) -> String {
    assert!(GOOD.contains(from), "{from}");
    let text = GOOD.replacen(from, to, 1);
    match job(&text) {
        Ok(_) => panic!("{to} was taken"),
        Err(error) => {
            let line = error.in_file("j").to_string();
            assert!(!line.contains('\n'), "{line}");
            line
        }
    }
}

#[test]
fn what_is_optional_may_be_left_out_and_takes_its_default() {
    let job = job(GOOD).unwrap();
    assert_eq!(job.spec().engine.strokes, 4);
    assert_eq!(job.spec().base_mode, None);
    assert_eq!((job.spec().sensor_delay_us, job.spec().spark_delay_us), (0.0, 0.0));
    assert_eq!(job.target_degrees(), 10.0);
    assert_eq!(job.spec().timing.idle_rpm, [600.0, 900.0]);
}

#[test]
fn line_ends_and_a_byte_order_mark_do_not_matter() {
    let text = format!("\u{feff}{}", GOOD.replace('\n', "\r\n"));
    assert_eq!(job(&text).unwrap(), job(GOOD).unwrap());
}

#[test]
fn every_key_that_is_not_optional_is_asked_for() {
    for line in GOOD.lines().filter(|line| line.contains('=')) {
        let key = line.split(' ').next().unwrap();
        let text = changed(&format!("{line}\n"), "");
        assert!(text.contains(&format!("{key}: read nothing, allowed ")), "{key}: {text}");
    }
    assert_eq!(
        changed("[spark_pickup]\nactive_edge = \"rising\"\n", ""),
        "j: spark_pickup: read nothing, allowed a section [spark_pickup]"
    );
}

#[test]
fn a_refusal_names_line_key_what_was_read_and_what_is_allowed() {
    for (from, to, expected) in [
        ("cylinders = 6", "cylinders = 300", "j:4: engine.cylinders: read 300, allowed 1 to 12"),
        ("cylinders = 6", "cylinders = -1", "j:4: engine.cylinders: read -1, allowed 1 to 12"),
        (
            "cylinders = 6",
            "cylinders = 6.0",
            "j:4: engine.cylinders: read 6.0, allowed a whole number from 1 to 12",
        ),
        (
            "base_btdc = 10",
            "base_btdc = 99999999999999999999",
            "j:11: timing.base_btdc: read 99999999999999999999, allowed -20 to 40",
        ),
        ("base_btdc = 10", "base_btdc = 41", "j:11: timing.base_btdc: read 41, allowed -20 to 40"),
        (
            "base_btdc = 10",
            "base_btdc = \"10\"",
            "j:11: timing.base_btdc: read \"10\", allowed a finite number",
        ),
        ("base_btdc = 10", "base_btdc = nan", "j:11: timing.base_btdc: read nan, allowed a finite number"),
        ("base_btdc = 10", "base_btdc = -inf", "j:11: timing.base_btdc: read -inf, allowed a finite number"),
        ("base_btdc = 10", "base_btdc = 1e39", "j:11: timing.base_btdc: read 1e39, allowed a finite number"),
        ("extra = 0.0", "extra = 0.0\nextra = 1.0", "j:14: read extra = 1.0 (duplicate key"),
        ("extra = 0.0", "extra 0.0", "j:13: read"),
        ("extra = 0.0", "extar = 0.0", "j:13: timing.extar: read an unknown key, allowed control,"),
        ("[crank]", "[wheel]", "j:18: wheel: read an unknown key, allowed name, engine,"),
        ("[crank]", "crank = 3\n[engine.crank]", "j:19: engine.crank: read an unknown key"),
        (
            "idle_rpm = [600, 900]",
            "idle_rpm = [600]",
            "j:16: timing.idle_rpm: read [600], allowed a list of two",
        ),
        (
            "idle_rpm = [600, 900]",
            "idle_rpm = [900, 600]",
            "j:16: timing.idle_rpm: read [900, 600], allowed the lower",
        ),
        (
            "[1, 5, 3, 6, 2, 4]",
            "[1, 5, 3, 6, 2]",
            "j:5: engine.firing_order: read [1, 5, 3, 6, 2], allowed each",
        ),
        ("[1, 5, 3, 6, 2, 4]", "[1, 5, 3, 6, 2, 2]", "j:5: engine.firing_order: read"),
        ("[1, 5, 3, 6, 2, 4]", "[1,2,3,4,5,6,7,8,9,10,11,12,13]", "j:5: engine.firing_order: read"),
        (
            "rotor = \"clockwise\"",
            "rotor = \"left\"",
            "j:7: engine.rotor: read \"left\", allowed \"clockwise\" or",
        ),
        ("\"distributor\"", "\"single\"", "j:7: engine.rotor: read \"clockwise\", allowed no rotor without"),
        (
            "calibration = \"stock\"\nextra = 0.0",
            "calibration = \"performance\"\nextra = 2",
            "j:13: timing.extra: read 2",
        ),
        (
            "\"computer\"",
            "\"commanded\"",
            "j:9: timing.commanded_btdc: read nothing, allowed the fixed value",
        ),
        ("\"computer\"", "\"mechanical\"", "j:15: timing.harness_offset: read 10.0, allowed 0"),
        (
            "teeth = 36",
            "teeth = 36\nmarks_btdc = [0]",
            "j:20: crank.marks_btdc: read [0], allowed either teeth",
        ),
        (
            "teeth = 36\nmissing = 1\nfirst_edge_btdc = 84.0",
            "",
            "j:18: crank.teeth: read nothing, allowed either teeth",
        ),
        ("84.0", "360", "j:21: crank.first_edge_btdc: read 360, allowed 0 or more and below 360"),
        ("\"Weir pump six\"", "\"\"", "j:1: name: read \"\", allowed a name"),
        (
            "\"Weir pump six\"",
            "\"A name that is far longer than the instrument can keep\"",
            "j:1: name: read",
        ),
        (
            "[spark_pickup]",
            "[context]\nbase_mode = 1\n[spark_pickup]",
            "j:25: context.base_mode: read 1, allowed true",
        ),
    ] {
        let text = changed(from, to);
        assert!(text.starts_with(expected), "{text}\n not {expected}");
    }
}

#[test]
fn marks_stand_in_place_of_a_wheel() {
    let marks = |list: &str| {
        let wheel = "teeth = 36\nmissing = 1\nfirst_edge_btdc = 84.0";
        job(&GOOD.replace(wheel, &format!("marks_btdc = {list}")))
    };
    assert!(marks("[0]").is_ok());
    assert!(marks("[60.0, 170, -100]").is_ok());
    for list in ["[]", "[0, 180]", "[360]", "[1,10,30,60,100,150,210,280,300]", "[\"0\"]", "0", "[nan]"] {
        assert!(marks(list).is_err(), "{list}");
    }
}

#[test]
fn an_empty_file_is_refused_by_its_first_missing_key() {
    assert_eq!(job("").unwrap_err().to_string(), "name: read nothing, allowed a name of 1 to 40 letters");
}
