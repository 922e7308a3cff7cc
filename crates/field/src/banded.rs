//! Symmetric positive definite systems whose entries lie near the diagonal, by Cholesky's factorisation within the
//! envelope: row by row, from the first entry of the row to the diagonal.
//!
//! Time grows with the sum of the squares of the row lengths, memory with their sum. Number the unknowns so that
//! neighbours are close.

use crate::NoConvergence;

/// A symmetric matrix, its lower half stored row by row from the first entry to the diagonal.
#[derive(Debug, Clone)]
pub struct Envelope {
    /// Column of the first stored entry of each row.
    first: Vec<usize>,
    /// Place of each row's first entry in `entries`; one more at the end.
    start: Vec<usize>,
    entries: Vec<f64>,
}

/// The Cholesky factor of an [`Envelope`].
#[derive(Debug, Clone)]
pub struct Factor(Envelope);

impl Envelope {
    /// A matrix of zeros in which row `i` reaches down to column `first[i]` (at most `i`; larger values are cut).
    pub fn new(first: &[usize]) -> Envelope {
        let first: Vec<usize> = first.iter().enumerate().map(|(i, &f)| f.min(i)).collect();
        let mut start = Vec::with_capacity(first.len() + 1);
        let mut total = 0;
        start.push(0);
        for (i, f) in first.iter().enumerate() {
            total += i - f + 1;
            start.push(total);
        }
        Envelope { first, start, entries: vec![0.0; total] }
    }

    /// Number of unknowns.
    pub fn len(&self) -> usize {
        self.first.len()
    }

    /// Whether there is no unknown.
    pub fn is_empty(&self) -> bool {
        self.first.is_empty()
    }

    /// Adds to the entry (`i`, `j`) and by symmetry to (`j`, `i`). Entries left of the envelope are ignored in
    /// release and a fault in tests.
    pub fn add(&mut self, i: usize, j: usize, value: f64) {
        let (i, j) = (i.max(j), i.min(j));
        debug_assert!(j >= self.first[i]);
        if j >= self.first[i] {
            self.entries[self.start[i] + j - self.first[i]] += value;
        }
    }

    /// The Cholesky factor.
    ///
    /// # Errors
    /// [`NoConvergence::Singular`] where a pivot falls below 1e-13 of its diagonal entry (the matrix is not positive
    /// definite in this precision), [`NoConvergence::NotFinite`] where an entry is not finite.
    pub fn factor(mut self) -> Result<Factor, NoConvergence> {
        for i in 0..self.len() {
            let (before, rest) = self.entries.split_at_mut(self.start[i]);
            let row = &mut rest[..self.start[i + 1] - self.start[i]];
            let fi = self.first[i];
            for j in fi..i {
                let fj = self.first[j];
                let low = fi.max(fj);
                let other = &before[self.start[j]..self.start[j + 1]];
                let dot = dot(&row[low - fi..j - fi], &other[low - fj..j - fj]);
                row[j - fi] = (row[j - fi] - dot) / other[j - fj];
            }
            let own = &row[..i - fi];
            let diagonal = row[i - fi];
            let pivot = diagonal - dot(own, own);
            if !pivot.is_finite() {
                return Err(NoConvergence::NotFinite);
            }
            if pivot <= 1e-13 * diagonal || pivot <= 0.0 {
                return Err(NoConvergence::Singular);
            }
            row[i - fi] = pivot.sqrt();
        }
        Ok(Factor(self))
    }
}

/// The sum of products of two rows of the same length, in four strands that the processor can run side by side.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut strands = [0.0; 4];
    let (a4, b4) = (a.chunks_exact(4), b.chunks_exact(4));
    let tail: f64 = a4.remainder().iter().zip(b4.remainder()).map(|(x, y)| x * y).sum();
    for (x, y) in a4.zip(b4) {
        for k in 0..4 {
            strands[k] += x[k] * y[k];
        }
    }
    (strands[0] + strands[1]) + (strands[2] + strands[3]) + tail
}

impl Factor {
    /// The solution for one right side.
    ///
    /// # Errors
    /// [`NoConvergence::Singular`] when the sizes do not fit, [`NoConvergence::NotFinite`] when the solution is not
    /// finite.
    pub fn solve(&self, right: &[f64]) -> Result<Vec<f64>, NoConvergence> {
        let m = &self.0;
        if right.len() != m.len() {
            return Err(NoConvergence::Singular);
        }
        let mut x = right.to_vec();
        for i in 0..m.len() {
            let row = &m.entries[m.start[i]..m.start[i + 1]];
            let n = row.len() - 1;
            x[i] = (x[i] - dot(&row[..n], &x[m.first[i]..i])) / row[n];
        }
        for i in (0..m.len()).rev() {
            let row = &m.entries[m.start[i]..m.start[i + 1]];
            let n = row.len() - 1;
            x[i] /= row[n];
            let value = x[i];
            for (entry, below) in row[..n].iter().zip(&mut x[m.first[i]..i]) {
                *below -= entry * value;
            }
        }
        if x.iter().all(|v| v.is_finite()) { Ok(x) } else { Err(NoConvergence::NotFinite) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_band_is_solved_like_a_dense_matrix() {
        let n = 40;
        let first: Vec<usize> = (0..n).map(|i: usize| i.saturating_sub(3 + i % 5)).collect();
        let mut band = Envelope::new(&first);
        let mut rows = vec![0.0; n * n];
        for i in 0..n {
            for j in first[i]..=i {
                let value = if i == j { 20.0 + i as f64 } else { ((i * 7 + j * 3) % 11) as f64 / 11.0 - 0.4 };
                band.add(j, i, value);
                rows[i * n + j] = value;
                rows[j * n + i] = value;
            }
        }
        let right: Vec<f64> = (0..n).map(|i| (i as f64).sin()).collect();
        let x = band.factor().unwrap().solve(&right).unwrap();
        for (a, b) in x.iter().zip(crate::dense::solve(&rows, &right).unwrap()) {
            assert!((a - b).abs() < 1e-14);
        }
    }

    #[test]
    fn an_indefinite_matrix_is_refused() {
        let mut band = Envelope::new(&[0, 0]);
        band.add(0, 0, 1.0);
        band.add(1, 0, 2.0);
        band.add(1, 1, 1.0);
        assert_eq!(band.clone().factor().err(), Some(NoConvergence::Singular));
        band.add(1, 1, f64::NAN);
        assert_eq!(band.factor().err(), Some(NoConvergence::NotFinite));
    }
}
