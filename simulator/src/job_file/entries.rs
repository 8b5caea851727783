//! One section of a job file: its keys taken out one by one, each with its type, refused with its line.
//!
//! A section knows the keys it may have, and refuses any other before a single one is taken, so that a
//! misspelt key is named instead of the one that is missing for it.

use super::error::{JobFileError, line_of, piece};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A section, or the file's top where it has no name.
#[derive(Debug)]
pub(crate) struct Section<'a> {
    text: &'a str,
    name: &'static str,
    table: &'a DeTable<'a>,
    at: usize,
}

impl<'a> Section<'a> {
    /// A section with the keys it may have.
    pub(crate) fn new(
        text: &'a str,
        name: &'static str,
        table: &'a DeTable<'a>,
        at: usize,
        keys: &[&str],
    ) -> Result<Self, JobFileError> {
        let section = Self { text, name, table, at };
        let mut unknown: Vec<_> =
            table.keys().filter(|key| !keys.contains(&key.get_ref().as_ref())).collect();
        unknown.sort_by_key(|key| key.span().start);
        match unknown.first() {
            None => Ok(section),
            Some(key) => Err(JobFileError {
                line: Some(line_of(text, key.span().start)),
                key: Some(section.full(&piece(key.get_ref(), 0..key.get_ref().len()))),
                read: "an unknown key".into(),
                allowed: keys.join(", "),
            }),
        }
    }

    /// The section of this name inside this one; `None` where there is none.
    pub(crate) fn section(
        &self,
        name: &'static str,
        keys: &[&str],
    ) -> Result<Option<Section<'a>>, JobFileError> {
        let Some((key, value)) = self.table.get_key_value(name) else { return Ok(None) };
        match value.get_ref() {
            DeValue::Table(table) => Section::new(self.text, name, table, key.span().start, keys).map(Some),
            _ => Err(self.refuse(name, value, format!("a section [{name}]"))),
        }
    }

    /// The section of this name, which must be there.
    pub(crate) fn required_section(
        &self,
        name: &'static str,
        keys: &[&str],
    ) -> Result<Section<'a>, JobFileError> {
        self.section(name, keys)?.ok_or_else(|| self.missing(name, format!("a section [{name}]")))
    }

    /// The value of a key as it stands.
    pub(crate) fn value(&self, key: &str) -> Option<&'a DeValue<'a>> {
        self.table.get(key).map(Spanned::get_ref)
    }

    /// Whether a key is there.
    pub(crate) fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// The value of a key that must be there.
    pub(crate) fn required<T>(
        &self,
        key: &str,
        kind: impl Fn(&DeValue<'_>) -> Option<T>,
        allowed: &str,
    ) -> Result<T, JobFileError> {
        self.optional(key, kind, allowed)?.ok_or_else(|| self.missing(key, allowed))
    }

    /// The value of a key that may be left out.
    pub(crate) fn optional<T>(
        &self,
        key: &str,
        kind: impl Fn(&DeValue<'_>) -> Option<T>,
        allowed: &str,
    ) -> Result<Option<T>, JobFileError> {
        let Some(value) = self.table.get(key) else { return Ok(None) };
        kind(value.get_ref()).map(Some).ok_or_else(|| self.refuse(key, value, allowed))
    }

    /// The error of a key that cannot be what it is, found where it stands, or where it would.
    pub(crate) fn error(&self, key: &str, allowed: impl Into<String>) -> JobFileError {
        match self.table.get(key) {
            Some(value) => self.refuse(key, value, allowed),
            None => self.missing(key, allowed),
        }
    }

    fn refuse(&self, key: &str, value: &Spanned<DeValue<'_>>, allowed: impl Into<String>) -> JobFileError {
        let Range { start, end } = value.span();
        JobFileError {
            line: Some(line_of(self.text, start)),
            key: Some(self.full(key)),
            read: piece(self.text, start..end),
            allowed: allowed.into(),
        }
    }

    fn missing(&self, key: &str, allowed: impl Into<String>) -> JobFileError {
        JobFileError {
            line: (!self.name.is_empty()).then(|| line_of(self.text, self.at)),
            key: Some(self.full(key)),
            read: "nothing".into(),
            allowed: allowed.into(),
        }
    }

    fn full(&self, key: &str) -> String {
        if self.name.is_empty() { key.into() } else { format!("{}.{key}", self.name) }
    }
}

/// A text.
pub(crate) fn text(value: &DeValue<'_>) -> Option<String> {
    value.as_str().map(str::to_owned)
}

/// Yes or no.
pub(crate) fn switch(value: &DeValue<'_>) -> Option<bool> {
    value.as_bool()
}

/// A whole number; beyond 0 to 255 it becomes the nearer of the two, which no key allows.
pub(crate) fn whole(value: &DeValue<'_>) -> Option<u8> {
    let integer = value.as_integer()?;
    let digits = integer.as_str().replace('_', "");
    let number = i128::from_str_radix(&digits, integer.radix()).ok()?;
    Some(number.clamp(0, 255) as u8)
}

/// A finite number, whole or not.
pub(crate) fn number(value: &DeValue<'_>) -> Option<f32> {
    let number = match value {
        DeValue::Integer(integer) => {
            i128::from_str_radix(&integer.as_str().replace('_', ""), integer.radix()).ok()? as f32
        }
        DeValue::Float(float) => float.as_str().replace('_', "").parse().ok()?,
        _ => return None,
    };
    number.is_finite().then_some(number)
}

/// A list of at most `MOST` values of one kind.
pub(crate) fn list<T, const MOST: usize>(
    kind: impl Fn(&DeValue<'_>) -> Option<T>,
) -> impl Fn(&DeValue<'_>) -> Option<heapless::Vec<T, MOST>> {
    move |value| {
        let mut list = heapless::Vec::new();
        for entry in value.as_array()?.iter() {
            list.push(kind(entry.get_ref())?).ok()?;
        }
        Some(list)
    }
}

/// One of several words.
pub(crate) fn word<T: Copy>(words: &[(&str, T)]) -> impl Fn(&DeValue<'_>) -> Option<T> {
    move |value| {
        let read = value.as_str()?;
        words.iter().find(|(word, _)| *word == read).map(|(_, meaning)| *meaning)
    }
}
