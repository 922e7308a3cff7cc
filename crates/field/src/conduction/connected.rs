//! Pieces of a body that hang together, and which of them have a way to the outside.
//!
//! A piece without a ground has no steady temperature: it takes up heat for ever, and a solver would give it one of
//! infinitely many fields or stall. Pieces are found once, from runs of cells along x joined over y and z (J. E.
//! Hopcroft, J. D. Ullman, SIAM J. Comput. 2 (1973) 294: sets merged under one root), so that a look at a ground costs
//! no more than the faces that it is set on.

use super::body::{Body, Capacities};
use super::strips::Strips;

/// A run of cells along x that exist: first cell, cell after the last, piece.
#[derive(Debug, Clone, Copy)]
struct Run {
    from: u32,
    end: u32,
    piece: u32,
}

/// The pieces of a body.
#[derive(Debug, Clone, Default)]
pub(super) struct Pieces {
    runs: Vec<Run>,
    /// Start of the runs of every row y and height z (y first), one more than those.
    starts: Vec<usize>,
    /// First cell of every piece in the order of the rows.
    first: Vec<[usize; 3]>,
    /// By piece, as last set: whether it has a ground.
    grounded: Vec<bool>,
}

fn root(parents: &mut [u32], mut at: u32) -> u32 {
    while parents[at as usize] != at {
        let above = parents[parents[at as usize] as usize];
        parents[at as usize] = above;
        at = above;
    }
    at
}

impl Pieces {
    pub fn new(strips: &Strips, exists: impl Fn([usize; 3]) -> bool) -> Pieces {
        let [_, ny, nz] = strips.cells;
        let mut runs: Vec<Run> = Vec::new();
        let mut starts = Vec::with_capacity(ny * nz + 1);
        for y in 0..ny {
            for z in 0..nz {
                starts.push(runs.len());
                let [from, end] = strips.span(y, z);
                let mut open = None;
                for x in from..=end {
                    match (open, x < end && exists([x, y, z])) {
                        (None, true) => open = Some(x),
                        (Some(start), false) => {
                            runs.push(Run { from: start as u32, end: x as u32, piece: runs.len() as u32 });
                            open = None;
                        }
                        _ => {}
                    }
                }
            }
        }
        starts.push(runs.len());
        let mut parents: Vec<u32> = (0..runs.len() as u32).collect();
        let mut join = |one: usize, other: usize| {
            let (mut a, mut b) = (starts[one], starts[other]);
            while a < starts[one + 1] && b < starts[other + 1] {
                if runs[a].from < runs[b].end && runs[b].from < runs[a].end {
                    let (p, q) = (root(&mut parents, a as u32), root(&mut parents, b as u32));
                    // The smaller root stays, so that a piece is known by its first run.
                    parents[p.max(q) as usize] = p.min(q);
                }
                if runs[a].end <= runs[b].end { a += 1 } else { b += 1 }
            }
        };
        for y in 0..ny {
            for z in 0..nz {
                if z + 1 < nz {
                    join(y * nz + z, y * nz + z + 1);
                }
                if y + 1 < ny {
                    join(y * nz + z, (y + 1) * nz + z);
                }
            }
        }
        let mut first = Vec::new();
        let mut number = vec![0; runs.len()];
        for row in 0..ny * nz {
            for i in starts[row]..starts[row + 1] {
                let top = root(&mut parents, i as u32) as usize;
                if top == i {
                    number[i] = first.len() as u32;
                    first.push([runs[i].from as usize, row / nz, row % nz]);
                }
                runs[i].piece = number[top];
            }
        }
        let grounded = vec![false; first.len()];
        Pieces { runs, starts, first, grounded }
    }

    fn of(&self, nz: usize, [x, y, z]: [usize; 3]) -> Option<usize> {
        let runs = self.runs.get(self.starts[y * nz + z]..self.starts[y * nz + z + 1])?;
        let at = runs.partition_point(|r| (r.end as usize) <= x);
        runs.get(at).filter(|r| r.from as usize <= x).map(|r| r.piece as usize)
    }
}

impl Body {
    /// Pieces of the body that hang together.
    pub fn pieces(&self) -> usize {
        self.pieces.first.len()
    }

    /// A cell of a piece of the body that has no ground, as last set: no face of the piece has a film, and no cell of it
    /// takes up heat over a step. Such a piece has no steady temperature, and [`Body::solve`] refuses it. `None` where
    /// every piece has a way out. Without a ground set, that is the first cell of the body.
    pub fn stranded(&self) -> Option<[usize; 3]> {
        self.pieces.grounded.iter().position(|g| !g).map(|piece| self.pieces.first[piece])
    }

    /// Marks the pieces that faces or capacities ground.
    pub(super) fn mark_grounded(&mut self, shift: Option<(f64, &Capacities)>) {
        let [_, ny, nz] = self.grid.cells();
        let mut grounded = vec![false; self.pieces.first.len()];
        let mut left = grounded.len();
        let mut mark = |piece: usize| {
            left -= usize::from(!grounded[piece]);
            grounded[piece] = true;
            left > 0
        };
        for (face, conductance) in self.exposed.iter().zip(&self.faces) {
            if *conductance > 0.0
                && let Some(piece) = self.pieces.of(nz, face.cell)
                && !mark(piece)
            {
                break;
            }
        }
        if let Some((_, capacities)) = shift.filter(|(rate, _)| *rate > 0.0) {
            let strips = &self.hierarchy.levels[0].strips;
            'rows: for row in 0..ny * nz {
                for run in &self.pieces.runs[self.pieces.starts[row]..self.pieces.starts[row + 1]] {
                    let takes = |x: u32| {
                        let place = strips.place([x as usize, row / nz, row % nz]);
                        place.is_some_and(|(c, i)| capacities.values[c][i] > 0.0)
                    };
                    if (run.from..run.end).any(takes) && !mark(run.piece as usize) {
                        break 'rows;
                    }
                }
            }
        }
        self.pieces.grounded = grounded;
    }
}
