use super::*;
use crate::judge::{CauseId, NextCheck};
use crate::reading::Withheld;
use crate::view::*;
use std::string::{String, ToString};
use std::vec::Vec;

fn fits(what: &str, text: &str, most: usize) {
    let letters = text.chars().count();
    assert!((1..=most).contains(&letters), "{what}: {letters} of {most} letters: {text}");
}

fn fits_lines(what: &str, text: &str, lines: usize) {
    let taken = Wrapped::new(text, LINE).count();
    assert!((1..=lines).contains(&taken), "{what}: {taken} of {lines} lines: {text}");
    assert!(Wrapped::new(text, LINE).all(|line| line.chars().count() <= LINE), "{what}: {text}");
}

#[test]
fn every_title_sentence_key_and_entry_fits_its_room() {
    for step in StepId::ALL {
        fits("title", title(*step), TITLE);
        fits("sentence", sentence(*step), SENTENCE);
        fits_lines("sentence", sentence(*step), 3);
    }
    for key_label in KeyLabel::ALL.iter().filter(|label| **label != KeyLabel::None) {
        fits("key", key(*key_label), KEY);
    }
    MenuId::ALL.iter().for_each(|id| fits("menu", menu_title(*id), TITLE));
    MenuItem::ALL.iter().for_each(|id| fits("item", menu_item(*id), ENTRY));
    SettingId::ALL.iter().for_each(|id| fits("setting", setting(*id), ENTRY));
    GateId::ALL.iter().for_each(|id| fits("gate", gate(*id), ENTRY));
    for id in CautionId::ALL {
        fits("caution", caution(*id), CAUTION);
        fits_lines("caution", caution(*id), 4);
    }
    for id in NextCheck::ALL {
        fits("check", check_title(id), ENTRY);
        fits_lines("check", &id.to_string(), 4);
    }
    for id in OtherCheck::ALL {
        fits("other", other_title(*id), ENTRY);
        fits_lines("other", other_how(*id), 3);
    }
    for id in FieldId::ALL {
        fits("field", field(*id), ENTRY);
        (0..choices(*id)).for_each(|index| fits("choice", choice(*id, index), ENTRY));
    }
    for stage in
        [ZeroStage::Prepare, ZeroStage::First, ZeroStage::Second, ZeroStage::Result, ZeroStage::StopOut]
    {
        fits_lines("zero", zero_stage(stage), 3);
    }
    for why in [
        Withheld::NoCrank,
        Withheld::NoSpark,
        Withheld::PatternMismatch,
        Withheld::Unsteady,
        Withheld::TooFewSparks,
        Withheld::Interference,
        Withheld::PickupsSwapped,
        Withheld::WrongEdge,
        Withheld::SparkRate,
        Withheld::OutsideIdleBand,
        Withheld::SettingMoved,
    ] {
        fits("reason", reason(why), ENTRY);
        fits_lines("reason", reason_how(why), 3);
    }
}

/// Each stop with the widest numbers it can carry.
fn widest_halts() -> Vec<Halt> {
    let mut halts = std::vec![
        Halt::IdleMoved { low: 10_000.0, high: 12_000.0 },
        Halt::SupplyLow { volts: 10.4, limit: 26.4 },
        Halt::DeadCylinder { cylinders: [12, 0] },
        Halt::DeadCylinder { cylinders: [11, 12] },
        Halt::NoBaseStep { expected: -40.0, seen: -139.9 },
        Halt::RisesWithSpeed { slope: 99.9 },
        Halt::FallsWithSpeed { delay_us: 9999.0 },
        Halt::OtherWay { moved: -99.9 },
        Halt::NothingMoves,
        Halt::ClampMoved { by: -99.9 },
        Halt::SpeedWithBoltLoose,
        Halt::OffTarget { error: -179.9 },
        Halt::DoubtTooWide { doubt: 99.9 },
        Halt::NotTakenBack { expected: -179.9, read: -179.9 },
        Halt::NoAdvanceAbove,
        Halt::SignWrong,
        Halt::ReferenceUnchanged,
        Halt::DelayRemains { delay_us: -9999.0 },
        Halt::MechanismOut,
        Halt::LinkStillOut,
        Halt::BoltStillLoose,
        Halt::StopStillIn,
        Halt::NotStored,
        Halt::EngineStopped,
        Halt::EngineRuns,
        Halt::StoreFailed,
    ];
    halts.extend(CauseId::ALL.iter().map(|cause| Halt::OtherCause(*cause)));
    halts
}

#[test]
fn every_stop_says_what_and_how_to_go_on_within_its_lines() {
    for halt in widest_halts() {
        let (what, how): (String, String) = (What(halt).to_string(), GoOn(halt).to_string());
        fits_lines("what", &what, 2);
        fits_lines("go on", &how, 3);
    }
    for id in [Alarm::TurnsWithStop, Alarm::SpeedWithBoltLoose, Alarm::TurnsWhileReachingIn] {
        fits_lines("alarm", alarm(id), 2);
    }
    Notice::ALL.iter().for_each(|id| fits("notice", notice(*id), LINE));
}

#[test]
fn no_two_letters_of_a_name_share_a_place() {
    assert!(LETTERS.is_ascii());
    for place in 0..LETTERS.len() {
        assert!(!LETTERS.bytes().take(place).any(|other| letter(place).as_bytes() == [other]), "{place}");
    }
}
