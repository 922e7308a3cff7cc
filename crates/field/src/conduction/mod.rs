//! Conduction in a body on a graded grid: steady fields, by conjugate gradients and a multigrid of columns.
//!
//! The bodies are stacks of thin layers, a thousand times wider than a layer is thick. Whole columns are relaxed at
//! once and only the plane is coarsened, so that neither thin layers nor their contrast cost a step. The work and the
//! memory grow with the number of cells; results do not depend on the number of threads, to the last bit.
//!
//! ```
//! use facedown_field::conduction::{Body, Effort, Medium, Side};
//! use facedown_field::grid::Grid;
//!
//! struct Wall;
//! impl Medium for Wall {
//!     fn conductivity(&self, _: [usize; 3]) -> Option<[f64; 3]> {
//!         Some([2.0; 3])
//!     }
//! }
//! let line = |n: usize| (0..=n).map(|i| i as f64 / n as f64).collect::<Vec<f64>>();
//! let grid = Grid::new([line(4), line(4), line(5)]).unwrap();
//! let mut body = Body::new(grid, &Wall, 1 << 30).unwrap();
//! // 10 W go in at the bottom; the top is held.
//! let films: Vec<f64> = body.exposed().iter().map(|f| if f.side == Side::Top { f64::INFINITY } else { 0.0 }).collect();
//! body.set_ground(&films, None);
//! let mut load = body.zero();
//! for x in 0..4 {
//!     for y in 0..4 {
//!         body.add_at(&mut load, [x, y, 0], 10.0 / 16.0);
//!     }
//! }
//! let solution = body.solve(&load, None, Effort::default()).unwrap();
//! // Nine tenths of a metre from the middle of the lowest cell.
//! assert!((body.at(&solution.field, [1, 2, 0]).unwrap() - 10.0 * 0.9 / 2.0).abs() < 1e-6);
//! ```

mod body;
mod coarsen;
mod connected;
mod couplings;
#[cfg(test)]
mod cycle_checks;
mod filling;
mod hierarchy;
mod level;
mod response;
mod solution;
mod strips;

pub use body::{BYTES_A_CELL, Body, Capacities, Exposed, Medium, NoBody, Side};
pub use filling::Filling;
pub use hierarchy::Cycle;
pub use response::{Probe, Response, Span};
pub use solution::{Effort, Field, Solution};
