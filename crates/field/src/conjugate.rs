//! Symmetric positive definite systems by conjugate gradients, for a matrix near one whose inverse is at hand.
//!
//! M. R. Hestenes, E. Stiefel, J. Res. Natl. Bur. Stand. 49 (1952) 409, with a preconditioner. The start is the best
//! sum of given vectors, solutions of like systems for instance.

use crate::NoConvergence;

/// A solution and the number of steps to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// The solution.
    pub x: Vec<f64>,
    /// Steps, each one product with the matrix and one with the preconditioner.
    pub steps: usize,
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

fn add(to: &mut [f64], factor: f64, from: &[f64]) {
    to.iter_mut().zip(from).for_each(|(a, b)| *a += factor * b);
}

/// Solves `times(x) = right`. `near` applies the inverse of a like matrix. It ends where the error in energy, as that
/// matrix measures it, is below the share `tolerance` of the solution's.
///
/// # Errors
/// [`NoConvergence::TooSlow`] after `most` steps, or before where the pace so far needs more;
/// [`NoConvergence::NotFinite`] where a product is not finite, and what
/// `near` says.
pub fn solve(
    times: impl Fn(&[f64]) -> Vec<f64>,
    near: impl Fn(&[f64]) -> Result<Vec<f64>, NoConvergence>,
    right: &[f64],
    start: &[Vec<f64>],
    tolerance: f64,
    most: usize,
) -> Result<Found, NoConvergence> {
    let (mut x, mut rest) = (vec![0.0; right.len()], right.to_vec());
    // The given vectors are made orthogonal in energy, one after the other.
    let mut basis: Vec<(Vec<f64>, Vec<f64>)> = Vec::new();
    for v in start {
        let (mut v, mut image) = (v.clone(), times(v));
        let whole = dot(&v, &image);
        for (w, other) in &basis {
            let share = dot(other, &v);
            add(&mut v, -share, w);
            add(&mut image, -share, other);
        }
        let energy = dot(&v, &image);
        if energy > 1e-18 * whole {
            let scale = energy.sqrt().recip();
            v.iter_mut().chain(&mut image).for_each(|e| *e *= scale);
            let share = dot(&v, &rest);
            add(&mut x, share, &v);
            add(&mut rest, -share, &image);
            basis.push((v, image));
        }
    }
    let mut z = near(&rest)?;
    let (mut along, mut left) = (z.clone(), dot(&rest, &z));
    let first = left;
    for steps in 0..=most {
        if !left.is_finite() {
            return Err(NoConvergence::NotFinite);
        }
        let energy = dot(&x, right);
        if left <= 0.0 || (steps > 0 || !basis.is_empty()) && left <= tolerance * tolerance * energy {
            return Ok(Found { x, steps });
        }
        if steps >= 3 {
            let pace = (left / first).ln() / steps as f64;
            let missing = (tolerance * tolerance * energy / left).ln();
            if !(pace < 0.0 && missing / pace <= (most - steps) as f64) {
                return Err(NoConvergence::TooSlow);
            }
        }
        let image = times(&along);
        let step = left / dot(&along, &image);
        add(&mut x, step, &along);
        add(&mut rest, -step, &image);
        z = near(&rest)?;
        let next = dot(&rest, &z);
        let turn = next / left;
        along.iter_mut().zip(&z).for_each(|(a, z)| *a = z + turn * *a);
        left = next;
    }
    Err(NoConvergence::TooSlow)
}

/// The same from nothing, for a matrix so near that a few steps do: it ends too where the pace so far lets the next error fall
/// below half the tolerance, so that the last product with `near`, which only told, is left out.
///
/// # Errors
/// As [`solve`], but for the pace.
pub fn solve_at_pace(
    times: impl Fn(&[f64]) -> Vec<f64>,
    near: impl Fn(&[f64]) -> Result<Vec<f64>, NoConvergence>,
    right: &[f64],
    tolerance: f64,
    most: usize,
) -> Result<Found, NoConvergence> {
    let (mut x, mut rest) = (vec![0.0; right.len()], right.to_vec());
    let mut along = near(&rest)?;
    let mut left = dot(&rest, &along);
    // Energy of the solution so far, and by how much the error fell in the last step.
    let (mut energy, mut fell) = (0.0, f64::INFINITY);
    for steps in 0..most {
        if !left.is_finite() {
            return Err(NoConvergence::NotFinite);
        }
        if left <= tolerance * tolerance * energy || left == 0.0 {
            return Ok(Found { x, steps });
        }
        let image = times(&along);
        let step = left / dot(&along, &image);
        add(&mut x, step, &along);
        energy += step * left;
        if left * fell <= 0.25 * tolerance * tolerance * energy {
            return Ok(Found { x, steps: steps + 1 });
        }
        add(&mut rest, -step, &image);
        let z = near(&rest)?;
        let next = dot(&rest, &z);
        let turn = next / left;
        along.iter_mut().zip(&z).for_each(|(a, z)| *a = z + turn * *a);
        (left, fell) = (next, turn);
    }
    Err(NoConvergence::TooSlow)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(x: &[f64]) -> Vec<f64> {
        let at = |k: usize| x.get(k).copied().unwrap_or(0.0);
        (0..x.len())
            .map(|k| (2.5 + 0.1 * (k % 3) as f64) * x[k] - at(k.wrapping_sub(1)) - at(k + 1))
            .collect()
    }

    #[test]
    fn a_chain_of_springs_is_solved_from_a_plain_diagonal() {
        let known: Vec<f64> = (0..50).map(|k| (k as f64).sin()).collect();
        let near = |r: &[f64]| Ok(r.iter().map(|v| v / 2.6).collect());
        let found = solve(line, near, &line(&known), &[], 1e-12, 60).unwrap();
        assert!(found.steps > 10);
        assert!(found.x.iter().zip(&known).all(|(a, b)| (a - b).abs() < 1e-10));
        assert_eq!(solve(line, near, &line(&known), &[], 1e-12, 5).err(), Some(NoConvergence::TooSlow));
        let nan = |_: &[f64]| Ok(vec![f64::NAN; 50]);
        assert_eq!(solve(line, nan, &line(&known), &[], 1e-12, 5).err(), Some(NoConvergence::NotFinite));
    }

    #[test]
    fn at_its_pace_the_error_is_below_the_tolerance() {
        let known: Vec<f64> = (0..50).map(|k| (0.3 * k as f64).sin()).collect();
        // A matrix whose inverse is at hand but for a few parts in a hundred.
        let matrix =
            |x: &[f64]| x.iter().enumerate().map(|(k, v)| v * (1.0 + 0.03 * (k as f64).cos())).collect();
        for tolerance in [1e-2, 1e-3, 1e-6] {
            let found = solve_at_pace(matrix, |r| Ok(r.to_vec()), &matrix(&known), tolerance, 12).unwrap();
            let off: Vec<f64> = found.x.iter().zip(&known).map(|(a, b)| a - b).collect();
            let energy = |v: &[f64]| dot(v, &matrix(v)).sqrt();
            assert!(
                energy(&off) <= tolerance * energy(&known),
                "{tolerance} {}",
                energy(&off) / energy(&known)
            );
            let slow = solve(matrix, |r| Ok(r.to_vec()), &matrix(&known), &[], tolerance, 12).unwrap();
            assert!(found.steps <= slow.steps);
        }
        let nothing = solve_at_pace(matrix, |r| Ok(r.to_vec()), &[0.0; 50], 1e-3, 12).unwrap();
        assert_eq!((nothing.steps, nothing.x), (0, vec![0.0; 50]));
    }

    #[test]
    fn a_sum_of_what_is_given_needs_no_step() {
        let one: Vec<f64> = (0..20).map(|k| k as f64).collect();
        let two: Vec<f64> = (0..20).map(|k| (k * k % 7) as f64).collect();
        let known: Vec<f64> = one.iter().zip(&two).map(|(a, b)| 2.0 * a - 3.0 * b).collect();
        let near = |r: &[f64]| Ok(r.to_vec());
        let start = [one.clone(), one, two];
        let found = solve(line, near, &line(&known), &start, 1e-10, 60).unwrap();
        assert_eq!(found.steps, 0);
        assert!(found.x.iter().zip(&known).all(|(a, b)| (a - b).abs() < 1e-8));
        assert_eq!(solve(line, near, &[0.0; 20], &start, 1e-10, 60).unwrap().x, vec![0.0; 20]);
    }
}
