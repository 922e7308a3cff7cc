//! Permeability by the table of solved unit cells: what a design asks for.
//!
//! `data/unit-cells.csv` holds `12 K / h^2` of cells with cylinders and with truncated spheres, solved by [`super::unit_cell`]. What
//! is interpolated is the logarithm of its ratio to the closed form ([`Cell::permeability`]; of a truncated sphere, the
//! cylinder of equal volume): the closed form has the steep part, the ratio is smooth and near one. Cubic through the four
//! nearest entries along each axis. Beyond the table the closed form goes on with the ratio of its edge (for slim bumps with one that tends to one), and a
//! sentence says so; the permeability is continuous there.

use super::permeability::Cell;
use super::pressure::Bump;
use crate::problem::{BumpShape, Lattice};
use std::sync::OnceLock;

/// Numerical error of the table and of the interpolation in it, as a share; the tests hold it against cells between the entries.
pub const ERROR: f64 = 3e-3;

/// The permeability of a cell.
#[derive(Debug, Clone, PartialEq)]
pub struct Permeability {
    /// Over the superficial velocity, m2.
    pub solved_m2: f64,
    /// By the closed form, m2; joints that are no cylinders as cylinders of equal volume.
    pub hand_m2: f64,
    /// A sentence where the cell lies outside of the range in which the closed form was fitted.
    pub hand_outside: Option<String>,
    /// A sentence where the cell lies outside of the table.
    pub outside: Option<String>,
}

impl Bump {
    /// Permeability of the cell; nothing where a truncated sphere is lower than the gap.
    pub fn permeability(self) -> Option<Permeability> {
        let cylinder = self.equal_cylinder()?;
        let hand_m2 = cylinder.permeability();
        let (tight, height) = self.shape_ratios();
        let grid = grid(self.cell.lattice, self.shape);
        let outside = grid.outside(tight, height, self.shape);
        let solved_m2 = hand_m2 * grid.ratio(tight, height);
        Some(Permeability { solved_m2, hand_m2, hand_outside: cylinder.outside(), outside })
    }

    /// Permeability alone, m2: for many cells in a row.
    pub fn permeability_m2(self) -> Option<f64> {
        let (tight, height) = self.shape_ratios();
        let ratio = grid(self.cell.lattice, self.shape).ratio(tight, height);
        Some(ratio * self.equal_cylinder()?.permeability())
    }

    /// Diameter over pitch and the table's measure of height.
    fn shape_ratios(self) -> (f64, f64) {
        let Cell { pitch_m, diameter_m, gap_m, .. } = self.cell;
        let height = match self.shape {
            BumpShape::Cylinder => gap_m / pitch_m,
            BumpShape::TruncatedSphere => gap_m / diameter_m,
        };
        (diameter_m / pitch_m, height)
    }
}

/// One lattice and shape: log ratios over two axes.
#[derive(Debug)]
struct Grid {
    tight: Vec<f64>,
    /// Gap over pitch of cylinders, gap over diameter of truncated spheres.
    height: Vec<f64>,
    /// Of solved to closed form, height fastest.
    log_ratio: Vec<f64>,
}

impl Grid {
    fn ratio(&self, tight: f64, height: f64) -> f64 {
        let (rows, across) = weights(&self.tight, tight, |t| t);
        let (columns, along) = weights(&self.height, height, f64::ln);
        let mut sum = 0.0;
        for (i, a) in across.iter().enumerate() {
            for (j, b) in along.iter().enumerate() {
                sum += a * b * self.log_ratio[(rows + i) * self.height.len() + columns + j];
            }
        }
        // Slim bumps: the closed form is right in the limit, and its error goes with their share of the plan.
        (sum * (tight / self.tight[0]).min(1.0).powi(2)).exp()
    }

    fn outside(&self, tight: f64, height: f64, shape: BumpShape) -> Option<String> {
        let ends = |axis: &[f64]| (axis[0], axis[axis.len() - 1]);
        let ((a, b), (low, high)) = (ends(&self.tight), ends(&self.height));
        let beyond = |x: f64, (low, high): (f64, f64)| x < low * (1.0 - 1e-9) || x > high * (1.0 + 1e-9);
        if beyond(tight, (a, b)) {
            return Some(format!(
                "The bumps take {:.0} % of their pitch; the permeability is solved from {:.0} to {:.0} % and carried on by its closed \
                 form.",
                100.0 * tight,
                100.0 * a,
                100.0 * b
            ));
        }
        let of = match shape {
            BumpShape::Cylinder => "pitch",
            BumpShape::TruncatedSphere => "diameter of the bumps",
        };
        beyond(height, (low, high)).then(|| {
            format!(
                "The gap is {height:.2} of the {of}; the permeability is solved from {low} to {high} and carried on by its closed form."
            )
        })
    }
}

/// First of the four nearest entries and their weights; beyond an end, the end's own value.
fn weights(axis: &[f64], x: f64, measure: impl Fn(f64) -> f64) -> (usize, [f64; 4]) {
    let x = x.clamp(axis[0], axis[axis.len() - 1]);
    let below = axis.partition_point(|a| *a <= x);
    let first = below.saturating_sub(2).min(axis.len() - 4);
    let (x, at) = (measure(x), |k: usize| measure(axis[first + k]));
    let weight = |i: usize| (0..4).filter(|j| *j != i).map(|j| (x - at(j)) / (at(i) - at(j))).product();
    (first, std::array::from_fn(weight))
}

fn grid(lattice: Lattice, shape: BumpShape) -> &'static Grid {
    static GRIDS: OnceLock<Vec<Grid>> = OnceLock::new();
    let grids = GRIDS.get_or_init(|| {
        let rows = rows();
        KINDS.map(|(lattice, shape)| of_rows(&rows, lattice, shape)).into()
    });
    &grids[2 * usize::from(lattice == Lattice::Hexagonal) + usize::from(shape == BumpShape::TruncatedSphere)]
}

/// In the order of [`grid`].
const KINDS: [(Lattice, BumpShape); 4] = [
    (Lattice::Square, BumpShape::Cylinder),
    (Lattice::Square, BumpShape::TruncatedSphere),
    (Lattice::Hexagonal, BumpShape::Cylinder),
    (Lattice::Hexagonal, BumpShape::TruncatedSphere),
];

/// A line of the file.
struct Row {
    kind: (Lattice, BumpShape),
    tight: f64,
    height: f64,
    share: f64,
    #[cfg_attr(not(test), expect(dead_code, reason = "tests hold the file's errors against `ERROR`"))]
    error: f64,
}

/// The shipped file; a test holds that every line of it is read.
fn rows() -> Vec<Row> {
    let row = |line: &str| {
        let words: Vec<&str> = line.split(',').collect();
        let lattice = if words.first()? == &"square" { Lattice::Square } else { Lattice::Hexagonal };
        let shape =
            if words.get(1)? == &"cylinder" { BumpShape::Cylinder } else { BumpShape::TruncatedSphere };
        let number = |k: usize| words.get(k)?.parse::<f64>().ok();
        Some(Row {
            kind: (lattice, shape),
            tight: number(2)?,
            height: number(3)?,
            share: number(4)?,
            error: number(5)?,
        })
    };
    include_str!("../../data/unit-cells.csv").lines().filter_map(row).collect()
}

fn of_rows(rows: &[Row], lattice: Lattice, shape: BumpShape) -> Grid {
    let own: Vec<&Row> = rows.iter().filter(|r| r.kind == (lattice, shape)).collect();
    let axis = |of: fn(&Row) -> f64| {
        let mut values: Vec<f64> = own.iter().map(|r| of(r)).collect();
        values.sort_by(f64::total_cmp);
        values.dedup();
        values
    };
    let log_ratio = own
        .iter()
        .map(|r| {
            let gap_m = if shape == BumpShape::Cylinder { r.height } else { r.height * r.tight };
            let bump = Bump { cell: Cell { lattice, pitch_m: 1.0, diameter_m: r.tight, gap_m }, shape };
            // Entries of spheres are no higher than their gap; one that were would count as a cylinder.
            let hand = bump.equal_cylinder().unwrap_or(bump.cell).permeability();
            (r.share * gap_m * gap_m / (12.0 * hand)).ln()
        })
        .collect();
    Grid { tight: axis(|r| r.tight), height: axis(|r| r.height), log_ratio }
}

#[cfg(test)]
mod tests {
    use super::super::unit_cell::{Bricks, UnitCell};
    use super::*;

    #[test]
    fn every_line_of_the_file_is_an_entry_of_a_full_grid() {
        let rows = rows();
        let lines = include_str!("../../data/unit-cells.csv").lines().filter(|l| !l.starts_with('#')).count();
        assert_eq!(rows.len() + 1, lines);
        let mut entries = 0;
        for (lattice, shape) in KINDS {
            let g = grid(lattice, shape);
            assert!(g.tight.len() >= 4 && g.height.len() >= 4);
            assert_eq!(g.log_ratio.len(), g.tight.len() * g.height.len());
            assert!(g.log_ratio.iter().all(|l| l.is_finite()));
            entries += g.log_ratio.len();
        }
        assert_eq!(entries, rows.len());
        assert!(rows.iter().all(|r| r.share > 0.0 && r.share < 1.0 && r.error.is_finite()));
        // Entries stand in the order of the grid.
        let g = grid(Lattice::Square, BumpShape::Cylinder);
        let order = rows.iter().take(g.log_ratio.len()).enumerate();
        assert!(
            order
                .into_iter()
                .all(|(k, r)| r.tight == g.tight[k / g.height.len()]
                    && r.height == g.height[k % g.height.len()])
        );
    }

    #[test]
    fn cells_between_the_entries_are_met() {
        use BumpShape::{Cylinder, TruncatedSphere};
        use Lattice::{Hexagonal, Square};
        for (lattice, shape, tight, slender) in [
            (Square, Cylinder, 0.5, 1.0 / 3.0),
            (Square, Cylinder, 0.15, 0.07),
            (Square, Cylinder, 0.885, 0.27),
            (Square, Cylinder, 0.67, 1.8),
            (Hexagonal, Cylinder, 0.25, 0.8),
            (Hexagonal, Cylinder, 0.82, 0.39),
            (Square, TruncatedSphere, 0.55, 0.4),
            (Square, TruncatedSphere, 0.885, 0.75),
            (Hexagonal, TruncatedSphere, 0.35, 0.15),
        ] {
            let share = UnitCell { lattice, shape, tight, slender }.share(Bricks::TABLE).unwrap();
            let cell = Cell { lattice, pitch_m: 1e-4, diameter_m: tight * 1e-4, gap_m: slender * 1e-4 };
            let found = Bump { cell, shape }.permeability().unwrap();
            let read = 12.0 * found.solved_m2 / (cell.gap_m * cell.gap_m);
            assert!(found.outside.is_none());
            // Of the stated error a third is left to the interpolation; the mesh has the rest.
            assert!(
                (read / share - 1.0).abs() < ERROR / 3.0,
                "{lattice:?} {shape:?} {tight} {slender}: {read} {share}"
            );
        }
    }

    proptest::proptest! {
        #[test]
        fn bumps_resist_everywhere_and_beyond_the_table_it_is_said(
            tight in 0.02..0.97_f64, height in 0.02..1.0_f64, hexagonal: bool, sphere: bool,
        ) {
            let lattice = if hexagonal { Lattice::Hexagonal } else { Lattice::Square };
            let shape = if sphere { BumpShape::TruncatedSphere } else { BumpShape::Cylinder };
            let gap_m = 1e-4 * height * if sphere { tight } else { 1.0 };
            let bump = |t: f64| Bump { cell: Cell { lattice, pitch_m: 1e-4, diameter_m: t * 1e-4, gap_m }, shape };
            let found = bump(tight).permeability().unwrap();
            let more = bump(1.02 * tight).permeability_m2().unwrap();
            proptest::prop_assert!(found.solved_m2 > more && more > 0.0 && found.solved_m2 < gap_m * gap_m / 12.0);
            let inside = (0.1..=0.9).contains(&tight) && (if sphere { 0.1..=0.95 } else { 0.05..=2.2 }).contains(&height);
            proptest::prop_assert_eq!(found.outside.is_none(), inside);
            proptest::prop_assert_eq!(bump(tight).permeability_m2(), Some(found.solved_m2));
        }
    }
}
