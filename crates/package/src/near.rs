//! Which points lie near which: a grid of cells, so that checks of many pads take time in proportion to them.

use facedown_quantity::Nm;
use std::collections::HashMap;

/// Pairs that are looked at, at most. Only files made to be slow have more.
pub(crate) const BUDGET: usize = 50_000_000;

/// Points by cell. Two points within one reach of each other lie in neighbouring cells.
pub(crate) struct Near {
    cell: i64,
    cells: HashMap<(i64, i64), Vec<usize>>,
}

impl Near {
    /// Points, and the largest distance in x or in y that matters.
    pub fn new(points: impl Iterator<Item = (Nm, Nm)>, reach: Nm) -> Near {
        let mut near = Near { cell: reach.0.max(1), cells: HashMap::new() };
        for (i, (x, y)) in points.enumerate() {
            near.cells.entry(near.key(x, y)).or_default().push(i);
        }
        near
    }

    fn key(&self, x: Nm, y: Nm) -> (i64, i64) {
        (x.0.div_euclid(self.cell), y.0.div_euclid(self.cell))
    }

    /// Indices of all points within one reach of a place, and of some farther ones, in a fixed order.
    pub fn around(&self, x: Nm, y: Nm) -> impl Iterator<Item = usize> {
        let (cx, cy) = self.key(x, y);
        let cells = (-1..=1).flat_map(move |dx| (-1..=1).map(move |dy| (cx + dx, cy + dy)));
        cells.filter_map(|cell| self.cells.get(&cell)).flatten().copied()
    }
}

/// Calls `visit` for every pair of points within one reach of each other, the smaller index first. False when
/// there are too many pairs to look at.
pub(crate) fn pairs(points: &[(Nm, Nm)], reach: Nm, mut visit: impl FnMut(usize, usize)) -> bool {
    let near = Near::new(points.iter().copied(), reach);
    let mut looked = 0;
    for (i, (x, y)) in points.iter().enumerate() {
        for j in near.around(*x, *y) {
            looked += 1;
            if looked > BUDGET {
                return false;
            }
            if j > i {
                visit(i, j);
            }
        }
    }
    true
}
