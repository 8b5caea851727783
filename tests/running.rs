//! Runs the command `keyway` inside a test, with files of its own, and keeps what it answered.

use std::fs;
use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};

/// What the command answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// Its exit status.
    pub status: u8,
    /// What it printed.
    pub out: String,
    /// What it printed as errors.
    pub errors: String,
}

impl Answer {
    /// The printed JSON object.
    ///
    /// # Panics
    /// The output is no JSON.
    pub fn json(&self) -> serde_json::Value {
        match serde_json::from_str(&self.out) {
            Ok(value) => value,
            Err(error) => panic!("{error} in {self:?}"),
        }
    }

    /// The one line of an answer to bad input.
    ///
    /// # Panics
    /// The status is not 2, something was printed, or the error is not one line.
    pub fn refusal(&self) -> &str {
        assert_eq!(self.status, 2, "{self:?}");
        assert_eq!(self.out, "", "{self:?}");
        let line = self.errors.strip_suffix('\n').unwrap_or_default();
        assert!(!line.is_empty() && !line.contains(['\n', '\r']), "{self:?}");
        assert!(line.chars().count() < 300, "{self:?}");
        line
    }
}

/// Runs `keyway` with these arguments.
pub fn keyway(arguments: &[&str]) -> Answer {
    let (mut out, mut errors) = (Vec::new(), Vec::new());
    let whole = std::iter::once("keyway").chain(arguments.iter().copied());
    let status = keyway::command::run(whole, &mut out, &mut errors);
    let text = |bytes: Vec<u8>| String::from_utf8_lossy(&bytes).into_owned();
    Answer { status, out: text(out), errors: text(errors) }
}

/// A folder for the files of one test; gone when it is dropped.
#[derive(Debug)]
pub struct Scratch(PathBuf);

impl Scratch {
    /// An empty folder.
    ///
    /// # Panics
    /// It cannot be made.
    #[expect(clippy::new_without_default, reason = "a folder is made, not a value")]
    pub fn new() -> Self {
        static COUNT: AtomicUsize = AtomicUsize::new(0);
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        let folder = std::env::temp_dir().join(format!("keyway-test-{}-{count}", std::process::id()));
        fs::create_dir_all(&folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
        Self(folder)
    }

    /// The path of a file in it.
    pub fn path(&self, name: &str) -> String {
        self.0.join(name).display().to_string()
    }

    /// Writes a file and returns its path.
    ///
    /// # Panics
    /// It cannot be written.
    pub fn file(&self, name: &str, content: impl AsRef<[u8]>) -> String {
        let path = self.path(name);
        fs::write(&path, content).unwrap_or_else(|error| panic!("{path}: {error}"));
        path
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}
