use super::*;
use std::sync::atomic::AtomicU32;
use std::vec::Vec;

/// A machine that pushes words as the hardware's does.
struct Machine {
    ring: Vec<AtomicU32>,
    written: u32,
    edges: u8,
}

impl Machine {
    fn new(length: usize) -> Self {
        Self { ring: (0..length).map(|_| AtomicU32::new(0)).collect(), written: 0, edges: 0 }
    }

    fn edge(&mut self, at: u32) {
        self.edges = self.edges.wrapping_add(1);
        let place = self.written as usize % self.ring.len();
        self.ring[place].store(!(at << 8 | u32::from(self.edges)), Ordering::Relaxed);
        self.written += 1;
    }

    fn lose(&mut self, edges: u8) {
        self.edges = self.edges.wrapping_add(edges);
    }
}

/// A channel, edges lost before, and level and time.
type Read = (Channel, u32, Option<(Level, u32)>);

fn all(channels: &mut Channels<'_>, now: u32) -> Vec<Read> {
    core::iter::from_fn(|| channels.next(Stamp(now)))
        .map(|(channel, word)| (channel, word.lost, word.edge.map(|(level, at)| (level, at.0))))
        .collect()
}

#[test]
fn edges_of_both_channels_come_in_the_order_of_time() {
    let (mut crank, mut spark) = (Machine::new(256), Machine::new(256));
    crank.edge(100);
    crank.edge(300);
    spark.edge(200);
    let mut channels = Channels::new(Ring::new(&crank.ring), Ring::new(&spark.ring));
    channels.set_heads(2, 1);
    let expected = [
        (Channel::Crank, 0, Some((Level::High, 100))),
        (Channel::Spark, 0, Some((Level::High, 200))),
        (Channel::Crank, 0, Some((Level::Low, 300))),
    ];
    assert_eq!(all(&mut channels, 400), expected);
}

#[test]
fn the_level_found_at_start_is_no_edge() {
    let (mut crank, spark) = (Machine::new(256), Machine::new(256));
    crank.edge(1);
    crank.edge(600);
    let mut channels = Channels::new(Ring::new(&crank.ring), Ring::new(&spark.ring));
    channels.set_heads(2, 0);
    let read = all(&mut channels, 1000);
    assert_eq!(read, [(Channel::Crank, 0, None), (Channel::Crank, 0, Some((Level::Low, 600)))]);
}

#[test]
fn edges_lost_in_the_machine_are_counted_and_the_level_stays_right() {
    let (mut crank, spark) = (Machine::new(256), Machine::new(256));
    crank.edge(100);
    crank.lose(3);
    crank.edge(500);
    let mut channels = Channels::new(Ring::new(&crank.ring), Ring::new(&spark.ring));
    channels.set_heads(2, 0);
    let read = all(&mut channels, 1000);
    assert_eq!(read[1], (Channel::Crank, 3, Some((Level::High, 500))));
}

#[test]
fn a_ring_overrun_loses_exactly_the_words_that_may_be_overwritten() {
    let (mut crank, spark) = (Machine::new(256), Machine::new(256));
    for edge in 0..1000 {
        crank.edge(edge * 10 + 100);
    }
    let mut channels = Channels::new(Ring::new(&crank.ring), Ring::new(&spark.ring));
    channels.set_heads(1000, 0);
    let read = all(&mut channels, 12_000);
    assert_eq!(channels.overruns(), 1);
    assert_eq!(read.len(), 256 - MARGIN as usize);
    assert_eq!(read[0], (Channel::Crank, 1000 - 192, Some((Level::High, 808 * 10 + 100))));
    assert!(read[1..].iter().all(|(_, lost, _)| *lost == 0));
}

#[test]
fn time_is_whole_over_the_wraps_of_word_and_counter() {
    let (mut crank, spark) = (Machine::new(256), Machine::new(256));
    let moments = [0xff_fff0, 0x100_0010, 0xffff_fff0, 0x0000_0010];
    let mut channels = Channels::new(Ring::new(&crank.ring), Ring::new(&spark.ring));
    let mut heads = 0;
    let mut read = Vec::new();
    let machine_edges: Vec<u32> = moments.iter().map(|moment| moment & 0xff_ffff).collect();
    for (place, count) in machine_edges.iter().enumerate() {
        crank.ring[place].store(!(count << 8 | (place as u32 + 1)), Ordering::Relaxed);
        heads += 1;
        channels.set_heads(heads, 0);
        let now = moments[place].wrapping_add(3_000_000);
        read.extend(all(&mut channels, now).into_iter().filter_map(|(_, _, edge)| Some(edge?.1)));
    }
    crank.written = heads;
    assert_eq!(read, moments);
}

#[test]
fn a_word_just_ahead_of_a_coarser_clock_is_not_three_seconds_old() {
    let (mut crank, spark) = (Machine::new(256), Machine::new(256));
    crank.edge(1005);
    let mut channels = Channels::new(Ring::new(&crank.ring), Ring::new(&spark.ring));
    channels.set_heads(1, 0);
    assert_eq!(all(&mut channels, 1000), [(Channel::Crank, 0, Some((Level::High, 1005)))]);
}
