//! What to do about each cause, in one or two plain sentences.

use super::result::{CauseId, Remedy};
use core::fmt;

impl fmt::Display for Remedy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self.0 {
            CauseId::Healthy => "See that all is clamped down, read once more, and keep the record.",
            CauseId::OffTarget => "Correct it by as much, see that nothing moves it afterwards, read again.",
            CauseId::SetAfterTdc => {
                "Set it again by the scale on the other side of zero (in base mode, where there is one), clamp down, read again."
            }
            CauseId::SetOutOfBaseMode => {
                "Somebody set it while the computer was steering. Prove that it holds still, set it again, clamp down, read again."
            }
            CauseId::NotInBaseMode => {
                "Do not turn anything. Put the computer into base mode as the label says, or have it hold the fixed value; then read again."
            }
            CauseId::ClampOnOtherLead => {
                "Do not turn anything. Trace cylinder one's lead from its plug, move the clamp to it, read again."
            }
            CauseId::DriveToothOff => {
                "Engine off: find true zero on the compression stroke, lift the distributor and set it in so that the rotor points at cylinder one."
            }
            CauseId::FixedDelay => {
                "Find what delays the spark (module, filter, sensor setting), or enter the delay where the computer asks for it; then set at idle."
            }
            CauseId::MechanismAdvancing => {
                "Take the vacuum hose off, plug the engine's side, bring the idle below where the weights start, then read again."
            }
            CauseId::WornDrive => {
                "Engine off: feel for play in the rotor, the bushing and the drive. Repair it first: a setting will not hold."
            }
            CauseId::WeakSupply => "Mend the charging system first: at this voltage neither the idle nor the spark is what it will be.",
            CauseId::DeadCylinder => {
                "Stop the engine (raw fuel overheats the catalyst), check that cylinder's injector connector, lead and plug, then read again."
            }
            CauseId::ClampOnCoilLead => {
                "Move the clamp to cylinder one's plug lead, away from the coil's lead, then read again."
            }
            CauseId::DwellStartSeen => "Turn the clamp round so that its arrow points to the plug, then read again.",
        })
    }
}
