//! The self-test of the simulated handheld: a known wheel and spark, read by the same meter, must give their angle.
//!
//! The bench has no spare pins to loop a pattern through and no flash to lose, so its test goes from levels to the
//! angle read; store and supply are the bench's own and are there.

use keyway_core::edges::{Channel, Edge, Level};
use keyway_core::meter::Meter;
use keyway_core::record::Identity;
use keyway_core::units::{Stamp, TickRate};
use keyway_core::view::{SelfTest, TestResult};
use std::sync::OnceLock;

/// The engine whose signals are made: 36 slots with one missing, the first edge 84° before top dead centre.
const JOB: &str = include_str!("../../demo/pump-six.job.toml");
const SLOTS: u32 = 36;
const FIRST_BTDC: f64 = 84.0;
/// Where the pattern's spark lies, degrees before top dead centre.
const SPARK_BTDC: f64 = 12.5;
/// Ticks of 0.1 µs in a turn at 1500 rpm.
const TURN: u32 = 400_000;
const TURNS: u32 = 14;
/// An error larger than this is a fault, degrees.
const ALLOWED: f32 = 0.02;

/// What the handheld's self-test comes to.
pub(super) fn self_test(identity: &Identity) -> SelfTest {
    static ERROR: OnceLock<Option<f32>> = OnceLock::new();
    let angle_error = *ERROR.get_or_init(angle_error);
    let right = angle_error.is_some_and(|error| error.abs() <= ALLOWED);
    SelfTest {
        capture: if right { TestResult::Passed } else { TestResult::Failed },
        angle_error,
        store: TestResult::Passed,
        supply: TestResult::Passed,
        last_run_failed: false,
        firmware: identity.firmware,
        instrument: identity.instrument,
        calibrated: identity.calibrated,
    }
}

/// The largest error of the angles read, degrees; `None` where none was.
fn angle_error() -> Option<f32> {
    let mut meter = Meter::new(crate::job_file::read::job(JOB).ok()?, TickRate::DESKTOP);
    let half = TURN / SLOTS / 2;
    let spark_after = ((FIRST_BTDC - SPARK_BTDC) / 360.0 * f64::from(TURN)) as u32;
    let mut edges = Vec::new();
    for turn in 0..TURNS {
        let began = turn * TURN;
        for slot in 0..SLOTS - 1 {
            let at = began + slot * (TURN / SLOTS);
            edges.push((at, Channel::Crank, Level::High));
            edges.push((at + half, Channel::Crank, Level::Low));
        }
        if turn % 2 == 1 {
            edges.push((began + spark_after, Channel::Spark, Level::High));
            edges.push((began + spark_after + half / 4, Channel::Spark, Level::Low));
        }
    }
    edges.sort_by_key(|(at, ..)| *at);
    let mut worst: Option<f32> = None;
    for (at, channel, level) in edges {
        meter.on_edge(Edge { channel, level, at: Stamp(at) });
        while let Some(spark) = meter.next_spark() {
            if let Some(advance) = spark.advance {
                let error = advance.degrees() - SPARK_BTDC as f32;
                worst = Some(worst.filter(|one| one.abs() > error.abs()).unwrap_or(error));
            }
        }
    }
    worst
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_pattern_reads_the_angle_it_was_made_with() {
        let tested = self_test(&Identity::default());
        assert_eq!(tested.capture, TestResult::Passed, "{:?}", tested.angle_error);
    }
}
