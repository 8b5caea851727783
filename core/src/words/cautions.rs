//! The cautions, each at most 184 letters. All are common practice; the vehicle's own instructions go before them.

use crate::view::CautionId;

/// At most 184 letters.
pub const fn caution(caution: CautionId) -> &'static str {
    match caution {
        CautionId::LabelFirst => {
            "The vehicle's label and workshop manual, local rules and a licensed technician's judgement go before this tool. Where they differ from it, follow them."
        }
        CautionId::KeyOut => "Stop the engine and take the key out before you reach in, every time.",
        CautionId::FanStarts => {
            "Electric fans start by themselves, with the engine off and the key out. Keep hands and leads out of them."
        }
        CautionId::FanPlane => "Never stand in line with the fan: a blade that comes off flies in its plane.",
        CautionId::HoldHousing => {
            "Turn the distributor by its housing. Never touch cap or leads while the engine runs: the spark bites through worn leads."
        }
        CautionId::Implants => {
            "A running ignition can upset pacemakers and other implants. Whoever wears one stays away from it."
        }
        CautionId::LooseThings => "Take off rings, watch and chain; tie back hair; button sleeves.",
        CautionId::EyesEars => {
            "Wear eye and ear protection. On target the screen turns dark for those who hear nothing."
        }
        CautionId::HotParts => "Exhaust, radiator and engine stay hot long after it stands.",
        CautionId::Exhaust => {
            "Exhaust gas kills without a smell. Lead it out through a hose: open doors are not enough."
        }
        CautionId::FuelSmell => {
            "If you smell fuel, stop: key off, no switch touched, air the place, find the leak first."
        }
        CautionId::RadiatorCap => "The radiator cap stays on.",
        CautionId::SupplyClips => {
            "Supply clips: red first, black to bare metal away from the battery. Off in reverse: black first, red last."
        }
        CautionId::Blip => {
            "A blip is 2 seconds at most, at the throttle, never in gear, arm out of the fan's plane."
        }
        CautionId::NoBlipLoose => {
            "Never raise the speed while the clamp bolt is loose: the distributor can turn by itself."
        }
        CautionId::DeadCylinder => {
            "A cylinder does no work: stop the engine, unburnt fuel makes the catalyst glow. Never pull a lead on a running engine."
        }
        CautionId::PistonStop => {
            "Piston stop: engine cold, battery off, all plugs out. Turn by hand bar only, gently. Never with the starter."
        }
        CautionId::StopValve => {
            "Check that no valve can meet the stop: turn slowly and give way at the first resistance."
        }
        CautionId::OwnSensor => {
            "On the engine's own sensor use the high-impedance input and no ground clip, or the engine may lose its signal."
        }
        CautionId::MoreThanFour => {
            "More than 4° on top of the label: listen for knock under load; mind fuel grade and emissions rules."
        }
    }
}
