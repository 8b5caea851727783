//! The screens beside the job: menus, engines, entries, causes, true zero, records, settings, self-test.

use keyway_core::job::{Problem, Rotation};
use keyway_core::judge::{Because, CauseId, NextCheck, Verdict};
use keyway_core::view::{
    Causes, CorrectionLine, CorrectionList, EngineList, FieldId, FieldView, KeyLabel, Label, Mark, Menu,
    MenuId, MenuItem, OtherCheck, OtherChecks, RecordDetail, RecordLine, RecordList, RecordResult, Screen,
    SelfTest, SettingId, SettingLine, Settings, StepId, Teach, TestResult, TrueZero, Unit, Value, ZeroStage,
};

use super::reading::cause;
use super::{Sample, outside, sample, weir_pump, with, within};

const LIST_KEYS: [KeyLabel; 4] = [KeyLabel::Back, KeyLabel::Up, KeyLabel::Down, KeyLabel::Select];
const HOME_KEYS: [KeyLabel; 4] = [KeyLabel::None, KeyLabel::Up, KeyLabel::Down, KeyLabel::Select];
const TESTED_KEYS: [KeyLabel; 4] = [KeyLabel::None, KeyLabel::None, KeyLabel::None, KeyLabel::Next];
const CORRECTIONS_KEYS: [KeyLabel; 4] = [KeyLabel::Back, KeyLabel::Down, KeyLabel::Undo, KeyLabel::Forget];
const ENTRY_KEYS: [KeyLabel; 4] = [KeyLabel::Back, KeyLabel::Digit, KeyLabel::More, KeyLabel::Enter];

fn menu(id: MenuId, engine: Label, items: &[MenuItem], selected: u8) -> Screen {
    Screen::Menu(Menu {
        id,
        engine,
        items: std::array::from_fn(|index| items.get(index).copied()),
        selected,
        above: false,
        below: items.len() > 5,
    })
}

/// A field with a number.
pub(super) fn field(field: FieldId, number: f32, unit: Option<Unit>) -> FieldView {
    FieldView {
        field,
        index: None,
        place: (8, 24),
        number,
        low: -20.0,
        high: 40.0,
        digit: 1.0,
        decimals: 1,
        unit,
        text: Label::EMPTY,
        letter: 0,
        problem: None,
    }
}

/// A record that ended on target.
pub(super) fn record() -> RecordDetail {
    RecordDetail {
        number: 128,
        engine: weir_pump(),
        target: 10.0,
        before: Some(RecordResult { advance: 3.9, doubt: 0.2, rpm: 690.0 }),
        after: Some(RecordResult { advance: 10.1, doubt: 0.1, rpm: 712.0 }),
        verdict: Some(Verdict::OnTarget),
        marks: [17, 6, 1],
        cause: Some((CauseId::SetOutOfBaseMode, 0.97)),
        left_early: false,
        as_code: false,
        instrument: 42,
        firmware: 0x5eed_0a1b,
        job_hash: 0x1234_abcd,
    }
}

fn causes() -> Causes {
    Causes {
        causes: [
            Some(cause(CauseId::SetOutOfBaseMode, 0.71, Because::ShortByOffset { short: 9.8, offset: 10.0 })),
            Some(cause(CauseId::OffTarget, 0.2, Because::Off { error: -9.8 })),
            Some(cause(CauseId::DriveToothOff, 0.06, Because::Off { error: -9.8 })),
            None,
        ],
        selected: 0,
    }
}

fn others() -> OtherChecks {
    OtherChecks {
        checks: [
            (OtherCheck::PlugSeat, Mark::Told),
            (OtherCheck::InjectorConnections, Mark::Told),
            (OtherCheck::GroundConnections, Mark::Open),
            (OtherCheck::SupplyAtIdle, Mark::Proven),
            (OtherCheck::FuelPressure, Mark::Open),
        ],
        selected: 2,
    }
}

/// Every correction at once.
fn corrections() -> CorrectionList {
    CorrectionList {
        lines: [
            Some(CorrectionLine::Zero { mark_btdc: -1.2, doubt: 0.35, idle: true }),
            Some(CorrectionLine::Wheel { entered: 84.0, found: 83.6, doubt: 0.1 }),
            Some(CorrectionLine::Rotor(Rotation::Counterclockwise)),
        ],
        selected: 1,
    }
}

fn zero(stage: ZeroStage) -> TrueZero {
    TrueZero { stage, entry: 31.5, digit: 1.0, first: None, second: None, mark_btdc: None }
}

/// All settings.
pub(super) fn settings() -> Settings {
    let line = |id, value, most| SettingLine { id, value, most };
    Settings {
        lines: [
            line(SettingId::Loudness, 4, 5),
            line(SettingId::Light, 1, 5),
            line(SettingId::InvertOnTarget, 1, 1),
            line(SettingId::LeftHanded, 0, 1),
        ],
        selected: 0,
    }
}

/// A test that passed.
pub(super) fn passed() -> SelfTest {
    SelfTest {
        capture: TestResult::Passed,
        angle_error: Some(0.01),
        store: TestResult::Passed,
        supply: TestResult::Passed,
        last_run_failed: false,
        firmware: 0x5eed_0a1b,
        instrument: 42,
        calibrated: Some((2026, 9, 14)),
    }
}

pub(super) fn samples() -> Vec<Sample> {
    let mut all = lists();
    all.extend(entries());
    all.extend(judged());
    all.extend(kept());
    all
}

fn lists() -> Vec<Sample> {
    let home = [
        MenuItem::Resume,
        MenuItem::ChooseEngine,
        MenuItem::NewEngine,
        MenuItem::NoStart,
        MenuItem::Records,
        MenuItem::Settings,
    ];
    let engine = [
        MenuItem::StartJob,
        MenuItem::TrueZero,
        MenuItem::Teach,
        MenuItem::EditEngine,
        MenuItem::DeleteEngine,
    ];
    let engines = EngineList {
        engines: [
            Some(Label::EMPTY),
            Some(weir_pump()),
            Some(Label::new("Sluice engine 2")),
            Some(Label::new("Training hall four")),
            Some(Label::new("Workshop compressor, weights")),
        ],
        selected: 1,
        number: 2,
        of: 7,
    };
    vec![
        sample("menu-home", outside(menu(MenuId::Home, Label::EMPTY, &home, 1), HOME_KEYS)),
        sample("menu-engine", outside(menu(MenuId::Engine, weir_pump(), &engine, 0), LIST_KEYS)),
        sample("engines", outside(Screen::Engines(engines), LIST_KEYS)),
    ]
}

fn entries() -> Vec<Sample> {
    let view = |field| outside(Screen::Field(field), ENTRY_KEYS);
    let base = field(FieldId::Base, 10.0, Some(Unit::Advance));
    let name = FieldView {
        text: Label::new("Weir pump si"),
        letter: 11,
        unit: None,
        ..field(FieldId::Name, 0.0, None)
    };
    let taught = Teach {
        entered: 84.0,
        found: Some((83.62, 0.08)),
        turns: (64, 64),
        value: Value::Gathering { sparks: 64, needed: 64 },
    };
    let zero_keys = [KeyLabel::Back, KeyLabel::Digit, KeyLabel::More, KeyLabel::Enter];
    let on = |back, last| [back, KeyLabel::None, KeyLabel::None, last];
    vec![
        sample("field-base", view(base)),
        sample("field-base-after", view(FieldView { number: -4.5, digit: 0.1, ..base })),
        sample(
            "field-problem",
            view(FieldView {
                problem: Some(Problem::OutOfRange { read: 41.0, low: -20.0, high: 40.0 }),
                number: 41.0,
                digit: 10.0,
                ..base
            }),
        ),
        sample(
            "field-control",
            outside(
                Screen::Field(FieldView { number: 1.0, ..field(FieldId::Control, 1.0, None) }),
                [KeyLabel::Back, KeyLabel::None, KeyLabel::Change, KeyLabel::Enter],
            ),
        ),
        sample(
            "field-name",
            outside(
                Screen::Field(name),
                [KeyLabel::Cancel, KeyLabel::Letter, KeyLabel::Change, KeyLabel::Enter],
            ),
        ),
        sample(
            "true-zero-prepare",
            outside(Screen::TrueZero(zero(ZeroStage::Prepare)), on(KeyLabel::Back, KeyLabel::Next)),
        ),
        sample(
            "true-zero-stop-out",
            outside(Screen::TrueZero(zero(ZeroStage::StopOut)), on(KeyLabel::None, KeyLabel::Done)),
        ),
        sample("true-zero-first", outside(Screen::TrueZero(zero(ZeroStage::First)), zero_keys)),
        sample(
            "true-zero-second",
            outside(
                Screen::TrueZero(TrueZero { entry: -29.1, first: Some(31.5), ..zero(ZeroStage::Second) }),
                zero_keys,
            ),
        ),
        sample(
            "true-zero-result",
            outside(
                Screen::TrueZero(TrueZero {
                    first: Some(31.5),
                    second: Some(-29.1),
                    mark_btdc: Some((-1.2, 0.3)),
                    ..zero(ZeroStage::Result)
                }),
                [KeyLabel::Again, KeyLabel::None, KeyLabel::None, KeyLabel::Enter],
            ),
        ),
        sample(
            "teach-found",
            with(outside(Screen::Teach(taught), zero_keys), |view| {
                view.keys = [KeyLabel::Back, KeyLabel::Again, KeyLabel::None, KeyLabel::Enter];
                view.bar.rpm = Some(712.0);
            }),
        ),
        sample("corrections", outside(Screen::Corrections(corrections()), CORRECTIONS_KEYS)),
        sample(
            "corrections-none",
            outside(
                Screen::Corrections(CorrectionList { lines: [None; 3], selected: 0 }),
                [KeyLabel::Back, KeyLabel::None, KeyLabel::Undo, KeyLabel::None],
            ),
        ),
        sample(
            "teach-turning",
            with(
                outside(Screen::Teach(Teach { found: None, turns: (20, 64), ..taught }), zero_keys),
                |view| {
                    view.keys = [KeyLabel::Back, KeyLabel::Again, KeyLabel::None, KeyLabel::None];
                    view.bar.rpm = Some(712.0);
                },
            ),
        ),
    ]
}

fn judged() -> Vec<Sample> {
    let [back, none] = [KeyLabel::Back, KeyLabel::None];
    let check = |check, bolt_loose, third, fourth| {
        let keys = [KeyLabel::Back, KeyLabel::Causes, third, fourth];
        within(StepId::Read, 11, Screen::NextCheck { check, bolt_loose }, keys)
    };
    vec![
        sample(
            "causes",
            within(StepId::Read, 11, Screen::Causes(causes()), [back, KeyLabel::Down, KeyLabel::Check, none]),
        ),
        sample("next-check", check(NextCheck::LookAtClamp, false, KeyLabel::No, KeyLabel::Yes)),
        sample("next-check-bolt-loose", check(NextCheck::Blip, true, KeyLabel::Others, none)),
        sample(
            "other-checks",
            within(
                StepId::Read,
                11,
                Screen::OtherChecks(others()),
                [back, KeyLabel::Down, none, KeyLabel::Done],
            ),
        ),
    ]
}

fn kept() -> Vec<Sample> {
    let line = |number, engine: &str, after: Option<f32>| {
        let on_target = after.is_some_and(|after| (after - 10.0).abs() <= 1.0);
        Some(RecordLine { number, engine: Label::new(engine), after, on_target })
    };
    let records = RecordList {
        lines: [
            line(128, "Weir pump six", Some(10.1)),
            line(127, "Sluice engine 2", Some(-3.9)),
            line(126, "Training hall four", None),
            line(125, "Weir pump six", Some(9.8)),
        ],
        selected: 0,
        number: 1,
        of: 128,
    };
    let record_keys = [KeyLabel::Back, KeyLabel::None, KeyLabel::None, KeyLabel::Code];
    let code_keys = [KeyLabel::Back, KeyLabel::None, KeyLabel::None, KeyLabel::Values];
    vec![
        sample("records", outside(Screen::Records(records), LIST_KEYS)),
        sample("record", outside(Screen::Record(record()), record_keys)),
        sample("record-code", outside(Screen::Record(RecordDetail { as_code: true, ..record() }), code_keys)),
        sample(
            "settings",
            outside(
                Screen::Settings(settings()),
                [KeyLabel::Back, KeyLabel::Down, KeyLabel::Less, KeyLabel::More],
            ),
        ),
        sample("self-test", outside(Screen::SelfTest(passed()), TESTED_KEYS)),
        sample(
            "self-test-failed",
            outside(
                Screen::SelfTest(SelfTest {
                    capture: TestResult::Failed,
                    angle_error: Some(2.31),
                    supply: TestResult::Absent,
                    last_run_failed: true,
                    calibrated: None,
                    ..passed()
                }),
                TESTED_KEYS,
            ),
        ),
    ]
}
