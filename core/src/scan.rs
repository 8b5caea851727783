//! What a scan tool's raw bytes mean, so that its value can stand beside a measured one.
//!
//! Scaling of the parameters 0C (engine speed), 0E (spark advance of cylinder one) and 42 (module's supply)
//! after SAE J1979 / ISO 15031-5. A scan value is what the engine computer *intends*: it does not include
//! mechanical advance or where the distributor was clamped, so it need not equal the measured advance.
//! The difference of the two is the whole point of measuring.

/// Advance of parameter 0E in degrees before top dead centre, −64 to +63.5 in steps of 0.5.
pub fn spark_advance(byte: u8) -> f32 {
    f32::from(byte) * 0.5 - 64.0
}

/// Engine speed of parameter 0C in revolutions per minute, 0 to 16383.75 in steps of 0.25.
pub fn engine_speed(bytes: [u8; 2]) -> f32 {
    f32::from(u16::from_be_bytes(bytes)) * 0.25
}

/// Supply at the module of parameter 42 in volts, 0 to 65.535 in steps of 0.001.
pub fn module_supply(bytes: [u8; 2]) -> f32 {
    f32::from(u16::from_be_bytes(bytes)) / 1000.0
}

/// Standard uncertainty in degrees that the steps of [`spark_advance`] alone leave: 0.5 / √12.
pub const SPARK_ADVANCE_ROUNDING: f32 = 0.144_337_57;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ends_of_each_scale_are_where_the_standard_puts_them() {
        assert_eq!((spark_advance(0), spark_advance(255)), (-64.0, 63.5));
        assert_eq!((engine_speed([0, 0]), engine_speed([255, 255])), (0.0, 16_383.75));
        assert_eq!(module_supply([255, 255]), 65.535);
    }
}
