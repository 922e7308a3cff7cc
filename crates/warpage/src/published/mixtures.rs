//! Mixtures as one solid.

use super::{Source, Table};
use crate::mixture::{across, along, filled, joined};
use crate::property::Elastic;
use facedown_evidence::Basis;

const SPHERES: Source = Source(
    "Z. Hashin, S. Shtrikman 1963 (lower bounds) and V. M. Levin 1967, epoxy with 40 % silica, evaluated with numpy (reference library)",
    Basis::ReferenceLibrary,
);
const COLUMNS: Source = Source(
    "J. C. Halpin, S. W. Tsai 1969 and R. A. Schapery 1968, joints of 80 um at 150 um in underfill, evaluated with numpy (reference library)",
    Basis::ReferenceLibrary,
);
const PATTERN: Source = Source(
    "W. Voigt 1889 and A. Reuss 1929, copper of 70 % in dielectric, evaluated with numpy (reference library)",
    Basis::ReferenceLibrary,
);

fn per_kelvin(modulus: f64, poisson: f64, ppm: f64) -> Elastic {
    Elastic { modulus: modulus * 1e9, poisson, strain: ppm * 1e-6 }
}

pub(super) fn rows(table: &mut Table) {
    let compound = filled(&per_kelvin(3.0, 0.35, 65.0), &per_kelvin(72.0, 0.17, 0.5), 0.4);
    for (id, expected, value) in [
        ("modulus", 6.631, compound.modulus * 1e-9),
        ("shear", 2.525, compound.shear() * 1e-9),
        ("poisson", 0.3132, compound.poisson),
        ("expansion", 34.00, compound.strain * 1e6),
    ] {
        table.relative(&format!("warpage-filled-resin-{id}"), SPHERES, expected, value, 1e-3);
    }
    let share = std::f64::consts::PI / 4.0 * (80.0_f64 / 150.0).powi(2);
    let layer = joined(&per_kelvin(8.0, 0.33, 28.0), &per_kelvin(50.0, 0.35, 22.0), share);
    for (id, expected, value) in [
        ("through", 17.383, layer.through * 1e-9),
        ("in-plane", 11.977, layer.in_plane.modulus * 1e-9),
        ("expansion-through", 24.14, layer.through_strain * 1e6),
        ("expansion-in-plane", 27.48, layer.in_plane.strain * 1e6),
    ] {
        table.relative(&format!("warpage-joint-layer-{id}"), COLUMNS, expected, value, 1e-3);
    }
    let (body, metal) = (per_kelvin(7.5, 0.3, 23.0), per_kelvin(117.0, 0.34, 16.7));
    let (up, low) = (along(&body, &metal, 0.7), across(&body, &metal, 0.7));
    for (id, expected, value) in [
        ("along", 84.15, up.modulus * 1e-9),
        ("across", 21.75, low.modulus * 1e-9),
        ("expansion-along", 16.87, up.strain * 1e6),
        ("expansion-across", 18.59, low.strain * 1e6),
    ] {
        table.relative(&format!("warpage-copper-pattern-{id}"), PATTERN, expected, value, 1e-3);
    }
}
