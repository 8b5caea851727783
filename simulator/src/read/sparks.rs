//! `--sparks`: every event at the spark pickup as a row, used or not, and why.

use super::{TimedSpark, create, unwritable};
use keyway_core::reading::SparkFate;
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// The header of the list.
const HEADER: &str = "time_s,advance_btdc_deg,rpm,used,why";

/// The list while it is written.
#[derive(Debug)]
pub(super) struct SparkList {
    path: PathBuf,
    file: BufWriter<File>,
    failed: Option<io::Error>,
}

impl SparkList {
    /// Begins a list.
    pub(super) fn create(path: &Path) -> Result<Self, String> {
        let mut file = create(path)?;
        let failed = writeln!(file, "{HEADER}").err();
        Ok(Self { path: path.to_owned(), file, failed })
    }

    /// Adds a spark. What cannot be written is told by [`SparkList::finish`].
    pub(super) fn add(&mut self, spark: &TimedSpark) {
        if self.failed.is_none() {
            self.failed = write_row(&mut self.file, spark).err();
        }
    }

    /// Ends the list.
    pub(super) fn finish(mut self) -> Result<(), String> {
        let flushed = self.file.flush().err();
        match self.failed.or(flushed) {
            Some(error) => Err(unwritable(&self.path, error)),
            None => Ok(()),
        }
    }
}

/// One row: a number that is not known is left empty.
fn write_row(out: &mut impl Write, spark: &TimedSpark) -> io::Result<()> {
    let TimedSpark { seconds, record } = spark;
    write!(out, "{seconds:.7},")?;
    if let Some(advance) = record.advance {
        write!(out, "{:.3}", advance.degrees() + 0.0)?;
    }
    out.write_all(b",")?;
    if record.rpm > 0.0 {
        write!(out, "{:.1}", record.rpm)?;
    }
    let used = u8::from(record.fate == SparkFate::Used);
    writeln!(out, ",{used},{}", record.fate.word())
}

#[cfg(test)]
mod tests {
    use super::*;
    use keyway_core::reading::SparkRecord;
    use keyway_core::units::{Advance, Instant};

    #[test]
    fn a_row_has_five_fields_and_leaves_empty_what_is_not_known() {
        let record = SparkRecord {
            at: Instant::from_ticks(0),
            advance: Some(Advance::from_degrees(-10.125)),
            rpm: 712.44,
            fate: SparkFate::Used,
        };
        let mut rows = Vec::new();
        write_row(&mut rows, &TimedSpark { seconds: 1.5, record }).unwrap();
        let unknown = SparkRecord { advance: None, rpm: 0.0, fate: SparkFate::NoSync, ..record };
        write_row(&mut rows, &TimedSpark { seconds: 2.0, record: unknown }).unwrap();
        let rows = String::from_utf8(rows).unwrap();
        assert_eq!(rows, "1.5000000,-10.125,712.4,1,used\n2.0000000,,,0,no sync\n");
    }
}
