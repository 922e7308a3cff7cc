//! The body in which heat, or anything that spreads like it, is conducted: cells of a grid with their conductivities,
//! its exposed faces, and the finite volumes made from both.
//!
//! Two-point fluxes between cell centres (S. V. Patankar, Numerical Heat Transfer and Fluid Flow, 1980, section 4.2-3):
//! the halves of two cells in series. A wall of layers is exact at any number of cells, the matrix has the discrete
//! maximum principle, and a column of cells is tridiagonal. See `docs/conduction.md` for the comparison with bricks.

use super::connected::Pieces;
use super::couplings::{Pair, zeros};
use super::filling::{Filling, spans};
use super::hierarchy::Hierarchy;
use super::level::Level;
use super::strips::{Strips, rows};
use crate::grid::Grid;

/// What fills the cells of a grid.
pub trait Medium: Sync {
    /// Conductivity of a cell along x, y and z, W/(m K), all above zero and within the range of single precision (1e-37
    /// to 1e38); `None` where nothing is.
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
    /// A conductivity is not a positive number of single precision, at the cell.
    Conductivity([usize; 3]),
    /// Other cells exist than in the body that is to be filled anew.
    Changed,
    /// The arrays would take more memory than allowed, bytes needed and allowed.
    TooLarge(u64, u64),
}

impl std::fmt::Display for NoBody {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            NoBody::Empty => f.write_str("the grid holds no body"),
            NoBody::Changed => f.write_str("other cells exist than in the body that is filled anew"),
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
    pub(super) pieces: Pieces,
}

/// Memory of a cell, bytes: what [`Body`] and a solution take, by count of the arrays of a uniform grid.
pub const BYTES_A_CELL: u64 = 100;

impl Body {
    /// A body from what fills the cells of a grid, within a number of bytes.
    ///
    /// # Errors
    /// [`NoBody`].
    pub fn new(grid: Grid, medium: &impl Medium, memory: u64) -> Result<Body, NoBody> {
        let cells = grid.cells();
        let [nx, ny, nz] = cells;
        let lattice = (nx as u64).saturating_mul(ny as u64).saturating_mul(nz as u64);
        if lattice > u64::from(u32::MAX) * 16 {
            return Err(NoBody::TooLarge(lattice.saturating_mul(BYTES_A_CELL), memory));
        }
        let spans = spans(cells, medium)?;
        let total: u64 = spans.iter().map(|[a, b]| (b - a) as u64).sum();
        if total == 0 {
            return Err(NoBody::Empty);
        }
        if total.saturating_mul(BYTES_A_CELL) > memory {
            return Err(NoBody::TooLarge(total.saturating_mul(BYTES_A_CELL), memory));
        }
        let strips = Strips::new(cells, |y, z| spans[y * nz + z]);
        drop(spans);
        let filling = Filling::new(&strips, medium)?;
        let couplings = filling.couplings(&grid, &strips);
        let protected = filling.protected(&grid, &strips);
        let exposed = filling.exposed(&grid, &strips);
        let exists = filling.exists();
        let count = exists.iter().flatten().map(|w| w.count_ones() as usize).sum();
        let widths = [0, 1].map(|a| (0..cells[a]).map(|i| grid.width(a, i)).collect());
        let finest = Level { strips, couplings, widths, ..Level::default() };
        let faces = vec![0.0; exposed.len()];
        let pieces = Pieces::new(&finest.strips, |cell| {
            finest.strips.place(cell).is_some_and(|(c, i)| exists[c][i / 64] >> (i % 64) & 1 == 1)
        });
        Ok(Body { grid, hierarchy: Hierarchy::new(finest, protected), exposed, count, exists, faces, pieces })
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

    /// What fills the cells of this body in another state, for [`Body::refill`].
    ///
    /// # Errors
    /// [`NoBody::Conductivity`].
    pub fn filling(&self, medium: &impl Medium) -> Result<Filling, NoBody> {
        Filling::new(&self.finest().strips, medium)
    }

    /// Takes over other conductivities of the same cells. The ground is to be set anew: until then the body has none.
    /// Columns merge as they did before, so that a solution agrees with that of a new body to the residual, not to the
    /// last bit.
    ///
    /// # Errors
    /// [`NoBody::Changed`] where other cells exist than before.
    pub fn refill(&mut self, filling: &Filling) -> Result<(), NoBody> {
        if filling.exists() != self.exists {
            return Err(NoBody::Changed);
        }
        let couplings = filling.couplings(&self.grid, &self.hierarchy.levels[0].strips);
        self.hierarchy.recouple(couplings);
        for face in &mut self.exposed {
            face.half = filling.half(&self.grid, face.cell, face.side, face.place, face.area);
        }
        self.faces.fill(0.0);
        self.mark_grounded(None);
        Ok(())
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
    /// implicit step of `1 / shift`. A film that is negative or not a number leads to no solution.
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
            // As the cycle and the product will see it, so that the heat of a face is what its cell gives.
            *conductance = match *film {
                0.0 => 0.0,
                film if film > 0.0 => f64::from((1.0 / (face.half + 1.0 / (film * face.area))) as f32),
                _ => f64::NAN,
            };
            ground[face.place.0][face.place.1] += *conductance;
        }
        self.hierarchy.ground(ground.map(|g| g.into_iter().map(|v| v as f32).collect()));
        self.mark_grounded(shift);
    }
}

/// Heat capacities of the cells of a body.
#[derive(Debug, Clone)]
pub struct Capacities {
    pub(super) values: Pair<f32>,
}
