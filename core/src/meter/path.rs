//! The way of an edge through the meter: pulse filter, decoder, sparks that are due, and the accumulators.

use super::Meter;
use super::cruise::{Sensor, Stopped};
use crate::edges::{Change, Channel, Edge, Level};
use crate::job::ActiveEdge;
use crate::reading::SparkFate;
use crate::sparks::SparkEvent;
use crate::units::{Instant, Stamp};

/// What became of edges that may be like most.
pub(crate) enum Taken {
    /// The next is another: nothing was done for it.
    Not,
    /// They were taken in, and change nothing that can be seen from outside.
    In,
    /// They were taken in, and with the last of them sparks were settled.
    Sparks,
}

impl Meter {
    /// A level change. Stamps must not go back by more than the capture path mixes its channels, and no
    /// two calls may lie more than half a wrap of the 32-bit counter apart: [`Meter::poll`] bridges longer
    /// silences.
    #[inline]
    pub fn on_edge(&mut self, edge: Edge) {
        let taken = match edge.channel {
            Channel::Crank => self.on_edges_like_most(edge.level, &[edge.at]).1,
            Channel::Spark => Taken::Not,
        };
        if let Taken::Not = taken {
            self.on_any_edge(edge);
        }
    }

    /// The same for edges of the crank in a row that alternate, the first of them to this level, until one is not like
    /// most or sparks may have been settled: how many were taken in, and what became of them.
    #[inline(always)]
    pub(crate) fn on_edges_like_most(&mut self, first: Level, edges: &[Stamp]) -> (usize, Taken) {
        let sensor = self.sensor();
        match self.cruise.pass(first, edges, sensor, &mut self.crank) {
            (taken, Stopped::Ended) => (taken, Taken::In),
            (taken, Stopped::Other) => (taken, Taken::Not),
            (taken, Stopped::Over) => (taken, self.look_around()),
        }
    }

    /// Sparks may be due.
    #[inline(never)]
    fn look_around(&mut self) -> Taken {
        self.end_cruise();
        if self.sparks.any_due(&self.crank) {
            self.settle_sparks();
        }
        self.begin_cruise();
        if self.has_sparks() { Taken::Sparks } else { Taken::In }
    }

    pub(super) fn sensor(&self) -> Sensor {
        Sensor { delay: self.crank_delay as u32, active: self.active }
    }

    pub(super) fn begin_cruise(&mut self) {
        let most = self.sparks.teeth_until_due(&self.crank);
        self.cruise.begin(&self.filter, &self.crank, self.sensor(), most);
    }

    pub(super) fn end_cruise(&mut self) {
        let sensor = self.sensor();
        self.cruise.end(&mut self.unwrap, &mut self.filter, &mut self.crank, sensor);
    }

    /// A level change of any kind.
    #[inline(never)]
    pub(crate) fn on_any_edge(&mut self, edge: Edge) {
        if edge.channel == Channel::Spark && self.tells_nothing(edge.level) {
            return;
        }
        self.end_cruise();
        let at = self.unwrap.moment(edge.at);
        match edge.channel {
            Channel::Crank => {
                let change = Change { at: at.shifted(-self.crank_delay), level: edge.level };
                if let Some(passed) = self.filter.push(change) {
                    self.on_crank(passed);
                }
            }
            Channel::Spark => self.on_spark(at.shifted(-self.spark_delay), edge.level),
        }
        self.begin_cruise();
    }

    /// Whether this change of the spark signal starts no strike while the crank is followed: then there is nothing to be
    /// done but to keep its level.
    fn tells_nothing(&mut self, level: Level) -> bool {
        let nothing = self.cruise.is_lent() && !is_active(self.job.spec().spark_edge, level);
        if nothing {
            self.spark_level = Some(level);
        }
        nothing
    }

    pub(super) fn on_crank(&mut self, change: Change) {
        let proven = self.crank.verified_turn().is_some();
        if change.level == self.active {
            // A wheel that is followed is the job's; marks prove less.
            if !proven || !self.crank.plan().is_wheel() {
                self.survey.on_edge(change.at);
            }
            self.crank.on_edge(change.at);
            if self.sparks.any_due(&self.crank) {
                self.settle_sparks();
            }
        } else if !proven {
            self.elsewhere.on_other_edge_of_crank(self.crank.plan(), change.at);
        }
    }

    #[inline(never)]
    fn on_spark(&mut self, at: Instant, level: Level) {
        if self.spark_level.replace(level) == Some(level) {
            return;
        }
        if level == self.active && self.crank.verified_turn().is_none() {
            self.elsewhere.on_spark(self.crank.plan(), at);
        }
        if !is_active(self.job.spec().spark_edge, level) {
            return;
        }
        self.strikes = self.strikes.saturating_add(1);
        if let Some(event) = self.sparks.on_strike(at, &self.crank) {
            self.record(event);
        }
        self.settle_sparks();
    }

    #[inline(never)]
    pub(super) fn settle_sparks(&mut self) {
        while let Some(event) = self.sparks.next(&self.crank, self.ended) {
            self.record(event);
        }
    }

    fn record(&mut self, event: SparkEvent) {
        let record = self.settled.on_event(event);
        if let (SparkEvent::Placed(spark), SparkFate::Used) = (&event, record.fate) {
            self.balancer.on_spark(&self.job, &self.crank, spark);
        }
        if let SparkEvent::Placed(spark) = event
            && record.fate != SparkFate::Stray
        {
            self.live.add(spark.at, spark.advance(), spark.rpm);
        }
        if self.records.is_full() {
            self.records.pop_front();
        }
        let _ = self.records.push_back(record);
    }
}

fn is_active(edge: ActiveEdge, level: Level) -> bool {
    matches!((edge, level), (ActiveEdge::Rising, Level::High) | (ActiveEdge::Falling, Level::Low))
}
