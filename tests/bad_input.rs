//! Bad input gets one clear line, exit status 2 and nothing on standard output; truncated files are read
//! up to the cut and marked; nothing panics.
//!
//! What must hold is CONTRACT.md ("Capture", "Job file") and the list of issue "Measure".

use keyway_core::edges::Channel;
use keyway_core::meter::Meter;
use keyway_core::units::{Stamp, TickRate};
use keyway_tests::running::{Answer, Scratch, keyway};
use proptest::prelude::*;

const JOB: &str = include_str!("fixtures/pyvcd.job.toml");
const VCD: &str = include_str!("fixtures/pyvcd-1us.vcd");

/// Reads a capture of this name and content with the fixture's job.
fn read(name: &str, content: impl AsRef<[u8]>, more: &[&str]) -> Answer {
    let scratch = Scratch::new();
    let (capture, job) = (scratch.file(name, content), scratch.file("j.job.toml", JOB));
    let arguments = [&["read", &capture, "--job", &job], more].concat();
    keyway(&arguments)
}

fn refused(name: &str, content: impl AsRef<[u8]>, expected: &[&str]) {
    let answer = read(name, content, &["--json"]);
    let line = answer.refusal();
    for words in expected.iter().chain(&["found", "expected", name]) {
        assert!(line.contains(words), "{line:?} lacks {words:?}");
    }
}

fn dump(body: &str) -> String {
    format!(
        "$timescale 1 us $end\n$var wire 1 ! crank $end\n$var wire 1 % spark1 $end\n\
         $var real 64 v battery_v $end\n$enddefinitions $end\n{body}"
    )
}

#[test]
fn a_file_that_is_no_capture_is_refused() {
    refused("a.vcd", "", &["empty"]);
    refused("a.csv", "", &["empty"]);
    refused("a.vcd", " \n\n ", &["expected a $timescale"]);
    refused("a.csv", "\n\n", &["empty"]);
    refused("a.vcd", [0x1f, 0x8b, 8, 0, 255, 254, 0, 0, b'\n', 3], &["a.vcd:1:"]);
    refused("a.csv", [0x7f, b'E', b'L', b'F', 2, 1, 0, 0, b'\n', 3], &["a.csv:1:"]);
    refused("a.vcd", vec![0; 300_000], &["a.vcd:1:"]);
    refused("a.csv", vec![0; 300_000], &["a.csv:1:"]);
    refused("a.vcd", "time_s,crank,spark1\n0,0,0\n", &["a.vcd:1:", "time_s,crank,spark1"]);
    refused("a.csv", VCD, &["a.csv:1:", "time_s"]);
    refused("a.txt", VCD, &[".txt", ".vcd or .csv"]);
    refused("capture", VCD, &[".vcd or .csv"]);
}

#[test]
fn a_file_that_cannot_be_read_is_refused() {
    let scratch = Scratch::new();
    let job = scratch.file("j.job.toml", JOB);
    let missing = scratch.path("missing.vcd");
    let answer = keyway(&["read", &missing, "--job", &job]);
    assert!(answer.refusal().contains("missing.vcd: found no such file"), "{answer:?}");
    std::fs::create_dir(scratch.path("folder.vcd")).unwrap();
    let answer = keyway(&["read", &scratch.path("folder.vcd"), "--job", &job]);
    assert!(answer.refusal().contains("directory"), "{answer:?}");
    let capture = scratch.file("a.vcd", VCD);
    let answer = keyway(&["read", &capture, "--job", &scratch.path("missing.toml")]);
    assert!(answer.refusal().contains("missing.toml: read no such file"), "{answer:?}");
    let answer = keyway(&["read", &capture, "--job", &job, "--sparks", &scratch.path("no/such/folder.csv")]);
    assert!(answer.refusal().contains("folder.csv"), "{answer:?}");
    let answer = keyway(&["read", &capture, "--job", &job, "--plot", &scratch.path("no/such/folder.svg")]);
    assert!(answer.refusal().contains("folder.svg"), "{answer:?}");
}

#[test]
fn a_file_that_is_read_is_never_written_over_and_nothing_half_written_stays() {
    let scratch = Scratch::new();
    let (capture, job) = (scratch.file("a.csv", "time_s,crank,spark1\n0,0,0\n"), scratch.file("j.toml", JOB));
    for flag in ["--sparks", "--plot", "--report"] {
        for read in [&capture, &job] {
            let answer = keyway(&["read", &capture, "--job", &job, flag, read]);
            assert!(answer.refusal().contains("to be read"), "{answer:?}");
        }
        let bad = scratch.file("bad.csv", "time_s,crank,spark1\n0,0,0\n0,7,0\n");
        let out = scratch.path("out");
        keyway(&["read", &bad, "--job", &job, flag, &out]).refusal();
        assert!(!std::path::Path::new(&out).exists(), "{flag}");
    }
    assert!(std::fs::read_to_string(capture).unwrap().starts_with("time_s"));
    assert_eq!(std::fs::read_to_string(job).unwrap(), JOB);
}

#[test]
fn a_dump_that_cannot_be_is_refused_with_its_line() {
    refused("a.vcd", dump("#5\n1!\n#4\n0!\n"), &["a.vcd:8:", "earlier"]);
    refused("a.vcd", dump("#99999999999999999999999\n1!\n"), &["a.vcd:6:", "18446744073709551615"]);
    refused("a.vcd", dump("#0\n#18446744073709551615\n1!\n"), &["a.vcd:7:", "325 days"]);
    refused("a.vcd", dump("#0\nrNaN v\n"), &["a.vcd:7:", "NaN"]);
    refused("a.vcd", dump("#0\nr-inf v\n"), &["a.vcd:7:", "inf"]);
    refused("a.vcd", dump("#0\n1&\n"), &["a.vcd:7:", "\"&\""]);
    refused("a.vcd", dump("#0\nnonsense\n"), &["a.vcd:7:", "nonsense"]);
    for scale in ["7 ns", "1000 us", "1 year", "1", "ns", "0 s", "-1 s", "1 1 s"] {
        refused("a.vcd", dump("#0\n").replace("1 us", scale), &["a.vcd:1:", "1, 10 or 100"]);
    }
    refused("a.vcd", dump("#0\n").replace("$timescale 1 us $end", ""), &["$timescale"]);
    refused("a.vcd", dump("#0\n").replace("wire 1 !", "wire 8 !"), &["a.vcd:2:", "8 bits", "1-bit"]);
    refused("a.vcd", dump("#0\n").replace("real 64 v", "wire 8 v"), &["a.vcd:4:", "real"]);
    refused("a.vcd", dump("#0\n").replace(" crank ", " kranc "), &["\"crank\"", "1-bit"]);
    refused("a.vcd", dump("#0\n").replace("spark1", "crank"), &["\"crank\" in several scopes", "full name"]);
}

#[test]
fn rows_that_cannot_be_are_refused_with_their_line() {
    let head = "time_s,crank,spark1,battery_v\n0,0,0,12\n";
    for (row, words) in [
        ("0.1,1,0", "3 columns"),
        ("0.1,1,0,12,7", "5 columns"),
        ("-0.1,1,0,12", "earlier"),
        ("nan,1,0,12", "nan"),
        ("1e400,1,0,12", "1e400"),
        ("99999999999999999999999999999999999999999999,1,0,12", "99999"),
        ("100000000,1,0,12", "325 days"),
        ("0.1,2,0,12", "\"2\""),
        ("0.1,,0,12", "\"\""),
        ("0.1,1,0,NaN", "NaN"),
        ("0.1,1,0,inf", "inf"),
        ("0.1,1,0,1e39", "1e39"),
    ] {
        refused("a.csv", format!("{head}{row}\n0.2,0,0,12\n"), &["a.csv:3:", words]);
    }
    refused("a.csv", "t,crank,spark1\n0,0,0\n", &["a.csv:1:", "time_s"]);
    refused("a.csv", "time_s,crank\n0,0\n", &["a.csv:1:", "spark1"]);
    refused("a.csv", "time_s,crank,spark1,spark1\n0,0,0,0\n", &["a.csv:1:", "twice"]);
    refused("a.csv", "0,0,0\n1,1,0\n", &["a.csv:1:", "time_s"]);
}

#[test]
fn a_signal_asked_for_by_name_must_be_there() {
    for (flag, name) in [("--crank", "wheel"), ("--spark", "lead"), ("--battery", "volts")] {
        let answer = read("a.vcd", VCD, &[flag, name]);
        assert!(answer.refusal().contains(name), "{answer:?}");
        let answer = read("a.csv", "time_s,crank,spark1\n0,0,0\n", &[flag, name]);
        assert!(answer.refusal().contains(name), "{answer:?}");
    }
}

#[test]
fn a_job_that_cannot_be_is_refused_with_line_and_key() {
    for (from, to, expected) in [
        ("cylinders = 4", "cylinders = 300", "j.job.toml:4: engine.cylinders: read 300, allowed 1 to 12"),
        ("tolerance = 1.0", "tolerance = nan", "j.job.toml:13: timing.tolerance: read nan, allowed a finite"),
        ("tolerance = 1.0", "tolerence = 1.0", "j.job.toml:13: timing.tolerence: read an unknown key"),
        ("tolerance = 1.0\n", "", "timing.tolerance: read nothing, allowed a finite number"),
        ("teeth = 12", "teeth = 12\nmarks_btdc = [0.0]", "j.job.toml:19: crank.marks_btdc: read [0.0]"),
        ("teeth = 12", "teeth = 12\nteeth = 12", "j.job.toml:19: read teeth"),
        ("[crank]", "[crank", "j.job.toml:17: read"),
    ] {
        let scratch = Scratch::new();
        let capture = scratch.file("a.vcd", VCD);
        let job = scratch.file("j.job.toml", JOB.replacen(from, to, 1));
        let answer = keyway(&["read", &capture, "--job", &job]);
        assert!(answer.refusal().contains(expected), "{answer:?} lacks {expected:?}");
    }
    for content in [&b""[..], b"\xff\xfe\0", &[b'a'; 400_000], b"name = 3", b"\0"] {
        let scratch = Scratch::new();
        let capture = scratch.file("a.vcd", VCD);
        let job = scratch.file("j.job.toml", content);
        let answer = keyway(&["read", &capture, "--job", &job]);
        assert!(answer.refusal().contains("j.job.toml:"), "{answer:?}");
    }
}

#[test]
fn bad_usage_has_exit_status_two_and_help_has_none() {
    for arguments in [&["read"][..], &["no-such-task"], &["read", "a.vcd", "--job"], &["--nonsense"]] {
        let answer = keyway(arguments);
        assert_eq!((answer.status, answer.out.as_str()), (2, ""), "{answer:?}");
        assert!(answer.refusal().starts_with("keyway: "), "{answer:?}");
    }
    for arguments in [&["--help"][..], &["--version"], &["read", "--help"]] {
        let answer = keyway(arguments);
        assert_eq!((answer.status, answer.errors.as_str()), (0, ""), "{answer:?}");
    }
}

/// Wherever a dump is cut behind its declarations it is read up to there; inside a word the result says so.
#[test]
fn a_cut_capture_is_read_up_to_the_cut_and_marked() {
    let body = VCD.find("$dumpvars").unwrap();
    for cut in (body..VCD.len()).step_by(31) {
        let answer = read("a.vcd", &VCD[..cut], &["--json"]);
        assert!([0, 1, 3].contains(&answer.status), "cut at {cut}: {answer:?}");
        let last = VCD[..cut].rsplit(|letter: char| letter.is_whitespace()).next().unwrap();
        if (last.len() > 1 && last.starts_with('#')) || last == "0" || last == "1" {
            assert_eq!(answer.json()["capture"]["truncated"], true, "cut at {cut}");
        }
    }
    assert_eq!(read("a.vcd", VCD, &["--json"]).json()["capture"]["truncated"], false);
    let rows = "time_s,crank,spark1\n0,0,0\n1,1,0\n2,0";
    let answer = read("a.csv", rows, &["--json"]);
    assert_eq!((answer.json()["capture"]["truncated"].as_bool(), answer.status), (Some(true), 3));
    assert!(read("a.csv", rows, &[]).out.contains("The file ends in the middle"));
}

/// Found by fuzzing: both ran over the ends of the whole numbers they are counted in.
#[test]
fn edges_lost_without_number_and_impossible_voltages_spoil_no_sum() {
    let job = keyway::job_file::read::job(JOB).unwrap();
    let mut meter = Meter::new(job, TickRate::DESKTOP);
    meter.on_lost(Channel::Crank, u32::MAX);
    meter.on_lost(Channel::Crank, 7);
    for volts in [f32::MAX, f32::MIN, f32::NAN, f32::INFINITY, 13.5] {
        meter.on_supply(volts, Stamp(1000));
    }
    let reading = meter.report().reading;
    assert_eq!((reading.battery_v, reading.edges_rejected), (Some(13.5), u32::MAX));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Whatever the bytes, an answer comes: a reading, none, or one line.
    #[test]
    fn no_bytes_make_a_reader_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        for name in ["a.vcd", "a.csv"] {
            let answer = read(name, &bytes, &["--json"]);
            prop_assert!(answer.status <= 3);
        }
    }

    /// The same with bytes changed in a good file, which reach deeper into the reader.
    #[test]
    fn no_change_of_a_good_capture_makes_a_reader_panic(
        at in 0..VCD.len(),
        bytes in proptest::collection::vec(any::<u8>(), 1..6),
    ) {
        let mut content = VCD.as_bytes().to_vec();
        for (byte, new) in content.iter_mut().skip(at).zip(bytes) {
            *byte = new;
        }
        let answer = read("a.vcd", &content, &["--json"]);
        if answer.status == 2 {
            answer.refusal();
        } else {
            answer.json();
        }
    }

    /// Words of the format in any order.
    #[test]
    fn no_order_of_words_makes_a_reader_panic(
        words in proptest::collection::vec(
            prop::sample::select(vec![
                "$timescale", "1us", "$end", "$var", "wire", "1", "!", "crank", "%", "spark1", "$scope",
                "$upscope", "$enddefinitions", "#0", "#7", "0!", "1!", "1%", "x!", "b1", "r1.5", "rnan", "$dumpoff",
                "$dumpvars", "$comment", "#", "real", "v", "battery_v", "#18446744073709551615",
            ]),
            0..60,
        ),
    ) {
        for head in ["", &dump("")] {
            let answer = read("a.vcd", format!("{head}{}", words.join(" ")), &["--json"]);
            prop_assert!(answer.status <= 3);
        }
    }

    /// Whatever is changed in a job file, it is taken or refused in one line.
    #[test]
    fn no_change_of_a_job_file_makes_its_reader_panic(at in 0..JOB.len(), new in "[ -~\\n]{0,8}") {
        let text = format!("{}{new}{}", &JOB[..at], &JOB[(at + new.len()).min(JOB.len())..]);
        if let Err(error) = keyway::job_file::read::job(&text) {
            prop_assert!(!error.in_file("j").to_string().contains('\n'));
        }
    }
}
