//! The pin table of `hardware/` and the firmware's pins are the same, and no pin is used twice.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

type Pins = BTreeMap<String, i64>;

fn text_of(path: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(path);
    fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// The constants of the firmware's one file of pins, lists as `NAME[place]`.
fn of_firmware() -> Pins {
    let mut pins = Pins::new();
    for line in text_of("firmware/src/pins.rs").lines() {
        let Some((name, value)) = line.strip_prefix("pub const ").and_then(|rest| rest.split_once(':'))
        else {
            continue;
        };
        let value = value.split_once('=').expect("a value").1.trim().trim_end_matches(';');
        let number = |word: &str| word.trim().parse().unwrap_or_else(|_| panic!("{line}"));
        match value.strip_prefix('[').and_then(|list| list.strip_suffix(']')) {
            Some(list) => pins.extend(
                list.split(',').enumerate().map(|(place, word)| (format!("{name}[{place}]"), number(word))),
            ),
            None => pins.extend([(name.to_owned(), number(value))]),
        }
    }
    pins
}

fn of_table() -> Pins {
    let table: toml::Table = text_of("hardware/pins.toml").parse().expect("TOML");
    let rows = table["pin"].as_array().expect("a list of pins");
    let row = |row: &toml::Value| {
        assert!(row["to"].as_str().is_some_and(|to| !to.is_empty()), "{row}");
        (row["name"].as_str().expect("a name").to_owned(), row["pin"].as_integer().expect("a number"))
    };
    rows.iter().map(row).collect()
}

#[test]
fn the_firmware_uses_the_pins_of_the_table_and_no_others() {
    let (firmware, table) = (of_firmware(), of_table());
    assert!(firmware.len() > 15, "{firmware:?}");
    assert_eq!(firmware, table);
}

#[test]
fn every_pin_exists_and_has_one_use() {
    let table = of_table();
    let mut used: Vec<i64> = table.values().copied().collect();
    used.sort_unstable();
    // RP2040 datasheet: GPIO 0 to 29 are bonded out, ADC inputs 0 to 3 are GPIO 26 to 29.
    assert!(used.iter().all(|pin| (0..30).contains(pin)), "{used:?}");
    assert!(used.windows(2).all(|pair| pair[0] < pair[1]), "{used:?}");
    for name in ["SUPPLY", "AMPLITUDE"] {
        assert!((26..30).contains(&table[name]), "{name} needs an ADC input");
    }
}
