//! Boxes sorted into the square cells of a grid once, to find those near a place afterwards.
//!
//! The lists of all cells lie in one array, cell after cell, so that a look at a neighbourhood touches little memory.
//! A box stands in each cell that it meets and may therefore be met more than once.

use super::plane::P2;

/// Numbers of boxes by cell.
pub struct Buckets {
    origin: P2,
    cell: f64,
    across: usize,
    up: usize,
    /// Where each cell's list begins in `items`; one more than there are cells.
    begins: Vec<u32>,
    items: Vec<u32>,
}

/// No more cells than this a box on average, and a thousand; cells grow beyond it.
const CELLS_A_BOX: usize = 8;

impl Buckets {
    /// Sorts boxes (lower-left and upper-right corner, nm) into cells of about `cell` nm.
    pub fn new(boxes: &[(P2, P2)], cell: f64) -> Buckets {
        let (mut lo, mut hi) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for (a, b) in boxes {
            for k in 0..2 {
                lo[k] = lo[k].min(a[k]);
                hi[k] = hi[k].max(b[k]);
            }
        }
        if boxes.is_empty() {
            (lo, hi) = ([0.0; 2], [0.0; 2]);
        }
        let most = (CELLS_A_BOX * boxes.len() + 1000) as f64;
        let area = (hi[0] - lo[0]) * (hi[1] - lo[1]);
        let cell = cell.max((area / most).sqrt()).max((hi[0] - lo[0]).max(hi[1] - lo[1]) / most).max(1.0);
        let count = |k: usize| ((hi[k] - lo[k]) / cell).floor() as usize + 1;
        let (across, up) = (count(0), count(1));
        let mut out =
            Buckets { origin: lo, cell, across, up, begins: vec![0; across * up + 1], items: Vec::new() };
        let mut begins = vec![0u32; across * up + 1];
        for &(a, b) in boxes {
            out.cells(a, b, |k| begins[k + 1] += 1);
        }
        for k in 1..begins.len() {
            begins[k] += begins[k - 1];
        }
        let mut next = begins.clone();
        let mut items = vec![0u32; begins[across * up] as usize];
        for (i, &(a, b)) in boxes.iter().enumerate() {
            out.cells(a, b, |k| {
                items[next[k] as usize] = i as u32;
                next[k] += 1;
            });
        }
        out.begins = begins;
        out.items = items;
        out
    }

    fn cells(&self, lo: P2, hi: P2, mut f: impl FnMut(usize)) {
        let place = |x: f64, k: usize, n: usize| {
            (((x - self.origin[k]) / self.cell).floor().max(0.0) as usize).min(n - 1)
        };
        for y in place(lo[1], 1, self.up)..=place(hi[1], 1, self.up) {
            for x in place(lo[0], 0, self.across)..=place(hi[0], 0, self.across) {
                f(y * self.across + x);
            }
        }
    }

    /// Calls `f` with the number of every box that may meet the box from `lo` to `hi`, some of them more than once.
    pub fn near(&self, lo: P2, hi: P2, mut f: impl FnMut(u32)) {
        self.cells(lo, hi, |k| {
            for &i in &self.items[self.begins[k] as usize..self.begins[k + 1] as usize] {
                f(i);
            }
        });
    }
}

#[cfg(test)]
mod tests {
    use super::Buckets;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn no_box_is_missed(
            boxes in prop::collection::vec((-1e6..1e6_f64, -1e6..1e6_f64, 0.0..1e5_f64, 0.0..1e5_f64), 0..60),
            at in (-2e6..2e6_f64, -2e6..2e6_f64), cell in 1.0..1e6_f64,
        ) {
            let boxes: Vec<_> = boxes.iter().map(|b| ([b.0, b.1], [b.0 + b.2, b.1 + b.3])).collect();
            let (lo, hi) = ([at.0, at.1], [at.0 + 3e5, at.1 + 2e5]);
            let mut got = Vec::new();
            Buckets::new(&boxes, cell).near(lo, hi, |i| got.push(i));
            for (i, (a, b)) in boxes.iter().enumerate() {
                if (0..2).all(|k| a[k] <= hi[k] && b[k] >= lo[k]) {
                    prop_assert!(got.contains(&(i as u32)));
                }
            }
        }
    }
}
