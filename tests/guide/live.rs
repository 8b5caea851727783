//! The value shown while the hand turns.

use keyway::guide_play::{Bench, Hands};
use keyway_core::job::{Control, Rotation};
use keyway_core::view::StepId;

use crate::support::{found_of, spec};

#[test]
fn the_shown_value_follows_the_hand_within_half_a_second() {
    let spec = spec(Control::Computer);
    let mut worst: f64 = 0.0;
    for seed in 30..36 {
        let mut bench = Bench::new(found_of(seed, &spec, -7.0, |_| {}), &spec);
        let mut hands = Hands::new(Rotation::Clockwise, &[]);
        Hands::open_job(&mut bench);
        assert!(hands.work(&mut bench, Some(StepId::Set), 300.0));
        bench.pass(3.0);
        for _ in 0..3 {
            // The cautions of the step.
            bench.key(3, true);
            bench.pass(0.8);
            bench.key(3, false);
            bench.pass(0.2);
        }
        bench.engine.controls_mut().bolt_tight = false;
        for slice in 0..60 {
            bench.engine.controls_mut().housing_deg += 0.125;
            bench.pass(0.05);
            let truth = 3.0 + 2.0 * bench.engine.controls().housing_deg;
            if slice >= 20
                && let keyway_core::view::Screen::Live(live) = bench.view().screen
                && let Some(error) = live.error
            {
                worst = worst.max((truth - 10.0 - f64::from(error)) / 5.0);
            }
        }
    }
    println!("worst lag {worst:.2} s");
    assert!(worst > 0.0 && worst <= 0.5, "{worst:.2} s");
}
