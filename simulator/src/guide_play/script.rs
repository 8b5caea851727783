//! A script of keys and hands, one act a line, `#` begins a remark.
//!
//! ```text
//! press Next            a key, by its label          link base | back       the base-mode link
//! hold Hold: OK 0.8     a key held for seconds       fixed held | released  the fixed value
//! choose Start the job  an item of the menu          bolt loose | tight     the clamp bolt
//! wait 2.5              seconds                      housing -1.5           turned by housing degrees
//! auto [Set]            scripted technician works    throttle 0.1           0 closed to 1 open
//!                       to that step, or to the end  key on | off           starter on | off
//! slip link-forgotten   a mistake in the next auto   hose on | off          clips on | off
//! unhurried 2           every auto from here on sees for so many seconds what the screen asks before it is done
//! reset                 the handheld restarts        lead 1 | coil | off    where the clamp is
//! ```

use super::{Bench, Hands, Slip};
use crate::engine::controls::Lead;
use keyway_core::job::Rotation;
use keyway_core::view::{KeyLabel, MenuItem, StepId};
use keyway_core::words;

/// One act of a script.
#[derive(Debug, Clone, PartialEq)]
pub enum Act {
    /// A key, held for so many seconds.
    Key(KeyLabel, f64),
    /// An item of the menu.
    Choose(MenuItem),
    /// Time passes.
    Wait(f64),
    /// The scripted technician works to this step, or to the end.
    Auto(Option<StepId>),
    /// A mistake that the technician makes next.
    Slip(Slip),
    /// From here on the technician does nothing before the screen has asked for it for so many seconds.
    Unhurried(f64),
    /// The handheld restarts.
    Reset,
    /// A hand at the engine: what, and how.
    Hand(Hand),
}

/// What a hand does.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(missing_docs, reason = "the words of the script say what each is")]
pub enum Hand {
    Link(bool),
    Fixed(bool),
    Bolt(bool),
    Housing(f64),
    Throttle(f64),
    Key(bool),
    Starter(bool),
    Hose(bool),
    Clips(bool),
    Lead(Lead),
}

/// The acts of a script.
///
/// # Errors
/// The line's number, from 1, what was read and what was expected.
pub fn parse(text: &str) -> Result<Vec<Act>, (usize, String)> {
    let mut acts = Vec::new();
    for (place, line) in text.lines().enumerate() {
        let line = line.split('#').next().unwrap_or("").trim();
        if !line.is_empty() {
            acts.push(
                act(line).map_err(|expected| (place + 1, format!("read \"{line}\", expected {expected}")))?,
            );
        }
    }
    Ok(acts)
}

fn act(line: &str) -> Result<Act, String> {
    let (word, rest) = line.split_once(' ').map_or((line, ""), |(word, rest)| (word, rest.trim()));
    let number = || rest.parse::<f64>().ok().filter(|number| number.is_finite()).ok_or("a number".to_owned());
    let either = |yes: &str, no: &str| match rest {
        _ if rest == yes => Ok(true),
        _ if rest == no => Ok(false),
        _ => Err(format!("\"{word} {yes}\" or \"{word} {no}\"")),
    };
    Ok(match word {
        "press" => Act::Key(label(rest)?, 0.1),
        "hold" => {
            let (name, seconds) = rest.rsplit_once(' ').ok_or("a key and seconds")?;
            let seconds = seconds.parse().ok().filter(|seconds| (0.0..60.0).contains(seconds));
            Act::Key(label(name)?, seconds.ok_or("seconds, 0 to 60")?)
        }
        "choose" => Act::Choose(found(MenuItem::ALL, rest, words::menu_item, "an item of the menu")?),
        "wait" => Act::Wait(number()?.clamp(0.0, 3600.0)),
        "auto" if rest.is_empty() => Act::Auto(None),
        "auto" => Act::Auto(Some(found(StepId::ALL, rest, words::title, "the title of a step")?)),
        "slip" => Act::Slip(found(Slip::ALL, rest, Slip::name, "a slip")?),
        "unhurried" => Act::Unhurried(number()?.clamp(0.0, 10.0)),
        "reset" => Act::Reset,
        "link" => Act::Hand(Hand::Link(either("base", "back")?)),
        "fixed" => Act::Hand(Hand::Fixed(either("held", "released")?)),
        "bolt" => Act::Hand(Hand::Bolt(either("tight", "loose")?)),
        "housing" => Act::Hand(Hand::Housing(number()?)),
        "throttle" => Act::Hand(Hand::Throttle(number()?.clamp(0.0, 1.0))),
        "key" => Act::Hand(Hand::Key(either("on", "off")?)),
        "starter" => Act::Hand(Hand::Starter(either("on", "off")?)),
        "hose" => Act::Hand(Hand::Hose(either("on", "off")?)),
        "clips" => Act::Hand(Hand::Clips(either("on", "off")?)),
        "lead" => Act::Hand(Hand::Lead(match rest {
            "coil" => Lead::Coil,
            "off" => Lead::Off,
            _ => Lead::Cylinder(rest.parse().map_err(|_| "a cylinder, \"coil\" or \"off\"")?),
        })),
        _ => {
            return Err(
                "press, hold, choose, wait, auto, slip, unhurried, reset or something for a hand to do"
                    .to_owned(),
            );
        }
    })
}

fn label(name: &str) -> Result<KeyLabel, String> {
    found(KeyLabel::ALL, name, words::key, "the label of a key")
}

fn found<T: Copy>(all: &[T], name: &str, word: fn(T) -> &'static str, what: &str) -> Result<T, String> {
    all.iter()
        .copied()
        .find(|one| !name.is_empty() && word(*one).eq_ignore_ascii_case(name))
        .ok_or_else(|| what.to_owned())
}

/// Carries a script out; gives the number of the first act that could not be done, from 1.
///
/// # Errors
/// That number, and why.
pub fn carry_out(acts: &[Act], bench: &mut Bench, rotor: Rotation) -> Result<(), (usize, String)> {
    let mut slips = Vec::new();
    let mut patience = 0.0;
    for (place, act) in acts.iter().enumerate() {
        let failed = |why: &str| Err((place + 1, why.to_owned()));
        match act {
            Act::Key(label, seconds) => {
                let Some(key) = bench.view().keys.iter().position(|key| key == label) else {
                    return failed(&format!("no key is labelled \"{}\" now", words::key(*label)));
                };
                bench.key(key as u8, true);
                bench.pass(*seconds);
                bench.key(key as u8, false);
                bench.pass(0.05);
            }
            Act::Choose(item) => {
                if !Hands::choose(bench, *item) {
                    return failed(&format!("the menu has no \"{}\" now", words::menu_item(*item)));
                }
                bench.pass(0.1);
            }
            Act::Wait(seconds) => bench.pass(*seconds),
            Act::Auto(step) => {
                let mut hands = Hands::new(rotor, &std::mem::take(&mut slips)).unhurried(patience);
                if !hands.work(bench, *step, 600.0) {
                    return failed("the technician did not get there within 600 s");
                }
            }
            Act::Slip(slip) => slips.push(*slip),
            Act::Unhurried(seconds) => patience = *seconds,
            Act::Reset => bench.reset(),
            Act::Hand(hand) => {
                do_hand(*hand, bench);
                bench.pass(0.05);
            }
        }
    }
    Ok(())
}

fn do_hand(hand: Hand, bench: &mut Bench) {
    if let Hand::Clips(on) = hand {
        return bench.clip(on);
    }
    let controls = bench.engine.controls_mut();
    match hand {
        Hand::Link(base) => controls.base_mode = base,
        Hand::Fixed(held) => controls.hold_fixed = held,
        Hand::Bolt(tight) => controls.bolt_tight = tight,
        Hand::Housing(by) => controls.housing_deg += by,
        Hand::Throttle(open) => controls.throttle = open,
        Hand::Key(on) => controls.ignition = on,
        Hand::Starter(on) => controls.starter = on,
        Hand::Hose(on) => controls.hose_on = on,
        Hand::Lead(lead) => controls.lead = lead,
        Hand::Clips(_) => {}
    }
}
