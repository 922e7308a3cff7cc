//! Why a front is not followed.

use facedown_field::NoConvergence;

/// Why a problem has no outcome.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// A number that cannot be.
    #[error("{what} is {value}; it must be {allowed}")]
    NotPhysical {
        /// What.
        what: String,
        /// Its value in SI.
        value: f64,
        /// What is allowed.
        allowed: &'static str,
    },
    /// No line at all.
    #[error("no line is dispensed; give at least one, along an edge of the die")]
    NoLine,
    /// A line that does not lie on its edge.
    #[error(
        "line {number} runs from {from_mm:.3} mm to {to_mm:.3} mm along an edge of {edge_mm:.3} mm; it must begin before it ends, on the edge"
    )]
    OffTheEdge {
        /// Line, from 1.
        number: usize,
        /// Begin, mm.
        from_mm: f64,
        /// End, mm.
        to_mm: f64,
        /// Length of the edge, mm.
        edge_mm: f64,
    },
    /// Lines that lie over each other without being passes of one stretch.
    #[error(
        "lines {first} and {second} lie over each other from {from_mm:.3} mm to {to_mm:.3} mm; passes share one stretch, other lines must not touch"
    )]
    LinesOverlap {
        /// Line, from 1.
        first: usize,
        /// The other.
        second: usize,
        /// Begin of what both cover, mm.
        from_mm: f64,
        /// End of it, mm.
        to_mm: f64,
    },
    /// Bumps that touch.
    #[error(
        "bumps {first} and {second} (from 0) are {distance_um:.1} um apart and {diameter_um:.1} um wide; they must not touch"
    )]
    BumpsTouch {
        /// Bump, from 0.
        first: usize,
        /// The other.
        second: usize,
        /// Distance of their centres, um.
        distance_um: f64,
        /// Diameter, um.
        diameter_um: f64,
    },
    /// A sphere that is lower than the gap.
    #[error(
        "at ({:.3}, {:.3}) mm a joint of {diameter_um:.1} um cannot span the gap of {gap_um:.1} um; allowed is a gap up to the diameter, or a pillar instead of a sphere",
        place_mm[0], place_mm[1]
    )]
    LowSphere {
        /// Diameter, um.
        diameter_um: f64,
        /// Gap, um.
        gap_um: f64,
        /// Where, mm.
        place_mm: [f64; 2],
    },
    /// A grid of too many cells.
    #[error(
        "the grid would have {cells:.3e} cells; at most 4 million are solved: ask for fewer cells in a pitch"
    )]
    TooFine {
        /// Cells.
        cells: f64,
    },
    /// Nothing that could be filled.
    #[error("no cell under the die is left to fill; what is blocked covers it")]
    NothingToFill,
    /// More or less liquid at the end than was given.
    #[error(
        "the front ended with {:.1e} of the liquid too much, which is no outcome; another resolution or slightly other volumes may be followed",
        share
    )]
    Unbalanced {
        /// Liquid too much, over what was given; negative where some is missing.
        share: f64,
    },
    /// Whoever asked wants it no more.
    #[error("stopped before the front had ended")]
    Stopped,
    /// A numerical method that did not end.
    #[error("the front could not be followed: {}", super::words(*.0))]
    Numeric(NoConvergence),
}
