//! Which events at the spark pickup are sparks of the lead it is on, and at which angle they came.
//!
//! *Strike*: an active edge of the spark signal. *Group*: the strikes that belong to one firing, by
//! ringing or because the ignition strikes several times; the first counts. *Placed spark*: one whose
//! crank angle is known and whose turn the crank pattern has confirmed.
//!
//! A group lasts as long as the crank takes for 36°, or for two fifths of the shortest firing interval
//! where that is less: ringing and repeated strikes of one firing end before that at idle, and no other lead
//! fires within it. Strikes that repeat do so by time, not by angle, and so does the spark after the start of charging
//! that a clamp turned round takes for it: a group lasts seven milliseconds at least, though no longer than three quarters
//! of the way to the next firing, or than half a turn where no other firing comes by the lead's coil.
//!
//! A spark waits until its turn is verified and the turn after it is complete, since the speed around it is the
//! mean over the turn before and the turn after.

use crate::crank::{Decoder, Located, Whereabouts, locate};
use crate::job::{Job, SparkKind};
use crate::reading::SparkFate;
use crate::units::{Advance, Instant, TickRate};
use heapless::Deque;

/// How many sparks may wait for their turn: a clamp that sees all of twelve cylinders gives six a turn.
const WAITING: usize = 22;
/// The longest group, crank degrees.
const LONGEST_GROUP: f32 = 36.0;
/// The least that a group lasts, milliseconds: three strikes follow each other at up to two, and a coil charges for up to
/// six (common practice, no source).
const SHORTEST_GROUP_MS: u32 = 7;
/// That, as a part of the shortest firing interval at most, and degrees where each cylinder has its coil, or two have.
const SHORTEST_GROUP_PART: f32 = 0.75;
const SHORTEST_GROUP_OF_ONE: f32 = 180.0;
/// The longest group while the speed is not known, milliseconds.
const GROUP_WITHOUT_SPEED_MS: u32 = 6;

/// A spark at a known crank angle.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct PlacedSpark {
    /// When.
    pub at: Instant,
    /// Where.
    pub located: Located,
    /// Mean speed over the turns before and after it (one turn for a two-stroke), rpm.
    pub rpm: f32,
    /// Change of speed from the turn before the last to the turn after, as a part of the speed.
    pub climb: f32,
}

/// What became of one strike, so far as the sparks room can tell.
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SparkEvent {
    /// The first strike of a group, placed.
    Placed(PlacedSpark),
    /// Not placed, and why.
    Dropped(Instant, SparkFate),
}

#[derive(Debug, Clone, Copy)]
struct Waiting {
    at: Instant,
    epoch: u16,
    /// Teeth placed in its epoch when it was last asked for, wrapping: a spark waits for a few turns at most.
    placed: u16,
    /// Teeth to be placed until it is worth asking again.
    after: u8,
    located: Option<Located>,
}

impl Waiting {
    /// Where the crank was is found. A call, so that the copy is known to go from one place to another.
    #[inline(never)]
    fn keep(&mut self, located: &Located) {
        self.located = Some(*located);
    }

    /// Whether it is worth asking where it was: on every edge but a few the answer is "later".
    fn is_due(&self, crank: &Decoder, ended: bool) -> bool {
        let since = (crank.teeth().placed() as u16).wrapping_sub(self.placed);
        self.located.is_none() && self.epoch == crank.epoch() && (ended || since >= u16::from(self.after))
    }
}

/// Groups strikes and places their first on the crank.
#[derive(Debug, Clone)]
pub struct Sparks {
    rate: TickRate,
    two_turns: bool,
    /// Length of a group as a part of a turn.
    group_part: f32,
    /// The same where strikes that repeat by time would reach beyond it.
    repeats_part: f32,
    group_start: Option<Instant>,
    waiting: Deque<Waiting, WAITING>,
    later_strikes: u32,
    firsts: u32,
    /// At speed firsts closer than this to the one last looked at, or than a quarter more every other time, are passed
    /// over; low half of when that one was.
    least_apart: u32,
    looked_at: u32,
    wider: bool,
    passed_over: u32,
    /// Teeth placed when one of those waiting is next worth asking for, wrapping.
    due: Option<u16>,
}

impl Sparks {
    /// For one job, on a counter of this rate.
    pub fn new(job: &Job, rate: TickRate) -> Self {
        let shortest = job.firing_intervals().iter().copied().fold(360.0, f32::min);
        let repeats = match job.spec().engine.spark {
            SparkKind::Distributor => shortest * SHORTEST_GROUP_PART,
            SparkKind::Paired | SparkKind::Single => SHORTEST_GROUP_OF_ONE,
        };
        Self {
            rate,
            two_turns: job.turns_per_cycle() == 2,
            group_part: LONGEST_GROUP.min(shortest * 0.4) / 360.0,
            repeats_part: repeats / 360.0,
            group_start: None,
            waiting: Deque::new(),
            later_strikes: 0,
            firsts: 0,
            least_apart: 0,
            looked_at: 0,
            wider: false,
            passed_over: 0,
            due: None,
        }
    }

    /// From now on no more than about so many sparks a second are looked at where the crank turns faster than two turns
    /// in three of their times, and half as many where it turns faster than two in one. The others are counted.
    pub fn look_at_most(&mut self, a_second: u32) {
        self.least_apart = (u64::from(self.rate.hertz()) / u64::from(a_second.max(1))) as u32;
    }

    /// First strikes of groups that were counted and not looked at.
    pub fn passed_over(&self) -> u32 {
        self.passed_over
    }

    /// Whether the first strike of a group is one too many.
    fn is_one_too_many(&mut self, at: Instant, crank: &Decoder) -> bool {
        let turn = crank.teeth().newest_turn().unwrap_or(u32::MAX);
        if turn >= self.least_apart.saturating_add(self.least_apart / 2) {
            return false;
        }
        let now = at.ticks() as u32;
        // Far above all that timing is set at, half as many tell as much.
        let least = if turn < self.least_apart / 2 { self.least_apart * 2 } else { self.least_apart };
        // Not always as many: sparks of even and of odd turns would not be seen alike.
        let apart = least + if self.wider { least / 4 } else { 0 };
        if now.wrapping_sub(self.looked_at) < apart {
            self.passed_over = self.passed_over.saturating_add(1);
            return true;
        }
        (self.looked_at, self.wider) = (now, !self.wider);
        false
    }

    /// Strikes after the first of their group.
    pub fn later_strikes(&self) -> u32 {
        self.later_strikes
    }

    /// First strikes of groups.
    pub fn firsts(&self) -> u32 {
        self.firsts
    }

    /// An active edge of the spark signal, its declared delay taken off. Gives back what was dropped by it.
    pub fn on_strike(&mut self, at: Instant, crank: &Decoder) -> Option<SparkEvent> {
        let longest = match crank.teeth().newest_turn() {
            Some(turn) => {
                let repeats = (turn as f32 * self.repeats_part) as u64;
                let by_angle = (turn as f32 * self.group_part) as u64;
                by_angle.max(repeats.min(self.rate.ticks_in_ms(SHORTEST_GROUP_MS)))
            }
            None => self.rate.ticks_in_ms(GROUP_WITHOUT_SPEED_MS),
        };
        if self.group_start.is_some_and(|start| at.since(start) < longest) {
            self.later_strikes = self.later_strikes.saturating_add(1);
            return Some(SparkEvent::Dropped(at, SparkFate::LaterStrike));
        }
        self.group_start = Some(at);
        self.firsts = self.firsts.saturating_add(1);
        if self.is_one_too_many(at, crank) {
            return None;
        }
        let dropped = if self.waiting.is_full() { self.waiting.pop_front() } else { None };
        let placed = crank.teeth().placed() as u16;
        // A wheel's tooth is placed when the next one has come: that before the spark is placed after it.
        let plan = crank.plan();
        let after = plan.nodes_wanted(crank.teeth().swing().known()) + u8::from(plan.is_wheel());
        let _ = self.waiting.push_back(Waiting { at, epoch: crank.epoch(), placed, after, located: None });
        self.renew_due(crank);
        dropped.map(|spark| SparkEvent::Dropped(spark.at, SparkFate::NoSync))
    }

    /// Teeth to be placed until [`Sparks::next`] may have something to tell, while they are ordinary and no turn begins.
    pub fn teeth_until_due(&self, crank: &Decoder) -> u8 {
        let left = self.due.map(|due| due.wrapping_sub(crank.teeth().placed() as u16) as i16);
        left.map_or(u8::MAX, |left| left.clamp(1, 255) as u8)
    }

    fn renew_due(&mut self, crank: &Decoder) {
        let now = crank.teeth().placed() as u16;
        let asked =
            self.waiting.iter().filter(|spark| spark.located.is_none() && spark.epoch == crank.epoch());
        let left =
            asked.map(|spark| spark.placed.wrapping_add(u16::from(spark.after)).wrapping_sub(now) as i16);
        self.due = left.min().map(|left| now.wrapping_add_signed(left));
    }

    /// Whether [`Sparks::next`] may have something to tell while edges still come; it costs little to ask.
    pub fn any_due(&self, crank: &Decoder) -> bool {
        let Some(oldest) = self.waiting.front() else { return false };
        let turn_is_over = |located: Located| {
            crank.teeth().turn_reached().is_some_and(|turn| (turn.wrapping_sub(located.turn) as i32) >= 2)
        };
        oldest.epoch != crank.epoch()
            || oldest.located.is_some_and(turn_is_over)
            || self.waiting.iter().any(|spark| spark.is_due(crank, false))
    }

    /// The oldest waiting spark, if its fate can be told. With `ended` no more edges will come.
    pub fn next(&mut self, crank: &Decoder, ended: bool) -> Option<SparkEvent> {
        let event = self.look(crank, ended);
        self.renew_due(crank);
        event
    }

    fn look(&mut self, crank: &Decoder, ended: bool) -> Option<SparkEvent> {
        let oldest = self.waiting.front_mut()?;
        let at = oldest.at;
        if oldest.epoch != crank.epoch() {
            // Sync is recognised a few teeth after it begins: a spark that came meanwhile belongs to it.
            if crank.in_sync() && crank.teeth().began().is_some_and(|began| at >= began) {
                oldest.epoch = crank.epoch();
            } else {
                self.waiting.pop_front();
                return Some(SparkEvent::Dropped(at, SparkFate::NoSync));
            }
        }
        // All waiting sparks are located as early as may be: the teeth around them are soon forgotten.
        let mut unknown = false;
        for spark in &mut self.waiting {
            if spark.is_due(crank, ended) {
                match locate(crank.plan(), crank.teeth(), spark.at, ended) {
                    Whereabouts::At(located) => spark.keep(&located),
                    Whereabouts::Later => break,
                    Whereabouts::Unknown if spark.at == at => {
                        unknown = true;
                        break;
                    }
                    Whereabouts::Unknown => {}
                }
            }
        }
        if unknown {
            self.waiting.pop_front();
            return Some(SparkEvent::Dropped(at, SparkFate::Doubtful));
        }
        let located = self.waiting.front().and_then(|spark| spark.located);
        if located.is_some_and(|located| is_between_false_marks(crank, located.turn)) {
            self.waiting.pop_front();
            return Some(SparkEvent::Dropped(at, SparkFate::Doubtful));
        }
        let placed = located.and_then(|located| self.place(at, located, crank));
        match placed {
            Some(spark) => {
                self.waiting.pop_front();
                Some(SparkEvent::Placed(spark))
            }
            None if ended => {
                self.waiting.pop_front();
                Some(SparkEvent::Dropped(at, SparkFate::AtTheEnd))
            }
            None => None,
        }
    }

    /// The spark with the speed around it, once its turn is verified and the turn after it complete.
    fn place(&self, at: Instant, located: Located, crank: &Decoder) -> Option<PlacedSpark> {
        let verified = crank.verified_turn()?;
        let reached = crank.teeth().turn_reached()?;
        let since = |turn: u32| turn.wrapping_sub(located.turn) as i32;
        if since(verified) < 1 || since(reached) < 2 {
            return None;
        }
        let when = |turns: i32| -> Option<Instant> {
            let turn = located.turn.wrapping_add_signed(turns);
            let start = crank.teeth().turn_time(turn)?;
            let end = crank.teeth().turn_time(turn.wrapping_add(1))?;
            // A turn of more than 32 bits is none.
            Some(start.shifted(i64::from((end.ticks_since(start) as f32 * located.part) as u32)))
        };
        let after = when(1)?;
        let one_after = self.rate.rpm(1.0, after.since(at));
        let (rpm, climb) = match (when(-1), when(-2)) {
            (Some(before), earlier) if self.two_turns => {
                let rpm = self.rate.rpm(2.0, after.since(before));
                let one_before = match earlier {
                    Some(earlier) => self.rate.rpm(1.0, before.since(earlier)),
                    None => self.rate.rpm(1.0, at.since(before)),
                };
                (rpm, (one_after - one_before) / rpm.max(1.0))
            }
            (Some(before), _) => {
                let one_before = self.rate.rpm(1.0, at.since(before));
                let rpm = (one_before + one_after) / 2.0;
                (rpm, (one_after - one_before) / rpm.max(1.0))
            }
            (None, _) => (one_after, 0.0),
        };
        Some(PlacedSpark { at, located, rpm, climb })
    }
}

/// A turn lasts at least this part of the one beside it, hundredths: no throttle and no starter changes the speed
/// faster.
const LEAST_OF_NEXT: u32 = 60;
/// A turn shorter than this part of both turns beside it, or as much longer, hundredths, is bounded by a false edge.
const FALSE_TURN: u32 = 94;
/// Unless it is as long as the last but one or the next but one, to this part, hundredths: few cylinders make every other
/// turn another.
const EVERY_OTHER: u32 = 97;

/// Whether a false edge was taken for the single mark at either end of this turn or of the one before: a turn too
/// short and a turn too long lie side by side then, which no engine makes.
fn is_between_false_marks(crank: &Decoder, turn: u32) -> bool {
    if crank.plan().count() != 1 {
        return false;
    }
    // Lengths of the five turns about it, from the third before it to the one after; 0 where not known. In 64 ticks:
    // fine enough to tell hundredths, and small enough for their products.
    let mut lengths = [0u32; 5];
    let mut start = crank.teeth().turn_time(turn.wrapping_sub(3));
    for (ahead, length) in (0u32..).zip(&mut lengths) {
        let end = crank.teeth().turn_time(turn.wrapping_sub(2).wrapping_add(ahead));
        if let (Some(start), Some(end)) = (start, end) {
            *length = (end.since(start) >> 6) as u32;
        }
        start = end;
    }
    // Whether one is shorter than so many hundredths of the other.
    let is_less = |one: u32, part: u32, other: u32| one.saturating_mul(100) < other.saturating_mul(part);
    // Minus one where it is shorter, one where it is longer, else zero.
    let apart = |one: u32, part: u32, other: u32| {
        i32::from(is_less(other, part, one)) - i32::from(is_less(one, part, other))
    };
    let length = |index: usize| lengths.get(index).copied().unwrap_or(0);
    for index in 0..lengths.len() - 1 {
        let (own, before, after) = (length(index), length(index.wrapping_sub(1)), length(index + 1));
        if own > 0 && after > 0 {
            // A false edge halfway makes two turns alike where there was one: sync may begin with them.
            let leaps = apart(own, LEAST_OF_NEXT, after) != 0;
            let odd = apart(own, FALSE_TURN, after);
            let is_like = |other: u32| apart(own, EVERY_OTHER, other) == 0;
            let alternates = is_like(length(index.wrapping_sub(2))) || is_like(length(index + 2));
            let alone = before > 0 && odd != 0 && odd == apart(own, FALSE_TURN, before);
            if leaps || alone && !alternates {
                return true;
            }
        }
    }
    length(2) == 0
}

impl PlacedSpark {
    /// Where.
    pub fn advance(&self) -> Advance {
        self.located.advance
    }
}
