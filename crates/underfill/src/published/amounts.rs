//! Volume and settling.

use super::{Source, Table};
use crate::flow::permeability::Cell;
use crate::flow::pressure::Bump;
use crate::problem::{BumpShape, Lattice};
use crate::volume::{Filler, fillet_volume, settling_speed};
use facedown_evidence::Basis;

const SOLIDS: Source =
    Source("volumes of solids, recomputed with scipy 1.17 (reference library)", Basis::ReferenceLibrary);
const SETTLING: Source = Source(
    "Stokes, and Richardson and Zaki 1954, recomputed with scipy 1.17 (reference library)",
    Basis::ReferenceLibrary,
);

pub fn rows(table: &mut Table) {
    let cell = Cell { lattice: Lattice::Square, pitch_m: 200e-6, diameter_m: 90e-6, gap_m: 60e-6 };
    let bumps = |shape| 2000.0 * Bump { cell, shape }.volume().unwrap_or(f64::NAN) * 1e9;
    table.within("underfill-volume-pillars-mm3", SOLIDS, 0.7634, bumps(BumpShape::Cylinder), 5e-5);
    table.within("underfill-volume-spheres-mm3", SOLIDS, 0.6503, bumps(BumpShape::TruncatedSphere), 5e-5);
    table.within(
        "underfill-volume-fillet-mm3",
        SOLIDS,
        6.1257,
        fillet_volume(0.04, 0.4e-3, 0.75e-3) * 1e9,
        5e-5,
    );
    let filler = Filler { diameter_m: 5e-6, excess_density: 1040.0, share: 0.0 };
    table.within("underfill-settling-um-s", SETTLING, 0.1417, settling_speed(filler, 0.1) * 1e6, 5e-5);
    let crowded = Filler { share: 0.45, ..filler };
    table.within("underfill-settling-crowded-nm-s", SETTLING, 8.79, settling_speed(crowded, 0.1) * 1e9, 5e-3);
}
