//! True zero with four keys, and the reference angle of a computer: what hands key in.

use super::{Bench, Hands, Slip};
use keyway_core::view::{KeyLabel, Screen, TrueZero, ZeroStage};

impl Hands {
    pub(super) fn do_zero(&mut self, bench: &mut Bench, zero: &TrueZero) {
        let stops = self.stops.unwrap_or([0.0; 2]);
        match zero.stage {
            ZeroStage::Prepare => Self::press(bench, KeyLabel::Next),
            ZeroStage::First => Self::key_in(bench, stops[0]),
            ZeroStage::Second => Self::key_in(bench, stops[1]),
            ZeroStage::Result => Self::press(bench, KeyLabel::Enter),
            ZeroStage::StopOut => Self::press(bench, KeyLabel::Done),
        };
    }

    /// Keys a reading in: its side, then its digits from the smallest, since a full digit carries upwards.
    fn key_in(bench: &mut Bench, reading: f32) -> bool {
        let shown = |bench: &Bench| match bench.view().screen {
            Screen::TrueZero(zero) => (zero.entry, zero.digit),
            _ => (reading, 0.0),
        };
        let choose = |bench: &mut Bench, digit: f32| {
            for _ in 0..4 {
                if (shown(bench).1 - digit).abs() < 1e-3 {
                    return;
                }
                Self::press(bench, KeyLabel::Digit);
            }
        };
        if (shown(bench).0 < 0.0) != (reading < 0.0) {
            choose(bench, 0.0);
            Self::press(bench, KeyLabel::More);
        }
        let tenths = |degrees: f32| (degrees.abs() * 10.0).round() as u32;
        for (digit, size) in [(0.1, 1), (1.0, 10), (10.0, 100)] {
            choose(bench, digit);
            let turns = if size == 100 { 18 } else { 10 };
            let digit_of = |degrees: f32| tenths(degrees) / size % turns;
            for _ in 0..turns {
                if digit_of(shown(bench).0) == digit_of(reading) {
                    break;
                }
                Self::press(bench, KeyLabel::More);
            }
        }
        Self::press(bench, KeyLabel::Enter)
    }

    /// What the screen says to add is added to the reference angle, if nothing slips.
    pub(super) fn change_reference(&mut self, bench: &mut Bench, add: f32) {
        if self.slips(Slip::ReferenceForgotten) {
            return;
        }
        let wrong = self.slips(Slip::ReferenceWrongSign);
        let entered = if wrong { -add } else { add };
        self.wrong_reference = if wrong { entered } else { 0.0 };
        bench.engine.enter(f64::from(entered), 0.0);
    }
}
