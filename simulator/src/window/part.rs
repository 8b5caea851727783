//! What a hand can grab: its word, its key on the keyboard, and what it is for.

/// A part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Part {
    /// One of the handheld's keys, from 0.
    Key(u8),
    /// Ignition key.
    Ignition,
    /// The start position of the key.
    Start,
    /// Throttle.
    Throttle,
    /// Base-mode link.
    Link,
    /// Hold of a fixed value.
    Fixed,
    /// What is entered in an aftermarket computer.
    Entry,
    /// Clamp bolt.
    Bolt,
    /// Distributor housing.
    Housing,
    /// The distributor taken out.
    Refit,
    /// The clamp on a spark lead.
    Clamp,
    /// Vacuum hose.
    Hose,
    /// The instrument's clips.
    Clips,
    /// Lamps, fans, pumps.
    Loads,
    /// Balancer and strobe.
    Balancer,
}

impl Part {
    /// Its word.
    pub(super) fn word(self) -> &'static str {
        match self {
            Self::Key(0) => "Handheld key 1",
            Self::Key(1) => "Handheld key 2",
            Self::Key(2) => "Handheld key 3",
            Self::Key(_) => "Handheld key 4",
            Self::Ignition => "Ignition key",
            Self::Start => "Start",
            Self::Throttle => "Throttle",
            Self::Link => "Base-mode connector",
            Self::Fixed => "Hold the fixed value",
            Self::Entry => "Reference and delay",
            Self::Bolt => "Clamp bolt",
            Self::Housing => "Distributor housing",
            Self::Refit => "Distributor out",
            Self::Clamp => "Spark clamp",
            Self::Hose => "Vacuum hose",
            Self::Clips => "Clips and leads",
            Self::Loads => "Accessories",
            Self::Balancer => "Balancer",
        }
    }

    /// Its key on the keyboard.
    pub(super) fn key(self) -> &'static str {
        match self {
            Self::Key(0) => "1",
            Self::Key(1) => "2",
            Self::Key(2) => "3",
            Self::Key(_) => "4",
            Self::Ignition => "I",
            Self::Start => "S, held",
            Self::Throttle => "space, held; up and down",
            Self::Link => "L",
            Self::Fixed => "F",
            Self::Entry => "E, Q",
            Self::Bolt => "B",
            Self::Housing => "left and right, finer with shift",
            Self::Clamp => "C, turned round with R",
            Self::Hose => "H",
            Self::Clips => "X",
            Self::Loads => "A",
            Self::Refit | Self::Balancer => "",
        }
    }

    /// What it is for, as a tooltip tells it.
    pub(super) fn about(self) -> &'static str {
        match self {
            Self::Key(_) => {
                "What it does now stands above it on the screen. Hold it where the screen says so."
            }
            Self::Ignition => "Off: no spark, the engine stops. On: it runs, or can be started.",
            Self::Start => "The starter turns the engine as long as you hold this, with the key on.",
            Self::Throttle => {
                "Pull and hold to raise the speed, let go and it falls shut. Never with the bolt loose."
            }
            Self::Link => {
                "Opened or bridged as the label says, the computer stops steering and holds the base: only then \
                 does turning the distributor set the base."
            }
            Self::Fixed => "Tells the aftermarket computer to hold its fixed value, trims off.",
            Self::Entry => {
                "What you enter in the computer: its reference angle, and the delay to make up for."
            }
            Self::Bolt => {
                "Click to loosen or tighten. Tight, the housing cannot turn; loose, keep the speed at idle."
            }
            Self::Housing => {
                "Drag along its rim to turn it, or use the wheel of the mouse. Against the rotor's turn is earlier, \
                 with it is later."
            }
            Self::Refit => {
                "Engine off first. The distributor is lifted and put in again by teeth of its gear, or gets a new drive."
            }
            Self::Clamp => {
                "Drag it to a lead, or click a lead. Click the clamp to turn it round: its arrow points to the plug."
            }
            Self::Hose => "On its diaphragm, or off with the engine's side plugged.",
            Self::Clips => "Crank trigger, spark clamp and supply clips of the handheld, on or off together.",
            Self::Loads => "Lamps, fans and pumps: they ask current of the supply.",
            Self::Balancer => {
                "The marks as a strobe on the clamp's spark shows them. The numbers stand on both sides of zero: \
                 the wheel turns clockwise."
            }
        }
    }

    /// Word, use and key as a tooltip.
    pub(super) fn tip(self) -> String {
        let key = self.key();
        let key = if key.is_empty() { String::new() } else { format!("\nKey: {key}") };
        format!("{}\n{}{key}", self.word(), self.about())
    }
}
