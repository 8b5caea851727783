//! The checks that tell causes apart, and the list of what else makes an engine run badly.

use crate::view::{CheckId, OtherCheck};

/// At most 34 letters.
pub const fn check_title(check: CheckId) -> &'static str {
    match check {
        CheckId::BlipAndFall => "Blip and let it fall",
        CheckId::ChangeLink => "Change the base-mode link",
        CheckId::FollowLead => "Follow the lead",
        CheckId::TurnClamp => "Turn the clamp round",
        CheckId::HoseOff => "Hose off and plugged",
        CheckId::PistonStop => "True zero by piston stop",
        CheckId::RotorAtZero => "Rotor at the zero mark",
        CheckId::SupplyAtPosts => "Supply at the battery posts",
        CheckId::PlugAndLead => "Plug and lead of that cylinder",
        CheckId::DriveLash => "Lash of the drive",
        CheckId::ReadLonger => "Read longer",
    }
}

/// At most 138 letters.
pub const fn check_how(check: CheckId) -> &'static str {
    match check {
        CheckId::BlipAndFall => {
            "Bolt tight: blip to about 2000 rpm, 2 seconds at most, and let it fall back to idle."
        }
        CheckId::ChangeLink => {
            "Change the base-mode link and watch whether the advance steps by about the offset."
        }
        CheckId::FollowLead => {
            "Engine off: follow the lead with the clamp from cap to plug; it must end at cylinder one."
        }
        CheckId::TurnClamp => {
            "Engine off: turn the clamp round so that its arrow points to the plug, and read again."
        }
        CheckId::HoseOff => "Take the vacuum hose off, plug the engine's side, and read again at idle.",
        CheckId::PistonStop => "Engine cold: find true zero from a piston stop on both sides.",
        CheckId::RotorAtZero => {
            "Engine off, cap off: turn by hand to zero on compression; the rotor must face tower one."
        }
        CheckId::SupplyAtPosts => {
            "Measure at the battery posts at idle; if it is higher there, look at clips and grounds."
        }
        CheckId::PlugAndLead => "Engine off and cool: look at plug, lead and injector of the cylinder named.",
        CheckId::DriveLash => {
            "Engine off: turn the rotor to and fro by hand; more than a few degrees is wear."
        }
        CheckId::ReadLonger => "Let it idle longer, hands off, and read again.",
    }
}

/// At most 34 letters.
pub const fn other_title(check: OtherCheck) -> &'static str {
    match check {
        OtherCheck::PlugSeat => "Plugs: seat and reach",
        OtherCheck::InjectorConnections => "Injector connections",
        OtherCheck::GroundConnections => "Ground connections",
        OtherCheck::SupplyAtIdle => "Supply at idle",
        OtherCheck::FuelPressure => "Fuel pressure under load",
    }
}

/// At most 138 letters.
pub const fn other_how(check: OtherCheck) -> &'static str {
    match check {
        OtherCheck::PlugSeat => {
            "Compare seat (taper or washer) and thread reach of the plugs with what the head takes."
        }
        OtherCheck::InjectorConnections => {
            "Engine off: see that every injector's plug clicks home; work often leaves one off."
        }
        OtherCheck::GroundConnections => {
            "See that every ground strap of engine, head and computer is back on, bare and tight."
        }
        OtherCheck::SupplyAtIdle => {
            "Read the supply at idle with the lights on: below the limit everything suffers."
        }
        OtherCheck::FuelPressure => {
            "Read the fuel pressure under load, not only at idle: a tired pump shows only there."
        }
    }
}
