//! Keys, menus, settings and lists of checks: ids only; the words are in `words`.

listed! {
/// What a key does now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum KeyLabel {
    /// Nothing.
    None,
    /// One step on.
    Next,
    /// One step back.
    Back,
    /// Done by hand, as told.
    Done,
    /// The caution was read.
    Understood,
    /// Leave this out, noted as skipped.
    Skip,
    /// Leave the job with what is known.
    Leave,
    /// The menu.
    Menu,
    /// Selection up.
    Up,
    /// Selection down.
    Down,
    /// Value up.
    More,
    /// Value down.
    Less,
    /// Take the selected.
    Select,
    /// On to the next digit.
    Digit,
    /// Take the value.
    Enter,
    /// Give up the change.
    Cancel,
    /// Store.
    Save,
    /// Delete.
    Delete,
    /// Read again.
    Again,
    /// Yes.
    Yes,
    /// No.
    No,
    /// Causes with evidence.
    Causes,
    /// The next check.
    Check,
    /// Other things that make it run badly.
    Others,
    /// Teach the wheel.
    Teach,
    /// True zero.
    Zero,
    /// The correction in numbers.
    Turn,
    /// Stop the sound.
    Quiet,
    /// Start the job.
    Start,
    /// The newest change of the corrections is taken back.
    Undo,
    /// The selected correction no longer stands.
    Forget,
    /// Another choice, or another letter in its place.
    Change,
    /// On to the next letter.
    Letter,
    /// The record as a code.
    Code,
    /// The record in words and numbers.
    Values,
}
}

listed! {
/// A menu.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum MenuId {
    /// At start.
    Home,
    /// With an engine chosen.
    Engine,
    /// Within a job.
    Job,
}
}

listed! {
/// An item of a menu.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum MenuItem {
    /// Go on with the job that was left.
    Resume,
    /// Choose an engine.
    ChooseEngine,
    /// Enter a new engine.
    NewEngine,
    /// Start the job.
    StartJob,
    /// Change the engine's entries.
    EditEngine,
    /// Delete the engine.
    DeleteEngine,
    /// True zero by a piston stop.
    TrueZero,
    /// Teach the wheel.
    Teach,
    /// A no-start: read while cranking.
    NoStart,
    /// What else makes it run badly.
    OtherChecks,
    /// Causes with evidence.
    Causes,
    /// The next check.
    NextCheck,
    /// What was measured about the job itself: shown, undone, forgotten.
    Corrections,
    /// Records.
    Records,
    /// Settings.
    Settings,
    /// Self-test.
    SelfTest,
    /// Back to the step.
    BackToStep,
    /// Leave with what is known.
    LeaveJob,
}
}

listed! {
/// A setting of the instrument.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SettingId {
    /// Loudness, 0 to 5; alarms are never silent.
    Loudness,
    /// Light behind the screen, 0 to 5.
    Light,
    /// Invert the screen on target.
    InvertOnTarget,
    /// Left hand: keys' order turned round.
    LeftHanded,
}
}

listed! {
/// What else makes such an engine run badly.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum OtherCheck {
    /// Plug seat type and reach for the head.
    PlugSeat,
    /// Injector connection left off after work.
    InjectorConnections,
    /// Ground connection left off after work.
    GroundConnections,
    /// Supply at idle.
    SupplyAtIdle,
    /// Fuel pressure under load.
    FuelPressure,
}
}
