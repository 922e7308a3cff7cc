//! Bodies for the tests of conduction.

use facedown_field::conduction::{Body, Effort, Field, Medium, Side};
use facedown_field::grid::Grid;

pub const MEMORY: u64 = 4 << 30;

/// A medium from a function of the cell.
pub struct Cells<F>(pub F);

impl<F: Fn([usize; 3]) -> Option<[f64; 3]> + Sync> Medium for Cells<F> {
    fn conductivity(&self, cell: [usize; 3]) -> Option<[f64; 3]> {
        self.0(cell)
    }

    fn capacity(&self, _: [usize; 3]) -> f64 {
        1.0
    }
}

pub fn uniform(n: usize, length: f64) -> Vec<f64> {
    (0..=n).map(|i| length * i as f64 / n as f64).collect()
}

/// A unit cube.
pub fn grid(cells: [usize; 3]) -> Grid {
    Grid::new(cells.map(|n| uniform(n, 1.0))).unwrap()
}

pub fn body(grid: &Grid, k: impl Fn([usize; 3]) -> Option<[f64; 3]> + Sync) -> Body {
    Body::new(grid.clone(), &Cells(k), MEMORY).unwrap()
}

/// Sets a film by side.
pub fn films(body: &mut Body, film: impl Fn(Side) -> f64) {
    let films: Vec<f64> = body.exposed().iter().map(|f| film(f.side)).collect();
    body.set_ground(&films, None);
}

/// All cells that exist.
pub fn cells(body: &Body) -> Vec<[usize; 3]> {
    let [nx, ny, nz] = body.grid().cells();
    let all = (0..nz).flat_map(|z| (0..ny).flat_map(move |y| (0..nx).map(move |x| [x, y, z])));
    let zero = body.zero();
    all.filter(|c| body.at(&zero, *c).is_some()).collect()
}

pub fn loaded(body: &Body, heat: impl Fn([usize; 3]) -> f64) -> Field {
    let mut load = body.zero();
    for cell in cells(body) {
        assert!(body.add_at(&mut load, cell, heat(cell)));
    }
    load
}

/// A number from 0 to 1 that looks random (the mixing of splitmix64).
pub fn scattered(seed: usize) -> f64 {
    let mut x = (seed as u64).wrapping_add(1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    x = (x ^ (x >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    x = (x ^ (x >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    ((x ^ (x >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
}

pub fn tight() -> Effort {
    Effort { residual: 1e-11, ..Effort::default() }
}

/// A body with holes, anisotropic conductivities of that contrast, and a film on every second face.
pub fn ragged(count: [usize; 3], seed: usize, contrast: f64) -> Body {
    let lines = [0, 1, 2].map(|a| {
        let mut edges = vec![0.0];
        for i in 0..count[a] {
            edges.push(edges[i] + 0.2 + scattered(seed + 977 * a + i));
        }
        edges
    });
    let grid = Grid::new(lines).unwrap();
    let mut body = body(&grid, |[x, y, z]| {
        let own = seed + 31 * x + 1009 * y + 10_007 * z;
        let k = [0, 1, 2].map(|a| contrast.powf(scattered(3 * own + a) - 0.5));
        (scattered(7 * own) > 0.15 || x == 0).then_some(k)
    });
    let films: Vec<f64> =
        (0..body.exposed().len()).map(|i| if i % 2 == 0 { 0.1 + scattered(i) } else { 0.0 }).collect();
    body.set_ground(&films, None);
    body
}
