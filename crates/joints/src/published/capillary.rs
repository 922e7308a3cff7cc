//! Rows about one joint: exact surfaces, loaded and stretched joints, stiffness.

use super::{BUMP, Source, TENSION, Table, array, at_rest};
use crate::equilibrium::shape_at;
use crate::joint::{Joint, Reach, Shape};
use crate::{margins, sphere};
use facedown_evidence::Basis;
use std::f64::consts::PI;

const EXACT: Source = Source(
    "closed forms of cylinder, sphere and catenoid (Delaunay 1841), evaluated with scipy 1.17",
    Basis::ReferenceLibrary,
);
const YOUNG_LAPLACE: Source = Source(
    "Young-Laplace equation of an axisymmetric joint (as in Katyl and Pimbley, ASME J. Electron. Packag. 114, 1992, 336), integrated with scipy 1.17 solve_ivp and closed by root finding",
    Basis::ReferenceLibrary,
);
const RESPONSE: Source = Source(
    "linear response of the Young-Laplace surface to a shift of its upper rim (equation of C. G. J. Jacobi for the second variation of area), integrated with scipy 1.17",
    Basis::ReferenceLibrary,
);

fn shape(joint: Joint, height: f64) -> Option<Shape> {
    match joint.at_height(height) {
        Reach::Shape(shape) => Some(shape),
        Reach::Overruns(_) | Reach::Parts(_) => None,
    }
}

/// A number of a shape, NaN (which no row passes) where there is none.
fn of(shape: Option<Shape>, number: impl Fn(Shape) -> f64) -> f64 {
    shape.map_or(f64::NAN, number)
}

pub(super) fn rows(table: &mut Table) {
    let unit = |volume| Joint { lower: 1.0, upper: 1.0, volume };
    let cylinder = shape(unit(PI), 1.0);
    table.relative("joints-cylinder-force", EXACT, -PI, of(cylinder, |s| s.force()), 1e-10);
    let catenoid = shape(unit(2.541_534_346), 1.0);
    table.relative("joints-catenoid-force", EXACT, -5.330_264_468, of(catenoid, |s| s.force()), 2e-9);
    table.relative(
        "joints-catenoid-neck",
        EXACT,
        0.848_337_938,
        of(catenoid, |s| s.outline.extremes().1),
        2e-9,
    );
    table.relative(
        "joints-catenoid-area",
        EXACT,
        5.991_796_976,
        of(catenoid, |s| s.outline.measure()[2]),
        2e-9,
    );
    let ball = shape(unit(10.0 * PI / 3.0), 2.0);
    table.within("joints-sphere-force", EXACT, 0.0, of(ball, |s| s.force()), 1e-10);
    table.relative("joints-sphere-area", EXACT, 17.771_531_8, of(ball, |s| s.outline.measure()[2]), 1e-8);

    let loaded = |lower: f64, upper: f64, volume: f64, load: f64| {
        let array = array(&[(lower, upper, volume, 1)], load);
        at_rest(&array).ok().map(|(rest, members)| shape_at(&members[0], &rest, 0.0).0)
    };
    let wide = 5e-6 / 51.0; // half of the last printed digit of a radius in um, or of an angle in degrees
    for (id, upper, load, height, widest, angle) in [
        ("a", 40e-6, 0.0, 64.88203, 51.50165, 129.0429),
        ("b", 40e-6, 1.77e-6, 64.58720, 51.64616, 129.7020),
        ("c", 40e-6, 10e-6, 63.27708, 52.29427, 132.7025),
        ("d", 40e-6, 20e-6, 61.79906, 53.03667, 136.2266),
        ("e", 40e-6, 50e-6, 57.88706, 55.05234, 146.2326),
        ("wide-a", 50e-6, 0.0, 57.43879, 54.18655, 112.6703),
        ("wide-b", 50e-6, 20e-6, 55.36417, 55.33067, 118.0632),
    ] {
        let s = loaded(40e-6, upper, BUMP, load);
        let row = |what: &str| format!("joints-bump-{id}-{what}");
        table.relative(&row("height"), YOUNG_LAPLACE, height, of(s, |s| s.height * 1e6), 1e-7);
        table.relative(
            &row("radius"),
            YOUNG_LAPLACE,
            widest,
            of(s, |s| s.outline.extremes().0 * 1e6),
            2.0 * wide,
        );
        table.within(&row("angle"), YOUNG_LAPLACE, angle, of(s, |s| s.angle_upper.to_degrees()), 6e-5);
    }
    let ball = loaded(250e-6, 250e-6, PI / 6.0 * 0.6e-3_f64.powi(3), 400e-6);
    table.relative("joints-ball-height", YOUNG_LAPLACE, 349.0606, of(ball, |s| s.height * 1e6), 3e-7);
    table.relative(
        "joints-ball-pressure",
        YOUNG_LAPLACE,
        4207.669,
        of(ball, |s| s.outline.pressure * TENSION),
        3e-7,
    );

    let bump = Joint { lower: 40e-6, upper: 40e-6, volume: BUMP };
    for (height, force, neck) in [
        (80.0, -55.7504, 40.0),
        (95.0, -69.642, 39.4569),
        (110.0, -69.139, 34.9959),
        (130.0, -62.364, 29.7473),
    ] {
        let s = shape(bump, height * 1e-6);
        let row = |what: &str| format!("joints-stretched-{height:.0}-{what}");
        table.within(&row("force"), YOUNG_LAPLACE, force, of(s, |s| s.force() * TENSION * 1e6), 6e-4);
        table.within(&row("neck"), YOUNG_LAPLACE, neck, of(s, |s| s.outline.extremes().1 * 1e6), 6e-5);
    }
    let pull = margins::hardest_pull(&bump);
    table.within(
        "joints-hardest-pull",
        YOUNG_LAPLACE,
        70.352,
        of(pull, |s| -s.force() * TENSION * 1e6),
        6e-4,
    );
    table.within("joints-hardest-pull-height", YOUNG_LAPLACE, 100.78, of(pull, |s| s.height * 1e6), 5e-3);

    let free = bump.unloaded();
    table.relative(
        "joints-vertical-stiffness",
        YOUNG_LAPLACE,
        5.952322,
        free.vertical_stiffness() * TENSION,
        2e-7,
    );
    table.relative(
        "joints-vertical-stiffness-sphere",
        YOUNG_LAPLACE,
        5.952322,
        sphere::vertical_stiffness(40e-6, free.height, TENSION),
        2e-7,
    );
    let lateral = |upper: f64, volume: f64, height: f64| {
        let joint = Joint { lower: 1.0, upper, volume };
        of(shape(joint, height), |s| joint.lateral_stiffness(&s))
    };
    let unit_volume = 10.0 * PI / 3.0;
    table.relative("joints-lateral-free", RESPONSE, 1.368_535_56, lateral(1.0, unit_volume, 2.0), 1e-8);
    table.relative("joints-lateral-pressed", RESPONSE, 1.134_672_97, lateral(1.0, unit_volume, 1.8), 1e-8);
    table.relative("joints-lateral-stretched", RESPONSE, 1.385_578_94, lateral(1.0, unit_volume, 2.4), 1e-8);
    let height = 0.93 * sphere::slice_height(1.0, 0.8, unit_volume);
    table.relative("joints-lateral-unequal", RESPONSE, 0.906_624_52, lateral(0.8, unit_volume, height), 1e-8);
}
