//! Arbitrary bytes as a value change dump, as rows or as a job file.
//!
//! The first byte chooses the reader (`V`, `C`, `J`), the second how many bytes it gets at a time. What is
//! read must not depend on that, must be possible, and must go through the meter; what is refused must be
//! refused in one line.
#![no_main]

use keyway::capture::{CaptureError, Event, Feed, Format, Names, Outline, read};
use keyway::job_file;
use keyway_core::job::Job;
use keyway_core::meter::Meter;
use keyway_core::units::TickRate;
use libfuzzer_sys::fuzz_target;
use std::io::Read;
use std::sync::LazyLock;

static JOB: LazyLock<Job> = LazyLock::new(|| {
    let text = include_str!("../../demo/pump-six.job.toml");
    job_file::read::job(text).unwrap_or_else(|error| panic!("{error}"))
});

fuzz_target!(|bytes: &[u8]| {
    let Some(([reader, piece], rest)) = bytes.split_first_chunk() else { return };
    match reader {
        b'V' => capture(rest, Format::Vcd, *piece),
        b'C' => capture(rest, Format::Csv, *piece),
        b'J' => job_text(rest),
        _ => {}
    }
});

/// Hands out a few bytes at a time.
struct InPieces<'b> {
    rest: &'b [u8],
    piece: usize,
}

impl Read for InPieces<'_> {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        let length = self.piece.min(into.len()).min(self.rest.len());
        let (now, later) = self.rest.split_at(length);
        into[..length].copy_from_slice(now);
        self.rest = later;
        Ok(length)
    }
}

type Told = (Vec<(u64, Event)>, Result<Outline, CaptureError>);

fn told(source: impl Read, format: Format) -> Told {
    let mut events = Vec::new();
    let outline = read(source, format, &Names::default(), |ticks, event| events.push((ticks, event)));
    (events, outline)
}

fn in_one_line(text: &str) {
    assert!(!text.contains(char::is_control), "{text:?}");
    assert!(text.chars().count() < 300, "{text:?}");
}

fn capture(bytes: &[u8], format: Format, piece: u8) {
    let whole = told(bytes, format);
    let in_pieces = told(InPieces { rest: bytes, piece: usize::from(piece % 16) + 1 }, format);
    assert_eq!(whole, in_pieces, "{} bytes at a time", piece % 16 + 1);
    let (events, outline) = whole;
    let end = match outline {
        Err(error) => return in_one_line(&error.in_file("fuzzed").to_string()),
        Ok(outline) => outline.ticks,
    };
    let mut meter = Meter::new(JOB.clone(), TickRate::DESKTOP);
    let mut feed = Feed::new(&mut meter);
    let mut before = 0;
    for (ticks, event) in events {
        assert!(ticks >= before && ticks <= end, "{ticks} after {before}, to {end}");
        before = ticks;
        if let Event::Supply(volts) = event {
            assert!(volts.is_finite());
        }
        // A time far away is bridged in quarters of the counter: days of silence tell nothing new.
        if ticks < 1 << 42 {
            feed.event(ticks, event);
        }
    }
    feed.finish(before.min(1 << 42));
    let _ = meter.report();
}

fn job_text(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match job_file::read::job(text) {
        Err(error) => in_one_line(&error.in_file("fuzzed").to_string()),
        Ok(job) => {
            assert!((-180.0..=180.0).contains(&job.target_degrees()), "{}", job.target_degrees());
            let report = Meter::new(job, TickRate::DESKTOP).report();
            assert!(report.reading.advance.is_none(), "a number without an edge");
        }
    }
}
