//! Packages against solid models.

use super::laminates::package;
use super::{Source, Table};
use crate::plates::{Area, Assembly, Bent, Part, Region, Spring, solve};
use crate::problem::{
    Die, Interposer, JointLayer, Plate, Problem, Process, Resolution, Solid, Substrate, Underfill,
};
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
    "the same with a steel ring of 4.5 mm by 0.75 mm: solid model of 27-node bricks with scikit-fem, refined at the band (reference library); the tolerance is that of plate theory with \
     a ring on springs",
    Basis::ReferenceLibrary,
);
const SOFT: Source = Source(
    "the same with the ring on glue of 5 MPa: solid model of 27-node bricks with scikit-fem (reference library); tolerance of plate theory",
    Basis::ReferenceLibrary,
);
const LID: Source = Source(
    "the same with a copper lid of 1.5 mm on a foot of 0.8 mm, interface of 10 MPa and 50 um: solid model of 27-node bricks with scikit-fem (reference library); the tolerance is a tenth \
     of the bow of the die, for plate theory with a lid on springs",
    Basis::ReferenceLibrary,
);

const CARRIED: Source = Source(
    "die of 12 mm on a silicon interposer of 20 mm on a laminate of 35 mm, cooled by 140 K, through the whole study: solid model of 27-node bricks \
     with scikit-fem (reference library); tolerance of plate theory",
    Basis::ReferenceLibrary,
);

fn cooled(modulus: f64, poisson: f64, ppm: f64) -> Elastic {
    Elastic { modulus, poisson, strain: -140.0 * ppm * 1e-6 }
}

/// What stands on the rim.
#[derive(Clone, Copy, PartialEq)]
enum Cover {
    None,
    Ring,
    Lid,
}

/// Spring of a layer 75 or 50 um thick.
fn spring(region: Region, e: Elastic, thickness: f64, heights: [f64; 2], growth: f64) -> Spring {
    let nu = e.poisson;
    let half = thickness / 2.0;
    Spring {
        region,
        heights: [heights[0] + half, heights[1] - half],
        shear: e.shear() / thickness,
        normal: e.modulus * (1.0 - nu) / ((1.0 + nu) * (1.0 - 2.0 * nu)) / thickness,
        opening: thickness * e.strain * (1.0 + nu) / (1.0 - nu) + growth,
    }
}

/// The body of `size` with a die of 15 mm, as the study builds it, and the ply of the die; `glue` is the modulus
/// under ring or lid, Pa.
fn body(size: f64, cover: Cover, glue: f64) -> (Assembly, Ply) {
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
    let under = Region::full(Area::around([0.0; 2], side, side));
    let mut parts = vec![
        Part { plate: 0, region: Region::full(whole), plies: plies[..1].to_vec() },
        Part { plate: 0, region: under, plies: plies[1..].to_vec() },
    ];
    let mut springs = Vec::new();
    let frame = Region { outer: whole, opening: Some(Area::around([0.0; 2], 26e-3, 26e-3)) };
    let glue = cooled(glue, 0.3, 30.0);
    let plate = |region: Region, from: f64, thickness: f64, e: Elastic| Part {
        plate: 1,
        region,
        plies: stacked(from, &[(thickness, e)]),
    };
    match cover {
        Cover::None => {}
        Cover::Ring => {
            parts.push(plate(frame, -0.375e-3, 0.75e-3, cooled(193e9, 0.3, 17.3)));
            springs.push(spring(frame, glue, 75e-6, [0.5e-3, -0.375e-3], 0.0));
        }
        Cover::Lid => {
            let copper = cooled(117e9, 0.34, 17.0);
            parts.push(plate(Region::full(whole), -0.75e-3, 1.5e-3, copper));
            parts.push(plate(frame, -1.55e-3, 0.8e-3, copper));
            springs.push(spring(frame, glue, 75e-6, [0.5e-3, -1.55e-3], 0.8e-3 * copper.strain));
            let growth = plies[1..].iter().map(|p| (p.top - p.bottom) * p.strain[0]).sum();
            let mut own = spring(under, cooled(10e6, 0.3, 100.0), 50e-6, [1.325e-3, -0.75e-3], growth);
            // Gathered under what the die holds.
            let gathered = (15e-3 / side).powi(2);
            own.shear *= gathered;
            own.normal *= gathered;
            springs.push(own);
        }
    }
    (Assembly { size: [size; 2], parts, springs, step: size / 10.0 }, plies[2])
}

/// A die on an interposer, born at 440 K and asked for at 300 K, as a whole problem.
fn carried() -> Problem {
    let solid = |gpa: f64, poisson: f64, ppm: f64| Solid::constant("solid", gpa * 1e9, poisson, ppm * 1e-6);
    let silicon = || solid(131.0, 0.28, 2.8);
    let fill = || solid(8.0, 0.3, 30.0);
    let plate = |side: f64, thickness: f64, of: Solid| Plate {
        width_m: side,
        height_m: side,
        layers: vec![crate::problem::Layer::plain("layer", thickness, of)],
    };
    // Joints of the underfill's own properties leave the underfill alone.
    let joints = |gap: f64, side: f64| JointLayer {
        gap_m: gap,
        share: 1e-6,
        joint: fill(),
        extent_m: [0.9 * side; 2],
        underfill: Some(Underfill { solid: fill(), shrinkage_after_gel: 0.0 }),
    };
    Problem {
        substrate: Substrate { plate: plate(35e-3, 1e-3, solid(22.0, 0.2, 16.0)), received_bow_m: None },
        interposer: Some(Interposer {
            plate: plate(20e-3, 0.1e-3, silicon()),
            at_m: [0.0; 2],
            joints: joints(75e-6, 20e-3),
        }),
        dies: vec![Die {
            name: "die".into(),
            plate: plate(12e-3, 0.6e-3, silicon()),
            at_m: [0.0; 2],
            joints: joints(50e-6, 12e-3),
            interface: None,
            strength: None,
        }],
        cover: None,
        balls: None,
        process: Process {
            room_k: 300.0,
            coldest_k: 300.0,
            underfill_cure_k: 440.0,
            crept_in_cure: 1.0,
            ..crate::specimen::process()
        },
        resolution: Resolution::default(),
    }
}

fn drops(bent: &Bent, places: [[f64; 2]; 4]) -> [f64; 4] {
    let middle = bent.deflection(0, [0.0; 2]);
    places.map(|p| (bent.deflection(0, p) - middle) * 1e6)
}

pub(super) fn rows(table: &mut Table) {
    let (edge, half) = (7.5e-3, 17.5e-3);
    let places = [[edge, 0.0], [edge, edge], [half, 0.0], [half, half]];
    let names = ["die-edge", "die-corner", "side", "corner"];
    let (bare, die) = body(35e-3, Cover::None, 8e9);
    if let Ok(bent) = solve(&bare) {
        for ((id, expected), value) in
            names.iter().zip([-40.85, -79.08, -135.86, -214.47]).zip(drops(&bent, places))
        {
            table.relative(&format!("warpage-bare-{id}"), BARE, expected, value, 0.02);
        }
        let e = bent.strains(0, [0.0; 2]);
        let stress = die.stress([e[0] + die.top * e[3], e[1] + die.top * e[4]])[0] * 1e-6;
        table.relative("warpage-bare-die-back", BARE, 76.75, stress, 0.02);
    }
    for (id, source, glue, tolerance, expected) in [
        ("ring", RING, 8e9, 0.04, [-40.92, -72.90, -78.04, -59.38]),
        ("soft-ring", SOFT, 5e6, 0.02, [-40.53, -76.10, -112.74, -134.82]),
    ] {
        if let Ok(bent) = solve(&body(35e-3, Cover::Ring, glue).0) {
            for ((name, expected), value) in names.iter().zip(expected).zip(drops(&bent, places)) {
                table.relative(&format!("warpage-{id}-{name}"), source, expected, value, tolerance);
            }
        }
    }
    for (id, glue, expected, gaps) in [
        ("lid", 8e9, [-20.20, -33.88, -11.73, -1.44], [-10.57, 17.05]),
        ("soft-lid", 5e6, [-21.45, -38.71, -23.49, -28.60], [-9.50, 18.24]),
    ] {
        if let Ok(bent) = solve(&body(35e-3, Cover::Lid, glue).0) {
            for ((name, expected), value) in names.iter().zip(expected).zip(drops(&bent, places)) {
                table.within(&format!("warpage-{id}-{name}"), LID, expected, value, 3.5);
            }
            let gap = |p: [f64; 2]| (bent.deflection(1, p) - bent.deflection(0, p)) * 1e6;
            let value = gap([edge, edge]) - gap([0.0; 2]);
            table.within(&format!("warpage-{id}-bond-line"), LID, gaps[1] - gaps[0], value, 3.5);
        }
    }
    if let Ok(outcome) = crate::solve(&carried()) {
        for (k, id, expected) in [(0, "side", 186.09), (2, "corner", 313.45)] {
            // The lines run from side to side; their middle lies over their ends.
            let points = &outcome.profiles[k].points_m;
            let value = (points[points.len() / 2][1] - points[points.len() - 1][1]) * 1e6;
            table.relative(&format!("warpage-interposer-{id}"), CARRIED, expected, value, 0.02);
        }
        let value = outcome.dies[0].back_room_pa[0] * 1e-6;
        table.relative("warpage-interposer-die-back", CARRIED, 71.87, value, 0.02);
    }
    let (full, die) = body(15e-3, Cover::None, 8e9);
    if let Ok(bent) = solve(&full) {
        let e = bent.strains(0, [0.0; 2]);
        let at = |z: f64| die.stress([e[0] + z * e[3], e[1] + z * e[4]])[0] * 1e-6;
        let [side, .., corner] = drops(&bent, [[edge, 0.0], [0.0; 2], [0.0; 2], [edge, edge]]);
        for (id, expected, value) in [
            ("curvature", 1.3936, e[3]),
            ("die-back", 76.06, at(die.top)),
            ("die-face", -114.11, at(die.bottom)),
            ("side", -38.82, side),
            ("corner", -77.76, corner),
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
        let mut table = super::Table::of("warpage");
        super::rows(&mut table);
        assert_eq!(table.rows().len(), 5 + 8 + 10 + 3 + 5);
    }
}
