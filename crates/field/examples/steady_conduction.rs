//! A hot square on a plate of two layers over a film, steady: by the multigrid of columns on three grids.
//!
//! 40 x 40 mm, 2 mm of 390 W/(m K) on 1 mm of 20 W/(m K), 10 W into 15 x 15 mm of its upper face, 2000 W/(m2 K) below.
//! Prints cells, steps of the solver, mean and largest rise under the square, and the heat that leaves; the heat is 10 W
//! on every grid and the mean settles near 4.56 K.

use facedown_field::conduction::{Body, Effort, Medium, Side};
use facedown_field::grid::{Grid, Growth, Mark, graded};

struct Plate {
    grid: Grid,
}

impl Medium for Plate {
    fn conductivity(&self, [_, _, z]: [usize; 3]) -> Option<[f64; 3]> {
        Some([if self.grid.middle(2, z) < 1e-3 { 20.0 } else { 390.0 }; 3])
    }
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    for finest in [0.8e-3, 0.4e-3, 0.2e-3] {
        let line = || {
            let marks = [(-20e-3, 4.0 * finest), (-7.5e-3, finest), (7.5e-3, finest), (20e-3, 4.0 * finest)];
            let marks = marks.map(|(at, spacing)| Mark { at, spacing });
            graded(&marks, Growth { ratio: 1.3, largest: 2e-3, nearest: 1e-7 })
        };
        // A whole number of cells in either layer.
        let through = 3 * (1.6e-3 / finest).round() as usize;
        let up = (0..=through).map(|i| 3e-3 * i as f64 / through as f64).collect();
        let grid = Grid::new([line(), line(), up])?;
        let plate = Plate { grid: grid.clone() };
        let mut body = Body::new(grid.clone(), &plate, 1 << 30)?;
        let film = |side: Side| if side == Side::Bottom { 2000.0 } else { 0.0 };
        let films: Vec<f64> = body.exposed().iter().map(|face| film(face.side)).collect();
        body.set_ground(&films, None);

        let [nx, ny, nz] = grid.cells();
        let heated: Vec<[usize; 3]> = (0..ny)
            .flat_map(|y| (0..nx).map(move |x| [x, y, nz - 1]))
            .filter(|c| (0..2).all(|axis| grid.middle(axis, c[axis]).abs() < 7.5e-3))
            .collect();
        let area = |c: &[usize; 3]| grid.width(0, c[0]) * grid.width(1, c[1]);
        let whole: f64 = heated.iter().map(area).sum();
        let mut load = body.zero();
        for cell in &heated {
            body.add_at(&mut load, *cell, 10.0 * area(cell) / whole);
        }
        let solution = body.solve(&load, None, Effort::default())?;

        // From the middle of the uppermost cells to their face the heat has half a cell to go.
        let half = |c: &[usize; 3]| 10.0 / whole * grid.width(2, c[2]) / 2.0 / 390.0;
        let rise = |c: &[usize; 3]| body.at(&solution.field, *c).unwrap_or(0.0) + half(c);
        let mean = heated.iter().map(|c| area(c) * rise(c)).sum::<f64>() / whole;
        let largest = heated.iter().map(rise).fold(0.0, f64::max);
        let out: f64 = (0..body.exposed().len()).map(|i| body.on_face(&solution.field, i, 0.0)[1]).sum();
        println!(
            "{:7} cells, {:2} steps: mean {mean:.4} K, largest {largest:.4} K, {out:.6} W leave",
            body.count(),
            solution.steps
        );
    }
    Ok(())
}
