//! The command line of `keyway`: what can be asked for, and with which exit status it is answered.
//!
//! It writes where it is told to and returns the status instead of ending the process, so that tests
//! drive the very same command.

use crate::capture::Names;
use crate::read::{self, Request};
use crate::{drill, grid, guide_play, make, replay, screens};
use clap::{Args, Parser, Subcommand};
use std::ffi::OsString;
use std::io::Write;
use std::path::{Path, PathBuf};

/// The exit status of bad input or usage.
const BAD_INPUT: u8 = 2;

/// Measures an engine's ignition advance from the edges of two pickups, and says what is wrong.
#[derive(Debug, Parser)]
#[command(name = "keyway", version)]
struct Command {
    #[command(subcommand)]
    task: Option<Task>,
}

#[derive(Debug, Subcommand)]
enum Task {
    /// Read a capture: the advance with its doubt, a verdict, and what explains it
    Read(ReadArguments),
    /// Make a capture of a simulated engine, the job file that fits beside it, and print the truth
    Make {
        /// What engine, what is wrong with it, and what is done to it
        scenario: PathBuf,
        /// The capture to write (.vcd); the job file gets the same name with .job.toml
        #[arg(long, value_name = "CAPTURE.vcd")]
        out: PathBuf,
    },
    /// Play a whole guided job on a simulated engine without a window, and print what screen and sounder did
    Guide {
        /// What engine, and what is wrong with it
        scenario: PathBuf,
        /// Keys and hands, one act a line
        #[arg(long, value_name = "SCRIPT")]
        keys: PathBuf,
        /// Write the record that was kept into this file
        #[arg(long, value_name = "FILE.json|FILE.csv")]
        record: Option<PathBuf>,
    },
    /// The trainer's exercises: find a hidden fault, or see that there is none; marked at the end
    Drill(DrillArguments),
    /// Feed a recording to the handheld at real time, and tell what screen and sounder do
    Replay(ReplayArguments),
    /// Write every screen of the handheld as a picture
    Screens {
        /// The folder to write the PNG files into; made where it is missing
        #[arg(long, value_name = "DIR")]
        out: PathBuf,
    },
    /// Accuracy and diagnosis over many seeded simulated engines
    Grid {
        /// Engines in total, spread over the cells and causes
        #[arg(long, default_value_t = 2000)]
        seeds: u64,
        /// Number of the first engine: other numbers are other engines
        #[arg(long, value_name = "NUMBER", default_value_t = 0)]
        from: u64,
        /// Print the tables as one JSON object
        #[arg(long)]
        json: bool,
    },
}

#[derive(Debug, Args)]
struct ReadArguments {
    /// What was recorded at the two pickups: a value change dump (.vcd) or rows (.csv)
    capture: PathBuf,
    /// The engine as entered: a job file in TOML
    #[arg(long, value_name = "JOB.toml")]
    job: PathBuf,
    /// Print the result as one JSON object
    #[arg(long)]
    json: bool,
    /// Write every spark, used or not, to this file
    #[arg(long, value_name = "FILE.csv")]
    sparks: Option<PathBuf>,
    /// Draw the sparks against the target, and the advance against speed, into this file
    #[arg(long, value_name = "FILE.svg")]
    plot: Option<PathBuf>,
    /// Write a page to print or keep: reading, causes, plots, job and cautions
    #[arg(long, value_name = "FILE.html")]
    report: Option<PathBuf>,
    /// The crank trigger's signal
    #[arg(long, value_name = "NAME", default_value = "crank")]
    crank: String,
    /// The spark clamp's signal
    #[arg(long, value_name = "NAME", default_value = "spark1")]
    spark: String,
    /// The supply's signal [default: battery_v, where there is one]
    #[arg(long, value_name = "NAME")]
    battery: Option<String>,
}

#[derive(Debug, Args)]
struct DrillArguments {
    /// Name or number of the drill; --list tells them
    name: Option<String>,
    /// List the drills
    #[arg(long)]
    list: bool,
    /// With --list: the trainer's notes too, which tell what to expect
    #[arg(long, requires = "list")]
    notes: bool,
    /// List the words of a script: acts, causes, evidence
    #[arg(long)]
    words: bool,
    /// The engine: one seed gives a class one engine [default: drawn from the clock]
    #[arg(long, value_name = "N")]
    seed: Option<u32>,
    /// What the trainee may see: causes, number (alone), or strobe (and scale alone)
    #[arg(long, value_name = "LEVEL", default_value = "causes")]
    level: String,
    /// No window: the acts come from a script
    #[arg(long)]
    no_window: bool,
    /// The acts, one a line, as for "keyway guide" and some more
    #[arg(long, value_name = "SCRIPT")]
    acts: Option<PathBuf>,
    /// Write the score sheet into this file
    #[arg(long, value_name = "FILE.html")]
    sheet: Option<PathBuf>,
    /// Add a row to this class table
    #[arg(long, value_name = "FILE.csv")]
    class: Option<PathBuf>,
    /// The trainee's name, for sheet and table
    #[arg(long, value_name = "NAME", default_value = "")]
    trainee: String,
}

impl DrillArguments {
    fn carry_out(self) -> Result<(String, u8), String> {
        let Self { name, list, notes, words, seed, level, no_window, acts, sheet, class, trainee } = self;
        if list {
            return drill::list(notes);
        }
        if words {
            return Ok((drill::words(), 0));
        }
        let level = drill::Level::named(&level)
            .ok_or_else(|| format!("--level: read \"{level}\", expected causes, number or strobe"))?;
        let ending = drill::Ending { sheet, class };
        let name = name.ok_or("drill: read no name, expected a drill's name or number, or --list")?;
        drill::run(&drill::Order { name, seed, level, no_window, acts, trainee, ending })
    }
}

#[derive(Debug, Args)]
struct ReplayArguments {
    /// What was recorded at the two pickups (.vcd or .csv); or --port
    capture: Option<PathBuf>,
    /// The engine as entered: a job file in TOML
    #[arg(long, value_name = "JOB.toml")]
    job: PathBuf,
    /// Take the edge stream of a handheld's port instead, or of a file that kept its lines
    #[arg(long, value_name = "FILE_OR_DEVICE")]
    port: Option<PathBuf>,
    /// No window: lines in the terminal
    #[arg(long)]
    no_window: bool,
    /// So many times real time, up to 1000; 0 does not wait at all
    #[arg(long, value_name = "N", default_value_t = 1.0, value_parser = speed)]
    speed: f64,
    /// Keys at the capture's time (press, hold, choose, wait) instead of a hand that tells everything
    #[arg(long, value_name = "SCRIPT")]
    keys: Option<PathBuf>,
    /// The crank trigger's signal
    #[arg(long, value_name = "NAME", default_value = "crank")]
    crank: String,
    /// The spark clamp's signal
    #[arg(long, value_name = "NAME", default_value = "spark1")]
    spark: String,
    /// The supply's signal [default: battery_v, where there is one]
    #[arg(long, value_name = "NAME")]
    battery: Option<String>,
}

/// 0, or a speed from a hundredth to a thousand times real time.
fn speed(text: &str) -> Result<f64, String> {
    let speed = text.parse().ok().filter(|speed| *speed == 0.0 || (0.01..=1000.0).contains(speed));
    speed.ok_or_else(|| "expected 0, or 0.01 to 1000".to_owned())
}

impl ReplayArguments {
    fn carry_out(self, out: &mut dyn Write) -> Result<(String, u8), String> {
        let Self { capture, job, port, no_window, speed, keys, crank, spark, battery } = self;
        let names = Names { crank, spark, battery };
        replay::run(&replay::Order { capture, port, job, names, keys, no_window, speed }, out)
    }
}

/// Carries out a command line, the program's name first, and returns the exit status.
pub fn run(
    arguments: impl IntoIterator<Item = impl Into<OsString> + Clone>,
    out: &mut dyn Write,
    errors: &mut dyn Write,
) -> u8 {
    let answered = match Command::try_parse_from(arguments) {
        Ok(Command { task: Some(Task::Read(arguments)) }) => read(arguments),
        Ok(Command { task: Some(Task::Make { scenario, out }) }) => make(&scenario, &out),
        Ok(Command { task: Some(Task::Drill(arguments)) }) => arguments.carry_out(),
        Ok(Command { task: Some(Task::Replay(arguments)) }) => arguments.carry_out(out),
        Ok(Command { task: Some(Task::Screens { out }) }) => write_screens(&out),
        Ok(Command { task: Some(Task::Grid { seeds, from, json }) }) => grid(from, seeds, json),
        Ok(Command { task: Some(Task::Guide { scenario, keys, record }) }) => {
            guide_play::run(&scenario, &keys, record.as_deref())
        }
        Ok(Command { task: None }) => crate::demo::run(),
        Err(error) if error.use_stderr() => Err(one_line(&error)),
        Err(help) => Ok((help.to_string(), 0)),
    };
    let (answer, status) = match answered {
        Ok(answered) => answered,
        Err(line) => (line, BAD_INPUT),
    };
    let printed = match status {
        BAD_INPUT => read::print(errors, &format!("keyway: {answer}\n")),
        _ => read::print(out, &answer),
    };
    match printed {
        Ok(()) => status,
        Err(error) => {
            let _ = writeln!(errors, "keyway: the answer cannot be written ({error})");
            BAD_INPUT
        }
    }
}

/// A usage error in one line: what was read, what is expected, where help is.
fn one_line(error: &clap::Error) -> String {
    let text = error.to_string();
    let parts = text.lines().map(str::trim).filter(|line| !line.is_empty());
    let told: Vec<&str> = parts.take_while(|line| !line.starts_with("For more information")).collect();
    let line = told.join(" ");
    let line = line.strip_prefix("error: ").unwrap_or(&line).replace(" Usage:", "; usage:");
    format!("{line} (see --help)")
}

fn read(arguments: ReadArguments) -> Result<(String, u8), String> {
    let ReadArguments { capture, job, json, sparks, plot, report, crank, spark, battery } = arguments;
    let names = Names { crank, spark, battery };
    let (job, outcome) = read::run(&Request { capture, job, names, sparks, plot, report })?;
    let answer = match json {
        true => read::to_json(&job, &outcome).map_err(|error| error.to_string())?,
        false => read::to_text(&job, &outcome),
    };
    Ok((answer, read::exit_status(&outcome.report)))
}

fn make(scenario: &Path, out: &Path) -> Result<(String, u8), String> {
    let truth = make::run(scenario, out).map_err(|error| error.to_string())?;
    let object = serde_json::to_string_pretty(&truth).map_err(|error| error.to_string())?;
    Ok((format!("{object}\n"), 0))
}

fn write_screens(out: &Path) -> Result<(String, u8), String> {
    let written = std::fs::create_dir_all(out)
        .and_then(|()| screens::write_all(out))
        .map_err(|error| format!("{}: cannot be written ({error})", out.display()))?;
    Ok((format!("{written} screens written to {}\n", out.display()), 0))
}

fn grid(from: u64, seeds: u64, json: bool) -> Result<(String, u8), String> {
    let grid = grid::run(from, seeds, true);
    let answer =
        if json { grid::to_json(&grid).map_err(|error| error.to_string())? } else { grid::to_text(&grid) };
    Ok((answer, 0))
}
