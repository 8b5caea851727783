//! A log of all events of a handheld as a few bytes, so that a session can be kept beside the tests and
//! replayed to the identical views.
//!
//! ```text
//! "keyway log 1\n"                          what it is, and its version
//! kind, distance, then what the kind has    one event after the other
//!   0 time passed n times, each so far          n
//!   1 to 4 crank low, high, spark low, high     -
//!   5 to 12 key 0 to 3 let go, pressed          -
//!   13 supply                                   4 bytes, a little-endian float
//!   14 stored, 15 not stored                    slot
//!   16 loaded, nothing there                    slot
//!   17 loaded                                   slot, length, bytes
//! ```
//!
//! Distances are counter ticks since the event before, numbers seven bits a byte with the lowest first. A
//! slot is a byte and a number: 0 state, 1 settings, 2 engine, 3 record.

use super::Told;
use keyway_core::edges::{Channel, Level};
use keyway_core::instrument::Slot;
use keyway_core::units::Stamp;

const BEGIN: &[u8] = b"keyway log 1\n";
/// The longest block of a slot.
const LONGEST: u32 = 4096;

fn number(mut value: u32, out: &mut Vec<u8>) {
    while value >= 0x80 {
        out.push(value as u8 | 0x80);
        value >>= 7;
    }
    out.push(value as u8);
}

fn slot(slot: Slot, out: &mut Vec<u8>) {
    let (kind, place) = match slot {
        Slot::State => (0, 0),
        Slot::Settings => (1, 0),
        Slot::Engine(place) => (2, u32::from(place)),
        Slot::Record(place) => (3, place),
    };
    out.push(kind);
    number(place, out);
}

/// The bytes of a log.
pub fn encode(log: &[(Told, Stamp)]) -> Vec<u8> {
    let mut out = BEGIN.to_vec();
    let mut before = 0;
    let mut events = log.iter().peekable();
    while let Some((told, at)) = events.next() {
        let distance = at.0.wrapping_sub(before);
        before = at.0;
        let kind = match told {
            Told::Tick => 0,
            Told::Edge(channel, level) => {
                1 + 2 * u8::from(*channel == Channel::Spark) + u8::from(*level == Level::High)
            }
            Told::Key(key, down) => 5 + 2 * key.min(&3) + u8::from(*down),
            Told::Supply(_) => 13,
            Told::Stored(_, stored) => {
                if *stored {
                    14
                } else {
                    15
                }
            }
            Told::Loaded(_, data) => 16 + u8::from(data.is_some()),
        };
        out.push(kind);
        number(distance, &mut out);
        match told {
            Told::Tick => {
                let mut times = 1;
                while let Some((Told::Tick, next)) = events.peek()
                    && next.0.wrapping_sub(before) == distance
                {
                    before = next.0;
                    times += 1;
                    events.next();
                }
                number(times, &mut out);
            }
            Told::Edge(..) | Told::Key(..) => {}
            Told::Supply(volts) => out.extend(volts.to_le_bytes()),
            Told::Stored(place, _) | Told::Loaded(place, None) => slot(*place, &mut out),
            Told::Loaded(place, Some(data)) => {
                slot(*place, &mut out);
                number(data.len() as u32, &mut out);
                out.extend(data);
            }
        }
    }
    out
}

/// What is left to be read of a log.
struct Reader<'a> {
    all: usize,
    rest: &'a [u8],
}

impl<'a> Reader<'a> {
    fn wrong<T>(&self, expected: &str) -> Result<T, String> {
        Err(format!("byte {}: expected {expected}", self.all - self.rest.len()))
    }

    fn take(&mut self, count: usize) -> Result<&'a [u8], String> {
        let Some((taken, rest)) = self.rest.split_at_checked(count) else {
            return self.wrong(&format!("{count} more bytes"));
        };
        self.rest = rest;
        Ok(taken)
    }

    fn byte(&mut self) -> Result<u8, String> {
        self.take(1).map(|taken| taken.first().copied().unwrap_or(0))
    }

    fn number(&mut self) -> Result<u32, String> {
        let mut value = 0u64;
        for shift in (0..35).step_by(7) {
            let byte = self.byte()?;
            value |= u64::from(byte & 0x7f) << shift;
            if byte < 0x80 {
                return u32::try_from(value).or_else(|_| self.wrong("a number of 32 bits"));
            }
        }
        self.wrong("a number of 32 bits")
    }

    fn slot(&mut self) -> Result<Slot, String> {
        let (kind, place) = (self.byte()?, self.number()?);
        match kind {
            0 => Ok(Slot::State),
            1 => Ok(Slot::Settings),
            2 => u8::try_from(place).map(Slot::Engine).or_else(|_| self.wrong("an engine's place")),
            3 => Ok(Slot::Record(place)),
            _ => self.wrong("a slot, 0 to 3"),
        }
    }
}

/// The log in these bytes.
///
/// # Errors
/// Which byte, and what was expected there.
pub fn decode(bytes: &[u8]) -> Result<Vec<(Told, Stamp)>, String> {
    let mut reader = Reader { all: bytes.len(), rest: bytes };
    if reader.take(BEGIN.len()).ok() != Some(BEGIN) {
        return Err("byte 0: expected \"keyway log 1\"".to_owned());
    }
    let mut log = Vec::new();
    let mut at = 0u32;
    while !reader.rest.is_empty() {
        let kind = reader.byte()?;
        let distance = reader.number()?;
        at = at.wrapping_add(distance);
        let told = match kind {
            0 => {
                let times = reader.number()?;
                if times == 0 || times > 1_000_000 {
                    return reader.wrong("1 to 1000000 times");
                }
                for _ in 1..times {
                    log.push((Told::Tick, Stamp(at)));
                    at = at.wrapping_add(distance);
                }
                Told::Tick
            }
            1..=4 => {
                let channel = if kind < 3 { Channel::Crank } else { Channel::Spark };
                Told::Edge(channel, if kind % 2 == 0 { Level::High } else { Level::Low })
            }
            5..=12 => Told::Key((kind - 5) / 2, kind % 2 == 0),
            13 => {
                let mut volts = [0; 4];
                volts.copy_from_slice(reader.take(4)?);
                Told::Supply(f32::from_le_bytes(volts))
            }
            14 | 15 => Told::Stored(reader.slot()?, kind == 14),
            16 => Told::Loaded(reader.slot()?, None),
            17 => {
                let place = reader.slot()?;
                let length = reader.number()?;
                if length > LONGEST {
                    return reader.wrong("a block of 4096 bytes at most");
                }
                Told::Loaded(place, Some(reader.take(length as usize)?.to_vec()))
            }
            _ => return reader.wrong("a kind of event, 0 to 17"),
        };
        log.push((told, Stamp(at)));
    }
    Ok(log)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_event_reads_back_and_a_cut_or_strange_log_is_told_by_its_byte() {
        let mut log = vec![];
        let mut at = 0u32;
        let mut add = |told, by: u32| {
            at = at.wrapping_add(by);
            log.push((told, Stamp(at)));
        };
        for channel in [Channel::Crank, Channel::Spark] {
            add(Told::Edge(channel, Level::High), 127);
            add(Told::Edge(channel, Level::Low), 128);
        }
        (0..4).for_each(|key| add(Told::Key(key, key % 2 == 0), 0));
        (0..7).for_each(|_| add(Told::Tick, 500_000));
        add(Told::Tick, 499_999);
        add(Told::Supply(-13.25), u32::MAX);
        for slot in [Slot::State, Slot::Settings, Slot::Engine(11), Slot::Record(70_000)] {
            add(Told::Stored(slot, true), 3);
            add(Told::Stored(slot, false), 3);
            add(Told::Loaded(slot, None), 1);
            add(Told::Loaded(slot, Some(vec![1, 2, 255])), 1);
        }
        let bytes = encode(&log);
        assert_eq!(decode(&bytes), Ok(log.clone()));
        for length in 0..bytes.len() {
            if let Ok(shorter) = decode(&bytes[..length]) {
                assert!(shorter.len() < log.len() && log.starts_with(&shorter), "{length}");
            }
        }
        let strange = [BEGIN, &[18, 0]].concat();
        assert_eq!(decode(&strange), Err("byte 15: expected a kind of event, 0 to 17".to_owned()));
    }
}
