//! Graded tensor-product grids: three rising lists of edges, drawn from the edges of the bodies in them.
//!
//! A line of cells between two given edges is finest where the spacing asked for is finest and grows from there by at
//! most a given ratio from cell to cell, so that a truncation error stays second order where the field is smooth. The
//! spacings are those of a geometric row stretched to end exactly on the edges.

/// Edges of a grid along x, y and z, m, rising.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    edges: [Vec<f64>; 3],
}

/// Why edges make no grid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NotAGrid {
    /// Fewer than two edges along an axis (0, 1, 2 for x, y, z).
    Empty(usize),
    /// An edge is not above the one before it, along the axis, at the index.
    NotRising(usize, usize),
}

impl std::fmt::Display for NotAGrid {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let name = |axis: usize| ["x", "y", "z"][axis.min(2)];
        match self {
            NotAGrid::Empty(axis) => write!(f, "the grid has no cell along {}", name(*axis)),
            NotAGrid::NotRising(axis, index) => {
                write!(
                    f,
                    "edge {index} of the grid along {} does not lie above the one before it",
                    name(*axis)
                )
            }
        }
    }
}

impl std::error::Error for NotAGrid {}

impl Grid {
    /// A grid from its edges along x, y and z, m.
    ///
    /// # Errors
    /// [`NotAGrid`] where an axis has no cell or its edges do not rise.
    pub fn new(edges: [Vec<f64>; 3]) -> Result<Grid, NotAGrid> {
        for (axis, line) in edges.iter().enumerate() {
            if line.len() < 2 {
                return Err(NotAGrid::Empty(axis));
            }
            if let Some(i) =
                line.windows(2).position(|w| !(w[1] > w[0] && w[1].is_finite() && w[0].is_finite()))
            {
                return Err(NotAGrid::NotRising(axis, i + 1));
            }
        }
        Ok(Grid { edges })
    }

    /// Edges along an axis, m.
    pub fn edges(&self, axis: usize) -> &[f64] {
        &self.edges[axis]
    }

    /// Cells along x, y and z.
    pub fn cells(&self) -> [usize; 3] {
        [0, 1, 2].map(|a| self.edges[a].len() - 1)
    }

    /// Width of a cell along an axis, m.
    pub fn width(&self, axis: usize, index: usize) -> f64 {
        self.edges[axis][index + 1] - self.edges[axis][index]
    }

    /// Middle of a cell along an axis, m.
    pub fn middle(&self, axis: usize, index: usize) -> f64 {
        0.5 * (self.edges[axis][index + 1] + self.edges[axis][index])
    }

    /// The cell along an axis that holds a place, the nearest one for a place outside.
    pub fn holding(&self, axis: usize, place: f64) -> usize {
        let line = &self.edges[axis];
        line.partition_point(|e| *e <= place).clamp(1, line.len() - 1) - 1
    }

    /// Volume of a cell, m3.
    pub fn volume(&self, at: [usize; 3]) -> f64 {
        (0..3).map(|a| self.width(a, at[a])).product()
    }

    /// The grid with every cell cut in two along the given axes.
    pub fn halved(&self, axes: [bool; 3]) -> Grid {
        let edges = [0, 1, 2].map(|a| {
            let line = &self.edges[a];
            if !axes[a] {
                return line.clone();
            }
            let mut out = Vec::with_capacity(2 * line.len());
            for w in line.windows(2) {
                out.extend([w[0], 0.5 * (w[0] + w[1])]);
            }
            out.extend(line.last());
            out
        });
        Grid { edges }
    }
}

/// A place that a line of cells must have as an edge, with the spacing wanted there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mark {
    /// Place, m.
    pub at: f64,
    /// Largest cell that touches it, m.
    pub spacing: f64,
}

/// How a line of cells is drawn between its marks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Growth {
    /// Largest ratio of neighbouring cells, above 1.
    pub ratio: f64,
    /// Largest cell, m.
    pub largest: f64,
    /// Edges nearer than this are one, m.
    pub nearest: f64,
}

/// Edges through all marks, finest at them and growing in between.
///
/// Between two marks the spacing wanted at a place is the smaller of the two geometric rows that start at the ends;
/// the number of cells is the integral of its reciprocal, rounded up, and the edges stand where that integral takes
/// whole numbers of equal steps, so that neighbours differ by no more than the ratio. Marks that all but coincide are
/// one, with the finer spacing.
pub fn graded(marks: &[Mark], growth: Growth) -> Vec<f64> {
    let mut marks = marks.to_vec();
    marks.sort_by(|a, b| a.at.total_cmp(&b.at));
    let mut kept: Vec<Mark> = Vec::with_capacity(marks.len());
    for mark in marks {
        match kept.last_mut() {
            Some(last) if mark.at - last.at <= growth.nearest => {
                last.spacing = last.spacing.min(mark.spacing)
            }
            _ => kept.push(mark),
        }
    }
    let rate = growth.ratio.ln().max(1e-9);
    // A fine mark is felt beyond its neighbours: cells may grow from it no faster than the ratio allows.
    let grown = |from: &Mark, to: &Mark| from.spacing + rate * (to.at - from.at).abs();
    for i in 1..kept.len() {
        kept[i].spacing = kept[i].spacing.min(grown(&kept[i - 1], &kept[i]));
    }
    for i in (1..kept.len()).rev() {
        kept[i - 1].spacing = kept[i - 1].spacing.min(grown(&kept[i], &kept[i - 1]));
    }
    let mut edges = Vec::new();
    for pair in kept.windows(2) {
        edges.push(pair[0].at);
        between(pair[0], pair[1], rate, growth.largest, &mut edges);
    }
    edges.extend(kept.last().map(|m| m.at));
    edges
}

/// Edges strictly between two marks. The wanted spacing is `h(x) = min(a + rate x, b + rate (l - x), largest)`.
fn between(from: Mark, to: Mark, rate: f64, largest: f64, edges: &mut Vec<f64>) {
    let length = to.at - from.at;
    let [a, b] = [from.spacing.min(largest), to.spacing.min(largest)];
    // Where each row reaches the largest cell, or the other row.
    let cross = ((b - a) / rate + length) / 2.0;
    let peak = largest.min(a + rate * cross);
    let (left, right) = ((peak - a) / rate, length - (peak - b) / rate);
    let (left, right) = (left.clamp(0.0, length), right.clamp(0.0, length).max(left.clamp(0.0, length)));
    // Cells from the left end to a place: the integral of 1 / h.
    let rows = [(a + rate * left).max(a).ln() - a.ln(), (b + rate * (length - right)).max(b).ln() - b.ln()]
        .map(|r| r / rate);
    let flat = (right - left) / peak;
    let total = rows[0] + flat + rows[1];
    let count = (total - 1e-9).ceil().max(1.0);
    for k in 1..count as usize {
        let s = total * k as f64 / count;
        let x = if s <= rows[0] {
            a * ((rate * s).exp() - 1.0) / rate
        } else if s <= rows[0] + flat {
            left + (s - rows[0]) * peak
        } else {
            length - b * ((rate * (total - s)).exp() - 1.0) / rate
        };
        edges.push(from.at + x);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn lines_keep_their_marks_grow_gently_and_stay_as_fine_as_asked(
            places in proptest::collection::vec((0.0..40e-3_f64, 5e-6..5e-3_f64), 2..8),
            ratio in 1.1..2.0_f64,
        ) {
            let growth = Growth { ratio, largest: 3e-3, nearest: 1e-6 };
            let marks: Vec<Mark> = places.iter().map(|&(at, spacing)| Mark { at, spacing }).collect();
            let edges = graded(&marks, growth);
            prop_assume!(edges.len() >= 2);
            for mark in &marks {
                let near = edges.iter().fold(f64::INFINITY, |m, e| m.min((e - mark.at).abs()));
                prop_assert!(near <= growth.nearest * marks.len() as f64);
            }
            let widths: Vec<f64> = edges.windows(2).map(|w| w[1] - w[0]).collect();
            prop_assert!(widths.iter().all(|w| *w > 0.0 && *w <= growth.largest * (1.0 + 1e-9)));
            // Spacing wanted at any place bounds the cell there; equal shares of the integral are never longer than one.
            for (i, w) in widths.iter().enumerate() {
                for mark in &marks {
                    let far = (edges[i] - mark.at).abs().max((edges[i + 1] - mark.at).abs());
                    prop_assert!(*w <= (mark.spacing + ratio.ln() * far) * (1.0 + 1e-9) + growth.nearest);
                }
            }
        }
    }

    #[test]
    fn one_interval_with_equal_spacing_is_uniform() {
        let growth = Growth { ratio: 1.3, largest: 0.1, nearest: 1e-9 };
        let edges = graded(&[Mark { at: 0.0, spacing: 0.1 }, Mark { at: 1.0, spacing: 0.1 }], growth);
        assert_eq!(edges.len(), 11);
        assert!(edges.windows(2).all(|w| (w[1] - w[0] - 0.1).abs() < 1e-12));
    }

    #[test]
    fn what_is_no_grid_is_refused() {
        let line = vec![0.0, 1.0];
        assert_eq!(Grid::new([line.clone(), vec![0.0], line.clone()]), Err(NotAGrid::Empty(1)));
        assert_eq!(Grid::new([line.clone(), line.clone(), vec![0.0, 0.0]]), Err(NotAGrid::NotRising(2, 1)));
        assert!(Grid::new([vec![0.0, f64::NAN], line.clone(), line]).is_err());
    }
}
