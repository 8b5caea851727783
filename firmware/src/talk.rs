//! What the handheld says over its serial port, and does when it is told.
//!
//! *Answer*: lines that are still owed for a command; one goes out a turn, when there is room. A line that is
//! wrong in any way gets an error line and changes nothing.

use crate::keep::Keep;
use crate::port::{Came, Port};
use keyway_core::edges::{Channel, Level, Unwrap};
use keyway_core::instrument::{ENGINE_VERSION, Event, Instrument, Slot, open_engine};
use keyway_core::job::JobSpec;
use keyway_core::kept::{LONGEST, seal};
use keyway_core::record::{Identity, Record};
use keyway_core::units::Stamp;
use keyway_drivers::capture::{TICK_HERTZ, tick_rate};
use keyway_lines::{
    Batch, Command, Done, ErrorLine, Hello, JobLine, KeptJob, Live, RecordLine, Refused, Said, StreamOn,
    What, command,
};

/// Live readings so often, ticks: four times a second.
const LIVE_EVERY: u64 = TICK_HERTZ as u64 / 4;
/// A batch goes out after so long at the latest, ticks: 100 ms.
const BATCH_EVERY: u64 = TICK_HERTZ as u64 / 10;
/// Slots of engines.
const ENGINES: u8 = 12;

/// Lines still owed.
#[derive(Clone, Copy)]
enum Answer {
    Jobs { next: u8, count: u32 },
    Records { next: u32, to: u32, count: u32 },
    Forget { to: u32, count: u32 },
}

/// The talk over the port.
pub(crate) struct Talk {
    port: Port,
    identity: Identity,
    clock: Unwrap,
    live: bool,
    live_at: u64,
    stream: Option<Batch>,
    batch_at: u64,
    levels: [Level; 2],
    /// Edges lost since power-on.
    lost: [u32; 2],
    answer: Option<Answer>,
    dropped: u32,
}

impl Talk {
    /// Nobody listens yet.
    pub(crate) fn new(port: Port, identity: Identity) -> Self {
        Self {
            port,
            identity,
            clock: Unwrap::default(),
            live: false,
            live_at: 0,
            stream: None,
            batch_at: 0,
            levels: [Level::Low; 2],
            lost: [0; 2],
            answer: None,
            dropped: 0,
        }
    }

    /// Batches that found no room.
    pub(crate) fn dropped(&self) -> u32 {
        self.dropped
    }

    /// Whether edges are asked for.
    pub(crate) fn streams(&self) -> bool {
        self.stream.is_some()
    }

    /// The levels of crank and spark while nobody asks for edges.
    pub(crate) fn on_levels(&mut self, levels: [Level; 2]) {
        self.levels = levels;
    }

    /// An edge came.
    pub(crate) fn on_edge(&mut self, channel: Channel, level: Level, at: Stamp, battery_v: Option<f32>) {
        if let Some(kept) = self.levels.get_mut(channel as usize) {
            *kept = level;
        }
        if self.stream.is_none() {
            return;
        }
        let at = self.clock.moment(at).ticks();
        if self.stream.as_ref().is_some_and(Batch::is_full) {
            self.send_batch(at, battery_v);
        }
        if let Some(batch) = &mut self.stream {
            batch.push(channel, level, at);
        }
    }

    /// Edges were lost in the capture.
    pub(crate) fn on_lost(&mut self, channel: Channel, count: u32) {
        if let Some(lost) = self.lost.get_mut(channel as usize) {
            *lost = lost.saturating_add(count);
        }
        if let Some(batch) = &mut self.stream {
            batch.lose(channel, count);
        }
    }

    fn send_batch(&mut self, end: u64, battery_v: Option<f32>) {
        let Some(batch) = &mut self.stream else { return };
        // In a long drain many batches come in one turn: room is made between them.
        self.port.poll();
        if self.port.say(&Said::Edges(batch.line(end, battery_v))) {
            batch.sent(end);
        } else {
            batch.dropped(end);
            self.dropped = self.dropped.saturating_add(1);
        }
        self.batch_at = end;
    }

    /// A turn of the loop, at `now`.
    #[inline(never)]
    pub(crate) fn turn(&mut self, instrument: &mut Instrument, keep: &mut Keep, now: Stamp) {
        let at = self.clock.moment(now).ticks();
        self.port.poll();
        self.hear(instrument, keep, now, at);
        if self.live && at.saturating_sub(self.live_at) >= LIVE_EVERY {
            self.live_at = at;
            let _ = self.port.say(&Said::Live(Live::new(instrument.sensed(), at, self.lost)));
        }
        if at.saturating_sub(self.batch_at) >= BATCH_EVERY {
            self.send_batch(at, instrument.sensed().supply);
        }
        if self.port.has_room()
            && let Some(answer) = self.answer.take()
        {
            self.answer = self.go_on(answer, keep);
        }
    }

    fn hear(&mut self, instrument: &mut Instrument, keep: &mut Keep, now: Stamp, at: u64) {
        while self.answer.is_none() && self.port.has_room() {
            let Some(came) = self.port.next() else { return };
            let (number, heard) = match came {
                Came::Nothing => continue,
                Came::Opened => {
                    defmt::info!("serial port opened");
                    let _ = self.port.say(&Said::Hello(Hello::new(self.identity, tick_rate())));
                    continue;
                }
                Came::Closed => {
                    defmt::info!("serial port closed");
                    (self.live, self.stream) = (false, None);
                    continue;
                }
                Came::Line(number, line) => (number, command(line)),
                Came::TooLong(number) => {
                    (number, Err(Refused::new(What::TooLong, "a line of at most 1535 bytes")))
                }
            };
            let done = heard.and_then(|command| self.obey(command, instrument, keep, now, at));
            if let Err(refused) = done {
                defmt::info!("serial line {=u32} refused", number);
                let _ = self.port.say(&Said::Error(ErrorLine::new(number, &refused)));
            }
        }
    }

    fn done(&mut self, what: &'static str, count: u32) {
        let _ = self.port.say(&Said::Done(Done { what, count }));
    }

    fn obey(
        &mut self,
        command: Command,
        instrument: &mut Instrument,
        keep: &mut Keep,
        now: Stamp,
        at: u64,
    ) -> Result<(), Refused> {
        match command {
            Command::Hello => {
                let _ = self.port.say(&Said::Hello(Hello::new(self.identity, tick_rate())));
            }
            Command::Live(on) => {
                self.live = on;
                self.done("live", 1);
            }
            Command::Stream(on) => {
                self.stream = on.then(|| Batch::new(at, self.levels));
                self.batch_at = at;
                let _ = self.port.say(&Said::Stream(StreamOn { on, ticks_per_second: TICK_HERTZ }));
            }
            Command::Job { slot, spec } => {
                keep_engine(slot, &spec, instrument, keep, now)?;
                self.done("job", 1);
            }
            Command::Jobs => self.answer = Some(Answer::Jobs { next: 0, count: 0 }),
            Command::Records { from, to } => {
                // Only numbers that the store may hold are looked for.
                let held = keep.records().unwrap_or((1, 0));
                self.answer = Some(Answer::Records { next: from.max(held.0), to: to.min(held.1), count: 0 });
            }
            Command::Forget { to } => {
                if instrument.sensed().turning {
                    return Err(Refused::new(What::Refused, "a standing engine"));
                }
                self.answer = Some(Answer::Forget { to, count: 0 });
            }
            Command::Clock(seconds) => {
                instrument.step_other(Event::Clock(seconds), now);
                self.done("clock", 1);
            }
        }
        Ok(())
    }

    /// Says one more line of an answer; what is still owed.
    fn go_on(&mut self, answer: Answer, keep: &mut Keep) -> Option<Answer> {
        match answer {
            Answer::Jobs { next, count } if next < ENGINES => {
                let kept = keep.load(Slot::Engine(next)).and_then(|data| open_engine(data).ok());
                let told = kept.is_some_and(|(spec, _)| {
                    self.port.say(&Said::Job(KeptJob { slot: next, job: JobLine::from(&spec) }))
                });
                Some(Answer::Jobs { next: next + 1, count: count + u32::from(told) })
            }
            Answer::Records { next, to, count } if next <= to => {
                let told = keep.load(Slot::Record(next)).is_some_and(|sealed| {
                    Record::decode(sealed)
                        .is_ok_and(|record| self.port.say(&Said::Record(RecordLine::new(&record, sealed))))
                });
                Some(Answer::Records { next: next.saturating_add(1), to, count: count + u32::from(told) })
            }
            Answer::Forget { to, count } => match keep.forget(to) {
                Some(more) => Some(Answer::Forget { to, count: count + more }),
                None => {
                    self.done("forget", count);
                    None
                }
            },
            Answer::Jobs { count, .. } => {
                self.done("jobs", count);
                None
            }
            Answer::Records { count, .. } => {
                self.done("records", count);
                None
            }
        }
    }
}

/// Keeps an engine in its slot, and tells the core what is there now.
fn keep_engine(
    slot: u8,
    spec: &JobSpec,
    instrument: &mut Instrument,
    keep: &mut Keep,
    now: Stamp,
) -> Result<(), Refused> {
    let mut room = [0; LONGEST];
    let sealed = seal(ENGINE_VERSION, spec, &mut room);
    let sealed = sealed.ok_or_else(|| Refused::new(What::Job, "a job that can be kept"))?;
    let slot = Slot::Engine(slot);
    if !keep.save(slot, sealed) {
        return Err(Refused::new(What::Store, "room in the store"));
    }
    instrument.step_other(Event::Loaded { slot, data: Some(sealed) }, now);
    Ok(())
}
