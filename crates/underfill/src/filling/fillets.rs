//! Fillets of a filled part: the liquid that the lines still hold stands around the die under one pressure.

use super::Filling;
use super::task::first_edge;
use crate::fillet::{self, EDGES, Line, Side};
use crate::problem::{Edge, Face};
use crate::solve::Work;
use facedown_evidence::Figure;
use std::collections::BTreeMap;

/// The fillets of a filled gap; nothing (and a note) where none can stand.
pub(crate) fn stand(work: &Work<'_>, filling: &Filling, notes: &mut Vec<String>) -> Option<fillet::Outcome> {
    let p = work.problem;
    filling.fill_time_s?;
    let size_m = [p.die.width_m, p.die.height_m];
    let angle = |face: Face| work.faces.angle(face);
    let fed = p.dispense.pattern.edges(first_edge(&p.dispense, size_m));
    let length = |edge: &Edge| if matches!(edge, Edge::Left | Edge::Right) { size_m[1] } else { size_m[0] };
    let area_m2 =
        work.dispensed / (f64::from(p.dispense.passes.max(1)) * fed.iter().map(length).sum::<f64>());
    let side = |edge: Edge| Side {
        wall_rad: angle(Face::Die),
        substrate_rad: angle(Face::Substrate),
        stop: None,
        keep_clear_m: p.keep_clear_m,
        line: p.dispense.offset_m.filter(|_| fed.contains(&edge)).map(|offset_m| Line { offset_m, area_m2 }),
    };
    let problem = fillet::Problem {
        size_m,
        gap_m: p.gap_m,
        back_m: p.gap_m + p.die.thickness_m,
        volume_m3: work.dispensed - filling.free_volume_m3,
        tension_n_m: p.liquid.surface_tension_n_m,
        density_kg_m3: crate::measured::RESIN,
        face_rad: angle(Face::Die),
        sides: EDGES.map(side),
    };
    match fillet::solve(&problem) {
        Ok(outcome) => {
            notes.extend(outcome.faults());
            Some(outcome)
        }
        Err(reason) => {
            notes.push(format!(
                "The fillets are told by a straight face, as their shape is not found: {reason}."
            ));
            None
        }
    }
}

/// Puts height and width of the solved fillets in the place of those by hand.
pub(crate) fn write(
    fillets: &fillet::Outcome,
    figures: &mut [Figure],
    limits: &mut BTreeMap<String, String>,
) {
    let heights = fillets.sides.iter().map(|s| s.height_m);
    let lowest = heights.clone().fold(f64::INFINITY, f64::min);
    let widest = fillets.sides.iter().map(|s| s.width_m).fold(0.0, f64::max);
    let basis = "four sides under one pressure, profile by T. Young and P.-S. Laplace with weight (density 1600 kg/m3, common practice)";
    for (name, value) in [("fillet_height", lowest), ("fillet_width", widest)] {
        let Some(figure) = figures.iter_mut().find(|f| f.name == name) else { continue };
        *figure = Figure { hand: Some(figure.value), ..Figure::solved(name, 1e6 * value, "um", basis) };
    }
    let climb = fillets.sides.iter().map(|s| s.climb).fold(f64::INFINITY, f64::min);
    limits.insert(
        "fillet_height".into(),
        format!("set by {:.0} % of the die's wall that the liquid climbs", 100.0 * climb),
    );
}
