//! `keyway replay`: a capture, or the edge stream of a port, shown as the handheld shows it.
//!
//! The window's place is [`open`]: it gets the player's parts and draws the handheld instead of the lines.

use super::{AtOnce, Hand, Input, Pace, Player, Reader, RealTime};
use crate::capture::{self, Event, Names};
use crate::{guide_play, job_file, window};
use keyway_core::job::Job;
use keyway_core::sounder::Tone;
use keyway_core::view::View;
use std::fs::{self, File, OpenOptions};
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};

/// What the command line asks for.
#[derive(Debug, Clone, PartialEq)]
pub struct Order {
    /// A capture.
    pub capture: Option<PathBuf>,
    /// An edge stream, a device or a file.
    pub port: Option<PathBuf>,
    /// The job.
    pub job: PathBuf,
    /// The capture's signals.
    pub names: Names,
    /// A script of keys.
    pub keys: Option<PathBuf>,
    /// No window.
    pub no_window: bool,
    /// So many times real time; 0 does not wait.
    pub speed: f64,
}

/// Replays; the lines go to `out` as they come. Exit status 0 at the end of the source.
///
/// # Errors
/// One line: what was read, and what was expected.
pub fn run(order: &Order, out: &mut dyn Write) -> Result<(String, u8), String> {
    let job = job_file::read::file(&order.job)
        .map_err(|error| error.in_file(&order.job.display().to_string()).to_string())?;
    let hand = hand(order)?;
    if !order.no_window {
        return open(order, &job, hand);
    }
    // A device keeps the time itself.
    let live = order.port.as_ref().is_some_and(|port| fs::metadata(port).is_ok_and(|kind| !kind.is_file()));
    if live || order.speed == 0.0 {
        replay(order, &job, hand, AtOnce, out, None)
    } else {
        replay(order, &job, hand, RealTime::new(order.speed), out, None)
    }
}

fn hand(order: &Order) -> Result<Hand, String> {
    let Some(path) = &order.keys else { return Ok(Hand::hasty()) };
    let named = path.display();
    let text = fs::read_to_string(path).map_err(|error| format!("{named}: cannot be read ({error})"))?;
    let acts = guide_play::parse(&text).map_err(|(line, what)| format!("{named}:{line}: {what}"))?;
    Hand::scripted(acts).map_err(|act| format!("{named}: act {act}: expected press, hold, choose or wait"))
}

fn replay(
    order: &Order,
    job: &Job,
    hand: Hand,
    pace: impl Pace,
    out: &mut dyn Write,
    looks: Option<Looks<'_>>,
) -> Result<(String, u8), String> {
    let mut player = Player::new(job.spec(), hand, pace);
    player.take_lines();
    let mut told = Told { out, failed: None, looks };
    let end = match (&order.capture, &order.port) {
        (Some(path), None) => from_capture(path, order, &mut player, &mut told)?,
        (None, Some(path)) => from_port(path, &mut player, &mut told)?,
        (Some(_), Some(_)) | (None, None) => {
            return Err("replay: expected a capture or --port FILE_OR_DEVICE, one of the two".into());
        }
    };
    player.pass_to(end);
    told.lines(&mut player);
    if let Some(error) = told.failed {
        return Err(format!("the answer cannot be written ({error})"));
    }
    Ok((format!("{:8.2} s  the recording ends\n", end as f64 / 1e7), 0))
}

/// The handheld of a replay for who looks at it and presses its keys, whatever its pace.
pub trait Handheld {
    /// Screen and sound.
    fn shown(&self) -> (View, Tone);
    /// A key goes down or up.
    fn press(&mut self, key: u8, down: bool);
}

impl<P: Pace> Handheld for Player<P> {
    fn shown(&self) -> (View, Tone) {
        (*self.view(), self.tone())
    }

    fn press(&mut self, key: u8, down: bool) {
        self.key(key, down);
    }
}

/// Looks at the handheld, at every event that reaches it; false where nobody looks any more.
pub(super) type Looks<'a> = &'a mut dyn FnMut(&mut dyn Handheld) -> bool;

/// Where the lines go, and who looks; looking gives false where nobody does any more.
struct Told<'a, 'b> {
    out: &'a mut dyn Write,
    failed: Option<std::io::Error>,
    looks: Option<Looks<'b>>,
}

impl Told<'_, '_> {
    fn lines<P: Pace>(&mut self, player: &mut Player<P>) {
        if let Some(looks) = &mut self.looks
            && !looks(player)
        {
            self.failed.get_or_insert(std::io::Error::other("the window was closed"));
        }
        for (at, line) in player.take_lines() {
            self.line(&format!("{at:8.2} s  {line}"));
        }
    }

    fn line(&mut self, line: &str) {
        let written = writeln!(self.out, "{line}").and_then(|()| self.out.flush());
        if let Err(error) = written {
            self.failed.get_or_insert(error);
        }
    }
}

fn from_capture<P: Pace>(
    path: &Path,
    order: &Order,
    player: &mut Player<P>,
    told: &mut Told<'_, '_>,
) -> Result<u64, String> {
    let named = |error: capture::CaptureError| error.in_file(&path.display().to_string()).to_string();
    let (file, format) = capture::open(path).map_err(named)?;
    let outline = capture::read(file, format, &order.names, |ticks, event| {
        let input = match event {
            Event::Edge(channel, level) => Input::Edge(channel, level),
            Event::Supply(volts) => Input::Supply(volts),
        };
        player.input(ticks, input);
        told.lines(player);
    });
    let outline = outline.map_err(named)?;
    if outline.truncated {
        told.line("the capture ends in the middle of something: replayed up to there");
    }
    Ok(outline.ticks)
}

/// A file of lines, or a device that is asked to stream. It is opened once, for both ways: as the last one lets go of a
/// port, the handheld takes it for closed and stops.
fn open_port(path: &Path) -> std::io::Result<File> {
    if fs::metadata(path)?.is_file() {
        return File::open(path);
    }
    match OpenOptions::new().read(true).write(true).open(path) {
        Ok(mut port) => {
            take_as_it_comes(&port);
            // Whatever else is there does not take the line.
            let _ = port.write_all(b"{\"stream\":{\"on\":true}}\n");
            Ok(port)
        }
        Err(_) => File::open(path),
    }
}

/// A terminal would send back what comes, cut long lines, and change their ends.
#[cfg(unix)]
fn take_as_it_comes(port: &File) {
    use rustix::termios::{OptionalActions, tcgetattr, tcsetattr};
    if let Ok(mut settings) = tcgetattr(port) {
        settings.make_raw();
        let _ = tcsetattr(port, OptionalActions::Now, &settings);
    }
}

#[cfg(not(unix))]
fn take_as_it_comes(_: &File) {}

fn from_port<P: Pace>(path: &Path, player: &mut Player<P>, told: &mut Told<'_, '_>) -> Result<u64, String> {
    let bad = |error: std::io::Error| format!("{}: cannot be read ({error})", path.display());
    let mut reader = Reader::default();
    let mut end = 0;
    for (place, text) in BufReader::new(open_port(path).map_err(bad)?).split(b'\n').enumerate() {
        let text = match text {
            Ok(text) => text,
            Err(error) if place == 0 => return Err(bad(error)),
            // So a device ends that was unplugged.
            Err(_) => break,
        };
        let text = String::from_utf8_lossy(&text);
        match reader.take(&text, |ticks, input| player.input(ticks, input)) {
            Ok(reached) => end = reached.unwrap_or(end),
            // The first line of a live port is often half a line.
            Err(_) if place == 0 => {}
            Err(expected) => {
                told.line(&format!("{}:{}: left out, expected {expected}", path.display(), place + 1))
            }
        }
        told.lines(player);
        if told.failed.is_some() {
            break;
        }
    }
    Ok(end)
}

/// Opens the window on a replay: it shows the handheld, and takes its keys, while the capture runs beside it.
fn open(order: &Order, job: &Job, hand: Hand) -> Result<(String, u8), String> {
    window::display().map_err(|why| format!("replay: {why}, expected --no-window"))?;
    let live = order.port.as_ref().is_some_and(|port| fs::metadata(port).is_ok_and(|kind| !kind.is_file()));
    let named = order
        .capture
        .as_ref()
        .or(order.port.as_ref())
        .map_or_else(String::new, |path| path.display().to_string());
    let (order, job) = (order.clone(), job.clone());
    let play = move |looks: &mut dyn FnMut(&mut dyn Handheld) -> bool, lines: &mut dyn Write| {
        if live || order.speed == 0.0 {
            replay(&order, &job, hand, AtOnce, lines, Some(looks))
        } else {
            replay(&order, &job, hand, RealTime::new(order.speed), lines, Some(looks))
        }
    };
    window::replay(&named, play).map_err(|why| format!("replay: {why}, expected --no-window"))?
}
