//! The job's other screens: cautions, steps with their gates, proofs, sweep and curve, stops and alarms.

use keyway_core::reading::Withheld;
use keyway_core::view::{
    Alarm, BaseProof, CautionId, ClampProof, Curve, CurvePoint, GateId, GateLine, GateValue, Halt, KeyLabel,
    Mark, Notice, Quality, Screen, StepId, Steps, Sweep, Unit, ValueKind,
};

use super::reading::{shown, withheld};
use super::{Sample, sample, with, within};

const STEP_KEYS: [KeyLabel; 4] = [KeyLabel::Back, KeyLabel::Menu, KeyLabel::Skip, KeyLabel::Done];
/// A proof that is under way, and one that holds.
const PROVING_KEYS: [KeyLabel; 4] = [KeyLabel::Back, KeyLabel::Menu, KeyLabel::Skip, KeyLabel::None];
const PROVEN_KEYS: [KeyLabel; 4] = [KeyLabel::Back, KeyLabel::Menu, KeyLabel::Skip, KeyLabel::Next];

/// A gate without a number.
pub(super) fn gate(gate: GateId, mark: Mark) -> Option<GateLine> {
    Some(GateLine { gate, mark, value: None })
}

/// A gate with one.
pub(super) fn gate_value(
    gate: GateId,
    mark: Mark,
    measured: Option<f32>,
    (low, high): (f32, f32),
    unit: Unit,
) -> Option<GateLine> {
    Some(GateLine { gate, mark, value: Some(GateValue { measured, low, high, unit }) })
}

fn make_safe() -> Steps {
    Steps {
        step: StepId::MakeSafe,
        gates: [
            gate(GateId::KeyOut, Mark::Told),
            gate(GateId::Uncoupled, Mark::Told),
            gate(GateId::OutOfGear, Mark::Open),
            gate(GateId::ExhaustOut, Mark::Open),
            gate(GateId::EngineStands, Mark::Proven),
            None,
            None,
        ],
        value: None,
    }
}

fn ready() -> Steps {
    let any = (0.0, f32::INFINITY);
    Steps {
        step: StepId::Ready,
        gates: [
            gate(GateId::WheelKnown, Mark::Proven),
            gate(GateId::SparksRight, Mark::Proven),
            gate(GateId::Warm, Mark::Told),
            gate_value(GateId::IdleInBand, Mark::Failed, Some(980.0), (600.0, 900.0), Unit::Rpm),
            gate_value(GateId::SupplyHealthy, Mark::Failed, Some(12.8), (13.2, f32::INFINITY), Unit::Volt),
            gate(GateId::CylindersWork, Mark::Open),
            gate_value(GateId::EngineRuns, Mark::Proven, Some(980.0), any, Unit::Rpm),
        ],
        value: None,
    }
}

fn clamp_down() -> Steps {
    Steps {
        step: StepId::ClampDown,
        gates: [
            gate(GateId::BoltTight, Mark::Open),
            gate_value(GateId::ClampHeld, Mark::Proven, Some(0.2), (0.0, 0.5), Unit::Degrees),
            None,
            None,
            None,
            None,
            None,
        ],
        value: Some(shown(10.1, 10.0, 1.0, ValueKind::Live)),
    }
}

fn base() -> BaseProof {
    BaseProof {
        step: StepId::BaseBlip,
        before: Some(19.8),
        now: shown(9.9, 10.0, 1.0, ValueKind::Live),
        expected_step: -10.0,
        seen_step: Some(-9.9),
        step_mark: Mark::Proven,
        slope: None,
        blip: (Some(1540.0), 2000.0),
        slope_mark: Mark::Open,
    }
}

fn clamp() -> ClampProof {
    ClampProof {
        step: StepId::ClampBlip,
        before: Some(10.1),
        now: shown(11.4, 10.0, 1.0, ValueKind::Settled),
        change: Some(1.3),
        allowed: 0.5,
        clamp_mark: Mark::Failed,
        slope: Some((0.04, 0.1)),
        blip: (Some(2090.0), 2000.0),
        base_mark: Mark::Proven,
    }
}

/// Points of a curve at 500 rpm each.
pub(super) fn points(count: usize, advance: impl Fn(f32) -> f32) -> [Option<CurvePoint>; 12] {
    std::array::from_fn(|index| {
        let rpm = 700.0 + 300.0 * index as f32;
        (index < count).then(|| CurvePoint { rpm, advance: advance(rpm) })
    })
}

fn sweep() -> Sweep {
    Sweep {
        points: points(8, |rpm| 15.0 - 6e-6 * rpm * 350.0),
        rpm: Some(2810.0),
        reach: 3000.0,
        delay_us: Some((350.0, 14.0)),
        line: Some((15.0, -2.1)),
        enough: false,
    }
}

fn curve() -> Curve {
    let weights = |rpm: f32| 8.0 + ((rpm - 900.0) / 90.0).clamp(0.0, 20.0);
    Curve {
        step: StepId::CurveOn,
        hose_off: points(10, weights),
        hose_on: points(6, |rpm| weights(rpm) + 12.0),
        rpm: Some(2210.0),
        advance: Some(34.4),
        reach: 3500.0,
        enough: false,
    }
}

pub(super) fn samples() -> Vec<Sample> {
    let step = |steps: Steps, number| within(steps.step, number, Screen::Steps(steps), STEP_KEYS);
    let answered = |proven: bool| if proven { PROVEN_KEYS } else { PROVING_KEYS };
    let base_view = |proof: BaseProof| {
        within(StepId::BaseBlip, 10, Screen::BaseProof(proof), answered(proof.slope.is_some()))
    };
    let clamp_view = |proof: ClampProof| {
        within(StepId::ClampBlip, 14, Screen::ClampProof(proof), answered(proof.slope.is_some()))
    };
    let caution_keys = [KeyLabel::Back, KeyLabel::Menu, KeyLabel::None, KeyLabel::Understood];
    let standing = |view| {
        with(view, |view| {
            view.bar.rpm = Some(0.0);
            view.bar.supply_v = Some(12.6);
            view.bar.quality = Quality::Silent;
        })
    };
    let stopped = |halt| {
        with(step(clamp_down(), 13), |view| {
            view.halt = Some(halt);
            view.keys = [KeyLabel::Back, KeyLabel::Menu, KeyLabel::Skip, KeyLabel::Again];
        })
    };
    let alarm = |alarm, blink| {
        with(step(make_safe(), 1), |view| {
            view.alarm = Some(alarm);
            view.blink = blink;
        })
    };
    vec![
        sample(
            "caution",
            standing(within(
                StepId::MakeSafe,
                1,
                Screen::Caution { id: CautionId::FanStarts, number: 2, of: 6, held_percent: 40 },
                caution_keys,
            )),
        ),
        sample("step-make-safe", standing(step(make_safe(), 1))),
        sample(
            "step-engine-ready",
            with(step(ready(), 7), |view| {
                view.bar.rpm = Some(980.0);
                view.bar.supply_v = Some(12.8);
                view.bar.supply_low = true;
                view.bar.quality = Quality::Fair;
            }),
        ),
        sample("step-clamp-down", step(clamp_down(), 13)),
        sample("base-proof-open", with(base_view(base()), |view| view.bar.rpm = Some(1540.0))),
        sample(
            "base-proof-steering",
            base_view(BaseProof {
                now: shown(19.9, 10.0, 1.0, ValueKind::Settled),
                seen_step: Some(0.1),
                step_mark: Mark::Failed,
                slope: Some((4.6, 0.3)),
                slope_mark: Mark::Failed,
                ..base()
            }),
        ),
        sample(
            "control-proof-back",
            within(
                StepId::ControlBlip,
                22,
                Screen::ControlProof(BaseProof {
                    step: StepId::ControlBlip,
                    before: Some(10.0),
                    now: shown(20.2, 10.0, 1.0, ValueKind::Settled),
                    expected_step: 10.0,
                    seen_step: Some(10.2),
                    slope: Some((7.8, 0.4)),
                    slope_mark: Mark::Proven,
                    ..base()
                }),
                PROVEN_KEYS,
            ),
        ),
        sample("clamp-moved", clamp_view(clamp())),
        sample(
            "clamp-holds",
            clamp_view(ClampProof {
                now: shown(10.2, 10.0, 1.0, ValueKind::Settled),
                change: Some(0.1),
                clamp_mark: Mark::Proven,
                ..clamp()
            }),
        ),
        sample(
            "clamp-no-spark",
            clamp_view(ClampProof {
                now: withheld(Withheld::NoSpark),
                change: None,
                clamp_mark: Mark::Told,
                slope: None,
                blip: (None, 2000.0),
                base_mark: Mark::Open,
                ..clamp()
            }),
        ),
        sample(
            "sweep",
            with(within(StepId::Sweep, 16, Screen::Sweep(sweep()), PROVING_KEYS), |view| {
                view.bar.rpm = Some(2810.0);
            }),
        ),
        sample(
            "sweep-start",
            within(
                StepId::Sweep,
                16,
                Screen::Sweep(Sweep {
                    points: points(1, |_| 14.0),
                    delay_us: None,
                    line: None,
                    rpm: Some(712.0),
                    ..sweep()
                }),
                PROVING_KEYS,
            ),
        ),
        sample(
            "curve",
            with(within(StepId::CurveOn, 17, Screen::Curve(curve()), PROVING_KEYS), |view| {
                view.bar.rpm = Some(2210.0);
            }),
        ),
        sample("halt-clamp-moved", stopped(Halt::ClampMoved { by: 1.3 })),
        sample(
            "halt-supply",
            with(step(ready(), 7), |view| {
                view.halt = Some(Halt::SupplyLow { volts: 12.4, limit: 13.2 });
                view.bar.supply_v = Some(12.4);
                view.bar.supply_low = true;
                view.keys = PROVING_KEYS;
            }),
        ),
        sample("alarm-bolt-loose", alarm(Alarm::SpeedWithBoltLoose, true)),
        sample("alarm-bolt-loose-bright", alarm(Alarm::SpeedWithBoltLoose, false)),
        sample("alarm-gate-lost", alarm(Alarm::GateLost(GateId::SupplyHealthy), true)),
        sample("notice-resumed", with(step(make_safe(), 1), |view| view.notice = Some(Notice::Resumed))),
    ]
}
