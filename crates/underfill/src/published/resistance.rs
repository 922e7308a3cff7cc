//! Permeability and driving pressure of bump fields.

use super::{Source, Table};
use crate::flow::cells::ERROR;
use crate::flow::permeability::{Cell, drag};
use crate::flow::plates::Gap;
use crate::flow::pressure::Bump;
use crate::flow::unit_cell::{Bricks, UnitCell, Way};
use crate::problem::{BumpShape, Lattice};
use facedown_evidence::Basis;
use std::f64::consts::PI;

const SANGANI: Source =
    Source("Sangani and Acrivos, Int. J. Multiphase Flow 8 (1982) 193, table 1", Basis::Published);
const STOKES: Source = Source(
    "Stokes flow in the unit cell between plates, Q2-Q1 finite elements, computed once; the computation is not kept",
    Basis::FromMemory,
);
const HEXAGONAL: Source = Source(
    "Stokes flow past a hexagonal array, least-squares collocation with numpy 2.4 (reference library)",
    Basis::ReferenceLibrary,
);
const BRICKS: Source = Source(
    "Stokes flow in the unit cell by scikit-fem 12.0, Q2-Q1 bricks 6 x 8 x 3, recomputed by tests/oracle (reference library)",
    Basis::ReferenceLibrary,
);
const CELL: Source = Source(
    "surface energy of a filled cell, recomputed with numpy 2.4 (reference library)",
    Basis::ReferenceLibrary,
);

pub fn rows(table: &mut Table) {
    // Half of the last printed digit.
    for (c, expected, tolerance) in
        [(0.05, 15.56, 5e-3), (0.1, 24.83, 5e-3), (0.2, 51.53, 5e-3), (0.4, 217.89, 5e-3), (0.6, 1763.0, 0.5)]
    {
        let id = format!("underfill-drag-square-{:02.0}", 100.0 * c);
        table.within(&id, SANGANI, expected, drag(Lattice::Square, c), tolerance);
    }
    for (c, expected) in [(0.1, 25.132_02), (0.3, 96.793_04), (0.5, 382.325_0)] {
        let id = format!("underfill-drag-hexagonal-{:02.0}", 100.0 * c);
        table.relative(&id, HEXAGONAL, expected, drag(Lattice::Hexagonal, c), 4e-4);
    }
    // 12 K / h^2; the slab with its fitted viscosity ratio keeps 0.5 %.
    for (tight, slender, expected) in [
        (0.2, 0.1, 0.8973),
        (0.2, 0.5, 0.6774),
        (0.2, 1.5, 0.2577),
        (0.3, 0.3, 0.6882),
        (0.5, 0.1, 0.6011),
        (0.5, 0.5, 0.3316),
        (0.5, 1.0, 0.1498),
        (0.7, 0.1, 0.3667),
        (0.7, 0.4, 0.1734),
        (0.7, 1.5, 0.0233),
    ] {
        let id = format!("underfill-permeability-{:02.0}-{:03.0}", 100.0 * tight, 100.0 * slender);
        table.relative(&id, STOKES, expected, reduced(Lattice::Square, tight, slender), 5.5e-3);
    }
    for (slender, expected) in [(0.1, 0.7868), (0.5, 0.5099), (1.5, 0.1482)] {
        let id = format!("underfill-permeability-hexagonal-{:03.0}", 100.0 * slender);
        table.relative(&id, STOKES, expected, reduced(Lattice::Hexagonal, 0.3, slender), 8e-3);
    }
    solved(table);
    let cell = Cell { lattice: Lattice::Square, pitch_m: 150e-6, diameter_m: 75e-6, gap_m: 50e-6 };
    let bump = Bump { cell, shape: BumpShape::Cylinder };
    let gap = Gap { gap_m: 50e-6, tension_n_m: 0.03, angles_rad: [20.0_f64.to_radians(); 2] };
    let pressure = bump.mean_pressure(gap, 20.0_f64.to_radians()).unwrap_or(f64::NAN);
    table.within("underfill-cell-pressure", CELL, 1494.97, pressure, 5e-3);
    let time =
        0.1 * (1.0 - cell.solid()) * 1e-4 / (2.0 * bump.permeability_m2().unwrap_or(f64::NAN) * pressure);
    table.relative("underfill-cell-fill-time", STOKES, 29.65, time, 5e-3);
}

/// Our own Stokes flow, in the plane and in space, and the table that a design reads.
fn solved(table: &mut Table) {
    // Fine meshes come within 0.05 %, the printed values within half of their last digit.
    let plane = |lattice: Lattice, solid: f64| {
        let tight = (4.0 * lattice.cell_share() * solid / PI).sqrt();
        let cell = UnitCell { lattice, shape: BumpShape::Cylinder, tight, slender: 1.0 };
        lattice.cell_share() / cell.plane(Bricks::FINE, Way::Along).unwrap_or(f64::NAN)
    };
    for (c, expected) in [(0.05, 15.56), (0.1, 24.83), (0.2, 51.53), (0.4, 217.89), (0.6, 1763.0)] {
        let id = format!("underfill-stokes-square-{:02.0}", 100.0 * c);
        table.relative(&id, SANGANI, expected, plane(Lattice::Square, c), 8e-4);
    }
    for (c, expected) in [(0.1, 25.132_02), (0.3, 96.793_04), (0.5, 382.325_0)] {
        let id = format!("underfill-stokes-hexagonal-{:02.0}", 100.0 * c);
        table.relative(&id, HEXAGONAL, expected, plane(Lattice::Hexagonal, c), 8e-4);
    }
    let cell =
        UnitCell { lattice: Lattice::Square, shape: BumpShape::Cylinder, tight: 0.5, slender: 1.0 / 3.0 };
    table.relative(
        "underfill-stokes-cell",
        BRICKS,
        0.435_225,
        cell.share(Bricks::TABLE).unwrap_or(f64::NAN),
        5e-4,
    );
    table.relative("underfill-cells-50-033", BRICKS, 0.435_225, read(Lattice::Square, 0.5, 1.0 / 3.0), ERROR);
    for (lattice, name, tight, slender, expected) in [
        (Lattice::Square, "square", 0.2, 0.3, 0.7940),
        (Lattice::Square, "square", 0.3, 0.05, 0.8411),
        (Lattice::Square, "square", 0.3, 0.7, 0.4437),
        (Lattice::Square, "square", 0.5, 0.1, 0.6011),
        (Lattice::Square, "square", 0.7, 0.1, 0.3667),
        (Lattice::Square, "square", 0.7, 0.5, 0.1340),
        (Lattice::Square, "square", 0.7, 1.5, 0.0233),
        (Lattice::Hexagonal, "hexagonal", 0.3, 0.2, 0.7191),
        (Lattice::Hexagonal, "hexagonal", 0.3, 1.5, 0.1482),
    ] {
        let id = format!("underfill-cells-{name}-{:02.0}-{:03.0}", 100.0 * tight, 100.0 * slender);
        table.relative(&id, STOKES, expected, read(lattice, tight, slender), ERROR);
    }
}

/// `12 K / gap^2` as a design reads it.
fn read(lattice: Lattice, tight: f64, slender: f64) -> f64 {
    let cell = Cell { lattice, pitch_m: 1e-4, diameter_m: tight * 1e-4, gap_m: slender * 1e-4 };
    let found = Bump { cell, shape: BumpShape::Cylinder }.permeability_m2();
    12.0 * found.unwrap_or(f64::NAN) / (cell.gap_m * cell.gap_m)
}

fn reduced(lattice: Lattice, tight: f64, slender: f64) -> f64 {
    let cell = Cell { lattice, pitch_m: 1e-4, diameter_m: tight * 1e-4, gap_m: slender * 1e-4 };
    12.0 * cell.permeability() / (cell.gap_m * cell.gap_m)
}
