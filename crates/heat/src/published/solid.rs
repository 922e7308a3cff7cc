//! The solver in space: walls, plates, fins, sources on compound plates, boards, whole packages.
//!
//! Tolerances are half a percent for means and one for points, which is what a grid of this size is asked for, unless
//! the source is coarser or the case is exact on any grid. Values are extrapolated from three grids.

use super::boxes::{Found, Place, Trial, even, line, settled};
use super::{Source, Table};
use crate::mixing::{self, Pattern};
use crate::plate::{Modes, Patch, Plate, Rectangle, held_rim};
use crate::sheet::Sheet;
use crate::standards::{TestBoard, board};
use facedown_evidence::Basis;
use facedown_field::conduction::Side;

const NAFEMS: Source = Source(
    "NAFEMS, The Standard NAFEMS Benchmarks, 1990, test T4: plate with convection, 18.25 degC at E",
    Basis::FromMemory,
);
const NAFEMS_SERIES: Source = Source(
    "series of the plate of NAFEMS test T4, summed with numpy (reference library)",
    Basis::ReferenceLibrary,
);
const POISSON: Source = Source(
    "Poisson's equation on the unit square and cube, double series summed with numpy (reference library)",
    Basis::ReferenceLibrary,
);
const TAYLOR: Source = Source(
    "S. V. Patankar, Numerical Heat Transfer and Fluid Flow, 1980: central differences, order two",
    Basis::FromMemory,
);
const INCROPERA_WALL: Source = Source(
    "F. P. Incropera, D. P. DeWitt, Fundamentals of Heat and Mass Transfer, 6th ed. 2007, example 3.2 (chip, joint, aluminium)",
    Basis::FromMemory,
);
const INCROPERA_HEATED: Source = Source(
    "F. P. Incropera, D. P. DeWitt, Fundamentals of Heat and Mass Transfer, 6th ed. 2007, example 3.7 (heated wall, second wall, water)",
    Basis::FromMemory,
);
const INCROPERA_FIN: Source = Source(
    "F. P. Incropera, D. P. DeWitt, Fundamentals of Heat and Mass Transfer, 6th ed. 2007, example 3.9 (long rods)",
    Basis::FromMemory,
);
const FIN_THEORY: Source = Source(
    "one-dimensional fin of infinite length (Incropera and DeWitt 2007, table 3.4, case D), evaluated with numpy (reference library)",
    Basis::ReferenceLibrary,
);
const ARPACI: Source = Source(
    "V. S. Arpaci, Conduction Heat Transfer, 1966, example 3-8: conductivity rising with temperature, 87.08287",
    Basis::FromMemory,
);
const SERIES: Source = Source(
    "series of M. M. Yovanovich, Y. S. Muzychka, J. R. Culham 1999 summed directly with numpy, 1600 x 1600 modes (reference library)",
    Basis::ReferenceLibrary,
);
const ECCENTRIC: Source = Source(
    "series of Y. S. Muzychka, J. R. Culham, M. M. Yovanovich 2003 (eccentric sources) summed directly with numpy (reference library)",
    Basis::ReferenceLibrary,
);
const BOARDS: Source = Source(
    "board of JEDEC JESD51-9 as a plate of layers; series of M. M. Yovanovich et al. 1999, itself checked against numpy in the rows of plates",
    Basis::ReferenceLibrary,
);
const RIM: Source = Source(
    "board of JEDEC JESD51-9 with the ring of JESD51-8; cosine series, itself checked against finite volumes with scipy",
    Basis::ReferenceLibrary,
);
const ELEMENTS: Source = Source(
    "quadratic finite elements with scikit-fem 12 on graded meshes to 122 thousand unknowns, +-0.03 K (reference library)",
    Basis::ReferenceLibrary,
);

pub(super) fn rows(table: &mut Table) {
    plane_plate(table);
    poisson(table);
    walls(table);
    fins(table);
    plates(table);
    two_sources(table);
    boards(table);
    packages(table);
}

/// NAFEMS T4: bottom held at 100, left insulated, right and top in 750 W/(m2 K) at 0.
fn plane_plate(table: &mut Table) {
    let film = 750.0;
    // Steep at the lower right corner, where a held side meets a film.
    let sides = |f: f64| {
        let across = line(&[(0.0, 0.03), (0.6, 0.004)], 0.03, f);
        let up = line(&[(0.0, 0.004), (0.2, 0.02), (0.5, 0.03), (1.0, 0.03)], 0.03, f);
        (across, up)
    };
    // In the plane of the grid, and standing in its columns.
    let lying = |f: f64| -> Option<[f64; 1]> {
        let (across, up) = sides(f);
        let found = Trial::new([across, up, vec![0.0, 1.0]], |_| Some([52.0; 3]))?
            .cooled(|side, _| match side {
                Side::Front => [f64::INFINITY, 100.0],
                Side::Right | Side::Back => [film, 0.0],
                _ => [0.0, 0.0],
            })
            .solved()?;
        Some([found.face_at(Side::Right, 0.0, [0.6, 0.2, 0.5])])
    };
    let standing = |f: f64| -> Option<[f64; 3]> {
        let (across, up) = sides(f);
        let found = Trial::new([across, vec![0.0, 1.0], up], |_| Some([52.0; 3]))?
            .cooled(|side, _| match side {
                Side::Bottom => [f64::INFINITY, 100.0],
                Side::Right | Side::Top => [film, 0.0],
                _ => [0.0, 0.0],
            })
            .solved()?;
        Some([
            found.face_at(Side::Left, 0.0, [0.0, 0.5, 0.2]),
            found.face_at(Side::Left, 0.0, [0.0, 0.5, 0.5]),
            found.face_at(Side::Right, 0.0, [0.6, 0.5, 0.5]),
        ])
    };
    let [target] = settled(lying);
    table.within("heat-solid-nafems-t4", NAFEMS, 18.25, target, 0.02);
    let [low, middle, right] = settled(standing);
    for (id, expected, found) in
        [("low", 70.0607, low), ("middle", 35.4012, middle), ("right", 6.3871, right)]
    {
        table.relative(&format!("heat-solid-nafems-t4-{id}"), NAFEMS_SERIES, expected, found, 1e-3);
    }
}

/// Unit square and cube with a unit source and cold faces.
fn poisson(table: &mut Table) {
    let centre = |n: usize, cube: bool| -> f64 {
        let lines = [even(0.0, 1.0, n), even(0.0, 1.0, n), even(0.0, 1.0, if cube { n } else { 1 })];
        let cold = |side: Side| cube || !matches!(side, Side::Bottom | Side::Top);
        let trial = Trial::new(lines, |_| Some([1.0; 3])).and_then(|t| {
            t.cooled(|side, _| [if cold(side) { f64::INFINITY } else { 0.0 }, 0.0]).heated(|_| 1.0).solved()
        });
        let z = if cube { n / 2 } else { 0 };
        trial.and_then(|t| t.body.at(&t.field, [n / 2, n / 2, z])).unwrap_or(f64::NAN)
    };
    for (id, cube, expected) in [("square", false, 0.073_671_4), ("cube", true, 0.056_212_8)] {
        // Odd numbers of cells, so that the centre is that of a cell.
        let [coarse, middle, fine] = [5, 15, 45].map(|n| centre(n, cube));
        let order = ((middle - coarse) / (fine - middle)).ln() / 3.0_f64.ln();
        table.relative(&format!("heat-solid-poisson-{id}"), POISSON, expected, fine, 2e-3);
        table.within(&format!("heat-solid-poisson-{id}-order"), TAYLOR, 2.0, order, 0.1);
        table.relative(
            &format!("heat-solid-poisson-{id}-limit"),
            POISSON,
            expected,
            fine + (fine - middle) / 8.0,
            2e-5,
        );
    }
}

fn walls(table: &mut Table) {
    let nan = |value: Option<f64>| value.unwrap_or(f64::NAN);
    // Chip (a conducting skin here), joint, aluminium, between two films.
    let (skin, joint, block) = (1e-6, 20e-6, 8e-3);
    let up = [0.0, skin, skin + joint, skin + joint + block / 2.0, skin + joint + block];
    let chip = Trial::new([even(0.0, 0.01, 2), even(0.0, 0.01, 3), up.to_vec()], |[_, _, z]| {
        Some(
            [if z < skin {
                1e4
            } else if z < skin + joint {
                joint / 0.9e-4
            } else {
                239.0
            }; 3],
        )
    })
    .and_then(|t| {
        let film = |side: Side, _: Place| match side {
            Side::Bottom | Side::Top => [100.0, 25.0],
            _ => [0.0, 0.0],
        };
        t.cooled(film).lit(Side::Bottom, |_| 1e4).solved()
    });
    table.within(
        "heat-solid-wall-chip",
        INCROPERA_WALL,
        75.3,
        nan(chip.map(|c| c.face_mean(Side::Bottom, 0.0, |_| true))),
        0.05,
    );
    // 50 mm of 75 W/(m K) with 1.5 MW/m3, insulated in front; 20 mm of 150 behind; water of 30 degC, 1000 W/(m2 K).
    let heated = Trial::new([even(0.0, 0.07, 140), even(0.0, 0.1, 2), even(0.0, 0.1, 2)], |[x, _, _]| {
        Some([if x < 0.05 { 75.0 } else { 150.0 }; 3])
    })
    .and_then(|t| {
        t.cooled(|side, _| if side == Side::Right { [1000.0, 30.0] } else { [0.0, 0.0] })
            .heated(|[x, _, _]| if x < 0.05 { 1.5e6 } else { 0.0 })
            .solved()
    });
    let faces = heated.map(|h| [Side::Left, Side::Right].map(|s| h.face_mean(s, 0.0, |_| true)));
    table.within("heat-solid-heated-wall", INCROPERA_HEATED, 140.0, nan(faces.map(|f| f[0])), 0.05);
    table.within("heat-solid-heated-wall-face", INCROPERA_HEATED, 105.0, nan(faces.map(|f| f[1])), 0.05);
    table.relative("heat-solid-rising-conductivity", ARPACI, 87.082_869_338_7, nan(rising()), 1e-4);
}

/// A wall with `k = 2 (1 + 0.01 T)`, 5 W/m3, 10 m, cold at its end: temperature of the insulated face, by rounds of
/// conductivities at the last field.
fn rising() -> Option<f64> {
    let n = 200;
    let mut last = vec![0.0; n];
    for _ in 0..40 {
        let known = last.clone();
        let found = Trial::new([vec![0.0, 1.0], vec![0.0, 1.0], even(0.0, 10.0, n)], |[_, _, z]| {
            Some([2.0 * (1.0 + 0.01 * known[(z / 10.0 * n as f64) as usize]); 3])
        })?
        .cooled(|side, _| [if side == Side::Top { f64::INFINITY } else { 0.0 }, 0.0])
        .heated(|_| 5.0)
        .solved()?;
        last = (0..n).map(|z| found.body.at(&found.field, [0, 0, z])).collect::<Option<_>>()?;
        if last.iter().zip(&known).all(|(a, b)| (a - b).abs() < 1e-8) {
            return Some(last[0]);
        }
    }
    None
}

/// Long rods as square bars of the same product of perimeter and section, 0.6 m, 75 K over the air.
fn fins(table: &mut Table) {
    let side = 5e-3 * (std::f64::consts::PI / 4.0).powf(2.0 / 3.0);
    // The rows of theory are as good as a rod is thin for its film: its Biot number.
    let biot = |k: f64| 100.0 * 5e-3 / 4.0 / k;
    for (id, k, book, exact) in [
        ("copper", 398.0, Some(8.3), 8.310),
        ("aluminium", 180.0, Some(5.6), 5.588),
        ("steel", 14.0, None, 1.558),
    ] {
        // A quarter of the bar.
        let heat = |f: f64| -> Option<[f64; 1]> {
            let across = || even(0.0, side / 2.0, (2.0 * f).round() as usize);
            let found =
                Trial::new([across(), across(), line(&[(0.0, 0.4e-3), (0.6, 10e-3)], 10e-3, f)], |_| {
                    Some([k; 3])
                })?
                .cooled(|side, _| match side {
                    Side::Bottom => [f64::INFINITY, 75.0],
                    Side::Right | Side::Back | Side::Top => [100.0, 0.0],
                    _ => [0.0, 0.0],
                })
                .solved()?;
            Some([-4.0 * found.leaves(Side::Bottom)])
        };
        let [heat] = settled(heat);
        if let Some(book) = book {
            table.within(&format!("heat-solid-fin-{id}"), INCROPERA_FIN, book, heat, 0.05);
        }
        table.relative(&format!("heat-solid-fin-{id}-theory"), FIN_THEORY, exact, heat, biot(k));
    }
}

/// A quarter of a plate with a source in the middle of its upper face: mean and middle of the source for one watt.
fn quarter(plate: &Plate, source: [f64; 2], f: f64) -> Option<[f64; 2]> {
    let layers = &plate.layers;
    let size = [plate.width_m, plate.height_m];
    let thickness: f64 = layers.iter().map(|l| l.thickness).sum();
    let across = |axis: usize| {
        let (half, edge) = (size[axis] / 2.0, source[axis] / 2.0);
        // The density of heat jumps at the edge of the source.
        let fine = edge / 12.0;
        line(&[(0.0, 1.5 * fine), (edge, 0.5 * fine), (half, half / 6.0)], half / 10.0, f)
    };
    let mut marks = vec![(0.0, thickness)];
    let mut z = 0.0;
    for layer in layers.iter().rev() {
        marks.push((z + layer.thickness, 0.15 * layer.thickness));
        marks.push((z, 0.3 * layer.thickness));
        z += layer.thickness;
    }
    let least = source[0].min(source[1]) / 40.0;
    marks.push((thickness, least.min(0.12 * layers[0].thickness)));
    let up = line(&marks, 0.25 * thickness, f);
    let k = |[_, _, z]: Place| {
        let mut top = thickness;
        for layer in layers {
            top -= layer.thickness;
            if z > top {
                return Some([layer.in_plane, layer.in_plane, layer.through]);
            }
        }
        None
    };
    let under = |[x, y, _]: Place| x < source[0] / 2.0 && y < source[1] / 2.0;
    let flux = 1.0 / (source[0] * source[1]);
    let found = Trial::new([across(0), across(1), up], k)?
        .cooled(|side, _| match side {
            Side::Bottom => [plate.film, 0.0],
            Side::Top => [plate.face_film, 0.0],
            _ => [0.0, 0.0],
        })
        .lit(Side::Top, |p| if under(p) { flux } else { 0.0 })
        .solved()?;
    let drop = if plate.face_film > 0.0 { 0.0 } else { flux };
    Some([found.face_mean(Side::Top, drop, under), found.face_at(Side::Top, drop, [0.0, 0.0, thickness])])
}

fn plates(table: &mut Table) {
    let lid = Sheet::isotropic(2e-3, 390.0);
    let base = vec![lid, Sheet::isotropic(0.1e-3, 3.0), Sheet::isotropic(5e-3, 180.0)];
    let laminate = Sheet { thickness: 1.6e-3, in_plane: 18.0, through: 0.35, contact: 0.0 };
    // Plate and source mm, layers from the heated face, film, total mean and centre K/W.
    for (id, plate, source, layers, film, mean, centre) in [
        ("lid", [40.0, 40.0], [15.0, 15.0], vec![lid], 2000.0, 0.425_182, 0.467_461),
        ("three-layers", [40.0, 40.0], [15.0, 15.0], base, 1500.0, 0.539_556, 0.570_714),
        (
            "oblong",
            [60.0, 40.0],
            [20.0, 10.0],
            vec![Sheet::isotropic(3e-3, 200.0)],
            500.0,
            1.055_878,
            1.117_319,
        ),
        ("board", [100.0, 100.0], [20.0, 20.0], vec![laminate], 20.0, 13.944_187, 15.886_798),
        (
            "small-source",
            [10.0, 10.0],
            [1.0, 1.0],
            vec![Sheet::isotropic(0.5e-3, 148.0)],
            1e9,
            1.935_813,
            2.437_512,
        ),
    ] {
        let [plate, source] = [plate, source].map(|s| s.map(|v| v * 1e-3));
        let plate = Plate::on_film(plate[0], plate[1], layers, film);
        let found = settled(|f| quarter(&plate, source, f));
        table.relative(&format!("heat-solid-plate-{id}-mean"), SERIES, mean, found[0], 5e-3);
        table.relative(&format!("heat-solid-plate-{id}-centre"), SERIES, centre, found[1], 1e-2);
    }
}

fn two_sources(table: &mut Table) {
    let mm = |v: f64| v * 1e-3;
    let (a, b) = ([5.0, 11.0, 5.0, 11.0].map(mm), [18.0, 22.0, 13.0, 23.0].map(mm));
    let inside = |r: [f64; 4], [x, y, _]: Place| x > r[0] && x < r[1] && y > r[2] && y < r[3];
    let area = |r: [f64; 4]| (r[1] - r[0]) * (r[3] - r[2]);
    let found = |f: f64| -> Option<[f64; 4]> {
        let across = |axis: usize| {
            let mut marks: Vec<(f64, f64)> =
                [a, b].iter().flat_map(|r| [r[2 * axis], r[2 * axis + 1]]).map(|at| (at, 0.5e-3)).collect();
            marks.extend([(0.0, 2e-3), (30e-3, 2e-3)]);
            line(&marks, 1.2e-3, f)
        };
        let up = line(&[(0.0, 0.6e-3), (3e-3, 0.3e-3), (3.05e-3, 0.1e-3), (3.75e-3, 0.08e-3)], 0.6e-3, f);
        let found = Trial::new([across(0), across(1), up], |[_, _, z]| {
            Some(
                [if z < 3e-3 {
                    390.0
                } else if z < 3.05e-3 {
                    4.0
                } else {
                    140.0
                }; 3],
            )
        })?
        .cooled(|side, _| [if side == Side::Bottom { 4000.0 } else { 0.0 }, 0.0])
        .lit(Side::Top, |p| {
            if inside(a, p) {
                20.0 / area(a)
            } else if inside(b, p) {
                10.0 / area(b)
            } else {
                0.0
            }
        })
        .solved()?;
        Some([
            found.face_at(Side::Top, 20.0 / area(a), [8e-3, 8e-3, 0.0]),
            found.face_at(Side::Top, 10.0 / area(b), [20e-3, 18e-3, 0.0]),
            found.face_mean(Side::Top, 20.0 / area(a), |p| inside(a, p)),
            found.face_mean(Side::Top, 10.0 / area(b), |p| inside(b, p)),
        ])
    };
    let [centre_a, centre_b, mean_a, mean_b] = settled(found);
    table.relative("heat-solid-two-dies-centre-a", ECCENTRIC, 21.0485, centre_a, 1e-2);
    table.relative("heat-solid-two-dies-centre-b", ECCENTRIC, 12.5648, centre_b, 1e-2);
    let (own_a, own_b, mutual) = (0.821_048, 0.711_864, 0.225_749);
    table.relative("heat-solid-two-dies-mean-a", ECCENTRIC, 20.0 * own_a + 10.0 * mutual, mean_a, 5e-3);
    table.relative("heat-solid-two-dies-mean-b", ECCENTRIC, 10.0 * own_b + 20.0 * mutual, mean_b, 5e-3);
}

/// Test boards with all their layers under a package of 35 mm: in air, and with the cooled ring around.
fn boards(table: &mut Table) {
    let body = 35e-3;
    let footprint = [body, body];
    for (id, kind) in [("no-planes", TestBoard::NoPlanes), ("two-planes", TestBoard::TwoPlanes)] {
        let board = board(kind, body);
        let layers: Vec<Sheet> =
            board.layers.iter().map(|l| mixing::sheet(l, 300.0, Pattern::Along)).collect();
        let size = [board.width_m, board.height_m];
        let plate = Plate { face_film: 12.0, ..Plate::on_film(size[0], size[1], layers, 9.0) };
        let modes = Modes::new(&plate, [160, 160], false);
        let middle = size.map(|v| v / 2.0);
        let patch = Patch::rectangle(Rectangle::centred(middle, body, body));
        let [mean, _] = settled(|f| quarter(&plate, footprint, 0.7 * f));
        table.relative(&format!("heat-solid-board-{id}"), BOARDS, modes.mean(&patch, &patch), mean, 5e-3);
    }
    let layers: Vec<Sheet> = board(TestBoard::TwoPlanes, body)
        .layers
        .iter()
        .map(|l| mixing::sheet(l, 300.0, Pattern::Along))
        .collect();
    let size = footprint.map(|v| v + 10e-3);
    let (expected, _) = held_rim(size, footprint, &layers, [0.0; 2]);
    let [mean] = settled(|f| held(size, footprint, &layers, f));
    table.relative("heat-solid-board-ring", RIM, expected, mean, 5e-3);
}

/// A quarter of a plate whose rim is held through all its layers.
fn held(size: [f64; 2], source: [f64; 2], layers: &[Sheet], f: f64) -> Option<[f64; 1]> {
    let thickness: f64 = layers.iter().map(|l| l.thickness).sum();
    let across = |axis: usize| {
        let (half, edge) = (size[axis] / 2.0, source[axis] / 2.0);
        line(&[(0.0, 3e-3), (edge, 0.2e-3), (half, 0.3e-3)], 1.5e-3, f)
    };
    let mut marks = Vec::new();
    let mut z = 0.0;
    for layer in layers.iter().rev() {
        marks.extend([(z, 0.25 * layer.thickness), (z + layer.thickness, 0.25 * layer.thickness)]);
        z += layer.thickness;
    }
    let k = |[_, _, z]: Place| {
        let mut top = thickness;
        for layer in layers {
            top -= layer.thickness;
            if z > top {
                return Some([layer.in_plane, layer.in_plane, layer.through]);
            }
        }
        None
    };
    let under = |[x, y, _]: Place| x < source[0] / 2.0 && y < source[1] / 2.0;
    let flux = 1.0 / (source[0] * source[1]);
    let found: Found = Trial::new([across(0), across(1), line(&marks, 0.2e-3, f)], k)?
        .cooled(|side, _| [if matches!(side, Side::Right | Side::Back) { f64::INFINITY } else { 0.0 }, 0.0])
        .lit(Side::Top, |p| if under(p) { flux } else { 0.0 })
        .solved()?;
    Some([found.face_mean(Side::Top, flux, under)])
}

/// The two plain packages that were solved by finite elements, a quarter of each, 1 W in the volume of the die.
fn packages(table: &mut Table) {
    for (id, lid, mean, largest) in [("bare", false, 17.41, 17.61), ("lidded", true, 15.24, 15.32)] {
        let [found_mean, found_largest] = settled(|f| package(lid, f));
        // What the source gives for its own error.
        table.within(&format!("heat-solid-package-{id}-mean"), ELEMENTS, mean, found_mean, 0.03);
        table.within(&format!("heat-solid-package-{id}-largest"), ELEMENTS, largest, found_largest, 0.03);
    }
}

fn package(lid: bool, f: f64) -> Option<[f64; 2]> {
    // Height, half width, conductivities, from the board up.
    let mut parts = vec![
        (1.6e-3, 50.75e-3, [24.0, 0.40]),
        (0.5e-3, 17.5e-3, [0.05, 8.0]),
        (1.0e-3, 17.5e-3, [24.0, 0.5]),
        (0.08e-3, 5e-3, [0.8, 13.0]),
        (0.75e-3, 5e-3, [120.0, 120.0]),
    ];
    if lid {
        parts.extend([(0.05e-3, 5e-3, [3.0, 3.0]), (2e-3, 17.5e-3, [390.0, 390.0])]);
    }
    let (mut marks, mut tops) = (vec![(0.0, 0.2e-3)], Vec::new());
    let mut z = 0.0;
    for (thickness, _, _) in &parts {
        // Heat turns in thin sheets at the faces of the laminates.
        let fine = 0.025e-3_f64.min(0.5 * thickness);
        marks.extend([(z, fine), (z + thickness, fine)]);
        z += thickness;
        tops.push(z);
    }
    let across = || line(&[(0.0, 1e-3), (5e-3, 0.25e-3), (17.5e-3, 0.5e-3), (50.75e-3, 4e-3)], 4e-3, f);
    let part = |z: f64| tops.iter().position(|top| z < *top);
    let found = Trial::new([across(), across(), line(&marks, 0.4e-3, f)], |[x, y, z]| {
        let (_, half, [plane, through]) = parts[part(z)?];
        (x < half && y < half).then_some([plane, plane, through])
    })?
    .cooled(|side, [_, _, z]| {
        let open = match (side, part(z)) {
            (Side::Bottom, Some(0)) | (Side::Top, Some(0)) => true,
            (Side::Top, Some(2 | 4)) => !lid,
            (Side::Top, Some(6)) => true,
            _ => false,
        };
        [if open { 10.0 } else { 0.0 }, 0.0]
    })
    .heated(|[x, y, z]| if part(z) == Some(4) && x < 5e-3 && y < 5e-3 { 1.0 / (1e-4 * 0.75e-3) } else { 0.0 })
    .solved()?;
    Some(found.over(|[x, y, z]| part(z) == Some(4) && x < 5e-3 && y < 5e-3))
}
