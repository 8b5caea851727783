//! Following the next check: it is carried out on the simulated engine, and what it shows goes to the judge. It
//! never says what was made wrong: it looks at the engine, or reads it once more with something changed.
//!
//! *Ambiguous*: a reading whose first cause, and whose likeliest answer to all questions at once, have less than 95 %. *Tie of history*:
//! what is left to tell is only how a wrong setting came about, by the wrong side of the scale or by a hand that
//! missed: the same engine, the same remedy, no observation that could tell; there both are to be named, and no
//! check is due. A setting made while the computer steered is no such tie, since
//! what the computer adds can be seen, unless that is twice the target.

use keyway::engine::case::Case;
use keyway::engine::controls::Lead;
use keyway::engine::schedule::Schedule;
use keyway::grid::{Kind, draw};
use keyway_core::edges::Edge;
use keyway_core::job::Control;
use keyway_core::judge::{CauseId, NextCheck, Proven};
use keyway_core::meter::{Meter, Report};
use keyway_core::units::{Stamp, TickRate};

/// Engines of the grid that this is played on; those left open were looked at while the checks were made.
const ENGINES: core::ops::Range<u64> = 400_000..402_000;
/// They are shared out to so many threads.
const THREADS: u64 = 4;
/// A cause this likely is settled.
const SETTLED: f32 = 0.95;

fn read(case: &Case, proven: Proven) -> Report {
    let record = case.run();
    let mut meter = Meter::new(case.job.build().expect("a possible job"), TickRate::DESKTOP);
    let ticks = |nanoseconds: u64| Stamp(((nanoseconds + 50) / 100 + 100_000) as u32);
    for (at, channel, level) in &record.levels {
        meter.on_edge(Edge { channel: *channel, level: *level, at: ticks(*at) });
    }
    for (at, volts) in &record.supply {
        meter.on_supply(*volts as f32, ticks(*at));
    }
    meter.finish();
    meter.set_proven(proven);
    meter.report()
}

/// The advance of the idling engine.
fn advance(case: &Case) -> Option<f32> {
    let mut idle = case.clone();
    (idle.schedule, idle.seconds) = (Schedule::default(), 10.0);
    read(&idle, Proven::default()).reading.advance.map(|advance| advance.degrees())
}

/// By how much the advance grows when this is changed on the idling engine.
fn step(case: &Case, change: impl FnOnce(&mut Case)) -> Option<f32> {
    let mut changed = case.clone();
    change(&mut changed);
    let step = advance(&changed)? - advance(case)?;
    Some((step + 540.0).rem_euclid(360.0) - 180.0)
}

/// Carries the check out.
fn carry_out(check: NextCheck, case: &mut Case, proven: &mut Proven) {
    match check {
        NextCheck::Blip => {
            case.seconds = case.seconds.max(12.0);
            case.schedule = Schedule::default();
            case.schedule.blip(5.0, 0.2, 1.0);
        }
        NextCheck::ReadLonger => case.seconds = (case.seconds * 3.0).min(60.0),
        NextCheck::LookAtClamp => proven.clamp_on_one = Some(case.controls.lead == Lead::Cylinder(1)),
        NextCheck::TurnClampRound => {
            let turned = step(case, |case| case.controls.clamp_reversed = !case.controls.clamp_reversed);
            // Turned the right way it reads far later; turned the wrong way far earlier, or nothing at all.
            proven.clamp_direction = Some(turned.is_none_or(|step| step > -3.0));
        }
        NextCheck::HoseOff => {
            let off = step(case, |case| case.controls.hose_on = false);
            proven.hose_was_on = off.map(|step| step < -2.0);
        }
        NextCheck::ChangeLink => change_link(case, proven),
        // At zero the rotor stands off by what the distributor was put in wrong.
        NextCheck::LookAtRotor => proven.rotor_at_one = Some(case.setup.spark.setting.abs() < 20.0),
        NextCheck::FeelPlay => {
            let at_the_rotor = case.setup.drive.play / case.setup.layout.turns_per_cycle();
            proven.play_felt = Some(at_the_rotor > 1.0);
        }
        NextCheck::FindZero => proven.zero = true,
    }
}

/// Read with the link, or the fixed value, in force and without it.
fn change_link(case: &Case, proven: &mut Proven) {
    let offset = case.job.timing.harness_offset;
    let changed = step(case, |case| match case.job.timing.control {
        Control::Commanded => case.controls.hold_fixed = !case.controls.hold_fixed,
        Control::Computer | Control::Mechanical => case.controls.base_mode = !case.controls.base_mode,
    });
    let Some(step) = changed else { return };
    let rose = step * offset.signum();
    if rose.abs() > 3.0 {
        proven.base_mode = Some(rose > 0.0);
        proven.offset = Some((rose.abs() * offset.signum() * 100.0) as i16);
    }
}

/// How a case ended.
#[derive(Debug, Clone, Copy, PartialEq)]
enum End {
    /// Sure from the first.
    Clear,
    /// One answer, by two checks at most.
    Settled,
    /// A tie of history, both named.
    Tie,
    /// Still open, or no check was offered.
    Open,
    /// Settled on what is not so, or a tie without the true cause.
    Wrong,
}

/// What is left to tell is how the wrong setting came about. A setting made while the computer steered belongs here
/// only once what the computer adds was seen, and is twice the target within the 2 degrees by which signatures that
/// can be told lie apart.
fn is_history(case: &Case, proven: &Proven, report: &Report) -> bool {
    let doubt = report.reading.uncertainty.unwrap_or(0.0);
    let meet = proven.offset.is_some_and(|offset| {
        let twice_the_target = 2.0 * case.target() as f32;
        (f32::from(offset) / 100.0 - twice_the_target).abs() < 2.0 + doubt
    });
    let of_history = |id| match id {
        CauseId::OffTarget | CauseId::SetAfterTdc => true,
        CauseId::SetOutOfBaseMode => meet,
        _ => false,
    };
    let causes = &report.judgement.causes;
    causes.iter().filter(|cause| of_history(cause.id)).map(|cause| cause.probability).sum::<f32>() >= SETTLED
}

/// The true cause of a case, how it ended, the checks that were done, and what was named in the end.
fn follow(number: u64) -> Option<(CauseId, End, Vec<NextCheck>, String)> {
    let drawn = draw(number)?;
    let Kind::Cause(cause) = drawn.kind else { return None };
    let (mut case, mut proven, mut done) = (drawn.case, Proven::default(), Vec::new());
    let mut report = read(&case, proven);
    report.reading.advance?;
    let sure = |report: &Report| {
        let first = report.judgement.causes.first().map_or(0.0, |first| first.probability);
        first.max(report.judgement.sureness) >= SETTLED
    };
    if sure(&report) {
        return Some((cause, End::Clear, done, String::new()));
    }
    while let Some(check) = report.judgement.next_check.filter(|_| done.len() < 2 && !sure(&report)) {
        carry_out(check, &mut case, &mut proven);
        report = read(&case, proven);
        done.push(check);
    }
    let named = |count: usize| report.judgement.causes.iter().take(count).any(|named| named.id == cause);
    // A supply that the population itself made low stands beside the cause: the first two share.
    let end = match (sure(&report), is_history(&case, &proven, &report)) {
        (true, _) if named(2) => End::Settled,
        (false, true) if named(2) => End::Tie,
        (true, _) | (false, true) => End::Wrong,
        (false, false) => End::Open,
    };
    let causes = report.judgement.causes.iter();
    let told = causes.map(|cause| format!("{} {:.2}", cause.id.id(), cause.probability)).collect::<Vec<_>>();
    Some((cause, end, done, told.join(", ")))
}

#[test]
fn two_checks_settle_the_ambiguous_cases_and_never_on_the_wrong_cause() {
    let of_thread = |thread: u64| {
        let own = ENGINES.filter(move |number| number % THREADS == thread);
        own.filter_map(|number| Some((number, follow(number)?))).collect::<Vec<_>>()
    };
    let followed: Vec<_> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..THREADS).map(|thread| scope.spawn(move || of_thread(thread))).collect();
        threads.into_iter().flat_map(|thread| thread.join().expect("a thread that ends")).collect()
    });
    let count = |end| followed.iter().filter(|(_, (_, ended, ..))| *ended == end).count();
    let (settled, open, wrong) = (count(End::Settled), count(End::Open), count(End::Wrong));
    let ambiguous = settled + open + wrong;
    println!(
        "{} read, {} clear at once, {} ties of history with both named; of {ambiguous} others {settled} were settled \
         by two checks at most, {open} stayed open, {wrong} were wrong",
        followed.len(),
        count(End::Clear),
        count(End::Tie)
    );
    for (number, (cause, end, done, told)) in &followed {
        if matches!(end, End::Open | End::Wrong) {
            println!("{end:?}: {number} {} after {done:?}: {told}", cause.id());
        }
    }
    assert!(ambiguous >= 30, "too few to tell: {ambiguous}");
    assert_eq!(wrong, 0);
    assert!(settled * 10 >= ambiguous * 9, "{settled} of {ambiguous}");
}
