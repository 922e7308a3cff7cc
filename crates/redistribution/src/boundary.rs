//! Places along the die outline: which side a point belongs to and where around the outline it lies.

use facedown_layout::Point;
use facedown_quantity::Nm;
use std::fmt;

/// A side of the die.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Side {
    /// Lower edge.
    South,
    /// Right edge.
    East,
    /// Upper edge.
    North,
    /// Left edge.
    West,
}

impl Side {
    /// All sides in the order of [`ring_place`].
    pub const ALL: [Side; 4] = [Side::South, Side::East, Side::North, Side::West];
}

impl fmt::Display for Side {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Side::South => "south",
            Side::East => "east",
            Side::North => "north",
            Side::West => "west",
        })
    }
}

/// The side whose edge is nearest to a point of the die, with the distance to it. Ties go to the first of
/// [`Side::ALL`].
pub fn nearest_side(at: Point, width: Nm, height: Nm) -> (Side, Nm) {
    let distances = [at.y, width - at.x, height - at.y, at.x];
    let mut best = (Side::South, distances[0]);
    for (side, distance) in Side::ALL.into_iter().zip(distances) {
        if distance < best.1 {
            best = (side, distance);
        }
    }
    best
}

/// Where the foot of a point on its nearest edge lies along the outline, counter-clockwise from the lower-left corner.
pub fn ring_place(at: Point, width: Nm, height: Nm) -> Nm {
    match nearest_side(at, width, height).0 {
        Side::South => at.x,
        Side::East => width + at.y,
        Side::North => width + height + (width - at.x),
        Side::West => width * 2 + height + (height - at.y),
    }
}
