//! Conductivity of what is made of two materials: columns, trace layers, filled resins, layered stacks.
//!
//! Along columns and layers the mean by area is exact; across them the series is; for discs across, the square array is
//! known in closed form. A trace layer lies between bounds, and both are offered.

use crate::problem::{Joints, Layer, Table};
use crate::sheet::Sheet;
use std::f64::consts::PI;

/// Value of a table at a temperature, K: linear between its points, constant beyond its ends. An empty table gives NaN.
pub fn at(table: &Table, temperature_k: f64) -> f64 {
    let after = table.partition_point(|p| p.0 < temperature_k);
    match (after.checked_sub(1).and_then(|i| table.get(i)), table.get(after)) {
        (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (temperature_k - a.0) / (b.0 - a.0),
        (Some(only), None) | (None, Some(only)) => only.1,
        (None, None) => f64::NAN,
    }
}

/// Along columns or layers: mean by share, W/(m K). Exact.
pub fn parallel(share: f64, inside: f64, outside: f64) -> f64 {
    share * inside + (1.0 - share) * outside
}

/// Across full layers: W/(m K). Exact.
pub fn series(share: f64, inside: f64, outside: f64) -> f64 {
    1.0 / (share / inside + (1.0 - share) / outside)
}

/// Across a square array of round columns, W/(m K), share up to about 0.75 (touching at pi/4): W. T. Perrins, D. R.
/// McKenzie, R. C. McPhedran, Proc. R. Soc. A 369 (1979) 207-225; from memory.
pub fn across_columns(share: f64, column: f64, between: f64) -> f64 {
    let ratio = column / between;
    if (ratio - 1.0).abs() < 1e-12 {
        return between;
    }
    let t = (1.0 + ratio) / (1.0 - ratio);
    let f = share;
    let below =
        t + f - 0.305_827 * f.powi(4) * t / (t * t - 1.402_958 * f.powi(8)) - 0.013_362 * f.powi(8) / t;
    between * (1.0 - 2.0 * f / below)
}

/// Upper bound in the plane of a layer whose pattern has no direction, W/(m K): Z. Hashin, S. Shtrikman, J. Applied
/// Physics 33 (1962) 3125-3131, in two dimensions (Z. Hashin, J. Applied Mechanics 50 (1983) 481-505): metal share
/// `share` all connected around discs of dielectric. From memory.
pub fn without_direction(share: f64, metal: f64, dielectric: f64) -> f64 {
    metal + (1.0 - share) / (1.0 / (dielectric - metal) + share / (2.0 * metal))
}

/// Filled resin, W/(m K), spheres at a volume share up to about 0.25 (J. C. Maxwell, A Treatise on Electricity and
/// Magnetism, 1873, art. 314).
pub fn filled_dilute(share: f64, filler: f64, resin: f64) -> f64 {
    let gain = filler - resin;
    resin * (filler + 2.0 * resin + 2.0 * share * gain) / (filler + 2.0 * resin - share * gain)
}

/// Filled resin, W/(m K), at higher volume shares: D. A. G. Bruggeman, Annalen der Physik 416 (1935) 636-664:
/// `1 - f = (kp - k)/(kp - km) (km/k)^(1/3)`.
///
/// # Errors
/// When no root is found (a share outside 0 to 1, conductivities not above zero).
pub fn filled_dense(share: f64, filler: f64, resin: f64) -> Result<f64, facedown_field::NoConvergence> {
    facedown_field::root::bracketed(
        |k| (filler - k) / (filler - resin) * (resin / k).cbrt() - (1.0 - share),
        resin,
        filler,
        1e-13,
    )
}

/// Resistance of a sphere of radius `r` cut at `+-half` (below `r`) between its two cuts, K/W, with planes of one
/// temperature: a lower bound (derived: the integral of `dz / (k pi (r^2 - z^2))`).
pub fn cut_sphere(radius_m: f64, half_height_m: f64, conductivity: f64) -> f64 {
    2.0 * (half_height_m / radius_m).atanh() / (PI * conductivity * radius_m)
}

/// How the metal of a layer lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pattern {
    /// Traces run along the heat: mean by area, the upper bound (O. Wiener, 1912).
    Along,
    /// Layers with less than half metal have no direction: [`without_direction`].
    NoDirection,
}

/// A layer in numbers at a temperature, K.
pub fn sheet(layer: &Layer, temperature_k: f64, pattern: Pattern) -> Sheet {
    let mut in_plane = at(&layer.in_plane, temperature_k);
    let mut through = layer.through.as_ref().map_or(in_plane, |t| at(t, temperature_k));
    if let Some(metal) = &layer.metal {
        let k = at(&metal.conductivity, temperature_k);
        in_plane = if pattern == Pattern::NoDirection && metal.share < 0.5 && (k - in_plane).abs() > 1e-9 * k
        {
            without_direction(metal.share, k, in_plane)
        } else {
            parallel(metal.share, k, in_plane)
        };
        // Metal fills the height of its layer, so heat through it passes metal and dielectric side by side.
        through = parallel(metal.share, k, through);
    }
    if let Some(columns) = &layer.columns {
        let k = at(&columns.conductivity, temperature_k);
        // Beyond touching the array formula ends; the mean by area takes over.
        in_plane = if columns.share < 0.7 {
            across_columns(columns.share, k, in_plane)
        } else {
            parallel(columns.share, k, in_plane)
        };
        through = parallel(columns.share, k, through);
    }
    Sheet { thickness: layer.thickness_m, in_plane, through, contact: 0.0 }
}

/// Joints with their fill over an area (m2) as one layer: through it side by side, in the plane as columns.
pub fn joint_sheet(joints: &Joints, area_m2: f64, temperature_k: f64) -> Sheet {
    let fill = at(&joints.fill, temperature_k);
    let height: f64 = joints.pieces.iter().map(|p| p.height_m).sum();
    let mut one = 0.0;
    let mut share = 0.0;
    let mut column = 0.0;
    for piece in &joints.pieces {
        let k = at(&piece.conductivity, temperature_k);
        let radius = piece.diameter_m / 2.0;
        // A barrel that is no taller than its sphere; else it is drawn out like a cylinder.
        let cut = piece.barrel && piece.height_m < 1.98 * radius;
        let resistance = if cut {
            cut_sphere(radius, piece.height_m / 2.0, k)
        } else {
            piece.height_m / (k * PI * radius * radius)
        };
        one += resistance;
        share += joints.count * piece.height_m / (resistance * k) / area_m2 * piece.height_m / height;
        column += k * piece.height_m / height;
    }
    let share = share.min(1.0);
    let through = joints.count * height / (one * area_m2) + (1.0 - share) * fill;
    let in_plane =
        if share < 0.7 { across_columns(share, column, fill) } else { parallel(share, column, fill) };
    Sheet { thickness: height, in_plane, through, contact: 0.0 }
}

/// A stack as one layer: thickness m, in the plane and through it W/(m K), contacts included.
pub fn whole(sheets: &[Sheet]) -> Sheet {
    let thickness: f64 = sheets.iter().map(|s| s.thickness).sum();
    let resistance: f64 = sheets.iter().map(Sheet::resistance).sum();
    let conductance: f64 = sheets.iter().map(|s| s.thickness * s.in_plane).sum();
    Sheet { thickness, in_plane: conductance / thickness, through: thickness / resistance, contact: 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_table_is_linear_inside_and_constant_outside() {
        let table = vec![(300.0, 148.0), (400.0, 98.9)];
        assert_eq!(at(&table, 200.0), 148.0);
        assert_eq!(at(&table, 500.0), 98.9);
        assert!((at(&table, 350.0) - 123.45).abs() < 1e-12);
        assert_eq!(at(&vec![(300.0, 5.0)], 77.0), 5.0);
    }

    proptest! {
        #[test]
        fn mixtures_lie_between_the_bounds(share in 0.01..0.6_f64, a in 0.1..400.0_f64, b in 0.1..400.0_f64) {
            let (low, high) = (series(share, a, b) * (1.0 - 1e-9), parallel(share, a, b) * (1.0 + 1e-9));
            for k in [across_columns(share, a, b), filled_dense(share, a, b).unwrap_or(b)] {
                prop_assert!(k >= low && k <= high, "{k} {low} {high}");
            }
            let plane = without_direction(share, a.max(b), a.min(b) * 0.999);
            prop_assert!(plane <= parallel(share, a.max(b), a.min(b)) * (1.0 + 1e-9));
        }

        #[test]
        fn exchanged_phases_multiply_to_one(share in 0.01..0.6_f64, ratio in 0.01..100.0_f64) {
            // J. B. Keller, J. Mathematical Physics 5 (1964) 548-549; exact for the array, so for its closed form to the
            // digits that its series keeps.
            let product = across_columns(share, ratio, 1.0) * across_columns(share, 1.0 / ratio, 1.0);
            prop_assert!((product - 1.0).abs() < 1e-3);
        }
    }
}
