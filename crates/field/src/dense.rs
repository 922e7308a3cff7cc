//! Small dense systems of equations, by a general-purpose library.

use crate::NoConvergence;
use nalgebra::{DMatrix, DVector};

/// The solution of `A x = b`, `A` given row by row (n rows of n).
///
/// # Errors
/// [`NoConvergence::Singular`] when the matrix has no inverse in the given precision (or is not square),
/// [`NoConvergence::NotFinite`] when the solution is not finite.
pub fn solve(rows: &[f64], right: &[f64]) -> Result<Vec<f64>, NoConvergence> {
    let n = right.len();
    if rows.len() != n * n {
        return Err(NoConvergence::Singular);
    }
    let x = DMatrix::from_row_slice(n, n, rows)
        .lu()
        .solve(&DVector::from_column_slice(right))
        .ok_or(NoConvergence::Singular)?;
    if x.iter().all(|v| v.is_finite()) { Ok(x.as_slice().to_vec()) } else { Err(NoConvergence::NotFinite) }
}

/// The `x` with the least sum of squares of `A x - b`, `A` given row by row (`right.len()` rows of `columns`), by the
/// singular value decomposition.
///
/// # Errors
/// [`NoConvergence::Singular`] when the columns are not independent or the sizes do not fit.
pub fn least_squares(rows: &[f64], columns: usize, right: &[f64]) -> Result<Vec<f64>, NoConvergence> {
    if columns == 0 || rows.len() != right.len() * columns || right.len() < columns {
        return Err(NoConvergence::Singular);
    }
    let svd = DMatrix::from_row_slice(right.len(), columns, rows).svd(true, true);
    let largest = svd.singular_values.max();
    if svd.singular_values.min().partial_cmp(&(1e-12 * largest)) != Some(std::cmp::Ordering::Greater) {
        return Err(NoConvergence::Singular);
    }
    let x = svd.solve(&DVector::from_column_slice(right), 0.0).map_err(|_| NoConvergence::Singular)?;
    Ok(x.as_slice().to_vec())
}

/// The lower triangle `L` of a symmetric positive definite matrix `L L^T`.
#[derive(Debug, Clone, PartialEq)]
pub struct Cholesky(DMatrix<f64>);

impl Cholesky {
    /// The factor of a matrix given row by row (n rows of n), of which the lower triangle is read.
    ///
    /// # Errors
    /// [`NoConvergence::Singular`] when the matrix is not positive definite in the given precision or not square.
    pub fn of(rows: &[f64], n: usize) -> Result<Cholesky, NoConvergence> {
        if n == 0 || rows.len() != n * n {
            return Err(NoConvergence::Singular);
        }
        let factor = DMatrix::from_row_slice(n, n, rows).cholesky().ok_or(NoConvergence::Singular)?;
        Ok(Cholesky(factor.unpack()))
    }

    /// The solution of `L y = b`. The length of `right` must be that of the matrix; else nothing is solved and it comes back.
    pub fn forward(&self, right: &[f64]) -> Vec<f64> {
        let mut y = DVector::from_column_slice(right);
        if right.len() == self.0.nrows() {
            self.0.solve_lower_triangular_mut(&mut y);
        }
        y.as_slice().to_vec()
    }

    /// The solution of `L L^T x = b`, as [`Cholesky::forward`].
    pub fn solve(&self, right: &[f64]) -> Vec<f64> {
        let mut x = DVector::from_vec(self.forward(right));
        if right.len() == self.0.nrows() {
            self.0.tr_solve_lower_triangular_mut(&mut x);
        }
        x.as_slice().to_vec()
    }

    /// Logarithm of the determinant of the matrix.
    pub fn log_determinant(&self) -> f64 {
        2.0 * self.0.diagonal().iter().map(|d| d.ln()).sum::<f64>()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_systems() {
        let x = solve(&[2.0, 1.0, 1.0, 3.0], &[3.0, 5.0]).unwrap();
        assert!((x[0] - 0.8).abs() < 1e-15 && (x[1] - 1.4).abs() < 1e-15);
        assert_eq!(solve(&[1.0, 2.0, 2.0, 4.0], &[1.0, 1.0]), Err(NoConvergence::Singular));
        let factor = Cholesky::of(&[4.0, 0.0, 2.0, 5.0], 2).unwrap();
        assert_eq!(factor.solve(&[8.0, 12.0]), [1.0, 2.0]);
        assert_eq!(factor.forward(&[8.0, 12.0]), [4.0, 4.0]);
        assert!((factor.log_determinant() - 16.0_f64.ln()).abs() < 1e-15);
        assert_eq!(Cholesky::of(&[1.0, 2.0, 2.0, 1.0], 2), Err(NoConvergence::Singular));
        let line = least_squares(&[1.0, 0.0, 1.0, 1.0, 1.0, 2.0], 2, &[1.0, 3.0, 5.0]).unwrap();
        assert!((line[0] - 1.0).abs() < 1e-12 && (line[1] - 2.0).abs() < 1e-12);
        assert!(least_squares(&[1.0, 1.0, 1.0, 1.0], 2, &[1.0, 2.0]).is_err());
    }
}
