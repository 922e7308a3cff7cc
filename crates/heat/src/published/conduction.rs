//! Walls, fins, half spaces.

use super::{Source, Table};
use crate::fin::board_as_round_fin;
use crate::sheet::Sheet;
use crate::{fin, spreading, wall};
use facedown_evidence::Basis;

const INCROPERA_WALL: Source = Source(
    "F. P. Incropera, D. P. DeWitt, Fundamentals of Heat and Mass Transfer, 6th ed. 2007, example 3.2 (chip, joint, aluminium)",
    Basis::FromMemory,
);
const INCROPERA_FIN: Source = Source(
    "F. P. Incropera, D. P. DeWitt, Fundamentals of Heat and Mass Transfer, 6th ed. 2007, example 3.9 (long rods)",
    Basis::FromMemory,
);
const BESSEL: Source =
    Source("scipy 1.17 iv, kv in the annular fin (reference library)", Basis::ReferenceLibrary);
const HALF_SPACE: Source = Source(
    "M. M. Yovanovich, evenly heated rectangle on a half space, R k sqrt(A); integrated with scipy (reference library)",
    Basis::ReferenceLibrary,
);
const LEE: Source = Source(
    "S. Lee, S. Song, V. Au, K. P. Moran 1995, evaluated with numpy (reference library)",
    Basis::ReferenceLibrary,
);
const KIRCHHOFF: Source = Source(
    "Kirchhoff's transformation with k = 148 (T/300)^-1.3, evaluated with numpy (reference library)",
    Basis::ReferenceLibrary,
);

pub(super) fn rows(table: &mut Table) {
    let film = 100.0;
    let joint = Sheet { contact: 0.9e-4, ..Sheet::isotropic(8e-3, 239.0) };
    let chip = 25.0 + wall::between_two(1e4, wall::resistance(&[], film), wall::resistance(&[joint], film));
    table.within("heat-wall-chip", INCROPERA_WALL, 75.3, chip, 0.05);
    for (id, conductivity, expected) in
        [("heat-fin-copper", 398.0, 8.3), ("heat-fin-aluminium", 180.0, 5.6), ("heat-fin-steel", 14.0, 1.6)]
    {
        table.within(id, INCROPERA_FIN, expected, fin::long_pin_heat(100.0, conductivity, 5e-3, 75.0), 0.05);
    }
    let board = board_as_round_fin(0.035 * 0.035, 0.1015 * 0.1015, 24.0 * 1.6e-3, 20.0);
    table.relative("heat-board-fin", BESSEL, 7.7118, board.unwrap_or(f64::NAN), 1e-5);
    for (id, aspect, mean, centre) in
        [("1", 1.0, 0.473_201, 0.561_100), ("2", 2.0, 0.459_762, 0.541_554), ("4", 4.0, 0.423_381, 0.490_926)]
    {
        let of = spreading::rectangle_mean_on_half_space(aspect, 1.0);
        table.within(&format!("heat-half-space-mean-{id}"), HALF_SPACE, mean, of, 1e-6);
        let of = spreading::rectangle_centre_on_half_space(aspect, 1.0);
        table.within(&format!("heat-half-space-centre-{id}"), HALF_SPACE, centre, of, 1e-6);
    }
    let (mean, largest) = spreading::quick_estimate(15e-3 * 15e-3, 40e-3 * 40e-3, 2e-3, 390.0, 2000.0);
    table.within("heat-quick-mean", LEE, 0.102_784, mean, 1e-6);
    table.within("heat-quick-largest", LEE, 0.146_703, largest, 1e-6);
    for (id, flux, expected) in [("heat-silicon-1", 1e6, 355.8418), ("heat-silicon-5", 5e6, 380.5177)] {
        let hot = wall::power_law_hot_face(350.0, flux, 0.7e-3, 148.0, 300.0, 1.3).unwrap_or(f64::NAN);
        table.within(id, KIRCHHOFF, expected, hot, 1e-4);
    }
}
