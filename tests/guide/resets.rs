//! What survives a reset, and what replays.

use keyway::guide_play::{Bench, Hands};
use keyway_core::job::{Control, Rotation};
use keyway_core::view::StepId;

use crate::support::{Played, found, spec};

#[test]
fn a_reset_in_the_middle_of_the_job_loses_no_step() {
    let spec = spec(Control::Computer);
    let mut bench = Bench::new(found(&spec, -7.0, |_| {}), &spec);
    let mut hands = Hands::new(Rotation::Clockwise, &[]);
    Hands::open_job(&mut bench);
    for step in [StepId::Ready, StepId::Read, StepId::Set, StepId::LinkBack] {
        assert!(
            hands.work(&mut bench, Some(step), 200.0),
            "{step:?} not reached {:?} {:?} {:?}",
            hands.halts,
            bench.view(),
            bench.instrument.sensed()
        );
        bench.reset();
        Hands::press(&mut bench, keyway_core::view::KeyLabel::Next);
        assert!(Hands::choose(&mut bench, keyway_core::view::MenuItem::Resume), "{:?}", bench.view());
        bench.pass(0.3);
        assert_eq!(bench.view().bar.step.map(|place| place.id), Some(step));
    }
    let ended = hands.work(&mut bench, None, 400.0);
    let played = Played { hands, bench, ended };
    played.on_target(&spec);
}

#[test]
fn a_log_of_events_replays_to_the_same_views() {
    let spec = spec(Control::Computer);
    let mut bench = Bench::new(found(&spec, -7.0, |_| {}), &spec);
    bench.keep_log();
    bench.pass(1.0);
    let mut hands = Hands::new(Rotation::Clockwise, &[]);
    Hands::open_job(&mut bench);
    assert!(hands.work(&mut bench, Some(StepId::ClampDown), 200.0));
    let digest = || {
        let mut views = Vec::new();
        let last = Bench::replay(bench.log(), |view| {
            if views.last() != Some(view) {
                views.push(*view);
            }
        });
        (views, *last.view())
    };
    let (one, last) = digest();
    let (other, _) = digest();
    assert_eq!(last, *bench.view());
    assert!(one.len() > 100);
    assert!(one == other);
}
