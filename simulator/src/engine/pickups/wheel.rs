//! The wheel on the crank: which edges pass the pickup in one turn, and where.
//!
//! *Slot*: the place of a tooth or mark in the order of passing, slot 0 the first after the gap.
//! *Place*: degrees after top dead centre of cylinder one, 0 to below 360. A real wheel is cut with
//! errors: each tooth has its own, and the whole runs out of centre once a turn.

use super::super::random::Dice;
use super::tooth::{EndTeeth, Sensor};
use keyway_core::job::CrankSpec;

/// The physical wheel and its sensor.
#[derive(Debug, Clone, PartialEq)]
pub struct Wheel {
    /// The wheel that is really there.
    pub pattern: CrankSpec,
    /// Its sensor.
    pub sensor: Sensor,
    /// What the teeth beside the gap do.
    pub end_teeth: EndTeeth,
    /// Standard deviation of a tooth's place, degrees.
    pub tooth_error: f64,
    /// Amplitude of the run-out, degrees.
    pub run_out: f64,
    /// Standard deviation of one edge from turn to turn, degrees.
    pub jitter: f64,
    /// The two ends of the sensor are swapped: good and bad edge change places.
    pub reversed: bool,
    /// Probability that the first tooth after the gap fails to give a pulse.
    pub first_tooth_lost: f64,
    /// What the job declares, and the sensor does: each edge so much late, s.
    pub delay: f64,
}

impl Wheel {
    /// A wheel as declared, cut well, with a sensor that suits it.
    pub fn new(pattern: CrankSpec, delay: f64) -> Self {
        let toothed = matches!(pattern, CrankSpec::Wheel { .. });
        Self {
            pattern,
            sensor: if toothed { Sensor::ZeroCrossing { arms_at_rpm: 40.0 } } else { Sensor::Hall },
            end_teeth: if toothed { EndTeeth::GrowingWithSpeed } else { EndTeeth::InPlace },
            tooth_error: 0.02,
            run_out: 0.01,
            jitter: 0.015,
            reversed: false,
            first_tooth_lost: 0.0,
            delay,
        }
    }
}

/// Whether a tooth stands beside the gap.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Beside {
    Nothing,
    After,
    Before,
}

/// One edge of the turn.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Place {
    degrees: f64,
    good: bool,
    beside: Beside,
}

/// An edge about to pass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passing {
    /// Running angle at which it passes, degrees.
    pub angle: f64,
    /// Whether the line goes active.
    pub active: bool,
    /// Lost on the way: the line stays as it was.
    pub lost: bool,
}

/// The edges of the wheel, turn after turn.
#[derive(Debug, Clone)]
pub struct Edges {
    places: Vec<Place>,
    pitch: f64,
    sensor: Sensor,
    end_teeth: EndTeeth,
    jitter: f64,
    reversed: bool,
    first_tooth_lost: f64,
    next: usize,
    turn: f64,
    losing: bool,
    dice: Dice,
}

/// Width of a single mark on Hall and optical sensors, degrees.
const MARK_WIDTH: f64 = 8.0;
/// How long before the centre of a single mark a coil's voltage starts, degrees.
const COIL_RISE: f64 = 3.0;

impl Edges {
    /// The edges of this wheel from running angle 0 on.
    pub fn new(wheel: &Wheel, dice: Dice) -> Self {
        let mut dice = dice;
        let coil = wheel.sensor.is_variable_reluctance();
        let phase = dice.between(0.0, 360.0);
        let mut cut = |degrees: f64| {
            let run_out = wheel.run_out * (degrees - phase).to_radians().sin();
            degrees + run_out + wheel.tooth_error * dice.normal()
        };
        let mut places = Vec::new();
        let mut pair = |good: f64, bad: f64, beside| {
            places.push(Place { degrees: good.rem_euclid(360.0), good: true, beside });
            places.push(Place { degrees: bad.rem_euclid(360.0), good: false, beside: Beside::Nothing });
        };
        let pitch = match &wheel.pattern {
            CrankSpec::Wheel { teeth, missing, first_edge_btdc } => {
                let pitch = 360.0 / f64::from(*teeth);
                let count = teeth - missing;
                let gap = pitch * (1.0 + f64::from(*missing));
                for slot in 0..count {
                    let place = cut(f64::from(slot) * pitch - f64::from(*first_edge_btdc));
                    let (beside, bad) = match slot {
                        _ if slot + 1 == count => {
                            (Beside::Before, if coil { 0.48 * gap } else { 0.45 * pitch })
                        }
                        0 => (Beside::After, 0.45 * pitch),
                        _ => (Beside::Nothing, 0.45 * pitch),
                    };
                    pair(place, place + bad, beside);
                }
                pitch
            }
            CrankSpec::Marks(marks) => {
                for mark in marks {
                    let place = cut(-f64::from(*mark));
                    pair(place, if coil { place - COIL_RISE } else { place + MARK_WIDTH }, Beside::Nothing);
                }
                30.0
            }
        };
        places.sort_by(|one, other| one.degrees.total_cmp(&other.degrees));
        Self {
            places,
            pitch,
            sensor: wheel.sensor,
            end_teeth: wheel.end_teeth,
            jitter: wheel.jitter,
            reversed: wheel.reversed,
            first_tooth_lost: wheel.first_tooth_lost,
            next: 0,
            turn: 0.0,
            losing: false,
            dice,
        }
    }

    /// The next edge at this speed; call once for each edge, in their order.
    pub fn next(&mut self, rpm: f64) -> Passing {
        let place = self.places.get(self.next).copied().unwrap_or(Place {
            degrees: 0.0,
            good: true,
            beside: Beside::Nothing,
        });
        let turn = self.turn;
        self.next += 1;
        if self.next >= self.places.len() {
            self.next = 0;
            self.turn += 360.0;
        }
        let (late, early) = self.end_teeth.shifts(rpm);
        let beside = match place.beside {
            Beside::Nothing => 0.0,
            Beside::After => late,
            Beside::Before => -early,
        };
        let threshold = if place.good { self.sensor.early_pitches(rpm) } else { 0.0 };
        // A bad edge of a coil is a shallow crossing: it wanders far more than a good one.
        let steadiness =
            if place.good || !self.sensor.is_variable_reluctance() { self.jitter } else { 6.0 * self.jitter };
        let shift = (beside - threshold) * self.pitch + steadiness * self.dice.normal();
        if place.beside == Beside::After {
            self.losing = self.dice.chance(self.first_tooth_lost);
        } else if place.good {
            self.losing = false;
        }
        Passing {
            angle: turn + place.degrees + shift,
            active: place.good != self.reversed,
            lost: self.losing || !self.sensor.sees(rpm),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn intervals(good: bool, rpm: f64) -> Vec<f64> {
        let pattern = CrankSpec::Wheel { teeth: 60, missing: 2, first_edge_btdc: 84.0 };
        let mut edges = Edges::new(&Wheel::new(pattern, 0.0), Dice::new(5, "wheel"));
        let angles: Vec<f64> = (0..58 * 2 * 6)
            .map(|_| edges.next(rpm))
            .filter(|edge| edge.active == good)
            .map(|edge| edge.angle)
            .collect();
        angles.windows(2).map(|pair| (pair[1] - pair[0]) / 6.0).collect()
    }

    /// CHECKS 8.1: the good edge shows one interval of 3.08 to 3.36 pitches, the bad edge two of 1.65
    /// to 2.4 each and never one of 3.
    #[test]
    fn the_gap_shows_on_the_good_edge_and_splits_in_two_on_the_bad_one() {
        for rpm in [540.0, 1500.0, 2400.0, 3000.0] {
            let good = intervals(true, rpm);
            let gaps: Vec<f64> = good.iter().copied().filter(|span| *span > 1.6).collect();
            assert!((5..=6).contains(&gaps.len()));
            assert!(gaps.iter().all(|gap| (3.05..=3.39).contains(gap)), "{rpm}: {gaps:?}");
            let bad: Vec<f64> = intervals(false, rpm).into_iter().filter(|span| *span > 1.5).collect();
            assert!((10..=12).contains(&bad.len()), "{rpm}: {bad:?}");
            assert!(bad.iter().all(|span| (1.65..=2.4).contains(span)), "{rpm}: {bad:?}");
        }
    }

    #[test]
    fn a_mark_passes_once_a_turn_where_it_is_declared() {
        let marks = CrankSpec::Marks([10.0, 75.0].into_iter().collect());
        let mut wheel = Wheel::new(marks, 0.0);
        (wheel.tooth_error, wheel.run_out, wheel.jitter) = (0.0, 0.0, 0.0);
        let mut edges = Edges::new(&wheel, Dice::new(5, "wheel"));
        let good: Vec<f64> =
            (0..8).map(|_| edges.next(700.0)).filter(|edge| edge.active).map(|edge| edge.angle).collect();
        assert_eq!(good, [285.0, 350.0, 645.0, 710.0]);
    }
}
