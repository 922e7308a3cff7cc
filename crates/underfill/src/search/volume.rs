//! The volume window: the least that fills gap and smallest fillets, the most before a bead or a fillet runs over its room.
//!
//! Beads are half-round, so that a line of length l and volume v has a radius `sqrt(2 v / (pi l))` ([`crate::volume::pass_volume`]): it must not reach
//! the die's wall, nor the end of the room on its other side. Fillets may be as wide as the room beside the die and as high as the die.

use super::recipe::{Recipe, length};
use super::refusal::Why;
use crate::problem::{Edge, Fillet};
use crate::volume::{fillet_volume, pass_volume};
use serde::{Deserialize, Serialize};

/// What lies around the die.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Surroundings {
    /// Thickness of the die, m.
    pub thickness_m: f64,
    /// Room beside the left, right, bottom and top edge before something that must stay clean, m: passives, keep-outs.
    pub room_m: [f64; 4],
    /// Smallest fillet that is wanted on all sides; none where any will do.
    pub least_fillet: Option<Fillet>,
    /// Largest deviation of the volume that comes out of the needle, over the volume (0.05 to 0.1: common practice).
    pub volume_tolerance: f64,
}

impl Surroundings {
    fn beside(&self, edge: Edge) -> f64 {
        self.room_m[match edge {
            Edge::Left => 0,
            Edge::Right => 1,
            Edge::Bottom => 2,
            Edge::Top => 3,
        }]
    }
}

/// Least and most volume (m3) of a recipe over a gap of a free volume (m3); the most of its beads is in it. Empty, with the least above the most,
/// where no volume will do.
pub fn window(recipe: &Recipe, size_m: [f64; 2], free_m3: f64, around: &Surroundings) -> [f64; 2] {
    let perimeter = 2.0 * (size_m[0] + size_m[1]);
    let least = around.least_fillet.map_or(0.0, |f| fillet_volume(perimeter, f.width_m, f.height_m));
    let width = around.room_m.iter().copied().fold(f64::INFINITY, f64::min);
    // A fillet wider than high runs out; one higher than the die runs onto its back.
    let most = fillet_volume(perimeter, width.min(2.0 * around.thickness_m), around.thickness_m);
    [free_m3 + least, (free_m3 + most).min(most_of_beads(recipe, size_m, around))]
}

/// The most that the beads of all passes hold, m3.
fn most_of_beads(recipe: &Recipe, size_m: [f64; 2], around: &Surroundings) -> f64 {
    let edges = recipe.edges();
    let whole: f64 = edges.iter().map(|e| length(*e, size_m)).sum();
    // All lines hold the same volume in a length, so that the narrowest room counts.
    let radius = edges
        .iter()
        .map(|e| recipe.offset_m.min(around.beside(*e) - recipe.offset_m))
        .fold(f64::INFINITY, f64::min);
    f64::from(recipe.passes) * pass_volume(radius.max(0.0), whole)
}

/// What arithmetic refuses, for a gap of a free volume (m3).
pub(super) fn refusal(recipe: &Recipe, size_m: [f64; 2], free_m3: f64, around: &Surroundings) -> Option<Why> {
    for edge in recipe.edges() {
        let room = around.beside(edge);
        if recipe.offset_m >= room {
            return Some(Why::NoRoom { edge, offset_mm: 1e3 * recipe.offset_m, room_mm: 1e3 * room });
        }
    }
    let given = [1.0 - around.volume_tolerance, 1.0 + around.volume_tolerance].map(|f| f * recipe.volume_m3);
    let beads = most_of_beads(recipe, size_m, around);
    if given[1] > beads {
        let a_pass = |v: f64| 1e9 * v / f64::from(recipe.passes);
        return Some(Why::BeadTooLarge { a_pass_mm3: a_pass(given[1]), most_mm3: a_pass(beads) });
    }
    let [least, most] = window(recipe, size_m, free_m3, around);
    if given[0] < least {
        return Some(Why::TooLittle { least_given_mm3: 1e9 * given[0], needed_mm3: 1e9 * least });
    }
    (given[1] > most).then(|| Why::TooMuch { most_given_mm3: 1e9 * given[1], room_mm3: 1e9 * most })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::problem::Pattern;

    const SIZE: [f64; 2] = [10e-3, 8e-3];

    fn around() -> Surroundings {
        Surroundings {
            thickness_m: 0.5e-3,
            room_m: [2e-3, 2e-3, 2e-3, 2e-3],
            least_fillet: Some(Fillet { height_m: 0.25e-3, width_m: 0.3e-3 }),
            volume_tolerance: 0.05,
        }
    }

    fn recipe(passes: u32, offset_m: f64, volume_m3: f64) -> Recipe {
        Recipe { pattern: Pattern::L, edge: Edge::Left, passes, wait_s: 10.0, offset_m, volume_m3 }
    }

    #[test]
    fn each_bound_refuses_what_lies_beyond_it_and_nothing_else() {
        let free = 4e-9;
        let [least, most] = window(&recipe(6, 0.6e-3, 0.0), SIZE, free, &around());
        // Gap and triangle fillets with quarter cones by hand: 36 mm x 0.3 x 0.25 / 2 + pi 0.3^2 x 0.25 / 3.
        assert!((least * 1e9 - (4.0 + 1.35 + 0.0235619)).abs() < 1e-6, "{least}");
        assert!((most * 1e9 - (4.0 + 9.0 + std::f64::consts::PI * 0.5 / 3.0)).abs() < 1e-6, "{most}");
        for (volume, passes, expected) in [
            (least / 0.95 * 1.001, 6, None),
            (least / 0.95 * 0.999, 6, Some("the least that may")),
            (most / 1.05 * 0.999, 6, None),
            (most / 1.05 * 1.001, 6, Some("the most that may")),
            (most / 1.05 * 0.999, 1, Some("a pass lays")),
        ] {
            let why = refusal(&recipe(passes, 0.6e-3, volume), SIZE, free, &around()).map(|w| w.to_string());
            match (expected, &why) {
                (None, None) => {}
                (Some(begin), Some(words)) => assert!(words.starts_with(begin), "{words}"),
                _ => panic!("{expected:?} {why:?}"),
            }
        }
        let why = refusal(&recipe(6, 2.5e-3, 6e-9), SIZE, free, &around()).unwrap().to_string();
        assert!(why.starts_with("the line lies 2.50 mm off the left edge"), "{why}");
    }
}
