//! The order of the steps for each kind of control, and what belongs to each step: its cautions, its gates,
//! whether the engine runs in it.

use crate::job::{Control, Job};
use crate::view::{CautionId, GateId, StepId};

use StepId::*;

const COMPUTER: &[StepId] = &[
    MakeSafe,
    Connect,
    Witness,
    Zero,
    Start,
    Ready,
    Steered,
    BaseLink,
    BaseBlip,
    Read,
    Set,
    ClampDown,
    ClampBlip,
    ReadAgain,
    LinkBack,
    ControlBlip,
    StopEngine,
    Restart,
    Disconnect,
    Finish,
];
const COMPUTER_NO_DISTRIBUTOR: &[StepId] = &[
    MakeSafe,
    Connect,
    Zero,
    Start,
    Ready,
    Steered,
    BaseLink,
    BaseBlip,
    Read,
    Reference,
    ReadAgain,
    LinkBack,
    ControlBlip,
    StopEngine,
    Restart,
    Disconnect,
    Finish,
];
const COMMANDED: &[StepId] = &[
    MakeSafe, Connect, Witness, Zero, Start, Ready, HoldFixed, Read, Set, ClampDown, Sweep, EnterDelay,
    ReadFine, SetFine, ClampFine, BlipFine, ReadAgain, Release, StopEngine, Restart, Disconnect, Finish,
];
const COMMANDED_NO_DISTRIBUTOR: &[StepId] = &[
    MakeSafe, Connect, Zero, Start, Ready, HoldFixed, Read, Reference, Sweep, EnterDelay, BlipFine,
    ReadAgain, Release, StopEngine, Restart, Disconnect, Finish,
];
const MECHANICAL: &[StepId] = &[
    MakeSafe,
    Connect,
    Points,
    Witness,
    Zero,
    Start,
    Ready,
    HosesOff,
    BelowWeights,
    Read,
    Set,
    ClampDown,
    ClampBlip,
    ReadAgain,
    CurveOff,
    HosesOn,
    CurveOn,
    Disconnect,
    Finish,
];
const MECHANICAL_NO_DISTRIBUTOR: &[StepId] = &[
    MakeSafe,
    Connect,
    Points,
    Zero,
    Start,
    Ready,
    HosesOff,
    BelowWeights,
    Read,
    Reference,
    ReadAgain,
    CurveOff,
    HosesOn,
    CurveOn,
    Disconnect,
    Finish,
];

/// The steps of a job in their order.
pub fn steps(job: &Job) -> &'static [StepId] {
    match (job.spec().timing.control, job.distributor_times_spark()) {
        (Control::Computer, true) => COMPUTER,
        (Control::Computer, false) => COMPUTER_NO_DISTRIBUTOR,
        (Control::Commanded, true) => COMMANDED,
        (Control::Commanded, false) => COMMANDED_NO_DISTRIBUTOR,
        (Control::Mechanical, true) => MECHANICAL,
        (Control::Mechanical, false) => MECHANICAL_NO_DISTRIBUTOR,
    }
}

/// The cautions of a step, to be acknowledged before it opens. Each is asked for once a job.
pub const fn cautions(step: StepId) -> &'static [CautionId] {
    use CautionId::*;
    match step {
        MakeSafe => &[LabelFirst, Implants, LooseThings, EyesEars, FuelSmell],
        Connect => &[KeyOut, FanStarts, HotParts, RadiatorCap, SupplyClips, OwnSensor],
        Start => &[Exhaust, FanPlane],
        Set | SetFine => &[HoldHousing, NoBlipLoose],
        BaseBlip | HoldFixed | ClampBlip | BlipFine | ControlBlip | Sweep | CurveOff | CurveOn => &[Blip],
        Points | Witness | Zero | Ready | HosesOff | Steered | BaseLink | BelowWeights | Read | Reference
        | ClampDown | ReadAgain | EnterDelay | ReadFine | ClampFine | Release | LinkBack | HosesOn
        | StopEngine | Restart | Disconnect | Finish => &[],
    }
}

/// The gates of a step, in the order in which they are asked for.
pub const fn gates(step: StepId, control: Control) -> &'static [GateId] {
    use GateId::*;
    match step {
        StepId::MakeSafe => &[EngineStands, KeyOut, Uncoupled, OutOfGear, ExhaustOut],
        StepId::Connect => &[EngineStands, SupplySeen, ClampOnOne, LeadsClear],
        StepId::Points => &[EngineStands, PointsSet],
        StepId::Witness => &[EngineStands, WitnessScribed, BoltSnug],
        StepId::Zero => &[ZeroKnown],
        StepId::Start => &[HandsClear, EngineRuns, WheelKnown, SparksRight],
        StepId::Ready => match control {
            Control::Mechanical => &[Warm, ChokeOff, IdleInBand, SupplyHealthy, CylindersWork, SparksRight],
            Control::Computer | Control::Commanded => {
                &[Warm, IdleInBand, SupplyHealthy, CylindersWork, SparksRight]
            }
        },
        StepId::HosesOff => &[GateId::HosesOff],
        StepId::BelowWeights => &[IdleInBand, GateId::BelowWeights],
        StepId::HoldFixed => &[FixedHeld, TrimsOff, NoRise],
        StepId::BaseLink => &[LinkSet, BaseStep],
        StepId::BaseBlip => &[NoRise],
        StepId::Steered | StepId::Read | StepId::ReadFine | StepId::ReadAgain => &[Settled],
        StepId::Set | StepId::SetFine => &[OnTarget],
        StepId::Reference => &[ReferenceEntered, OnTarget],
        StepId::ClampDown | StepId::ClampFine => &[BoltTight],
        StepId::ClampBlip => match control {
            Control::Computer | Control::Commanded => &[ClampHeld, NoRise],
            Control::Mechanical => &[ClampHeld],
        },
        StepId::BlipFine => &[ClampHeld, NoRise],
        StepId::Sweep | StepId::CurveOff | StepId::CurveOn => &[SpeedsSeen],
        StepId::EnterDelay => &[DelayEntered],
        StepId::Release => &[StoredInComputer],
        StepId::LinkBack => &[GateId::LinkBack],
        StepId::HosesOn => &[GateId::HosesOn],
        StepId::ControlBlip => &[OffsetBack, RisesAgain],
        StepId::StopEngine => &[EngineStands],
        StepId::Restart => &[EngineRuns, Settled, Restarted],
        StepId::Disconnect => &[EngineStands, LeadsOff],
        StepId::Finish => &[],
    }
}

/// Whether the engine must run in this step: where it stops, the guide stops too.
pub const fn needs_running(step: StepId) -> bool {
    match step {
        Ready | Steered | BaseBlip | HoldFixed | BelowWeights | Read | Set | ClampBlip | ReadAgain
        | Sweep | ReadFine | SetFine | BlipFine | ControlBlip | CurveOff | CurveOn => true,
        MakeSafe | Connect | Points | Witness | Zero | Start | HosesOff | BaseLink | Reference
        | ClampDown | EnterDelay | ClampFine | Release | LinkBack | HosesOn | StopEngine | Restart
        | Disconnect | Finish => false,
    }
}

/// Whether hands are in the engine: a turning crank is an alarm.
pub(super) const fn reaching_in(step: StepId) -> bool {
    matches!(step, Points | Witness)
}

/// Whether a gate may be left out, noted as skipped. What keeps people safe may not.
pub(super) const fn may_skip(gate: GateId) -> bool {
    use GateId::*;
    match gate {
        KeyOut | Uncoupled | OutOfGear | ExhaustOut | EngineStands | LeadsClear | HandsClear | BoltSnug
        | StopOut | EngineRuns => false,
        ClampOnOne | SupplySeen | WitnessScribed | PointsSet | ZeroKnown | WheelKnown | SparksRight
        | Warm | ChokeOff | IdleInBand | SupplyHealthy | CylindersWork | HosesOff | HosesOn | LinkSet
        | BaseStep | NoRise | FixedHeld | TrimsOff | BelowWeights | Settled | OnTarget | BoltTight
        | ClampHeld | ReferenceEntered | SpeedsSeen | DelayEntered | StoredInComputer | LinkBack
        | OffsetBack | RisesAgain | Restarted | LeadsOff | RecordStored => true,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_control_begins_with_making_safe_and_ends_with_what_is_undone() {
        for plan in [
            COMPUTER,
            COMPUTER_NO_DISTRIBUTOR,
            COMMANDED,
            COMMANDED_NO_DISTRIBUTOR,
            MECHANICAL,
            MECHANICAL_NO_DISTRIBUTOR,
        ] {
            assert_eq!((plan.first(), plan.last()), (Some(&MakeSafe), Some(&Finish)));
            for (place, step) in plan.iter().enumerate() {
                assert!(!plan.iter().skip(place + 1).any(|other| other == step), "{step:?} twice");
            }
        }
    }

    #[test]
    fn nothing_raises_the_speed_between_loosening_and_clamping() {
        let raises = |step: &StepId| cautions(*step).contains(&CautionId::Blip);
        for plan in [COMPUTER, COMMANDED, MECHANICAL] {
            for (loose, tight) in [(Set, ClampDown), (SetFine, ClampFine)] {
                let from = plan.iter().position(|step| *step == loose);
                let to = plan.iter().position(|step| *step == tight);
                if let (Some(from), Some(to)) = (from, to) {
                    assert_eq!(to, from + 1, "clamping follows setting at once");
                    assert!(!raises(&loose) && !raises(&tight));
                }
            }
        }
    }

    #[test]
    fn every_caution_of_a_step_is_shown_before_hands_or_speed_need_it() {
        let first = |caution| {
            COMPUTER
                .iter()
                .position(|step| cautions(*step).contains(&caution))
                .map(|place| COMPUTER.get(place))
        };
        assert_eq!(first(CautionId::Blip), Some(Some(&BaseBlip)));
        assert_eq!(first(CautionId::HoldHousing), Some(Some(&Set)));
        assert_eq!(first(CautionId::SupplyClips), Some(Some(&Connect)));
    }
}
