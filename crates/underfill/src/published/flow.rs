//! Fill times, patterns, viscosity and cure.

use super::{Source, Table};
use crate::cure::{Chemoviscosity, Course, GAS, History, Melt};
use crate::flow::patterns::torsion_maximum;
use crate::flow::plates::{Gap, radial_time};
use crate::flow::{Medium, race, regions::Regions};
use facedown_evidence::Basis;

const TEXTBOOK: Source =
    Source("flip-chip packaging textbook, exercise on Washburn's equation", Basis::Published);
const WASHBURN: Source = Source(
    "Washburn 1921 between plates, recomputed with scipy 1.17 (reference library)",
    Basis::ReferenceLibrary,
);
const POWER: Source = Source(
    "slit flow of a power-law liquid, integrated with scipy 1.17 (reference library)",
    Basis::ReferenceLibrary,
);
const NEWMAN: Source =
    Source("Newman 1968, solved with scipy 1.17 (reference library)", Basis::ReferenceLibrary);
const RAMP: Source = Source(
    "fluidity time over a ramp, quadrature with scipy 1.17 (reference library)",
    Basis::ReferenceLibrary,
);
const TORSION: Source = Source(
    "Timoshenko and Goodier, Theory of Elasticity, 1970, art. 109 (series for the rectangle), summed with numpy 2.4 (reference library)",
    Basis::ReferenceLibrary,
);
const RADIAL: Source = Source(
    "radial filling at constant pressure, recomputed with scipy 1.17 (reference library)",
    Basis::ReferenceLibrary,
);
const HERCULES: Source = Source(
    "Lee, Loos and Springer, J. Compos. Mater. 16 (1982) 510, 3501-6 resin (constants from memory), integrated with scipy 1.17",
    Basis::FromMemory,
);
const CASTRO: Source =
    Source("Castro and Macosko 1982, polyurethane (constants from memory)", Basis::FromMemory);
const BOYLE: Source =
    Source("Boyle's law, recomputed with scipy 1.17 (reference library)", Basis::ReferenceLibrary);
const SERIES: Source = Source(
    "Darcy front in three regions, integrated with scipy 1.17 (reference library)",
    Basis::ReferenceLibrary,
);

fn gap(tension: f64, degrees: [f64; 2]) -> Gap {
    Gap { gap_m: 50e-6, tension_n_m: tension, angles_rad: degrees.map(f64::to_radians) }
}

pub fn rows(table: &mut Table) {
    let time = |g: Gap, mu: f64, l: f64| g.fill_time(mu, l).unwrap_or(f64::NAN);
    table.within(
        "underfill-textbook",
        TEXTBOOK,
        14.69,
        time(gap(0.023, [15.0, 15.0]), 0.0426, 1.13e-2),
        0.005,
    );
    let plates = gap(0.03, [20.0, 20.0]);
    table.within("underfill-plates", WASHBURN, 21.284, time(plates, 0.1, 1e-2), 5e-4);
    table.within("underfill-plates-one-60", WASHBURN, 27.784, time(gap(0.03, [20.0, 60.0]), 0.1, 1e-2), 5e-4);
    table.within("underfill-plates-pressure", WASHBURN, 1127.631, plates.pressure(), 5e-4);
    for (name, m, n, expected) in [("thinning", 0.2, 0.8, 21.155), ("thickening", 0.08, 1.1, 23.912)] {
        let found = plates.fill_time_power_law(m, n, 1e-2).unwrap_or(f64::NAN);
        table.within(&format!("underfill-shear-{name}"), POWER, expected, found, 5e-4);
    }
    let front = plates.front_of_slow_wetting(0.1, (0.6, 0.1), 26.875).unwrap_or(f64::NAN);
    table.relative("underfill-slow-wetting-mm", NEWMAN, 10.0, front * 1e3, 1e-4);
    if let Some((farthest, at)) = plates.growing_viscosity(0.1, 120.0, 1e-2) {
        table.within("underfill-growing-reach-mm", WASHBURN, 23.745, farthest * 1e3, 5e-4);
        table.within("underfill-growing-time", WASHBURN, 23.429, at.unwrap_or(f64::NAN), 5e-4);
    }
    // Heating at 1 K/s from 25 to 90 degC, Arrhenius with 50 kJ/mol; no cure.
    let points = [(363.15, 0.1)];
    let melt = Melt { points: &points, energy_j_mol: 50e3 };
    let history = History::steps(298.15, [(65.0, 363.15, 0.0)]);
    let rate = move |t: f64, _: &[f64; 2]| {
        let temperature = (298.15 + t).min(363.15);
        [0.0, 1.0 / Melt { points: &[(363.15, 0.1)], energy_j_mol: 50e3 }.viscosity(temperature)]
    };
    table.within("underfill-cold-viscosity", RAMP, 3.697, melt.viscosity(298.15), 5e-4);
    if let Ok(course) = Course::of_rate(Box::new(rate), (0.0, 1.0), &history) {
        let fluidity = time(plates, 1.0, 1e-2);
        table.within(
            "underfill-ramp",
            RAMP,
            66.98,
            course.time_of_fluidity(fluidity).unwrap_or(f64::NAN),
            0.005,
        );
    }
    table.within("underfill-pattern-l", TORSION, 0.2946854, torsion_maximum(1.0, 1.0), 1e-7);
    table.within("underfill-pattern-u", TORSION, 0.1138718, torsion_maximum(1.0, 0.5), 1e-7);
    let mobility = plates.gap_m.powi(2) / 12.0 * plates.pressure();
    table.within("underfill-radial", RADIAL, 9.618, radial_time(mobility, 0.1, 0.5e-3, 5e-3), 5e-4);
    for (name, ambient, expected) in
        [("air", 101_325.0, 0.98899), ("10-torr", 1333.0, 0.54173), ("1-torr", 133.0, 0.10550)]
    {
        table.within(
            &format!("underfill-void-{name}"),
            BOYLE,
            expected,
            race::shrunken(ambient, 1127.631),
            5e-6,
        );
    }
    // Rims of 2 mm around 6 mm, with the roles of bumps and bare gap as in the source of the cell.
    let bare = Medium { permeability_m2: 2.5e-9 / 12.0, free: 1.0, pressure_pa: 1127.631 };
    let bumped = Medium { permeability_m2: 9.067e-11, free: 0.80365, pressure_pa: 1494.97 };
    let regions = Regions(vec![(bumped, 2e-3), (bare, 6e-3), (bumped, 2e-3)]);
    for (name, place, expected) in
        [("first", 2e-3, 1.18577), ("second", 8e-3, 20.58468), ("third", 1e-2, 27.23839)]
    {
        let found = 0.1 * regions.fluidity_to(place).unwrap_or(f64::NAN);
        table.relative(&format!("underfill-series-{name}"), SERIES, expected, found, 1e-5);
    }
    cure(table);
}

/// The rate of the 3501-6 resin, 1/s.
fn hercules(temperature: f64, degree: f64) -> f64 {
    let k = |a: f64, e: f64| a / 60.0 * (-e / (GAS * temperature)).exp();
    if degree <= 0.3 {
        (k(2.101e9, 8.07e4) + k(-2.014e9, 7.78e4) * degree) * (1.0 - degree) * (0.47 - degree)
    } else {
        k(1.96e5, 5.66e4) * (1.0 - degree)
    }
}

fn cure(table: &mut Table) {
    for (name, kelvin, marks) in
        [("150c", 423.15, [9.948, 26.598, 106.24]), ("177c", 450.15, [2.3997, 8.7432, 39.086])]
    {
        let history = History::constant(kelvin);
        let course = Course::of_rate(
            Box::new(move |_, y: &[f64; 2]| [hercules(kelvin, y[0]), 0.0]),
            (0.0, 0.95),
            &history,
        );
        let Ok(course) = course else { continue };
        for (degree, minutes) in [0.3, 0.5, 0.9].into_iter().zip(marks) {
            let found = course.time_of_degree(degree).unwrap_or(f64::NAN) / 60.0;
            table.relative(
                &format!("underfill-cure-{name}-{:.0}", 100.0 * degree),
                HERCULES,
                minutes,
                found,
                6e-5,
            );
        }
    }
    let growth = Chemoviscosity { c1: 1.5, c2: 1.0 };
    for (kelvin, degree, expected) in [(298.15, 0.0, 1.771), (323.15, 0.3, 1.487), (343.15, 0.5, 3.742)] {
        let uncured = 10.3e-8 * (41.3e3 / (GAS * kelvin)).exp();
        let found = uncured / growth.fluidity(degree, 0.65);
        table.relative(&format!("underfill-chemoviscosity-{kelvin:.0}k"), CASTRO, expected, found, 3.5e-4);
    }
}
