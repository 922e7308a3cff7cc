//! Drops at rest: the shape under surface tension and weight, sizes, and the angle from volume and diameter.

use super::{Source, Table};
use crate::drop::profile::{at_slope, capillary_length};
use crate::drop::size;
use facedown_evidence::Basis;
use facedown_field::root;

const SHAPE: Source = Source(
    "equation of F. Bashforth and J. C. Adams 1883, integrated along the arc with scipy 1.17 (reference library)",
    Basis::ReferenceLibrary,
);
const WATER: Source = Source(
    "2 uL of water (72.8 mN/m, 998.2 kg/m3) by the equation of Bashforth and Adams 1883 with scipy 1.17 (reference library)",
    Basis::ReferenceLibrary,
);
const PUDDLE: Source = Source(
    "J. Chem. Soc. Faraday Trans. 1, 77 (1981) 1183, capillary phenomena part 14: approximate height of a large drop, said to \
     represent water at 30 deg well beyond a contact radius of 5 mm",
    Basis::Published,
);

pub fn rows(table: &mut Table) {
    // beta; x, z and volume over the apex radius at 90 deg and at 135 deg, printed to five places.
    for (beta, upper, lower) in [
        (0.1, [0.98415, 0.96313, 1.95049], [0.72752, 1.59341, 3.58263]),
        (1.0, [0.88529, 0.76671, 1.24972], [0.73686, 1.14514, 2.09108]),
        (5.0, [0.70441, 0.50095, 0.51926], [0.62920, 0.69483, 0.80258]),
        (50.0, [0.39372, 0.19903, 0.06693], [0.36913, 0.26236, 0.09663]),
    ] {
        for (degrees, expected) in [(90.0_f64, upper), (135.0, lower)] {
            let Ok(p) = at_slope(beta, degrees.to_radians()) else { continue };
            for (name, expected, found) in
                [("x", expected[0], p.x), ("z", expected[1], p.z), ("volume", expected[2], p.volume)]
            {
                let id = format!("underfill-profile-{beta}-{degrees:.0}-{name}");
                table.within(&id, SHAPE, expected, found, 1e-5);
            }
        }
    }
    let water = capillary_length(0.0728, 998.2);
    table.within("underfill-capillary-length-water", WATER, 2.727, water * 1e3, 5e-4);
    // Angle, diameter of the base and height in mm, and what a spherical cap of that volume and base says.
    for (degrees, diameter, height, cap) in [
        (10.0_f64, 4.9338, 0.2052, 9.67),
        (30.0, 3.3567, 0.4380, 29.50),
        (60.0, 2.5290, 0.7138, 59.23),
        (90.0, 1.9903, 0.9664, 88.79),
        (120.0, 1.4737, 1.2078, 117.85),
    ] {
        let Ok(drop) = size::of_angle(2e-9, degrees.to_radians(), water) else { continue };
        let id = |what: &str| format!("underfill-water-drop-{degrees:.0}-{what}");
        table.within(&id("base-mm"), WATER, diameter, drop.base_diameter_m * 1e3, 1e-4);
        table.within(&id("height-mm"), WATER, height, drop.height_m * 1e3, 1e-4);
        // The base is printed to a tenth of a micrometre, less than a hundredth of a degree.
        let Ok(found) = size::angle_of((2e-9, 0.0), (diameter * 1e-3, 0.0), water) else { continue };
        table.within(&id("angle"), WATER, degrees, found.angle_rad.to_degrees(), 0.01);
        table.within(&id("cap"), WATER, cap, found.cap_rad.to_degrees(), 0.01);
    }
    // A puddle of 10 mm contact radius at 30 deg.
    let phi = 30.0_f64.to_radians();
    let apart =
        |log: f64| at_slope(log.exp(), phi).map_or(f64::NAN, |p| p.x * (0.5 * log).exp() * water - 0.01);
    if let Ok(log) = root::bracketed(apart, 0.0, 23.0, 1e-12)
        && let Ok(p) = at_slope(log.exp(), phi)
    {
        let height = p.z * (0.5 * log).exp() * water * 1e3;
        table.relative("underfill-puddle-height", PUDDLE, 1.4664, height, 0.005);
    }
}
