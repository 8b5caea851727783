//! Any numbers on the screens: the drawing ends, and what a painter draws piece by piece is the whole picture.

#![no_main]

mod bytes;

use bytes::Bytes;
use keyway_core::job::Rotation;
use keyway_core::judge::{Because, Cause, CauseId, Remedy};
use keyway_core::panel::frame::Frame;
use keyway_core::panel::{Painter, draw};
use keyway_core::reading::Withheld;
use keyway_core::view::{
    BaseProof, Causes, ClampProof, Correction, CorrectionLine, CorrectionList, Cranking, Curve, CurvePoint,
    GateId, GateLine, GateValue, Halt, KeyLabel, Label, LiveScreen, Mark, Menu, MenuId, MenuItem, Notice,
    RecordDetail, RecordResult, Screen, StepId, StepPlace, Steps, Sweep, TrueZero, Unit, Value, ValueKind,
    View, ZeroStage,
};
use libfuzzer_sys::fuzz_target;

const MARKS: [Mark; 5] = [Mark::Open, Mark::Told, Mark::Proven, Mark::Failed, Mark::Skipped];

fn value(bytes: &mut Bytes) -> Value {
    match bytes.below(3) {
        0 => Value::Shown {
            advance: bytes.number(),
            doubt: bytes.number(),
            age_ms: 50,
            kind: ValueKind::Live,
            verdict: None,
        },
        1 => Value::Gathering { sparks: u16::from(bytes.byte()), needed: u16::from(bytes.byte()) },
        _ => Value::Withheld {
            why: [Some(Withheld::SparkRate), None, None, None],
            sparks_per_turn: bytes.maybe(),
            wheel_found: Some((bytes.byte(), bytes.byte())),
        },
    }
}

fn mark(bytes: &mut Bytes) -> Mark {
    bytes.pick(&MARKS).unwrap_or(Mark::Open)
}

fn label(bytes: &mut Bytes) -> Label {
    let length = bytes.below(42);
    let letters: String = (0..length).map(|_| char::from(bytes.byte())).collect();
    Label::new(&letters)
}

fn points(bytes: &mut Bytes) -> [Option<CurvePoint>; 12] {
    std::array::from_fn(|_| {
        bytes.flag().then(|| CurvePoint { rpm: bytes.number() * 20.0, advance: bytes.number() })
    })
}

fn correction(bytes: &mut Bytes) -> Option<Correction> {
    Some(Correction {
        crank_deg: bytes.number(),
        housing_deg: bytes.number(),
        rim_mm: bytes.maybe(),
        turn: bytes.flag().then_some(Rotation::Clockwise),
    })
}

fn proof(bytes: &mut Bytes) -> BaseProof {
    BaseProof {
        step: StepId::BaseBlip,
        before: bytes.maybe(),
        now: value(bytes),
        expected_step: bytes.number(),
        seen_step: bytes.maybe(),
        step_mark: mark(bytes),
        slope: bytes.flag().then(|| (bytes.number(), bytes.number())),
        blip: (bytes.maybe(), bytes.number()),
        slope_mark: mark(bytes),
    }
}

fn screen(bytes: &mut Bytes) -> Screen {
    match bytes.below(13) {
        0 => Screen::Live(LiveScreen {
            step: StepId::Set,
            value: value(bytes),
            bolt_moves: bytes.number(),
            target: bytes.number(),
            tolerance: bytes.number(),
            error: bytes.maybe(),
            rate: 0.0,
            hold_percent: bytes.byte(),
            correction: correction(bytes),
            rotor_proven: None,
        }),
        1 => Screen::BaseProof(proof(bytes)),
        2 => Screen::ControlProof(proof(bytes)),
        3 => Screen::ClampProof(ClampProof {
            step: StepId::ClampBlip,
            before: bytes.maybe(),
            now: value(bytes),
            change: bytes.maybe(),
            allowed: bytes.number(),
            clamp_mark: mark(bytes),
            slope: None,
            blip: (bytes.maybe(), bytes.number()),
            base_mark: mark(bytes),
        }),
        4 => Screen::Steps(Steps {
            step: bytes.pick(StepId::ALL).unwrap_or(StepId::Ready),
            gates: std::array::from_fn(|_| {
                let gate = bytes.pick(GateId::ALL)?;
                let value = GateValue {
                    measured: bytes.maybe(),
                    low: bytes.number(),
                    high: bytes.number(),
                    unit: Unit::Rpm,
                };
                bytes.flag().then(|| GateLine { gate, mark: mark(bytes), value: Some(value) })
            }),
            value: bytes.flag().then(|| value(bytes)),
        }),
        5 => Screen::Sweep(Sweep {
            points: points(bytes),
            rpm: bytes.maybe(),
            reach: bytes.number() * 20.0,
            delay_us: bytes.flag().then(|| (bytes.number(), bytes.number())),
            line: bytes.flag().then(|| (bytes.number(), bytes.number())),
            enough: bytes.flag(),
        }),
        6 => Screen::Curve(Curve {
            step: StepId::CurveOn,
            hose_off: points(bytes),
            hose_on: points(bytes),
            rpm: bytes.maybe(),
            advance: bytes.maybe(),
            reach: bytes.number() * 20.0,
            enough: bytes.flag(),
        }),
        7 => Screen::TrueZero(TrueZero {
            stage: bytes
                .pick(&[ZeroStage::Prepare, ZeroStage::First, ZeroStage::Result])
                .unwrap_or(ZeroStage::First),
            entry: bytes.number(),
            digit: bytes.number(),
            first: bytes.maybe(),
            second: bytes.maybe(),
            mark_btdc: bytes.flag().then(|| (bytes.number(), bytes.number())),
        }),
        8 => Screen::Corrections(CorrectionList {
            lines: [
                bytes.flag().then(|| CorrectionLine::Zero {
                    mark_btdc: bytes.number(),
                    doubt: bytes.number(),
                    idle: true,
                }),
                bytes.flag().then(|| CorrectionLine::Wheel {
                    entered: bytes.number(),
                    found: bytes.number(),
                    doubt: 0.1,
                }),
                bytes.flag().then_some(CorrectionLine::Rotor(Rotation::Clockwise)),
            ],
            selected: bytes.byte(),
        }),
        9 => {
            let cause = |bytes: &mut Bytes| {
                let id = bytes.pick(&CauseId::ALL)?;
                let because = Because::Off { error: bytes.number() };
                Some(Cause { id, probability: bytes.number(), because, remedy: Remedy(id) })
            };
            Screen::Causes(Causes { causes: std::array::from_fn(|_| cause(bytes)), selected: bytes.byte() })
        }
        10 => {
            let result = |bytes: &mut Bytes| {
                bytes.flag().then(|| RecordResult {
                    advance: bytes.number(),
                    doubt: bytes.number(),
                    rpm: bytes.number(),
                })
            };
            Screen::Record(RecordDetail {
                number: u32::from(bytes.byte()) << 24,
                engine: label(bytes),
                target: bytes.number(),
                before: result(bytes),
                after: result(bytes),
                verdict: None,
                marks: [bytes.byte(), bytes.byte(), bytes.byte()],
                cause: None,
                left_early: bytes.flag(),
                as_code: bytes.flag(),
                instrument: u32::MAX,
                firmware: u32::MAX,
                job_hash: 0,
            })
        }
        11 => Screen::Menu(Menu {
            id: MenuId::Engine,
            engine: label(bytes),
            items: std::array::from_fn(|_| bytes.pick(MenuItem::ALL)),
            selected: bytes.byte(),
            above: bytes.flag(),
            below: bytes.flag(),
        }),
        _ => Screen::Cranking(Cranking {
            value: value(bytes),
            target: bytes.number(),
            error: bytes.maybe(),
            far_off: bytes.flag(),
        }),
    }
}

fuzz_target!(|data: &[u8]| {
    let mut bytes = Bytes(data);
    let (mut painter, mut pieced) = (Painter::new(), Frame::new());
    while !bytes.is_empty() {
        let mut view = View::start();
        view.screen = screen(&mut bytes);
        view.bar.rpm = bytes.maybe();
        view.bar.supply_v = bytes.maybe();
        view.bar.supply_low = bytes.flag();
        view.bar.step =
            bytes.flag().then(|| StepPlace { id: StepId::Set, number: bytes.byte(), of: bytes.byte() });
        view.keys = std::array::from_fn(|_| bytes.pick(KeyLabel::ALL).unwrap_or(KeyLabel::None));
        view.inverted = bytes.byte() > 200;
        view.notice = if bytes.byte() > 220 { bytes.pick(Notice::ALL) } else { None };
        view.halt = (bytes.byte() > 230).then(|| Halt::OffTarget { error: bytes.number() });
        let mut whole = Frame::new();
        let Ok(()) = draw(&view, &mut whole);
        let Ok(_) = painter.draw(&view, &mut pieced);
        assert!(whole == pieced, "pieced and whole pictures differ: {view:?}");
    }
});
