//! What was measured on the faces: angles of drops from their size or picture, maps over the die, charts over lots.
//!
//! The rooms [`crate::drop`] and [`crate::readings`] know one drop, one map, one chart. Here a list of [`Drop`]s of all faces,
//! liquids and lots becomes readings that the study uses as any others, angles of the underfill itself, and what the report shows.
//! A picture that cannot be read leaves its drop out and says so.

mod groups;
mod outcome;

pub use outcome::{DropFound, FaceMap, LotChart, LotPoint, Measurements};

use crate::drop::{self, Asked, Gravity, size};
use crate::problem::{Angle, Drop, Face, Measured, Problem, Reading};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;

/// Density of liquids at 20 degC, kg/m3 (handbook values, from memory); of a filled resin 1600 (common practice, no source).
const DENSITIES: [(&str, f64); 7] = [
    ("water", 998.2),
    ("diiodomethane", 3320.0),
    ("ethylene glycol", 1113.0),
    ("formamide", 1133.0),
    ("glycerol", 1261.0),
    ("1-bromonaphthalene", 1480.0),
    ("dimethyl sulfoxide", 1100.0),
];
pub(crate) const RESIN: f64 = 1600.0;
/// Standard acceleration of gravity, m/s2 (CGPM 1901).
const GRAVITY: f64 = 9.806_65;
/// Deviation of volume and diameter over their values, where none is given (common practice, no source).
const SIZE_SPREAD: f64 = 0.02;
/// Deviation of a capillary length over its value.
const LENGTH_SPREAD: f64 = 0.02;
/// Standard deviation of a stated reading without one, rad (2 degrees: usual for sessile drops, common practice).
const READING_SPREAD: f64 = 2.0 * std::f64::consts::PI / 180.0;
/// Name of the underfill among the liquids.
pub const UNDERFILL: &str = "underfill";

/// Readings and angles that drops give, beside what the report shows.
#[derive(Debug, Clone, Default)]
pub(crate) struct Found {
    /// Of probe liquids, beside residue.
    pub readings: Vec<Reading>,
    /// Angles of the underfill itself, in the state of dispensing.
    pub own: Vec<(Face, Angle)>,
    /// For the report.
    pub shown: Measurements,
    /// Sentences.
    pub notes: Vec<String>,
}

/// Reads every drop.
pub(crate) fn read(problem: &Problem) -> Found {
    let mut found = Found::default();
    for (k, drop) in problem.drops.iter().enumerate() {
        let read = match one(problem, k, drop) {
            Ok(read) => read,
            Err(reason) => {
                found.notes.push(format!("Drop {} of the readings is left out: {reason}.", k + 1));
                continue;
            }
        };
        let bare = !crate::cleaning::lies_on_residue(problem, drop.face, drop.place_m);
        found.readings.extend(drop.liquid.clone().filter(|_| bare).map(|liquid| Reading {
            face: drop.face,
            liquid,
            angle_rad: read.angle_rad,
            spread_rad: read.spread_rad,
            dose_j: drop.dose_j,
            age_s: drop.age_s,
        }));
        found.shown.drops.push(read);
    }
    groups::own(problem, &mut found);
    groups::maps(problem, &mut found);
    groups::charts(&mut found);
    found
}

/// The name of a drop's liquid.
fn liquid_name(drop: &Drop) -> &str {
    drop.liquid.as_ref().map_or(UNDERFILL, |l| l.name.as_str())
}

/// Capillary length of a drop's liquid, m.
fn capillary_length(problem: &Problem, drop: &Drop) -> f64 {
    let (tension, density) = match &drop.liquid {
        Some(liquid) => {
            let known = DENSITIES.iter().find(|d| d.0 == liquid.name).map_or(1000.0, |d| d.1);
            (liquid.tension_n_m(), known)
        }
        None => (problem.liquid.surface_tension_n_m, RESIN),
    };
    (tension / (density * GRAVITY)).sqrt()
}

/// The angle of one drop.
fn one(problem: &Problem, number: usize, of: &Drop) -> Result<DropFound, String> {
    let length_m = capillary_length(problem, of);
    let mut found = DropFound {
        of: number,
        face: of.face,
        liquid: liquid_name(of).to_owned(),
        place_m: of.place_m,
        lot: of.lot.clone(),
        dose_j: of.dose_j,
        age_s: of.age_s,
        angle_rad: 0.0,
        spread_rad: if of.spread_rad > 0.0 { of.spread_rad } else { READING_SPREAD },
        from: "stated".into(),
        marked_png: None,
        marked_size: [0; 2],
    };
    match &of.how {
        Measured::Angle(angle_rad) => found.angle_rad = *angle_rad,
        Measured::Size { volume_m3, diameter_m } => {
            let sized = size::angle_of(
                (*volume_m3, SIZE_SPREAD * volume_m3),
                (*diameter_m, SIZE_SPREAD * diameter_m),
                length_m,
            )
            .map_err(|e| e.to_string())?;
            (found.angle_rad, found.spread_rad) = (sized.angle_rad, sized.spread_rad);
            found.from = format!(
                "{:.2} uL on a base of {:.2} mm, each known to {:.0} %",
                1e9 * volume_m3,
                1e3 * diameter_m,
                100.0 * SIZE_SPREAD
            );
        }
        Measured::Picture { name, base64, pixel_m } => {
            let bytes = STANDARD.decode(base64).map_err(|e| format!("{name}: {e}"))?;
            let picture = facedown_raster::read(&bytes).map_err(|e| format!("{name}: {e}"))?;
            let gravity = match pixel_m {
                Some(_) => Gravity::Known { length_m, spread_m: LENGTH_SPREAD * length_m },
                None => Gravity::Neglected,
            };
            let asked = Asked { pixel_m: *pixel_m, gravity, base_line: None };
            let read = drop::read(&picture, &asked).map_err(|e| format!("{name}: {e}"))?;
            (found.angle_rad, found.spread_rad) = (read.angle_rad, read.uncertainty.total_rad());
            found.from = format!("picture {name}");
            let canvas = drop::marked(&picture, &read);
            let png = canvas.png().map_err(|e| format!("{name}: {e}"))?;
            found.marked_size = [canvas.width(), canvas.height()];
            found.marked_png = Some(STANDARD.encode(png));
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests;
