//! The gap as a network: cells that hold liquid, conductances between them, stretches of edges that feed or vent them.

use super::Refusal;
use super::coarser::Frame;
use super::grid::{Grid, Piece};
use super::medium::{CellLaw, Contents, media};
use super::problem::{Line, Problem};
use crate::flow::Medium;

/// No cell.
pub(super) const NONE: u32 = u32::MAX;

/// Cells and what joins them. Conductances are those of a liquid of viscosity 1.
#[derive(Debug, Clone)]
pub(super) struct Network {
    pub grid: Grid,
    pub media: Vec<(Medium, f64)>,
    /// Free volume of each cell that takes liquid, m3.
    pub volume: Vec<f64>,
    /// Free volume of each cell that repels beside it and stays dry, m3.
    pub repels: Vec<f64>,
    /// Driving pressure of that part, Pa; zero without one.
    pub repelling_pa: Vec<f64>,
    /// Driving pressure of each cell, Pa.
    pub drive: Vec<f64>,
    /// Largest of them by size, Pa.
    pub largest: f64,
    /// Place of each cell in the vectors of the pressures.
    pub place: Vec<u32>,
    /// West, south, east and north neighbour.
    pub beside: Vec<[u32; 4]>,
    /// Conductance to them, m3.
    pub link: Vec<[f64; 4]>,
    /// Largest sum of the conductances of a cell, m3.
    pub most: f64,
    /// Stretches with their lines.
    pub stretches: Vec<Stretch>,
    /// Feeds: cell, stretch, conductance.
    pub feeds: Vec<(u32, u32, f64)>,
    /// Pieces of edges open to the air where nothing lies: cell, stretch that covers it while it holds liquid.
    pub vents: Vec<(u32, u32)>,
    /// Free volume of all cells, m3.
    pub whole: f64,
}

/// A stretch of an edge and the passes on it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stretch {
    /// Volume (m3) and begin as fluidity time of each pass, in the order of time.
    pub passes: Vec<(f64, f64)>,
    /// The lines, by their number in the problem, in the order of the passes.
    pub lines: Vec<usize>,
}

/// About how large a cell is, m.
fn cell_size(problem: &Problem) -> f64 {
    let short = problem.size_m[0].min(problem.size_m[1]);
    let mut cell = short / problem.resolution.least as f64;
    if let Some(bumps) = &problem.bumps {
        let pitch = crate::nearest::median_nearest(&bumps.places_m);
        if pitch.is_finite() {
            cell = cell.min(pitch / problem.resolution.cells_a_pitch);
        }
    }
    cell
}

/// Most cells of a grid.
const MOST: f64 = 4e6;

impl Network {
    /// Share of a cell's gap that is dry.
    pub fn dry(&self, cell: usize, fill: f64, full: bool) -> f64 {
        let whole = self.volume[cell] + self.repels[cell];
        self.air(cell, fill, full) / whole
    }

    /// Volume of the air in a cell, m3.
    pub fn air(&self, cell: usize, fill: f64, full: bool) -> f64 {
        self.repels[cell] + if full { 0.0 } else { self.volume[cell] * (1.0 - fill).max(0.0) }
    }

    /// The network of a problem that has been checked.
    pub fn new(problem: &Problem, law: &dyn CellLaw) -> Result<Network, Refusal> {
        let size = problem.size_m;
        let cell_m = cell_size(problem);
        let cells = size[0] * size[1] / (cell_m * cell_m);
        if cells.is_nan() || cells > MOST {
            return Err(Refusal::TooFine { cells });
        }
        let open = |p: [f64; 2]| !problem.blocked.iter().any(|b| b.holds(p));
        let grid = Grid::new(size, cell_m, problem.resolution.turned_rad, open);
        let Contents { media, drawing, repelling_pa } = media(problem, law, &grid)?;
        let n = grid.area.len();
        let free = |c: usize, share: f64| grid.area[c] * media[c].1 * media[c].0.free * share;
        let volume: Vec<f64> = (0..n).map(|c| free(c, drawing[c])).collect();
        let repels: Vec<f64> = (0..n).map(|c| free(c, 1.0 - drawing[c])).collect();
        let drive: Vec<f64> = media.iter().map(|m| m.0.pressure_pa).collect();
        // What repels stays dry at any pressure that there is, which is never above that of the feeds.
        let conduct: Vec<f64> = (0..n)
            .map(|c| if drive[c] > 0.0 { media[c].0.permeability_m2 * media[c].1 * drawing[c] } else { 0.0 })
            .collect();
        let (mut beside, mut link) = (vec![[NONE; 4]; n], vec![[0.0; 4]; n]);
        for face in &grid.faces {
            let (a, b) = (face.from, face.to);
            let sum = (conduct[a] + conduct[b]).max(f64::MIN_POSITIVE);
            let conductance = face.shape * 2.0 * conduct[a] * conduct[b] / sum;
            let axis = usize::from(grid.position[a][0] == grid.position[b][0]);
            (beside[a][2 + axis], link[a][2 + axis]) = (b as u32, conductance);
            (beside[b][axis], link[b][axis]) = (a as u32, conductance);
        }
        let frame = Frame::of(grid.count);
        let mut network = Network {
            largest: drive.iter().fold(0.0, |m, d| m.max(d.abs())),
            place: grid.position.iter().map(|p| frame.place(*p) as u32).collect(),
            whole: volume.iter().chain(&repels).sum(),
            most: link.iter().map(|l| l.iter().sum()).fold(f64::MIN_POSITIVE, f64::max),
            drive,
            volume,
            repels,
            repelling_pa,
            beside,
            link,
            stretches: Vec::new(),
            feeds: Vec::new(),
            vents: Vec::new(),
            media,
            grid,
        };
        network.lay(problem, &conduct);
        Ok(network)
    }

    /// Lays the lines along the edges; the rest is open to the air.
    fn lay(&mut self, problem: &Problem, conduct: &[f64]) {
        let mut order: Vec<usize> = (0..problem.lines.len()).collect();
        order.sort_by(|&a, &b| problem.lines[a].start_s.total_cmp(&problem.lines[b].start_s));
        let mut first: Vec<Line> = Vec::new();
        for k in order {
            let line = problem.lines[k];
            let start = problem.clock.fluidity(line.start_s);
            // A line that is dispensed after the gel never flows.
            let late = problem.clock.gel().is_some_and(|gel| line.start_s > 0.0 && start >= gel);
            let pass = (line.volume_m3, if late { f64::INFINITY } else { start });
            let known = first.iter().position(|f| same_stretch(f, &line));
            let at = known.unwrap_or_else(|| {
                first.push(line);
                self.stretches.push(Stretch { passes: Vec::new(), lines: Vec::new() });
                self.stretches.len() - 1
            });
            self.stretches[at].passes.push(pass);
            self.stretches[at].lines.push(k);
        }
        for piece in self.grid.pieces.clone() {
            let Piece { cell, edge, stretch: [low, high], distance } = piece;
            let mut bare = high - low;
            for (at, line) in first.iter().enumerate().filter(|(_, l)| l.edge == edge) {
                let length = (high.min(line.to_m) - low.max(line.from_m)).max(0.0);
                if length > 1e-9 * (high - low) {
                    self.feeds.push((cell as u32, at as u32, conduct[cell] * length / distance));
                    bare -= length;
                    if !problem.walls.contains(&edge) {
                        self.vents.push((cell as u32, at as u32));
                    }
                }
            }
            if bare > 1e-6 * (high - low) && !problem.walls.contains(&edge) {
                self.vents.push((cell as u32, NONE));
            }
        }
    }
}

/// Whether two lines lie on one and the same stretch.
pub(super) fn same_stretch(a: &Line, b: &Line) -> bool {
    a.edge == b.edge && a.from_m == b.from_m && a.to_m == b.to_m
}
