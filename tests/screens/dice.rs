//! No view stops the drawing or makes it leave the display, whatever numbers and ids are in it.

use embedded_graphics::geometry::Point;
use keyway::screens::{picture, samples};
use keyway_core::job::Rotation;
use keyway_core::judge::{CauseId, Verdict};
use keyway_core::panel::{draw, frame::Frame};
use keyway_core::view::{
    Correction, CorrectionLine, CurvePoint, GateId, GateLine, GateValue, Label, Quality, RecordResult,
    Screen, StepId, Unit, Value, ValueKind, View,
};
use proptest::prelude::*;

use crate::extremes::extremes;
use crate::widest::{MARKS, WITHHELD};

/// Numbers out of a seed, among them the ones that break things.
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        self.0 >> 33
    }

    fn pick<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.roll() as usize % of.len()]
    }

    fn byte(&mut self) -> u8 {
        self.roll() as u8
    }

    fn number(&mut self) -> f32 {
        const ODD: [f32; 14] = [
            0.0,
            -0.0,
            f32::NAN,
            f32::INFINITY,
            f32::NEG_INFINITY,
            f32::MAX,
            f32::MIN,
            f32::MIN_POSITIVE,
            180.0,
            -180.0,
            9999.95,
            0.05,
            -0.05,
            1e9,
        ];
        match self.roll() % 3 {
            0 => self.pick(&ODD),
            1 => (self.roll() % 40_000) as f32 / 100.0 - 200.0,
            _ => f32::from_bits(self.roll() as u32 ^ (self.roll() as u32) << 16),
        }
    }

    fn maybe(&mut self) -> Option<f32> {
        if self.roll().is_multiple_of(3) { None } else { Some(self.number()) }
    }

    fn label(&mut self) -> Label {
        const NAMES: [&str; 6] =
            ["", "Weir pump six", "ÄÖÜ ß µ ° 水門 🚰 \u{200d}", "\n\n\n", "        ", "."];
        let name = self.pick(&NAMES);
        if self.roll().is_multiple_of(4) { Label::new(&"W".repeat(40)) } else { Label::new(name) }
    }

    fn value(&mut self) -> Value {
        match self.roll() % 3 {
            0 => Value::Shown {
                advance: self.number(),
                doubt: self.number(),
                age_ms: self.roll() as u16,
                kind: self.pick(&[ValueKind::Live, ValueKind::Settled, ValueKind::Cranking]),
                verdict: self.pick(&[None, Some(Verdict::OnTarget), Some(Verdict::Late)]),
            },
            1 => Value::Gathering { sparks: self.roll() as u16, needed: self.roll() as u16 % 3 },
            _ => Value::Withheld {
                why: [None, Some(self.pick(&WITHHELD)), None, None],
                sparks_per_turn: self.maybe(),
                wheel_found: Some((self.byte(), self.byte())),
            },
        }
    }

    fn correction(&mut self) -> Option<Correction> {
        Some(Correction {
            crank_deg: self.number(),
            housing_deg: self.number(),
            rim_mm: self.maybe(),
            turn: self.pick(&[None, Some(Rotation::Clockwise), Some(Rotation::Counterclockwise)]),
        })
    }

    fn points(&mut self) -> [Option<CurvePoint>; 12] {
        std::array::from_fn(|_| {
            (self.roll().is_multiple_of(2)).then(|| CurvePoint { rpm: self.number(), advance: self.number() })
        })
    }

    fn pair(&mut self) -> Option<(f32, f32)> {
        Some((self.number(), self.number()))
    }

    fn result(&mut self) -> Option<RecordResult> {
        Some(RecordResult { advance: self.number(), doubt: self.number(), rpm: self.number() })
    }

    /// A view of the kind given, with every number in it thrown anew.
    fn shake(&mut self, mut view: View) -> View {
        view.bar.rpm = self.maybe();
        view.bar.supply_v = self.maybe();
        view.bar.quality =
            self.pick(&[Quality::Silent, Quality::NoSync, Quality::Doubtful, Quality::Fair, Quality::Good]);
        if let Some(step) = &mut view.bar.step {
            step.number = self.byte();
            step.of = self.byte();
            step.id = self.pick(StepId::ALL);
        }
        view.inverted = self.roll().is_multiple_of(2);
        view.blink = self.roll().is_multiple_of(2);
        match &mut view.screen {
            Screen::Menu(menu) => (menu.engine, menu.selected) = (self.label(), self.byte()),
            Screen::Engines(list) => {
                list.engines = std::array::from_fn(|_| Some(self.label()));
                (list.selected, list.number, list.of) = (self.byte(), self.byte(), self.byte());
            }
            Screen::Field(field) => {
                (field.number, field.low, field.high) = (self.number(), self.number(), self.number());
                (field.digit, field.decimals, field.letter) = (self.number(), self.byte(), self.byte());
                field.text = self.label();
                field.place = (self.byte(), self.byte());
            }
            Screen::Caution { number, of, held_percent, .. } => {
                (*number, *of, *held_percent) = (self.byte(), self.byte(), self.byte());
            }
            Screen::Steps(steps) => {
                steps.value = Some(self.value());
                steps.gates = std::array::from_fn(|_| {
                    let (measured, low, high) = (self.maybe(), self.number(), self.number());
                    let unit = self.pick(&[Unit::Count, Unit::Advance, Unit::Volt, Unit::Rpm]);
                    let value = Some(GateValue { measured, low, high, unit });
                    Some(GateLine { gate: self.pick(GateId::ALL), mark: self.pick(&MARKS), value })
                });
            }
            Screen::BaseProof(proof) | Screen::ControlProof(proof) => {
                (proof.before, proof.now, proof.seen_step) = (self.maybe(), self.value(), self.maybe());
                (proof.expected_step, proof.slope) = (self.number(), self.pair());
                proof.blip = (self.maybe(), self.number());
            }
            Screen::Reading(reading) => {
                (reading.value, reading.error) = (self.value(), self.maybe());
                (reading.target, reading.tolerance) = (self.number(), self.number());
            }
            Screen::Live(live) => {
                (live.value, live.error, live.target) = (self.value(), self.maybe(), self.number());
                (live.tolerance, live.hold_percent) = (self.number(), self.byte());
                live.correction = self.correction();
            }
            Screen::ClampProof(proof) => {
                (proof.before, proof.now, proof.change) = (self.maybe(), self.value(), self.maybe());
                (proof.allowed, proof.slope) = (self.number(), self.pair());
            }
            Screen::Reference(change) => {
                (change.value, change.target, change.tolerance) =
                    (self.value(), self.number(), self.number());
                (change.error, change.add_btdc) = (self.maybe(), self.number());
            }
            Screen::Sweep(sweep) => {
                (sweep.points, sweep.rpm, sweep.reach) = (self.points(), self.maybe(), self.number());
                sweep.delay_us = self.pair();
            }
            Screen::Curve(curve) => {
                (curve.hose_off, curve.hose_on) = (self.points(), self.points());
                (curve.rpm, curve.advance, curve.reach) = (self.maybe(), self.maybe(), self.number());
            }
            Screen::Causes(causes) => {
                for cause in causes.causes.iter_mut().flatten() {
                    cause.probability = self.number();
                    cause.id = self.pick(&CauseId::ALL);
                }
                causes.selected = self.byte();
            }
            Screen::OtherChecks(others) => others.selected = self.byte(),
            Screen::Cranking(cranking) => {
                (cranking.value, cranking.target) = (self.value(), self.number());
            }
            Screen::TrueZero(zero) => {
                (zero.entry, zero.digit, zero.first) = (self.number(), self.number(), self.maybe());
                zero.mark_btdc = self.pair();
            }
            Screen::Teach(teach) => {
                (teach.entered, teach.found) = (self.number(), self.pair());
                (teach.turns, teach.value) = ((self.byte().into(), self.byte().into()), self.value());
            }
            Screen::Corrections(list) => {
                list.lines = [
                    Some(CorrectionLine::Zero { mark_btdc: self.number(), doubt: self.number(), idle: true }),
                    Some(CorrectionLine::Wheel {
                        entered: self.number(),
                        found: self.number(),
                        doubt: self.number(),
                    }),
                    Some(CorrectionLine::Rotor(Rotation::Clockwise)),
                ];
                list.selected = self.byte();
            }
            Screen::Records(list) => {
                for line in list.lines.iter_mut().flatten() {
                    (line.number, line.engine, line.after) = (self.roll() as u32, self.label(), self.maybe());
                }
                (list.selected, list.number, list.of) = (self.byte(), self.byte().into(), self.byte().into());
            }
            Screen::Record(record) => {
                (record.number, record.engine) = (self.roll() as u32, self.label());
                (record.before, record.after) = (self.result(), self.result());
                (record.target, record.as_code) = (self.number(), self.roll().is_multiple_of(2));
                record.marks = [self.byte(), self.byte(), self.byte()];
            }
            Screen::Settings(settings) => {
                for line in &mut settings.lines {
                    (line.value, line.most) = (self.byte(), self.byte());
                }
                settings.selected = self.byte();
            }
            Screen::SelfTest(test) => {
                test.angle_error = self.maybe();
                test.calibrated = Some((self.roll() as u16, self.byte(), self.byte()));
            }
            Screen::NoReading { value } => *value = self.value(),
            Screen::NextCheck { .. } => {}
        }
        view
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, ..ProptestConfig::default() })]

    #[test]
    fn no_view_stops_the_drawing_and_the_frame_shows_what_the_desktop_shows(seed in any::<u64>()) {
        let mut dice = Dice(seed);
        let all = samples();
        let sample = &all[dice.roll() as usize % all.len()];
        let view = dice.shake(sample.view);
        let mut frame = Frame::new();
        let Ok(()) = draw(&view, &mut frame);
        let desktop = picture(&view);
        for _ in 0..200 {
            let (x, y) = ((dice.roll() % 400) as i32, (dice.roll() % 240) as i32);
            prop_assert_eq!(frame.pixel(x as u32, y as u32), Some(desktop.get_pixel(Point::new(x, y))));
        }
    }
}

#[test]
fn the_widest_views_can_be_shaken_too() {
    let mut dice = Dice(11);
    for (_, view) in extremes() {
        let mut frame = Frame::new();
        let Ok(()) = draw(&dice.shake(view), &mut frame);
    }
}
