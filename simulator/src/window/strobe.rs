//! What a strobe on the clamp's spark shows, and where the crank stands when there is time to see it.

use super::stage::Stage;
use keyway_core::job::Control;

/// A flash is seen so long, s.
const SEEN: f64 = 0.5;
/// Older flashes that still show as a shadow, s.
const SHADOW: f64 = 1.2;

/// What there is to see of the balancer.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Sight {
    /// Frozen by the strobe: advance of the newest flash, and of older ones with their fading, 1 new to 0 gone.
    Frozen(f64, Vec<(f64, f32)>),
    /// Slow enough to be followed, or standing: degrees after top dead centre, and where the newest spark came on
    /// the wheel, degrees before it; whether it comes just now.
    Followed(f64, Option<f64>, bool),
    /// Turning, and nothing flashes.
    Blurred,
}

/// What there is to see now.
pub(super) fn sight(stage: &Stage) -> Sight {
    let bench = stage.bench();
    let engine = &bench.engine;
    let sparks = bench.tape().into_iter().flat_map(crate::guide_play::Tape::sparks);
    let mut recent: Vec<(f64, f64, f64)> = sparks
        .take_while(|(age, _)| *age < SHADOW)
        .map(|(age, spark)| (age, spark.advance, spark.angle))
        .collect();
    if !bench.clipped() {
        recent.clear();
    }
    let slow = stage.pace < 0.5 || stage.paused;
    if slow || engine.rpm() < 30.0 {
        let angle = engine.angle();
        let newest = recent.first();
        let just = newest.is_some_and(|(_, _, at)| angle - at < 14.0) && engine.rpm() > 30.0;
        return Sight::Followed(angle.rem_euclid(360.0), newest.map(|(_, advance, _)| *advance), just);
    }
    match recent.split_first() {
        Some(((age, advance, _), older)) if *age < SEEN => {
            let shadows =
                older.iter().map(|(age, advance, _)| (*advance, (1.0 - age / SHADOW) as f32)).collect();
            Sight::Frozen(*advance, shadows)
        }
        _ => Sight::Blurred,
    }
}

/// Angle of the rotor over its way round, turns of the shaft from where cylinder one's spark belongs; seen frozen
/// at the newest spark, or followed.
pub(super) fn rotor_turns(stage: &Stage) -> Option<f64> {
    let engine = &stage.bench().engine;
    let cycle = engine.setup().layout.cycle();
    let spark = &engine.setup().spark;
    let told = if spark.control == Control::Commanded { spark.commanded } else { spark.base };
    let base = told + spark.setting;
    let at = match sight(stage) {
        Sight::Frozen(..) => {
            let newest = stage.bench().tape()?.sparks().next()?;
            newest.1.angle
        }
        Sight::Followed(..) => engine.angle(),
        Sight::Blurred => return None,
    };
    Some(((at + base) / cycle).rem_euclid(1.0))
}
