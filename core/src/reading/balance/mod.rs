//! Each cylinder's share of the work, from the speed changes within the cycle, so that a dead cylinder is
//! known before anyone turns the distributor.
//!
//! *Phase*: which of the two turns of a four-stroke cycle holds the firing of cylinder one. The spark on its
//! lead tells, where it comes every second turn; where it comes every turn, two cylinders that fire 360°
//! apart are told apart by nothing, and both are named.
//!
//! The crank gains energy over each working stroke and loses it to a steady load. From tooth to tooth the
//! noise is too large for that, over some thirty degrees and a few dozen cycles it is not. The equations
//! that lead from energy to work, and what disturbs them, stand in `model`; who is dead is weighed in
//! `weigh`. After M. Connolly and G. Rizzoni (ASME JDSMC 116, 1994, abstract), who undo the crank's dynamics
//! at discrete orders, and with their caution that wheel errors imitate whole orders but not half orders.
//!
//! The weighing takes some 20,000 operations in single precision for eight cylinders and 45,000 for twelve, so
//! it is done when the number of cycles has grown by a third, not at each spark, and in the pieces of
//! `weighing`. A cycle takes 400 operations.

mod cycles;
mod matrix;
mod model;
mod size;
mod weigh;
mod weighing;

#[cfg(test)]
mod tests;

use super::result::{Balance, BalanceSigns};
use crate::crank::{Decoder, Milestones};
use crate::fixed::{gather, swap_halves};
use crate::job::{Job, Pattern, PerCylinder, SparkKind};
use crate::sparks::PlacedSpark;
use crate::statistics::sort::sort_by;
use crate::units::{CrankAngle, TURN};
use cycles::{Cycles, energies};
use model::Windows;
use size::usual_work;
use weigh::{Finding, Progress};
use weighing::Weighing;

/// Fewer cycles than this tell nothing.
const FEWEST_CYCLES: u32 = 4;
/// Edges of a firing interval that are needed at least, and of a turn.
const EDGES_PER_FIRING: f32 = 4.0;
const EDGES_PER_TURN: u8 = 12;
/// Sparks that disagree about the phase, part of all, beyond which there is none.
const DISAGREEING: u32 = 5;
/// Cycles are correlated: the variance of a mean of n is this over n times that of one.
const CORRELATION: f32 = 2.0;

/// What is known of the balance.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighed {
    /// For whoever shows it.
    pub balance: Balance,
    /// For the judge.
    pub signs: BalanceSigns,
    /// The weakest and the second as they are called if the clamp sits on a lead that fires closer to 360°
    /// from cylinder one's firing than to 0°: the cylinders that fire 360° from those of `signs`; 0 where
    /// there is none.
    pub if_half_a_cycle_on: [u8; 2],
    /// Work of a healthy cylinder relative to the mean energy of the turning crank: what the shares are
    /// scaled by.
    pub work: f32,
    /// Cycles it rests on.
    pub cycles: u32,
}

/// Gathers the energies of the crank and weighs them.
#[derive(Debug, Clone)]
pub struct Balancer {
    turns: usize,
    windows: usize,
    /// A spark every turn on a four-stroke.
    either_way: bool,
    /// Turns from slot 0 to top dead centre of cylinder one.
    zero: f32,
    epoch: u16,
    /// The last turn taken in.
    last: Option<u32>,
    /// Sparks of this epoch by the phase they tell.
    phases: [u16; 2],
    disagreed: u32,
    agreed: u32,
    /// Stretches of sync that have ended.
    earlier: Cycles,
    /// The present one.
    present: Cycles,
    /// Mean speed at the sparks taken in.
    rpm: f32,
    weighed_at: u32,
    weighed: Option<Weighed>,
    under_way: Option<UnderWay>,
}

/// Whether the job's wheel has edges enough to weigh its cylinders.
pub fn can_weigh(job: &Job) -> bool {
    let pattern = job.pattern();
    let shortest = job.firing_intervals().iter().copied().fold(360.0, f32::min);
    matches!(pattern, Pattern::Wheel { .. })
        && pattern.count() >= EDGES_PER_TURN
        && f32::from(pattern.count()) * shortest >= EDGES_PER_FIRING * 360.0
}

impl Balancer {
    /// Nothing gathered yet.
    pub fn new(job: &Job, crank: &Decoder) -> Self {
        let engine = &job.spec().engine;
        let turns = usize::from(job.turns_per_cycle());
        let plan = crank.plan();
        let to_zero = plan.angle(0).to(CrankAngle::default());
        Self {
            turns,
            windows: if can_weigh(job) { crank.teeth().milestones().count() * turns } else { 0 },
            either_way: engine.spark == SparkKind::Paired && turns == 2,
            zero: to_zero as f32 / TURN as f32,
            epoch: 0,
            last: None,
            phases: [0; 2],
            disagreed: 0,
            agreed: 0,
            earlier: Cycles::default(),
            present: Cycles::default(),
            rpm: 0.0,
            weighed_at: 0,
            weighed: None,
            under_way: None,
        }
    }

    /// A spark of steady idle was placed: the two turns before it are taken in.
    pub fn on_spark(&mut self, job: &Job, crank: &Decoder, spark: &PlacedSpark) {
        if self.windows == 0 {
            return;
        }
        if self.epoch != crank.epoch() {
            self.epoch = crank.epoch();
            self.earlier.join(&self.present, self.windows, self.either_way);
            self.present = Cycles::default();
            self.last = None;
            self.phases = [0; 2];
        }
        let Some(phase) = self.phase(spark) else { return };
        let turn = spark.located.turn;
        let first = turn.wrapping_sub(self.turns as u32 - 1);
        if self.last.is_some_and(|last| (first.wrapping_sub(last) as i32) <= 0) {
            return;
        }
        let Some(mut energies) = energies(crank.teeth().milestones(), first, self.turns) else { return };
        self.last = Some(turn);
        if self.turns == 2 && (first ^ phase) & 1 == 1 {
            let half = self.windows / 2;
            if let Some(cycle) = energies.get_mut(..self.windows) {
                swap_halves(cycle, half);
            }
        }
        self.present.add(&energies, self.windows);
        let count = self.earlier.count + self.present.count;
        self.rpm += (spark.rpm - self.rpm) / count.max(1) as f32;
        if count >= FEWEST_CYCLES && count * 3 >= self.weighed_at * 4 && self.under_way.is_none() {
            self.begin(job);
        }
    }

    /// No more sparks come: what was gathered since is weighed too, all at once.
    pub fn finish(&mut self, job: &Job, crank: &Decoder) {
        if self.earlier.count + self.present.count > self.weighed_at.max(FEWEST_CYCLES - 1) {
            self.begin(job);
        }
        while self.under_way.is_some() {
            self.go_on(job, crank);
        }
    }

    /// What is known; `None` unless the wheel is fine enough, the cycles are four or more and the sparks
    /// agree about the phase.
    pub fn weighed(&self) -> Option<&Weighed> {
        self.weighed.as_ref()
    }

    /// Whether the even or the odd turns begin with cylinder one's firing, as 0 or 1; `None` from a spark
    /// that contradicts most others.
    fn phase(&mut self, spark: &PlacedSpark) -> Option<u32> {
        if self.turns == 1 || self.either_way {
            return Some(0);
        }
        let before = spark.advance().fraction() as f32 / TURN as f32;
        let turns = spark.located.part + before - self.zero;
        let on = if turns > 0.5 {
            1
        } else if turns < -0.5 {
            -1
        } else {
            0
        };
        let phase = spark.located.turn.wrapping_add_signed(on) & 1;
        let [even, odd] = &mut self.phases;
        let (own, other) = if phase == 0 { (even, odd) } else { (odd, even) };
        *own = own.saturating_add(1);
        if *own > *other {
            self.agreed += 1;
            Some(phase)
        } else {
            self.disagreed += 1;
            None
        }
    }

    /// Begins to weigh what has been gathered; what was under way is given up.
    fn begin(&mut self, job: &Job) {
        let mut all = self.earlier.clone();
        all.join(&self.present, self.windows, self.either_way);
        self.weighed_at = all.count;
        if self.disagreed * DISAGREEING > self.agreed + self.disagreed {
            self.weighed = None;
            self.under_way = None;
            return;
        }
        let variance = all.variance() * CORRELATION / all.count.max(1) as f32;
        let usual = usual_work(job, self.rpm);
        let cylinders = usize::from(job.spec().engine.cylinders);
        let weighing = Weighing::new(cylinders, &all.mean, variance, usual);
        self.under_way = Some(UnderWay { weighing, straight: None });
    }

    /// Does one piece of a weighing that is under way: a few milliseconds at most on the handheld.
    pub fn go_on(&mut self, job: &Job, crank: &Decoder) {
        let milestones = crank.teeth().milestones();
        let Some(under_way) = self.under_way.as_mut() else { return };
        let Some(windows) = windows(job, milestones, self.zero) else {
            self.under_way = None;
            return;
        };
        let Progress::Done(found) = under_way.weighing.go_on(job, &windows) else { return };
        let cylinders = usize::from(job.spec().engine.cylinders);
        if let (Some(straight), None, true) = (&found, &under_way.straight, self.either_way)
            && half_a_cycle_on(job, 1).is_none()
        {
            // Without pairs the wrong turn fits worse.
            under_way.straight = Some(straight.clone());
            let mut turned = *under_way.weighing.energies();
            let count = milestones.count();
            if let Some(cycle) = turned.get_mut(..2 * count) {
                swap_halves(cycle, count);
            }
            under_way.weighing = under_way.weighing.of_others(cylinders, &turned);
            return;
        }
        let best = match (under_way.straight.take(), found) {
            (Some(straight), Some(turned)) if turned.likelihood > straight.likelihood => Some(turned),
            (Some(straight), _) => Some(straight),
            (None, found) => found,
        };
        self.under_way = None;
        self.weighed = best.map(|found| told(job, found, self.weighed_at, self.either_way));
    }
}

/// A weighing under way.
#[derive(Debug, Clone)]
struct UnderWay {
    weighing: Weighing,
    /// Found with the turns as they were told, while the other way is weighed.
    straight: Option<Finding>,
}

fn windows<'a>(job: &Job, milestones: &'a Milestones, zero: f32) -> Option<Windows<'a>> {
    Some(Windows {
        milestones,
        zero: zero * 360.0,
        pitch: job.pattern().pitch()? as f32 / TURN as f32 * 360.0,
        cycle: job.cycle_degrees(),
    })
}

/// What was found, for those who show and judge it.
fn told(job: &Job, found: Finding, cycles: u32, either_way: bool) -> Weighed {
    let cylinders = usize::from(job.spec().engine.cylinders);
    let partner = |cylinder: u8| half_a_cycle_on(job, cylinder);
    let number = |index: usize| index as u8 + 1;
    let mut share: PerCylinder<f32> = gather(found.share.iter().copied().take(cylinders));
    if either_way {
        let alone = share.clone();
        for (cylinder, share) in (1u8..).zip(share.iter_mut()) {
            let other = partner(cylinder).and_then(|other| alone.get(usize::from(other) - 1));
            *share = (*share + other.unwrap_or(share)) / 2.0;
        }
    }
    let mut weak = PerCylinder::new();
    let named = [Some(found.weakest), found.second];
    for cylinder in named.into_iter().flatten().map(number).filter(|_| found.called) {
        for candidate in [Some(cylinder), partner(cylinder).filter(|_| either_way)].into_iter().flatten() {
            if !weak.contains(&candidate) {
                let _ = weak.push(candidate);
            }
        }
    }
    sort_by(&mut weak, |one, other| one < other);
    let weakest = number(found.weakest);
    let second = match (either_way, found.second) {
        (true, _) => partner(weakest).unwrap_or(0),
        (false, second) => second.map_or(0, number),
    };
    let signs = BalanceSigns {
        weakest,
        second,
        share: share.get(found.weakest).copied().unwrap_or(1.0),
        bits: found.evidence * core::f32::consts::LOG2_E,
    };
    Weighed {
        balance: Balance { weak, share },
        signs,
        if_half_a_cycle_on: [
            partner(weakest).unwrap_or(0),
            if second == 0 { 0 } else { partner(second).unwrap_or(0) },
        ],
        work: found.work,
        cycles,
    }
}

/// The cylinder that fires 360° from this one on a four-stroke.
fn half_a_cycle_on(job: &Job, cylinder: u8) -> Option<u8> {
    let own = job.firing_angle(cylinder)?;
    if job.turns_per_cycle() == 1 {
        return None;
    }
    (1..=job.spec().engine.cylinders).find(|other| {
        let apart = job.firing_angle(*other).unwrap_or(own) - own;
        (apart - 360.0).abs() < 1.0 || (apart + 360.0).abs() < 1.0
    })
}
