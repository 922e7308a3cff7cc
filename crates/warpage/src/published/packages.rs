//! Packages against solid models.

use super::laminates::package;
use super::{Source, Table};
use crate::plates::{Area, Assembly, Bent, Part, Region, Spring, solve};
use crate::property::Elastic;
use crate::section::{Ply, stacked};
use crate::shear_lag::{Layer, Member, Pair};
use facedown_evidence::Basis;

const BARE: Source = Source(
    "die of 15 mm on a laminate of 35 mm, cooled by 140 K: solid model of 27-node bricks with scikit-fem, two meshes within 0.4 % (reference library); the tolerance is that of plate \
     theory, which leaves out shear through the thickness",
    Basis::ReferenceLibrary,
);
const FULL: Source = Source(
    "die as large as its laminate, 15 mm, cooled by 140 K: solid model of 27-node bricks with scikit-fem (reference library)",
    Basis::ReferenceLibrary,
);
const RING: Source = Source(
    "the same with a steel ring of 4.5 mm by 0.75 mm: solid model of 27-node bricks with scikit-fem, two meshes within 0.2 % (reference library); the tolerance is that of plate theory with \
     a ring on springs",
    Basis::ReferenceLibrary,
);

fn cooled(modulus: f64, poisson: f64, ppm: f64) -> Elastic {
    Elastic { modulus, poisson, strain: -140.0 * ppm * 1e-6 }
}

/// The body of `size` with a die of 15 mm, as the study builds it, and the ply of the die.
fn body(size: f64, ring: bool) -> (Assembly, Ply) {
    let plies: Vec<Ply> = package(1e-3, 30.0)
        .into_iter()
        .map(|p| Ply { bottom: p.bottom - 0.5e-3, top: p.top - 0.5e-3, ..p })
        .collect();
    let fill = cooled(8e9, 0.3, 30.0);
    let pair = Pair::new(
        Member::of(&[(0.75e-3, cooled(131e9, 0.28, 2.8))], true),
        Member::of(&[(1e-3, cooled(22e9, 0.2, 16.0))], false),
        Layer { thickness: 75e-6, shear: fill.shear() },
        false,
    );
    // A die as large as its laminate slips at its edge as well, but nothing beyond it shows that.
    let side = if size > 15e-3 { 2.0 * pair.held_half(7.5e-3) } else { 15e-3 };
    let whole = Area::around([0.0; 2], size, size);
    let mut parts = vec![
        Part { plate: 0, region: Region::full(whole), plies: plies[..1].to_vec() },
        Part {
            plate: 0,
            region: Region::full(Area::around([0.0; 2], side, side)),
            plies: plies[1..].to_vec(),
        },
    ];
    let mut springs = Vec::new();
    if ring {
        let frame = Region { outer: whole, opening: Some(Area::around([0.0; 2], 26e-3, 26e-3)) };
        let steel = stacked(-0.375e-3, &[(0.75e-3, cooled(193e9, 0.3, 17.3))]);
        parts.push(Part { plate: 1, region: frame, plies: steel });
        springs.push(Spring {
            region: frame,
            heights: [0.5e-3 + 37.5e-6, -0.375e-3 - 37.5e-6],
            shear: fill.shear() / 75e-6,
            normal: fill.modulus / 75e-6,
            opening: 0.0,
        });
    }
    (Assembly { size: [size; 2], parts, springs, step: size / 10.0 }, plies[2])
}

fn drops(bent: &Bent, places: [[f64; 2]; 4]) -> [f64; 4] {
    let middle = bent.deflection(0, [0.0; 2]);
    places.map(|p| (bent.deflection(0, p) - middle) * 1e6)
}

pub(super) fn rows(table: &mut Table) {
    let (edge, half) = (7.5e-3, 17.5e-3);
    let places = [[edge, 0.0], [edge, edge], [half, 0.0], [half, half]];
    let names = ["die-edge", "die-corner", "side", "corner"];
    let (bare, die) = body(35e-3, false);
    if let Ok(bent) = solve(&bare) {
        for ((id, expected), value) in
            names.iter().zip([-40.85, -79.1, -135.8, -214.5]).zip(drops(&bent, places))
        {
            table.relative(&format!("warpage-bare-{id}"), BARE, expected, value, 0.02);
        }
        let e = bent.strains(0, [0.0; 2]);
        table.relative("warpage-bare-curvature", BARE, 1.4514, e[3], 0.02);
        let stress = die.stress([e[0] + die.top * e[3], e[1] + die.top * e[4]])[0];
        table.relative("warpage-bare-die-back", BARE, 76.8e6, stress, 0.03);
    }
    let (ringed, _) = body(35e-3, true);
    if let Ok(bent) = solve(&ringed) {
        for ((id, expected), value) in
            names.iter().zip([-40.9, -72.9, -78.0, -59.4]).zip(drops(&bent, places))
        {
            table.relative(&format!("warpage-ring-{id}"), RING, expected, value, 0.07);
        }
    }
    let (full, die) = body(15e-3, false);
    if let Ok(bent) = solve(&full) {
        let e = bent.strains(0, [0.0; 2]);
        let at = |z: f64| die.stress([e[0] + z * e[3], e[1] + z * e[4]])[0] * 1e-6;
        let [side, .., corner] = drops(&bent, [[edge, 0.0], [0.0; 2], [0.0; 2], [edge, edge]]);
        for (id, expected, value) in [
            ("curvature", 1.3937, e[3]),
            ("die-back", 76.07, at(die.top)),
            ("die-face", -114.1, at(die.bottom)),
            ("side", -38.82, side),
            ("corner", -77.77, corner),
        ] {
            table.relative(&format!("warpage-full-die-{id}"), FULL, expected, value, 0.01);
        }
    }
}

#[cfg(test)]
mod tests {
    /// A solve that fails would only leave its rows out.
    #[test]
    fn every_package_has_its_rows() {
        let mut table = super::Table(Vec::new());
        super::rows(&mut table);
        assert_eq!(table.0.len(), 15);
    }
}
