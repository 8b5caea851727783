//! Edges of a crank that a starter turns against the engine's compression, and what each truly was.
//!
//! *Law*: the speed as a function of the crank's angle. *Compressions*: how much of the swing each cylinder's
//! compression makes, in firing order over two turns. *Course*: by what the mean speed is multiplied after so
//! many turns, and what of the swing is left there.
//!
//! The speed is given over the angle, not over time: so a tooth's moment is a plain sum of small steps, and the
//! same source serves every wheel.

use crate::edge_source::Chance;

/// Steps of the sum, in a degree.
const STEPS: u32 = 2;

/// How the speed depends on the angle between two compressions.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Law {
    /// A sine between slowest and fastest.
    Sine,
    /// The gas is compressed and springs back: the square of the speed falls by the work put into it, of the
    /// compression ratio 15 and an exponent of 1.3. Slow for a short while at top dead centre.
    GasSpring,
    /// The mirror of it: fast for a short while.
    ShortRush,
}

/// An engine on its starter.
#[derive(Debug, Clone)]
pub struct Starter {
    /// Parts of the swing, one for each compression of two turns.
    pub compressions: Vec<f64>,
    /// Where each compression's top dead centre is, degrees after the first one's.
    pub centres: Vec<f64>,
    /// How the speed swings.
    pub law: Law,
    /// Slowest and fastest, rpm, where every compression counts whole.
    pub rpm: [f64; 2],
    /// Where the crank stands at time zero, degrees after the first compression's top dead centre.
    pub start: f64,
    /// Degrees from standstill until most of the speed is reached; 0 where the crank turns already.
    pub run_in: f64,
    /// (turns, factor of the speed, part of the swing left), straight between them and steady outside.
    pub course: Vec<(f64, f64, f64)>,
    /// Turns to be made.
    pub turns: f64,
}

/// The wheel and its pickup.
#[derive(Debug, Clone)]
pub struct Pickup {
    /// Slots, the missing ones included.
    pub slots: u8,
    /// Missing slots.
    pub missing: u8,
    /// Where the first tooth after the gap passes, degrees after the first compression's top dead centre.
    pub first: f64,
    /// Error of each tooth, degrees, standard deviation.
    pub tooth_error: f64,
    /// The tooth after the gap is late by the one, the last before it early by the other, degrees.
    pub end_shift: [f64; 2],
    /// Jitter of each edge, seconds, standard deviation.
    pub jitter: f64,
}

/// An edge, and the slot of the tooth that made it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ToothEdge {
    /// Ticks of 0.1 µs.
    pub at: u64,
    /// Its tooth.
    pub slot: u8,
}

impl Starter {
    /// So many equal compressions in two turns, of the published V8: 85 to 225 rpm.
    pub fn even(cylinders: u8, law: Law, start: f64) -> Self {
        let apart = 720.0 / f64::from(cylinders);
        Self::with_centres((0..cylinders).map(|index| apart * f64::from(index)).collect(), law, start)
    }

    /// Equal compressions at these places of two turns.
    pub fn with_centres(centres: Vec<f64>, law: Law, start: f64) -> Self {
        Self {
            compressions: vec![1.0; centres.len()],
            centres,
            law,
            rpm: [85.0, 225.0],
            start,
            run_in: 0.0,
            course: vec![(0.0, 1.0, 1.0)],
            turns: 12.0,
        }
    }

    /// The square of the speed at a place of the cycle, as a part of the way from fastest (0) to slowest (1).
    fn load(&self, degrees: f64) -> f64 {
        let apart = 720.0 / self.compressions.len() as f64;
        let mut load = 0.0;
        for (part, centre) in self.compressions.iter().zip(&self.centres) {
            let from_tdc = (degrees - centre + 360.0).rem_euclid(720.0) - 360.0;
            load += part * self.shape(from_tdc, apart);
        }
        load
    }

    /// What one compression adds to the load, so many degrees from its top dead centre.
    fn shape(&self, from_tdc: f64, apart: f64) -> f64 {
        let within = apart.min(360.0) / 2.0;
        match self.law {
            Law::Sine | Law::ShortRush if from_tdc.abs() > within => 0.0,
            Law::Sine => 0.5 + 0.5 * libm::cos((from_tdc / within * 180.0).to_radians()),
            Law::ShortRush => 1.0 - gas_work(within - from_tdc.abs()),
            Law::GasSpring => gas_work(from_tdc),
        }
    }

    /// The loads of one cycle brought to slowest and fastest.
    fn speeds(&self) -> Vec<f64> {
        let even = Self { compressions: vec![1.0; self.compressions.len()], ..self.clone() };
        let loads = |starter: &Self| -> Vec<f64> {
            (0..720 * STEPS).map(|step| starter.load(f64::from(step) / f64::from(STEPS))).collect()
        };
        let whole = loads(&even);
        let (least, most) = whole
            .iter()
            .fold((f64::MAX, f64::MIN), |(least, most), load| (least.min(*load), most.max(*load)));
        let [slow, fast] = self.rpm;
        loads(self)
            .into_iter()
            .map(|load| {
                let part = ((load - least) / (most - least)).max(-0.2);
                match self.law {
                    Law::Sine => fast + (slow - fast) * part,
                    Law::GasSpring | Law::ShortRush => {
                        let squared = fast * fast + (slow * slow - fast * fast) * part;
                        libm::sqrt(squared.max(0.36 * slow * slow))
                    }
                }
            })
            .collect()
    }

    fn course_at(&self, turns: f64) -> (f64, f64) {
        let next = self.course.iter().position(|point| point.0 > turns);
        match next {
            None => self.course.last().map_or((1.0, 1.0), |point| (point.1, point.2)),
            Some(0) => (self.course[0].1, self.course[0].2),
            Some(index) => {
                let (from, to) = (self.course[index - 1], self.course[index]);
                let part = (turns - from.0) / (to.0 - from.0);
                (from.1 + (to.1 - from.1) * part, from.2 + (to.2 - from.2) * part)
            }
        }
    }

    /// The edges of a pickup, by the seed's chance.
    pub fn edges(&self, pickup: &Pickup, seed: u64) -> Vec<ToothEdge> {
        let mut chance = Chance::new(seed);
        let pitch = 360.0 / f64::from(pickup.slots);
        let count = pickup.slots - pickup.missing;
        let mut teeth: Vec<f64> = (0..count)
            .map(|slot| pickup.first + pitch * f64::from(slot) + chance.normal() * pickup.tooth_error)
            .collect();
        teeth[0] += pickup.end_shift[0];
        teeth[usize::from(count) - 1] -= pickup.end_shift[1];
        let mut places: Vec<(f64, u8)> = Vec::new();
        for turn in -2..self.turns as i32 + 3 {
            places.extend(
                teeth.iter().zip(0..count).map(|(tooth, slot)| (tooth + f64::from(turn) * 360.0, slot)),
            );
        }
        places.retain(|place| place.0 > self.start && place.0 < self.start + self.turns * 360.0);

        let speeds = self.speeds();
        let mean = speeds.iter().sum::<f64>() / speeds.len() as f64;
        let (mut seconds, mut step) = (0.0, 0u32);
        let mut edges = Vec::with_capacity(places.len());
        for (place, slot) in places {
            loop {
                let turned = f64::from(step) / f64::from(STEPS);
                let (factor, left) = self.course_at(turned / 360.0);
                let within = (self.start + turned).rem_euclid(720.0) * f64::from(STEPS);
                let swung = speeds[within as usize % speeds.len()];
                let run_in = if self.run_in > 0.0 {
                    libm::sqrt(1.0 - libm::exp(-(turned + 0.05) / self.run_in))
                } else {
                    1.0
                };
                let rpm = factor * (mean + (swung - mean) * left) * run_in;
                let degree = 1.0 / (6.0 * rpm);
                let ahead = place - self.start - turned;
                if ahead < 1.0 / f64::from(STEPS) {
                    let at = seconds + ahead * degree + 0.01 + chance.normal() * pickup.jitter;
                    edges.push(ToothEdge { at: (at * 1e7) as u64, slot });
                    break;
                }
                seconds += degree / f64::from(STEPS);
                step += 1;
            }
        }
        edges
    }
}

/// Work in the gas of one cylinder, 1 at top dead centre and 0 at bottom.
fn gas_work(from_tdc: f64) -> f64 {
    let (ratio, exponent) = (15.0, 0.3);
    let volume = |degrees: f64| 1.0 + (ratio - 1.0) / 2.0 * (1.0 - libm::cos(degrees.to_radians()));
    let work = |degrees: f64| libm::pow(volume(degrees), -exponent);
    if from_tdc.abs() >= 180.0 { 0.0 } else { (work(from_tdc) - work(180.0)) / (1.0 - work(180.0)) }
}
