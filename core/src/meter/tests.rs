//! The short way of edges like most against the long one, and edges in a row against single ones.

use super::{Meter, Taken};
use crate::console::blank;
use crate::edges::{Channel, Edge, Level};
use crate::job::{CrankSpec, JobSpec};
use crate::reading::{SparkFate, SparkRecord};
use crate::units::{Stamp, TickRate};
use std::vec::Vec;

const TEETH: u8 = 60;
const MISSING: u8 = 2;

fn spec() -> JobSpec {
    let mut spec = blank();
    spec.engine.cylinders = 4;
    spec.engine.firing_order = [1, 3, 4, 2].into_iter().collect();
    spec.crank = CrankSpec::Wheel { teeth: TEETH, missing: MISSING, first_edge_btdc: 84.0 };
    spec.sensor_delay_us = 40.0;
    spec
}

/// A signal: a wheel whose speed swings by so much within a turn, and what disturbs it.
struct Signal {
    swing: f64,
    /// Part of a pitch that a tooth is on.
    duty: f64,
    /// Speed at the start and after eight seconds, rpm.
    rpm: [f64; 2],
    /// Every so many teeth a pulse of 12 µs falls into the space after one, and another tooth is lost; 0 for none.
    disturbed_every: u32,
}

/// Level changes of both signals, in order of time.
fn edges(signal: &Signal) -> Vec<Edge> {
    let mut edges = Vec::new();
    let (mut time, mut angle, mut count) = (1e7f64, 0.0f64, 0u32);
    let step = 360.0 / f64::from(TEETH);
    let mut go = |angle: &mut f64, by: f64| {
        let course = signal.rpm[0] + (signal.rpm[1] - signal.rpm[0]) * ((time - 1e7) / 8e7).min(1.0);
        let swing = 1.0 + signal.swing * (2.0 * *angle).to_radians().sin();
        time += by / (6.0 * course * swing) * 1e7;
        *angle += by;
        time as u32
    };
    while edges.last().is_none_or(|edge: &Edge| edge.at.0 < 90_000_000) {
        let slot = (angle / step).round() as u32 % u32::from(TEETH);
        let is_tooth = slot < u32::from(TEETH - MISSING);
        count += 1;
        let disturbed = signal.disturbed_every > 0 && count.is_multiple_of(signal.disturbed_every);
        let is_lost = signal.disturbed_every > 0 && (count + 31).is_multiple_of(8 * signal.disturbed_every);
        let mut crank = |level, at| edges.push(Edge { channel: Channel::Crank, level, at: Stamp(at) });
        let on = go(&mut angle, step * signal.duty);
        if is_tooth && !is_lost {
            crank(Level::Low, on);
        }
        if disturbed {
            crank(Level::High, on + 1000);
            crank(Level::Low, on + 1120);
        }
        // Cylinder one fires 10° before top dead centre, every second turn.
        let fires = slot == 12 && (angle / 720.0).fract() < 0.5;
        let half = go(&mut angle, step * (1.0 - signal.duty) / 2.0);
        if fires {
            for (level, at) in [(Level::High, half), (Level::Low, half + 3000)] {
                edges.push(Edge { channel: Channel::Spark, level, at: Stamp(at) });
            }
        }
        let next = go(&mut angle, step * (1.0 - signal.duty) / 2.0);
        let slot = (slot + 1) % u32::from(TEETH);
        let comes = signal.disturbed_every == 0 || !(count + 32).is_multiple_of(8 * signal.disturbed_every);
        if slot < u32::from(TEETH - MISSING) && comes {
            edges.push(Edge { channel: Channel::Crank, level: Level::High, at: Stamp(next) });
        }
    }
    edges.sort_by_key(|edge| edge.at.0);
    edges
}

fn records(
    edges: &[Edge],
    mut hand_over: impl FnMut(&mut Meter, &[Edge]) -> usize,
) -> (Vec<SparkRecord>, Meter) {
    let mut meter = Meter::new(spec().build().unwrap(), TickRate::DESKTOP);
    let (mut records, mut left) = (Vec::new(), edges);
    while !left.is_empty() {
        let taken = hand_over(&mut meter, left);
        left = &left[taken..];
        records.extend(std::iter::from_fn(|| meter.next_spark()));
    }
    meter.finish();
    records.extend(std::iter::from_fn(|| meter.next_spark()));
    (records, meter)
}

fn alone(meter: &mut Meter, edges: &[Edge]) -> usize {
    meter.on_edge(edges[0]);
    1
}

fn the_long_way(meter: &mut Meter, edges: &[Edge]) -> usize {
    meter.on_any_edge(edges[0]);
    1
}

/// As the handheld does, but in rows of many lengths.
fn in_rows() -> impl FnMut(&mut Meter, &[Edge]) -> usize {
    let mut most = 0;
    move |meter, edges| {
        most = most % 67 + 1;
        let alternate = |pair: &[Edge]| pair[0].level != pair[1].level;
        let crank = edges.iter().take(most).take_while(|edge| edge.channel == Channel::Crank).count();
        let count =
            edges[..crank].windows(2).take_while(|pair| alternate(pair)).count() + usize::from(crank > 0);
        let stamps: Vec<Stamp> = edges[..count].iter().map(|edge| edge.at).collect();
        let (taken, became) = meter.on_edges_like_most(edges[0].level, &stamps);
        if count > 0 && (taken == count || !matches!(became, Taken::Not)) {
            return taken;
        }
        meter.on_any_edge(edges[taken]);
        taken + 1
    }
}

const SIGNALS: [Signal; 5] = [
    Signal { swing: 0.0, duty: 0.5, rpm: [9000.0, 9000.0], disturbed_every: 0 },
    Signal { swing: 0.08, duty: 0.4, rpm: [750.0, 750.0], disturbed_every: 0 },
    Signal { swing: 0.04, duty: 0.6, rpm: [700.0, 6000.0], disturbed_every: 0 },
    Signal { swing: 0.04, duty: 0.2, rpm: [4000.0, 900.0], disturbed_every: 0 },
    Signal { swing: 0.05, duty: 0.5, rpm: [800.0, 2500.0], disturbed_every: 97 },
];

#[test]
fn edges_in_a_row_are_taken_as_single_ones_are() {
    for (number, signal) in SIGNALS.iter().enumerate() {
        let edges = edges(signal);
        let (one, first) = records(&edges, alone);
        let (other, second) = records(&edges, in_rows());
        assert!(one.len() > 30, "{number}: {}", one.len());
        assert_eq!(one, other, "{number}");
        assert_eq!(first.crank_counts(), second.crank_counts(), "{number}");
    }
}

#[test]
fn edges_like_most_are_taken_as_others_are() {
    for (number, signal) in SIGNALS.iter().enumerate() {
        let edges = edges(signal);
        let (short, first) = records(&edges, alone);
        let (long, second) = records(&edges, the_long_way);
        // Where a tooth at the gap is lost its moment is foreseen from the pitch, which either learns in its own way.
        let alike = |one: &SparkRecord, other: &SparkRecord| {
            let advances = one.advance.zip(other.advance);
            let off = advances.map_or(0.0, |(one, other)| one.minus(other).degrees().abs());
            one.fate == other.fate && one.at == other.at && off < 0.001 && (one.rpm - other.rpm).abs() < 0.2
        };
        let all_alike = short.iter().zip(&long).all(|(one, other)| alike(one, other));
        assert!(all_alike && short.len() == long.len(), "{number}:\n{short:?}\n{long:?}");
        assert_eq!(first.crank_counts(), second.crank_counts(), "{number}");
        let placed = short.iter().filter(|record| record.fate != SparkFate::NoSync).count();
        assert!(placed * 10 > short.len() * 8, "{number}: {placed} of {}", short.len());
    }
}
