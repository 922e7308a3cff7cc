//! Why there is no fillet to tell, and what a problem must be.

use super::problem::{EDGES, Problem};
use crate::problem::Edge;
use facedown_field::NoConvergence;
use std::f64::consts::{FRAC_PI_2, PI};

/// Why a problem has no outcome.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// A number that cannot be.
    #[error("{what} is {value}; it must be {allowed}")]
    NotPhysical {
        /// What.
        what: String,
        /// Its value in SI.
        value: f64,
        /// What is allowed.
        allowed: &'static str,
    },
    /// A corner of die and substrate that does not draw liquid along.
    #[error(
        "no fillet holds along the {} edge: the contact angles of the die's wall, {wall_deg:.1} deg, and of the substrate, {substrate_deg:.1} \
         deg, add up to 90 deg or more, and liquid gathers in drops there; clean the duller of both", name(*edge)
    )]
    DoesNotWet {
        /// Side.
        edge: Edge,
        /// Contact angle on the wall, deg.
        wall_deg: f64,
        /// Contact angle on the substrate, deg.
        substrate_deg: f64,
    },
    /// A side that spills before the gap stands full.
    #[error(
        "at the {} edge the liquid passes its stop or runs off before the gap stands full at all edges; set the stop farther off, or make \
         the gap lower", name(*edge)
    )]
    NothingHolds {
        /// Side.
        edge: Edge,
    },
    /// Liquid that does not reach the edges.
    #[error(
        "{missing_mm3:.4} mm3 are missing before the gap stands full at the {} edge; dispense more", name(*edge)
    )]
    TooLittle {
        /// The side that empties first.
        edge: Edge,
        /// Volume missing, mm3.
        missing_mm3: f64,
    },
    /// A numerical method that did not end.
    #[error("the fillets could not be found: {0}")]
    Numeric(#[from] NoConvergence),
}

/// The word for an edge.
pub(super) fn name(edge: Edge) -> &'static str {
    match edge {
        Edge::Left => "left",
        Edge::Right => "right",
        Edge::Bottom => "bottom",
        Edge::Top => "top",
    }
}

/// Checks every number of a problem.
pub(super) fn check(p: &Problem) -> Result<(), Refusal> {
    let within = |what: &str, value: f64, low: f64, high: f64, allowed: &'static str| {
        if (low..=high).contains(&value) {
            Ok(())
        } else {
            Err(Refusal::NotPhysical { what: what.into(), value, allowed })
        }
    };
    within("the width of the die", p.size_m[0], 1e-6, 1.0, "from 1 um to 1 m")?;
    within("the height of the die", p.size_m[1], 1e-6, 1.0, "from 1 um to 1 m")?;
    within("the gap", p.gap_m, 1e-7, 1e-2, "from 0.1 um to 10 mm")?;
    within("the height of the die's back", p.back_m, 1.001 * p.gap_m, 2e-2, "above the gap, up to 20 mm")?;
    within("the volume", p.volume_m3, -1.0, 1.0, "a volume of at most 1 m3")?;
    within("the surface tension", p.tension_n_m, 1e-4, 1.0, "from 0.1 mN/m to 1 N/m")?;
    within("the density", p.density_kg_m3, 0.0, 3e4, "from 0 to 30,000 kg/m3")?;
    within("the contact angle on the die's face", p.face_rad, 0.0, FRAC_PI_2, "from 0 to 90 deg")?;
    for (side, edge) in p.sides.iter().zip(EDGES) {
        let of = |what: &str| format!("{what} at the {} edge", name(edge));
        within(&of("the contact angle on the wall"), side.wall_rad, 0.0, PI, "from 0 to 180 deg")?;
        within(&of("the contact angle on the substrate"), side.substrate_rad, 0.0, PI, "from 0 to 180 deg")?;
        if side.wall_rad + side.substrate_rad > FRAC_PI_2 - 1e-3 {
            let [wall_deg, substrate_deg] = [side.wall_rad, side.substrate_rad].map(f64::to_degrees);
            return Err(Refusal::DoesNotWet { edge, wall_deg, substrate_deg });
        }
        if let Some(stop) = side.stop {
            within(&of("the distance of the stop"), stop.distance_m, 1e-6, 1.0, "from 1 um to 1 m")?;
            let low = side.substrate_rad;
            within(
                &of("the angle that the stop holds"),
                stop.until_rad,
                low,
                PI,
                "at least the substrate's",
            )?;
        }
        if let Some(distance) = side.keep_clear_m {
            within(&of("the distance that stays clear"), distance, 0.0, 1.0, "from 0 to 1 m")?;
        }
        if let Some(line) = side.line {
            within(&of("the offset of the line"), line.offset_m, 0.0, 0.1, "from 0 to 100 mm")?;
            within(&of("the line's volume over its length"), line.area_m2, 1e-14, 1e-4, "1e-8 to 100 mm2")?;
            let what = of("the contact angle on the substrate, where a line is dispensed,");
            within(&what, side.substrate_rad, 0.01, PI, "above 0.5 deg, or the line spreads without end")?;
        }
    }
    Ok(())
}
