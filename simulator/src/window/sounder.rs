//! The sounder through the desktop, where it has a player of raw samples.
//!
//! No sound library is linked, as none compiles without a system package. A player that most desktops bring is
//! started and given samples; where none is found, or it stops, the bench is silent and the lamp on the handheld
//! tells what would be heard.

use keyway_core::sounder::Tone;
use std::io::Write;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, Sender, TryRecvError, channel};
use std::thread;
use std::time::{Duration, Instant};

/// Samples a second.
const RATE: u32 = 22_050;
/// Samples of a piece, 20 ms.
const PIECE: u32 = RATE / 50;
/// The player is kept so far ahead.
const AHEAD: Duration = Duration::from_millis(90);

/// Players that take raw samples on their standard input.
const PLAYERS: [&[&str]; 3] = [
    &["pw-cat", "-p", "--raw", "--format=s16", "--rate=22050", "--channels=1", "--latency=60ms", "-"],
    &["paplay", "--raw", "--format=s16le", "--rate=22050", "--channels=1", "--latency-msec=60"],
    &["aplay", "-q", "-t", "raw", "-f", "S16_LE", "-r", "22050", "-c", "1", "--buffer-time=80000", "-"],
];

/// A player at work, or none.
#[derive(Debug)]
pub(super) struct Speaker {
    tones: Option<Sender<Tone>>,
    last: Tone,
}

impl Speaker {
    /// Looks for a player.
    pub(super) fn new() -> Self {
        let (tones, hears) = channel();
        let started = thread::Builder::new().name("sounder".into()).spawn(move || play(&hears));
        Self { tones: started.is_ok().then_some(tones), last: Tone::SILENT }
    }

    /// No sound at all.
    pub(super) fn silent() -> Self {
        Self { tones: None, last: Tone::SILENT }
    }

    /// Plays this until told otherwise.
    pub(super) fn play(&mut self, tone: Tone) {
        if tone != self.last {
            self.last = tone;
            // A thread that has gone hears nothing more.
            self.tones.take_if(|tones| tones.send(tone).is_err());
        }
    }
}

fn start(words: &[&str]) -> Option<Child> {
    let (program, arguments) = words.split_first()?;
    let mut command = Command::new(program);
    command.args(arguments).stdin(Stdio::piped()).stdout(Stdio::null()).stderr(Stdio::null());
    command.spawn().ok()
}

/// Plays through the first player that goes on taking samples.
fn play(hears: &Receiver<Tone>) {
    for words in PLAYERS {
        let Some(mut player) = start(words) else { continue };
        let ended = feed(&mut player, hears);
        let _ = player.kill();
        let _ = player.wait();
        if ended {
            return;
        }
    }
}

/// Gives a player samples; true where nobody asks for sound any more, false where the player has gone.
fn feed(player: &mut Child, hears: &Receiver<Tone>) -> bool {
    let Some(mut into) = player.stdin.take() else { return false };
    let (began, mut sent) = (Instant::now(), 0_u32);
    let (mut tone, mut beat, mut phase) = (Tone::SILENT, 0_u32, 0.0_f64);
    loop {
        loop {
            match hears.try_recv() {
                Ok(next) => (tone, beat) = (next, 0),
                Err(TryRecvError::Empty) => break,
                Err(TryRecvError::Disconnected) => return true,
            }
        }
        let mut piece = Vec::with_capacity(2 * PIECE as usize);
        for _ in 0..PIECE {
            piece.extend_from_slice(&sample(tone, beat, &mut phase).to_le_bytes());
            beat = beat.wrapping_add(1);
        }
        if into.write_all(&piece).is_err() {
            return false;
        }
        sent = sent.saturating_add(1);
        let due = Duration::from_millis(20) * sent;
        if let Some(early) = due.checked_sub(began.elapsed() + AHEAD) {
            thread::sleep(early);
        }
    }
}

/// One sample of a tone, `beat` samples after it began.
fn sample(tone: Tone, beat: u32, phase: &mut f64) -> i16 {
    let period = u32::from(tone.pulse_ms) + u32::from(tone.pause_ms);
    let within = (beat / (RATE / 1000)) % period.max(1);
    if tone.pitch_hertz == 0 || (tone.pause_ms > 0 && within >= u32::from(tone.pulse_ms)) {
        *phase = 0.0;
        return 0;
    }
    *phase = (*phase + f64::from(tone.pitch_hertz) / f64::from(RATE)).fract();
    let loud = if tone.always_loud { 9000.0 } else { 5000.0 };
    ((*phase * std::f64::consts::TAU).sin() * loud) as i16
}

#[cfg(test)]
mod tests {
    use super::*;
    use keyway_core::sounder::{Heard, tone};

    fn crossings(tone: Tone, samples: u32) -> usize {
        let mut phase = 0.0;
        let wave: Vec<i16> = (0..samples).map(|beat| sample(tone, beat, &mut phase)).collect();
        wave.windows(2).filter(|pair| pair[0] <= 0 && pair[1] > 0).count()
    }

    #[test]
    fn a_steady_tone_has_its_pitch_and_silence_has_none() {
        let found = crossings(tone(Heard::OnTarget), RATE);
        assert!(found.abs_diff(880) <= 2, "{found}");
        assert_eq!(crossings(Tone::SILENT, RATE), 0);
    }

    #[test]
    fn a_pulse_sounds_only_for_its_part_of_the_period() {
        let call = tone(Heard::GateLost);
        let found = crossings(call, 2 * RATE);
        // 440 Hz for 0.3 s of every 2 s.
        assert!(found.abs_diff(132) <= 3, "{found}");
    }
}
