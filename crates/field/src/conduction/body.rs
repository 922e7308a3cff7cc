//! The body in which heat, or anything that spreads like it, is conducted: cells of a grid with their conductivities,
//! its exposed faces, and the finite volumes made from both.
//!
//! Two-point fluxes between cell centres (S. V. Patankar, Numerical Heat Transfer and Fluid Flow, 1980, section 4.2-3):
//! the halves of two cells in series. A wall of layers is exact at any number of cells, the matrix has the discrete
//! maximum principle, and a column of cells is tridiagonal. See `docs/conduction.md` for the comparison with bricks.

use super::couplings::{Couplings, Pair, zeros};
use super::hierarchy::Hierarchy;
use super::level::Level;
use super::strips::{Strips, rows, rows_of_two};
use crate::grid::Grid;

/// What fills the cells of a grid.
pub trait Medium: Sync {
    /// Conductivity of a cell along x, y and z, W/(m K), all above zero; `None` where nothing is.
    fn conductivity(&self, cell: [usize; 3]) -> Option<[f64; 3]>;

    /// Heat that a cell takes up for each volume and kelvin, J/(m3 K). Asked for transients only.
    fn capacity(&self, cell: [usize; 3]) -> f64 {
        let _ = cell;
        0.0
    }
}

/// A side of a cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    /// At the smaller x.
    Left,
    /// At the larger x.
    Right,
    /// At the smaller y.
    Front,
    /// At the larger y.
    Back,
    /// At the smaller z.
    Bottom,
    /// At the larger z.
    Top,
}

/// A face of the body with no cell beyond it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exposed {
    /// The cell.
    pub cell: [usize; 3],
    /// Its side.
    pub side: Side,
    /// Area, m2.
    pub area: f64,
    /// Resistance from the middle of the cell to the face, K/W.
    pub half: f64,
    /// Colour and place of the cell.
    pub(super) place: (usize, usize),
}

/// Why a body cannot be made.
#[derive(Debug, Clone, PartialEq)]
pub enum NoBody {
    /// No cell has a conductivity.
    Empty,
    /// A conductivity is not a positive number, at the cell.
    Conductivity([usize; 3]),
    /// The arrays would take more memory than allowed, bytes needed and allowed.
    TooLarge(u64, u64),
}

impl std::fmt::Display for NoBody {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            NoBody::Empty => f.write_str("the grid holds no body"),
            NoBody::Conductivity([x, y, z]) => {
                write!(f, "the conductivity of cell {x}, {y}, {z} is not a positive number")
            }
            NoBody::TooLarge(needed, allowed) => write!(
                f,
                "the grid needs {:.1} GB of memory, and {:.1} GB are allowed",
                *needed as f64 * 1e-9,
                *allowed as f64 * 1e-9
            ),
        }
    }
}

impl std::error::Error for NoBody {}

/// A body on its grid, ready to be given a ground and solved.
#[derive(Debug)]
pub struct Body {
    pub(super) grid: Grid,
    pub(super) hierarchy: Hierarchy,
    pub(super) exposed: Vec<Exposed>,
    /// Cells that exist.
    pub(super) count: usize,
    /// By colour, one bit a place: set where a cell exists.
    exists: Pair<u64>,
    /// Conductances of the exposed faces to their outside, W/K, as last set.
    pub(super) faces: Vec<f64>,
}

/// Memory of a cell, bytes: what [`Body`] and a solution take, by count of the arrays of a uniform grid.
pub const BYTES_A_CELL: u64 = 100;

/// Ratio of conductivities in the plane beyond which a line between columns is protected from merging.
const JUMP: f64 = 3.0;

impl Body {
    /// A body from what fills the cells of a grid, within a number of bytes.
    ///
    /// # Errors
    /// [`NoBody`].
    pub fn new(grid: Grid, medium: &impl Medium, memory: u64) -> Result<Body, NoBody> {
        let cells = grid.cells();
        let [nx, ny, nz] = cells;
        if (nx as u64).saturating_mul(ny as u64).saturating_mul(nz as u64) > u64::from(u32::MAX) * 16 {
            return Err(NoBody::TooLarge(u64::MAX, memory));
        }
        let filled = spans(cells, medium)?;
        let total: u64 = filled.iter().map(|[a, b]| (b - a) as u64).sum();
        if total == 0 {
            return Err(NoBody::Empty);
        }
        if total * BYTES_A_CELL > memory {
            return Err(NoBody::TooLarge(total * BYTES_A_CELL, memory));
        }
        let strips = Strips::new(cells, |y, z| filled[y * nz + z]);
        drop(filled);
        let couplings = conductances(&grid, &strips, medium);
        let protected = protected(&strips, medium);
        let (exposed, found) = exposed(&grid, &strips, medium);
        let mut exists = [0, 1].map(|c| vec![0u64; strips.len(c).div_ceil(64)]);
        for (colour, place) in &found {
            exists[*colour][place / 64] |= 1 << (place % 64);
        }
        let count = found.len();
        drop(found);
        let widths = [0, 1].map(|a| (0..cells[a]).map(|i| grid.width(a, i)).collect());
        let finest = Level { strips, couplings, widths, ..Level::default() };
        let faces = vec![0.0; exposed.len()];
        Ok(Body { grid, hierarchy: Hierarchy::new(finest, protected), exposed, count, exists, faces })
    }

    /// The grid.
    pub fn grid(&self) -> &Grid {
        &self.grid
    }

    /// Cells that exist.
    pub fn count(&self) -> usize {
        self.count
    }

    /// Faces with nothing beyond them, in the order in which films are given.
    pub fn exposed(&self) -> &[Exposed] {
        &self.exposed
    }

    /// Colour and place of a cell that exists.
    pub(super) fn place(&self, cell: [usize; 3]) -> Option<(usize, usize)> {
        let (colour, place) = self.finest().strips.place(cell)?;
        (self.exists[colour][place / 64] >> (place % 64) & 1 == 1).then_some((colour, place))
    }

    pub(super) fn finest(&self) -> &Level {
        &self.hierarchy.levels[0]
    }

    /// Heat capacities of all cells, J/K.
    pub fn capacities(&self, medium: &impl Medium) -> Capacities {
        let strips = &self.finest().strips;
        let mut out: Pair<f32> = zeros(strips);
        for (colour, out) in out.iter_mut().enumerate() {
            rows(strips, colour, out, &|y, sheet| {
                for z in 0..strips.cells[2] {
                    for (x, at) in strips.along(colour, y, z) {
                        if medium.conductivity([x, y, z]).is_some() {
                            let volume = self.grid.volume([x, y, z]);
                            sheet[at - strips.row(colour, y)] = (volume * medium.capacity([x, y, z])) as f32;
                        }
                    }
                }
                0.0
            });
        }
        Capacities { values: out }
    }

    /// Gives every exposed face a film to its outside, W/(m2 K): zero insulates, infinity holds the face itself at the
    /// temperature outside. With `shift` (1/s) every cell is grounded besides by that times its capacity, which is an
    /// implicit step of `1 / shift`.
    ///
    /// # Panics
    /// Where there is not one film for each exposed face.
    pub fn set_ground(&mut self, films: &[f64], shift: Option<(f64, &Capacities)>) {
        assert_eq!(films.len(), self.exposed.len(), "one film for each exposed face");
        let strips = &self.finest().strips;
        let mut ground: Pair<f64> = zeros(strips);
        if let Some((rate, capacities)) = shift {
            for (ground, capacities) in ground.iter_mut().zip(&capacities.values) {
                for (g, c) in ground.iter_mut().zip(capacities) {
                    *g = rate * f64::from(*c);
                }
            }
        }
        for ((face, film), conductance) in self.exposed.iter().zip(films).zip(&mut self.faces) {
            *conductance = if *film > 0.0 { 1.0 / (face.half + 1.0 / (film * face.area)) } else { 0.0 };
            ground[face.place.0][face.place.1] += *conductance;
        }
        self.hierarchy.ground(ground.map(|g| g.into_iter().map(|v| v as f32).collect()));
    }
}

/// Heat capacities of the cells of a body.
#[derive(Debug, Clone)]
pub struct Capacities {
    pub(super) values: Pair<f32>,
}

/// First existing cell along x and the one after the last, by y and z.
fn spans(cells: [usize; 3], medium: &impl Medium) -> Result<Vec<[usize; 2]>, NoBody> {
    use rayon::prelude::*;
    let [nx, ny, nz] = cells;
    let row = |y: usize| -> Result<Vec<[usize; 2]>, NoBody> {
        (0..nz)
            .map(|z| {
                let mut span = [usize::MAX, 0];
                for x in 0..nx {
                    if let Some(k) = medium.conductivity([x, y, z]) {
                        if !k.iter().all(|k| *k > 0.0 && k.is_finite()) {
                            return Err(NoBody::Conductivity([x, y, z]));
                        }
                        span = [span[0].min(x), x + 1];
                    }
                }
                Ok(if span[1] == 0 { [0, 0] } else { span })
            })
            .collect()
    };
    let rows: Result<Vec<_>, NoBody> = (0..ny).into_par_iter().map(row).collect();
    Ok(rows?.concat())
}

/// Conductances from every cell to the next along the axes.
fn conductances(grid: &Grid, strips: &Strips, medium: &impl Medium) -> Couplings {
    let cells = grid.cells();
    let mut couplings =
        Couplings { x: zeros(strips), y: zeros(strips), z: zeros(strips), ground: Default::default() };
    for colour in 0..2 {
        let toward = |axis: usize, cell: [usize; 3]| -> f32 {
            let mut next = cell;
            next[axis] += 1;
            if next[axis] >= cells[axis] {
                return 0.0;
            }
            let (Some(own), Some(other)) = (medium.conductivity(cell), medium.conductivity(next)) else {
                return 0.0;
            };
            let area: f64 = (0..3).filter(|a| *a != axis).map(|a| grid.width(a, cell[a])).product();
            let half = |k: f64, i: usize| 0.5 * grid.width(axis, i) / k;
            (area / (half(own[axis], cell[axis]) + half(other[axis], next[axis]))) as f32
        };
        rows_of_two(
            strips,
            (colour, &mut couplings.x[colour]),
            (colour, &mut couplings.y[colour]),
            &|y, along_x, along_y| {
                for z in 0..cells[2] {
                    for (x, at) in strips.along(colour, y, z) {
                        let at = at - strips.row(colour, y);
                        along_x[at] = toward(0, [x, y, z]);
                        along_y[at] = toward(1, [x, y, z]);
                    }
                }
                0.0
            },
        );
        rows(strips, colour, &mut couplings.z[colour], &|y, sheet| {
            for z in 0..cells[2] {
                for (x, at) in strips.along(colour, y, z) {
                    sheet[at - strips.row(colour, y)] = toward(2, [x, y, z]);
                }
            }
            0.0
        });
    }
    couplings
}

/// Lines between columns across which conduction in the plane jumps or a body ends, for x and y.
fn protected(strips: &Strips, medium: &impl Medium) -> [Vec<bool>; 2] {
    use rayon::prelude::*;
    let [nx, ny, nz] = strips.cells;
    let differs = |a: Option<[f64; 3]>, b: Option<[f64; 3]>, axis: usize| match (a, b) {
        (Some(a), Some(b)) => a[axis] > JUMP * b[axis] || b[axis] > JUMP * a[axis],
        (None, None) => false,
        _ => true,
    };
    let along_x: Vec<bool> = (0..nx.saturating_sub(1))
        .into_par_iter()
        .map(|x| {
            (0..ny).any(|y| {
                (0..nz).any(|z| {
                    differs(medium.conductivity([x, y, z]), medium.conductivity([x + 1, y, z]), 0)
                })
            })
        })
        .collect();
    let along_y: Vec<bool> = (0..ny.saturating_sub(1))
        .into_par_iter()
        .map(|y| {
            (0..nx).any(|x| {
                (0..nz).any(|z| {
                    differs(medium.conductivity([x, y, z]), medium.conductivity([x, y + 1, z]), 1)
                })
            })
        })
        .collect();
    [along_x, along_y]
}

/// Faces of cells with nothing beyond, in the order of the cells, and the places of all cells.
fn exposed(grid: &Grid, strips: &Strips, medium: &impl Medium) -> (Vec<Exposed>, Vec<(usize, usize)>) {
    use rayon::prelude::*;
    let cells = grid.cells();
    let row = |y: usize| {
        let mut out = Vec::new();
        let mut found = Vec::new();
        for z in 0..cells[2] {
            let [from, end] = strips.span(y, z);
            for x in from..end {
                let cell = [x, y, z];
                let (Some(k), Some(place)) = (medium.conductivity(cell), strips.place(cell)) else { continue };
                found.push(place);
                for (axis, sides) in
                    [[Side::Left, Side::Right], [Side::Front, Side::Back], [Side::Bottom, Side::Top]].iter().enumerate()
                {
                    for (up, side) in sides.iter().enumerate() {
                        let mut next = cell;
                        let inside = if up == 1 {
                            next[axis] += 1;
                            next[axis] < cells[axis]
                        } else {
                            let inside = next[axis] > 0;
                            next[axis] = next[axis].saturating_sub(1);
                            inside
                        };
                        if inside && medium.conductivity(next).is_some() {
                            continue;
                        }
                        let area: f64 =
                            (0..3).filter(|a| *a != axis).map(|a| grid.width(a, cell[a])).product();
                        let half = 0.5 * grid.width(axis, cell[axis]) / (k[axis] * area);
                        out.push(Exposed { cell, side: *side, area, half, place });
                    }
                }
            }
        }
        (out, found)
    };
    let rows: Vec<_> = (0..cells[1]).into_par_iter().map(row).collect();
    let (faces, found): (Vec<_>, Vec<_>) = rows.into_iter().unzip();
    (faces.concat(), found.concat())
}
