//! What has been shown by a check rather than told.

/// How the advance answered when the base-mode link was changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum LinkAnswer {
    /// It fell by about the harness offset when the link was put into base mode: it had been steering.
    Fell,
    /// It did not change.
    Stayed,
    /// It rose by about the harness offset when the link was changed: it had been in base mode.
    Rose,
}

/// What the guide, or a check carried out by hand, has proven. Nothing at first.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Proven {
    /// Base mode held (true) or did not (false) over a blip or a change of the link.
    pub base_mode: Option<bool>,
    /// What the computer was seen to add at idle as it took over, hundredths of a degree.
    pub offset: Option<i16>,
    /// The clamp was found on cylinder one's lead (true), or on another (false).
    pub clamp_on_one: Option<bool>,
    /// The clamp was found the right way round (true) or reversed (false).
    pub clamp_direction: Option<bool>,
    /// Zero was shown by a piston stop.
    pub zero: bool,
    /// The rotor was found where it belongs at zero (true), or a tooth away (false).
    pub rotor_at_one: Option<bool>,
    /// With the vacuum hose off and plugged the advance fell (true: it was on) or stayed (false).
    pub hose_was_on: Option<bool>,
    /// The rotor was felt to have play in its drive (true), or none to speak of (false).
    pub play_felt: Option<bool>,
}
