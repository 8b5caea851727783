//! Which pin does what: the one place. The table in `hardware/pins.toml` mirrors it and a test compares.
#![allow(unreachable_pub, reason = "also read as text by the test of the pin table")]

/// UART 0, the log.
pub const LOG: u8 = 0;
/// From the crank input stage.
pub const CRANK: u8 = 2;
/// From the spark clamp's input stage.
pub const SPARK: u8 = 3;
/// Self-test: a spare pin that is driven like a crank and captured.
pub const CRANK_LOOP: u8 = 4;
/// Self-test: a spare pin that is driven like a spark and captured.
pub const SPARK_LOOP: u8 = 5;
/// The four keys from left to right, active low, pulled up.
pub const KEYS: [u8; 4] = [6, 7, 8, 9];
/// Display, SPI 1 clock.
pub const DISPLAY_CLOCK: u8 = 10;
/// Display, SPI 1 data.
pub const DISPLAY_DATA: u8 = 11;
/// Display select, active high.
pub const DISPLAY_SELECT: u8 = 12;
/// Display EXTCOMIN: the alternation that keeps the liquid crystal from direct voltage.
pub const DISPLAY_COMMON: u8 = 13;
/// Display enable.
pub const DISPLAY_ENABLE: u8 = 14;
/// Sounder, PWM.
pub const SOUNDER: u8 = 15;
/// Lamp behind the screen, PWM.
pub const LAMP: u8 = 16;
/// Kind of crank input: low for variable reluctance, high for Hall or optical.
pub const CRANK_KIND: u8 = 17;
/// Arming threshold of the crank input, PWM.
pub const ARMING: u8 = 18;
/// Supply through its divider of 1 : 11, ADC 0.
pub const SUPPLY: u8 = 26;
/// Amplitude at the crank input (peak hold), ADC 1.
pub const AMPLITUDE: u8 = 27;
