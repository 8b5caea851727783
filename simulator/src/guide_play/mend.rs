//! What the hands do when the guide has stopped: just what it says.

use super::{Bench, Hands};
use crate::engine::controls::Lead;
use keyway_core::judge::CauseId;
use keyway_core::view::{Halt, KeyLabel, MenuItem, StepId};

/// Whether it is a mistake of the engine's that the guide stops for, not one of the hands that work on it.
pub(super) fn is_of_the_engine(halt: Halt) -> bool {
    matches!(
        halt,
        Halt::DeadCylinder { .. }
            | Halt::SupplyLow { .. }
            | Halt::NoBaseStep { .. }
            | Halt::RisesWithSpeed { .. }
            | Halt::MechanismOut
            | Halt::OtherCause(_)
    )
}

impl Hands {
    pub(super) fn stop(&mut self, bench: &mut Bench) {
        bench.engine.controls_mut().ignition = false;
        bench.pass(4.0);
    }

    /// The housing sets nothing: back on its mark, clamped, and out of the job.
    fn give_up_setting(&mut self, bench: &mut Bench) {
        let controls = bench.engine.controls_mut();
        (controls.housing_deg, controls.bolt_tight) = (0.0, true);
        Self::press(bench, KeyLabel::Menu);
        Self::choose(bench, MenuItem::LeaveJob);
    }

    pub(super) fn put_right(&mut self, bench: &mut Bench, halt: Halt) {
        self.done = false;
        self.blip = None;
        match halt {
            Halt::NoBaseStep { .. } => {
                bench.engine.controls_mut().base_mode = true;
                Self::press(bench, KeyLabel::Again);
            }
            Halt::RisesWithSpeed { .. } => {
                let controls = bench.engine.controls_mut();
                (controls.base_mode, controls.hold_fixed) = (true, true);
                controls.clamp_reversed = false;
                bench.pass(1.0);
                Self::press(bench, KeyLabel::Again);
            }
            Halt::OtherWay { .. } => {
                let mine = core::mem::take(&mut self.wrong_way);
                self.done = true;
                Self::press(bench, if mine { KeyLabel::No } else { KeyLabel::Yes });
                // A hand that was asked something waits and looks.
                bench.pass(2.5);
            }
            Halt::SpeedWithBoltLoose => {
                self.done = true;
                bench.engine.controls_mut().throttle = 0.0;
                bench.pass(2.0);
            }
            Halt::EngineStopped => {
                self.done = true;
                self.start(bench);
            }
            Halt::NotTakenBack { .. } | Halt::LinkStillOut => {
                bench.engine.controls_mut().base_mode = false;
                bench.engine.controls_mut().hold_fixed = false;
                bench.pass(1.0);
                let _ = Self::press(bench, KeyLabel::Again) || Self::press(bench, KeyLabel::Done);
            }
            Halt::BoltStillLoose => {
                bench.engine.controls_mut().bolt_tight = true;
                Self::press(bench, KeyLabel::Done);
            }
            Halt::OtherCause(cause) => {
                if cause == CauseId::ClampOnOtherLead || cause == CauseId::ClampOnCoilLead {
                    bench.engine.controls_mut().lead = Lead::Cylinder(1);
                } else if cause == CauseId::MechanismAdvancing {
                    bench.engine.controls_mut().hose_on = false;
                } else if cause == CauseId::DwellStartSeen {
                    bench.engine.controls_mut().clamp_reversed = false;
                }
                bench.pass(1.0);
                Self::press(bench, KeyLabel::Again);
            }
            Halt::SignWrong => {
                // The old value back, then by as much the other way: the screen says how much.
                let wrong = core::mem::take(&mut self.wrong_reference);
                bench.engine.enter(-f64::from(wrong), 0.0);
                Self::press(bench, KeyLabel::Again);
            }
            Halt::DeadCylinder { cylinders } => {
                self.stop(bench);
                for cylinder in cylinders.into_iter().filter(|cylinder| *cylinder > 0) {
                    bench.engine.feed(cylinder, 1.0);
                }
                self.start(bench);
            }
            Halt::SupplyLow { .. } => {
                bench.engine.controls_mut().accessory_load = 0.0;
                bench.pass(3.0);
            }
            Halt::MechanismOut => {
                let controls = bench.engine.controls_mut();
                (controls.hose_on, controls.clamp_reversed) = (false, false);
                Self::press(bench, KeyLabel::Again);
            }
            Halt::NothingMoves => self.give_up_setting(bench),
            Halt::NoAdvanceAbove if self.steps.last() == Some(&StepId::CurveOn) => {
                bench.engine.controls_mut().hose_on = true;
                Self::press(bench, KeyLabel::Again);
            }
            Halt::FallsWithSpeed { .. } | Halt::NoAdvanceAbove => {
                Self::press(bench, KeyLabel::Next);
            }
            _ => {
                let _ = Self::press(bench, KeyLabel::Again) || Self::press(bench, KeyLabel::Done);
            }
        }
    }
}
