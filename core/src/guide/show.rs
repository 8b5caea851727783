//! What the guide shows: its part of the view.

use super::corrected::first_edge;
use super::facts::drawn;
use super::measure::{measure, reach};
use super::side::TEACH_TURNS;
use super::state::{IdleLook, State};
use super::work::HOLD_MS;
use super::{Guide, Now, Side, plan};
use crate::judge::Move;
use crate::units::wrap_degrees;
use crate::view::*;

impl Guide {
    /// The step and its place.
    pub fn place(&self) -> StepPlace {
        let id = self.state.step();
        let number = self.plan.iter().position(|step| *step == id).map_or(0, |place| place + 1) as u8;
        StepPlace { id, number, of: self.plan.len() as u8 }
    }

    /// What fills the middle.
    pub fn screen(&self, now: &Now) -> Screen {
        if let Some(caution) = self.caution(now)
            && (self.side == Side::None || matches!(self.side, Side::Zero(_)))
        {
            return self.caution_screen(caution, now);
        }
        match &self.side {
            Side::None => self.step_screen(now),
            Side::Causes { selected } => {
                Screen::Causes(Causes { causes: now.sensed.known.causes, selected: *selected })
            }
            Side::NextCheck => Screen::NextCheck {
                check: self.check(now),
                bolt_loose: self.facts.bolt == super::Bolt::Loose,
            },
            Side::Others { selected, seen } => {
                let mut checks = [(OtherCheck::PlugSeat, Mark::Open); 5];
                for ((place, check), seen) in checks.iter_mut().zip(OtherCheck::ALL).zip(seen) {
                    *place = (*check, if *seen { Mark::Told } else { Mark::Open });
                }
                Screen::OtherChecks(OtherChecks { checks, selected: *selected })
            }
            Side::NoStart => self.cranking_screen(now),
            Side::Corrections { selected } => self.corrections_screen(*selected, now),
            Side::Teach => Screen::Teach(Teach {
                entered: first_edge(now),
                found: self.taught(now).map(|found| {
                    let edge = first_edge(now) + found.degrees;
                    (crate::corrections::within_turn(edge), found.doubt)
                }),
                turns: (now.sensed.known.sparks.min(TEACH_TURNS), TEACH_TURNS),
                value: now.sensed.known.value(),
            }),
            Side::Zero(zero) => Screen::TrueZero(TrueZero {
                stage: zero.stage,
                entry: zero.entry,
                digit: zero.digit,
                first: zero.first,
                second: zero.second,
                mark_btdc: zero.mark().map(|mark| (mark.degrees, mark.doubt)),
            }),
        }
    }

    fn caution_screen(&self, id: CautionId, now: &Now) -> Screen {
        let own = plan::cautions(self.state.step());
        let number = own.iter().position(|one| *one == id).map_or(1, |place| place + 1) as u8;
        let held =
            self.held.map_or(0, |since| now.sensed.ms.wrapping_sub(since).min(HOLD_MS) * 100 / HOLD_MS);
        Screen::Caution { id, number, of: own.len().max(1) as u8, held_percent: held as u8 }
    }

    fn step_screen(&self, now: &Now) -> Screen {
        let known = &now.sensed.known;
        match &self.state {
            State::Lines(StepId::Start) if known.cranking => self.cranking_screen(now),
            State::Lines(step) => {
                self.lines_screen(plan::gates(*step, self.control).iter().copied(), *step, now)
            }
            State::Link { seen, .. } => self.proof_screen(StepId::BaseLink, *seen, now),
            State::Read { step, judged } => Screen::Reading(self.reading_screen(*step, *judged, now)),
            State::Blip(blip) => match blip.step {
                StepId::ClampBlip | StepId::BlipFine if blip.idle != IdleLook::None => {
                    let change = match blip.idle {
                        IdleLook::Seen(by) => Some(by),
                        IdleLook::None | IdleLook::Waiting => None,
                    };
                    Screen::ClampProof(ClampProof {
                        step: blip.step,
                        before: self.facts.set.map(|set| set.advance + self.facts.bolt_moves),
                        now: self.live_value(now),
                        change,
                        allowed: self.clamp_allowed(now),
                        clamp_mark: self.facts.gate(GateId::ClampHeld),
                        slope: self.facts.slope.filter(|_| blip.answered),
                        blip: (Some(blip.peak).filter(|peak| *peak > 0.0), reach(now, blip.step)),
                        base_mark: self.facts.gate(GateId::NoRise),
                    })
                }
                StepId::ControlBlip => {
                    let Screen::BaseProof(proof) = self.proof_screen(blip.step, None, now) else {
                        return Screen::NoReading { value: known.value() };
                    };
                    Screen::ControlProof(proof)
                }
                _ => self.proof_screen(blip.step, None, now),
            },
            State::Set(set) => self.set_screen(set, now),
            State::Reference { before, sign_wrong, .. } => Screen::Reference(ReferenceChange {
                step: StepId::Reference,
                value: known.value(),
                target: now.job.target_degrees(),
                tolerance: now.job.spec().timing.tolerance,
                error_before: *before,
                error: known.error,
                add_btdc: -*before,
                sign_wrong: *sign_wrong,
            }),
            State::Run { step, bins, .. } => {
                let points = bins.points();
                match step {
                    StepId::Sweep => Screen::Sweep(Sweep {
                        points: drawn(&points),
                        rpm: now.sensed.rpm,
                        reach: reach(now, *step),
                        delay_us: known
                            .trend
                            .filter(|trend| trend.rpm_high - trend.rpm_low >= 1000.0)
                            .map(|trend| (trend.delay_us, 2.0 * trend.slope_uncertainty * 1000.0 / 6.0)),
                        line: known
                            .trend
                            .filter(|trend| trend.rpm_high - trend.rpm_low >= 1000.0)
                            .and_then(|trend| bins.line(trend.deg_per_1000rpm)),
                        enough: self.run_is_enough(now),
                    }),
                    _ => {
                        let off = if *step == StepId::CurveOff {
                            drawn(&points)
                        } else {
                            drawn(&self.facts.curve_off)
                        };
                        let on = if *step == StepId::CurveOn {
                            drawn(&points)
                        } else {
                            drawn(&self.facts.curve_on)
                        };
                        Screen::Curve(Curve {
                            step: *step,
                            hose_off: off,
                            hose_on: on,
                            rpm: now.sensed.rpm,
                            advance: now.sensed.live.map(|live| live.advance),
                            reach: reach(now, *step),
                            enough: self.run_is_enough(now),
                        })
                    }
                }
            }
            State::Finish(_) => {
                let undone = self.undone(now);
                let gates = undone.into_iter().flatten().chain([GateId::RecordStored]);
                self.lines_screen(gates, StepId::Finish, now)
            }
        }
    }

    fn reading_screen(&self, step: StepId, settled: bool, now: &Now) -> ReadingScreen {
        let known = &now.sensed.known;
        let mut screen = ReadingScreen {
            step,
            value: known.value(),
            target: now.job.target_degrees(),
            error: known.error,
            tolerance: now.job.spec().timing.tolerance,
            scatter: known.scatter,
            base_mark: self.base_mark(),
            zero_mark: self.facts.gate(GateId::ZeroKnown),
            first_cause: known.causes.first().copied().flatten(),
            settled,
            correction: self.correction(known.movement, now),
        };
        // With the computer in charge the label's value is not what is due, and nothing is to be turned.
        if matches!(step, StepId::Steered | StepId::Restart) {
            let after = self.facts.after.map_or(screen.target, |after| after.advance);
            let due = after + now.job.spec().timing.harness_offset;
            screen.target = due;
            screen.tolerance = super::work::OFFSET_WITHIN;
            screen.error =
                known.advance.filter(|_| step == StepId::Restart).map(|advance| wrap_degrees(advance - due));
            (screen.first_cause, screen.correction) = (None, None);
            if let Value::Shown { verdict, .. } = &mut screen.value {
                *verdict = None;
            }
        }
        screen
    }

    fn lines_screen(&self, gates: impl Iterator<Item = GateId>, step: StepId, now: &Now) -> Screen {
        let mut lines = [None; 7];
        for (place, gate) in lines.iter_mut().zip(gates) {
            let measured = measure(gate, now, &self.clock, &self.facts).and_then(|measured| measured.value);
            // What is to be entered stays in sight while it is.
            let delay = self.facts.delay_us.filter(|_| gate == GateId::DelayEntered).map(|(delay, _)| delay);
            let value = measured.or(delay.map(|delay| GateValue {
                measured: Some(delay),
                low: f32::NEG_INFINITY,
                high: f32::INFINITY,
                unit: Unit::Microsecond,
            }));
            *place = Some(GateLine { gate, mark: self.facts.gate(gate), value });
        }
        let runs = matches!(step, StepId::ClampDown | StepId::ClampFine | StepId::LinkBack | StepId::HosesOn);
        let value = match step {
            StepId::Start => self.held_value(now),
            _ => runs.then(|| self.live_value(now)),
        };
        Screen::Steps(Steps { step, gates: lines, value })
    }

    fn proof_screen(&self, step: StepId, seen: Option<f32>, now: &Now) -> Screen {
        let offset = now.job.spec().timing.harness_offset;
        let (before, expected, step_gate, slope_gate) = match step {
            StepId::ControlBlip => (self.facts.after, offset, GateId::OffsetBack, GateId::RisesAgain),
            StepId::HoldFixed | StepId::BlipFine => (None, 0.0, GateId::FixedHeld, GateId::NoRise),
            _ => (self.facts.steered, -offset, GateId::BaseStep, GateId::NoRise),
        };
        let before = before.map(|taken| taken.advance);
        let known = &now.sensed.known;
        let seen = seen.or(match (before, known.advance) {
            (Some(before), Some(now))
                if step == StepId::ControlBlip
                    || step == StepId::BaseBlip && self.facts.gate(step_gate) != Mark::Open =>
            {
                Some(wrap_degrees(now - before))
            }
            _ => None,
        });
        let (answered, peak) = match &self.state {
            State::Blip(blip) => (blip.answered, Some(blip.peak).filter(|peak| *peak > 0.0)),
            _ => (false, None),
        };
        Screen::BaseProof(BaseProof {
            step,
            before,
            now: if self.looked() { self.live_value(now) } else { known.value() },
            expected_step: expected,
            seen_step: seen,
            step_mark: self.facts.gate(step_gate),
            slope: self.facts.slope.filter(|_| answered),
            blip: (peak, reach(now, step)),
            slope_mark: self.facts.gate(slope_gate),
        })
    }

    fn correction(&self, movement: Option<Move>, now: &Now) -> Option<Correction> {
        let movement = movement?;
        let turnable = now.job.distributor_times_spark() && self.halt.is_none();
        Some(Correction {
            crank_deg: movement.crank_deg,
            housing_deg: movement.housing_deg,
            rim_mm: movement.rim_mm,
            turn: movement.turn.filter(|_| turnable),
        })
    }

    /// How base mode is known: by the blip, or else by the step.
    fn base_mark(&self) -> Mark {
        match self.facts.gate(GateId::NoRise) {
            Mark::Open => self.facts.gate(GateId::BaseStep),
            known => known,
        }
    }
}
