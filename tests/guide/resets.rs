//! What survives a reset.

use keyway::guide_play::{Bench, Hands};
use keyway_core::guide::steps;
use keyway_core::job::{Control, Rotation};
use keyway_core::view::{KeyLabel, Mark, MenuItem, StepId};

use crate::support::{Played, found, spec};

/// The handheld is reset and the job gone on with; whether it is at the same step.
fn reset_and_resume(bench: &mut Bench) -> bool {
    let step = bench.view().bar.step;
    bench.reset();
    Hands::press(bench, KeyLabel::Next);
    let resumed = Hands::choose(bench, MenuItem::Resume);
    bench.pass(0.3);
    resumed && step.is_some() && bench.view().bar.step == step
}

#[test]
fn a_reset_at_any_step_of_any_kind_of_job_loses_no_step_and_no_value() {
    for control in [Control::Computer, Control::Commanded, Control::Mechanical] {
        let spec = spec(control);
        let steps = steps(&spec.build().expect("the job is possible"));
        let mut bench = Bench::new(found(&spec, -4.5, |_| {}), &spec);
        let mut hands = Hands::new(Rotation::Clockwise, &[]);
        Hands::open_job(&mut bench);
        for step in steps {
            let reached = hands.work(&mut bench, Some(*step), 200.0);
            assert!(reached, "{control:?} {step:?} not reached: {:?} {:?}", hands.halts, bench.view());
            assert!(reset_and_resume(&mut bench), "{control:?} {step:?}: {:?}", bench.view());
        }
        let ended = hands.work(&mut bench, None, 400.0);
        let played = Played { hands, bench, ended };
        let record = played.on_target(&spec);
        assert!(record.before.is_some() && record.set.is_some(), "{record:?}");
        assert!(
            steps
                .iter()
                .filter(|step| **step != StepId::Finish)
                .all(|step| { matches!(record.step(*step), Mark::Told | Mark::Proven) })
        );
    }
}

#[test]
fn a_reset_after_half_of_a_step_goes_on_too() {
    // In the middle of setting, of a blip's wait and of a reading: what was under way begins anew.
    let spec = spec(Control::Computer);
    let mut bench = Bench::new(found(&spec, -7.0, |_| {}), &spec);
    let mut hands = Hands::new(Rotation::Clockwise, &[]);
    Hands::open_job(&mut bench);
    for step in [StepId::Steered, StepId::BaseBlip, StepId::Set, StepId::ControlBlip] {
        assert!(hands.work(&mut bench, Some(step), 200.0), "{step:?} {:?}", bench.view());
        hands.work(&mut bench, Some(StepId::MakeSafe), 2.5);
        assert!(reset_and_resume(&mut bench), "{step:?}: {:?}", bench.view());
    }
    let ended = hands.work(&mut bench, None, 400.0);
    Played { hands, bench, ended }.on_target(&spec);
}
