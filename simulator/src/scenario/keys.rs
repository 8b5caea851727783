//! The kinds of entries that a scenario has and a job has not.

use crate::job_file::JobFileError;
use crate::job_file::entries::{Section, number};
use toml::de::DeValue;

/// Numbers within a range.
pub(super) trait Keys {
    /// The number of a key that may be left out, from `low` to `high`.
    fn within(&self, key: &str, low: f64, high: f64) -> Result<Option<f64>, JobFileError>;

    /// Puts such a number in its place, where it is given.
    fn put(&self, key: &str, low: f64, high: f64, place: &mut f64) -> Result<(), JobFileError> {
        if let Some(given) = self.within(key, low, high)? {
            *place = given;
        }
        Ok(())
    }
}

impl Keys for Section<'_> {
    fn within(&self, key: &str, low: f64, high: f64) -> Result<Option<f64>, JobFileError> {
        let allowed = format!("{low} to {high}");
        let in_range = |value: &DeValue<'_>| {
            let given = f64::from(number(value)?);
            // A limit written in the file is the limit, whatever 32 bits make of it.
            let margin = 1e-6 * high.abs().max(low.abs());
            (given >= low - margin && given <= high + margin).then_some(given.clamp(low, high))
        };
        self.optional(key, in_range, &allowed)
    }
}

/// A seed.
pub(super) fn seed_number(value: &DeValue<'_>) -> Option<u64> {
    let integer = value.as_integer()?;
    u64::from_str_radix(&integer.as_str().replace('_', ""), integer.radix()).ok()
}

/// How many tables stand under a key, `[[key]]`.
pub(super) fn count(top: &Section<'_>, key: &str) -> usize {
    top.value(key).and_then(|value| value.as_array()).map_or(0, |array| array.len())
}

/// The tables of `[[key]]`, in their order.
pub(super) fn tables_of<'a>(
    top: &Section<'a>,
    text: &'a str,
    key: &'static str,
    keys: &[&str],
) -> Result<Vec<Section<'a>>, JobFileError> {
    let Some(value) = top.value(key) else { return Ok(Vec::new()) };
    let wrong = || top.error(key, format!("sections [[{key}]]"));
    let array = value.as_array().ok_or_else(wrong)?;
    array
        .iter()
        .map(|entry| match entry.get_ref() {
            DeValue::Table(table) => Section::new(text, key, table, entry.span().start, keys),
            _ => Err(wrong()),
        })
        .collect()
}
