//! The fields of a job, their choices, and the letters a name is made of.

use crate::view::FieldId;

/// The letters that a name is entered from, in the order in which the keys pass them.
pub const LETTERS: &str = " ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-/.";

/// The letter at a place of [`LETTERS`], wrapping.
pub fn letter(place: usize) -> &'static str {
    let place = place % LETTERS.len().max(1);
    LETTERS.get(place..=place).unwrap_or(" ")
}

/// At most 34 letters.
pub const fn field(field: FieldId) -> &'static str {
    match field {
        FieldId::Name => "Name of the engine",
        FieldId::Cylinders => "Cylinders",
        FieldId::Strokes => "Strokes",
        FieldId::FiringOrder => "Firing order",
        FieldId::EvenFiring => "Firing intervals",
        FieldId::FiringInterval => "Interval to the next firing",
        FieldId::Spark => "Sparks made by",
        FieldId::Rotor => "Rotor's turn, facing the cap",
        FieldId::Reference => "What times the spark",
        FieldId::GearTeeth => "Distributor gear teeth (0: none)",
        FieldId::HousingDiameter => "Housing diameter (0: not known)",
        FieldId::Control => "Advance decided by",
        FieldId::Base => "Base timing on the label",
        FieldId::Calibration => "Calibration",
        FieldId::Extra => "Owner's addition",
        FieldId::Commanded => "Fixed value the computer holds",
        FieldId::Tolerance => "On target within ±",
        FieldId::HarnessOffset => "What the computer adds at idle",
        FieldId::IdleLow => "Idle from",
        FieldId::IdleHigh => "Idle to",
        FieldId::SupplyMin => "Least supply at idle (0: none)",
        FieldId::CrankKind => "Crank trigger reads",
        FieldId::Teeth => "Slots, the missing ones included",
        FieldId::Missing => "Missing teeth",
        FieldId::FirstEdge => "First edge after the gap, before 1",
        FieldId::MarkCount => "Marks in one turn",
        FieldId::MarkAngle => "Mark before cylinder one's top",
        FieldId::CrankEdge => "Crank signal's active edge",
        FieldId::SensorDelay => "Crank sensor's delay",
        FieldId::SparkEdge => "Clamp signal's active edge",
        FieldId::SparkDelay => "Clamp's delay",
    }
}

/// How many choices a field has; 0 for a number or a name.
pub const fn choices(field: FieldId) -> u8 {
    match field {
        FieldId::Spark | FieldId::Control => 3,
        FieldId::EvenFiring
        | FieldId::Strokes
        | FieldId::Rotor
        | FieldId::Reference
        | FieldId::Calibration
        | FieldId::CrankKind
        | FieldId::CrankEdge
        | FieldId::SparkEdge => 2,
        FieldId::Name
        | FieldId::Cylinders
        | FieldId::FiringOrder
        | FieldId::FiringInterval
        | FieldId::GearTeeth
        | FieldId::HousingDiameter
        | FieldId::Base
        | FieldId::Extra
        | FieldId::Commanded
        | FieldId::Tolerance
        | FieldId::HarnessOffset
        | FieldId::IdleLow
        | FieldId::IdleHigh
        | FieldId::SupplyMin
        | FieldId::Teeth
        | FieldId::Missing
        | FieldId::FirstEdge
        | FieldId::MarkCount
        | FieldId::MarkAngle
        | FieldId::SensorDelay
        | FieldId::SparkDelay => 0,
    }
}

/// The words of a choice, at most 34 letters; empty for a number or a name.
pub const fn choice(field: FieldId, index: u8) -> &'static str {
    let first = index == 0;
    match field {
        FieldId::Strokes => {
            if first {
                "4-stroke"
            } else {
                "2-stroke"
            }
        }
        FieldId::EvenFiring => {
            if first {
                "even"
            } else {
                "entered one by one"
            }
        }
        FieldId::Spark => match index {
            0 => "distributor",
            1 => "one coil for two cylinders",
            _ => "a coil for each cylinder",
        },
        FieldId::Rotor => {
            if first {
                "clockwise"
            } else {
                "counterclockwise"
            }
        }
        FieldId::Reference => {
            if first {
                "the distributor"
            } else {
                "a trigger at the crank"
            }
        }
        FieldId::Control => match index {
            0 => "factory computer, base mode",
            1 => "aftermarket computer, fixed value",
            _ => "weights and vacuum",
        },
        FieldId::Calibration => {
            if first {
                "stock"
            } else {
                "performance"
            }
        }
        FieldId::CrankKind => {
            if first {
                "a wheel with a gap"
            } else {
                "single marks"
            }
        }
        FieldId::CrankEdge | FieldId::SparkEdge => {
            if first {
                "rising"
            } else {
                "falling"
            }
        }
        FieldId::Name
        | FieldId::Cylinders
        | FieldId::FiringOrder
        | FieldId::FiringInterval
        | FieldId::GearTeeth
        | FieldId::HousingDiameter
        | FieldId::Base
        | FieldId::Extra
        | FieldId::Commanded
        | FieldId::Tolerance
        | FieldId::HarnessOffset
        | FieldId::IdleLow
        | FieldId::IdleHigh
        | FieldId::SupplyMin
        | FieldId::Teeth
        | FieldId::Missing
        | FieldId::FirstEdge
        | FieldId::MarkCount
        | FieldId::MarkAngle
        | FieldId::SensorDelay
        | FieldId::SparkDelay => "",
    }
}
