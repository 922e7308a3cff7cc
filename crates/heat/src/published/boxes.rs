//! Bodies for the checks of the solver in space: a grid, what fills it, films, heat, and grids that grow finer.

use crate::solid::estimate;
use facedown_field::conduction::{Body, Effort, Field, Medium, Side};
use facedown_field::grid::{Grid, Growth, Mark, graded};

/// Memory that a check may take, bytes.
const MEMORY: u64 = 2 << 30;
/// Spacings of three grids of a check fall by this.
const RATIO: f64 = 1.6;

/// What the spacings of the coarsest one are divided by.
const COARSEST: f64 = 0.7;

/// A place, m.
pub(super) type Place = [f64; 3];

/// What fills a grid, by the middle of the cell.
struct Filled<'a, K>(&'a Grid, K);

impl<K: Fn(Place) -> Option<[f64; 3]> + Sync> Medium for Filled<'_, K> {
    fn conductivity(&self, cell: [usize; 3]) -> Option<[f64; 3]> {
        (self.1)([0, 1, 2].map(|a| self.0.middle(a, cell[a])))
    }
}

/// A body under way to a solution.
pub(super) struct Trial {
    pub body: Body,
    load: Field,
    films: Vec<f64>,
    outside: Vec<f64>,
}

/// A solved body.
pub(super) struct Found {
    pub body: Body,
    pub field: Field,
    outside: Vec<f64>,
}

impl Trial {
    /// A body of conductivities by place, W/(m K); all faces insulated, no heat.
    pub fn new(lines: [Vec<f64>; 3], k: impl Fn(Place) -> Option<[f64; 3]> + Sync) -> Option<Trial> {
        let grid = Grid::new(lines).ok()?;
        let body = Body::new(grid.clone(), &Filled(&grid, k), MEMORY).ok()?;
        let load = body.zero();
        let none = vec![0.0; body.exposed().len()];
        Some(Trial { films: none.clone(), outside: none, body, load })
    }

    pub fn middle(&self, cell: [usize; 3]) -> Place {
        [0, 1, 2].map(|a| self.body.grid().middle(a, cell[a]))
    }

    /// Films, W/(m2 K), and temperatures outside, by the side and the middle of the cell.
    pub fn cooled(mut self, film: impl Fn(Side, Place) -> [f64; 2]) -> Trial {
        let of: Vec<[f64; 2]> =
            self.body.exposed().iter().map(|f| film(f.side, self.middle(f.cell))).collect();
        self.films = of.iter().map(|f| f[0]).collect();
        self.outside = of.iter().map(|f| f[1]).collect();
        self
    }

    /// Heat in the volume, W/m3, by the middle of the cell.
    pub fn heated(mut self, heat: impl Fn(Place) -> f64) -> Trial {
        let [nx, ny, nz] = self.body.grid().cells();
        for z in 0..nz {
            for y in 0..ny {
                for x in 0..nx {
                    let cell = [x, y, z];
                    let amount = heat(self.middle(cell)) * self.body.grid().volume(cell);
                    self.body.add_at(&mut self.load, cell, amount);
                }
            }
        }
        self
    }

    /// Heat on faces of one side, W/m2, by the middle of the cell.
    pub fn lit(mut self, side: Side, flux: impl Fn(Place) -> f64) -> Trial {
        let faces: Vec<([usize; 3], f64)> =
            self.body.exposed().iter().filter(|f| f.side == side).map(|f| (f.cell, f.area)).collect();
        for (cell, area) in faces {
            let amount = flux(self.middle(cell)) * area;
            self.body.add_at(&mut self.load, cell, amount);
        }
        self
    }

    pub fn solved(mut self) -> Option<Found> {
        self.body.set_ground(&self.films, None);
        let outside = self.outside;
        self.body.add_outside(&mut self.load, |i| outside[i]);
        let field =
            self.body.solve(&self.load, None, Effort { residual: 1e-10, ..Effort::default() }).ok()?.field;
        Some(Found { body: self.body, field, outside })
    }
}

impl Found {
    pub fn middle(&self, cell: [usize; 3]) -> Place {
        [0, 1, 2].map(|a| self.body.grid().middle(a, cell[a]))
    }

    /// Mean and largest of all cells at a place that a test picks, by volume.
    pub fn over(&self, picked: impl Fn(Place) -> bool) -> [f64; 2] {
        let [nx, ny, nz] = self.body.grid().cells();
        let (mut sum, mut whole, mut largest) = (0.0, 0.0, f64::NEG_INFINITY);
        for z in 0..nz {
            for y in 0..ny {
                for x in 0..nx {
                    let cell = [x, y, z];
                    if picked(self.middle(cell))
                        && let Some(value) = self.body.at(&self.field, cell)
                    {
                        let volume = self.body.grid().volume(cell);
                        sum += volume * value;
                        whole += volume;
                        largest = largest.max(value);
                    }
                }
            }
        }
        [sum / whole, largest]
    }

    /// Mean over the faces of one side that a test picks, each with a flux into it (W/m2) besides its film.
    pub fn face_mean(&self, side: Side, flux: f64, picked: impl Fn(Place) -> bool) -> f64 {
        let (mut sum, mut whole) = (0.0, 0.0);
        for (i, face) in self.body.exposed().iter().enumerate() {
            if face.side == side && picked(self.middle(face.cell)) {
                let [value, _] = self.body.on_face(&self.field, i, self.outside[i]);
                sum += face.area * (value + flux * face.area * face.half);
                whole += face.area;
            }
        }
        sum / whole
    }

    /// Value at a place on a side, linear between the middles of the faces around it in the two axes of the side.
    pub fn face_at(&self, side: Side, flux: f64, place: Place) -> f64 {
        let axis = match side {
            Side::Left | Side::Right => 0,
            Side::Front | Side::Back => 1,
            Side::Bottom | Side::Top => 2,
        };
        let grid = self.body.grid();
        let [a, b] = [[1, 2], [0, 2], [0, 1]][axis];
        let around = |axis: usize| {
            let i = grid.holding(axis, place[axis]);
            let last = grid.cells()[axis] - 1;
            let up = place[axis] >= grid.middle(axis, i);
            let j = if up { (i + 1).min(last) } else { i.saturating_sub(1) };
            let (m, n) = (grid.middle(axis, i), grid.middle(axis, j));
            let s = if i == j { 0.0 } else { (place[axis] - m) / (n - m) };
            [(i, 1.0 - s), (j, s)]
        };
        let mut value = 0.0;
        for (i, u) in around(a) {
            for (j, v) in around(b) {
                let same = |f: &facedown_field::conduction::Exposed| {
                    f.side == side && f.cell[a] == i && f.cell[b] == j
                };
                let Some(at) = self.body.exposed().iter().position(same) else { return f64::NAN };
                let face = &self.body.exposed()[at];
                let [own, _] = self.body.on_face(&self.field, at, self.outside[at]);
                value += u * v * (own + flux * face.area * face.half);
            }
        }
        value
    }

    /// Heat that leaves through the faces of a side.
    pub fn leaves(&self, side: Side) -> f64 {
        let faces = self.body.exposed().iter().enumerate().filter(|(_, f)| f.side == side);
        faces.map(|(i, _)| self.body.on_face(&self.field, i, self.outside[i])[1]).sum()
    }
}

/// Equal cells.
pub(super) fn even(from: f64, to: f64, cells: usize) -> Vec<f64> {
    (0..=cells).map(|i| from + (to - from) * i as f64 / cells as f64).collect()
}

/// Edges through places with the spacing wanted at each, m, at most `largest`, growing by 1.4 from cell to cell; all divided
/// by `f`, the growth in its logarithm too, so that a finer grid is the coarser one cut into smaller pieces everywhere.
pub(super) fn line(marks: &[(f64, f64)], largest: f64, f: f64) -> Vec<f64> {
    let marks: Vec<Mark> = marks.iter().map(|&(at, spacing)| Mark { at, spacing: spacing / f }).collect();
    graded(&marks, Growth { ratio: 1.4_f64.powf(1.0 / f), largest: largest / f, nearest: 1e-9 })
}

/// Readings from three grids, each extrapolated by its own order: `of` takes what spacings are divided by.
pub(super) fn settled<const N: usize>(of: impl Fn(f64) -> Option<[f64; N]>) -> [f64; N] {
    let grids: Option<Vec<[f64; N]>> = (0..3).map(|i| of(COARSEST * RATIO.powi(i))).collect();
    let Some(grids) = grids else { return [f64::NAN; N] };
    let mut out = [f64::NAN; N];
    for (i, value) in out.iter_mut().enumerate() {
        *value = estimate([grids[0][i], grids[1][i], grids[2][i]], RATIO).value;
    }
    out
}
