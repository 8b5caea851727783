//! `keyway drill`: the list, and a run by a script or in a window.
//!
//! The window's place is [`open`]: it gets the session and the [`Ending`], which writes sheet and class table
//! once the session is finished.

use super::{Level, Outcome, Session, all, append, named, parse, sheet};
use crate::window;
use std::fmt::Write;
use std::fs;
use std::path::PathBuf;
use std::time::{SystemTime, UNIX_EPOCH};

/// What the command line asks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Order {
    /// Name or number of the drill.
    pub name: String,
    /// The engine; drawn from the clock where none is given.
    pub seed: Option<u32>,
    /// What the trainee may see.
    pub level: Level,
    /// No window.
    pub no_window: bool,
    /// The script of acts.
    pub acts: Option<PathBuf>,
    /// Who works.
    pub trainee: String,
    /// What is written at the end.
    pub ending: Ending,
}

/// What is written once a session is finished.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Ending {
    /// The score sheet.
    pub sheet: Option<PathBuf>,
    /// The class table, to which a row is added.
    pub class: Option<PathBuf>,
}

impl Ending {
    /// Writes sheet and class table.
    ///
    /// # Errors
    /// One line: which file cannot be written and why.
    pub fn write(&self, outcome: &Outcome) -> Result<(), String> {
        if let Some(path) = &self.sheet {
            fs::write(path, sheet(outcome))
                .map_err(|error| format!("{}: cannot be written ({error})", path.display()))?;
        }
        self.class.as_ref().map_or(Ok(()), |path| append(path, outcome))
    }
}

/// The list of drills, with the trainer's notes where they are asked for.
///
/// # Errors
/// A built-in drill cannot be read, which a test rules out.
pub fn list(notes: bool) -> Result<(String, u8), String> {
    let mut text = String::new();
    for drill in all()? {
        let told = &drill.notes;
        // Writing to a text cannot fail.
        let _ = writeln!(
            text,
            "{:>2}  {:<22} {:<38} {:>2.0} min",
            drill.number, drill.name, told.title, told.minutes
        );
        if notes {
            for (what, words) in [
                ("Aim", &told.aim),
                ("Expected evidence", &told.expected_evidence),
                ("Usual wrong answer", &told.usual_wrong_answer),
                ("To ask", &told.question),
            ] {
                let _ = writeln!(text, "    {what}: {words}");
            }
        }
    }
    Ok((text, 0))
}

/// Runs a drill; exit status 0 passed, 1 failed.
///
/// # Errors
/// One line: what was read, and what was expected.
pub fn run(order: &Order) -> Result<(String, u8), String> {
    let drill = named(&order.name)?;
    let seed = order.seed.unwrap_or_else(drawn);
    let deeds = match &order.acts {
        None if order.no_window => {
            return Err("drill: read --no-window alone, expected --acts SCRIPT with it".into());
        }
        None => None,
        Some(path) => {
            let text = fs::read_to_string(path)
                .map_err(|error| format!("{}: cannot be read ({error})", path.display()))?;
            Some((path, parse(&text).map_err(|(line, what)| format!("{}:{line}: {what}", path.display()))?))
        }
    };
    let mut session = Session::start(drill, seed, order.level, &order.trainee)?;
    let Some((path, deeds)) = deeds else {
        return open(session, order.ending.clone());
    };
    for (line, deed) in &deeds {
        session.carry_out(deed).map_err(|why| format!("{}:{line}: {why}", path.display()))?;
    }
    session.finish();
    let mut text = opening(&session);
    for (at, line) in session.lines() {
        let _ = writeln!(text, "{at:8.2} s  {line}");
    }
    let outcome = session.finish();
    order.ending.write(outcome)?;
    let _ = write!(text, "\nMarks\n{}\n{}", outcome.table(), outcome.debrief());
    Ok((text, u8::from(!outcome.marks.passed)))
}

/// What a trainee is told at the start.
fn opening(session: &Session) -> String {
    let notes = &session.drill().notes;
    format!(
        "Drill {}: {}\n{}\nEngine {}, seed {}; {}; {:.0} minutes.\n\n",
        session.drill().number,
        notes.title,
        notes.story,
        session.job().name,
        session.seed(),
        session.level().words(),
        notes.minutes
    )
}

/// A seed from the clock, short enough to be read out.
fn drawn() -> u32 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    1 + since.subsec_micros() % 99_999
}

/// Opens the window on a session, which has the ending written once it is finished.
fn open(session: Session, ending: Ending) -> Result<(String, u8), String> {
    let opened = window::drill(session, ending);
    match opened.map_err(|why| format!("drill: {why}, expected --no-window --acts SCRIPT"))? {
        Some(outcome) => Ok((format!("Marks\n{}", outcome.table()), u8::from(!outcome.marks.passed))),
        None => Ok(("the drill was left before it was finished\n".into(), 1)),
    }
}
