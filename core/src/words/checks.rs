//! The checks that tell causes apart, and the list of what else makes an engine run badly.

use crate::judge::NextCheck;
use crate::view::OtherCheck;

/// At most 34 letters; what to do is the check's own `Display`.
pub const fn check_title(check: NextCheck) -> &'static str {
    match check {
        NextCheck::Blip => "Blip and let it fall",
        NextCheck::ChangeLink => "Change the base-mode link",
        NextCheck::LookAtClamp => "Follow lead one to the clamp",
        NextCheck::TurnClampRound => "Turn the clamp round",
        NextCheck::HoseOff => "Hose off and plugged",
        NextCheck::FindZero => "True zero by piston stop",
        NextCheck::LookAtRotor => "Rotor at the zero mark",
        NextCheck::FeelPlay => "Play of the rotor",
        NextCheck::ReadLonger => "Read longer",
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
