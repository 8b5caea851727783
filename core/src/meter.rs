//! The front door of measuring: edges in, a reading and a judgement out.

mod cruise;
mod path;
#[cfg(test)]
mod tests;

use crate::crank::{CrankCounts, Decoder, Survey};
use crate::edges::{Channel, Level, PulseFilter, Unwrap};
use crate::elsewhere::Elsewhere;
use crate::job::{ActiveEdge, Job};
use crate::judge::{Evidence, Judgement, Proven, Search, judge_evidence};
use crate::reading::{
    Balance, Balancer, Live, LiveValue, Reading, Settled, Signals, Signature, SparkRecord, SpeedTrend,
    Weighed, assemble,
};
use crate::sparks::Sparks;
use crate::units::{Instant, Stamp, TickRate};
use cruise::Cruise;
use heapless::Deque;
pub(crate) use path::Taken;

/// Sparks whose fate is settled and that wait to be fetched.
const RECORDS: usize = 26;
/// What a vehicle's supply can give, a reversed clip and a load dump included, volts.
const SUPPLY_RANGE: core::ops::RangeInclusive<f32> = -200.0..=200.0;
/// Pieces of the balance's weighing done at a poll: some hundred are done within two seconds of ticks.
const PIECES_A_POLL: u32 = 3;
/// No crank turns faster than this, rpm.
const FASTEST_RPM: f32 = 14_000.0;

/// Everything the meter can say at one moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    /// The number and its doubt.
    pub reading: Reading,
    /// How the advance goes with speed; `None` unless 300 rpm or more were seen.
    pub trend: Option<SpeedTrend>,
    /// Each cylinder's share of the work; `None` where the wheel is too coarse for it.
    pub balance: Option<Balance>,
    /// What it means.
    pub judgement: Judgement,
}

/// Mean supply voltage at idle.
#[derive(Debug, Clone, Copy, Default)]
struct Supply {
    count: u32,
    mean: f32,
}

impl Supply {
    fn add(&mut self, volts: f32) {
        self.count = self.count.saturating_add(1);
        self.mean += (volts - self.mean) / self.count as f32;
    }

    fn mean(&self) -> Option<f32> {
        (self.count > 0).then_some(self.mean)
    }
}

/// Edges in, a reading and a judgement out.
#[derive(Debug, Clone)]
pub struct Meter {
    job: Job,
    rate: TickRate,
    unwrap: Unwrap,
    filter: PulseFilter,
    cruise: Cruise,
    /// The crank's level after its active edge.
    active: Level,
    crank_delay: i64,
    spark_delay: i64,
    crank: Decoder,
    sparks: Sparks,
    settled: Settled,
    balancer: Balancer,
    live: Live,
    survey: Survey,
    elsewhere: Elsewhere,
    strikes: u32,
    spark_level: Option<Level>,
    supply_at_idle: Supply,
    supply_ever: Supply,
    records: Deque<SparkRecord, RECORDS>,
    proven: Proven,
    ended: bool,
    before: Before,
}

/// What was counted before the last disturbance, and does not count against the reading since.
#[derive(Debug, Clone, Copy, Default)]
struct Before {
    crank: CrankCounts,
    pulses_removed: u32,
    strikes: u32,
    firsts: u32,
    passed_over: u32,
}

impl Meter {
    /// A meter for one job, on a counter of this rate.
    pub fn new(job: Job, rate: TickRate) -> Self {
        let shortest_turn = u32::try_from(rate.ticks_per_turn(FASTEST_RPM)).unwrap_or(u32::MAX);
        let crank = Decoder::for_job(&job, rate, shortest_turn);
        let crank_delay = rate.ticks_in_us(job.spec().sensor_delay_us);
        let active = match job.spec().crank_edge {
            ActiveEdge::Rising => Level::High,
            ActiveEdge::Falling => Level::Low,
        };
        Self {
            unwrap: Unwrap::default(),
            filter: PulseFilter::new(rate),
            cruise: Cruise::default(),
            active,
            crank_delay,
            spark_delay: rate.ticks_in_us(job.spec().spark_delay_us),
            balancer: Balancer::new(&job, &crank),
            crank,
            sparks: Sparks::new(&job, rate),
            settled: Settled::new(&job, rate),
            live: Live::new(rate),
            survey: Survey::default(),
            elsewhere: Elsewhere::default(),
            strikes: 0,
            spark_level: None,
            supply_at_idle: Supply::default(),
            supply_ever: Supply::default(),
            records: Deque::new(),
            proven: Proven::default(),
            ended: false,
            before: Before::default(),
            job,
            rate,
        }
    }

    /// The job that is measured.
    pub fn job(&self) -> &Job {
        &self.job
    }

    /// From now on, above idle, no more than about so many sparks a second are placed; all are counted.
    pub fn look_at_most(&mut self, sparks_a_second: u32) {
        self.sparks.look_at_most(sparks_a_second);
    }

    /// What a check has proven: it weighs as evidence from now on.
    pub fn set_proven(&mut self, proven: Proven) {
        self.proven = proven;
    }

    /// Edges that the capture path lost before they could be told.
    pub fn on_lost(&mut self, channel: Channel, count: u32) {
        if channel == Channel::Crank {
            self.end_cruise();
            self.crank.on_lost(count);
        }
    }

    /// The supply voltage at this moment; what no supply gives (beyond ±200 V, or not a number) is left out.
    pub fn on_supply(&mut self, volts: f32, at: Stamp) {
        let at = self.unwrap.moment(at);
        if !SUPPLY_RANGE.contains(&volts) {
            return;
        }
        self.supply_ever.add(volts);
        let [low, high] = self.job.spec().timing.idle_rpm;
        let teeth = self.crank.teeth();
        // An engine that has stalled does not idle, whatever its last turn was.
        let turns = |newest: Instant| {
            teeth.newest_turn().filter(|turn| at.ticks() < newest.ticks() + 2 * u64::from(*turn))
        };
        let turn = teeth.newest().and_then(|tooth| turns(tooth.at));
        let rpm = turn.map(|turn| self.rate.rpm(1.0, u64::from(turn)));
        if rpm.is_some_and(|rpm| (low..=high).contains(&rpm)) {
            self.supply_at_idle.add(volts);
        }
    }

    /// Time has come to `now` without an edge.
    pub fn poll(&mut self, now: Stamp) {
        self.end_cruise();
        let now = self.unwrap.moment(now).shifted(-self.crank_delay);
        if let Some(passed) = self.filter.flush(now) {
            self.on_crank(passed);
        }
        self.crank.poll(now);
        self.settle_sparks();
        for _ in 0..PIECES_A_POLL {
            self.balancer.go_on(&self.job, &self.crank);
        }
        self.begin_cruise();
    }

    /// The capture ends here: sparks still waiting for the turn after them are settled.
    pub fn finish(&mut self) {
        self.end_cruise();
        if let Some(passed) = self.filter.flush(Instant::from_ticks(u64::MAX)) {
            self.on_crank(passed);
        }
        self.crank.finish();
        self.ended = true;
        self.settle_sparks();
        self.balancer.finish(&self.job, &self.crank);
    }

    /// The next event at the spark pickup whose fate is settled, oldest first. The queue holds the
    /// newest 26: fetch until `None` after each call to `on_edge` to see all.
    pub fn next_spark(&mut self) -> Option<SparkRecord> {
        self.records.pop_front()
    }

    /// Whether [`Meter::next_spark`] has one.
    pub fn has_sparks(&self) -> bool {
        !self.records.is_empty()
    }

    /// The value that follows the hand, at `now`; `None` where there is none to show.
    pub fn live(&self, now: Instant) -> Option<LiveValue> {
        self.live.value(now)
    }

    /// Forgets the settled reading, after a disturbance; sync, the live value and what was proven stay.
    pub fn restart(&mut self) {
        self.before = Before {
            crank: self.crank_counts(),
            pulses_removed: self.filter.removed(),
            strikes: self.strikes,
            firsts: self.sparks.firsts(),
            passed_over: self.sparks.passed_over(),
        };
        self.settled = Settled::new(&self.job, self.rate);
        self.supply_at_idle = Supply::default();
        self.records.clear();
    }

    /// The latest moment that the meter was told of, on its own count of turns of the 32-bit counter.
    pub fn now(&self) -> Instant {
        let mut unwrap = self.unwrap;
        if let Some(newest) = self.cruise.newest(self.sensor()) {
            let _ = unwrap.moment(newest);
        }
        unwrap.latest().unwrap_or_default()
    }

    fn crank_counts(&self) -> CrankCounts {
        let counts = self.crank.counts();
        CrankCounts { edges: counts.edges.saturating_add(self.cruise.taken()), ..counts }
    }

    /// Whether the crank's place is known.
    pub fn in_sync(&self) -> bool {
        self.crank.in_sync()
    }

    /// Speed of the newest whole turn, rpm; `None` out of sync.
    pub fn rpm(&self) -> Option<f32> {
        let turn = self.crank.teeth().newest_turn().filter(|_| self.crank.in_sync())?;
        Some(self.rate.rpm(1.0, u64::from(turn)))
    }

    /// Active crank edges since the meter began.
    pub fn crank_edges(&self) -> u32 {
        self.crank_counts().edges
    }

    /// What the two signals look like as a whole, since the last disturbance.
    pub fn signals(&self) -> Signals {
        Signals {
            crank: self.crank_counts().since(&self.before.crank),
            pulses_removed: self.filter.removed().saturating_sub(self.before.pulses_removed),
            strikes: self.strikes.saturating_sub(self.before.strikes),
            firsts: self.sparks.firsts().saturating_sub(self.before.firsts),
            passed_over: self.sparks.passed_over().saturating_sub(self.before.passed_over),
            active: self.survey.finding(),
            on_other_edge: self.elsewhere.on_other_edge(self.crank.plan()),
            at_spark: self.elsewhere.at_spark(self.crank.plan()).map(|turn| self.rate.rpm(1.0, turn)),
        }
    }

    /// What can be said now.
    pub fn report(&self) -> Report {
        let (mut report, mut search) = self.report_and_search();
        while search.go_on() {}
        report.judgement.next_check = report.judgement.next_check.or(search.found());
        report
    }

    /// The same with the next check still to be searched for, a little at a call.
    pub fn report_and_search(&self) -> (Report, Search) {
        let signals = self.signals();
        let battery_v = self.supply_at_idle.mean().or(self.supply_ever.mean());
        let reading = assemble(&self.job, self.rate, &self.crank, &self.settled, &signals, battery_v);
        let trend = self.settled.trend();
        let signature = self.settled.signature();
        let weighed = self.balancer.weighed();
        let signs = weighed.map(|weighed| weighed.signs);
        let evidence = Evidence::gather(&self.job, &reading, &signature, trend.as_ref(), signs, self.proven);
        let (judgement, search) = judge_evidence(&self.job, &reading, &evidence);
        let balance = weighed.map(|weighed| weighed.balance.clone());
        (Report { reading, trend, balance, judgement }, search)
    }

    /// What is known of each cylinder's work; `None` where the wheel is too coarse or too little was seen.
    pub fn balance(&self) -> Option<&Weighed> {
        self.balancer.weighed()
    }

    /// How the advance behaves beside its value.
    pub fn signature(&self) -> Signature {
        self.settled.signature()
    }
}
