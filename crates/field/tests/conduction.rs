//! Conduction in bodies: exact cases, properties of the operator, pace of the solver, and what is refused.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

mod support;

use facedown_field::NoConvergence;
use facedown_field::conduction::{Body, Cycle, Effort, Field, NoBody, Side, Solution};
use facedown_field::grid::{Grid, Growth, Mark, graded};
use nalgebra::{DMatrix, DVector};
use proptest::prelude::*;
use std::f64::consts::PI;
use support::*;

/// Largest error of the manufactured field `sin(pi x) sin(pi y) sin(pi z)` with conductivities `e^x`, 2 and `3 e^-z`.
fn manufactured(lines: [Vec<f64>; 3]) -> f64 {
    let grid = Grid::new(lines).unwrap();
    let at = |c: [usize; 3]| [0, 1, 2].map(|a| grid.middle(a, c[a]));
    let mut body = body(&grid, |c| {
        let [x, _, z] = at(c);
        Some([x.exp(), 2.0, 3.0 * (-z).exp()])
    });
    films(&mut body, |_| f64::INFINITY);
    let exact = |[x, y, z]: [f64; 3]| (PI * x).sin() * (PI * y).sin() * (PI * z).sin();
    let load = loaded(&body, |c| {
        let [x, y, z] = at(c);
        let (sx, sy, sz) = ((PI * x).sin(), (PI * y).sin(), (PI * z).sin());
        let (cx, cz) = ((PI * x).cos(), (PI * z).cos());
        let along_x = -x.exp() * (PI * cx - PI * PI * sx) * sy * sz;
        let along_y = 2.0 * PI * PI * sx * sy * sz;
        let along_z = -3.0 * (-z).exp() * (-PI * cz - PI * PI * sz) * sx * sy;
        (along_x + along_y + along_z) * grid.volume(c)
    });
    let found = body.solve(&load, None, tight()).unwrap();
    cells(&body)
        .into_iter()
        .map(|c| (body.at(&found.field, c).unwrap() - exact(at(c))).abs())
        .fold(0.0, f64::max)
}

fn order_is_two(lines: impl Fn(usize) -> [Vec<f64>; 3]) {
    let errors = [16, 32, 64].map(|n| manufactured(lines(n)));
    for pair in errors.windows(2) {
        let order = (pair[0] / pair[1]).log2();
        assert!((order - 2.0).abs() < 0.1, "{order} from {errors:?}");
    }
}

#[test]
fn a_manufactured_field_is_met_with_order_two_on_uniform_grids() {
    order_is_two(|n| [uniform(n, 1.0), uniform(n, 1.0), uniform(n, 1.0)]);
}

#[test]
fn a_manufactured_field_is_met_with_order_two_on_graded_grids() {
    // Cells from 0.4 to 1.6 of the mean width, smoothly.
    let bent = |n: usize, shift: f64| -> Vec<f64> {
        let at = |s: f64| s + 0.6 / (2.0 * PI) * ((2.0 * PI * s + shift).sin() - shift.sin());
        (0..=n).map(|i| at(i as f64 / n as f64)).collect()
    };
    order_is_two(|n| [bent(n, 0.0), bent(n, 1.0), bent(n, PI)]);
}

#[test]
fn a_wall_of_layers_is_exact_at_any_number_of_cells() {
    let layers = [(1e-3, 148.0), (1e-6, 0.02), (30e-6, 3.0), (2e-3, 390.0), (0.8e-3, 0.35)];
    let (inner, outer) = (250.0, 8_000.0);
    let (hot, cold) = (90.0, 20.0);
    for axis in 0..3 {
        for counts in [[1, 1, 1, 1, 1], [3, 1, 2, 7, 4], [16, 5, 9, 2, 31]] {
            let (mut line, mut layer_of) = (vec![0.0], Vec::new());
            for (i, ((thickness, _), n)) in layers.iter().zip(counts).enumerate() {
                let from = line[line.len() - 1];
                line.extend((1..=n).map(|k| from + thickness * k as f64 / n as f64));
                layer_of.extend(std::iter::repeat_n(i, n));
            }
            let mut lines = [uniform(3, 0.01), uniform(2, 0.02), uniform(3, 0.01)];
            lines[axis] = line;
            let grid = Grid::new(lines).unwrap();
            let mut body = body(&grid, |c| Some([layers[layer_of[c[axis]]].1; 3]));
            let [near, far] =
                [[Side::Left, Side::Right], [Side::Front, Side::Back], [Side::Bottom, Side::Top]][axis];
            let by_side = |side: Side, at_near: f64, at_far: f64| match side {
                s if s == near => at_near,
                s if s == far => at_far,
                _ => 0.0,
            };
            films(&mut body, |s| by_side(s, inner, outer));
            let sides: Vec<Side> = body.exposed().iter().map(|f| f.side).collect();
            let mut load = body.zero();
            body.add_outside(&mut load, |i| by_side(sides[i], hot, cold));
            let found = body.solve(&load, None, tight()).unwrap();
            let resistance = 1.0 / inner + layers.iter().map(|(t, k)| t / k).sum::<f64>() + 1.0 / outer;
            let flux = (hot - cold) / resistance;
            for cell in cells(&body) {
                let middle = grid.middle(axis, cell[axis]);
                let (mut expected, mut from) = (hot - flux / inner, 0.0);
                for (t, k) in layers {
                    expected -= flux / k * (middle - from).clamp(0.0, t);
                    from += t;
                }
                // Conductances are held in single precision.
                let value = body.at(&found.field, cell).unwrap();
                assert!(
                    (value - expected).abs() < 2e-5,
                    "axis {axis} {counts:?} {cell:?}: {value} {expected}"
                );
            }
            for (i, face) in body.exposed().iter().enumerate() {
                let flow = body.on_face(&found.field, i, by_side(face.side, hot, cold))[1] / face.area;
                assert!((flow - by_side(face.side, -flux, flux)).abs() < 1e-6 * flux, "{flow} {flux}");
            }
        }
    }
}

#[test]
fn the_operator_is_symmetric_and_positive() {
    let body = ragged([13, 10, 9], 5, 1e4);
    let u = loaded(&body, |[x, y, z]| scattered(x + 100 * y + 10_000 * z) - 0.5);
    let v = loaded(&body, |[x, y, z]| scattered(7 + 3 * x + 100 * y + 10_000 * z) - 0.5);
    let (image_u, image_v) = (body.apply(&u), body.apply(&v));
    let (one, other) = (body.inner(&v, &image_u), body.inner(&u, &image_v));
    let size = body.inner(&u, &image_u);
    assert!((one - other).abs() < 1e-13 * size, "{one} {other}");
    assert!(size > 0.0 && body.inner(&v, &image_v) > 0.0);
}

fn heat_out(body: &Body, field: &Field, outside: impl Fn(usize) -> f64) -> f64 {
    (0..body.exposed().len()).map(|i| body.on_face(field, i, outside(i))[1]).sum()
}

#[test]
fn what_goes_in_comes_out() {
    let mut body = ragged([24, 21, 12], 3, 1e3);
    films(&mut body, |s| if s == Side::Left { 3.0 } else { 0.01 });
    let load = loaded(&body, |[x, y, z]| scattered(x + 50 * y + 3000 * z));
    let into: f64 = cells(&body).into_iter().map(|c| body.at(&load, c).unwrap()).sum();
    let found = body.solve(&load, None, tight()).unwrap();
    let out = heat_out(&body, &found.field, |_| 0.0);
    assert!((out / into - 1.0).abs() < 1e-7, "{out} {into}");
    // The residual that is told is the one that is left.
    let image = body.apply(&found.field);
    let rest = loaded(&body, |c| body.at(&load, c).unwrap() - body.at(&image, c).unwrap());
    let left = (body.inner(&rest, &rest) / body.inner(&load, &load)).sqrt();
    assert!(left <= 1.1e-11 && found.residual <= 1e-11, "{left} {}", found.residual);
}

#[test]
fn a_field_lies_between_what_holds_it() {
    let mut body = ragged([17, 15, 8], 11, 1e4);
    films(&mut body, |_| 1.0);
    let outside = |i: usize| 10.0 + 30.0 * scattered(i);
    let mut load = body.zero();
    body.add_outside(&mut load, outside);
    for cycle in [Cycle::Plain, Cycle::Nested] {
        let found = body.solve(&load, None, Effort { cycle, ..tight() }).unwrap();
        for cell in cells(&body) {
            let value = body.at(&found.field, cell).unwrap();
            assert!((10.0 - 1e-6..=40.0 + 1e-6).contains(&value), "{value}");
        }
        let through: f64 =
            (0..body.exposed().len()).map(|i| body.on_face(&found.field, i, outside(i))[1].abs()).sum();
        assert!(heat_out(&body, &found.field, outside).abs() < 1e-7 * through);
    }
    // Heat warms every place.
    let one = loaded(&body, |c| if c[0] == 0 { 1.0 } else { 0.0 });
    let found = body.solve(&one, None, tight()).unwrap();
    assert!(cells(&body).into_iter().all(|c| body.at(&found.field, c).unwrap() > -1e-9));
}

#[test]
fn a_solution_does_not_depend_on_the_number_of_threads() {
    // Well above the size from which work is shared out.
    let solve = |cycle: Cycle| -> Solution {
        let mut body = ragged([61, 57, 40], 1, 1e2);
        films(&mut body, |s| if s == Side::Left { 2.0 } else { 0.05 });
        let load = loaded(&body, |[x, y, z]| scattered(x + 100 * y + 10_000 * z));
        body.solve(&load, None, Effort { cycle, ..Effort::default() }).unwrap()
    };
    for cycle in [Cycle::Plain, Cycle::Nested] {
        let pools = [1, 2, 3].map(|n| rayon::ThreadPoolBuilder::new().num_threads(n).build().unwrap());
        let [one, two, three] = pools.map(|pool| pool.install(|| solve(cycle)));
        assert!(one.steps > 3);
        assert!(one == two && one == three, "{cycle:?}");
    }
}

/// The same finite volumes as a dense matrix, built from the conductivities alone, and its solution.
fn dense(body: &Body, k: impl Fn([usize; 3]) -> [f64; 3], films: &[f64], load: &Field) -> DVector<f64> {
    let grid = body.grid();
    let list = cells(body);
    let index = |c: [usize; 3]| list.iter().position(|o| *o == c);
    let n = list.len();
    let (mut matrix, mut right) = (DMatrix::zeros(n, n), DVector::zeros(n));
    for (i, &cell) in list.iter().enumerate() {
        right[i] = body.at(load, cell).unwrap();
        for axis in 0..3 {
            let mut next = cell;
            next[axis] += 1;
            let Some(j) = index(next) else { continue };
            let area: f64 = (0..3).filter(|a| *a != axis).map(|a| grid.width(a, cell[a])).product();
            let half = |c: [usize; 3]| grid.width(axis, c[axis]) / 2.0 / k(c)[axis];
            let g = area / (half(cell) + half(next));
            for (a, b, s) in [(i, i, g), (j, j, g), (i, j, -g), (j, i, -g)] {
                matrix[(a, b)] += s;
            }
        }
    }
    for (face, film) in body.exposed().iter().zip(films) {
        if *film > 0.0 {
            let axis = match face.side {
                Side::Left | Side::Right => 0,
                Side::Front | Side::Back => 1,
                Side::Bottom | Side::Top => 2,
            };
            let half = grid.width(axis, face.cell[axis]) / 2.0 / k(face.cell)[axis];
            let i = index(face.cell).unwrap();
            matrix[(i, i)] += face.area / (half + 1.0 / film);
        }
    }
    // A positive matrix, or this is not the case that was meant.
    matrix.cholesky().unwrap().solve(&right)
}

/// Whether every cell reaches a face with a film, by walking from neighbour to neighbour.
fn all_reach_a_film(body: &Body, films: &[f64]) -> bool {
    let list = cells(body);
    let cooled = body.exposed().iter().zip(films).filter(|(_, f)| **f > 0.0);
    let mut seen: std::collections::BTreeSet<[usize; 3]> = cooled.map(|(e, _)| e.cell).collect();
    let mut reached: Vec<[usize; 3]> = seen.iter().copied().collect();
    while let Some(at) = reached.pop() {
        for other in &list {
            let apart: usize = (0..3).map(|a| other[a].abs_diff(at[a])).sum();
            if apart == 1 && seen.insert(*other) {
                reached.push(*other);
            }
        }
    }
    seen.len() == list.len()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn small_bodies_agree_with_a_dense_solve(
        count in prop::array::uniform3(1..6_usize),
        seed in 0..1_000_000_usize,
        absent in 0.0..0.4_f64,
        open in 0.02..0.9_f64,
    ) {
        let lines = [0, 1, 2].map(|a| {
            let mut edges = vec![0.0];
            for i in 0..count[a] {
                edges.push(edges[i] + 10.0_f64.powf(2.0 * scattered(seed + 977 * a + i) - 2.0));
            }
            edges
        });
        let grid = Grid::new(lines).unwrap();
        let number = |[x, y, z]: [usize; 3]| seed + 10_000_000 + x + 8 * y + 64 * z;
        let k = |c: [usize; 3]| [0, 1, 2].map(|a| 1e4_f64.powf(scattered(3 * number(c) + a)));
        let medium = Cells(|c| (scattered(11 * number(c)) >= absent).then(|| k(c)));
        let mut body = match Body::new(grid, &medium, MEMORY) {
            Ok(body) => body,
            Err(refusal) => {
                prop_assert_eq!(refusal, NoBody::Empty);
                return Ok(());
            }
        };
        let films: Vec<f64> = (0..body.exposed().len())
            .map(|i| match scattered(seed + 5_000_000 + i) {
                s if s > open => 0.0,
                s if s < 0.1 * open => f64::INFINITY,
                _ => 1e4_f64.powf(scattered(seed + 6_000_000 + i)),
            })
            .collect();
        body.set_ground(&films, None);
        let load = loaded(&body, |c| scattered(13 * number(c)) - 0.3);
        let stranded = body.stranded().is_some();
        prop_assert_eq!(!stranded, all_reach_a_film(&body, &films));
        for cycle in [Cycle::Plain, Cycle::Nested] {
            let found = body.solve(&load, None, Effort { residual: 1e-10, steps: 400, cycle });
            if stranded {
                prop_assert_eq!(found.unwrap_err(), NoConvergence::Singular);
                continue;
            }
            let found = found.unwrap();
            let expected = dense(&body, k, &films, &load);
            let size = expected.amax();
            for (cell, expected) in cells(&body).into_iter().zip(expected.iter()) {
                let value = body.at(&found.field, cell).unwrap();
                // Conductances are held in single precision.
                prop_assert!((value - expected).abs() < 2e-6 * size, "{} {}", value, expected);
            }
        }
    }
}

/// A package under a lid on a board: layer between die and lid, grading of the cells, what disturbs it.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Lidded {
    grading: f64,
    layer_m: f64,
    layer_k: f64,
    patches: f64,
    slot: bool,
    absent: f64,
}

const PLAIN: Lidded =
    Lidded { grading: 1.0, layer_m: 30e-6, layer_k: 3.0, patches: 1.0, slot: false, absent: 0.0 };

fn steps(case: Lidded, cycle: Cycle) -> usize {
    let (mut z, mut tops) = (vec![0.0], Vec::new());
    for (thickness, n) in
        [(1.6e-3, 6), (0.5e-3, 3), (1.2e-3, 6), (80e-6, 2), (0.75e-3, 5), (case.layer_m, 2), (2e-3, 5)]
    {
        let from = z[z.len() - 1];
        z.extend((1..=n).map(|k| from + thickness * k as f64 / n as f64));
        tops.push(from + thickness);
    }
    let line = |board: f64, die: f64| {
        let (fine, coarse) =
            if case.grading > 1.0 { (0.5e-3, 0.5e-3 * case.grading) } else { (1.2e-3, 1.2e-3) };
        let marks: Vec<Mark> = [(board, coarse), (35e-3, fine), (die, fine)]
            .into_iter()
            .flat_map(|(w, spacing)| [-w / 2.0, w / 2.0].map(|at| Mark { at, spacing }))
            .collect();
        graded(&marks, Growth { ratio: 1.3, largest: coarse, nearest: 1e-7 })
    };
    let grid = Grid::new([line(0.1015, 16e-3), line(0.1145, 14e-3), z]).unwrap();
    let at = |c: [usize; 3]| [0, 1, 2].map(|a| grid.middle(a, c[a]));
    let mut body = body(&grid, |cell| {
        if scattered(cell[0] * 7919 + cell[1] * 104_729) < case.absent {
            return None;
        }
        let [x, y, z] = at(cell);
        let slot = case.slot && (x - 2e-3).abs() < 0.6e-3 && y.abs() < 5e-3;
        let patch = ((x / 4e-3).floor() + 40.0) as usize * 31 + ((y / 4e-3).floor() + 40.0) as usize * 977;
        let f = case.patches.powf(scattered(patch) - 0.5);
        let part = tops.iter().position(|top| z < *top).unwrap();
        let ([w, h], k) = match part {
            0 => ([0.1015, 0.1145], [20.0 * f, 20.0 * f, 0.35]),
            1 => ([35e-3, 35e-3], [0.1, 0.1, 8.0]),
            2 => ([35e-3, 35e-3], [30.0 * f, 30.0 * f, 0.6]),
            3 => ([16e-3, 14e-3], [1.0, 1.0, 10.0]),
            4 => ([16e-3, 14e-3], [120.0; 3]),
            5 => ([16e-3, 14e-3], [case.layer_k; 3]),
            _ => ([35e-3, 35e-3], [390.0; 3]),
        };
        let inside = x.abs() < w / 2.0 && y.abs() < h / 2.0;
        (inside && !(slot && part > 2)).then_some(k)
    });
    films(&mut body, |s| if matches!(s, Side::Top | Side::Bottom) { 15.0 } else { 0.0 });
    let heated = grid.holding(2, tops[3] + 1e-7);
    let load = loaded(&body, |c| {
        let [x, y, _] = at(c);
        let inside = x.abs() < 8e-3 && y.abs() < 7e-3 && c[2] == heated;
        if inside { grid.width(0, c[0]) * grid.width(1, c[1]) } else { 0.0 }
    });
    body.solve(&load, None, Effort { cycle, ..Effort::default() }).map_or(usize::MAX, |s| s.steps)
}

#[test]
fn steps_do_not_grow_with_thin_layers_contrast_grading_and_slots() {
    let mut cases = vec![
        PLAIN,
        Lidded { slot: true, ..PLAIN },
        Lidded { slot: true, grading: 30.0, ..PLAIN },
        Lidded { patches: 400.0, ..PLAIN },
        Lidded { patches: 22_500.0, ..PLAIN },
        Lidded { absent: 0.1, ..PLAIN },
    ];
    for grading in [1.0, 30.0] {
        for layer_m in [1e-6, 30e-6, 1e-3] {
            cases.extend([0.02, 400.0].map(|layer_k| Lidded { grading, layer_m, layer_k, ..PLAIN }));
        }
    }
    for case in cases {
        let nested = steps(case, Cycle::Nested);
        assert!(nested <= 20, "{case:?}: {nested}");
        let needed = steps(case, Cycle::AsNeeded);
        // What was watched of the plain cycle is lost, and the step in which it changes.
        assert!(needed <= 20.max(nested + 4), "{case:?}: {needed} as needed, {nested} nested");
        // Layers and grading alone ask for no nested cycle.
        if case == (Lidded { grading: case.grading, layer_m: case.layer_m, layer_k: case.layer_k, ..PLAIN }) {
            let plain = steps(case, Cycle::Plain);
            assert!(plain <= 20, "{case:?}: {plain} of the plain cycle");
        }
    }
}

#[test]
fn a_body_filled_anew_equals_a_new_one() {
    let grid = Grid::new([uniform(30, 1.0), uniform(24, 1.5), uniform(10, 0.1)]).unwrap();
    let exists = |[x, y, z]: [usize; 3]| z < 5 || (x > 6 && x < 20 && y > 5 && y < 18);
    let before = Cells(|c: [usize; 3]| exists(c).then_some([2.0, 2.0, 0.3]));
    // Twice as much everywhere leaves the same lines protected: the same numbers in the same order.
    let twice = Cells(|c: [usize; 3]| exists(c).then_some([4.0, 4.0, 0.6]));
    // Other jumps would protect other lines.
    let jump = |c: [usize; 3]| if c[0] < 12 { [4.0, 1.0, 0.6] } else { [60.0, 1.0, 5.0] };
    let other = Cells(|c: [usize; 3]| exists(c).then_some(jump(c)));
    let answer = |body: &mut Body| {
        films(body, |s| if s == Side::Bottom { 5.0 } else { 0.1 });
        let load = loaded(body, |c| if c[2] == 7 { 1.0 } else { 0.0 });
        body.solve(&load, None, tight()).unwrap()
    };
    let mut body = Body::new(grid.clone(), &before, MEMORY).unwrap();
    let first = answer(&mut body);
    let filling = body.filling(&twice).unwrap();
    body.refill(&filling).unwrap();
    // Until a ground is set there is none.
    assert_eq!(body.stranded(), Some([0, 0, 0]));
    let load = loaded(&body, |_| 1.0);
    assert_eq!(body.solve(&load, None, tight()), Err(NoConvergence::Singular));
    let mut new = Body::new(grid.clone(), &twice, MEMORY).unwrap();
    let (one, two) = (answer(&mut body), answer(&mut new));
    assert!(one == two && one != first);
    assert_eq!(body.exposed(), new.exposed());
    let filling = body.filling(&other).unwrap();
    body.refill(&filling).unwrap();
    let mut new = Body::new(grid, &other, MEMORY).unwrap();
    let (one, two) = (answer(&mut body), answer(&mut new));
    let size = cells(&new).into_iter().map(|c| new.at(&two.field, c).unwrap()).fold(0.0, f64::max);
    assert!(body.apart(&one.field, &two.field) < 1e-8 * size);
    let filling = body.filling(&Cells(|c: [usize; 3]| (c[2] < 5).then_some([1.0; 3])));
    assert_eq!(filling.and_then(|f| body.refill(&f)), Err(NoBody::Changed));
    let filling = body.filling(&Cells(|_| Some([f64::NAN; 3])));
    assert_eq!(filling.map(|_| ()), Err(NoBody::Conductivity([0, 0, 0])));
}

#[test]
fn a_step_in_time_grounds_a_body_without_films() {
    let medium = Cells(|_| Some([1.0; 3]));
    let mut body = Body::new(grid([6, 5, 4]), &medium, MEMORY).unwrap();
    let capacities = body.capacities(&medium);
    let none = vec![0.0; body.exposed().len()];
    body.set_ground(&none, Some((2.0, &capacities)));
    assert_eq!(body.stranded(), None);
    // Heat in proportion to the capacity warms all cells alike.
    let load = loaded(&body, |c| 6.0 * body.grid().volume(c));
    let found = body.solve(&load, None, tight()).unwrap();
    assert!(cells(&body).into_iter().all(|c| (body.at(&found.field, c).unwrap() - 3.0).abs() < 1e-6));
    body.set_ground(&none, Some((0.0, &capacities)));
    assert_eq!(body.stranded(), Some([0, 0, 0]));
}

#[test]
fn bodies_that_cannot_be_are_refused() {
    let with = |k: [f64; 3]| {
        let medium = Cells(move |c: [usize; 3]| Some(if c[0] >= 2 && c[2] == 1 { k } else { [1.0; 3] }));
        Body::new(grid([4, 3, 2]), &medium, MEMORY).map(|b| b.count())
    };
    assert_eq!(with([2.0; 3]), Ok(24));
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e-60, 1e60] {
        for axis in 0..3 {
            let mut k = [1.0; 3];
            k[axis] = bad;
            // Always the same one of them.
            assert_eq!(with(k), Err(NoBody::Conductivity([2, 0, 1])), "{bad} {axis}");
        }
    }
    let empty = Body::new(grid([4, 3, 2]), &Cells(|_| None), MEMORY).map(|b| b.count());
    assert_eq!(empty, Err(NoBody::Empty));
    let large = Body::new(grid([4, 3, 2]), &Cells(|_| Some([1.0; 3])), 2_000).map(|b| b.count());
    assert!(matches!(large, Err(NoBody::TooLarge(needed, 2_000)) if needed > 2_000), "{large:?}");
    // Refused by its size alone, before a single cell is looked at.
    let vast = Grid::new([uniform(5_000, 1.0), uniform(5_000, 1.0), uniform(5_000, 1.0)]).unwrap();
    let refusal = Body::new(vast, &Cells(|_| panic!("looked at")), 1 << 30).map(|b| b.count()).unwrap_err();
    assert!(matches!(refusal, NoBody::TooLarge(needed, _) if needed > 1 << 40));
    assert!(refusal.to_string().ends_with("GB of memory, and 1.1 GB are allowed"), "{refusal}");
}

#[test]
fn numbers_that_are_none_give_no_field() {
    let mut body = body(&grid([5, 4, 3]), |_| Some([1.0; 3]));
    films(&mut body, |_| 1.0);
    for bad in [f64::NAN, f64::INFINITY, 1e200] {
        let load = loaded(&body, |c| if c == [1, 1, 1] { bad } else { 1.0 });
        assert_eq!(body.solve(&load, None, Effort::default()), Err(NoConvergence::NotFinite), "{bad}");
    }
    let load = loaded(&body, |_| 1.0);
    let start = loaded(&body, |_| f64::NAN);
    assert_eq!(body.solve(&load, Some(&start), Effort::default()), Err(NoConvergence::NotFinite));
    for bad in [f64::NAN, -1.0] {
        films(&mut body, |s| if s == Side::Top { bad } else { 1.0 });
        assert_eq!(body.solve(&load, None, Effort::default()), Err(NoConvergence::NotFinite), "{bad}");
    }
    films(&mut body, |_| 1.0);
    let uneven = loaded(&body, |c| scattered(c[0] + 10 * c[1] + 100 * c[2]));
    let hurried = Effort { steps: 2, ..tight() };
    assert_eq!(body.solve(&uneven, None, hurried), Err(NoConvergence::TooSlow));
}

#[test]
fn no_heat_gives_no_rise_from_any_start() {
    let mut body = body(&grid([5, 4, 3]), |_| Some([1.0; 3]));
    films(&mut body, |_| 1.0);
    let found = body.solve(&body.zero(), Some(&loaded(&body, |_| 5.0)), Effort::default()).unwrap();
    assert_eq!(found, Solution { field: body.zero(), steps: 0, residual: 0.0 });
}

#[test]
fn a_start_at_the_solution_takes_no_step() {
    let mut body = ragged([20, 20, 8], 2, 100.0);
    films(&mut body, |_| 0.2);
    let load = loaded(&body, |c| scattered(c[0] + 77 * c[1] + 7777 * c[2]));
    let cold = body.solve(&load, None, tight()).unwrap();
    let warm = body.solve(&load, Some(&cold.field), Effort::default()).unwrap();
    assert_eq!((warm.steps, &warm.field), (0, &cold.field));
}

#[test]
fn pieces_without_a_way_out_have_no_field_even_when_their_heat_adds_up_to_nothing() {
    // Two blocks, apart by a column of nothing; only the left one is cooled.
    let mut body = body(&grid([7, 4, 3]), |[x, _, _]| (x != 3).then_some([1.0; 3]));
    assert_eq!(body.pieces(), 2);
    assert_eq!(body.stranded(), Some([0, 0, 0]));
    // The right block has a left face, too.
    films(&mut body, |s| if s == Side::Left { 1.0 } else { 0.0 });
    assert_eq!(body.stranded(), None);
    let outer = |f: &facedown_field::conduction::Exposed| f.side == Side::Left && f.cell[0] == 0;
    let films: Vec<f64> = body.exposed().iter().map(|f| if outer(f) { 1.0 } else { 0.0 }).collect();
    body.set_ground(&films, None);
    assert_eq!(body.stranded(), Some([4, 0, 0]));
    let balanced = loaded(&body, |c| match c {
        [4, 0, 0] => 1.0,
        [6, 3, 2] => -1.0,
        _ => 0.0,
    });
    let heated = loaded(&body, |_| 1.0);
    for (load, cycle) in [(&balanced, Cycle::Plain), (&balanced, Cycle::Nested), (&heated, Cycle::Plain)] {
        let found = body.solve(load, None, Effort { cycle, ..Effort::default() });
        assert_eq!(found, Err(NoConvergence::Singular));
    }
}
