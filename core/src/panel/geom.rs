//! Points on circles, for arcs and pointers: the only place where the panel meets sines.
//!
//! *Bearing*: degrees clockwise from straight up, as on a clock face. The sines are micromath's, called
//! by name so that a test on the desktop takes the same way as the handheld. They are within 0.0012 of the
//! true ones, a ninth of a pixel at the largest radius drawn here, which is why they may be used for
//! pictures and for nothing else.

use embedded_graphics::geometry::Point;
use micromath::F32Ext;

use core::f32::consts::PI;

/// The point at `radius` pixels from `center` in direction `bearing`; the nearest pixel, within 1 of the
/// true point for radii up to 400. A bearing that is no number counts as straight up.
pub fn at_bearing(center: Point, radius: f32, bearing: f32) -> Point {
    let (sine, cosine) = sine_cosine(bearing);
    Point::new(
        center.x.saturating_add(nearest(radius * sine)),
        center.y.saturating_sub(nearest(radius * cosine)),
    )
}

/// Sine and cosine of an angle in degrees, within 0.0012 for ±720°.
pub fn sine_cosine(degrees: f32) -> (f32, f32) {
    let degrees = if degrees.is_finite() { degrees } else { 0.0 };
    let radians = degrees * (PI / 180.0);
    (F32Ext::sin(radians), F32Ext::cos(radians))
}

/// The nearest whole number, halves away from zero.
pub fn nearest(value: f32) -> i32 {
    // The cast saturates and takes no-number to zero, so nothing here can fail.
    if value >= 0.0 { (value + 0.5) as i32 } else { (value - 0.5) as i32 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sines_keep_the_error_stated() {
        let mut worst = 0.0_f64;
        for tenth in -7200..=7200 {
            let degrees = tenth as f32 / 10.0;
            let (sine, cosine) = sine_cosine(degrees);
            let radians = f64::from(degrees).to_radians();
            worst = worst.max((f64::from(sine) - std::primitive::f64::sin(radians)).abs());
            worst = worst.max((f64::from(cosine) - std::primitive::f64::cos(radians)).abs());
        }
        assert!(worst <= 0.0012, "{worst}");
        assert!(worst >= 0.0005, "the library's own sines, not the desktop's: {worst}");
    }

    #[test]
    fn a_point_on_a_circle_is_within_a_pixel() {
        for tenth in 0..3600 {
            let bearing = tenth as f32 / 10.0;
            let point = at_bearing(Point::new(200, 120), 400.0, bearing);
            let radians = f64::from(bearing).to_radians();
            let x = 200.0 + 400.0 * std::primitive::f64::sin(radians);
            let y = 120.0 - 400.0 * std::primitive::f64::cos(radians);
            assert!((f64::from(point.x) - x).abs() <= 1.0 && (f64::from(point.y) - y).abs() <= 1.0);
        }
    }

    #[test]
    fn a_bearing_that_is_no_number_points_up() {
        assert_eq!(at_bearing(Point::zero(), 10.0, f32::NAN), at_bearing(Point::zero(), 10.0, 0.0));
    }
}
