//! The longest texts and the largest values: nothing may be cut, overlap or leave its room.

use keyway_core::job::Rotation;
use keyway_core::judge::{Because, CauseId, Verdict};
use keyway_core::reading::Withheld;
use keyway_core::view::{
    BaseProof, Causes, CautionId, ClampProof, Correction, GateId, Halt, KeyLabel, Label, LiveScreen, Mark,
    Quality, RecordDetail, RecordResult, Screen, StepId, Steps, Unit, Value, ValueKind, View,
};

use super::beside::record;
use super::reading::{cause, withheld};
use super::working::{gate, gate_value};
use super::{Sample, sample, with, within};

const KEYS: [KeyLabel; 4] = [KeyLabel::Understood, KeyLabel::Causes, KeyLabel::Delete, KeyLabel::Others];

/// The widest bar.
fn widest(screen: Screen) -> View {
    with(within(StepId::Steered, 27, screen, KEYS), |view| {
        view.bar.rpm = Some(9999.0);
        view.bar.supply_v = Some(28.8);
        view.bar.supply_low = true;
        view.bar.quality = Quality::Doubtful;
    })
}

/// The widest value.
fn value() -> Value {
    Value::Shown {
        advance: -178.8,
        doubt: 28.8,
        age_ms: 9999,
        kind: ValueKind::Cranking,
        verdict: Some(Verdict::Late),
    }
}

/// A name of forty letters.
fn name() -> Label {
    Label::new("Emergency generator of the lower weir 12")
}

fn live() -> LiveScreen {
    LiveScreen {
        step: StepId::Set,
        value: value(),
        target: -18.8,
        bolt_moves: -4.8,
        tolerance: 1.0,
        error: Some(-160.0),
        rate: -88.8,
        hold_percent: 0,
        correction: Some(Correction {
            crank_deg: 160.0,
            housing_deg: 80.0,
            rim_mm: Some(488.8),
            turn: Some(Rotation::Counterclockwise),
        }),
        rotor_proven: Some(false),
    }
}

pub(super) fn samples() -> Vec<Sample> {
    let proof = BaseProof {
        step: StepId::BaseBlip,
        before: Some(-128.8),
        now: value(),
        expected_step: -128.8,
        seen_step: Some(128.8),
        step_mark: Mark::Failed,
        slope: Some((-88.8, 14.4)),
        blip: (Some(2888.0), 2000.0),
        slope_mark: Mark::Open,
    };
    let clamp = ClampProof {
        step: StepId::BlipFine,
        before: Some(-128.8),
        now: withheld(Withheld::SparkRate),
        change: Some(-128.8),
        allowed: 0.5,
        clamp_mark: Mark::Skipped,
        slope: Some((88.8, 14.4)),
        blip: (None, 2888.0),
        base_mark: Mark::Told,
    };
    let gates = Steps {
        step: StepId::Connect,
        gates: [
            gate(GateId::LeadsClear, Mark::Open),
            gate(GateId::ClampHeld, Mark::Told),
            gate_value(GateId::IdleInBand, Mark::Failed, Some(9888.0), (600.0, 12_000.0), Unit::Rpm),
            gate_value(GateId::SupplyHealthy, Mark::Failed, Some(28.8), (30.0, 40.0), Unit::Volt),
            gate(GateId::SparksRight, Mark::Proven),
            gate_value(GateId::BaseStep, Mark::Failed, Some(28.8), (38.8, 40.0), Unit::Degrees),
            gate(GateId::OutOfGear, Mark::Skipped),
        ],
        value: Some(value()),
    };
    let because = Because::ShortByOffset { short: 128.8, offset: 40.0 };
    let causes = Causes {
        causes: [
            CauseId::ClampOnCoilLead,
            CauseId::NotInBaseMode,
            CauseId::MechanismAdvancing,
            CauseId::SetOutOfBaseMode,
        ]
        .map(|id| Some(cause(id, 1.0, because))),
        selected: 3,
    };
    let result = RecordResult { advance: -178.8, doubt: 28.8, rpm: 9999.0 };
    let record = RecordDetail {
        number: 4_000_000_000,
        engine: name(),
        target: -128.8,
        before: Some(result),
        after: Some(result),
        verdict: Some(Verdict::OnTarget),
        marks: [188, 188, 188],
        cause: Some((CauseId::ClampOnCoilLead, 1.0)),
        left_early: true,
        instrument: u32::MAX,
        firmware: u32::MAX,
        job_hash: u32::MAX,
        ..record()
    };
    let caution = Screen::Caution { id: CautionId::LabelFirst, number: 20, of: 20, held_percent: 100 };
    let halt = Halt::NotTakenBack { expected: -178.8, read: -178.8 };
    vec![
        sample("long-live", widest(Screen::Live(live()))),
        sample("long-base-proof", widest(Screen::BaseProof(proof))),
        sample("long-clamp-proof", widest(Screen::ClampProof(clamp))),
        sample("long-gates", widest(Screen::Steps(gates))),
        sample("long-causes", widest(Screen::Causes(causes))),
        sample("long-record", widest(Screen::Record(record))),
        sample("long-record-code", widest(Screen::Record(RecordDetail { as_code: true, ..record }))),
        sample("long-caution", widest(caution)),
        sample("long-halt", with(widest(Screen::Live(live())), |view| view.halt = Some(halt))),
    ]
}
