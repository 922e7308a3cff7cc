//! Layers of two materials, thermal interfaces, test boards.

use super::{Source, Table};
use crate::interface::pressed_bond_line;
use crate::mixing::{self, Pattern, across_columns, cut_sphere, filled_dense, filled_dilute, joint_sheet};
use crate::problem::{Joints, Layer, Metal, Piece};
use crate::standards::{BOARD_SENSOR_M, RING_DISTANCE_M, TestBoard, board, board_size};
use facedown_evidence::Basis;

const LATTICE: Source = Source(
    "square array of discs by least squares over multipoles with numpy (reference library); W. T. Perrins, D. R. McKenzie, R. C. McPhedran 1979",
    Basis::ReferenceLibrary,
);
const MEANS: Source = Source(
    "means by area and the array of W. T. Perrins et al. 1979, evaluated with numpy (reference library)",
    Basis::ReferenceLibrary,
);
const FILLED: Source = Source(
    "J. C. Maxwell 1873 and D. A. G. Bruggeman 1935, evaluated with numpy (reference library)",
    Basis::ReferenceLibrary,
);
const BOND_LINE: Source = Source(
    "R. S. Prasher, J. Shipley, S. Prstic, P. Koning, J.-L. Wang 2003, scaling law of the bond line",
    Basis::FromMemory,
);
const JESD51_9: Source = Source("JEDEC JESD51-9, July 2000, test board sizes", Basis::Published);
const JESD51_8: Source = Source("JEDEC JESD51-8, October 1999, ring-style cold plate", Basis::Published);

fn columns(diameter_m: f64, pitch_m: f64, column: f64, fill: f64) -> (Joints, f64) {
    let piece = Piece { height_m: 80e-6, diameter_m, barrel: false, conductivity: vec![(300.0, column)] };
    (
        Joints {
            count: 1.0,
            pieces: vec![piece],
            fill: vec![(300.0, fill)],
            places: Vec::new(),
            heats_w: Vec::new(),
            capacity: None,
        },
        pitch_m * pitch_m,
    )
}

pub(super) fn rows(table: &mut Table) {
    for (id, share, expected, tolerance) in [("3", 0.3, 1.812_529, 1e-6), ("5", 0.5, 2.914_594, 1e-5)] {
        table.relative(
            &format!("heat-columns-{id}"),
            LATTICE,
            expected,
            across_columns(share, 50.0, 1.0),
            tolerance,
        );
    }
    table.relative("heat-columns-holes", LATTICE, 0.537_580, across_columns(0.3, 1e-9, 1.0), 1e-6);
    let (joints, cell) = columns(80e-6, 150e-6, 57.0, 0.5);
    let bumps = joint_sheet(&joints, cell, 300.0);
    table.within("heat-bumps-through", MEANS, 13.122, bumps.through, 5e-4);
    table.within("heat-bumps-in-plane", MEANS, 0.7815, bumps.in_plane, 5e-5);
    let (joints, cell) = columns(100e-6, 180e-6, 57.0, 0.4);
    let bumps = joint_sheet(&joints, cell, 300.0);
    table.within("heat-wide-bumps-through", MEANS, 14.120, bumps.through, 5e-4);
    table.within("heat-wide-bumps-in-plane", MEANS, 0.6516, bumps.in_plane, 5e-5);
    table.within("heat-cut-sphere", MEANS, 38.08, cut_sphere(0.25e-3, 0.175e-3, 58.0), 5e-3);

    // 1.6 mm with two planes and two trace layers of 20 %, metal and laminate as the source has them.
    let metal = |thickness, share| Layer {
        metal: Some(Metal { share, conductivity: vec![(300.0, 390.0)] }),
        ..Layer::plain("metal", thickness, 0.35)
    };
    let layers = [
        metal(70e-6, 0.2),
        Layer::plain("laminate", 1.39e-3, 0.35),
        metal(35e-6, 1.0),
        metal(35e-6, 1.0),
        metal(70e-6, 0.2),
    ];
    let sheets: Vec<_> = layers.iter().map(|l| mixing::sheet(l, 300.0, Pattern::Along)).collect();
    let whole = mixing::whole(&sheets);
    table.within("heat-board-in-plane", MEANS, 24.22, whole.in_plane, 5e-3);
    table.within("heat-board-through", MEANS, 0.4027, whole.through, 5e-5);

    table.within("heat-filled-dilute", FILLED, 0.450, filled_dilute(0.3, 30.0, 0.2), 5e-4);
    for (id, share, expected) in [("30", 0.3, 0.562), ("60", 0.6, 2.465)] {
        let k = filled_dense(share, 30.0, 0.2).unwrap_or(f64::NAN);
        table.within(&format!("heat-filled-dense-{id}"), FILLED, expected, k, 5e-4);
    }
    for (id, pressure, expected) in [("low", 0.07e6, 44.2), ("high", 0.69e6, 30.2)] {
        table.within(
            &format!("heat-bond-line-{id}"),
            BOND_LINE,
            expected,
            1e6 * pressed_bond_line(100.0, pressure),
            0.05,
        );
    }
    for (id, body, expected) in
        [("40", 0.040, [101.5, 114.5]), ("65", 0.065, [127.0, 139.5]), ("90", 0.090, [152.5, 165.0])]
    {
        let size = board_size(body).unwrap_or([f64::NAN; 2]);
        table.within(&format!("heat-test-board-{id}-width"), JESD51_9, expected[0], 1e3 * size[0], 1e-9);
        table.within(&format!("heat-test-board-{id}-height"), JESD51_9, expected[1], 1e3 * size[1], 1e-9);
    }
    let thickness: f64 = board(TestBoard::TwoPlanes, 0.035).layers.iter().map(|l| l.thickness_m).sum();
    table.within("heat-test-board-thickness", JESD51_9, 1.60, 1e3 * thickness, 1e-9);
    table.within("heat-ring-distance", JESD51_8, 5.0, 1e3 * RING_DISTANCE_M, 1e-9);
    table.within("heat-board-sensor", JESD51_8, 1.0, 1e3 * BOARD_SENSOR_M, 1e-9);
}
