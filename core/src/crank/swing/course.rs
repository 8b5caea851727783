//! Takes the crank's swing off its teeth, and puts it back on an answer.

use super::super::plan::Plan;
use super::super::teeth::{Teeth, Tooth, pitches_between};
use super::super::weights::weights;
use super::orders::Order;
use super::phase::{times, wave_at};
use super::{Misfit, Side, Support, Waves, moved_by};
use crate::statistics::uncertainty::Component;
use crate::units::{Advance, CrankAngle, TURN};
use heapless::Vec;
use keyway_curve::{NODES, Nodes, PITCH};

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

    /// Moves the nodes, which stand at these teeth (oldest first) and are counted from `first`, to where they pass
    /// evenly.
    pub(in super::super) fn even_out(&self, plan: &Plan, teeth: &[Tooth], first: &Tooth, nodes: &mut Nodes) {
        let per_degree = self.slots / 360.0;
        let pitches = |tooth: &Tooth| pitches_between(plan, first, tooth);
        let start = teeth.first().map_or(0, pitches);
        let from = self.turns(first) + start as f32 / self.slots;
        let mut shifts = [0.0f32; NODES];
        // One sine a wave, then from pitch to pitch by turning it.
        for wave in &self.waves {
            let mut pointer = wave_at(wave.halves, from);
            let step = wave_at(wave.halves, 1.0 / self.slots);
            let mut here = start;
            for (tooth, shift) in teeth.iter().zip(&mut shifts) {
                let there = pitches(tooth);
                while here < there {
                    pointer = times(pointer, step);
                    here += 1;
                }
                *shift += wave.cosine * pointer.1 + wave.sine * pointer.0;
            }
        }
        let [late, early] = self.shifts.unwrap_or_default();
        for ((tooth, node), shift) in teeth.iter().zip(nodes.iter_mut()).zip(&mut shifts) {
            if tooth.slot == 0 {
                *shift += late;
            } else if tooth.slot == self.last_slot {
                *shift += early;
            }
            if *shift != 0.0 {
                node.place = node.place.saturating_add((*shift * per_degree * PITCH as f32) as i32);
            }
        }
    }

    /// The crank's place, pitches from `first`, where even passing is at `evened`.
    pub(in super::super) fn crank_at(&self, evened: f32, first: &Tooth) -> f32 {
        if self.waves.is_empty() {
            return evened;
        }
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
    let (turns, support) = support(plan, advance, true, course.knows_ends())?;
    teeth.swing().doubt(plan, turns, &support, seen)
}

/// How far a swing of one degree's amplitude, `order` times a turn and in the worst phase, would move the angle
/// read at `advance` while nothing is known of it, degrees.
pub(in super::super) fn wheel_response(plan: &Plan, advance: Advance, order: f32) -> f32 {
    support(plan, advance, false, false).map_or(0.0, |(turns, support)| {
        let order = Order { halves: (order * 2.0 + 0.5) as u8, likely: 0.0 };
        let [cosine, sine, ..] = moved_by(&[order], turns, &support);
        libm::sqrtf(cosine * cosine + sine * sine)
    })
}

/// The teeth that an angle at `advance` rests on where none is missing, and how many turns after slot 0 it
/// is; with the teeth beside the gap in use or not.
fn support(plan: &Plan, advance: Advance, evened: bool, ends: bool) -> Option<(f32, Vec<Support, NODES>)> {
    let slots = i32::from(plan.slots());
    let angle = CrankAngle::from_fraction(0u32.wrapping_sub(advance.fraction() as u32));
    let turned = plan.angle(0).to(angle) as f32 / TURN as f32;
    let place = turned * slots as f32;
    let wanted = usize::from(plan.nodes_wanted(evened));
    let mut places: Vec<f32, NODES> = Vec::new();
    let mut support: Vec<Support, NODES> = Vec::new();
    for (mut pitch, step) in [(place as i32, -1), (place as i32 + 1, 1)] {
        let most = places.len() + wanted;
        for _ in 0..slots {
            let slot = pitch.rem_euclid(slots.max(1)) as u8;
            let usable = slot < plan.count() && (ends || !plan.beside_gap(slot));
            if usable && places.len() < most {
                let side = match slot {
                    0 if ends => Side::First,
                    slot if slot + 1 == plan.count() && ends => Side::Last,
                    _ => Side::Neither,
                };
                let _ = places.push(pitch as f32 - place);
                let _ = support.push(Support { turns: pitch as f32 / slots as f32, weight: 0.0, side, slot });
            }
            pitch += step;
        }
    }
    for (tooth, weight) in support.iter_mut().zip(weights(&places, evened)?) {
        tooth.weight = weight;
    }
    Some((turned, support))
}
