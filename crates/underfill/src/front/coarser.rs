//! Coarser grids before conjugate gradients: one cycle from the grid of the cells to a handful of places and back.
//!
//! Two by two cells are one place of the next coarser grid, with constant transfer up and down. Sums of conductances over a
//! face of the coarser grid are halved, which is the same face drawn with twice the distance (multigrid centred on cells: P.
//! Wesseling, An Introduction to Multigrid Methods, 1992, ch. 5). One sweep of red and black places before and one of black and red after
//! the coarser grids keep the cycle symmetric. Cells that are not wet have no diagonal and stay at zero; rows are
//! swept only as far as they are wet.

use std::ops::Range;

/// Where cells lie in a vector: rows with one empty place before each, and an empty row on either side, so that every cell has
/// four places beside it.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Frame {
    count: [usize; 2],
    width: usize,
}

impl Frame {
    pub fn of(count: [usize; 2]) -> Frame {
        Frame { count, width: count[0] + 1 }
    }

    /// Length of a vector.
    pub fn places(self) -> usize {
        (self.count[1] + 2) * self.width + 1
    }

    /// Place of column and row.
    pub fn place(self, [i, j]: [usize; 2]) -> usize {
        (j + 1) * self.width + i + 1
    }

    /// The place in the west.
    #[cfg(test)]
    pub fn place_west(self, place: usize) -> usize {
        place - 1
    }

    /// The place in the south.
    #[cfg(test)]
    pub fn place_south(self, place: usize) -> usize {
        place - self.width
    }

    /// Product of the five-point matrix (west, south, diagonal), on the wet part of each row.
    pub fn product(
        self,
        spans: &[Range<usize>],
        [west, south, diagonal]: [&[f64]; 3],
        x: &[f64],
        y: &mut [f64],
    ) {
        let width = self.width;
        for span in spans {
            let (from, length) = (span.start, span.len());
            let y = &mut y[from..][..length];
            let (d, xc) = (&diagonal[from..][..length], &x[from..][..length]);
            let (w, xw) = (&west[from..][..length], &x[from - 1..][..length]);
            let (e, xe) = (&west[from + 1..][..length], &x[from + 1..][..length]);
            let (s, xs) = (&south[from..][..length], &x[from - width..][..length]);
            let (n, xn) = (&south[from + width..][..length], &x[from + width..][..length]);
            for k in 0..length {
                y[k] = d[k] * xc[k] - (w[k] * xw[k] + e[k] * xe[k]) - (s[k] * xs[k] + n[k] * xn[k]);
            }
        }
    }
}

/// One grid.
#[derive(Debug, Clone, Default)]
struct Level {
    frame: Frame,
    west: Vec<f64>,
    south: Vec<f64>,
    diagonal: Vec<f64>,
    /// Reciprocal diagonal, zero where there is no cell.
    inverse: Vec<f64>,
    /// Wet part of each row, from the first to the last.
    spans: Vec<Range<usize>>,
    right: Vec<f64>,
    x: Vec<f64>,
    rest: Vec<f64>,
}

/// The grid of the cells and those above it.
#[derive(Debug, Clone, Default)]
pub(super) struct Coarser {
    levels: Vec<Level>,
    used: usize,
}

/// Sweeps there and back on the coarsest grid.
const COARSEST: usize = 4;

impl Level {
    fn empty(&mut self, frame: Frame) {
        let n = frame.places();
        for v in [&mut self.west, &mut self.south, &mut self.diagonal] {
            v.clear();
            v.resize(n, 0.0);
        }
        // Of these only spans are used; what lies beyond meets no conductance.
        if self.frame != frame {
            for v in [&mut self.right, &mut self.x, &mut self.rest] {
                v.clear();
                v.resize(n, 0.0);
            }
        }
        self.frame = frame;
    }

    /// Spans and reciprocals of what has a diagonal.
    fn look(&mut self) {
        let Frame { count, width } = self.frame;
        self.spans.clear();
        self.spans.resize(count[1], 0..0);
        self.inverse.clear();
        self.inverse.extend(self.diagonal.iter().map(|d| if *d > 0.0 { d.recip() } else { 0.0 }));
        for (j, span) in self.spans.iter_mut().enumerate() {
            let start = (j + 1) * width + 1;
            let row = &self.diagonal[start..start + count[0]];
            if let (Some(first), Some(last)) =
                (row.iter().position(|d| *d > 0.0), row.iter().rposition(|d| *d > 0.0))
            {
                *span = start + first..start + last + 1;
            } else {
                *span = start..start;
            }
        }
    }

    /// Begins at nothing.
    fn clear(&mut self) {
        for span in &self.spans {
            self.x[span.clone()].fill(0.0);
        }
    }

    /// The first sweep of red places, from nothing.
    fn begin(&mut self) {
        for (j, span) in self.spans.iter().enumerate() {
            let column = span.start - (j + 1) * self.frame.width - 1;
            let from = (span.start + (column + j) % 2).min(span.end);
            let part = from..span.end;
            let own = self.x[part.clone()].iter_mut().zip(&self.inverse[part.clone()]).zip(&self.right[part]);
            own.step_by(2).for_each(|((x, i), b)| *x = i * b);
        }
    }

    /// Sets the places of one colour to what their neighbours ask for.
    fn relax(&mut self, colour: usize) {
        let width = self.frame.width;
        for (j, span) in self.spans.iter().enumerate() {
            let column = span.start - (j + 1) * width - 1;
            let from = span.start + (column + j + colour) % 2;
            if from >= span.end {
                continue;
            }
            let length = span.end - from;
            let (inverse, right) = (&self.inverse[from..][..length], &self.right[from..][..length]);
            let (w, e) = (&self.west[from..][..length], &self.west[from + 1..][..length]);
            let (s, n) = (&self.south[from..][..length], &self.south[from + width..][..length]);
            let (below, rest) = self.x.split_at_mut(from - 1);
            let (here, above) = rest.split_at_mut(length + 2);
            let xs = &below[from - width..][..length];
            // The row above begins `width` after this one.
            let xn = &above[width - length - 1..][..length];
            let mut k = 0;
            while k < length {
                let around = w[k] * here[k] + e[k] * here[k + 2] + s[k] * xs[k] + n[k] * xn[k];
                here[k + 1] = inverse[k] * (right[k] + around);
                k += 2;
            }
        }
    }

    /// What is left of the right side.
    fn residual(&mut self) {
        let matrix = [&self.west[..], &self.south[..], &self.diagonal[..]];
        self.frame.product(&self.spans, matrix, &self.x, &mut self.rest);
        for span in &self.spans {
            let (rest, right) = (&mut self.rest[span.clone()], &self.right[span.clone()]);
            rest.iter_mut().zip(right).for_each(|(r, b)| *r = b - *r);
        }
    }
}

impl Coarser {
    /// The wet part of each row.
    pub fn spans(&self) -> &[Range<usize>] {
        self.levels.first().map_or(&[], |l| &l.spans)
    }

    /// From the first wet place to the last.
    pub fn range(&self) -> Range<usize> {
        let mut wet = self.spans().iter().filter(|s| !s.is_empty());
        let Some(first) = wet.next() else { return 0..0 };
        first.start..wet.next_back().unwrap_or(first).end
    }

    /// Makes the grids for a matrix (west, south, diagonal).
    pub fn make(&mut self, frame: Frame, [west, south, diagonal]: [&[f64]; 3]) {
        if self.levels.is_empty() {
            self.levels.push(Level::default());
        }
        let first = &mut self.levels[0];
        first.empty(frame);
        let n = frame.places();
        first.west.copy_from_slice(&west[..n]);
        first.south.copy_from_slice(&south[..n]);
        first.diagonal.copy_from_slice(&diagonal[..n]);
        first.look();
        self.used = 1;
        loop {
            let count = self.levels[self.used - 1].frame.count;
            if count[0].max(count[1]) <= 3 {
                break;
            }
            if self.levels.len() == self.used {
                self.levels.push(Level::default());
            }
            let (fine, coarse) = self.levels.split_at_mut(self.used);
            let (fine, coarse) = (&fine[self.used - 1], &mut coarse[0]);
            coarse.empty(Frame::of(count.map(|c| c.div_ceil(2))));
            gather(fine, coarse);
            coarse.look();
            self.used += 1;
        }
    }

    /// One cycle: about the pressures that belong to a right side. What lies beyond the cells is left alone.
    pub fn cycle(&mut self, right: &[f64], x: &mut [f64]) {
        let range = self.range();
        self.levels[0].right[range.clone()].copy_from_slice(&right[range.clone()]);
        self.levels[0].clear();
        down_and_up(&mut self.levels[..self.used], 1);
        x[range.clone()].copy_from_slice(&self.levels[0].x[range]);
    }
}

/// Betters the pressures of the first of these grids with the help of the others, each of which is visited twice from the one below
/// it but for the first.
fn down_and_up(levels: &mut [Level], visits: usize) {
    let Some((fine, above)) = levels.split_first_mut() else { return };
    if above.is_empty() {
        for colour in (0..COARSEST).flat_map(|_| [0, 1]).chain((0..COARSEST).flat_map(|_| [1, 0])) {
            fine.relax(colour);
        }
        return;
    }
    for visit in 0..visits {
        if visit == 0 {
            fine.begin()
        } else {
            fine.relax(0)
        }
        fine.relax(1);
        fine.residual();
        let coarse = &mut above[0];
        coarse.clear();
        for span in &coarse.spans {
            coarse.right[span.clone()].fill(0.0);
        }
        for (j, span) in fine.spans.iter().enumerate() {
            let start = (j + 1) * fine.frame.width + 1;
            let to = (j / 2 + 1) * coarse.frame.width + 1;
            for at in span.clone() {
                coarse.right[to + (at - start) / 2] += fine.rest[at];
            }
        }
        down_and_up(above, 2);
        let coarse = &above[0];
        for (j, span) in fine.spans.iter().enumerate() {
            let start = (j + 1) * fine.frame.width + 1;
            let from = (j / 2 + 1) * coarse.frame.width + 1;
            for at in span.clone() {
                fine.x[at] += coarse.x[from + (at - start) / 2];
            }
        }
        fine.relax(1);
        fine.relax(0);
    }
}

/// The conductances of the next coarser grid.
fn gather(fine: &Level, coarse: &mut Level) {
    let width = fine.frame.width;
    for (j, span) in fine.spans.iter().enumerate() {
        let start = (j + 1) * width + 1;
        let to = (j / 2 + 1) * coarse.frame.width + 1;
        for at in span.clone() {
            if fine.diagonal[at] <= 0.0 {
                continue;
            }
            let i = at - start;
            let own = to + i / 2;
            let (w, s) = (fine.west[at], fine.south[at]);
            let beside = w + fine.west[at + 1] + s + fine.south[at + width];
            // What leaves the system here.
            coarse.diagonal[own] += 0.5 * (fine.diagonal[at] - beside).max(0.0);
            if i.is_multiple_of(2) && w > 0.0 {
                coarse.west[own] += 0.5 * w;
                coarse.diagonal[own] += 0.5 * w;
                coarse.diagonal[own - 1] += 0.5 * w;
            }
            if j.is_multiple_of(2) && s > 0.0 {
                coarse.south[own] += 0.5 * s;
                coarse.diagonal[own] += 0.5 * s;
                coarse.diagonal[own - coarse.frame.width] += 0.5 * s;
            }
        }
    }
    // A place that nothing holds is left alone.
    let holds = fine.diagonal.iter().fold(0.0_f64, |m, d| m.max(*d)) * 1e-14;
    coarse.diagonal.iter_mut().filter(|d| **d < holds).for_each(|d| *d = 0.0);
}
