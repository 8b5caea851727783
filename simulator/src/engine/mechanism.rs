//! Slider and crank: where the piston is at a crank angle, and what a force on it turns into.
//!
//! *Drop*: how far the piston is below its top position. *Lever*: metres of piston per radian of
//! crank, dx/dθ; a force times the lever is a torque. Crank angles are degrees after top dead centre
//! of the cylinder.
//!
//! The drop is even in the angle, so the lever is odd: a loss-free gas spring gives back over the
//! stroke down exactly what it took on the way up.

/// The dimensions of one cylinder.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Geometry {
    /// Bore, mm.
    pub bore_mm: f64,
    /// Stroke, mm.
    pub stroke_mm: f64,
    /// Connecting rod between centres, mm.
    pub rod_mm: f64,
    /// Largest volume over smallest.
    pub compression_ratio: f64,
}

impl Geometry {
    /// Crank radius, m.
    pub fn radius(&self) -> f64 {
        self.stroke_mm / 2000.0
    }

    /// Piston area, m².
    pub fn area(&self) -> f64 {
        std::f64::consts::PI * (self.bore_mm / 2000.0).powi(2)
    }

    /// Swept volume, m³.
    pub fn swept(&self) -> f64 {
        self.area() * self.stroke_mm / 1000.0
    }

    /// Volume left at the top, m³.
    pub fn clearance(&self) -> f64 {
        self.swept() / (self.compression_ratio - 1.0)
    }

    /// Drop below the top, m: r(1 − cos θ) + l − √(l² − r² sin² θ).
    pub fn drop(&self, degrees: f64) -> f64 {
        let (sine, cosine) = degrees.to_radians().sin_cos();
        let (radius, rod) = (self.radius(), self.rod_mm / 1000.0);
        radius * (1.0 - cosine) + rod - (rod * rod - (radius * sine).powi(2)).sqrt()
    }

    /// Metres of drop per radian of crank.
    pub fn lever(&self, degrees: f64) -> f64 {
        let (sine, cosine) = degrees.to_radians().sin_cos();
        let (radius, rod) = (self.radius(), self.rod_mm / 1000.0);
        radius * sine + radius * radius * sine * cosine / (rod * rod - (radius * sine).powi(2)).sqrt()
    }

    /// Gas volume, m³.
    pub fn volume(&self, degrees: f64) -> f64 {
        self.clearance() + self.area() * self.drop(degrees)
    }

    /// Mean piston speed at this crank speed, m/s.
    pub fn mean_piston_speed(&self, rpm: f64) -> f64 {
        self.stroke_mm / 1000.0 * rpm / 30.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn engine(radius_mm: f64, rod_mm: f64) -> Geometry {
        Geometry { bore_mm: 80.0, stroke_mm: 2.0 * radius_mm, rod_mm, compression_ratio: 9.0 }
    }

    /// CHECKS section 1, computed to 30 digits: x/r for rod ratios 3, 3.5, 4 and 5.
    #[test]
    fn the_drop_agrees_with_the_table_of_the_slider_crank_formula() {
        let table = [
            (1.0, [0.00020306969, 0.00019581747, 0.00019037834, 0.00018276359]),
            (5.0, [0.0050715897, 0.0048906307, 0.0047549301, 0.0045649720]),
            (20.0, [0.079867442, 0.077058577, 0.074956426, 0.072018873]),
            (60.0, [0.62771868, 0.60883501, 0.59487516, 0.57557110]),
            (90.0, [1.1715729, 1.1458980, 1.1270167, 1.1010205]),
        ];
        for (degrees, row) in table {
            for (ratio, expected) in [3.0, 3.5, 4.0, 5.0].into_iter().zip(row) {
                let found = engine(40.0, 40.0 * ratio).drop(degrees) / 0.04;
                assert!((found / expected - 1.0).abs() < 1e-7, "{degrees} {ratio}: {found} {expected}");
            }
        }
    }

    /// Inputs of a Rose-Hulman calculus problem (ENGINE_3_0_0): r 8 cm, l 24.5 cm, 1000 rpm; answers
    /// computed to 30 digits (CHECKS section 1).
    #[test]
    fn the_worked_example_gives_its_peak_speed_and_accelerations() {
        let geometry = engine(80.0, 245.0);
        let omega = 1000.0 * std::f64::consts::TAU / 60.0;
        let speed = |degrees: f64| geometry.lever(degrees) * omega;
        assert!((speed(73.44449) - 8.81697).abs() < 1e-5);
        assert!(speed(73.0) < speed(73.44449) && speed(74.0) < speed(73.44449));
        let acceleration = |degrees: f64| {
            let half = 0.01_f64;
            (speed(degrees + half) - speed(degrees - half)) / (2.0 * half).to_radians() * omega
        };
        // The text counts the piston's height, so its signs are the other way.
        assert!((acceleration(0.0) - 1163.763).abs() < 1e-2);
        assert!((acceleration(180.0) + 590.833).abs() < 1e-2);
    }

    /// Dimensions published in a public student repository (CHECKS 7.1); volumes computed.
    #[test]
    fn volumes_of_the_published_single_agree() {
        let single = Geometry { bore_mm: 67.7, stroke_mm: 55.0, rod_mm: 84.2, compression_ratio: 8.5 };
        assert!((single.swept() * 1e6 - 197.983915).abs() < 1e-5);
        assert!((single.clearance() * 1e6 - 26.3978554).abs() < 1e-6);
        for (degrees, ratio, lever) in [
            (-90.0, 5.379645645, -0.47996554),
            (-30.0, 1.656534550, -0.30878471),
            (-10.0, 1.075451352, -0.11019561),
            (20.0, 1.298012539, 0.21485634),
        ] {
            assert!((single.volume(degrees) / single.clearance() - ratio).abs() < 1e-8);
            let per_degree = single.lever(degrees) * 1000.0 * std::f64::consts::PI / 180.0;
            assert!((per_degree - lever).abs() < 1e-7, "{degrees}: {per_degree}");
        }
    }
}
