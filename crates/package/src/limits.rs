//! How large a design may be, so that a wrong file is told and does not fill the memory.

/// Most pads of a die.
pub const PADS: usize = 200_000;
/// Most bump sites of a die.
pub const SITES: usize = 200_000;
/// Most blocks of a power map.
pub const POWER_BLOCKS: usize = 1_000_000;
/// Most cells of a grid of power or voids.
pub const GRID_CELLS: usize = 1_000_000;
/// Most rows of a power trace.
pub const TRACE: usize = 10_000;
/// Most dies and blocks that follow a power trace.
pub const COURSES: usize = 12;
/// Most voids of one thermal interface that are written one by one.
pub const VOIDS: usize = 2_000;
/// Most contact-angle readings.
pub const READINGS: usize = 10_000;
/// Most patches of residue.
pub const RESIDUES: usize = 500;
/// Most rows of a recorded temperature.
pub const HISTORY: usize = 200_000;
/// Most dies of a design.
pub const DIES: usize = 200;
/// Most corners of all keep-outs of a die together.
pub const KEEP_OUT_CORNERS: usize = 5_000;
/// Largest length of a part, m. Layout coordinates stay far inside what whole nanometres hold.
pub const LENGTH_M: f64 = 1.0;
