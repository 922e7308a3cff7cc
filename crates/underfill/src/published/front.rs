//! The followed front against exact answers.

use super::{Source, Table};
use crate::front::{self, Problem};
use crate::problem::Edge;
use facedown_evidence::Basis;

const TORSION: Source = Source(
    "Timoshenko and Goodier, Theory of Elasticity, 1970, art. 109 (series for the rectangle), summed with numpy 2.4 (reference library)",
    Basis::ReferenceLibrary,
);
const WASHBURN: Source = Source(
    "Washburn 1921 between plates, recomputed with scipy 1.17 (reference library)",
    Basis::ReferenceLibrary,
);
const BOYLE: Source =
    Source("Boyle's law, recomputed with scipy 1.17 (reference library)", Basis::ReferenceLibrary);

/// Tolerances: the error on 24 cells, 0.04 % for the patterns by the mesh study of `docs/flow.md`, doubled.
pub fn rows(table: &mut Table) {
    let angle = 20_f64.to_radians();
    let square = |edges: &[Edge]| {
        let mut problem = Problem::bare([1e-2, 1e-2], 50e-6, 0.03, angle, edges);
        problem.resolution.least = 24;
        problem
    };
    let fill =
        |edges: &[Edge]| front::solve(&square(edges)).ok().and_then(|o| o.fill_fluidity).unwrap_or(f64::NAN);
    let line = fill(&[Edge::Left]);
    table.relative("underfill-front-line", WASHBURN, 21.284, 0.1 * line, 1e-4);
    table.relative(
        "underfill-front-l",
        TORSION,
        0.2946854,
        0.5 * fill(&[Edge::Left, Edge::Bottom]) / line,
        8e-4,
    );
    table.relative(
        "underfill-front-u",
        TORSION,
        0.1138718,
        0.5 * fill(&[Edge::Left, Edge::Bottom, Edge::Top]) / line,
        8e-4,
    );
    // A channel fed at both ends and closed at its sides: the air between ends at p0 / (p0 + drive) of its volume.
    for (name, ambient, expected) in [
        ("air", 101_325.0, 0.98899),
        ("100-torr", 13_332.0, 0.92202),
        ("10-torr", 1333.0, 0.54173),
        ("1-torr", 133.0, 0.10550),
    ] {
        let mut problem = Problem::bare([1e-2, 5e-4], 50e-6, 0.03, angle, &[Edge::Left, Edge::Right]);
        problem.walls = vec![Edge::Bottom, Edge::Top];
        problem.ambient_pa = ambient;
        problem.resolution.least = 4;
        let found = front::solve(&problem)
            .ok()
            .and_then(|o| o.voids.first().map(|v| v.volume_m3 / o.free_volume_m3))
            .unwrap_or(f64::NAN);
        table.relative(&format!("underfill-front-void-{name}"), BOYLE, expected, found, 1e-4);
    }
}
