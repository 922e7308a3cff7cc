//! Writes `crates/underfill/data/unit-cells.csv`: permeability of unit cells by Stokes flow in space.
//!
//! `cargo xtask cells` runs it. With the four words
//! `square | hexagonal`, `cylinder | sphere`, diameter over pitch, gap over pitch it solves that cell on three meshes.

use facedown_field::NoConvergence;
use facedown_underfill::flow::unit_cell::{Bricks, UnitCell, Way};
use facedown_underfill::problem::{BumpShape, Lattice};
use std::io::Write;

const TIGHT: [f64; 13] = [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.65, 0.7, 0.75, 0.8, 0.84, 0.87, 0.9];
const SLENDER: [f64; 10] = [0.05, 0.1, 0.15, 0.22, 0.32, 0.46, 0.68, 1.0, 1.5, 2.2];
const THREADS: usize = 4;
/// Gap over diameter of truncated spheres.
const LOW: [f64; 8] = [0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.95];

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let lattices = [("square", Lattice::Square), ("hexagonal", Lattice::Hexagonal)];
    let shapes = [("cylinder", BumpShape::Cylinder), ("sphere", BumpShape::TruncatedSphere)];
    if let [lattice, shape, tight, slender] = &words[..] {
        let lattice = lattices.iter().find(|l| l.0 == lattice).ok_or("square or hexagonal")?.1;
        let shape = shapes.iter().find(|s| s.0 == shape).ok_or("cylinder or sphere")?.1;
        let cell = UnitCell { lattice, shape, tight: tight.parse()?, slender: slender.parse()? };
        for bricks in [Bricks::COARSE, Bricks::TABLE, Bricks::FINE] {
            let (k, flow) = cell.permeability(bricks, Way::Along)?;
            let share = 12.0 * k / (cell.slender * cell.slender);
            println!(
                "{bricks:?} 12K/h2 {share:.6} plane {:.6e} unknowns {} steps {} imbalance {:.1e}",
                cell.plane(bricks, Way::Along)?,
                flow.unknowns,
                flow.steps,
                flow.imbalance
            );
        }
        return Ok(());
    }
    let mut out = std::io::stdout().lock();
    let [outwards, around, upwards] = Bricks::TABLE.0;
    writeln!(
        out,
        "# Permeability K of a gap h with bumps: steady Stokes flow in the unit cell between no-slip plates."
    )?;
    writeln!(
        out,
        "# Written by the example `unit_cells` of facedown-underfill; how it is solved: flow/unit_cell.rs."
    )?;
    writeln!(
        out,
        "# Quadratic velocities on {outwards} bricks outwards, {around} around a quarter, {upwards} to a plate; `error`: difference to"
    )?;
    writeln!(
        out,
        "# a coarser mesh (4, 6, 3), an upper bound. tight: largest diameter over pitch; slender: gap over pitch of"
    )?;
    writeln!(out, "# cylinders, gap over diameter of truncated spheres; share: 12 K / h^2.")?;
    writeln!(out, "lattice,shape,tight,slender,share,error")?;
    let mut rows = Vec::new();
    for (lattice_name, lattice) in lattices {
        for (shape_name, shape) in shapes {
            let heights = if shape == BumpShape::Cylinder { &SLENDER[..] } else { &LOW[..] };
            for tight in TIGHT {
                for &height in heights {
                    let slender = if shape == BumpShape::Cylinder { height } else { height * tight };
                    let name = format!("{lattice_name},{shape_name},{tight},{height}");
                    rows.push((name, UnitCell { lattice, shape, tight, slender }));
                }
            }
        }
    }
    // Cells are independent; each thread takes every fourth.
    let parts: Vec<Vec<Result<(f64, f64), NoConvergence>>> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..THREADS)
            .map(|k| {
                let rows = &rows;
                scope.spawn(move || {
                    rows.iter().skip(k).step_by(THREADS).map(|(_, cell)| both(*cell)).collect()
                })
            })
            .collect();
        threads.into_iter().filter_map(|t| t.join().ok()).collect()
    });
    for (i, (name, _)) in rows.iter().enumerate() {
        let (share, error) =
            parts.get(i % THREADS).and_then(|p| p.get(i / THREADS)).copied().ok_or("a thread was lost")??;
        writeln!(out, "{name},{share:.6},{error:.1e}")?;
    }
    Ok(())
}

fn both(cell: UnitCell) -> Result<(f64, f64), NoConvergence> {
    let share = cell.share(Bricks::TABLE)?;
    Ok((share, (cell.share(Bricks::COARSE)? / share - 1.0).abs()))
}
