//! What a trainee may name as the evidence, one kind for each way in which a mistake shows.

/// An enum with its ids and words in one table.
macro_rules! kinds {
    ($($(#[$about:meta])* $one:ident $id:literal $words:literal),* $(,)?) => {
        /// What was seen that settles the cause.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Evidence { $($(#[$about])* $one),* }

        impl Evidence {
            /// All of them, in the order in which they are offered.
            pub const ALL: &'static [Self] = &[$(Self::$one),*];

            /// Its name in scripts and drills.
            pub const fn id(self) -> &'static str {
                match self { $(Self::$one => $id),* }
            }

            /// Its words.
            pub const fn words(self) -> &'static str {
                match self { $(Self::$one => $words),* }
            }
        }
    };
}

kinds! {
    /// Nothing speaks against it.
    SteadyOnTarget "steady-on-target" "steady and on target, nothing moves it but the hand",
    /// No usual mistake makes this number.
    SteadyOff "steady-off" "steady, off by an amount that no usual mistake explains",
    /// Twice the target.
    TwiceTheTarget "twice-the-target" "as far after zero as the target lies before it",
    /// Base low by the computer's own addition.
    ShortByOffset "short-by-offset" "in base mode it is off by what the computer adds at idle",
    /// Steering.
    RisesWithSpeed "rises-with-speed" "the advance rises with speed and works against the idle's wander",
    /// Another lead.
    FiringInterval "firing-interval" "off by the angle to another cylinder's firing, on an engine that idles well",
    /// A tooth.
    OneTooth "one-tooth" "off by a tooth of the distributor's gear",
    /// A delay.
    FallsWithSpeed "falls-with-speed" "the advance falls in proportion to speed",
    /// Weights or vacuum at idle.
    FollowsIdle "follows-idle" "with the hose off it still follows small changes of the idle speed, or the hose is on",
    /// Play.
    WideScatter "wide-scatter" "the sparks scatter by degrees at a steady idle",
    /// The supply's number.
    LowVolts "low-volts" "the supply at idle lies below the limit",
    /// A cylinder's share.
    MissingShare "missing-share" "one cylinder's share of the work is missing",
    /// Every cylinder's spark.
    EverySpark "every-spark" "sparks of every cylinder come through the clamp",
    /// Charging taken for the spark.
    EarlyWithSpeed "early-with-speed" "early by more and more with speed, and by nothing at no speed",
}

impl Evidence {
    /// The evidence of this name.
    pub fn named(id: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|one| one.id() == id)
    }
}
