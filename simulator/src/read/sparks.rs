//! `--sparks`: every event at the spark pickup as a row, used or not, and why.

use super::TimedSpark;
use super::output::Output;
use keyway_core::reading::SparkFate;
use std::io::{self, Write};

/// The header of the list.
const HEADER: &str = "time_s,advance_btdc_deg,rpm,used,why";

/// The list while it is written.
#[derive(Debug)]
pub(super) struct SparkList {
    output: Output,
}

impl SparkList {
    /// Begins a list.
    pub(super) fn new(mut output: Output) -> Self {
        output.write(|file| writeln!(file, "{HEADER}"));
        Self { output }
    }

    /// Adds a spark.
    pub(super) fn add(&mut self, spark: &TimedSpark) {
        self.output.write(|file| write_row(file, spark));
    }

    /// Ends the list.
    pub(super) fn finish(self) -> Result<(), String> {
        self.output.finish()
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
