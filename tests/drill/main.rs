//! The trainer's exercises as trainees meet them: model runs, usual wrong answers, errors that fail, and what
//! is printed at the end.

mod errors;
mod model_runs;
mod papers;
mod secrecy;

use keyway::drill::{Level, Session, Truth, named, parse};

/// A session of a drill.
fn session(name: &str, seed: u32, level: Level) -> Session {
    let started = named(name).and_then(|drill| Session::start(drill, seed, level, "Trainee"));
    started.unwrap_or_else(|error| panic!("{error}"))
}

/// Carries out a script.
fn work(session: &mut Session, script: &str) {
    let deeds = parse(script).unwrap_or_else(|error| panic!("{error:?}"));
    for (line, deed) in deeds {
        session.carry_out(&deed).unwrap_or_else(|why| panic!("line {line}: {why}"));
    }
}

/// What is right for a seed, as another trainee with the same seed is told it.
fn truth_of(name: &str, seed: u32) -> Truth {
    let mut other = session(name, seed, Level::Causes);
    work(&mut other, "commit none steady-on-target none 0");
    other.truth().unwrap_or_else(|_| panic!("committed")).clone()
}

/// The model run of a drill, its line that commits replaced.
fn model_with(name: &str, commit: impl Fn(&str) -> String) -> String {
    let drill = named(name).unwrap_or_else(|error| panic!("{error}"));
    let line = |line: &str| if line.starts_with("commit") { commit(line) } else { line.to_owned() };
    drill.model_run.lines().map(line).collect::<Vec<_>>().join("\n")
}
