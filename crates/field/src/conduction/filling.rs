//! Conductivities of the cells of a body in its own order, and the finite volumes that follow from them.

use super::body::{Exposed, Medium, NoBody, Side};
use super::couplings::{Couplings, Pair, zeros};
use super::strips::{Strips, rows, rows_of_two};
use crate::grid::Grid;
use rayon::prelude::*;

/// Change of the conduction in the plane, over the smaller side's, beyond which a line between columns is protected.
const JUMP: f64 = 1.0;

/// The sides of a cell by axis, the smaller one first.
const SIDES: [[Side; 2]; 3] =
    [[Side::Left, Side::Right], [Side::Front, Side::Back], [Side::Bottom, Side::Top]];

/// What fills the cells of a body: conductivities along x, y and z, W/(m K).
#[derive(Debug, Clone)]
pub struct Filling {
    /// By colour; zeros where nothing is.
    cells: Pair<[f32; 3]>,
}

/// First existing cell along x and the one after the last, by y and z.
pub(super) fn spans(cells: [usize; 3], medium: &impl Medium) -> Result<Vec<[usize; 2]>, NoBody> {
    let [nx, ny, nz] = cells;
    let row = |y: usize| -> Vec<[usize; 2]> {
        (0..nz)
            .map(|z| {
                let exists = |x: &usize| medium.conductivity([*x, y, z]).is_some();
                let Some(first) = (0..nx).find(exists) else { return [0, 0] };
                [first, (first..nx).rev().find(exists).map_or(first, |x| x + 1)]
            })
            .collect()
    };
    let rows: Vec<_> = (0..ny).into_par_iter().map(row).collect();
    Ok(rows.concat())
}

impl Filling {
    pub(super) fn new(strips: &Strips, medium: &impl Medium) -> Result<Filling, NoBody> {
        let mut cells: Pair<[f32; 3]> = zeros(strips);
        let wrong = std::sync::Mutex::new(None);
        for (colour, cells) in cells.iter_mut().enumerate() {
            rows(strips, colour, cells, &|y, sheet| {
                for z in 0..strips.cells[2] {
                    for (x, at) in strips.along(colour, y, z) {
                        let Some(k) = medium.conductivity([x, y, z]) else { continue };
                        let k = k.map(|k| k as f32);
                        if !k.iter().all(|k| *k > 0.0 && k.is_normal()) {
                            if let Ok(mut wrong) = wrong.lock() {
                                // The first one, whichever thread comes first.
                                let first = wrong.unwrap_or([usize::MAX; 3]);
                                *wrong = Some(first.min([x, y, z]));
                            }
                            continue;
                        }
                        sheet[at - strips.row(colour, y)] = k;
                    }
                }
                0.0
            });
        }
        match wrong.into_inner() {
            Ok(None) => Ok(Filling { cells }),
            Ok(Some(cell)) => Err(NoBody::Conductivity(cell)),
            Err(_) => Err(NoBody::Empty),
        }
    }

    fn at(&self, strips: &Strips, cell: [usize; 3]) -> [f32; 3] {
        strips.place(cell).map_or([0.0; 3], |(c, i)| self.cells[c][i])
    }

    /// By colour, one bit a place: set where a cell exists.
    pub(super) fn exists(&self) -> Pair<u64> {
        [0, 1].map(|c| {
            let word = |cells: &[[f32; 3]]| {
                cells.iter().enumerate().fold(0, |w, (i, k)| w | u64::from(k[0] > 0.0) << i)
            };
            self.cells[c].chunks(64).map(word).collect()
        })
    }

    /// Conductances from every cell to the next along the axes, without a ground.
    pub(super) fn couplings(&self, grid: &Grid, strips: &Strips) -> Couplings {
        let cells = grid.cells();
        let mut couplings =
            Couplings { x: zeros(strips), y: zeros(strips), z: zeros(strips), ground: zeros(strips) };
        let widths = [0, 1, 2].map(|a| (0..cells[a]).map(|i| grid.width(a, i)).collect::<Vec<f64>>());
        for colour in 0..2 {
            let toward = |axis: usize, own: f32, cell: [usize; 3]| -> f32 {
                let mut next = cell;
                next[axis] += 1;
                if own == 0.0 || next[axis] >= cells[axis] {
                    return 0.0;
                }
                let other = self.at(strips, next)[axis];
                if other == 0.0 {
                    return 0.0;
                }
                let area: f64 = (0..3).filter(|a| *a != axis).map(|a| widths[a][cell[a]]).product();
                let half = |k: f32, i: usize| 0.5 * widths[axis][i] / f64::from(k);
                (area / (half(own, cell[axis]) + half(other, next[axis]))) as f32
            };
            let own = &self.cells[colour];
            rows_of_two(
                strips,
                (colour, &mut couplings.x[colour]),
                (colour, &mut couplings.y[colour]),
                &|y, along_x, along_y| {
                    for z in 0..cells[2] {
                        for (x, place) in strips.along(colour, y, z) {
                            let at = place - strips.row(colour, y);
                            along_x[at] = toward(0, own[place][0], [x, y, z]);
                            along_y[at] = toward(1, own[place][1], [x, y, z]);
                        }
                    }
                    0.0
                },
            );
            rows(strips, colour, &mut couplings.z[colour], &|y, sheet| {
                for z in 0..cells[2] {
                    for (x, place) in strips.along(colour, y, z) {
                        sheet[place - strips.row(colour, y)] = toward(2, own[place][2], [x, y, z]);
                    }
                }
                0.0
            });
        }
        couplings
    }

    /// Lines between columns across which the conduction in the plane, summed over the height, jumps, for x and y. A
    /// layer that jumps but carries little in the plane, such as joints in air, does not count.
    pub(super) fn protected(&self, grid: &Grid, strips: &Strips) -> [Vec<bool>; 2] {
        let [nx, ny, nz] = strips.cells;
        // In-plane conduction of a column with its neighbour's: own sum, neighbour's sum, sum of the differences.
        let jumps = |axis: usize, cell: [usize; 2], next: [usize; 2]| {
            let mut sums = [0.0_f64; 3];
            for z in 0..nz {
                let own = f64::from(self.at(strips, [cell[0], cell[1], z])[axis]);
                let other = f64::from(self.at(strips, [next[0], next[1], z])[axis]);
                let height = grid.width(2, z);
                sums[0] += own * height;
                sums[1] += other * height;
                sums[2] += (own - other).abs() * height;
            }
            sums[2] > JUMP * sums[0].min(sums[1])
        };
        let row = |y: usize| {
            let along_x: Vec<bool> =
                (0..nx.saturating_sub(1)).map(|x| jumps(0, [x, y], [x + 1, y])).collect();
            let along_y = y + 1 < ny && (0..nx).any(|x| jumps(1, [x, y], [x, y + 1]));
            (along_x, along_y)
        };
        let rows: Vec<(Vec<bool>, bool)> = (0..ny).into_par_iter().map(row).collect();
        let along_x = (0..nx.saturating_sub(1)).map(|x| rows.iter().any(|r| r.0[x])).collect();
        let along_y = rows.iter().take(ny.saturating_sub(1)).map(|r| r.1).collect();
        [along_x, along_y]
    }

    /// Resistance from the middle of a cell to one of its sides, K/W.
    pub(super) fn half(
        &self,
        grid: &Grid,
        cell: [usize; 3],
        side: Side,
        (colour, place): (usize, usize),
        area: f64,
    ) -> f64 {
        let axis = SIDES.iter().position(|s| s.contains(&side)).unwrap_or(0);
        0.5 * grid.width(axis, cell[axis]) / (f64::from(self.cells[colour][place][axis]) * area)
    }

    /// Faces of cells with nothing beyond: by row, then height, then along the row, then side.
    pub(super) fn exposed(&self, grid: &Grid, strips: &Strips) -> Vec<Exposed> {
        let cells = grid.cells();
        let row = |y: usize| {
            let mut out = Vec::new();
            for z in 0..cells[2] {
                let [from, end] = strips.span(y, z);
                for x in from..end {
                    let cell = [x, y, z];
                    let Some(place) = strips.place(cell) else { continue };
                    if self.cells[place.0][place.1][0] == 0.0 {
                        continue;
                    }
                    for (axis, sides) in SIDES.iter().enumerate() {
                        for (up, side) in sides.iter().enumerate() {
                            let mut next = cell;
                            next[axis] = if up == 1 { cell[axis] + 1 } else { cell[axis].wrapping_sub(1) };
                            if next[axis] < cells[axis] && self.at(strips, next)[axis] > 0.0 {
                                continue;
                            }
                            let area: f64 =
                                (0..3).filter(|a| *a != axis).map(|a| grid.width(a, cell[a])).product();
                            let half = self.half(grid, cell, *side, place, area);
                            out.push(Exposed { cell, side: *side, area, half, place });
                        }
                    }
                }
            }
            out
        };
        let rows: Vec<_> = (0..cells[1]).into_par_iter().map(row).collect();
        rows.concat()
    }
}
