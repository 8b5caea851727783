//! What must hold before a step opens, as lines of a list, at most 34 letters each.

use crate::view::{GateId, Mark};

/// At most 34 letters.
pub const fn gate(gate: GateId) -> &'static str {
    match gate {
        GateId::KeyOut => "Engine off, key out, start locked",
        GateId::Uncoupled => "Load uncoupled",
        GateId::OutOfGear => "Out of gear, brake on, blocked",
        GateId::ExhaustOut => "Exhaust led out",
        GateId::EngineStands => "Engine stands",
        GateId::LeadsClear => "Leads clear of fan, belts, exhaust",
        GateId::ClampOnOne => "Clamp on lead one, arrow to plug",
        GateId::SupplySeen => "Supply clips on",
        GateId::WitnessScribed => "Witness mark scribed",
        GateId::BoltSnug => "Clamp bolt snug, not loose",
        GateId::PointsSet => "Points gap or dwell set",
        GateId::ZeroKnown => "Zero mark",
        GateId::HandsClear => "Hands clear",
        GateId::EngineRuns => "Engine runs",
        GateId::WheelKnown => "Crank trigger reads its wheel",
        GateId::SparksRight => "Sparks as this ignition makes them",
        GateId::Warm => "Engine warm",
        GateId::ChokeOff => "Choke off",
        GateId::IdleInBand => "Idle speed in range",
        GateId::SupplyHealthy => "Supply at idle",
        GateId::CylindersWork => "Every cylinder works",
        GateId::HosesOff => "Hoses off, engine side plugged",
        GateId::HosesOn => "Hoses on",
        GateId::LinkSet => "Link as the label says",
        GateId::BaseStep => "Advance stepped with the link",
        GateId::NoRise => "No rise with speed",
        GateId::FixedHeld => "Fixed value held",
        GateId::TrimsOff => "Trims off",
        GateId::BelowWeights => "Advance stays while speed wanders",
        GateId::Settled => "Reading settled",
        GateId::OnTarget => "On target",
        GateId::BoltTight => "Clamp bolt tight",
        GateId::ClampHeld => "Reading held as bolt was tightened",
        GateId::ReferenceEntered => "Reference angle changed",
        GateId::SpeedsSeen => "Speeds seen",
        GateId::DelayEntered => "Delay entered",
        GateId::StoredInComputer => "Stored in the computer",
        GateId::LinkBack => "Link back as it was",
        GateId::OffsetBack => "Computer's advance is back",
        GateId::RisesAgain => "Advance rises with speed",
        GateId::Restarted => "Stopped and started again",
        GateId::LeadsOff => "Leads and clips off",
        GateId::StopOut => "Piston stop out",
        GateId::RecordStored => "Record stored",
    }
}

/// How something is known, in one word.
pub const fn mark(mark: Mark) -> &'static str {
    match mark {
        Mark::Open => "open",
        Mark::Told => "told",
        Mark::Proven => "proven",
        Mark::Failed => "fails",
        Mark::Skipped => "skipped",
    }
}
