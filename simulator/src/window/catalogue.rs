//! The engines that a trainer can put on the bench, and the mistakes.
//!
//! The engines are those of the scenarios: what a technician enters for them is read from the same files; what the
//! scenarios do to them is left out.

use crate::engine::fault::{Fault, FaultKind};
use crate::scenario;
use keyway_core::job::{Control, JobSpec, SparkKind};
use keyway_core::judge::CauseId;
use keyway_core::reading::Withheld;
use keyway_core::words;

macro_rules! files {
    ($($name:literal),* $(,)?) => {
        const FILES: &[&str] = &[$(include_str!(concat!("../../scenarios/", $name, ".toml"))),*];
    };
}

files! {
    "weir-pump-six-healthy",
    "gantry-four-wrong-lead",
    "barge-eight-weak-supply-and-late",
    "ferry-three-bolt-and-hand",
    "training-hall-four-worn-drive",
    "workshop-six-fixed-delay",
    "workshop-four-held-value",
    "crane-four-dead-cylinder",
    "quarry-v-six-uneven",
    "outboard-two-stroke-twin",
    "pit-pump-single-crank-trigger",
}

/// An engine to choose.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Kept {
    /// What is entered for it.
    pub(super) job: JobSpec,
    /// Its name, with what times it.
    pub(super) title: String,
}

/// Every engine.
pub(super) fn engines() -> Vec<Kept> {
    let jobs = FILES.iter().filter_map(|text| scenario::scenario(text).ok());
    jobs.map(|case| {
        let job = case.job;
        let control = match job.timing.control {
            Control::Computer => "computer",
            Control::Commanded => "aftermarket computer",
            Control::Mechanical => "weights and vacuum",
        };
        let spark = match job.engine.spark {
            SparkKind::Distributor => "",
            SparkKind::Paired => ", paired coils",
            SparkKind::Single => ", coil per cylinder",
        };
        let title = format!("{} · {control}{spark}", job.name);
        Kept { job, title }
    })
    .collect()
}

/// Everything that can be wrong, causes first, in the order of the contract.
pub(super) fn mistakes() -> Vec<FaultKind> {
    FaultKind::all().filter(|kind| *kind != FaultKind::Withheld(Withheld::TooFewSparks)).collect()
}

/// A mistake in words that a trainer would use.
pub(super) fn mistake(kind: FaultKind) -> &'static str {
    match kind {
        FaultKind::Cause(CauseId::Healthy) => "Nothing is wrong",
        FaultKind::Cause(CauseId::SetOutOfBaseMode) => "Set with the connector left in",
        FaultKind::Cause(CauseId::NotInBaseMode) => "Link does nothing: still steering",
        FaultKind::Cause(CauseId::SetAfterTdc) => "Set to the mark after zero",
        FaultKind::Cause(cause) => words::cause_title(cause),
        FaultKind::Withheld(reason) => words::reason(reason),
    }
}

/// What a trainer chose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Choice {
    /// Place among the engines.
    pub(super) engine: usize,
    /// One mistake, and a second beside it.
    pub(super) faults: [FaultKind; 2],
    /// How gross, 0 to 1.
    pub(super) severity: f64,
    /// Seed of the engine.
    pub(super) seed: u64,
}

impl Choice {
    /// The faults to be made; none where nothing is wrong.
    pub(super) fn made(&self) -> impl Iterator<Item = Fault> {
        let severity = self.severity;
        let healthy = FaultKind::Cause(CauseId::Healthy);
        let [one, other] = self.faults;
        let other = if other == one { healthy } else { other };
        [one, other]
            .into_iter()
            .filter(move |kind| *kind != healthy)
            .map(move |kind| Fault { kind, severity })
    }
}

impl Default for Choice {
    /// Weir pump six, set off target.
    fn default() -> Self {
        let faults = [FaultKind::Cause(CauseId::OffTarget), FaultKind::Cause(CauseId::Healthy)];
        Self { engine: 0, faults, severity: 0.7, seed: 1 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_engine_of_the_catalogue_can_be_read_and_has_a_name_of_its_own() {
        let engines = engines();
        assert_eq!(engines.len(), FILES.len());
        for (place, one) in engines.iter().enumerate() {
            assert!(!engines.iter().skip(place + 1).any(|other| other.title == one.title), "{}", one.title);
        }
    }

    #[test]
    fn every_cause_of_the_contract_can_be_chosen_and_no_two_read_the_same() {
        let mistakes = mistakes();
        for cause in CauseId::ALL {
            assert!(mistakes.contains(&FaultKind::Cause(cause)));
        }
        let words: std::collections::BTreeSet<_> = mistakes.iter().map(|kind| mistake(*kind)).collect();
        assert_eq!(words.len(), mistakes.len());
    }
}
