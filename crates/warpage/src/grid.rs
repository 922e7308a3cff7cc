//! Lines that cut the body into rectangles, and the shape functions between two lines.
//!
//! Deflection is cubic between lines with value and slope at each (F. K. Bogner, R. L. Fox, L. A. Schmit 1965 in two
//! directions), so that the slope has no kink; displacement in the plane is quadratic, so that strain may jump where
//! a die ends.

use facedown_field::gauss::Rule;

/// Lines in one direction.
#[derive(Debug, Clone, PartialEq)]
pub struct Lines {
    /// Places, m, rising.
    pub at: Vec<f64>,
    /// Whether the first line is a plane of symmetry.
    pub mirrored: bool,
}

impl Lines {
    /// Lines through every break (sorted here; nearer than a ten-thousandth of the whole counts as one), none farther
    /// apart than `step`.
    pub fn new(mut breaks: Vec<f64>, mirrored: bool, step: f64) -> Lines {
        breaks.sort_by(f64::total_cmp);
        let whole = breaks.last().copied().unwrap_or(0.0) - breaks.first().copied().unwrap_or(0.0);
        let mut at: Vec<f64> = Vec::new();
        for b in breaks {
            match at.last().copied() {
                Some(before) if b - before < 1e-4 * whole => {}
                Some(before) => {
                    let pieces = ((b - before) / step - 1e-9).ceil().max(1.0);
                    let count = pieces as usize;
                    at.extend((1..=count).map(|k| before + (b - before) * k as f64 / pieces));
                }
                None => at.push(b),
            }
        }
        Lines { at, mirrored }
    }

    /// Number of pieces between lines.
    pub fn pieces(&self) -> usize {
        self.at.len() - 1
    }

    /// The piece that holds a place and the place in it from 0 to 1; the nearest piece where it lies outside.
    pub fn find(&self, x: f64) -> (usize, f64) {
        let x = if self.mirrored { x.abs() } else { x };
        let k = self.at[1..self.pieces()].iter().take_while(|&&line| line <= x).count();
        let t = (x - self.at[k]) / (self.at[k + 1] - self.at[k]);
        (k, t.clamp(0.0, 1.0))
    }

    /// Middle of a piece.
    pub fn middle(&self, piece: usize) -> f64 {
        (self.at[piece] + self.at[piece + 1]) / 2.0
    }
}

/// Cubic shape functions of a piece of length `h` at `t` (0 to 1), differentiated `order` times: value and slope at
/// the first line, value and slope at the second.
pub fn cubic(t: f64, h: f64, order: usize) -> [f64; 4] {
    match order {
        0 => [
            1.0 - 3.0 * t * t + 2.0 * t * t * t,
            h * t * (1.0 - t) * (1.0 - t),
            t * t * (3.0 - 2.0 * t),
            h * t * t * (t - 1.0),
        ],
        1 => [
            6.0 * t * (t - 1.0) / h,
            1.0 - 4.0 * t + 3.0 * t * t,
            6.0 * t * (1.0 - t) / h,
            3.0 * t * t - 2.0 * t,
        ],
        _ => {
            [(12.0 * t - 6.0) / (h * h), (6.0 * t - 4.0) / h, (6.0 - 12.0 * t) / (h * h), (6.0 * t - 2.0) / h]
        }
    }
}

/// Quadratic shape functions likewise (orders 0 and 1): first line, middle, second line.
pub fn quadratic(t: f64, h: f64, order: usize) -> [f64; 3] {
    match order {
        0 => [(1.0 - t) * (1.0 - 2.0 * t), 4.0 * t * (1.0 - t), t * (2.0 * t - 1.0)],
        _ => [(4.0 * t - 3.0) / h, (4.0 - 8.0 * t) / h, (4.0 * t - 1.0) / h],
    }
}

/// Integrals over a piece of products of shape functions; index of a function and its order together: 0, 1 quadratic
/// of that order, 2, 3, 4 cubic of order 0, 1, 2.
#[derive(Debug, Clone)]
pub struct Products {
    values: Vec<[[f64; 4]; 4]>,
    sums: [[f64; 4]; 5],
}

fn functions(kind: usize, t: f64, h: f64) -> [f64; 4] {
    match kind {
        0 | 1 => {
            let q = quadratic(t, h, kind);
            [q[0], q[1], q[2], 0.0]
        }
        _ => cubic(t, h, kind - 2),
    }
}

impl Products {
    /// For a piece of length `h`.
    pub fn new(h: f64) -> Products {
        let rule = Rule::new(4);
        let mut values = Vec::with_capacity(25);
        let mut sums = [[0.0; 4]; 5];
        for (a, sum) in sums.iter_mut().enumerate() {
            *sum = rule.integrate(|x| functions(a, x / h, h), 0.0, h);
            for b in 0..5 {
                let mut table = [[0.0; 4]; 4];
                for (i, row) in table.iter_mut().enumerate() {
                    *row = rule.integrate(
                        |x| {
                            let one = functions(a, x / h, h)[i];
                            functions(b, x / h, h).map(|v| v * one)
                        },
                        0.0,
                        h,
                    );
                }
                values.push(table);
            }
        }
        Products { values, sums }
    }

    /// Integrals of function `a` times function `b`.
    pub fn pair(&self, a: usize, b: usize) -> &[[f64; 4]; 4] {
        &self.values[5 * a + b]
    }

    /// Integrals of function `a`.
    pub fn single(&self, a: usize) -> &[f64; 4] {
        &self.sums[a]
    }
}

/// The values of function `kind` (as in [`Products`]) at a place of a piece.
pub fn values(kind: usize, t: f64, h: f64) -> [f64; 4] {
    functions(kind, t, h)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_go_through_every_break() {
        let lines = Lines::new(vec![3.0, 0.0, 10.0, 3.0 + 1e-7], true, 2.0);
        assert_eq!(lines.at.len(), 2 + 4 + 1);
        assert!(lines.at.contains(&3.0));
        assert_eq!(lines.find(-3.5).0, 2);
        assert_eq!(lines.find(99.0), (5, 1.0));
        assert_eq!(lines.find(0.0), (0, 0.0));
    }

    #[test]
    fn shape_functions_carry_a_polynomial() {
        // x^3 over a piece of length 2: values and slopes at its ends.
        let (h, t) = (2.0, 0.3_f64);
        let ends = [0.0, 0.0, 8.0, 12.0];
        let x = h * t;
        for (order, expected) in [(0, x * x * x), (1, 3.0 * x * x), (2, 6.0 * x)] {
            let sum: f64 = cubic(t, h, order).iter().zip(ends).map(|(a, b)| a * b).sum();
            assert!((sum - expected).abs() < 1e-12, "{order}");
        }
        let squares = [0.0, 1.0, 4.0];
        for (order, expected) in [(0, x * x), (1, 2.0 * x)] {
            let sum: f64 = quadratic(t, h, order).iter().zip(squares).map(|(a, b)| a * b).sum();
            assert!((sum - expected).abs() < 1e-12, "{order}");
        }
    }
}
