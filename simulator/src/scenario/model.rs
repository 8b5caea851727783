//! What a scenario may set of the engine and its pickups.

use super::keys::Keys;
use crate::engine::case::Case;
use crate::engine::drag::RipplePhase;
use crate::engine::pickups::tooth::{EndTeeth, Sensor};
use crate::job_file::JobFileError;
use crate::job_file::entries::{Section, list, number, switch, word};

const MODEL: [&str; 18] = [
    "idle_rpm",
    "inertia_kg_m2",
    "friction",
    "wander",
    "hunting",
    "cycle_variation",
    "mixture",
    "spark_scatter_deg",
    "setting_deg",
    "bolt_shift_deg",
    "harness_offset",
    "fuel_share",
    "ripple_phase",
    "bore_mm",
    "stroke_mm",
    "rod_mm",
    "compression_ratio",
    "drive_play_deg",
];
const SENSOR: [&str; 8] = [
    "kind",
    "end_teeth",
    "silent_below_rpm",
    "tooth_error_deg",
    "run_out_deg",
    "jitter_deg",
    "first_tooth_lost",
    "reversed",
];
const CLAMP: [&str; 4] = ["ringing", "ringing_period_us", "crosstalk", "missed"];
const COILS: [&str; 5] = ["dwell_ms", "strikes", "strike_spacing_ms", "multi_strike_below_rpm", "missed"];
const NOISE: [&str; 5] = ["crank_per_second", "spark_per_second", "coupling", "lost_teeth", "pulse_us"];

/// Sets what the sections give.
pub(super) fn apply(top: &Section<'_>, case: &mut Case) -> Result<(), JobFileError> {
    if let Some(section) = top.section("model", &MODEL)? {
        model(&section, case)?;
    }
    if let Some(section) = top.section("sensor", &SENSOR)? {
        sensor(&section, case)?;
    }
    if let Some(section) = top.section("clamp", &CLAMP)? {
        let clamp = &mut case.setup.clamp;
        section.put("ringing", 0.0, 0.95, &mut clamp.ringing)?;
        section.put("crosstalk", 0.0, 1.0, &mut clamp.crosstalk)?;
        section.put("missed", 0.0, 1.0, &mut clamp.missed)?;
        let mut period = clamp.ringing_period * 1e6;
        section.put("ringing_period_us", 5.0, 300.0, &mut period)?;
        clamp.ringing_period = period * 1e-6;
    }
    if let Some(section) = top.section("coils", &COILS)? {
        let coils = &mut case.setup.coils;
        if let Some(dwell) = section.within("dwell_ms", 0.5, 10.0)? {
            coils.dwell = dwell / 1000.0;
        }
        if let Some(strikes) = section.within("strikes", 1.0, 8.0)? {
            coils.strikes = strikes as u32;
        }
        if let Some(spacing) = section.within("strike_spacing_ms", 0.3, 5.0)? {
            coils.strike_spacing = spacing / 1000.0;
        }
        section.put("multi_strike_below_rpm", 0.0, 9000.0, &mut coils.multi_strike_below_rpm)?;
        section.put("missed", 0.0, 1.0, &mut coils.missed)?;
    }
    if let Some(section) = top.section("noise", &NOISE)? {
        let noise = &mut case.setup.noise;
        section.put("crank_per_second", 0.0, 20_000.0, &mut noise.crank_rate)?;
        section.put("spark_per_second", 0.0, 20_000.0, &mut noise.spark_rate)?;
        section.put("coupling", 0.0, 1.0, &mut noise.coupling)?;
        section.put("lost_teeth", 0.0, 1.0, &mut noise.lost_teeth)?;
        if let Some(length) = section.within("pulse_us", 1.0, 1000.0)? {
            noise.length = length * 1e-6;
        }
    }
    Ok(())
}

fn model(section: &Section<'_>, case: &mut Case) -> Result<(), JobFileError> {
    let setup = &mut case.setup;
    section.put("idle_rpm", 300.0, 9000.0, &mut setup.intake.target_rpm)?;
    section.put("inertia_kg_m2", 0.005, 20.0, &mut setup.inertia)?;
    section.put("friction", 0.2, 5.0, &mut setup.drag.friction)?;
    section.put("wander", 0.0, 0.5, &mut setup.wander)?;
    section.put("hunting", 0.0, 1.0, &mut setup.intake.hunting)?;
    section.put("mixture", 0.6, 1.3, &mut setup.variation.mixture)?;
    section.put("spark_scatter_deg", 0.0, 5.0, &mut setup.spark.jitter)?;
    section.put("bolt_shift_deg", -10.0, 10.0, &mut setup.spark.bolt_shift)?;
    section.put("harness_offset", -40.0, 40.0, &mut setup.spark.idle_offset)?;
    section.put("drive_play_deg", 0.0, 15.0, &mut setup.drive.play)?;
    section.put("bore_mm", 30.0, 300.0, &mut setup.geometry.bore_mm)?;
    section.put("stroke_mm", 30.0, 300.0, &mut setup.geometry.stroke_mm)?;
    let shortest = 0.75 * setup.geometry.stroke_mm;
    setup.geometry.rod_mm = setup.geometry.rod_mm.max(1.5 * setup.geometry.stroke_mm);
    section.put("rod_mm", shortest, 900.0, &mut setup.geometry.rod_mm)?;
    section.put("compression_ratio", 5.0, 16.0, &mut setup.geometry.compression_ratio)?;
    if let Some(setting) = section.within("setting_deg", -90.0, 90.0)? {
        setup.spark.setting += setting;
    }
    if let Some(scale) = section.within("cycle_variation", 0.0, 5.0)? {
        let variation = &mut setup.variation;
        variation.fuel *= scale;
        variation.residual *= scale;
        variation.duration *= scale;
    }
    let phases = [("gas", RipplePhase::Gas), ("driven-pump", RipplePhase::DrivenPump)];
    if let Some(phase) = section.optional("ripple_phase", word(&phases), "\"gas\" or \"driven-pump\"")? {
        setup.drag.ripple_phase = phase;
    }
    let shares = "one number from 0 to 1.5 for each cylinder, cylinder one first";
    if let Some(given) = section.optional("fuel_share", list::<f32, 12>(number), shares)? {
        let fits =
            given.len() == setup.fuel_share.len() && given.iter().all(|share| (0.0..=1.5).contains(share));
        if !fits {
            return Err(section.error("fuel_share", shares));
        }
        setup.fuel_share = given.iter().map(|share| f64::from(*share)).collect();
    }
    Ok(())
}

fn sensor(section: &Section<'_>, case: &mut Case) -> Result<(), JobFileError> {
    let wheel = &mut case.setup.wheel;
    let silent = section.within("silent_below_rpm", 0.0, 1000.0)?.unwrap_or(40.0);
    let kinds = [
        ("zero-crossing", Sensor::ZeroCrossing { arms_at_rpm: silent }),
        ("threshold", Sensor::Threshold { reaches_at_rpm: silent }),
        ("hall", Sensor::Hall),
        ("optical", Sensor::Optical),
    ];
    let allowed = "\"zero-crossing\", \"threshold\", \"hall\" or \"optical\"";
    if let Some(kind) = section.optional("kind", word(&kinds), allowed)? {
        wheel.sensor = kind;
        if !kind.is_variable_reluctance() {
            wheel.end_teeth = EndTeeth::InPlace;
        }
    }
    let laws = [
        ("in-place", EndTeeth::InPlace),
        ("growing-with-speed", EndTeeth::GrowingWithSpeed),
        ("constant", EndTeeth::Constant),
    ];
    let allowed = "\"in-place\", \"growing-with-speed\" or \"constant\"";
    if let Some(law) = section.optional("end_teeth", word(&laws), allowed)? {
        wheel.end_teeth = law;
    }
    section.put("tooth_error_deg", 0.0, 2.0, &mut wheel.tooth_error)?;
    section.put("run_out_deg", 0.0, 2.0, &mut wheel.run_out)?;
    section.put("jitter_deg", 0.0, 1.0, &mut wheel.jitter)?;
    section.put("first_tooth_lost", 0.0, 1.0, &mut wheel.first_tooth_lost)?;
    wheel.reversed = section.optional("reversed", switch, "true or false")?.unwrap_or(wheel.reversed);
    Ok(())
}
