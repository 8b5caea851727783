//! Nothing cut, nothing overlapping, nothing outside its room; little drawn twice.

use keyway::screens::samples;

use crate::extremes::extremes;
use crate::strict::look;

#[test]
fn no_text_is_cut_and_nothing_overlaps_or_leaves_its_room() {
    let mut wrong = Vec::new();
    let samples = samples().into_iter().map(|sample| (sample.name.to_string(), sample.view));
    let mut count = 0;
    for (name, view) in samples.chain(extremes()) {
        count += 1;
        wrong.extend(look(&view).0.into_iter().map(|what| format!("{name}: {what}")));
    }
    println!("{count} views looked at");
    assert!(count > 500, "{count}");
    assert!(wrong.is_empty(), "{} things wrong:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn no_screen_draws_more_than_two_and_a_half_times_the_display() {
    let display = 400 * 240;
    for sample in samples() {
        let (_, drawn) = look(&sample.view);
        assert!(drawn * 2 <= display * 5, "{}: {drawn} pixels", sample.name);
    }
}

#[test]
fn a_value_withheld_leaves_no_digits() {
    use keyway_core::view::{Screen, Value};
    // The digits' place, left of the sign of warning and above the scale, is the same picture whatever the
    // last value was, since the view carries none: only two views that differ in nothing else can differ.
    let live = samples().into_iter().find(|sample| sample.name == "live-withheld").expect("is a sample");
    let Screen::Live(screen) = live.view.screen else { panic!("a live screen") };
    assert!(matches!(screen.value, Value::Withheld { .. }));
    let mut other = live.view;
    other.screen = Screen::Live(keyway_core::view::LiveScreen { rate: 40.0, error: Some(0.0), ..screen });
    let (one, two) = (keyway::screens::picture(&live.view), keyway::screens::picture(&other));
    assert!(one.diff(&two).is_none(), "an error or rate left over shows nothing while the value is withheld");
}
