//! The sparks, and what the clamp on cylinder one's lead makes of them.
//!
//! *Setting*: the advance that the engine is made to have at a moment and a speed. *Scatter*: how single
//! sparks differ from it: white, and slowly correlated from spark to spark. *Strike*: an edge that the
//! clamp gives; a spark gives its first strike, ringing after it, and more strikes where the ignition makes
//! several.

use super::{Chance, Motion};

/// The advance at a moment (seconds) and a speed (rpm), degrees before top dead centre.
pub type Setting = Box<dyn Fn(f64, f64) -> f64>;

/// A pulse of the clamp.
#[derive(Debug, Clone, Copy)]
pub struct Strike {
    /// When, seconds.
    pub at: f64,
    /// How long, seconds.
    pub length: f64,
}

/// How the engine is fired and the clamp sees it.
pub struct Ignition {
    /// The advance of cylinder one.
    pub setting: Setting,
    /// White scatter, degrees, standard deviation.
    pub scatter: f64,
    /// Slow scatter, degrees, standard deviation: each spark takes nine tenths of the one before.
    pub slow_scatter: f64,
    /// Crank degrees from spark to spark at the clamp.
    pub period: f64,
    /// Crank degrees after cylinder one at which the clamp sees further leads.
    pub other_leads: Vec<f64>,
    /// A fixed time by which every spark comes late, seconds; part of the truth.
    pub late: f64,
    /// Delay of the clamp, seconds; no part of the truth.
    pub pickup_delay: f64,
    /// Pulses of ringing after every strike.
    pub ringing: u32,
    /// Further strikes of every spark, about 1.2 ms apart.
    pub further_strikes: u32,
    /// Probability that the clamp misses a spark.
    pub missed: f64,
    /// Strikes a second that are no spark.
    pub strays: f64,
    /// From when to when sparks come, seconds.
    pub from_to: (f64, f64),
}

impl Ignition {
    /// One clean spark every two turns at this advance.
    pub fn fixed(advance: f64) -> Self {
        Self::following(Box::new(move |_, _| advance))
    }

    /// One clean spark every two turns at this setting.
    pub fn following(setting: Setting) -> Self {
        Self {
            setting,
            scatter: 0.0,
            slow_scatter: 0.0,
            period: 720.0,
            other_leads: Vec::new(),
            late: 0.0,
            pickup_delay: 0.0,
            ringing: 0,
            further_strikes: 0,
            missed: 0.0,
            strays: 0.0,
            from_to: (0.0, f64::INFINITY),
        }
    }

    /// The moments of all sparks of the leads that the clamp sees, whether it misses them or not.
    pub(super) fn sparks(&self, motion: &Motion, seconds: f64, chance: &mut Chance) -> Vec<f64> {
        let mut sparks = Vec::new();
        let mut slow = chance.normal() * self.slow_scatter;
        let mut cycle = libm::floor(motion.degrees_at(0.0) / self.period) - 1.0;
        let mut near = 0.0;
        let mut leads = vec![0.0];
        leads.extend_from_slice(&self.other_leads);
        while near < seconds {
            for lead in &leads {
                slow = slow * 0.9 + chance.normal() * self.slow_scatter * libm::sqrt(1.0 - 0.81);
                let scatter = slow + chance.normal() * self.scatter;
                let centre = cycle * self.period + lead;
                let about = motion.seconds_at(centre, near);
                let advance = (self.setting)(about, motion.rpm_at(about)) + scatter;
                near = motion.seconds_at(centre - advance, about) + self.late;
                if near >= self.from_to.0.max(0.0) && near < self.from_to.1.min(seconds) {
                    sparks.push(near);
                }
            }
            cycle += 1.0;
        }
        sparks
    }

    /// What the clamp makes of the sparks.
    pub(super) fn strikes(&self, sparks: &[f64], seconds: f64, chance: &mut Chance) -> Vec<Strike> {
        let mut strikes = Vec::new();
        let mut strike = |at: f64, chance: &mut Chance| {
            strikes.push(Strike { at, length: chance.between(8e-6, 25e-6) });
            let mut later = at;
            for _ in 0..self.ringing {
                later += chance.between(35e-6, 90e-6);
                strikes.push(Strike { at: later, length: chance.between(3e-6, 12e-6) });
            }
        };
        for spark in sparks {
            if chance.happens(self.missed) {
                continue;
            }
            for further in 0..=self.further_strikes {
                strike(spark + self.pickup_delay + f64::from(further) * 1.2e-3, chance);
            }
        }
        let mut at = chance.wait(self.strays);
        while at < seconds {
            strike(at, chance);
            at += chance.wait(self.strays);
        }
        strikes.sort_by(|a, b| a.at.total_cmp(&b.at));
        strikes
    }
}
