//! Takes the crank's swing off its teeth, and puts it back on an answer.

use super::super::fit::{NODES, Nodes, weights};
use super::super::plan::Plan;
use super::super::teeth::{Teeth, Tooth, pitches_between};
use super::{Misfit, Side, Support, Waves, wave_at};
use crate::statistics::uncertainty::Component;
use crate::units::{Advance, CrankAngle, TURN};
use heapless::Vec;

/// What the crank does beside turning evenly, at one speed.
pub(in super::super) struct Course {
    waves: Waves,
    shifts: Option<[f32; 2]>,
    slots: f32,
    last_slot: u8,
}

impl Course {
    /// As known from the turns before; `None` where nothing is.
    pub(in super::super) fn of(plan: &Plan, teeth: &Teeth) -> Option<Self> {
        let swing = Some(teeth.swing()).filter(|swing| swing.known())?;
        let turn = teeth.newest_turn()? as f32;
        Some(Self {
            waves: swing.waves(turn),
            shifts: swing.shifts(plan, turn),
            slots: f32::from(plan.slots().max(1)),
            last_slot: plan.count().saturating_sub(1),
        })
    }

    /// Whether the teeth beside the gap can be used.
    pub(in super::super) fn knows_ends(&self) -> bool {
        self.shifts.is_some()
    }

    /// Turns from slot 0 of an even turn.
    fn turns(&self, tooth: &Tooth) -> f32 {
        f32::from(tooth.turn as u8 & 1) + f32::from(tooth.slot) / self.slots
    }

    /// Moves the nodes, which stand at these teeth (oldest first) and are counted in pitches from `first`, to
    /// where they pass evenly.
    pub(in super::super) fn even_out<'a>(
        &self,
        teeth: impl Iterator<Item = &'a Tooth> + Clone,
        first: &Tooth,
        nodes: &mut Nodes,
    ) {
        let per_degree = self.slots / 360.0;
        if let Some([after, before]) = self.shifts {
            for (tooth, node) in teeth.clone().zip(nodes.iter_mut()) {
                let shift = match tooth.slot {
                    0 => after,
                    slot if slot == self.last_slot => before,
                    _ => 0.0,
                };
                node.position += shift * per_degree;
            }
        }
        // One sine a wave, then from pitch to pitch by turning it.
        let pitches = |tooth: &Tooth| pitches_between(self.slots as i64, first, tooth);
        let start = teeth.clone().next().map_or(0, pitches);
        let from = self.turns(first) + start as f32 / self.slots;
        for wave in &self.waves {
            let (mut sine, mut cosine) = wave_at(wave.halves, from);
            let (step_sine, step_cosine) = wave_at(wave.halves, 1.0 / self.slots);
            let mut here = start;
            for (tooth, node) in teeth.clone().zip(nodes.iter_mut()) {
                while here < pitches(tooth) {
                    (sine, cosine) =
                        (sine * step_cosine + cosine * step_sine, cosine * step_cosine - sine * step_sine);
                    here += 1;
                }
                node.position += (wave.cosine * cosine + wave.sine * sine) * per_degree;
            }
        }
    }

    /// The crank's place, pitches from `first`, where even passing is at `evened`.
    pub(in super::super) fn crank_at(&self, evened: f32, first: &Tooth) -> f32 {
        let per_degree = self.slots / 360.0;
        let start = self.turns(first);
        let mut place = evened;
        for _ in 0..2 {
            let (mut ahead, mut slope) = (0.0, 0.0);
            for wave in &self.waves {
                let (sine, cosine) = wave_at(wave.halves, start + place / self.slots);
                ahead += (wave.cosine * cosine + wave.sine * sine) * per_degree;
                let per_pitch = f32::from(wave.halves) * 0.5 * core::f32::consts::TAU / self.slots;
                slope += (wave.sine * cosine - wave.cosine * sine) * per_degree * per_pitch;
            }
            place -= (place + ahead - evened) / (1.0 + slope).max(0.3);
        }
        place
    }
}

/// What the errors of the teeth and what is not known of the crank's swing leave in an angle read at
/// `advance`, standard uncertainty in degrees; `None` where nothing is known of the swing yet.
pub fn swing_doubt(plan: &Plan, teeth: &Teeth, advance: Advance, seen: Misfit) -> Option<Component> {
    let course = Course::of(plan, teeth)?;
    let slots = i32::from(plan.slots());
    let turned = plan.angle(0).to(CrankAngle::from_fraction(0u32.wrapping_sub(advance.fraction() as u32)))
        as f32
        / TURN as f32;
    let place = turned * slots as f32;
    let wanted = usize::from(plan.nodes_wanted(true));
    let ends_usable = teeth.ends_in_place() || course.knows_ends();
    let node = |pitch: i32| {
        let slot = pitch.rem_euclid(slots.max(1)) as u8;
        (slot < plan.count() && (ends_usable || !plan.beside_gap(slot))).then_some((pitch, slot))
    };
    let before = (0..slots).filter_map(|step| node(place as i32 - step)).take(wanted);
    let after = (1..slots).filter_map(|step| node(place as i32 + step)).take(wanted);
    let mut places: Vec<f32, NODES> = Vec::new();
    let mut support: Vec<Support, NODES> = Vec::new();
    for (pitch, slot) in before.chain(after) {
        let side = match slot {
            0 if course.knows_ends() => Side::First,
            slot if slot == course.last_slot && course.knows_ends() => Side::Last,
            _ => Side::Neither,
        };
        let _ = places.push(pitch as f32 - place);
        let _ = support.push(Support { turns: pitch as f32 / slots as f32, weight: 0.0, side, slot });
    }
    for (tooth, weight) in support.iter_mut().zip(weights(&places, true)?) {
        tooth.weight = weight;
    }
    // The spark may come in either turn of the cycle.
    let first = teeth.swing().doubt(plan, turned, &support, seen)?;
    support.iter_mut().for_each(|tooth| tooth.turns += 1.0);
    let second = teeth.swing().doubt(plan, turned + 1.0, &support, seen)?;
    Some(if first.standard > second.standard { first } else { second })
}
