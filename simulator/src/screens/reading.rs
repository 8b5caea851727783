//! The screens with a value: live setting, reading, reference angle, cranking, no reading.

use keyway_core::job::Rotation;
use keyway_core::judge::{Because, Cause, CauseId, Remedy, Verdict};
use keyway_core::reading::Withheld;
use keyway_core::view::{
    Correction, Cranking, KeyLabel, LiveScreen, Mark, Quality, ReadingScreen, ReferenceChange, Screen,
    StepId, Value, ValueKind, View,
};

use super::{Sample, sample, with, within};

/// Setting; on target and held; a reading that settles, and one that has.
const SET_KEYS: [KeyLabel; 4] = [KeyLabel::Back, KeyLabel::Menu, KeyLabel::None, KeyLabel::None];
const HELD_KEYS: [KeyLabel; 4] = [KeyLabel::Back, KeyLabel::Menu, KeyLabel::None, KeyLabel::Next];
const READING_KEYS: [KeyLabel; 4] = [KeyLabel::Back, KeyLabel::Menu, KeyLabel::Skip, KeyLabel::None];
const READ_KEYS: [KeyLabel; 4] = [KeyLabel::Back, KeyLabel::Menu, KeyLabel::Again, KeyLabel::Next];

/// A live value against a target.
pub(super) fn shown(advance: f32, target: f32, tolerance: f32, kind: ValueKind) -> Value {
    let error = advance - target;
    let verdict = if error.abs() <= tolerance {
        Verdict::OnTarget
    } else if error > 0.0 {
        Verdict::Early
    } else {
        Verdict::Late
    };
    Value::Shown { advance, doubt: 0.2, age_ms: 80, kind, verdict: Some(verdict) }
}

/// A value withheld for one reason.
pub(super) fn withheld(why: Withheld) -> Value {
    Value::Withheld { why: [Some(why), None, None, None], sparks_per_turn: None, wheel_found: None }
}

/// What is left to turn for an error, with a housing of 70 mm.
pub(super) fn correction(error: f32, turn: Option<Rotation>) -> Correction {
    let housing_deg = -error / 2.0;
    Correction {
        crank_deg: -error,
        housing_deg,
        rim_mm: Some(housing_deg.abs() * 70.0 * std::f32::consts::PI / 360.0),
        turn,
    }
}

/// Setting towards 10° BTDC from `advance`, the rotor turning clockwise.
fn live(advance: f32, hold_percent: u8) -> LiveScreen {
    let error = advance - 10.0;
    let turn = if error < 0.0 { Rotation::Counterclockwise } else { Rotation::Clockwise };
    LiveScreen {
        step: StepId::Set,
        value: shown(advance, 10.0, 1.0, ValueKind::Live),
        target: 10.0,
        bolt_moves: 0.0,
        tolerance: 1.0,
        error: Some(error),
        rate: 0.0,
        hold_percent,
        correction: Some(correction(error, Some(turn))),
        rotor_proven: Some(true),
    }
}

fn set(screen: LiveScreen) -> View {
    let keys = if screen.hold_percent >= 100 { HELD_KEYS } else { SET_KEYS };
    within(StepId::Set, 12, Screen::Live(screen), keys)
}

/// A cause with its evidence.
pub(super) fn cause(id: CauseId, probability: f32, because: Because) -> Cause {
    Cause { id, probability, because, remedy: Remedy(id) }
}

fn reading(advance: f32) -> ReadingScreen {
    let error = advance - 10.0;
    let on_target = error.abs() <= 1.0;
    let id = if on_target { CauseId::Healthy } else { CauseId::OffTarget };
    let because = if on_target { Because::Within { error } } else { Because::Off { error } };
    ReadingScreen {
        step: StepId::Read,
        value: shown(advance, 10.0, 1.0, ValueKind::Settled),
        target: 10.0,
        error: Some(error),
        tolerance: 1.0,
        scatter: Some(0.3),
        base_mark: Mark::Proven,
        zero_mark: Mark::Told,
        first_cause: Some(cause(id, 0.98, because)),
        settled: true,
        correction: None,
    }
}

fn read(screen: ReadingScreen) -> View {
    let keys = if screen.settled { READ_KEYS } else { READING_KEYS };
    within(StepId::Read, 11, Screen::Reading(screen), keys)
}

pub(super) fn samples() -> Vec<Sample> {
    let mut all = vec![
        sample("live-late", set(live(4.0, 0))),
        sample("live-early", set(live(12.6, 0))),
        sample("live-far-early", set(live(31.4, 0))),
        sample("live-after-tdc", set(live(-9.8, 0))),
        sample("live-far-out", set(live(-110.0, 0))),
        sample("live-on-target", with(set(live(10.1, 40)), |view| view.inverted = true)),
        sample("live-held", with(set(live(9.9, 100)), |view| view.inverted = true)),
        sample(
            "live-led",
            with(
                set(LiveScreen { target: 8.8, bolt_moves: 1.2, error: Some(0.1), ..live(8.9, 100) }),
                |view| view.inverted = true,
            ),
        ),
        sample(
            "live-withheld",
            set(LiveScreen {
                value: withheld(Withheld::NoSpark),
                error: None,
                correction: None,
                ..live(4.0, 0)
            }),
        ),
        sample(
            "live-gathering",
            set(LiveScreen {
                value: Value::Gathering { sparks: 3, needed: 8 },
                error: None,
                correction: None,
                ..live(4.0, 0)
            }),
        ),
        sample(
            "live-do-not-turn",
            set(LiveScreen { correction: Some(correction(-6.0, None)), ..live(4.0, 0) }),
        ),
        sample("reading-late", read(reading(3.9))),
        sample("reading-on-target", read(reading(10.2))),
        sample("reading-settling", read(ReadingScreen { settled: false, ..reading(8.7) })),
        sample(
            "reading-wrong-side",
            read(ReadingScreen {
                first_cause: Some(cause(
                    CauseId::SetAfterTdc,
                    0.93,
                    Because::MirrorOfTarget { target: 10.0 },
                )),
                ..reading(-9.9)
            }),
        ),
    ];
    all.extend(references());
    all.extend(crankings());
    all.extend(no_readings());
    all
}

fn references() -> [Sample; 2] {
    let change = ReferenceChange {
        step: StepId::Reference,
        value: shown(12.5, 15.0, 1.0, ValueKind::Settled),
        target: 15.0,
        tolerance: 1.0,
        error_before: -2.5,
        error: Some(-2.5),
        add_btdc: 2.5,
        sign_wrong: false,
    };
    let doubled = ReferenceChange {
        value: shown(10.0, 15.0, 1.0, ValueKind::Settled),
        error: Some(-5.0),
        add_btdc: -2.5,
        sign_wrong: true,
        ..change
    };
    let view = |change, third, fourth| {
        let keys = [KeyLabel::Back, KeyLabel::Menu, third, fourth];
        within(StepId::Reference, 9, Screen::Reference(change), keys)
    };
    [
        sample("reference-add", view(change, KeyLabel::Skip, KeyLabel::Done)),
        sample("reference-sign-wrong", view(doubled, KeyLabel::None, KeyLabel::Again)),
    ]
}

fn crankings() -> [Sample; 3] {
    let value =
        |advance| Value::Shown { advance, doubt: 3.4, age_ms: 300, kind: ValueKind::Cranking, verdict: None };
    let near = Cranking { value: value(8.1), target: 10.0, error: Some(-1.9), far_off: false };
    let far = Cranking { value: value(-50.3), target: 10.0, error: Some(-60.3), far_off: true };
    let view = |cranking| {
        let keys = [KeyLabel::Back, KeyLabel::Again, KeyLabel::Causes, KeyLabel::None];
        with(within(StepId::Read, 4, Screen::Cranking(cranking), keys), |view| {
            view.bar.step = None;
            view.bar.rpm = Some(184.0);
            view.bar.supply_v = Some(10.4);
            view.bar.supply_low = true;
        })
    };
    let kind = ValueKind::Held;
    let held = Value::Shown { advance: -50.3, doubt: 3.4, age_ms: 9999, kind, verdict: None };
    let stands = with(view(Cranking { value: held, ..far }), |view| {
        view.bar.rpm = Some(0.0);
        view.bar.supply_v = Some(12.1);
        view.bar.supply_low = false;
        view.bar.quality = Quality::Silent;
    });
    [
        sample("cranking-near", view(near)),
        sample("cranking-far-off", view(far)),
        sample("cranking-held", stands),
    ]
}

fn no_readings() -> [Sample; 4] {
    let view = |value| within(StepId::Read, 11, Screen::NoReading { value }, READING_KEYS);
    let rate = Value::Withheld {
        why: [Some(Withheld::SparkRate), None, None, None],
        sparks_per_turn: Some(3.0),
        wheel_found: None,
    };
    let wheel = Value::Withheld {
        why: [Some(Withheld::PatternMismatch), None, None, None],
        sparks_per_turn: None,
        wheel_found: Some((60, 2)),
    };
    [
        sample("no-reading-crank", with(view(withheld(Withheld::NoCrank)), |view| view.bar.rpm = None)),
        sample("no-reading-rate", view(rate)),
        sample("no-reading-wheel", view(wheel)),
        sample("no-reading-gathering", view(Value::Gathering { sparks: 5, needed: 12 })),
    ]
}
