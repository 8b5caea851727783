//! The steps' titles, and the one sentence each that says what to do now.

use crate::view::{StepId, ZeroStage};

/// At most 28 letters.
pub const fn title(step: StepId) -> &'static str {
    match step {
        StepId::MakeSafe => "Make it safe",
        StepId::Connect => "Clip on",
        StepId::Points => "Points first",
        StepId::Witness => "Witness mark",
        StepId::Zero => "The zero mark",
        StepId::Start => "Start the engine",
        StepId::Ready => "Engine ready",
        StepId::HosesOff => "Vacuum hoses off",
        StepId::Steered => "Read it steered",
        StepId::BaseLink => "Base-mode link",
        StepId::BaseBlip => "Prove base mode",
        StepId::HoldFixed => "Hold fixed value",
        StepId::BelowWeights => "Below the weights",
        StepId::Read => "Read what is there",
        StepId::Set => "Set",
        StepId::Reference => "Reference angle",
        StepId::ClampDown => "Clamp down",
        StepId::ClampBlip => "Clamp check",
        StepId::ReadAgain => "Read again",
        StepId::Sweep => "Sweep the speed",
        StepId::EnterDelay => "Enter the delay",
        StepId::ReadFine => "Read again at idle",
        StepId::SetFine => "Fine set",
        StepId::ClampFine => "Clamp down again",
        StepId::BlipFine => "Last clamp check",
        StepId::Release => "Release and store",
        StepId::LinkBack => "Link back",
        StepId::HosesOn => "Hoses back on",
        StepId::CurveOff => "Curve, hose off",
        StepId::CurveOn => "Curve, hose on",
        StepId::ControlBlip => "Control given back",
        StepId::StopEngine => "Stop the engine",
        StepId::Restart => "Restart and read",
        StepId::Disconnect => "Clips off",
        StepId::Finish => "Left undone?",
    }
}

/// At most 138 letters: what to do now.
pub const fn sentence(step: StepId) -> &'static str {
    match step {
        StepId::MakeSafe => {
            "Stop the engine, take the key out, lock the start, uncouple the load, and tick each line as it is done."
        }
        StepId::Connect => {
            "Put crank trigger, clamp and supply clips on, leads clear of fan, belts and exhaust, arrow towards the plug."
        }
        StepId::Points => "Set points gap or dwell first: it moves the timing, so timing comes after it.",
        StepId::Witness => {
            "Scribe housing and block where they stand, then leave the clamp bolt snug: the housing must not turn by itself."
        }
        StepId::Zero => {
            "Say how the zero mark is known: as marked is only told, a piston stop or a taught wheel proves it."
        }
        StepId::Start => "Hands, sleeves and leads clear, then start the engine and let it idle.",
        StepId::Ready => "Let it warm up and idle until every line below holds.",
        StepId::HosesOff => "Take the vacuum hoses off the distributor and plug them on the engine's side.",
        StepId::Steered => "Leave the base-mode link as it is and let it idle: this is read to compare with.",
        StepId::BaseLink => {
            "Change the base-mode link as the label says, with the engine off if the manual wants it, and let it idle."
        }
        StepId::BaseBlip => "Blip to the speed shown, 2 seconds at most, let it fall back to idle.",
        StepId::HoldFixed => "Tell the computer to hold the fixed value, trims off, and blip once.",
        StepId::BelowWeights => "Lower the idle until the advance stays put while the speed wanders.",
        StepId::Read => "Let it idle and keep off the housing until the reading has settled.",
        StepId::Set => {
            "Crack the bolt, turn the housing the way shown until it is on target, and hold it there."
        }
        StepId::Reference => {
            "Change the reference angle in the computer by the amount shown, then let it idle."
        }
        StepId::ClampDown => "Hold the housing still, tighten the bolt, and say so.",
        StepId::ClampBlip => "Bolt tight, blip once to the speed shown and let it fall back to idle.",
        StepId::ReadAgain => "Let it idle, hands off, until the reading has settled.",
        StepId::Sweep => "Raise the speed slowly to the speed shown, let it fall slowly, bolt tight.",
        StepId::EnterDelay => "Enter the delay shown in the computer, still holding the fixed value.",
        StepId::ReadFine => "Let it idle until the reading has settled.",
        StepId::SetFine => "Crack the bolt, set the last tenths, and hold it there.",
        StepId::ClampFine => "Hold the housing still, tighten the bolt, and say so.",
        StepId::BlipFine => "Bolt tight, blip once to the speed shown and let it fall back to idle.",
        StepId::Release => "Let go of the fixed value, trims back on, and store it in the computer.",
        StepId::LinkBack => "Put the base-mode link back as it was and let it idle.",
        StepId::HosesOn => "Take the plugs out, put the hoses back on, and let it idle.",
        StepId::CurveOff => {
            "Hose off and plugged, raise the speed slowly to the speed shown, then let it fall."
        }
        StepId::CurveOn => "Hose on, raise the speed slowly to the speed shown, then let it fall.",
        StepId::ControlBlip => "Blip to the speed shown, 2 seconds at most: the advance must rise with it.",
        StepId::StopEngine => "Stop the engine, key off, and wait until it stands.",
        StepId::Restart => "Key on, start it again and let it idle: it is read once more.",
        StepId::Disconnect => {
            "Stop the engine, key out, take clamp and trigger off, then supply clips: black first, red last."
        }
        StepId::Finish => "Look over what is left undone, then keep the record.",
    }
}

/// What to do at a stage of the piston stop, at most 138 letters.
pub const fn zero_stage(stage: ZeroStage) -> &'static str {
    match stage {
        ZeroStage::Prepare => {
            "Engine cold, battery off, all plugs out, stop in cylinder one; see that no valve can meet it."
        }
        ZeroStage::First => {
            "Turn gently by hand bar the engine's way until the piston meets the stop; enter what the pointer reads."
        }
        ZeroStage::Second => {
            "Turn gently by hand bar the other way until it meets the stop again; enter what the pointer reads."
        }
        ZeroStage::Result => "The true zero lies midway; take the correction for this job, or read again.",
        ZeroStage::StopOut => {
            "Take the piston stop out and lay it where you see it, then say that it is out."
        }
    }
}
