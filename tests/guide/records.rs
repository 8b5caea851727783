//! What is kept of a job, on the desktop: JSON and CSV, from the handheld's bytes, read by outside readers.

use keyway::record_file::{decode, to_csv, to_json, write};
use keyway_core::job::Control;
use keyway_core::kept::LONGEST;
use keyway_core::record::Record;

use crate::support::{found, play, spec};

fn kept(control: Control, off: f64) -> Record {
    let mut spec = spec(control);
    spec.name = heapless::String::try_from("Weir \"pump\", six").expect("is short enough");
    play(&spec, found(&spec, off, |_| {}), &[]).record()
}

#[test]
fn a_record_is_the_same_in_its_bytes_in_json_and_in_csv() {
    let record = kept(Control::Computer, -7.0);
    let mut room = [0; LONGEST];
    let bytes = record.encode(&mut room).expect("fits a block");
    assert_eq!(decode(bytes), Ok(record.clone()));
    let json: serde_json::Value =
        serde_json::from_str(&to_json(&record).expect("no number is missing")).expect("is JSON");
    assert_eq!(json["engine"], "Weir \"pump\", six");
    assert_eq!((&json["verdict"], &json["control"]), (&"on-target".into(), &"computer".into()));
    let left = json["left"]["advance_btdc_deg"].as_f64().expect("was read");
    assert!((left - 10.0).abs() <= 1.0, "{left}");
    let steps = json["steps"].as_array().expect("is a list");
    let known = |name: &str| steps.iter().find(|step| step["step"] == name).map(|step| &step["known"]);
    assert_eq!(known("base-blip"), Some(&"proven".into()));
    assert_eq!(known("make-safe"), Some(&"told".into()));
    assert_eq!(known("sweep"), None, "no step of this job");
    let text = to_csv(&[record.clone(), record]).expect("is written");
    let rows: Vec<&str> = text.lines().collect();
    assert_eq!(rows.len(), 3);
    // RFC 4180: a field with quotes or commas is quoted, its quotes doubled.
    assert!(rows[1].contains("\"Weir \"\"pump\"\", six\""), "{}", rows[1]);
    let column = rows[0].split(',').position(|name| name == "left_btdc_deg").expect("is a column");
    let field = rows[1].replace("\"Weir \"\"pump\"\", six\"", "engine");
    let field = field.split(',').nth(column).and_then(|field| field.parse::<f64>().ok());
    assert!(field.is_some_and(|field| (field - left).abs() < 1e-3), "{field:?} {left}");
}

#[test]
fn a_curve_and_a_delay_are_in_the_json() {
    let json = |record: &Record| -> serde_json::Value {
        serde_json::from_str(&to_json(record).expect("no number is missing")).expect("is JSON")
    };
    let mechanical = json(&kept(Control::Mechanical, 5.0));
    assert!(mechanical["curve_hose_off"].as_array().is_some_and(|points| points.len() >= 5));
    let commanded = json(&kept(Control::Commanded, 6.0));
    assert!(commanded["delay_us"]["uncertainty"].as_f64().is_some_and(|doubt| doubt > 0.0));
}

#[test]
fn bytes_that_are_no_record_and_files_of_another_kind_are_refused_in_one_line() {
    let record = kept(Control::Computer, 0.2);
    let mut room = [0; LONGEST];
    let bytes = record.encode(&mut room).map(<[u8]>::to_vec).unwrap_or_default();
    let newer: Vec<u8> = std::iter::once(9).chain(bytes.iter().skip(1).copied()).collect();
    assert_eq!(decode(&newer), Err("a record of version 9, expected 1".to_owned()));
    for length in 0..bytes.len() {
        assert!(decode(&bytes[..length]).is_err(), "{length}");
    }
    let wrong = write(&record, std::path::Path::new("record.txt"));
    assert_eq!(wrong, Err("record.txt: expected a file that ends in .json or .csv".to_owned()));
}
