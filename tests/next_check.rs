//! Following the next check: it is carried out on the simulated engine, and what it shows goes to the judge. It
//! never says what was made wrong: it looks at the engine, or reads it once more with something changed.

use keyway::engine::case::Case;
use keyway::engine::controls::Lead;
use keyway::engine::schedule::Schedule;
use keyway::grid::{Kind, draw};
use keyway_core::edges::Edge;
use keyway_core::judge::{NextCheck, Proven};
use keyway_core::meter::{Meter, Report};
use keyway_core::units::{Stamp, TickRate};

/// Engines of the grid that this is played on; none that anything was chosen by.
const ENGINES: core::ops::Range<u64> = 400_000..400_400;
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

fn advance(case: &Case) -> Option<f32> {
    let mut idle = case.clone();
    (idle.schedule, idle.seconds) = (Schedule::default(), 10.0);
    read(&idle, Proven::default()).reading.advance.map(|advance| advance.degrees())
}

/// By how much the advance grows when this is changed on the idling engine.
fn step(case: &Case, change: impl FnOnce(&mut Case)) -> Option<f32> {
    let mut changed = case.clone();
    change(&mut changed);
    Some(advance(&changed)? - advance(case)?)
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
        NextCheck::ChangeLink => {
            let offset = case.job.timing.harness_offset;
            let changed = step(case, |case| case.controls.base_mode = !case.controls.base_mode);
            let steered = changed.map_or(0.0, |step| step * offset.signum());
            if steered.abs() > 3.0 {
                proven.base_mode = Some(steered > 0.0);
            }
        }
        // At zero the rotor stands off by what the distributor was put in wrong.
        NextCheck::LookAtRotor => proven.rotor_at_one = Some(case.setup.spark.setting.abs() < 20.0),
        NextCheck::FindZero => proven.zero = true,
    }
}

#[test]
fn two_checks_settle_most_ambiguous_cases_and_never_on_the_wrong_cause() {
    let (mut offered, mut settled, mut wrong) = (0, 0, Vec::new());
    for number in ENGINES {
        let Some(drawn) = draw(number) else { continue };
        let Kind::Cause(cause) = drawn.kind else { continue };
        let (mut case, mut proven) = (drawn.case, Proven::default());
        let mut report = read(&case, proven);
        let sure = |report: &Report| report.judgement.causes.first().map_or(0.0, |first| first.probability);
        if report.reading.advance.is_none() || sure(&report) >= SETTLED {
            continue;
        }
        let Some(mut check) = report.judgement.next_check else { continue };
        offered += 1;
        for _ in 0..2 {
            carry_out(check, &mut case, &mut proven);
            report = read(&case, proven);
            match report.judgement.next_check {
                Some(next) if sure(&report) < SETTLED => check = next,
                _ => break,
            }
        }
        if sure(&report) >= SETTLED {
            settled += 1;
            let named = report.judgement.causes.first().map(|first| first.id);
            if named != Some(cause) {
                wrong.push((number, cause.id(), named.map(|id| id.id())));
            }
        }
    }
    println!("{offered} with a check offered, {settled} settled by two at most, wrongly: {wrong:?}");
    assert!(offered >= 5, "too few to tell: {offered}");
    assert!(wrong.is_empty(), "settled on the wrong cause: {wrong:?}");
    assert!(settled * 2 > offered, "{settled} of {offered}");
}
