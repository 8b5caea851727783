//! Drawing only what differs from what is on the display already.
//!
//! *Drawn view*: a view with its numbers as the screens write them, tenths of a degree for instance, and
//! without what no screen shows, such as a value's age. Two views that are drawn alike are equal then, so
//! that an idling engine costs the display next to nothing. [`super::draw`] draws the drawn view too: a
//! painter's picture is always the one that a whole drawing gives.

use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::pixelcolor::BinaryColor;

use super::canvas::Canvas;
use super::geom::nearest;
use crate::judge::Because;
use crate::view::{Correction, Screen, Value, View};

/// Remembers what is on the display.
#[derive(Debug, Clone, Default)]
pub struct Painter {
    shown: Option<View>,
}

impl Painter {
    /// Nothing drawn yet.
    pub const fn new() -> Self {
        Self { shown: None }
    }

    /// Draws what differs from the view before, on the target that holds its picture; gives whether
    /// anything did.
    ///
    /// # Errors
    /// The target's own, from the first drawing that fails; the next call draws the whole.
    pub fn draw<D>(&mut self, view: &View, target: &mut D) -> Result<bool, D::Error>
    where
        D: DrawTarget<Color = BinaryColor>,
    {
        let now = drawn(view);
        let before = self.shown.take();
        if before == Some(now) {
            self.shown = before;
            return Ok(false);
        }
        let mut nobody = ();
        let mut canvas = Canvas::new(target, &mut nobody, view.inverted);
        match &before {
            Some(before) if before.inverted == now.inverted => canvas.changes(&now, before)?,
            _ => canvas.screen(&now)?,
        }
        self.shown = Some(now);
        Ok(true)
    }
}

/// To so many parts of one; what is not finite stays.
fn rounded(value: f32, parts: f32) -> f32 {
    let scaled = value * parts;
    if scaled.abs() < 1e6 { nearest(scaled) as f32 / parts } else { value }
}

fn tenths(value: &mut f32) {
    *value = rounded(*value, 10.0);
}

fn some_tenths(value: &mut Option<f32>) {
    value.iter_mut().for_each(tenths);
}

fn whole(value: &mut Option<f32>) {
    value.iter_mut().for_each(|value| *value = rounded(*value, 1.0));
}

/// A difference to tenths, unless that would take it over the limit that it is held against.
fn error(value: &mut Option<f32>, limit: f32) {
    for error in value.iter_mut() {
        let near = rounded(*error, 10.0);
        if (near.abs() <= limit) == (error.abs() <= limit) {
            *error = near;
        }
    }
}

fn value(value: &mut Value) {
    if let Value::Shown { advance, doubt, age_ms, .. } = value {
        tenths(advance);
        tenths(doubt);
        *age_ms = 0;
    }
}

fn correction(correction: &mut Option<Correction>) {
    for correction in correction.iter_mut() {
        tenths(&mut correction.crank_deg);
        tenths(&mut correction.housing_deg);
        some_tenths(&mut correction.rim_mm);
    }
}

/// A highest speed, never rounded up to one that was not reached.
fn reached((top, _): &mut (Option<f32>, f32)) {
    for top in top.iter_mut().filter(|top| (0.0..1e6).contains(*top)) {
        *top = *top as i32 as f32;
    }
}

/// A view as it is drawn.
pub(super) fn drawn(view: &View) -> View {
    let mut view = *view;
    whole(&mut view.bar.rpm);
    some_tenths(&mut view.bar.supply_v);
    view.bar.in_idle_band = false;
    match &mut view.screen {
        Screen::Live(live) => {
            value(&mut live.value);
            error(&mut live.error, live.tolerance);
            correction(&mut live.correction);
            live.rate = 0.0;
        }
        Screen::Reading(reading) => {
            value(&mut reading.value);
            error(&mut reading.error, reading.tolerance);
            correction(&mut reading.correction);
            reading.scatter = None;
            for cause in reading.first_cause.iter_mut() {
                (cause.probability, cause.because) = (0.0, Because::Within { error: 0.0 });
            }
        }
        Screen::Reference(change) => {
            value(&mut change.value);
            error(&mut change.error, change.tolerance);
        }
        Screen::BaseProof(proof) | Screen::ControlProof(proof) => {
            value(&mut proof.now);
            some_tenths(&mut proof.before);
            some_tenths(&mut proof.seen_step);
            reached(&mut proof.blip);
        }
        Screen::ClampProof(proof) => {
            value(&mut proof.now);
            some_tenths(&mut proof.before);
            some_tenths(&mut proof.change);
            reached(&mut proof.blip);
        }
        Screen::Cranking(cranking) => {
            value(&mut cranking.value);
            cranking.error = None;
        }
        Screen::Steps(steps) => steps.value.iter_mut().for_each(value),
        Screen::Teach(teach) => value(&mut teach.value),
        Screen::Sweep(sweep) => whole(&mut sweep.rpm),
        Screen::Curve(curve) => {
            whole(&mut curve.rpm);
            some_tenths(&mut curve.advance);
        }
        Screen::NoReading { value: shown } => value(shown),
        Screen::Menu(_)
        | Screen::Engines(_)
        | Screen::Field(_)
        | Screen::Caution { .. }
        | Screen::Causes(_)
        | Screen::NextCheck { .. }
        | Screen::OtherChecks(_)
        | Screen::TrueZero(_)
        | Screen::Corrections(_)
        | Screen::Records(_)
        | Screen::Record(_)
        | Screen::Settings(_)
        | Screen::SelfTest(_) => {}
    }
    view
}

#[cfg(test)]
mod tests {
    use super::super::frame::Frame;
    use super::*;
    use crate::view::{LiveScreen, StepId, ValueKind};

    fn live(advance: f32, age_ms: u16) -> View {
        let mut view = View::start();
        view.bar.rpm = Some(700.0 + advance);
        view.screen = Screen::Live(LiveScreen {
            step: StepId::Set,
            value: Value::Shown { advance, doubt: 0.21, age_ms, kind: ValueKind::Live, verdict: None },
            target: 10.0,
            bolt_moves: 0.0,
            tolerance: 1.0,
            error: Some(advance - 10.0),
            rate: advance,
            hold_percent: 0,
            correction: None,
            rotor_proven: None,
        });
        view
    }

    #[test]
    fn what_looks_the_same_is_not_drawn_again_and_what_does_not_is() {
        let (mut painter, mut frame) = (Painter::new(), Frame::new());
        assert_eq!(painter.draw(&live(7.01, 80), &mut frame), Ok(true));
        assert_eq!(painter.draw(&live(7.04, 130), &mut frame), Ok(false));
        assert_eq!(painter.draw(&live(7.06, 130), &mut frame), Ok(true));
    }

    #[test]
    fn the_picture_is_the_one_that_a_whole_drawing_gives() {
        let (mut painter, mut pieced) = (Painter::new(), Frame::new());
        let mut views = std::vec::Vec::new();
        for step in 0..60 {
            let mut view = live(8.0 + step as f32 * 0.07, step);
            view.inverted = (20..24).contains(&step);
            view.keys[3] =
                if step % 7 == 0 { crate::view::KeyLabel::Next } else { crate::view::KeyLabel::None };
            view.notice = (step % 11 == 3).then_some(crate::view::Notice::Stored);
            view.halt = (step % 13 == 5).then_some(crate::view::Halt::NothingMoves);
            view.alarm = (step % 17 == 9).then_some(crate::view::Alarm::SpeedWithBoltLoose);
            if step % 9 == 4 {
                view.screen = View::start().screen;
            }
            views.push(view);
        }
        for view in views {
            let mut whole = Frame::new();
            let Ok(_) = painter.draw(&view, &mut pieced);
            let Ok(()) = super::super::draw(&view, &mut whole);
            assert!(whole == pieced, "{view:?}");
        }
    }

    #[test]
    fn an_error_is_never_rounded_onto_the_target() {
        for (exact, shown) in [(1.04, 1.04), (1.06, 1.1), (0.96, 1.0), (-1.02, -1.02)] {
            let mut rounded = Some(exact);
            error(&mut rounded, 1.0);
            assert_eq!(rounded, Some(shown));
        }
    }
}
