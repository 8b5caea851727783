//! The usual mistakes, each to be made once and put right when the guide says so.

/// A mistake that the hands make on purpose, once; told by the guide, they put it right.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Slip {
    /// The link is said to be changed and is not.
    LinkForgotten,
    /// The link goes back out before the blip that proves it.
    LinkLostBeforeBlip,
    /// The computer leaves base mode while the housing is turned.
    LinkLostWhileSetting,
    /// The housing is turned the wrong way at first, the rotor's turn being entered right.
    WrongWay,
    /// The bolt is said to be tight and the housing slips.
    ClampSlips,
    /// The throttle is opened with the bolt loose.
    BlipWithBoltLoose,
    /// The link is said to be back and is not.
    LinkLeftOut,
    /// The engine stalls while it is being set.
    Stall,
    /// The fixed value is said to be held and is not.
    NotHeld,
    /// The fixed value is said to be released and stored, and is held still.
    StillHeld,
    /// The delay that the sweep found is said to be entered and is not.
    DelayNotEntered,
    /// The reference angle is said to be changed and is not.
    ReferenceForgotten,
    /// The reference angle is changed the wrong way.
    ReferenceWrongSign,
    /// The hose is said to be off and is on.
    HoseLeftOn,
    /// The hose is said to be back on and is off.
    HoseLeftOff,
}

impl Slip {
    /// Every slip.
    pub const ALL: &'static [Self] = &[
        Self::LinkForgotten,
        Self::LinkLostBeforeBlip,
        Self::LinkLostWhileSetting,
        Self::WrongWay,
        Self::ClampSlips,
        Self::BlipWithBoltLoose,
        Self::LinkLeftOut,
        Self::Stall,
        Self::NotHeld,
        Self::StillHeld,
        Self::DelayNotEntered,
        Self::ReferenceForgotten,
        Self::ReferenceWrongSign,
        Self::HoseLeftOn,
        Self::HoseLeftOff,
    ];

    /// Its name in scripts.
    pub fn name(self) -> &'static str {
        match self {
            Self::LinkForgotten => "link-forgotten",
            Self::LinkLostBeforeBlip => "link-lost-before-blip",
            Self::LinkLostWhileSetting => "link-lost-while-setting",
            Self::WrongWay => "wrong-way",
            Self::ClampSlips => "clamp-slips",
            Self::BlipWithBoltLoose => "blip-with-bolt-loose",
            Self::LinkLeftOut => "link-left-out",
            Self::Stall => "stall",
            Self::NotHeld => "not-held",
            Self::StillHeld => "still-held",
            Self::DelayNotEntered => "delay-not-entered",
            Self::ReferenceForgotten => "reference-forgotten",
            Self::ReferenceWrongSign => "reference-wrong-sign",
            Self::HoseLeftOn => "hose-left-on",
            Self::HoseLeftOff => "hose-left-off",
        }
    }
}
