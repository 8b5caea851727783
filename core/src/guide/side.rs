//! Side trips: true zero from a piston stop, teaching the wheel, a no-start, causes and checks. Each comes
//! back to the step it was taken from.
//!
//! *Piston stop*: the pointer is read by eye at both sides and keyed in. The middle of the two, m degrees
//! before the mark's zero, is true top dead centre, so the mark's zero passes m degrees after it. A reading
//! by eye is good to half a degree; two of them in the mean leave ±0.35 degrees.
//!
//! *Teaching*: a pickup on a mark at proven zero is clipped to the spark input, so the wheel's own
//! interpolation times the mark; it should read where the mark is. What it reads too much, the first edge
//! as entered is too much.

use super::{Guide, Now};
use crate::corrections::{Corrected, Corrections};
use crate::geometry::middle_of_stops;
use crate::job::{Control, EngineSpec, JobSpec, PerCylinder, SparkKind};
use crate::statistics::functions::square_root;
use crate::units::CrankAngle;
use crate::view::{GateId, Halt, KeyLabel, Mark, Notice, OtherCheck, StepId, ZeroStage};

/// A stop read by eye on a scale or degree wheel, half width, degrees.
const BY_EYE: f32 = 0.5;
/// Turns that teaching needs.
pub(super) const TEACH_TURNS: u16 = 40;

/// A side trip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Side {
    /// None: at the step.
    None,
    /// Causes with their evidence.
    Causes {
        /// The one spelt out.
        selected: u8,
    },
    /// The check that would tell most.
    NextCheck,
    /// What else makes it run badly.
    Others {
        /// The one spelt out.
        selected: u8,
        /// Looked at.
        seen: [bool; 5],
    },
    /// True zero.
    Zero(ZeroWork),
    /// Teaching the wheel.
    Teach,
    /// The corrections of the job.
    Corrections {
        /// The one that *forget* is about.
        selected: u8,
    },
    /// A no-start.
    NoStart,
}

/// True zero under way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZeroWork {
    /// Where it stands.
    pub stage: ZeroStage,
    /// What is being entered, degrees before the mark's zero.
    pub entry: f32,
    /// What `more` adds; 0 changes the side.
    pub digit: f32,
    /// The first reading.
    pub first: Option<f32>,
    /// The second.
    pub second: Option<f32>,
}

impl ZeroWork {
    const START: Self =
        Self { stage: ZeroStage::Prepare, entry: 30.0, digit: 10.0, first: None, second: None };

    /// The stop is to be taken out.
    pub(super) const STOP_OUT: Self = Self { stage: ZeroStage::StopOut, ..Self::START };

    /// The crank is being turned by hand between the stops.
    pub(super) fn turned_by_hand(&self) -> bool {
        matches!(self.stage, ZeroStage::Prepare | ZeroStage::First | ZeroStage::Second)
    }

    /// The mark's place from both readings, with its ±; `None` while one is missing or they can't be.
    pub fn mark(&self) -> Option<Corrected> {
        let at = |reading: f32| CrankAngle::at_btdc(reading);
        let middle = middle_of_stops(at(self.first?), at(self.second?))?;
        Some(Corrected { degrees: -middle.advance().degrees(), doubt: BY_EYE / square_root(2.0) })
    }

    /// The next digit to change: tens, ones, tenths, side.
    fn next_digit(&mut self) {
        self.digit = match self.digit {
            digit if digit >= 10.0 => 1.0,
            digit if digit >= 1.0 => 0.1,
            digit if digit > 0.0 => 0.0,
            _ => 10.0,
        };
    }

    /// One more of the digit, wrapping within 180 degrees of its side; the side turned over for digit 0.
    fn more(&mut self) {
        if self.digit == 0.0 {
            self.entry = -self.entry;
            return;
        }
        let mut size = self.entry.abs() + self.digit;
        if size >= 180.0 {
            size -= 180.0;
        }
        let tenths = (size * 10.0 + 0.5) as i32 as f32 / 10.0;
        self.entry = if self.entry < 0.0 { -tenths } else { tenths };
    }
}

/// The job that teaching measures with: the wheel of the job as entered, and one mark a turn at the spark
/// input at any speed, which is what a single cylinder of a two-stroke would give.
pub fn teaching_job(spec: &JobSpec) -> JobSpec {
    let mut teaching = spec.clone();
    let mut order = PerCylinder::new();
    let _ = order.push(1);
    teaching.engine = EngineSpec {
        cylinders: 1,
        strokes: 2,
        firing_order: order,
        firing_intervals: None,
        spark: SparkKind::Single,
        rotor: None,
        reference: None,
        drive_gear_teeth: None,
        housing_diameter_mm: None,
    };
    teaching.timing.control = Control::Mechanical;
    teaching.timing.commanded_btdc = None;
    teaching.timing.harness_offset = 0.0;
    teaching.timing.idle_rpm = [50.0, 3000.0];
    teaching
}

impl Guide {
    /// Opens a side trip.
    pub fn open_side(&mut self, side: Side) {
        let teaching = side == Side::Teach || self.side == Side::Teach;
        if side == Side::NoStart && self.side != Side::NoStart {
            self.cranked = None;
        }
        self.side = side;
        self.wishes.rebuild |= teaching;
        self.held = None;
    }

    /// Opens the piston stop's trip from its beginning.
    pub fn open_zero(&mut self) {
        self.open_side(Side::Zero(ZeroWork::START));
    }

    /// Whether the wheel is being taught, so that the meter runs on the teaching job.
    pub fn teaching(&self) -> bool {
        self.side == Side::Teach
    }

    pub(super) fn tick_side(&mut self, now: &Now) {
        if let Side::Zero(_) = self.side
            && let Some(caution) = self.caution(now)
        {
            self.tick_caution(caution, now);
        }
    }

    /// What teaching found: what has to be added to the pattern's angles, with its ±.
    pub fn taught(&self, now: &Now) -> Option<Corrected> {
        let read = now.sensed.known.advance.filter(|_| now.sensed.known.sparks >= TEACH_TURNS)?;
        let zero = self.facts.corrections.zero;
        let place = zero.map_or(0.0, |zero| zero.degrees);
        let own = zero.map_or(0.0, |zero| zero.doubt);
        let doubt = now.sensed.known.doubt;
        Some(Corrected { degrees: place - read, doubt: square_root(doubt * doubt + own * own) })
    }

    /// The keys of a side trip.
    pub(super) fn side_keys(&self, now: &Now) -> [KeyLabel; 4] {
        use KeyLabel::*;
        match &self.side {
            Side::None => [None; 4],
            Side::Causes { .. } => {
                let stopped = matches!(self.halt, Some(Halt::OtherCause(_)));
                [Back, Down, Check, if stopped { Skip } else { None }]
            }
            Side::NextCheck => self.check_keys(self.check(now), now),
            Side::Others { .. } => [Back, Down, None, Done],
            Side::NoStart => [Back, Again, Causes, None],
            Side::Corrections { .. } => self.corrections_keys(),
            Side::Teach => [Back, Again, None, if self.taught(now).is_some() { Enter } else { None }],
            Side::Zero(zero) => match zero.stage {
                ZeroStage::Prepare => [Back, None, None, Next],
                ZeroStage::First | ZeroStage::Second => [Back, Digit, More, Enter],
                ZeroStage::Result => [Again, None, None, if zero.mark().is_some() { Enter } else { None }],
                ZeroStage::StopOut => [None, None, None, Done],
            },
        }
    }

    pub(super) fn side_key(&mut self, label: KeyLabel, now: &Now) {
        match self.side {
            Side::None => {}
            Side::Causes { selected } => match label {
                KeyLabel::Down => {
                    let count = now.sensed.known.causes.iter().flatten().count() as u8;
                    self.side = Side::Causes { selected: (selected + 1) % count.max(1) };
                }
                KeyLabel::Check => self.side = Side::NextCheck,
                KeyLabel::Skip => {
                    self.open_side(Side::None);
                    if let Some(Halt::OtherCause(cause)) = self.halt.take() {
                        self.known_of = Some(cause);
                    }
                }
                _ => self.open_side(Side::None),
            },
            Side::NextCheck => self.check_key(self.check(now), label, now),
            Side::Others { selected, mut seen } => match label {
                KeyLabel::Down => {
                    let selected = (selected + 1) % OtherCheck::ALL.len() as u8;
                    self.side = Side::Others { selected, seen };
                }
                KeyLabel::Done => {
                    if let Some(seen) = seen.get_mut(usize::from(selected)) {
                        *seen = true;
                    }
                    self.side = Side::Others { selected, seen };
                }
                _ => self.open_side(Side::None),
            },
            Side::NoStart => match label {
                KeyLabel::Again => {
                    self.cranked = None;
                    self.wishes.restart = true;
                }
                KeyLabel::Causes => self.side = Side::Causes { selected: 0 },
                _ => self.open_side(Side::None),
            },
            Side::Corrections { selected } => self.corrections_key(selected, label, now),
            Side::Teach => match label {
                KeyLabel::Again => self.wishes.restart = true,
                KeyLabel::Enter => {
                    if let Some(found) = self.taught(now) {
                        self.correct(Corrections { wheel: Some(found), ..self.facts.corrections });
                        self.wishes.notice = Some(Notice::EdgeTaken);
                        self.open_side(Side::None);
                    }
                }
                _ => self.open_side(Side::None),
            },
            Side::Zero(zero) => self.zero_key(zero, label),
        }
    }

    fn zero_key(&mut self, mut zero: ZeroWork, label: KeyLabel) {
        match (zero.stage, label) {
            // Once the stop may be in, the way back leads over taking it out.
            (ZeroStage::Prepare, KeyLabel::Back) => return self.open_side(Side::None),
            (ZeroStage::Prepare, _) => {
                zero.stage = ZeroStage::First;
                self.facts.stop_in = true;
                self.facts.mark(GateId::StopOut, Mark::Open);
                self.wishes.save_state = true;
            }
            (ZeroStage::First, KeyLabel::Back) => zero.stage = ZeroStage::StopOut,
            (ZeroStage::Second, KeyLabel::Back) => zero.stage = ZeroStage::First,
            (ZeroStage::First | ZeroStage::Second, KeyLabel::Digit) => zero.next_digit(),
            (ZeroStage::First | ZeroStage::Second, KeyLabel::More) => zero.more(),
            (ZeroStage::First, _) => {
                zero.first = Some(zero.entry);
                zero.entry = -zero.entry;
                zero.digit = 10.0;
                zero.stage = ZeroStage::Second;
            }
            (ZeroStage::Second, _) => {
                zero.second = Some(zero.entry);
                zero.stage = ZeroStage::Result;
            }
            (ZeroStage::Result, KeyLabel::Enter) => {
                if let Some(mark) = zero.mark() {
                    self.correct(Corrections { zero: Some(mark), ..self.facts.corrections });
                    self.wishes.notice = Some(Notice::ZeroTaken);
                }
                zero.stage = ZeroStage::StopOut;
                self.wishes.save_state = true;
            }
            (ZeroStage::Result, _) => {
                zero = ZeroWork { stage: ZeroStage::First, ..ZeroWork::START };
            }
            (ZeroStage::StopOut, _) => {
                self.facts.stop_in = false;
                self.facts.mark(GateId::StopOut, Mark::Told);
                self.wishes.save_state = true;
                return self.open_side(Side::None);
            }
        }
        self.side = Side::Zero(zero);
    }

    /// Whether a side trip may be opened at this step.
    pub fn may_open(&self, stop: bool) -> bool {
        let early =
            matches!(self.state.step(), StepId::MakeSafe | StepId::Connect | StepId::Witness | StepId::Zero);
        !stop || early || self.state.step() == StepId::Points
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_stop_readings_across_zero_give_the_place_of_the_mark() {
        // CHECKS.md section 1: 24.5 one way and 341.0 the other on a degree wheel give 2.75 (computed there).
        // The wheel counts with rotation, so 24.5 on it is 24.5 after its zero.
        let zero = ZeroWork { first: Some(-24.5), second: Some(19.0), ..ZeroWork::START };
        let mark = zero.mark().map(|mark| mark.degrees);
        assert!(mark.is_some_and(|mark| (mark - 2.75).abs() < 1e-4), "{mark:?}");
    }

    #[test]
    fn every_tenth_up_to_180_on_either_side_can_be_entered() {
        let mut zero = ZeroWork { entry: 0.0, ..ZeroWork::START };
        zero.digit = 0.1;
        for tenths in 1..1800 {
            zero.more();
            assert!((zero.entry - tenths as f32 / 10.0).abs() < 1e-3, "{tenths} {}", zero.entry);
        }
        zero.digit = 0.0;
        zero.more();
        assert!(zero.entry < 0.0);
    }
}
