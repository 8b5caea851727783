//! Takes the crank's swing off its teeth, and puts it back on an answer.

use super::super::plan::Plan;
use super::super::teeth::{Teeth, Tooth};
use super::doubt::moved_by;
use super::orders::{ORDERS, Order};
use super::phase::{ONE_BITS, Place};
use super::{Misfit, Side, Support, Wave};
use crate::fixed::gather;
use crate::statistics::functions::square_root;
use crate::statistics::uncertainty::Component;
use crate::units::{Advance, CrankAngle, TURN};
use heapless::Vec;
use keyway_curve::{NODES, Nodes, PITCH, weights};

/// A wave by how many parts of a pitch it moves the crank.
struct Moves {
    halves: u8,
    cosine: i32,
    sine: i32,
}

/// What the crank does beside turning evenly, at one speed.
pub(in super::super) struct Course {
    waves: Vec<Moves, { 2 * ORDERS }>,
    /// By how many parts of a pitch the first tooth after the gap, and the last before it, come late.
    shifts: Option<[i32; 2]>,
    last_slot: u8,
    /// A pitch as a part of two turns, in 32 bits.
    pitch: u32,
}

/// Steps of putting the swing back at most: each leaves a part of the error as large as the swing of the speed.
const STEPS: u32 = 12;

impl Course {
    /// As known from the turns before; `None` where nothing is.
    pub(in super::super) fn of(plan: &Plan, teeth: &Teeth) -> Option<Self> {
        let swing = Some(teeth.swing()).filter(|swing| swing.known())?;
        let ratio = swing.ratio(teeth.newest_turn()? as f32);
        let per_degree = f32::from(plan.slots().max(1)) * (PITCH as f32 / 360.0);
        let parts = |degrees: f32| (degrees * per_degree) as i32;
        let moves =
            |wave: Wave| Moves { halves: wave.halves, cosine: parts(wave.cosine), sine: parts(wave.sine) };
        Some(Self {
            waves: gather(swing.waves(ratio).map(moves)),
            shifts: swing.shifts(plan, ratio).map(|shifts| shifts.map(parts)),
            last_slot: plan.count().saturating_sub(1),
            pitch: (1 << 31) / u32::from(plan.slots().max(1)),
        })
    }

    /// Whether the teeth beside the gap can be used.
    pub(in super::super) fn knows_ends(&self) -> bool {
        self.shifts.is_some()
    }

    /// Parts of a pitch by which even passing is ahead of the crank there.
    fn ahead(&self, place: Place) -> i32 {
        let mut ahead = 0;
        for wave in &self.waves {
            let (sine, cosine) = place.wave(wave.halves);
            ahead += i64::from(wave.cosine) * i64::from(cosine) + i64::from(wave.sine) * i64::from(sine);
        }
        (ahead >> ONE_BITS) as i32
    }

    fn place_of(&self, tooth: &Tooth) -> Place {
        Place::of_slot(tooth.turn, tooth.slot, self.pitch)
    }

    /// Moves the nodes, which stand at these teeth, to where they pass evenly.
    pub(in super::super) fn even_out(&self, teeth: &[Tooth], nodes: &mut Nodes) {
        let [late, early] = self.shifts.unwrap_or_default();
        for (tooth, node) in teeth.iter().zip(nodes.iter_mut()) {
            let shift = match tooth.slot {
                0 => late,
                slot if slot == self.last_slot => early,
                _ => 0,
            };
            node.place = node.place.wrapping_add(shift).wrapping_add(self.ahead(self.place_of(tooth)));
        }
    }

    /// The crank's place, parts of a pitch from `first`, where even passing is at `evened`.
    pub(in super::super) fn crank_at(&self, evened: i32, first: &Tooth) -> i32 {
        let start = self.place_of(first);
        let mut place = evened;
        for _ in 0..STEPS {
            let next = evened.wrapping_sub(self.ahead(start.turned(place, self.pitch)));
            let step = next.wrapping_sub(place);
            place = next;
            if (-1..=1).contains(&step) {
                break;
            }
        }
        place
    }
}

/// What the errors of the teeth and what is not known of the crank's swing leave in an angle read at
/// `advance`, standard uncertainty in degrees; `None` where nothing is known of the swing yet. What is known stays
/// so where sync was lost since.
pub fn swing_doubt(plan: &Plan, teeth: &Teeth, advance: Advance, seen: Misfit) -> Option<Component> {
    let swing = Some(teeth.swing()).filter(|swing| swing.known())?;
    let (turns, support) = support(plan, advance, true, swing.knows_ends(plan, teeth.newest_turn()))?;
    swing.doubt(plan, turns, &support, seen)
}

/// How far a swing of one degree's amplitude, `order` times a turn and in the worst phase, would move the angle
/// read at `advance` while nothing is known of it, degrees.
pub(in super::super) fn wheel_response(plan: &Plan, advance: Advance, order: f32) -> f32 {
    support(plan, advance, false, false).map_or(0.0, |(turns, support)| {
        let order = Order { halves: (order * 2.0 + 0.5) as u8, likely: 0.0 };
        let [cosine, sine, ..] = moved_by(&[order], turns, &support);
        square_root(cosine * cosine + sine * sine)
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
    let mut places: Vec<i32, NODES> = Vec::new();
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
                let _ = places.push(((pitch as f32 - place) * PITCH as f32) as i32);
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
