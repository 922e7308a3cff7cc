//! Positive definite matrices by Cholesky's method within their envelope: each row from its first entry to the diagonal.
//!
//! Rows are factored eight at a time, so that a row above is read once for the eight (the method of A. Jennings, Comput. J. 9
//! (1966) 281, blocked).

use crate::NoConvergence;

/// The lower half of a symmetric matrix.
pub(super) struct Envelope {
    /// First column of each row.
    first: Vec<usize>,
    /// Start of each row in `values`.
    start: Vec<usize>,
    values: Vec<f64>,
}

/// The factor.
pub(super) struct Factor(Envelope);

const ROWS: usize = 8;

fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; 16];
    let (x, y) = (a.chunks_exact(16), b.chunks_exact(16));
    let rest: f64 = x.remainder().iter().zip(y.remainder()).map(|(a, b)| a * b).sum();
    for (x, y) in x.zip(y) {
        for k in 0..16 {
            sums[k] += x[k] * y[k];
        }
    }
    sums.iter().sum::<f64>() + rest
}

impl Envelope {
    /// An empty matrix; `touch` calls its argument with every set of unknowns that are coupled.
    pub fn new(size: usize, touch: impl Fn(&mut dyn FnMut(&[usize]))) -> Envelope {
        let mut first: Vec<usize> = (0..size).collect();
        touch(&mut |set| {
            let Some(least) = set.iter().copied().min() else { return };
            set.iter().for_each(|&i| first[i] = first[i].min(least));
        });
        let mut start = Vec::with_capacity(size + 1);
        let mut end = 0;
        for (i, f) in first.iter().enumerate() {
            start.push(end);
            end += i - f + 1;
        }
        start.push(end);
        Envelope { first, start, values: vec![0.0; end] }
    }

    /// Adds to an entry on or below the diagonal.
    pub fn add(&mut self, row: usize, column: usize, value: f64) {
        self.values[self.start[row] + column - self.first[row]] += value;
    }

    /// Factors.
    pub fn factor(mut self) -> Result<Factor, NoConvergence> {
        let size = self.first.len();
        for top in (0..size).step_by(ROWS) {
            let end = (top + ROWS).min(size);
            let (done, own) = self.values.split_at_mut(self.start[top]);
            let (first, start) = (&self.first, &self.start);
            let base = start[top];
            let least = first[top..end].iter().copied().min().unwrap_or(top);
            for j in least..top {
                let row = &done[start[j]..start[j + 1]];
                for i in (top..end).filter(|&i| first[i] <= j) {
                    let low = first[i].max(first[j]);
                    let mine = start[i] - base;
                    let sum = dot(
                        &own[mine + low - first[i]..mine + j - first[i]],
                        &row[low - first[j]..j - first[j]],
                    );
                    let at = mine + j - first[i];
                    own[at] = (own[at] - sum) / row[j - first[j]];
                }
            }
            for i in top..end {
                for j in first[i].max(top)..=i {
                    let low = first[i].max(first[j]);
                    let (mine, its) = (start[i] - base, start[j] - base);
                    let sum = dot(
                        &own[mine + low - first[i]..mine + j - first[i]],
                        &own[its + low - first[j]..its + j - first[j]],
                    );
                    let at = mine + j - first[i];
                    let rest = own[at] - sum;
                    if j == i {
                        if rest.is_nan() || rest <= 0.0 {
                            return Err(NoConvergence::Singular);
                        }
                        own[at] = rest.sqrt();
                    } else {
                        own[at] = rest / own[its + j - first[j]];
                    }
                }
            }
        }
        Ok(Factor(self))
    }
}

impl Factor {
    /// Solves.
    pub fn solve(&self, right: &[f64]) -> Vec<f64> {
        let e = &self.0;
        let mut x = right.to_vec();
        for i in 0..x.len() {
            let row = &e.values[e.start[i]..e.start[i + 1]];
            let (last, before) = row.split_last().unwrap_or((&1.0, &[]));
            x[i] = (x[i] - dot(before, &x[e.first[i]..i])) / last;
        }
        for i in (0..x.len()).rev() {
            let row = &e.values[e.start[i]..e.start[i + 1]];
            let (last, before) = row.split_last().unwrap_or((&1.0, &[]));
            x[i] /= last;
            let value = x[i];
            x[e.first[i]..i].iter_mut().zip(before).for_each(|(x, l)| *x -= l * value);
        }
        x
    }
}
