//! Reads a capture of comma-separated rows as a stream: a header, then one row per change.
//!
//! The columns may stand in any order and others may stand between them. The time is a decimal number of
//! seconds and may be negative, as of a recorder that starts before its trigger. The rows are split by
//! the `csv` crate; a watch around the file notes how it ends and refuses lines that never do, since the
//! crate keeps a whole row in memory.

use super::error::quoted;
use super::time::{Step, femtoseconds, goes_back, too_long};
use super::{BATTERY, CaptureError, Event, Levels, Names, Outline};
use ::csv::{ByteRecord, ReaderBuilder, Trim};
use keyway_core::edges::{Channel, Level};
use std::cell::Cell;
use std::io::{self, Read};
use std::rc::Rc;

/// The longest line, bytes.
const LONGEST_LINE: u64 = 64 * 1024;

/// Reads rows to their end; see [`super::read`].
pub(super) fn read(
    mut source: impl Read,
    names: &Names,
    mut sink: impl FnMut(u64, Event),
) -> Result<Outline, CaptureError> {
    let whole_lines = Rc::new(Cell::new(true));
    let start = behind_byte_order_mark(&mut source).map_err(|error| CaptureError::unreadable(&error))?;
    let watch = Watch { source: start.chain(source), line_length: 0, whole_lines: Rc::clone(&whole_lines) };
    let mut rows = ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .quoting(false)
        .trim(Trim::All)
        .buffer_capacity(128 * 1024)
        .from_reader(watch);
    let mut row = ByteRecord::new();
    if !next_row(&mut rows, &mut row)? {
        return Err(CaptureError::whole("an empty file", "the header time_s,crank,spark1"));
    }
    let columns = Columns::find(&row, names)?;
    let mut reading = Rows::default();
    let mut truncated = false;
    let mut ahead = ByteRecord::new();
    let mut more = next_row(&mut rows, &mut row)?;
    while more {
        more = next_row(&mut rows, &mut ahead)?;
        // The last line without an end may be cut in its middle; only what must be whole is taken.
        let unended = !more && !whole_lines.get();
        match reading.take(&columns, &row, unended, &mut sink) {
            Ok(()) => {}
            Err(_) if unended => truncated = true,
            Err(error) => return Err(error),
        }
        std::mem::swap(&mut row, &mut ahead);
    }
    Ok(Outline {
        first_seconds: reading.first.unwrap_or(0) as f64 / 1e15,
        ticks: reading.ticks,
        step_ticks: 0.0,
        truncated,
    })
}

/// The first bytes of a file, its byte-order mark left out: the `csv` crate sees one only if its first read
/// happens to bring it whole.
fn behind_byte_order_mark(source: &mut impl Read) -> io::Result<io::Cursor<Vec<u8>>> {
    let mut start = Vec::new();
    loop {
        start.clear();
        source.take(3).read_to_end(&mut start)?;
        if start != b"\xef\xbb\xbf" {
            return Ok(io::Cursor::new(start));
        }
    }
}

fn next_row(rows: &mut ::csv::Reader<impl Read>, row: &mut ByteRecord) -> Result<bool, CaptureError> {
    let line = rows.position().line();
    rows.read_byte_record(row).map_err(|error| match error.into_kind() {
        ::csv::ErrorKind::Io(error) if error.kind() == io::ErrorKind::InvalidData => {
            CaptureError::at(line, format!("a line of more than {LONGEST_LINE} bytes"), "short rows")
        }
        ::csv::ErrorKind::Io(error) => CaptureError::unreadable(&error),
        _ => CaptureError::at(line, "a row that cannot be split", "numbers with commas between"),
    })
}

/// Where each value stands in a row.
#[derive(Debug)]
struct Columns {
    count: usize,
    time: usize,
    crank: usize,
    spark: usize,
    battery: Option<usize>,
}

impl Columns {
    fn find(header: &ByteRecord, names: &Names) -> Result<Self, CaptureError> {
        let line = header.position().map_or(1, |position| position.line());
        let whole = header.iter().collect::<Vec<_>>().join(&b',');
        let find = |name: &str| {
            let mut places = (0..header.len()).filter(|at| unquoted(field(header, *at)) == name.as_bytes());
            match (places.next(), places.next()) {
                (Some(at), None) => Ok(Some(at)),
                (None, _) => Ok(None),
                (Some(_), Some(_)) => Err(CaptureError::at(
                    line,
                    format!("the column {} twice", quoted(name.as_bytes())),
                    "each column once",
                )),
            }
        };
        let required = |name: &str| {
            find(name)?.ok_or_else(|| {
                let found = format!("the header {}", quoted(&whole));
                CaptureError::at(line, found, format!("a column {}", quoted(name.as_bytes())))
            })
        };
        Ok(Self {
            count: header.len(),
            time: required("time_s")?,
            crank: required(&names.crank)?,
            spark: required(&names.spark)?,
            battery: match &names.battery {
                Some(name) => Some(required(name)?),
                None => find(BATTERY)?,
            },
        })
    }
}

/// The rows while they are read.
#[derive(Debug, Default)]
struct Rows {
    levels: Levels,
    /// The first time, femtoseconds.
    first: Option<i128>,
    /// The time reached, femtoseconds.
    now: i128,
    /// The time reached, ticks after the first.
    ticks: u64,
    volts: Option<f32>,
}

impl Rows {
    fn take(
        &mut self,
        columns: &Columns,
        row: &ByteRecord,
        unended: bool,
        sink: &mut impl FnMut(u64, Event),
    ) -> Result<(), CaptureError> {
        let line = row.position().map_or(0, |position| position.line());
        if row.len() != columns.count {
            let found = format!("{} columns", row.len());
            return Err(CaptureError::at(line, found, format!("{} as in the header", columns.count)));
        }
        let written = field(row, columns.time);
        let shown = || format!("a time of {}", quoted(written));
        let time = femtoseconds(unquoted(written))
            .ok_or_else(|| CaptureError::at(line, shown(), "a finite number of seconds below 1e15"))?;
        let crank = level(field(row, columns.crank), line)?;
        let spark = level(field(row, columns.spark), line)?;
        let last = columns.count - 1;
        let battery = columns.battery.filter(|at| !(unended && *at == last));
        let volts = match battery.map(|at| unquoted(field(row, at))) {
            None | Some([]) => None,
            Some(text) => Some(super::volts(text).ok_or_else(|| {
                CaptureError::at(line, format!("a supply of {}", quoted(text)), "a finite number of volts")
            })?),
        };
        let first = self.first.unwrap_or(time);
        if self.first.is_some() && time < self.now {
            return Err(goes_back(line, shown()));
        }
        let units = u64::try_from(time - first).ok().and_then(|units| Step::FEMTOSECOND.ticks(units));
        let ticks = match units {
            Some(ticks) => ticks,
            // Beyond five hours femtoseconds no longer fit; nanoseconds do.
            None => u64::try_from((time - first) / 1_000_000)
                .ok()
                .and_then(|units| Step::from_parts(b"1", b"ns")?.ticks(units))
                .ok_or_else(|| too_long(line, shown()))?,
        };
        (self.first, self.now, self.ticks) = (Some(first), time, ticks);
        for (channel, level) in [(Channel::Crank, crank), (Channel::Spark, spark)] {
            if let Some(level) = self.levels.change(channel, level) {
                sink(ticks, Event::Edge(channel, level));
            }
        }
        if let Some(volts) = volts.filter(|volts| self.volts != Some(*volts)) {
            self.volts = Some(volts);
            sink(ticks, Event::Supply(volts));
        }
        Ok(())
    }
}

fn field(row: &ByteRecord, at: usize) -> &[u8] {
    row.get(at).unwrap_or_default()
}

/// A field without the quotes that some writers put around it.
fn unquoted(field: &[u8]) -> &[u8] {
    field.strip_prefix(b"\"").and_then(|inner| inner.strip_suffix(b"\"")).unwrap_or(field)
}

fn level(text: &[u8], line: u64) -> Result<Option<Level>, CaptureError> {
    match unquoted(text) {
        b"0" => Ok(Some(Level::Low)),
        b"1" => Ok(Some(Level::High)),
        b"x" | b"X" | b"z" | b"Z" => Ok(None),
        other => Err(CaptureError::at(line, format!("a level of {}", quoted(other)), "0, 1, x or z")),
    }
}

/// A file that notes whether its last line has an end, and refuses lines that are far too long.
#[derive(Debug)]
struct Watch<R> {
    source: R,
    line_length: u64,
    whole_lines: Rc<Cell<bool>>,
}

impl<R: Read> Read for Watch<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let count = self.source.read(buffer)?;
        let read = buffer.get(..count).unwrap_or_default();
        if let Some(last) = read.last() {
            self.whole_lines.set(matches!(last, b'\n' | b'\r'));
            // A block without any line end in it can only be part of one line.
            let is_end = |byte: &u8| matches!(byte, b'\n' | b'\r');
            self.line_length = match read.iter().rposition(is_end) {
                Some(at) => (count - 1 - at) as u64,
                None => self.line_length + count as u64,
            };
            if self.line_length > LONGEST_LINE {
                return Err(io::Error::from(io::ErrorKind::InvalidData));
            }
        }
        Ok(count)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(text: &str) -> Result<(Outline, Vec<(u64, Event)>), CaptureError> {
        let mut seen = Vec::new();
        let outline = read(text.as_bytes(), &Names::default(), |ticks, event| seen.push((ticks, event)))?;
        Ok((outline, seen))
    }

    #[test]
    fn rows_become_changes_whatever_the_line_ends_and_column_order() {
        let plain = "time_s,crank,spark1\n-0.5,0,0\n-0.4,1,0\n-0.4,1,1\n0,x,1\n1e-1,0,1\n";
        let (outline, seen) = rows(plain).unwrap();
        let expected = [
            (1_000_000, Event::Edge(Channel::Crank, Level::High)),
            (1_000_000, Event::Edge(Channel::Spark, Level::High)),
        ];
        assert_eq!(seen, expected);
        assert_eq!((outline.first_seconds, outline.ticks, outline.truncated), (-0.5, 6_000_000, false));
        let crlf = format!("\u{feff}{}", plain.replace('\n', "\r\n"));
        assert_eq!(rows(&crlf).unwrap(), (outline, seen.clone()));
        let spaced = plain.replace(',', " , ").replace("time_s", "\"time_s\"");
        assert_eq!(rows(&spaced).unwrap(), (outline, seen));
    }

    #[test]
    fn a_byte_order_mark_is_ignored_however_small_the_pieces_a_file_comes_in() {
        let (mark, rest) = ("\u{feff}".as_bytes(), b"time_s,crank,spark1\n0,0,0\n1,1,0\n");
        let in_pieces = mark.get(..2).unwrap().chain(mark.get(2..).unwrap()).chain(rest.as_slice());
        let mut seen = 0;
        assert!(read(in_pieces, &Names::default(), |_, _| seen += 1).is_ok());
        assert_eq!(seen, 1);
    }

    #[test]
    fn a_row_without_an_end_is_taken_only_where_it_is_whole() {
        let head = "time_s,crank,spark1\n0,0,0\n1,1,0\n";
        for (tail, truncated, edges) in
            [("2,0,0", false, 2), ("2,0,", true, 1), ("2,0", true, 1), ("2", true, 1), ("2,0,0\n", false, 2)]
        {
            let (outline, seen) = rows(&format!("{head}{tail}")).unwrap();
            assert_eq!((outline.truncated, seen.len()), (truncated, edges), "{tail}");
        }
    }

    #[test]
    fn the_supply_is_told_where_it_changes() {
        let (_, seen) =
            rows("time_s,crank,spark1,battery_v\n0,0,0,12.5\n1,0,0,12.5\n2,0,0,\n3,0,0,13\n4,0,0,1").unwrap();
        assert_eq!(seen, [(0, Event::Supply(12.5)), (30_000_000, Event::Supply(13.0))]);
    }

    #[test]
    fn what_cannot_be_is_refused_with_its_line() {
        let head = "time_s,crank,spark1,battery_v\n0,0,0,12\n";
        for (row, found) in [
            ("-1,0,0,12", "earlier"),
            ("1,0,0", "3 columns"),
            ("1,0,0,12,5", "5 columns"),
            ("nan,0,0,12", "nan"),
            ("1e15,0,0,12", "1e15"),
            ("1e14,0,0,12", "1e14"),
            ("1,2,0,12", "level of \"2\""),
            ("1,0,0,NaN", "NaN"),
            ("1,0,0,inf", "inf"),
        ] {
            let error = rows(&format!("{head}{row}\n")).unwrap_err();
            assert_eq!(error.line, Some(3), "{row}: {error}");
            assert!(error.found.contains(found), "{row}: {error}");
        }
        assert!(rows("").unwrap_err().found.contains("empty"));
        assert!(rows("time,crank,spark1\n").unwrap_err().expected.contains("time_s"));
        assert!(rows("time_s,crank,crank,spark1\n").unwrap_err().found.contains("twice"));
        assert!(rows("\0\u{1}\u{2}").unwrap_err().found.contains("\\u{0}"));
    }

    #[test]
    fn a_line_without_end_is_refused_and_memory_does_not_grow() {
        let endless = b"time_s,crank,spark1\n".chain(io::repeat(b'7'));
        let error = read(endless, &Names::default(), |_, _| {}).unwrap_err();
        assert!(error.found.contains("more than"), "{error}");
    }

    #[test]
    fn a_day_of_rows_keeps_its_ticks() {
        let (outline, _) = rows("time_s,crank,spark1\n0,0,0\n86400.00000014,0,0\n").unwrap();
        assert_eq!(outline.ticks, 864_000_000_001);
    }
}
