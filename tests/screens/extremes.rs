//! Every id on every screen that takes it, with the widest numbers.

use keyway::screens::samples;
use keyway_core::job::{Problem, Rotation};
use keyway_core::judge::{Cause, CauseId, Remedy};
use keyway_core::reading::Withheld;
use keyway_core::view::{
    Alarm, Bar, BaseProof, Causes, CautionId, ClampProof, Correction, CorrectionLine, CorrectionList,
    FieldId, FieldView, GateId, GateLine, GateValue, KeyLabel, Label, LiveScreen, Mark, Menu, MenuId,
    MenuItem, Notice, OtherCheck, OtherChecks, Quality, ReadingScreen, Screen, StepId, StepPlace, Steps,
    TrueZero, Unit, Value, ValueKind, View, ZeroStage,
};
use keyway_core::words;

use crate::widest::{CHECKS, EVIDENCE, MARKS, WITHHELD, halts};

/// The widest value.
const WIDEST: Value =
    Value::Shown { advance: -128.8, doubt: 28.8, age_ms: 9999, kind: ValueKind::Live, verdict: None };

fn withheld(why: Withheld) -> Value {
    Value::Withheld { why: [Some(why); 4], sparks_per_turn: Some(28.8), wheel_found: Some((144, 12)) }
}

fn view(step: StepId, screen: Screen) -> View {
    View {
        bar: Bar {
            step: Some(StepPlace { id: step, number: 28, of: 28 }),
            rpm: Some(8888.0),
            in_idle_band: false,
            supply_v: Some(28.8),
            supply_low: true,
            quality: Quality::Good,
        },
        screen,
        keys: [KeyLabel::Understood, KeyLabel::Cancel, KeyLabel::Causes, KeyLabel::Others],
        halt: None,
        alarm: None,
        notice: None,
        inverted: false,
        blink: false,
    }
}

fn sampled(name: &str) -> View {
    samples().into_iter().find(|sample| sample.name == name).map(|sample| sample.view).expect("is a sample")
}

/// All of it, each with a name to find it by.
pub fn extremes() -> Vec<(String, View)> {
    let mut all = Vec::new();
    steps(&mut all);
    lists(&mut all);
    overlays(&mut all);
    corrections(&mut all);
    values(&mut all);
    judged(&mut all);
    fields(&mut all);
    all
}

type Named = Vec<(String, View)>;

fn steps(all: &mut Named) {
    for step in StepId::ALL {
        for (name, value) in
            [("", None), (" value", Some(WIDEST)), (" withheld", Some(withheld(Withheld::SparkRate)))]
        {
            for count in 0..=7 {
                let gates = std::array::from_fn(|index| {
                    let gate = GateId::ALL[(index * 7 + count) % GateId::ALL.len()];
                    (index < count).then_some(GateLine { gate, mark: MARKS[index % 5], value: None })
                });
                let screen = Screen::Steps(Steps { step: *step, gates, value });
                all.push((format!("{step:?} with {count} gates{name}"), view(*step, screen)));
            }
        }
    }
    // The gates that carry numbers, with the widest of their unit.
    let numbers = [
        (GateId::IdleInBand, Unit::Rpm, 9888.0, 600.0, 900.0),
        (GateId::EngineRuns, Unit::Rpm, 0.0, 100.0, f32::INFINITY),
        (GateId::EngineStands, Unit::Second, 0.0, 2.0, f32::INFINITY),
        (GateId::SupplyHealthy, Unit::Volt, 12.8, 26.4, f32::INFINITY),
        (GateId::SupplySeen, Unit::Volt, 5.8, 6.0, 32.0),
        (GateId::BaseStep, Unit::Degrees, 28.8, 38.8, 48.8),
        (GateId::NoRise, Unit::DegreesPer1000Rpm, 28.8, 0.0, 0.5),
        (GateId::ClampHeld, Unit::Degrees, 28.8, 0.0, 0.5),
        (GateId::SpeedsSeen, Unit::Rpm, 888.0, 1000.0, f32::INFINITY),
        (GateId::OnTarget, Unit::Advance, -128.8, 9.0, 11.0),
        (GateId::Settled, Unit::Degrees, 28.8, 0.0, 0.5),
        (GateId::OffsetBack, Unit::Degrees, 28.8, 38.8, 48.8),
        (GateId::RisesAgain, Unit::DegreesPer1000Rpm, 0.8, 1.0, f32::INFINITY),
    ];
    for (gate, unit, measured, low, high) in numbers {
        for mark in MARKS {
            for count in [1, 7] {
                let value = Some(GateValue { measured: Some(measured), low, high, unit });
                let gates =
                    std::array::from_fn(|index| (index < count).then_some(GateLine { gate, mark, value }));
                let screen = Screen::Steps(Steps { step: StepId::Ready, gates, value: None });
                all.push((format!("{gate:?} {mark:?} of {count}"), view(StepId::Ready, screen)));
            }
        }
    }
    for gate in GateId::ALL {
        let line = Some(GateLine { gate: *gate, mark: Mark::Open, value: None });
        let screen = Screen::Steps(Steps { step: StepId::Witness, gates: [line; 7], value: None });
        all.push((format!("{gate:?}"), view(StepId::Witness, screen)));
    }
    for id in CautionId::ALL {
        let screen = Screen::Caution { id: *id, number: 20, of: 20, held_percent: 100 };
        all.push((format!("{id:?}"), view(StepId::MakeSafe, screen)));
    }
}

fn lists(all: &mut Named) {
    let longest = Label::new("Emergency generator of the lower weir 12");
    for id in MenuId::ALL {
        for (index, items) in MenuItem::ALL.chunks(6).enumerate() {
            let menu = Menu {
                id: *id,
                engine: longest,
                items: std::array::from_fn(|index| items.get(index).copied()),
                selected: 5,
                above: true,
                below: true,
            };
            all.push((format!("{id:?} {index}"), view(StepId::Set, Screen::Menu(menu))));
        }
    }
    for (index, keys) in KeyLabel::ALL.chunks(4).enumerate() {
        let mut view = sampled("live-late");
        view.keys = std::array::from_fn(|index| keys.get(index).copied().unwrap_or(KeyLabel::None));
        all.push((format!("keys {index}"), view));
    }
    for check in OtherCheck::ALL {
        let index = OtherCheck::ALL.iter().position(|other| other == check).unwrap_or(0) as u8;
        let checks = std::array::from_fn(|index| (OtherCheck::ALL[index], MARKS[index]));
        let screen = Screen::OtherChecks(OtherChecks { checks, selected: index });
        all.push((format!("{check:?}"), view(StepId::Set, screen)));
    }
    for stage in
        [ZeroStage::Prepare, ZeroStage::First, ZeroStage::Second, ZeroStage::Result, ZeroStage::StopOut]
    {
        for digit in [0.1, 1.0, 10.0, 100.0] {
            let zero = TrueZero {
                stage,
                entry: -128.8,
                digit,
                first: Some(-128.8),
                second: Some(-128.8),
                mark_btdc: Some((-128.8, 28.8)),
            };
            all.push((format!("{stage:?} {digit}"), view(StepId::Zero, Screen::TrueZero(zero))));
        }
    }
}

fn overlays(all: &mut Named) {
    for halt in halts() {
        for name in ["live-late", "live-withheld", "step-make-safe", "menu-home"] {
            let mut view = sampled(name);
            view.halt = Some(halt);
            all.push((format!("{halt:?} over {name}"), view));
        }
    }
    let gates = GateId::ALL.iter().map(|gate| Alarm::GateLost(*gate));
    let alarms = [Alarm::TurnsWithStop, Alarm::SpeedWithBoltLoose, Alarm::TurnsWhileReachingIn];
    for alarm in alarms.into_iter().chain(gates) {
        for blink in [false, true] {
            let mut view = sampled("live-late");
            (view.alarm, view.blink) = (Some(alarm), blink);
            all.push((format!("{alarm:?}"), view));
        }
    }
    for notice in Notice::ALL {
        for sample in samples() {
            let mut view = sample.view;
            view.notice = Some(*notice);
            all.push((format!("{notice:?} over {}", sample.name), view));
        }
    }
}

fn corrections(all: &mut Named) {
    let lines = [
        Some(CorrectionLine::Zero { mark_btdc: -128.8, doubt: 28.8, idle: true }),
        Some(CorrectionLine::Wheel { entered: 288.8, found: 288.8, doubt: 28.8 }),
        Some(CorrectionLine::Rotor(Rotation::Clockwise)),
    ];
    for selected in 0..3 {
        let screen = Screen::Corrections(CorrectionList { lines, selected });
        all.push((format!("corrections {selected}"), view(StepId::Zero, screen)));
    }
}

fn values(all: &mut Named) {
    let correction = Correction {
        crank_deg: 128.8,
        housing_deg: 64.4,
        rim_mm: None,
        turn: Some(Rotation::Counterclockwise),
    };
    let screens = |value: Value, error: Option<f32>| {
        let (slope, before) = (Some((-88.8, 14.4)), Some(-128.8));
        let blip = (None, 2888.0);
        let live = LiveScreen {
            step: StepId::SetFine,
            value,
            target: -18.8,
            bolt_moves: -4.8,
            tolerance: 8.8,
            error,
            rate: 0.0,
            hold_percent: 88,
            correction: Some(correction),
            rotor_proven: None,
        };
        let base = BaseProof {
            step: StepId::BaseBlip,
            before,
            now: value,
            expected_step: -128.8,
            seen_step: None,
            step_mark: Mark::Told,
            slope,
            blip,
            slope_mark: Mark::Told,
        };
        let clamp = ClampProof {
            step: StepId::BlipFine,
            before,
            now: value,
            change: Some(-128.8),
            allowed: 28.8,
            clamp_mark: Mark::Told,
            slope,
            blip,
            base_mark: Mark::Open,
        };
        [
            Screen::Live(live),
            Screen::BaseProof(base),
            Screen::ControlProof(BaseProof { step: StepId::ControlBlip, slope: None, ..base }),
            Screen::ClampProof(clamp),
            Screen::NoReading { value },
        ]
    };
    let gathering = Value::Gathering { sparks: 888, needed: 888 };
    let each = WITHHELD.into_iter().map(withheld).chain([gathering, WIDEST]);
    for value in each {
        for error in [None, Some(-128.8), Some(0.8)] {
            for screen in screens(value, error) {
                all.push((format!("{value:?} {error:?} {screen:.12?}"), view(StepId::SetFine, screen)));
            }
        }
    }
    for cause in CauseId::ALL {
        for (error, target) in [(-128.8, -18.8), (0.5, 8.8), (28.8, 28.8)] {
            let screen = Screen::Reading(ReadingScreen {
                step: StepId::Read,
                value: WIDEST,
                target,
                error: Some(error),
                tolerance: 1.0,
                scatter: Some(28.8),
                base_mark: Mark::Failed,
                zero_mark: Mark::Skipped,
                first_cause: Some(Cause {
                    id: cause,
                    probability: 1.0,
                    because: EVIDENCE[0],
                    remedy: Remedy(cause),
                }),
                settled: true,
                correction: Some(correction),
            });
            all.push((format!("reading {cause:?} {error}"), view(StepId::Read, screen)));
        }
    }
}

fn judged(all: &mut Named) {
    // Each kind of evidence with each remedy, the longest list above it.
    for because in EVIDENCE {
        for id in CauseId::ALL {
            let cause = Some(Cause { id, probability: 1.0, because, remedy: Remedy(id) });
            let screen = Screen::Causes(Causes { causes: [cause; 4], selected: 3 });
            all.push((format!("{id:?} {because:?}"), view(StepId::Read, screen)));
        }
    }
    for check in CHECKS {
        for bolt_loose in [false, true] {
            let screen = Screen::NextCheck { check, bolt_loose };
            all.push((format!("{check:?} {bolt_loose}"), view(StepId::Read, screen)));
        }
    }
}

fn fields(all: &mut Named) {
    for field in FieldId::ALL {
        let number = FieldView {
            field: *field,
            index: Some(12),
            place: (28, 28),
            number: -888.8,
            low: -180.0,
            high: 360.0,
            digit: 100.0,
            decimals: 1,
            unit: Some(Unit::Advance),
            text: Label::new("Emergency generator of the lower weir 12"),
            letter: 39,
            problem: None,
        };
        for index in 0..words::choices(*field) {
            let choice = FieldView { number: f32::from(index), unit: None, ..number };
            all.push((format!("{field:?} {index}"), view(StepId::Set, Screen::Field(choice))));
        }
        let units = [
            (Unit::Count, 0, 128.0),
            (Unit::Advance, 1, -128.8),
            (Unit::Degrees, 1, -128.8),
            (Unit::Rpm, 0, 12_888.0),
            (Unit::Volt, 1, 28.8),
            (Unit::Millimetre, 0, 288.0),
            (Unit::Microsecond, 0, 8888.0),
            (Unit::Degrees, 2, 28.88),
        ];
        for (unit, decimals, value) in units {
            for problem in [None, Some(Problem::OutOfRange { read: 8888.8, low: -1888.8, high: 8888.8 })] {
                let view_of = FieldView { number: value, decimals, unit: Some(unit), problem, ..number };
                all.push((format!("{field:?} {unit:?}"), view(StepId::Set, Screen::Field(view_of))));
            }
        }
    }
}
