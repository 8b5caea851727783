use super::*;
use std::println;

#[test]
fn the_whole_core_stays_within_its_memory() {
    let whole = size_of::<Instrument>();
    println!(
        "instrument {whole} = meter {} + guide {} + console {} + view {} + the rest",
        size_of::<Meter>(),
        size_of::<Guide>(),
        size_of::<Console>(),
        size_of::<View>()
    );
    assert!(whole <= 16 * 1024, "{whole}");
}
