//! That each entry of the table of causes can be reached, and told from every other: evidence right in the middle
//! of what one of its variants predicts makes it at least three times as likely as all others together, on some job.

use super::evidence::{Evidence, Measured};
use super::expectation::{Expectation, Variant};
use super::posterior::{WHOLE, weigh};
use super::proven::Proven;
use super::result::CauseId;
use super::table::{Given, TIMING};
use crate::console::blank;
use crate::job::{Control, Job};
use heapless::Vec;

fn job(control: Control) -> Job {
    let computer = control != Control::Mechanical;
    let mut spec = blank();
    spec.engine.cylinders = 8;
    spec.engine.firing_order = [1, 8, 4, 3, 6, 5, 7, 2].into_iter().collect();
    spec.engine.drive_gear_teeth = Some(13);
    spec.timing.control = control;
    spec.timing.base_btdc = 8.0;
    spec.timing.harness_offset = if computer { 11.0 } else { 0.0 };
    spec.build().unwrap()
}

/// Nothing seen but a scatter as of a sound ignition.
fn nothing() -> Evidence {
    Evidence {
        error: None,
        idle_rpm: 750,
        slope: None,
        idle_slope: None,
        bend: None,
        top_slope: None,
        scatter: Some(13),
        unseen_scatter: 0,
        dip: None,
        up_minus_down: None,
        spark_rate: None,
        wrong_spark_rate: false,
        supply: None,
        balance: None,
        base_mode_told: None,
        proven: Proven::default(),
    }
}

fn middle(expectation: Expectation, doubt: u32) -> Option<Measured> {
    let value = match expectation {
        Expectation::Near { centre, .. } => centre,
        Expectation::Between { low, high } => low.midpoint(high),
    };
    Some(Measured { value, doubt })
}

/// The evidence in the middle of what a variant predicts; what it says of the error may hang on the rest.
fn evidence_of(job: &Job, id: CauseId, which: usize) -> Option<Evidence> {
    let variant = |evidence: &Evidence| {
        let mut variants: Vec<Variant, 40> = Vec::new();
        let given = Given::new(job, evidence);
        let entry = TIMING.iter().find(|entry| entry.id == id)?;
        if !(entry.applies)(&given) {
            return None;
        }
        (entry.variants)(&given, &mut |variant| {
            let _ = variants.push(variant);
        });
        variants.get(which).copied()
    };
    let mut evidence = nothing();
    // Twice for the line, once more for the error that it leads to.
    for _ in 0..3 {
        let told = variant(&evidence)?;
        evidence.idle_slope = middle(told.manner.idle_slope, 60);
        evidence.bend = middle(told.manner.bend, 60);
        evidence.top_slope = middle(told.manner.top_slope, 60);
        evidence.dip = middle(told.manner.dip, 40);
        evidence.up_minus_down = middle(told.manner.up_minus_down, 30);
        evidence.error = middle(told.error, 8);
        evidence.slope = middle(told.manner.slope, 10);
        if let (CauseId::DwellStartSeen | CauseId::FixedDelay, Some(idle)) = (id, evidence.idle_slope) {
            evidence.slope = Some(Measured { value: idle.value, doubt: 10 });
            evidence.error = Some(Measured { value: idle.value * 3 / 4, doubt: 8 });
        }
    }
    Some(evidence)
}

#[test]
fn each_cause_of_the_table_is_reached_and_told_from_every_other() {
    for entry in &TIMING {
        let mut best = 0;
        for control in [Control::Computer, Control::Mechanical] {
            let job = job(control);
            for which in 0..20 {
                if let Some(evidence) = evidence_of(&job, entry.id, which) {
                    best = best.max(weigh(&job, &evidence).timing(entry.id));
                }
            }
        }
        assert!(best > WHOLE / 4 * 3, "{}: {:.3} at best", entry.id.id(), best as f32 / WHOLE as f32);
    }
}

#[test]
fn wear_a_weak_supply_and_a_dead_cylinder_are_reached_beside_any_timing() {
    use crate::reading::BalanceSigns;
    let job = job(Control::Computer);
    for (id, which) in [(CauseId::Healthy, 0), (CauseId::SetAfterTdc, 0), (CauseId::SetOutOfBaseMode, 0)] {
        let plain = evidence_of(&job, id, which).unwrap();
        let share = |evidence: &Evidence, id| weigh(&job, evidence).share(id);
        let dead = BalanceSigns { weakest: 3, second: 0, share: 0.0, bits: 30.0 };
        for (beside, evidence) in [
            (CauseId::WornDrive, Evidence { scatter: Some(150), bend: None, up_minus_down: None, ..plain }),
            (CauseId::WeakSupply, Evidence { supply: Some(1180), ..plain }),
            (CauseId::DeadCylinder, Evidence { balance: Some(dead), ..plain }),
        ] {
            assert!(share(&plain, beside) < WHOLE / 20, "{beside:?} without a sign of it");
            let due = if id == CauseId::Healthy { WHOLE / 10 * 8 } else { WHOLE / 10 * 4 };
            assert!(share(&evidence, beside) > due, "{beside:?} beside {id:?}: {}", share(&evidence, beside));
            assert!(id == CauseId::Healthy || share(&evidence, id) > WHOLE / 10 * 3, "{id:?} is hidden");
        }
    }
}
