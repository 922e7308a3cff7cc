//! Fillets: arcs, profiles with weight, puddles, and four sides that differ.

use super::{Source, Table};
use crate::fillet::profile::Profile;
use crate::fillet::{Problem, solve};
use facedown_evidence::Basis;

const ARC: Source = Source(
    "area beside a quarter circle, integrated with scipy 1.17 (reference library)",
    Basis::ReferenceLibrary,
);
const ARCS: Source = Source(
    "equation of Young and Laplace, shot along the arc from the wall with scipy 1.17 (reference library)",
    Basis::ReferenceLibrary,
);
const PUDDLE: Source = Source(
    "P.-G. de Gennes, F. Brochard-Wyart, D. Quere, Capillarity and Wetting Phenomena, 2004, ch. 2: thickness of a puddle 2 a \
     sin(angle / 2), rise at an upright wall a sqrt(2 (1 - sin angle)); formulas from memory",
    Basis::FromMemory,
);

pub fn rows(table: &mut Table) {
    let quarter = Profile::between(1.0, 0.0, std::f64::consts::FRAC_PI_2, 0.0);
    let area = quarter.ok().flatten().and_then(|p| p.area_m2().ok()).unwrap_or(f64::NAN);
    table.within("underfill-fillet-quarter-circle", ARC, 0.214_602, area, 5e-7);
    // 30 mN/m, 1700 kg/m3; 20 deg on the wall, 15 deg on the substrate.
    let weight = 1700.0 * 9.80665 / 0.03;
    for (name, height, expected) in [
        ("low", 3e-4, [-59.8899, 0.331_798, 0.033_281_2, 0.003_020_17]),
        ("high", 1.2e-3, [-5.594_86, 1.669_526, 0.664_942, 0.310_907]),
    ] {
        let [foot, head] = [15.0_f64, 70.0].map(f64::to_radians);
        let Ok(Some(p)) = Profile::between(height, foot, head, weight) else { continue };
        let (Ok(area), Ok(moment)) = (p.area_m2(), p.moment_m3()) else { continue };
        for (what, expected, found) in [
            ("pressure-pa", expected[0], 0.03 * p.pressure_per_m()),
            ("width-mm", expected[1], 1e3 * p.width_m),
            ("area-mm2", expected[2], 1e6 * area),
            ("moment-mm3", expected[3], 1e9 * moment),
        ] {
            table.relative(&format!("underfill-fillet-{name}-{what}"), ARCS, expected, found, 5e-6);
        }
    }
    uneven(table);
    puddle(table);
}

/// 8 mm by 10 mm, gap 60 um, back at 900 um; 4 mm3 beside the die, no side like another.
fn uneven(table: &mut Table) {
    let mut problem = Problem::even([8e-3, 10e-3], [60e-6, 900e-6], 4e-9, [0.5, 0.0, 0.0]);
    let angles = [(20.0_f64, 15.0_f64), (35.0, 15.0), (20.0, 30.0), (30.0, 25.0)];
    for (side, (wall, substrate)) in problem.sides.iter_mut().zip(angles) {
        (side.wall_rad, side.substrate_rad) = (wall.to_radians(), substrate.to_radians());
    }
    let Ok(outcome) = solve(&problem) else { return };
    let expected = [
        ("left", 624.300, 722.870),
        ("right", 416.651, 614.177),
        ("bottom", 537.329, 467.925),
        ("top", 429.806, 481.640),
    ];
    table.relative("underfill-fillet-uneven-pressure-pa", ARCS, -24.7771, outcome.pressure_pa, 5e-6);
    for (side, (name, height, width)) in outcome.sides.iter().zip(expected) {
        let id = |what: &str| format!("underfill-fillet-uneven-{name}-{what}-um");
        table.relative(&id("height"), ARCS, height, side.height_m * 1e6, 5e-6);
        table.relative(&id("width"), ARCS, width, side.width_m * 1e6, 5e-6);
    }
}

/// So much liquid that it lies around the die as a puddle, eleven capillary lengths wide.
fn puddle(table: &mut Table) {
    for (wall, substrate) in [(20.0_f64, 15.0_f64), (45.0, 30.0)] {
        let [wall_rad, substrate_rad] = [wall.to_radians(), substrate.to_radians()];
        let mut problem = Problem::even([10e-3; 2], [60e-6, 10e-3], 0.0, [0.5, wall_rad, substrate_rad]);
        let a = problem.weight_per_m2().powf(-0.5);
        let puddle = 2.0 * a * (0.5 * substrate_rad).sin();
        let width = 11.0 * a;
        problem.volume_m3 = puddle * (4.0 * 10e-3 * width + std::f64::consts::PI * width * width);
        let Ok(outcome) = solve(&problem) else { continue };
        let expected = puddle + a * (2.0 * (1.0 - wall_rad.sin())).sqrt();
        let id = format!("underfill-fillet-puddle-{wall:.0}-{substrate:.0}-mm");
        // At eleven lengths the meniscus at either end has died down to e^-10.
        table.relative(&id, PUDDLE, expected * 1e3, outcome.sides[0].height_m * 1e3, 1e-4);
    }
}
