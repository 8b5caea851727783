//! Anything sensed and any key at the guided job: it stays within its plan, leaves out nothing that keeps
//! people safe, never loosens the bolt before it says so, and always has a way on, back or out.

#![no_main]

mod bytes;

use bytes::Bytes;
use keyway_core::console::blank;
use keyway_core::corrections::Corrections;
use keyway_core::guide::{Bolt, Followed, Guide, Now, Sensed, Side, steps};
use keyway_core::job::{Control, JobSpec, SparkKind};
use keyway_core::judge::NextCheck;
use keyway_core::reading::{SparkFate, SparkRecord, SpeedTrend, Withheld};
use keyway_core::units::{Advance, Instant};
use keyway_core::view::{Alarm, GateId, KeyLabel, Mark, StepId};
use libfuzzer_sys::fuzz_target;

const SAFETY: [GateId; 8] = [
    GateId::KeyOut,
    GateId::Uncoupled,
    GateId::OutOfGear,
    GateId::ExhaustOut,
    GateId::LeadsClear,
    GateId::HandsClear,
    GateId::BoltSnug,
    GateId::StopOut,
];

fn spec(bytes: &mut Bytes) -> JobSpec {
    let mut spec = blank();
    (spec.timing.control, spec.timing.commanded_btdc) = match bytes.below(3) {
        0 => (Control::Computer, None),
        1 => (Control::Commanded, Some(15.0)),
        _ => (Control::Mechanical, None),
    };
    if spec.timing.control == Control::Mechanical {
        spec.timing.harness_offset = 0.0;
    }
    if bytes.flag() {
        spec.engine.spark = SparkKind::Single;
        spec.engine.rotor = None;
    }
    spec
}

fn sense(bytes: &mut Bytes, sensed: &mut Sensed) {
    let idle = bytes.byte();
    sensed.turning = idle > 40;
    sensed.turning_fast = sensed.turning;
    sensed.any_edge = sensed.turning;
    sensed.in_sync = idle > 60;
    sensed.rpm = sensed.in_sync.then(|| f32::from(idle) * 4.2);
    sensed.supply = bytes.maybe();
    sensed.live =
        sensed.in_sync.then(|| Followed { advance: bytes.number(), doubt: 0.2, rate: bytes.number() });
    sensed.settled_ms = u32::from(bytes.byte()) * 60;
    let known = &mut sensed.known;
    known.advance = if sensed.in_sync { bytes.maybe() } else { None };
    known.doubt = if bytes.flag() { 0.1 } else { bytes.number() };
    known.cranking = bytes.byte() > 240;
    known.sparks = u16::from(bytes.byte());
    known.sparks_per_turn = if bytes.flag() { Some(0.5) } else { bytes.maybe() };
    known.supply = sensed.supply;
    known.balanced = bytes.flag();
    known.weak = [bytes.byte() / 200, 0];
    known.why = [bytes.flag().then_some(Withheld::PatternMismatch), None, None, None];
    known.next_check =
        bytes.pick(&[NextCheck::LookAtClamp, NextCheck::TurnClampRound, NextCheck::LookAtRotor]);
    known.trend = bytes.flag().then(|| SpeedTrend {
        deg_per_1000rpm: bytes.number(),
        slope_uncertainty: 0.1,
        delay_us: bytes.number(),
        rpm_low: 700.0,
        rpm_high: 2600.0,
    });
}

fuzz_target!(|data: &[u8]| {
    let mut bytes = Bytes(data);
    let spec = spec(&mut bytes);
    let Ok(job) = spec.build() else { return };
    let plan = steps(&job);
    let mut guide = match bytes.pick(plan) {
        Some(step) if bytes.flag() => {
            let begun = Guide::new(&job, Corrections::default());
            Guide::resumed(&job, begun.facts().clone(), step)
        }
        _ => Guide::new(&job, Corrections::default()),
    };
    let mut sensed = Sensed::default();
    while !bytes.is_empty() {
        let before = guide.state().step();
        match bytes.byte() {
            0..=79 => {
                sense(&mut bytes, &mut sensed);
                for _ in 0..bytes.below(60) {
                    sensed.ms = sensed.ms.wrapping_add(50);
                    guide.tick(&Now { job: &job, sensed: &sensed });
                }
            }
            code @ 80..=199 => {
                let now = Now { job: &job, sensed: &sensed };
                guide.key(usize::from(code % 4), &now);
                if code < 140 {
                    for _ in 0..14 {
                        sensed.ms = sensed.ms.wrapping_add(50);
                        guide.tick(&Now { job: &job, sensed: &sensed });
                    }
                }
                guide.key_up();
            }
            200..=219 => guide.on_spark(&SparkRecord {
                at: Instant::from_ticks(0),
                advance: Some(Advance::from_degrees(f64::from(bytes.byte()) - 128.0)),
                rpm: f32::from(bytes.byte()) * 12.0,
                fate: if bytes.flag() { SparkFate::Used } else { SparkFate::OutsideIdle },
            }),
            220..=229 => guide.on_stored(bytes.flag()),
            code @ 230..=249 => match code % 5 {
                0 => guide.open_zero(),
                1 => guide.open_side(Side::Teach),
                2 => guide.open_side(Side::Causes { selected: 0 }),
                3 => guide.open_side(Side::NextCheck),
                _ => guide.open_side(Side::Corrections { selected: 0 }),
            },
            _ => guide.leave(&Now { job: &job, sensed: &sensed }),
        }
        let now = Now { job: &job, sensed: &sensed };
        let step = guide.state().step();
        assert!(plan.contains(&step));
        let facts = guide.facts();
        for gate in SAFETY {
            assert!(facts.gate(gate) != Mark::Skipped, "{gate:?} left out");
        }
        if facts.bolt == Bolt::Loose && before != step {
            assert!(
                step != StepId::ClampBlip && step != StepId::Sweep
                    || facts.gate(GateId::BoltTight) != Mark::Told
            );
        }
        if facts.stop_in && sensed.any_edge && guide.side() == &Side::None {
            assert!(matches!(guide.alarm(), None | Some(Alarm::TurnsWithStop)));
        }
        let _ = guide.screen(&now);
        let _ = guide.heard(&now);
        let keys = guide.keys(&now);
        assert!(guide.halt().is_some() || keys.iter().any(|key| *key != KeyLabel::None), "{step:?} {keys:?}");
    }
});
