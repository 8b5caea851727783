//! What the hands do at a running engine: prove base mode, blip and sweep the throttle, turn the distributor.

use super::{Bench, Hands, Slip};
use keyway_core::sounder::{Heard, tone};
use keyway_core::view::{KeyLabel, Mark, Screen, StepId, View};

impl Hands {
    pub(super) fn do_proof(&mut self, bench: &mut Bench, view: &View, step: Option<StepId>) {
        if Self::press(bench, KeyLabel::Next) {
            return;
        }
        if view.keys.contains(&KeyLabel::Done) {
            match step {
                Some(StepId::BaseLink) => {
                    if !self.slips(Slip::LinkForgotten) {
                        bench.engine.controls_mut().base_mode = true;
                    }
                }
                _ => bench.engine.controls_mut().hold_fixed = !self.slips(Slip::NotHeld),
            }
            bench.pass(1.0);
            Self::press(bench, KeyLabel::Done);
            return;
        }
        if step == Some(StepId::BaseLink) {
            return;
        }
        let reach = match view.screen {
            Screen::BaseProof(proof) | Screen::ControlProof(proof) => proof.blip.1,
            Screen::ClampProof(proof) if proof.change.is_some() => proof.blip.1,
            _ => return,
        };
        if self.blip.is_some_and(|since| bench.time() - since < 12.0) || !view.bar.in_idle_band {
            return;
        }
        if step == Some(StepId::BaseBlip) && self.slips(Slip::LinkLostBeforeBlip) {
            bench.engine.controls_mut().base_mode = false;
        }
        if let Screen::ControlProof(proof) = view.screen
            && proof.step_mark == Mark::Open
        {
            return;
        }
        bench.pass(0.5 + self.patience);
        self.blip = Some(bench.time());
        bench.engine.controls_mut().throttle = self.open;
        let mut reached = false;
        for _ in 0..40 {
            bench.pass(0.05);
            reached = bench.view().bar.rpm.is_some_and(|rpm| rpm > reach + 80.0);
            if reached {
                break;
            }
        }
        bench.engine.controls_mut().throttle = 0.0;
        if !reached {
            self.open = (self.open + 0.06).min(0.4);
        }
    }

    pub(super) fn do_run(&mut self, bench: &mut Bench, view: &View) {
        if let Screen::Sweep(sweep) = view.screen {
            self.delay = sweep.delay_us.map(|(delay, _)| delay);
        }
        if Self::press(bench, KeyLabel::Next) {
            return;
        }
        let reach = match view.screen {
            Screen::Sweep(sweep) => sweep.reach,
            Screen::Curve(curve) => curve.reach,
            _ => return,
        };
        if self.blip.is_some_and(|since| bench.time() - since < 30.0) {
            return;
        }
        self.blip = Some(bench.time());
        let mut open = 0.0;
        for _ in 0..600 {
            bench.pass(0.05);
            open += 0.0006;
            bench.engine.controls_mut().throttle = open;
            if bench.view().bar.rpm.is_some_and(|rpm| rpm > reach + 100.0) {
                break;
            }
        }
        while open > 0.0 {
            open = (open - 0.0008).max(0.0);
            bench.engine.controls_mut().throttle = open;
            bench.pass(0.05);
        }
    }

    pub(super) fn do_set(&mut self, bench: &mut Bench, view: &View) {
        if !self.done {
            self.done = true;
            bench.engine.controls_mut().bolt_tight = false;
            self.wrong_way = self.slips(Slip::WrongWay);
            if self.slips(Slip::LinkLostWhileSetting) {
                bench.engine.controls_mut().base_mode = false;
            }
            bench.pass(1.0);
            if self.slips(Slip::BlipWithBoltLoose) {
                bench.engine.controls_mut().throttle = 0.12;
                bench.pass(1.5);
                return;
            }
            if self.slips(Slip::Stall) {
                bench.engine.controls_mut().ignition = false;
                bench.pass(3.0);
                return;
            }
        }
        if Self::press(bench, KeyLabel::Next) {
            return;
        }
        // The ear: steady is on target. The eye: which way, and how far.
        if bench.tone() == tone(Heard::OnTarget) && view.inverted {
            let Screen::Live(live) = view.screen else { return };
            if live.error.is_none_or(|error| error.abs() < 0.5 * live.tolerance) {
                return;
            }
        }
        let Screen::Live(live) = view.screen else { return };
        let (Some(correction), Some(error)) = (live.correction, live.error) else { return };
        let Some(mut turn) = correction.turn else { return };
        if self.wrong_way {
            turn = turn.opposite();
        }
        let slice = if error.abs() > 3.0 { 0.125 } else { 0.03 };
        let advances = turn == self.rotor.opposite();
        bench.engine.controls_mut().housing_deg += if advances { slice } else { -slice };
    }
}
