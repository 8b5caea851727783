//! The same engine, recorded by an outside writer and written in every way that CONTRACT.md allows, reads
//! the same.
//!
//! Outside checks: the dump of CHECKS.md section 6 (grammar of IEEE Std 1364-2005 section 18; its round
//! trip through pyvcd and vcdvcd), pyvcd's own published example, and captures written by pyvcd 0.5.1
//! (`fixtures/make_with_pyvcd.py`), whose engine turns at exactly 720 rpm and fires at exactly 12° BTDC.

use keyway::capture::{Event, Format, Names, read as read_capture};
use keyway_core::edges::{Channel, Level};
use keyway_tests::running::{Answer, Scratch, keyway};

const JOB: &str = include_str!("fixtures/pyvcd.job.toml");
const FINE: &str = include_str!("fixtures/pyvcd-100ns.vcd");
const COARSE: &str = include_str!("fixtures/pyvcd-1us.vcd");

fn read(name: &str, content: impl AsRef<[u8]>, more: &[&str]) -> Answer {
    let scratch = Scratch::new();
    let (capture, job) = (scratch.file(name, content), scratch.file("j.job.toml", JOB));
    keyway(&[&["read", &capture, "--job", &job], more].concat())
}

/// The dump's rows as comma-separated ones.
fn as_rows(dump: &str) -> String {
    let mut rows = String::from("time_s,crank,spark1,battery_v\n");
    let (mut time, mut levels, mut volts) = (0u64, ["x".to_owned(), "0".to_owned()], "13.5".to_owned());
    let body = dump.split("$enddefinitions $end").nth(1).unwrap();
    for line in body.lines() {
        match line.as_bytes() {
            [b'#', ..] => time = line[1..].parse().unwrap(),
            [_, b'!'] => levels[0] = line[..1].into(),
            [_, b'"'] => levels[1] = line[..1].into(),
            [b'r', ..] => volts = line[1..].trim_end_matches(" #").into(),
            _ => continue,
        }
        let whole = time / 1_000_000;
        rows += &format!("{whole}.{:06},{},{},{volts}\n", time % 1_000_000, levels[0], levels[1]);
    }
    rows
}

#[test]
fn the_round_trip_of_the_checks_gives_the_published_edges() {
    // CHECKS.md section 6: crank = (0,0)(100,1)(200,0)(300,1), spark = (0,0)(250,1)(251,0), 1 us.
    let dump = "$timescale 1 us $end $scope module eng $end $var wire 1 ! crank $end $var wire 1 \" spark $end \
        $upscope $end $enddefinitions $end #0 $dumpvars 0! 0\" $end #100 1! #200 0! #250 1\" #251 0\" #300 1!";
    let mut edges = Vec::new();
    let names = Names { spark: "spark".into(), ..Names::default() };
    let outline =
        read_capture(dump.as_bytes(), Format::Vcd, &names, |ticks, event| edges.push((ticks / 10, event)))
            .unwrap();
    let edge = |at, channel, level| (at, Event::Edge(channel, level));
    let expected = [
        edge(100, Channel::Crank, Level::High),
        edge(200, Channel::Crank, Level::Low),
        edge(250, Channel::Spark, Level::High),
        edge(251, Channel::Spark, Level::Low),
        edge(300, Channel::Crank, Level::High),
    ];
    assert_eq!(edges, expected);
    assert_eq!((outline.ticks, outline.truncated), (3000, false));
}

#[test]
fn the_published_example_of_the_outside_writer_is_read_to_its_missing_signal() {
    let answer = read("a.vcd", include_str!("fixtures/pyvcd-example.vcd"), &[]);
    assert!(answer.refusal().contains("the end of the declarations without \"crank\""), "{answer:?}");
    // Its real signal taken as the supply, with two pickups declared beside it.
    let with_pickups = include_str!("fixtures/pyvcd-example.vcd")
        .replace("$enddefinitions", "$var wire 1 a crank $end $var wire 1 b spark1 $end $enddefinitions");
    let mut volts = Vec::new();
    let names = Names { battery: Some("a.b.c.x".into()), ..Names::default() };
    read_capture(with_pickups.as_bytes(), Format::Vcd, &names, |_, event| volts.push(event)).unwrap();
    assert_eq!(volts, [Event::Supply(1.23), Event::Supply(3.21)]);
}

#[test]
fn an_outside_writers_capture_reads_as_it_was_made() {
    for capture in [FINE, COARSE] {
        let answer = read("a.vcd", capture, &["--json"]);
        let result = answer.json();
        assert_eq!(answer.status, 0, "{result}");
        let advance = result["reading"]["advance_btdc_deg"].as_f64().unwrap();
        let doubt = result["reading"]["uncertainty_deg"].as_f64().unwrap();
        assert!((advance - 12.0).abs() <= doubt.min(0.05), "{advance} ± {doubt}");
        assert_eq!(result["reading"]["rpm"], 720.0);
        assert_eq!(result["reading"]["sparks_per_revolution"], 0.5);
        assert_eq!(result["verdict"], "on-target");
        assert_eq!(result["causes"][0]["id"], "none");
        assert_eq!(result["capture"]["truncated"], false);
    }
}

#[test]
fn rows_line_ends_and_a_byte_order_mark_change_nothing() {
    let expected = read("a.vcd", COARSE, &["--json"]).out;
    for (name, content) in [
        ("a.vcd", COARSE.replace('\n', "\r\n")),
        ("a.vcd", format!("\u{feff}{COARSE}")),
        ("a.VCD", COARSE.replace('\n', " \t")),
        ("a.csv", as_rows(COARSE)),
        ("a.csv", format!("\u{feff}{}", as_rows(COARSE).replace('\n', "\r\n"))),
    ] {
        assert_eq!(read(name, &content, &["--json"]).out, expected, "{name} {:.40}", content);
    }
}

#[test]
fn every_time_scale_reads_the_same_engine() {
    let expected = read("a.vcd", COARSE, &["--json"]).json();
    // The same numbers of a finer scale with digits added, and with a late start.
    for (scale, digits, start) in [
        ("100 ns", "0", 0u64),
        ("1 ns", "000", 0),
        ("1 ps", "000000", 0),
        ("1fs", "000000000", 0),
        ("10\nus", "", 77),
    ] {
        let mut capture = String::new();
        for line in COARSE.lines() {
            capture += &match line.strip_prefix('#') {
                // Ten microseconds: the same file ten times as slow.
                Some(time) => format!("#{}{digits}\n", time.parse::<u64>().unwrap() + start),
                None => format!("{line}\n"),
            };
        }
        let result = read("a.vcd", capture.replace("1 us", scale), &["--json"]).json();
        if start == 0 {
            assert_eq!(result, expected, "{scale}");
        } else {
            assert_eq!(result["reading"]["rpm"], 72.0, "{scale}");
        }
    }
}

#[test]
fn other_names_are_read_where_they_are_asked_for() {
    let renamed =
        COARSE.replace(" crank ", " wheel ").replace(" spark1 ", " lead ").replace(" battery_v ", " clips ");
    let names = ["--crank", "bench.pickups.wheel", "--spark", "lead", "--battery", "bench.clips", "--json"];
    assert_eq!(read("a.vcd", renamed, &names).out, read("a.vcd", COARSE, &["--json"]).out);
}

#[test]
fn every_spark_is_listed_and_the_picture_is_drawn() {
    let scratch = Scratch::new();
    let (list, picture) = (scratch.path("sparks.csv"), scratch.path("sparks.svg"));
    let answer = read("a.vcd", COARSE, &["--sparks", &list, "--plot", &picture, "--json"]);
    let rows = std::fs::read_to_string(list).unwrap();
    let mut lines = rows.lines();
    assert_eq!(lines.next(), Some("time_s,advance_btdc_deg,rpm,used,why"));
    let used = lines.clone().filter(|line| line.contains(",1,used")).count() as u64;
    assert_eq!(answer.json()["reading"]["sparks_used"], used);
    // 84 turns with a spark in every second one.
    assert_eq!(lines.clone().count(), 42);
    for line in lines.filter(|line| line.contains(",1,used")) {
        let advance: f64 = line.split(',').nth(1).unwrap().parse().unwrap();
        assert!((advance - 12.0).abs() < 0.05, "{line}");
    }
    let picture = std::fs::read_to_string(picture).unwrap();
    assert!(picture.starts_with("<svg ") && picture.contains("BTDC") && !picture.contains("NaN"));
}

#[test]
fn the_text_opens_with_a_sentence_and_never_shows_a_bare_sign() {
    let text = read("a.vcd", COARSE, &[]).out;
    assert!(text.starts_with("On target: reads 12.0° BTDC ± 0."), "{text}");
    let late = JOB.replace("base_btdc = 12.0", "base_btdc = 20.0");
    let scratch = Scratch::new();
    let arguments = ["read", &scratch.file("a.vcd", COARSE), "--job", &scratch.file("j.toml", late)];
    let answer = keyway(&arguments);
    assert_eq!(answer.status, 1);
    assert!(answer.out.starts_with("Off target: reads 12.0° BTDC ± 0."), "{answer:?}");
    assert!(answer.out.contains("8.0° late"), "{answer:?}");
    assert!(!answer.out.contains("-8.0") && !answer.out.contains("+8.0"), "{answer:?}");
}

/// The sample captures beside the project, where they are: made by an independent engine model.
fn samples() -> Option<std::path::PathBuf> {
    let here = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    here.ancestors().map(|folder| folder.join("shared/samples")).find(|folder| folder.is_dir())
}

#[test]
fn no_sample_of_an_independent_engine_model_is_read_wrong() {
    let Some(folder) = samples() else {
        println!("skipped: no sample captures beside the project (shared/samples)");
        return;
    };
    let mut given = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let capture = entry.unwrap().path();
        if capture.extension().is_none_or(|extension| extension != "vcd") {
            continue;
        }
        let text = |path: &std::path::Path| path.display().to_string();
        let arguments =
            ["read", &text(&capture), "--job", &text(&capture.with_extension("job.toml")), "--json"];
        let answer = keyway(&arguments);
        let result = answer.json();
        let truth = std::fs::read_to_string(capture.with_extension("truth.json")).unwrap();
        let truth: serde_json::Value = serde_json::from_str(&truth).unwrap();
        let reading = &result["reading"];
        if !truth["withheld"].is_null() {
            assert_eq!(
                (reading["status"].as_str(), answer.status),
                (Some("withheld"), 3),
                "{}",
                capture.display()
            );
        }
        if let Some(advance) = reading["advance_btdc_deg"].as_f64() {
            given += 1;
            // The figure of DESIGN.md section 8 for a number that is shown.
            let allowed = (2.0 * reading["uncertainty_deg"].as_f64().unwrap()).max(0.5);
            let error = advance - truth["advance"].as_f64().unwrap();
            assert!(error.abs() <= allowed, "{}: off by {error}, allowed {allowed}", capture.display());
        }
    }
    assert!(given >= 12, "only {given} numbers were given");
}
