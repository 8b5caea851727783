//! The wheel or marks on the crank, and the pickup that looks at them.
//!
//! *Tooth*: whatever passes the pickup, of a wheel or a lone mark. A tooth gives two level changes; the one
//! that the job times from comes first. On a variable-reluctance wheel the change back comes midway to the
//! next tooth, so its pattern differs: the gap shows as two intervals.

use super::{Chance, Motion};

/// What passes the pickup in one turn.
#[derive(Debug, Clone, PartialEq)]
pub enum Wheel {
    /// An even wheel with one gap.
    Teeth {
        /// Slots, the missing ones included.
        slots: u8,
        /// Missing slots.
        missing: u8,
        /// Where the first tooth after the gap passes, degrees before top dead centre.
        first_btdc: f64,
    },
    /// Marks, each so many degrees before top dead centre.
    Marks(Vec<f64>),
}

impl Wheel {
    /// Teeth as (degrees after top dead centre, degrees until the level changes back), in turning order.
    fn teeth(&self, variable_reluctance: bool, mark_width: f64) -> Vec<(f64, f64)> {
        match self {
            Self::Teeth { slots, missing, first_btdc } => {
                let pitch = 360.0 / f64::from(*slots);
                let count = slots - missing;
                (0..count)
                    .map(|slot| {
                        // Measured in the gap of a real wheel of two missing teeth: intervals of 1.98 and
                        // 1.92 pitches (TU Eindhoven recordings, CHECKS.md 8.1 and 9.1).
                        let half_gap = (f64::from(*missing) + 1.0) / 2.0;
                        let back = if variable_reluctance && slot + 1 == count { half_gap } else { 0.5 };
                        (-first_btdc + f64::from(slot) * pitch, back * pitch)
                    })
                    .collect()
            }
            Self::Marks(marks) => {
                let mut teeth: Vec<(f64, f64)> = marks.iter().map(|mark| (-mark, mark_width)).collect();
                teeth.sort_by(|a, b| a.0.rem_euclid(360.0).total_cmp(&b.0.rem_euclid(360.0)));
                teeth
            }
        }
    }
}

/// The wheel as made, and its pickup with its faults.
#[derive(Debug, Clone)]
pub struct Trigger {
    /// What passes.
    pub wheel: Wheel,
    /// Manufacturing error of each tooth, degrees, standard deviation.
    pub tooth_error: f64,
    /// A variable-reluctance wheel: the level changes back midway to the next tooth.
    pub variable_reluctance: bool,
    /// Width of a mark, degrees.
    pub mark_width: f64,
    /// Beside the gap: the first tooth is late by the one, the last early by the other, degrees.
    pub end_shift: (f64, f64),
    /// Jitter of every edge, seconds, standard deviation.
    pub jitter: f64,
    /// Delay of every edge, seconds.
    pub delay: f64,
    /// Probability that a tooth is not seen.
    pub lost: f64,
    /// Teeth not seen, counted from the start of the capture.
    pub lose: Vec<usize>,
    /// False pulses a second, and their length in seconds from and to.
    pub false_pulses: (f64, f64, f64),
    /// False pulses at given moments: start and length, seconds.
    pub pulses: Vec<(f64, f64)>,
    /// Probability that a spark couples a pulse into the signal, and its length in seconds from and to.
    pub coupled: (f64, f64, f64),
}

impl Trigger {
    /// A perfect pickup on a perfect wheel.
    pub fn perfect(wheel: Wheel) -> Self {
        Self {
            wheel,
            tooth_error: 0.0,
            variable_reluctance: false,
            mark_width: 5.0,
            end_shift: (0.0, 0.0),
            jitter: 0.0,
            delay: 0.0,
            lost: 0.0,
            lose: Vec::new(),
            false_pulses: (0.0, 0.0, 0.0),
            pulses: Vec::new(),
            coupled: (0.0, 0.0, 0.0),
        }
    }

    /// Moments of level changes, the active one first; `sparks` are moments at which pulses may couple in.
    pub(super) fn changes(
        &self,
        motion: &Motion,
        seconds: f64,
        sparks: &[f64],
        chance: &mut Chance,
    ) -> Vec<f64> {
        let mut changes = self.tooth_changes(motion, seconds, chance);
        for spark in sparks {
            let (probability, shortest, longest) = self.coupled;
            if chance.happens(probability) {
                let start = spark + chance.between(0.0, 4e-6);
                changes.extend([start, start + chance.between(shortest, longest)]);
            }
        }
        let (rate, shortest, longest) = self.false_pulses;
        let mut at = chance.wait(rate);
        while at < seconds {
            changes.extend([at, at + chance.between(shortest, longest)]);
            at += chance.wait(rate);
        }
        for (start, length) in &self.pulses {
            changes.extend([*start, start + length]);
        }
        changes.sort_by(f64::total_cmp);
        changes
    }

    fn tooth_changes(&self, motion: &Motion, seconds: f64, chance: &mut Chance) -> Vec<f64> {
        let mut teeth = self.wheel.teeth(self.variable_reluctance, self.mark_width);
        let last = teeth.len() - 1;
        for tooth in &mut teeth {
            tooth.0 += chance.normal() * self.tooth_error;
        }
        if matches!(self.wheel, Wheel::Teeth { .. }) {
            teeth[0].0 += self.end_shift.0;
            teeth[last].0 -= self.end_shift.1;
        }
        let mut changes = Vec::new();
        let first_turn = libm::floor(motion.degrees_at(0.0) / 360.0) as i64 - 1;
        let mut near = 0.0;
        let mut seen = 0;
        let mut turn = first_turn;
        while near < seconds {
            for (angle, width) in &teeth {
                let degrees = turn as f64 * 360.0 + angle;
                near = motion.seconds_at(degrees, near);
                let back = motion.seconds_at(degrees + width, near);
                let (jitter, back_jitter) = (chance.normal() * self.jitter, chance.normal() * self.jitter);
                let lost_by_chance = chance.happens(self.lost);
                if near + self.delay + jitter < 0.0 || near > seconds {
                    continue;
                }
                let lost = lost_by_chance || self.lose.contains(&seen);
                seen += 1;
                if !lost {
                    let start = near + self.delay + jitter;
                    changes.extend([start, (back + self.delay + back_jitter).max(start + 2e-7)]);
                }
            }
            turn += 1;
        }
        changes
    }
}
