//! When each coil charges and fires: the decisions of the spark control laid out on the crank angle.
//!
//! *Decision*: at a fixed angle before its top dead centre each cylinder's advance is settled from
//! what is sensed then. *Look*: with a distributor the spark comes when the shaft, not the crank, is
//! there: its place in its play is looked at just before. Then come the start of charging and the spark.

use super::setup::Layout;
use keyway_core::job::SparkKind;

/// What is due at an angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Task {
    /// Settle the advance.
    Decide,
    /// See how far the shaft is ahead; the spark is due at this angle with the shaft on its flank.
    Look {
        /// Nominal angle of the spark.
        spark: f64,
    },
    /// Coil charging starts.
    Charge,
    /// The spark is commanded.
    Fire,
}

/// A task of one cylinder at an angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Due {
    /// Running angle, degrees.
    pub angle: f64,
    /// What.
    pub task: Task,
    /// Cylinder, from 0.
    pub cylinder: usize,
}

/// How long before its top dead centre a cylinder decides, degrees.
const DECIDES_BEFORE: f64 = 150.0;

/// Tasks in the order of their angles.
#[derive(Debug, Clone)]
pub struct Tasks {
    /// The nearest last.
    list: Vec<Due>,
    every: f64,
}

impl Tasks {
    /// The first decisions of every cylinder; paired coils without a partner fire every turn.
    pub fn new(layout: &Layout, kind: SparkKind) -> Self {
        let cycle = layout.cycle();
        let mut tasks = Self { list: Vec::new(), every: cycle };
        for (cylinder, fires_at) in layout.fires_at.iter().enumerate() {
            let number = u8::try_from(cylinder + 1).unwrap_or(u8::MAX);
            let first = (fires_at - DECIDES_BEFORE).rem_euclid(cycle);
            tasks.add(first, Task::Decide, cylinder);
            if kind == SparkKind::Paired && cycle > 360.0 && layout.partner(number).is_none() {
                tasks.add((first + 360.0).rem_euclid(cycle), Task::Decide, cylinder);
            }
        }
        tasks
    }

    /// Adds a task.
    pub fn add(&mut self, angle: f64, task: Task, cylinder: usize) {
        let place = self.list.partition_point(|due| due.angle > angle);
        self.list.insert(place, Due { angle, task, cylinder });
    }

    /// The angle of the next task.
    pub fn next_angle(&self) -> f64 {
        self.list.last().map_or(f64::INFINITY, |due| due.angle)
    }

    /// Takes the next task. A decision is entered again for the next cycle.
    pub fn take(&mut self) -> Option<Due> {
        let due = self.list.pop()?;
        if due.task == Task::Decide {
            self.add(due.angle + self.every, Task::Decide, due.cylinder);
        }
        Some(due)
    }

    /// Where the spark of a cylinder that decides at `decision` is due for this advance.
    pub fn spark_angle(decision: f64, advance: f64) -> f64 {
        decision + (DECIDES_BEFORE - advance).max(1.0)
    }
}
