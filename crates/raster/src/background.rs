//! Uneven illumination as a smooth surface through the pixels that should be alike.

use crate::Grey;
use facedown_field::{NoConvergence, dense};

/// A polynomial of x and y over a picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Surface {
    degree: usize,
    centre: [f64; 2],
    half: [f64; 2],
    factors: Vec<f64>,
}

impl Surface {
    /// Its value at a place.
    pub fn at(&self, x: f64, y: f64) -> f64 {
        let (u, v) = ((x - self.centre[0]) / self.half[0], (y - self.centre[1]) / self.half[1]);
        terms(self.degree, u, v).zip(&self.factors).map(|(t, f)| t * f).sum()
    }
}

fn terms(degree: usize, u: f64, v: f64) -> impl Iterator<Item = f64> {
    (0..=degree).flat_map(move |sum| (0..=sum).map(move |j| u.powi((sum - j) as i32) * v.powi(j as i32)))
}

/// The polynomial of at most `degree` (0 to 4) through the pixels for which `counts(x, y)` holds, by least squares with the
/// weights of Tukey's biweight, so that a minority of brighter or darker pixels does not pull it (A. E. Beaton and J. W.
/// Tukey, Technometrics 16 (1974) 147; cut at 4.685 deviations).
///
/// # Errors
/// [`NoConvergence::Singular`] where too few pixels count to tell the surface.
pub fn surface(
    picture: &Grey,
    degree: usize,
    counts: impl Fn(usize, usize) -> bool,
) -> Result<Surface, NoConvergence> {
    let degree = degree.min(4);
    let (w, h) = (picture.width(), picture.height());
    let half = [0.5 * w as f64, 0.5 * h as f64];
    let number = (degree + 1) * (degree + 2) / 2;
    // A surface of few terms needs no more than some ten thousand pixels.
    let every = ((w * h / 40_000) as f64).sqrt().ceil().max(1.0) as usize;
    let points: Vec<(usize, usize)> = (0..h)
        .step_by(every)
        .flat_map(|y| (0..w).step_by(every).map(move |x| (x, y)))
        .filter(|(x, y)| counts(*x, *y))
        .collect();
    if points.len() < 4 * number {
        return Err(NoConvergence::Singular);
    }
    let mut found = Surface { degree, centre: half, half, factors: vec![0.0; number] };
    let values: Vec<f64> =
        points.iter().map(|(x, y)| f64::from(picture.at(*x as isize, *y as isize))).collect();
    let mut weights = vec![1.0; points.len()];
    for pass in 0..20 {
        let (mut normal, mut right) = (vec![0.0; number * number], vec![0.0; number]);
        for (((x, y), value), weight) in points.iter().zip(&values).zip(&weights) {
            let (u, v) = ((*x as f64 - half[0]) / half[0], (*y as f64 - half[1]) / half[1]);
            let row: Vec<f64> = terms(degree, u, v).collect();
            for (i, a) in row.iter().enumerate() {
                right[i] += weight * a * value;
                for (j, b) in row.iter().enumerate() {
                    normal[i * number + j] += weight * a * b;
                }
            }
        }
        let before = std::mem::replace(&mut found.factors, dense::solve(&normal, &right)?);
        let rest: Vec<f64> =
            points.iter().zip(&values).map(|((x, y), v)| v - found.at(*x as f64, *y as f64)).collect();
        let spread = crate::threshold::middle_and_spread(&rest).map_or(0.0, |(_, s)| s).max(1e-6);
        let cut = 4.685 * spread;
        weights = rest.iter().map(|r| (1.0 - (r / cut).powi(2)).max(0.0).powi(2)).collect();
        let moved = before.iter().zip(&found.factors).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        if pass > 1 && moved < 1e-6 {
            break;
        }
    }
    Ok(found)
}

/// The picture over the surface, so that what should be alike is 1. Where the surface is not above `least`, it is taken
/// as `least`.
pub fn flattened(picture: &Grey, surface: &Surface, least: f64) -> Grey {
    Grey::from_fn(picture.width(), picture.height(), |x, y| {
        let ground = surface.at(x as f64, y as f64).max(least);
        (f64::from(picture.at(x as isize, y as isize)) / ground) as f32
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bright_spots_do_not_pull_the_surface() {
        let ground = |x: usize, y: usize| 0.4 + 0.001 * x as f64 - 0.0005 * y as f64 + 2e-6 * (x * y) as f64;
        let picture = Grey::from_fn(160, 120, |x, y| {
            (ground(x, y) * if (x / 10 + y / 10) % 8 == 0 { 1.6 } else { 1.0 }) as f32
        });
        let found = surface(&picture, 2, |_, _| true).unwrap();
        for (x, y) in [(0, 0), (159, 0), (80, 60), (0, 119), (159, 119)] {
            assert!((found.at(x as f64, y as f64) - ground(x, y)).abs() < 2e-4);
        }
        let flat = flattened(&picture, &found, 0.05);
        assert!((f64::from(flat.at(15, 5)) - 1.0).abs() < 1e-3);
        assert!(surface(&picture, 2, |x, y| x == 3 && y < 5).is_err());
    }
}
