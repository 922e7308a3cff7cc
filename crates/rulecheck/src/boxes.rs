//! Boxes with their sides along the axes, and a tree over a sequence of them.
//!
//! The tree takes its leaves in the order given and puts four neighbours under one box, again and again. That is a
//! good tree when neighbours in the sequence are neighbours in the plane, as runs of edges along an outline are.
//! Building is linear and needs no sorting; a visit costs the nodes whose box passes the caller's test.

use crate::exact::Spot;

/// Children of a node.
const FAN: usize = 4;
/// Enough for three waiting siblings on each of the levels that 2^32 leaves have.
const WAITING: usize = 64;

/// A closed box, grid units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Bounds {
    pub(crate) low: Spot,
    pub(crate) high: Spot,
}

impl Bounds {
    /// The box that holds nothing.
    pub(crate) const NONE: Bounds = Bounds { low: [i64::MAX; 2], high: [i64::MIN; 2] };

    /// The box around points.
    pub(crate) fn around<'a>(points: impl IntoIterator<Item = &'a Spot>) -> Bounds {
        points.into_iter().fold(Bounds::NONE, |b, p| b.with(&Bounds { low: *p, high: *p }))
    }

    /// The box around this one and another.
    pub(crate) fn with(&self, other: &Bounds) -> Bounds {
        Bounds {
            low: [self.low[0].min(other.low[0]), self.low[1].min(other.low[1])],
            high: [self.high[0].max(other.high[0]), self.high[1].max(other.high[1])],
        }
    }

    /// Grown on every side. Not for the box that holds nothing.
    pub(crate) fn grown(&self, by: i64) -> Bounds {
        Bounds { low: [self.low[0] - by, self.low[1] - by], high: [self.high[0] + by, self.high[1] + by] }
    }

    /// True when the boxes share a point.
    pub(crate) fn meets(&self, other: &Bounds) -> bool {
        self.low[0] <= other.high[0]
            && other.low[0] <= self.high[0]
            && self.low[1] <= other.high[1]
            && other.low[1] <= self.high[1]
    }

    /// The longer side.
    pub(crate) fn extent(&self) -> i64 {
        (self.high[0].saturating_sub(self.low[0])).max(self.high[1].saturating_sub(self.low[1])).max(0)
    }

    /// The square of the distance between two boxes, correct to a few parts in 10^16.
    pub(crate) fn gap_squared(&self, other: &Bounds) -> f64 {
        let gap = |k: usize| (other.low[k] - self.high[k]).max(self.low[k] - other.high[k]).max(0) as f64;
        let (x, y) = (gap(0), gap(1));
        x * x + y * y
    }
}

/// Boxes above boxes; the first level holds the leaves.
pub(crate) struct BoxTree {
    levels: Vec<Vec<Bounds>>,
}

impl BoxTree {
    /// The tree over leaves in the given order.
    pub(crate) fn new(leaves: Vec<Bounds>) -> BoxTree {
        let mut levels = vec![leaves];
        while levels[levels.len() - 1].len() > 1 {
            let below = &levels[levels.len() - 1];
            let above = below
                .chunks(FAN)
                .map(|group| group.iter().fold(Bounds::NONE, |all, one| all.with(one)))
                .collect();
            levels.push(above);
        }
        BoxTree { levels }
    }

    /// The boxes of the leaves.
    pub(crate) fn leaves(&self) -> &[Bounds] {
        &self.levels[0]
    }

    /// The box around everything.
    pub(crate) fn bounds(&self) -> Bounds {
        self.levels[self.levels.len() - 1].first().copied().unwrap_or(Bounds::NONE)
    }

    /// Calls `leaf` with the number of each leaf that passes `enter` with all boxes above it. `enter` must pass
    /// every box around a box that it passes.
    pub(crate) fn visit(&self, enter: impl Fn(&Bounds) -> bool, mut leaf: impl FnMut(u32)) {
        let top = self.levels.len() - 1;
        if !self.levels[top].first().is_some_and(&enter) {
            return;
        }
        if top == 0 {
            return leaf(0);
        }
        let mut waiting = [(0u8, 0u32); WAITING];
        waiting[0] = (top as u8, 0);
        let mut count = 1;
        while count > 0 {
            count -= 1;
            let (level, number) = waiting[count];
            let below = &self.levels[level as usize - 1];
            let first = number as usize * FAN;
            let children = &below[first..(first + FAN).min(below.len())];
            for (child, bounds) in (first as u32..).zip(children) {
                if enter(bounds) {
                    if level == 1 {
                        leaf(child);
                    } else {
                        waiting[count] = (level - 1, child);
                        count += 1;
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_visit_finds_what_a_scan_finds() {
        let leaf =
            |i: i64| Bounds { low: [i * 7 % 101, i * 13 % 89], high: [i * 7 % 101 + 5, i * 13 % 89 + 4] };
        for count in [0, 1, 4, 5, 100, 257] {
            let tree = BoxTree::new((0..count).map(leaf).collect());
            let asked = Bounds { low: [20, 30], high: [50, 41] };
            let mut found = Vec::new();
            tree.visit(|b| b.meets(&asked), |i| found.push(i));
            found.sort_unstable();
            let scan: Vec<u32> = (0..count).filter(|i| leaf(*i).meets(&asked)).map(|i| i as u32).collect();
            assert_eq!(found, scan);
        }
    }

    #[test]
    fn gap_is_that_of_the_nearest_corners_or_sides() {
        let unit = |x, y| Bounds { low: [x, y], high: [x + 10, y + 10] };
        assert_eq!(unit(0, 0).gap_squared(&unit(13, 14)), 25.0);
        assert_eq!(unit(0, 0).gap_squared(&unit(5, 17)), 49.0);
        assert_eq!(unit(0, 0).gap_squared(&unit(5, 10)), 0.0);
    }
}
