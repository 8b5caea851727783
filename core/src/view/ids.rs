//! Which words to show: ids only; the words are in `words`.

listed! {
/// A step of the job. In this order, as far as the kind of control has it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum StepId {
    /// Engine off, key out, locked, uncoupled, out of gear, brake, wheels, exhaust out.
    MakeSafe,
    /// Supply clips, leads and clamp on, clear of fan, belts and exhaust.
    Connect,
    /// Mechanical: points gap or dwell first.
    Points,
    /// Scribe the witness mark, bolt snug.
    Witness,
    /// How the zero mark is known.
    Zero,
    /// Hands clear, start.
    Start,
    /// Idle, supply, cylinders.
    Ready,
    /// Mechanical: hoses off, engine side plugged.
    HosesOff,
    /// Computer: read once with the computer in charge.
    Steered,
    /// Computer: the base-mode link as the label says.
    BaseLink,
    /// Computer: the step was seen, now a blip shows that it holds.
    BaseBlip,
    /// Commanded: hold the fixed value, trims off.
    HoldFixed,
    /// Mechanical: idle below the start of the weights.
    BelowWeights,
    /// Read what is there.
    Read,
    /// Bolt loose, turn until on target.
    Set,
    /// Without a distributor: change the computer's reference angle.
    Reference,
    /// Bolt tight.
    ClampDown,
    /// One blip: the clamp holds, the base holds.
    ClampBlip,
    /// Read with the bolt tight.
    ReadAgain,
    /// Commanded: advance against speed.
    Sweep,
    /// Commanded: enter the fixed delay in the computer.
    EnterDelay,
    /// Commanded: read at idle after the delay was entered.
    ReadFine,
    /// Commanded: fine set.
    SetFine,
    /// Commanded: bolt tight after the fine set.
    ClampFine,
    /// Commanded: one blip with the delay entered.
    BlipFine,
    /// Commanded: let go of the fixed value and store.
    Release,
    /// Computer: link back as it was.
    LinkBack,
    /// Mechanical: hoses back on.
    HosesOn,
    /// Mechanical: the curve with the hose off.
    CurveOff,
    /// Mechanical: the curve with the hose on.
    CurveOn,
    /// Idle reads base plus the offset and rises over a blip.
    ControlBlip,
    /// Engine off.
    StopEngine,
    /// Engine on, read again.
    Restart,
    /// Engine off, leads and clips off in reverse.
    Disconnect,
    /// What was left undone, then the record.
    Finish,
}
}

listed! {
/// A caution to be acknowledged before the step it belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum CautionId {
    /// The vehicle's label and manual, local rules and a licensed technician go before the tool.
    LabelFirst,
    /// Stop and key out before reaching in.
    KeyOut,
    /// Electric fans start by themselves.
    FanStarts,
    /// Never in line with the fan.
    FanPlane,
    /// Hold the housing, never cap or leads.
    HoldHousing,
    /// Pacemakers and implants stay away.
    Implants,
    /// No rings, watches, loose hair or sleeves.
    LooseThings,
    /// Eye and ear protection.
    EyesEars,
    /// Hot parts.
    HotParts,
    /// Lead the exhaust out.
    Exhaust,
    /// Fuel smell: stop.
    FuelSmell,
    /// Radiator cap stays on.
    RadiatorCap,
    /// Red first, black to bare metal away from the battery, off in reverse.
    SupplyClips,
    /// A blip is 2 s at most, from the throttle, arm out of the fan's plane, never in gear.
    Blip,
    /// Never a blip with the bolt loose.
    NoBlipLoose,
    /// Dead cylinder: stop the engine; never pull a lead on a running engine.
    DeadCylinder,
    /// Piston stop: cold, battery off, plugs out, hand bar only.
    PistonStop,
    /// Check that no valve meets the stop.
    StopValve,
    /// On the engine's own sensor: high impedance, no ground clip.
    OwnSensor,
    /// More than 4° added: knock, fuel grade, emissions rules.
    MoreThanFour,
}
}

listed! {
/// What must hold before a step opens.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum GateId {
    /// Engine off, key out, start locked.
    KeyOut,
    /// Load uncoupled.
    Uncoupled,
    /// Out of gear, brake on, wheels blocked.
    OutOfGear,
    /// Exhaust led out.
    ExhaustOut,
    /// No crank edge for 2 s.
    EngineStands,
    /// Leads clear of fan, belts and exhaust.
    LeadsClear,
    /// Clamp on cylinder one's lead, arrow to the plug.
    ClampOnOne,
    /// Clips on: the supply is there.
    SupplySeen,
    /// Witness mark scribed.
    WitnessScribed,
    /// Bolt snug, not loose.
    BoltSnug,
    /// Points gap or dwell set.
    PointsSet,
    /// The zero mark.
    ZeroKnown,
    /// Hands clear.
    HandsClear,
    /// The engine runs.
    EngineRuns,
    /// The wheel of the job is recognised.
    WheelKnown,
    /// Sparks come as this ignition makes them.
    SparksRight,
    /// Warm.
    Warm,
    /// Choke off.
    ChokeOff,
    /// Speed inside the idle band for 2 s.
    IdleInBand,
    /// Supply at or above the limit.
    SupplyHealthy,
    /// Every cylinder works.
    CylindersWork,
    /// Hoses off, engine's side plugged.
    HosesOff,
    /// Hoses on.
    HosesOn,
    /// Link as the label says.
    LinkSet,
    /// The advance stepped by the offset as the link changed.
    BaseStep,
    /// No rise with speed.
    NoRise,
    /// The computer holds the fixed value.
    FixedHeld,
    /// Trims off.
    TrimsOff,
    /// Below the start of the weights: the advance does not follow small changes of speed.
    BelowWeights,
    /// A settled reading.
    Settled,
    /// On target and still.
    OnTarget,
    /// Bolt tight.
    BoltTight,
    /// The reading stayed while the bolt was tightened.
    ClampHeld,
    /// Reference angle changed.
    ReferenceEntered,
    /// Speeds over 1000 rpm seen.
    SpeedsSeen,
    /// Delay entered.
    DelayEntered,
    /// Stored in the computer.
    StoredInComputer,
    /// Link back as it was.
    LinkBack,
    /// Base plus the offset at idle.
    OffsetBack,
    /// Rises over a blip.
    RisesAgain,
    /// Engine stopped and started again.
    Restarted,
    /// Leads and clips off.
    LeadsOff,
    /// Piston stop out.
    StopOut,
    /// Record stored.
    RecordStored,
}
}
