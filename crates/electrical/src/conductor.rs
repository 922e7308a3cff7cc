//! Resistance of traces, vias and bumps at temperature, for direct current.
//!
//! A sheet is counted in squares; a bump is a pile of pieces in series whose slices are equipotentials.

use crate::problem::{Metal, Piece, Via};
use std::f64::consts::{LN_2, PI};

/// Resistivity at a temperature, ohm m: `rho = rho_ref [1 + a (T - T_ref)]` (IEC 60028, 1925, for copper). Good to a few
/// percent from 200 to 500 K for pure metals.
pub fn resistivity(metal: &Metal, temperature_k: f64) -> f64 {
    metal.resistivity_ohm_m * (1.0 + metal.coefficient_per_k * (temperature_k - metal.reference_k))
}

/// Sheet resistance of a film at a temperature, ohm per square.
pub fn sheet(metal: &Metal, thickness_m: f64, temperature_k: f64) -> f64 {
    resistivity(metal, temperature_k) / thickness_m
}

/// Squares of a right-angle corner between arms of equal width, the arms counted from the inner corner:
/// `1 - (2/pi) ln 2` (P. M. Hall, Thin Solid Films 1 (1967) 277).
pub fn corner_squares() -> f64 {
    1.0 - 2.0 * LN_2 / PI
}

/// Squares of a right-angle corner between arms whose widths have the ratio `r`, arms counted from the inner corner
/// and at least one width long. Conformal map of the same family as P. M. Hall, Thin Solid Films 1 (1967) 277;
/// `K(r) = (1/pi) [2 r atan(1/r) + (2/r) atan r - ln(16 r^2/(1 + r^2)^2)]`, `K(r) = K(1/r)`.
pub fn unequal_corner_squares(r: f64) -> f64 {
    (2.0 * r * (1.0 / r).atan() + 2.0 / r * r.atan() - (16.0 * r * r / (1.0 + r * r).powi(2)).ln()) / PI
}

/// Excess squares of a one-sided step in width, narrow over wide `g` below 1, arms long (conformal map of a strip):
/// `(1/pi) [(1 + g^2)/g ln((1 + g)/(1 - g)) - 2 ln(4 g/(1 - g^2))]`.
pub fn step_squares(g: f64) -> f64 {
    ((1.0 + g * g) / g * ((1.0 + g) / (1.0 - g)).ln() - 2.0 * (4.0 * g / (1.0 - g * g)).ln()) / PI
}

/// Squares of a path of length `length_m` along its middle line with right-angle bends of one width: each bend saves
/// `1 - K` of the square that the middle line counts.
pub fn path_squares(length_m: f64, width_m: f64, bends: u32) -> f64 {
    (length_m / width_m - f64::from(bends) * (1.0 - corner_squares())).max(0.0)
}

/// Resistance of a filled via, ohm: `rho h/(pi a^2)`.
pub fn via(via: &Via, resistivity_ohm_m: f64) -> f64 {
    resistivity_ohm_m * via.height_m / (PI * via.diameter_m.powi(2) / 4.0)
}

/// Contact resistance of a landing of length `length_m` and width `width_m` under a film, ohm: transmission-line model
/// of H. H. Berger, Solid-State Electronics 15 (1972) 145; `specific` in ohm m2, `sheet_ohm` per square.
pub fn landing(specific: f64, sheet_ohm: f64, length_m: f64, width_m: f64) -> f64 {
    let transfer = (specific / sheet_ohm).sqrt();
    specific / (transfer * width_m) / (length_m / transfer).tanh()
}

/// Resistance of a piece of a bump, ohm. A straight piece: `rho h/(pi d^2/4)`. A bulging or necked one is a body whose
/// cross-section is quadratic in height, with equipotential slices: `rho/pi` times the integral of `dz/r^2` where
/// `r^2 = p^2 + (w^2 - p^2)(1 - (2z/h)^2)`, `p` and `w` the radii at the ends and at mid-height. For a truncated sphere this
/// is exact for such slices. Slices are a lower bound: the real resistance is higher by the spreading under the pads.
pub fn piece(piece: &Piece, temperature_k: f64) -> f64 {
    let rho = resistivity(&piece.metal, temperature_k);
    let p2 = (piece.diameter_m / 2.0).powi(2);
    let w2 = (piece.waist_m.unwrap_or(piece.diameter_m) / 2.0).powi(2);
    // Mean of 1/(1 - e u^2) over u from 0 to 1, e = 1 - p2/w2.
    let e = 1.0 - p2 / w2;
    let mean = if e.abs() < 1e-6 {
        1.0 + e / 3.0
    } else if e > 0.0 {
        e.sqrt().atanh() / e.sqrt()
    } else {
        (-e).sqrt().atan() / (-e).sqrt()
    };
    rho * piece.height_m / (PI * w2) * mean
}

/// Volume of a piece with the same shape, m3.
pub fn piece_volume(piece: &Piece) -> f64 {
    let p2 = (piece.diameter_m / 2.0).powi(2);
    let w2 = (piece.waist_m.unwrap_or(piece.diameter_m) / 2.0).powi(2);
    PI * piece.height_m * (2.0 * w2 + p2) / 3.0
}

/// Resistance of a circular constriction of radius `radius_m` into a half-space, one side, ohm: `rho/(4 a)` (R. Holm, Electric
/// Contacts, 1967; after Maxwell). Exact for a thin aperture.
pub fn constriction(resistivity_ohm_m: f64, radius_m: f64) -> f64 {
    resistivity_ohm_m / (4.0 * radius_m)
}
