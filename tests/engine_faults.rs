//! Every cause and every reason for withholding is a fault of the engine, and shows as CONTRACT.md says.

mod support;

use keyway::engine::case::{Case, CaseTruth};
use keyway::engine::fault::{Fault, FaultKind, REASONS};
use keyway::engine::truth::Record;
use keyway_core::edges::{Channel, Level};
use keyway_core::job::{Control, JobSpec, SparkKind};
use keyway_core::judge::CauseId;
use keyway_core::reading::Withheld;
use support::job;

fn eight() -> JobSpec {
    job(8, 4, SparkKind::Distributor, Control::Computer)
}

fn made(spec: JobSpec, seed: u64, kind: FaultKind, severity: f64) -> Case {
    Case::healthy(spec, seed).expect("a job").with(Fault { kind, severity }).expect("a fault it can have")
}

fn of_cause(spec: JobSpec, seed: u64, cause: CauseId, severity: f64) -> (Case, Record, CaseTruth) {
    let case = made(spec, seed, FaultKind::Cause(cause), severity);
    let record = case.run();
    let truth = case.truth(&record);
    (case, record, truth)
}

fn advance(truth: &CaseTruth) -> f64 {
    truth.advance.unwrap_or(f64::NAN)
}

/// True advance and speed at each spark: slope in degrees for each 1000 rpm, by least squares.
fn slope(case: &Case, record: &Record) -> f64 {
    let half = 180.0 * case.setup.layout.turns_per_cycle();
    let points: Vec<(f64, f64)> = record
        .sparks
        .iter()
        .filter_map(|spark| Some((record.mean_rpm(spark.angle - half, spark.angle)? / 1000.0, spark.advance)))
        .collect();
    let count = points.len() as f64;
    let mean =
        points.iter().fold((0.0, 0.0), |sum, point| (sum.0 + point.0 / count, sum.1 + point.1 / count));
    let products: f64 = points.iter().map(|point| (point.0 - mean.0) * (point.1 - mean.1)).sum();
    let squares: f64 = points.iter().map(|point| (point.0 - mean.0).powi(2)).sum();
    products / squares
}

fn scatter(case: &Case, record: &Record) -> f64 {
    let turns = case.setup.layout.turns_per_cycle();
    let advances = record.idle_advances(case.job.timing.idle_rpm, turns, 1);
    let centre = keyway::engine::truth::centre(&advances).unwrap_or(f64::NAN);
    let mut away: Vec<f64> = advances.iter().map(|advance| (advance - centre).abs()).collect();
    away.sort_by(f64::total_cmp);
    1.4826 * away.get(away.len() / 2).copied().unwrap_or(f64::NAN)
}

#[test]
fn every_kind_at_every_severity_leaves_an_engine_that_keeps_turning() {
    let jobs = [
        eight(),
        job(4, 4, SparkKind::Distributor, Control::Mechanical),
        job(4, 4, SparkKind::Paired, Control::Commanded),
        job(6, 4, SparkKind::Single, Control::Computer),
        job(2, 2, SparkKind::Distributor, Control::Mechanical),
    ];
    let mut had = Vec::new();
    for spec in &jobs {
        for kind in FaultKind::all() {
            for (seed, severity) in [(1, 0.0), (2, 0.5), (3, 1.0)] {
                let healthy = Case::healthy(spec.clone(), seed).expect("a job");
                let Ok(mut case) = healthy.with(Fault { kind, severity }) else { continue };
                case.seconds = case.seconds.min(4.0);
                let mut engine = case.engine();
                engine.run_until(engine.time() + case.seconds, &mut keyway::engine::sink::Nowhere);
                assert!(engine.rpm() > 250.0, "{} {severity} {seed}: {}", kind.id(), engine.rpm());
                had.push(kind.id());
            }
        }
    }
    for kind in FaultKind::all() {
        assert!(had.contains(&kind.id()), "no engine had {}", kind.id());
    }
}

#[test]
fn any_two_causes_can_hold_at_once() {
    for (at, one) in CauseId::ALL.into_iter().enumerate() {
        for other in CauseId::ALL.into_iter().skip(at + 1) {
            for control in [Control::Computer, Control::Mechanical] {
                let spec = job(4, 4, SparkKind::Distributor, control);
                let fault = |cause| Fault { kind: FaultKind::Cause(cause), severity: 0.5 };
                let Ok(case) = Case::healthy(spec, 6).expect("a job").with(fault(one)) else { continue };
                let Ok(mut case) = case.with(fault(other)) else { continue };
                case.seconds = 4.0;
                let record = case.run();
                let turned = record.crank.last().expect("angles").1 - record.crank[0].1;
                assert!(turned > 4.0 * 6.0 * 450.0, "{} and {}: {turned}", one.id(), other.id());
                let truth = case.truth(&record);
                for cause in [one, other] {
                    let named = truth.causes.contains(&cause);
                    assert!(named || cause == CauseId::Healthy, "{truth:?}");
                }
            }
        }
    }
}

#[test]
fn a_healthy_engine_is_on_target_with_a_small_scatter_and_nothing_to_tell() {
    for (seed, spec) in [eight(), job(6, 4, SparkKind::Single, Control::Commanded)].into_iter().enumerate() {
        let (case, record, truth) = of_cause(spec, seed as u64, CauseId::Healthy, 0.0);
        assert_eq!(truth.causes, [CauseId::Healthy]);
        assert_eq!(truth.withheld, None);
        assert!((advance(&truth) - truth.target).abs() < 0.3);
        assert!((0.05..0.3).contains(&scatter(&case, &record)), "{}", scatter(&case, &record));
    }
}

#[test]
fn wrong_settings_read_where_the_contract_puts_them() {
    for seed in 0..6 {
        let (_, _, truth) = of_cause(eight(), seed, CauseId::SetAfterTdc, 0.5);
        assert!((advance(&truth) + 10.0).abs() < 1.0, "{truth:?}");
        let (_, _, truth) = of_cause(eight(), seed, CauseId::SetOutOfBaseMode, 0.5);
        assert!(advance(&truth).abs() < 1.0, "{truth:?}");
        let (_, _, truth) = of_cause(eight(), seed, CauseId::OffTarget, 0.5);
        assert!((advance(&truth) - 10.0).abs() > 1.5, "{truth:?}");
        let (_, _, truth) = of_cause(eight(), seed, CauseId::DriveToothOff, 0.5);
        assert!(((advance(&truth) - 10.0).abs() - 48.0).abs() < 0.5, "{truth:?}");
    }
}

#[test]
fn a_wrong_lead_reads_less_by_the_angle_to_its_firing() {
    for seed in 0..6 {
        let (case, _, truth) = of_cause(eight(), seed, CauseId::ClampOnOtherLead, 0.5);
        let keyway::engine::controls::Lead::Cylinder(lead) = case.controls.lead else { panic!("a lead") };
        let fires = case.setup.layout.fires_at[usize::from(lead - 1)];
        let expected = 180.0 - (180.0 - (10.0 - fires)).rem_euclid(360.0);
        assert!((advance(&truth) - expected).abs() < 0.3, "{truth:?} {expected}");
    }
}

#[test]
fn a_steering_computer_opposes_the_wander_at_idle_and_rises_over_a_blip() {
    let mut case = made(eight(), 2, FaultKind::Cause(CauseId::NotInBaseMode), 0.5);
    case.seconds = 20.0;
    let idle = case.run();
    assert!(slope(&case, &idle) < -20.0, "at idle {}", slope(&case, &idle));
    assert!(scatter(&case, &idle) > 0.5);
    case.schedule.blip(8.0, 0.2, 0.8);
    let blipped = case.run();
    assert!(slope(&case, &blipped) > 4.0, "over a blip {}", slope(&case, &blipped));
}

/// CHECKS section 4: a delay d reads as a retard of 6·rpm·d degrees.
#[test]
fn a_fixed_delay_is_a_retard_in_proportion_to_speed() {
    let mut case = made(eight(), 2, FaultKind::Cause(CauseId::FixedDelay), 0.5);
    case.schedule.blip(5.0, 0.2, 0.8);
    let record = case.run();
    let expected = -6000.0 * case.setup.spark.delay;
    assert!((slope(&case, &record) / expected - 1.0).abs() < 0.08, "{} {expected}", slope(&case, &record));
}

#[test]
fn a_clamp_turned_round_reads_early_by_six_times_speed_times_dwell() {
    let (case, record, truth) = of_cause(eight(), 2, CauseId::DwellStartSeen, 0.4);
    assert!(record.sparks.iter().all(|spark| spark.dwell_start));
    let early = 6.0 * 750.0 * case.setup.coils.dwell;
    assert!((advance(&truth) - 10.0 - early).abs() < 0.06 * early, "{truth:?} {early}");
}

#[test]
fn weights_or_hose_advance_at_idle() {
    let spec = || job(6, 4, SparkKind::Distributor, Control::Mechanical);
    let mut kinds = [0, 0];
    for seed in 0..12 {
        let (case, _, truth) = of_cause(spec(), seed, CauseId::MechanismAdvancing, 0.5);
        kinds[usize::from(case.controls.hose_on)] += 1;
        assert!(advance(&truth) > 12.0, "{truth:?}");
    }
    assert!(kinds[0] > 0 && kinds[1] > 0, "both kinds come: {kinds:?}");
}

#[test]
fn a_worn_drive_scatters_and_comes_early_on_falling_speed() {
    let mut case = made(eight(), 4, FaultKind::Cause(CauseId::WornDrive), 0.7);
    case.schedule.blip(5.0, 0.2, 0.8);
    let record = case.run();
    assert!(scatter(&case, &record) > 0.8, "{}", scatter(&case, &record));
    let mean = |rising: bool| {
        let advances: Vec<f64> = record
            .sparks
            .iter()
            .filter(|spark| {
                let before = record.mean_rpm(spark.angle - 360.0, spark.angle);
                let after = record.mean_rpm(spark.angle, spark.angle + 360.0);
                let (Some(before), Some(after)) = (before, after) else { return false };
                // A turn at the mean speed, so that the change is in rpm a second.
                let rate = (after - before) * before / 60.0;
                if rising { rate > 400.0 } else { rate < -400.0 }
            })
            .map(|spark| spark.advance)
            .collect();
        assert!(advances.len() > 3);
        advances.iter().sum::<f64>() / advances.len() as f64
    };
    assert!(mean(false) > mean(true) + 1.5, "falling {} rising {}", mean(false), mean(true));
}

#[test]
fn a_weak_supply_lies_below_the_limit_and_a_healthy_one_above() {
    let volts = |record: &Record| {
        record.supply.iter().map(|sample| sample.1).sum::<f64>() / record.supply.len() as f64
    };
    for severity in [0.0, 0.5, 1.0] {
        let (_, record, _) = of_cause(eight(), 3, CauseId::WeakSupply, severity);
        assert!((11.5..13.2).contains(&volts(&record)), "{severity}: {}", volts(&record));
    }
    let (_, record, _) = of_cause(eight(), 3, CauseId::Healthy, 0.0);
    assert!(volts(&record) > 13.5);
}

#[test]
fn a_dead_cylinder_does_no_work() {
    let (case, record, _) = of_cause(eight(), 3, CauseId::DeadCylinder, 1.0);
    let work = |cylinder: usize| {
        let works: Vec<f64> = record
            .works
            .iter()
            .filter(|work| usize::from(work.cylinder) == cylinder + 1)
            .map(|work| work.joules)
            .collect();
        works.iter().sum::<f64>() / works.len() as f64
    };
    let dead = case.setup.fuel_share.iter().position(|share| *share == 0.0).expect("a dead one");
    for cylinder in 0..8 {
        assert_eq!(work(cylinder) < 5.0, cylinder == dead, "{cylinder}: {} J", work(cylinder));
    }
}

fn active(record: &Record, channel: Channel) -> usize {
    record.levels.iter().filter(|level| level.1 == channel && level.2 == Level::High).count()
}

#[test]
fn the_coils_lead_shows_a_spark_for_every_cylinder() {
    let mut case = made(eight(), 3, FaultKind::Cause(CauseId::ClampOnCoilLead), 0.5);
    case.setup.clamp.ringing = 0.0;
    let record = case.run();
    let turns = (record.crank.last().expect("angles").1 - record.crank[0].1) / 360.0;
    let rate = active(&record, Channel::Spark) as f64 / turns;
    assert!((rate - 4.0).abs() < 0.05, "{rate}");
    assert_eq!(case.truth(&record).withheld, Some(Withheld::SparkRate));
}

#[test]
fn each_reason_for_withholding_shows_in_the_signals() {
    for reason in REASONS {
        let case = made(eight(), 8, FaultKind::Withheld(reason), 0.6);
        let record = case.run();
        assert_eq!(case.truth(&record).withheld, Some(reason));
        let (crank, spark) = (active(&record, Channel::Crank), active(&record, Channel::Spark));
        let turns = (record.crank.last().map_or(0.0, |point| point.1) - record.crank[0].1) / 360.0;
        let teeth = crank as f64 / turns;
        match reason {
            Withheld::NoCrank => assert_eq!(crank, 0),
            Withheld::NoSpark => assert_eq!(spark, 0),
            Withheld::PatternMismatch => assert!((teeth - 58.0).abs() > 5.0, "{teeth}"),
            Withheld::TooFewSparks => assert!(record.sparks.len() <= 5),
            Withheld::Interference => assert!(teeth > 80.0, "{teeth}"),
            Withheld::PickupsSwapped => assert!(spark > 20 * crank),
            Withheld::OutsideIdleBand => assert_eq!(case.truth(&record).advance, None),
            Withheld::SettingMoved => {
                let last = record.sparks.last().expect("sparks").advance;
                assert!((last - 10.0).abs() > 2.0, "{last}");
            }
            Withheld::SparkRate => {
                let per_turn = spark as f64 / turns;
                assert!((per_turn - 0.5).abs() > 0.1, "{per_turn}");
            }
            Withheld::Unsteady => {
                let steady = record.idle_advances([600.0, 900.0], 2.0, 1).len();
                assert!(steady * 4 < record.sparks.len(), "{steady} of {}", record.sparks.len());
            }
            // Shown by the test of the bad edge.
            Withheld::WrongEdge => {}
        }
    }
}
