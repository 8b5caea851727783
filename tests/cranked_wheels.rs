//! Toothed wheels on an engine that the starter turns: 85 to 225 rpm within a quarter turn, as published of a
//! high-compression V8 (CHECKS.md 7.3), and the same swing within the third of a six and the half of a four.
//!
//! *Kept*: the first turn is verified within four turns, sync is not lost after, and no tooth was ever given another
//! slot than its own. *Wrong*: a turn was verified whose teeth have not their own slots, the worst that can be.

use heapless::Vec as List;
use keyway_core::crank::Decoder;
use keyway_core::job::JobSpec;
use keyway_core::units::{Instant, TickRate};
use keyway_tests::edge_source::Chance;
use keyway_tests::falls_short_by;
use keyway_tests::jobs;
use keyway_tests::starter::{Law, Pickup, Starter, ToothEdge};

const WHEELS: [(u8, u8); 5] = [(60, 2), (36, 1), (36, 2), (24, 1), (12, 1)];
/// Cylinders.
const ENGINES: [u8; 4] = [8, 6, 4, 3];
const LAWS: [Law; 3] = [Law::Sine, Law::GasSpring, Law::ShortRush];
/// Turns until the first is verified: a compression, two gaps, and another compression behind the third.
const TURNS_TO_VERIFY: f64 = 4.0;

/// How the engine or the pickup departs from one that turns evenly from compression to compression.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Kind {
    Turning,
    /// From standstill.
    Standing,
    /// A variable-reluctance wheel, whose teeth beside the gap stand off as measured on a real one.
    Reluctance,
    /// Compressions that differ by a twentieth.
    Unequal,
    /// One cylinder makes but two fifths of its compression.
    Leaking,
    /// It fires after six turns: six times as fast within a turn and a half.
    Firing,
}

#[derive(Debug, Default)]
struct Outcome {
    /// Turns until the first was verified.
    verified: Option<f64>,
    losses: u32,
    misplaced: bool,
    wrong: bool,
    at_end: bool,
}

impl Outcome {
    fn kept(&self) -> bool {
        let soon = self.verified.is_some_and(|turns| turns <= TURNS_TO_VERIFY);
        soon && self.losses == 0 && !self.misplaced && self.at_end
    }
}

fn decode(job: JobSpec, (slots, missing): (u8, u8), edges: &[ToothEdge]) -> Outcome {
    let job = job.build().expect("a possible job");
    let rate = TickRate::DESKTOP;
    let mut decoder = Decoder::for_job(&job, rate, rate.ticks_per_turn(14_000.0) as u32);
    let is_own = |at: Instant, slot: u8| {
        edges.binary_search_by_key(&at.ticks(), |edge| edge.at).is_ok_and(|index| edges[index].slot == slot)
    };
    let mut outcome = Outcome::default();
    let mut newest = None;
    for (index, edge) in edges.iter().enumerate() {
        decoder.on_edge(Instant::from_ticks(edge.at));
        outcome.misplaced |= decoder.teeth().newest().is_some_and(|tooth| !is_own(tooth.at, tooth.slot));
        let Some(turn) = decoder.verified_turn() else { continue };
        if newest.replace((decoder.epoch(), turn)) != Some((decoder.epoch(), turn)) {
            outcome.verified.get_or_insert(index as f64 / f64::from(slots - missing));
            let mut teeth = (0..).map_while(|back| decoder.teeth().back(back));
            outcome.wrong |=
                teeth.any(|tooth| (tooth.turn, tooth.slot) <= (turn, 0) && !is_own(tooth.at, tooth.slot));
        }
    }
    outcome.losses = decoder.counts().losses;
    outcome.at_end = decoder.verified_turn().is_some();
    outcome
}

fn engine(cylinders: u8, law: Law, kind: Kind, case: u8) -> Starter {
    let mut starter = Starter::even(cylinders, law, 120.0 * f64::from(case) + 3.0);
    let mut chance = Chance::new(u64::from(case) + 77);
    match kind {
        Kind::Turning | Kind::Reluctance => {}
        Kind::Standing => starter.run_in = 60.0,
        Kind::Unequal => {
            starter.compressions.iter_mut().for_each(|part| *part = 1.0 + 0.05 * chance.normal());
        }
        Kind::Leaking => starter.compressions[usize::from(case % cylinders)] = 0.4,
        Kind::Firing => {
            starter.run_in = 60.0;
            starter.turns = 20.0;
            starter.course = vec![(6.0, 1.0, 1.0), (7.5, 6.0, 0.15)];
        }
    }
    starter
}

/// A wheel of this first tooth, whose teeth beside the gap stand off by so much of what a coil shifts them.
fn pickup((slots, missing): (u8, u8), first: f64, shifted: f64) -> Pickup {
    let shifted = shifted * 360.0 / f64::from(slots);
    Pickup {
        slots,
        missing,
        first,
        tooth_error: 0.03,
        end_shift: [0.2 * shifted, 0.15 * shifted],
        jitter: 5e-6,
    }
}

/// A start with two places of the gap on every wheel: what came of each, with its name. `changed`: the job as it is for
/// this engine.
fn on_every_wheel(
    name: &str,
    (starter, case): (&Starter, u8),
    shifted: f64,
    changed: impl Fn(&mut JobSpec),
) -> Vec<(String, Outcome)> {
    let mut outcomes = Vec::new();
    for wheel in WHEELS {
        for first in [0.0, 47.0] {
            let mut job = jobs::job(starter.compressions.len() as u8, &jobs::wheel(wheel.0, wheel.1));
            changed(&mut job);
            let edges = starter.edges(&pickup(wheel, first, shifted), u64::from(case) + 1);
            let name = format!("{name}, {}-{} at {first}, start {case}", wheel.0, wheel.1);
            outcomes.push((name, decode(job, wheel, &edges)));
        }
    }
    outcomes
}

/// Every engine, law, start and place of the gap on every wheel: what came of each, with its name.
fn play(engines: &[u8], kinds: &[Kind]) -> Vec<(String, Outcome)> {
    let mut outcomes = Vec::new();
    for &cylinders in engines {
        for law in LAWS {
            for kind in kinds {
                for case in 0..6 {
                    let starter = engine(cylinders, law, *kind, case);
                    let shifted = f64::from(u8::from(*kind == Kind::Reluctance));
                    let name = format!("{cylinders} cylinders, {law:?}, {kind:?}");
                    outcomes.extend(on_every_wheel(&name, (&starter, case), shifted, |_| ()));
                }
            }
        }
    }
    outcomes
}

fn failing(outcomes: &[(String, Outcome)], fails: impl Fn(&Outcome) -> bool) -> Vec<String> {
    let failing = outcomes.iter().filter(|(_, outcome)| fails(outcome));
    failing.map(|(name, outcome)| format!("{name}: {outcome:?}")).collect()
}

#[test]
fn the_source_swings_from_85_to_225_rpm() {
    let pickup =
        Pickup { slots: 120, missing: 1, first: 0.0, tooth_error: 0.0, end_shift: [0.0; 2], jitter: 0.0 };
    for law in LAWS {
        for cylinders in [8, 6, 4] {
            let edges = Starter::even(cylinders, law, 3.0).edges(&pickup, 1);
            let pairs = edges.windows(2).filter(|pair| pair[1].slot != 0);
            let speeds: Vec<f64> =
                pairs.map(|pair| 3.0 / 6.0 * 1e7 / (pair[1].at - pair[0].at) as f64).collect();
            let slowest = speeds.iter().copied().fold(f64::MAX, f64::min);
            let fastest = speeds.iter().copied().fold(f64::MIN, f64::max);
            assert!((slowest - 85.0).abs() < 8.0 && (fastest - 225.0).abs() < 12.0, "{slowest} to {fastest}");
        }
    }
}

#[test]
fn a_wheel_is_locked_to_and_kept_while_a_starter_turns_it() {
    let outcomes = play(&ENGINES, &[Kind::Turning, Kind::Standing]);
    let lost = failing(&outcomes, |outcome| !outcome.kept());
    assert!(lost.is_empty(), "{} of {}:\n{}", lost.len(), outcomes.len(), lost.join("\n"));
}

/// A six that fires at 90 and 150 degrees: what the starter feels repeats after two thirds of a turn.
#[test]
fn an_uneven_six_is_locked_to_and_kept_while_a_starter_turns_it() {
    let intervals = [90.0f32, 150.0].repeat(3);
    let centres: Vec<f64> =
        (0..6u8).map(|index| 240.0 * f64::from(index / 2) + 90.0 * f64::from(index % 2)).collect();
    let mut outcomes = Vec::new();
    for law in LAWS {
        for case in 0..6u8 {
            let starter = Starter::with_centres(centres.clone(), law, 120.0 * f64::from(case) + 3.0);
            outcomes.extend(on_every_wheel(&format!("{law:?}"), (&starter, case), 0.0, |job| {
                job.engine.firing_intervals = List::from_slice(&intervals).ok();
            }));
        }
    }
    assert!(outcomes.iter().all(|(_, outcome)| outcome.losses == 0 && outcome.at_end && !outcome.misplaced));
    // Falls short on 12-1 alone: by the sine and the gas spring with the gap between two compressions it takes up to seven
    // turns.
    falls_short_by(12, &failing(&outcomes, |outcome| !outcome.kept()), outcomes.len());
}

#[test]
fn a_wheel_with_shifted_teeth_is_kept_but_for_coarse_ones() {
    let outcomes = play(&ENGINES, &[Kind::Reluctance]);
    // Falls short: 18 of 12-1 and 3 of 24-1, whose shifted teeth stand off by 6° and 3°.
    falls_short_by(21, &failing(&outcomes, |outcome| !outcome.kept()), outcomes.len());
}

#[test]
fn unequal_compressions_and_a_start_of_the_engine_may_cost_the_sync_on_coarse_wheels() {
    // Falls short on every wheel, nearly all by the law of the gas spring: where it nearly stalls at 85 rpm, a twentieth
    // more work takes it to 60. Of a start of the engine, 96 of 12-1, where the speed doubles within the gap, and 18
    // others.
    let admitted = [(Kind::Unequal, [142, 21]), (Kind::Leaking, [373, 91]), (Kind::Firing, [114, 29])];
    for (kind, [of_more, of_three]) in admitted {
        for (engines, admitted) in [(&[8, 6, 4][..], of_more), (&[3], of_three)] {
            let outcomes = play(engines, &[kind]);
            falls_short_by(admitted, &failing(&outcomes, |outcome| !outcome.kept()), outcomes.len());
        }
    }
}

#[test]
fn a_gap_in_the_wrong_place_is_not_verified() {
    let sound =
        play(&ENGINES, &[Kind::Turning, Kind::Standing, Kind::Reluctance, Kind::Unequal, Kind::Firing]);
    let wrong = failing(&sound, |outcome| outcome.wrong);
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), sound.len(), wrong.join("\n"));
    // Falls short on 12-1 alone: a gap as long as two teeth, six firings a turn, one of them hardly felt.
    let leaking = play(&ENGINES, &[Kind::Leaking]);
    falls_short_by(7, &failing(&leaking, |outcome| outcome.wrong), leaking.len());
}

#[test]
fn one_or_two_cylinders_are_seldom_verified_in_a_wrong_place() {
    // What they do repeats too late for the teeth that are kept: two gaps in their places must do. Falls short where a
    // turn of two looks like a gap each time, on 24-1, and on 12-1.
    let outcomes = play(&[1, 2], &[Kind::Turning, Kind::Standing]);
    falls_short_by(25, &failing(&outcomes, |outcome| outcome.wrong), outcomes.len());
}
