//! The fuzzer's bytes as a script: a job, a start of the counter, then commands of one byte with their
//! arguments behind it.

use crate::engine::Engine;
use crate::{jobs, possible};
use keyway_core::edges::Channel;
use keyway_core::judge::Proven;
use keyway_core::meter::Meter;
use keyway_core::units::{Instant, Stamp, TickRate};

/// More edges than this add time and reach nothing new.
const MOST_EDGES: usize = 12_000;

/// What is left of the input.
pub(crate) struct Bytes<'b>(&'b [u8]);

impl Bytes<'_> {
    pub(crate) fn byte(&mut self) -> Option<u8> {
        let (first, rest) = self.0.split_first()?;
        self.0 = rest;
        Some(*first)
    }

    pub(crate) fn word(&mut self) -> Option<u32> {
        let (first, rest) = self.0.split_first_chunk()?;
        self.0 = rest;
        Some(u32::from_le_bytes(*first))
    }
}

fn channel(byte: u8) -> Channel {
    if byte & 1 == 0 { Channel::Crank } else { Channel::Spark }
}

/// Plays the script to its end, then ends the capture.
pub(crate) fn play(bytes: &[u8]) {
    let mut bytes = Bytes(bytes);
    let Some(job) = jobs::job(&mut bytes) else { return };
    let (Some(start), Some(rate)) = (bytes.word(), bytes.byte()) else { return };
    let rate = match rate % 4 {
        0 => TickRate::from_hertz(100_000),
        1 => TickRate::from_hertz(1_000_000_000),
        _ => Some(TickRate::DESKTOP),
    };
    let Some(rate) = rate else { return };
    let mut meter = Meter::new(job.clone(), rate);
    let mut engine = Engine::new(start);
    let mut edges = 0;
    while edges < MOST_EDGES && command(&mut bytes, &job, &mut meter, &mut engine, &mut edges).is_some() {
        while let Some(record) = meter.next_spark() {
            possible::record(&record);
        }
    }
    possible::report(&job, &meter.report());
    meter.finish();
    while let Some(record) = meter.next_spark() {
        possible::record(&record);
    }
    possible::report(&job, &meter.report());
}

fn command(
    bytes: &mut Bytes<'_>,
    job: &keyway_core::job::Job,
    meter: &mut Meter,
    engine: &mut Engine,
    edges: &mut usize,
) -> Option<()> {
    let command = bytes.byte()?;
    *edges += 8;
    match command % 16 {
        0..=3 => {
            for _ in 0..=command >> 4 {
                *edges += engine.turn_once(job, meter);
            }
        }
        4 => engine.turn = bytes.word()? % 20_000_000 + 2000,
        5 => engine.spark_at = bytes.word()?,
        6 => engine.change = bytes.byte()? as i8,
        7 => {
            let at = engine.now.wrapping_add(u64::from(bytes.word()?) >> (command >> 4));
            engine.stray(meter, channel(command >> 4), at, false);
            engine.now = at;
        }
        8 => {
            engine.now = engine.now.wrapping_add(u64::from(bytes.word()?));
            meter.poll(Stamp(engine.now as u32));
        }
        9 => meter.on_supply(f32::from_bits(bytes.word()?), Stamp(engine.now as u32)),
        10 => meter.on_lost(channel(command >> 4), bytes.word()?),
        11 => {
            let word = bytes.word()?;
            let told = |bit: u32| (word >> bit & 1 == 1).then_some(word >> (bit + 8) & 1 == 1);
            meter.set_proven(Proven {
                base_mode: told(0),
                clamp_on_one: told(1),
                clamp_direction: told(2),
                zero: word >> 3 & 1 == 1,
                rotor_at_one: told(4),
                hose_was_on: told(5),
                play_felt: told(6),
                offset: told(7).map(|_| (word >> 16) as i16),
            });
        }
        12 => {
            possible::report(job, &meter.report());
            possible::live(meter.live(Instant::from_ticks(engine.now)));
            *edges += 200;
        }
        // Out of order, backwards, or anywhere on the counter.
        13 => engine.stray(meter, channel(command >> 4), u64::from(bytes.word()?), command >> 5 & 1 == 1),
        14 => engine.lose = bytes.byte()?,
        _ => {
            let byte = bytes.byte()?;
            engine.spark_every = byte & 3;
            engine.strikes = byte >> 2 & 7;
        }
    }
    Some(())
}
