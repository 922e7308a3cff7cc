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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_systems() {
        let x = solve(&[2.0, 1.0, 1.0, 3.0], &[3.0, 5.0]).unwrap();
        assert!((x[0] - 0.8).abs() < 1e-15 && (x[1] - 1.4).abs() < 1e-15);
        assert_eq!(solve(&[1.0, 2.0, 2.0, 4.0], &[1.0, 1.0]), Err(NoConvergence::Singular));
        let line = least_squares(&[1.0, 0.0, 1.0, 1.0, 1.0, 2.0], 2, &[1.0, 3.0, 5.0]).unwrap();
        assert!((line[0] - 1.0).abs() < 1e-12 && (line[1] - 2.0).abs() < 1e-12);
        assert!(least_squares(&[1.0, 1.0, 1.0, 1.0], 2, &[1.0, 2.0]).is_err());
    }
}
