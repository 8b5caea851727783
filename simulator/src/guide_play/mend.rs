//! What the hands do when the guide has stopped: just what it says.

use super::{Bench, Hands};
use crate::engine::controls::Lead;
use keyway_core::judge::CauseId;
use keyway_core::view::{Halt, KeyLabel};

impl Hands {
    pub(super) fn put_right(&mut self, bench: &mut Bench, halt: Halt) {
        self.done = false;
        self.blip = None;
        match halt {
            Halt::NoBaseStep { .. } => {
                bench.engine.controls_mut().base_mode = true;
                Self::press(bench, KeyLabel::Again);
            }
            Halt::RisesWithSpeed { .. } => {
                bench.engine.controls_mut().base_mode = true;
                bench.engine.controls_mut().hold_fixed = true;
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
                } else if cause == CauseId::DwellStartSeen {
                    bench.engine.controls_mut().clamp_reversed = false;
                }
                bench.pass(1.0);
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
