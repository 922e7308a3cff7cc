//! Angles between the places of readings, as a random surface.
//!
//! Ordinary kriging (G. Matheron 1963; N. Cressie, Statistics for Spatial Data, 1993, sec. 3.2): an unknown mean, and about it a
//! surface whose covariance falls with distance `d` as `v (1 + t) exp(-t)`, `t = sqrt(3) d / length` (B. Matern 1960,
//! smoothness 3/2: surfaces with a slope but without more), readings with their own variance on top. Variance and length
//! are those of the largest restricted likelihood (H. D. Patterson and R. Thompson, Biometrika 58 (1971) 545), which
//! lets the mean be free. The work grows with the cube of the number of readings.

use super::{NoMap, Placed, check};
use facedown_field::dense::Cholesky;
use std::f64::consts::TAU;

/// Most readings of one map.
pub const MOST_READINGS: usize = 400;
/// Fewest readings that a covariance can be fitted to.
pub const FEWEST_READINGS: usize = 5;

/// How alike the angle is at two places.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Covariance {
    /// Variance of the surface about its mean, rad2.
    pub variance: f64,
    /// Length over which it changes, m.
    pub length_m: f64,
}

impl Covariance {
    /// Covariance of two places, rad2.
    pub fn of(&self, a: [f64; 2], b: [f64; 2]) -> f64 {
        let t = 3.0_f64.sqrt() * (a[0] - b[0]).hypot(a[1] - b[1]) / self.length_m;
        self.variance * (1.0 + t) * (-t).exp()
    }
}

/// An angle with its uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// Angle, rad; never outside 0 to pi.
    pub angle_rad: f64,
    /// One standard deviation, rad: of the surface, without the spread of a further reading.
    pub spread_rad: f64,
}

/// A map of the face.
#[derive(Debug, Clone)]
pub struct AngleMap {
    places: Vec<[f64; 2]>,
    covariance: Covariance,
    mean: f64,
    mean_variance: f64,
    factor: Cholesky,
    /// Inverse covariance times the readings less their mean, and times ones.
    weights: Vec<f64>,
    ones: Vec<f64>,
    likelihood: f64,
}

impl AngleMap {
    /// The map with a covariance that is given.
    ///
    /// # Errors
    /// [`NoMap`]: no readings, too many, or a number that makes no sense.
    pub fn with(readings: &[Placed], covariance: Covariance) -> Result<AngleMap, NoMap> {
        use facedown_evidence::input::within;
        check(readings)?;
        within("the variance of the surface", covariance.variance, 1e-12, 10.0, "from 1e-12 to 10 rad2")?;
        within("the length of the covariance", covariance.length_m, 1e-9, 1e3, "from 1 nm to 1 km")?;
        match readings.len() {
            0 => return Err(NoMap::TooFew { what: "a map", given: 0, needed: 1 }),
            n if n > MOST_READINGS => return Err(NoMap::TooMany { given: n, most: MOST_READINGS }),
            _ => {}
        }
        solved(readings, covariance)
    }

    /// The map with the covariance of the largest restricted likelihood: lengths from a fifth of the shortest distance of two
    /// places to five times the longest, standard deviations from a hundredth of a degree to a radian.
    ///
    /// # Errors
    /// [`NoMap`]: fewer than [`FEWEST_READINGS`] or more than [`MOST_READINGS`] readings, all at one place, or a number that
    /// makes no sense.
    pub fn fitted(readings: &[Placed]) -> Result<AngleMap, NoMap> {
        check(readings)?;
        let n = readings.len();
        if n < FEWEST_READINGS {
            return Err(NoMap::TooFew { what: "a fitted map", given: n, needed: FEWEST_READINGS });
        }
        if n > MOST_READINGS {
            return Err(NoMap::TooMany { given: n, most: MOST_READINGS });
        }
        let pairs = (0..n).flat_map(|i| (0..i).map(move |j| (i, j)));
        let apart = pairs.map(|(i, j)| {
            let (a, b) = (readings[i].place_m, readings[j].place_m);
            (a[0] - b[0]).hypot(a[1] - b[1])
        });
        let (least, most) =
            apart.filter(|d| *d > 0.0).fold((f64::INFINITY, 0.0_f64), |(l, m), d| (l.min(d), m.max(d)));
        if most == 0.0 {
            return Err(NoMap::OnePlace);
        }
        let lengths = [(0.2 * least).ln(), (5.0 * most).ln()];
        let deviations = [1.7e-4_f64.ln(), 0.0];
        let at = |p: [f64; 2]| {
            let inside = [p[0].clamp(lengths[0], lengths[1]), p[1].clamp(deviations[0], deviations[1])];
            let covariance = Covariance { variance: (2.0 * inside[1]).exp(), length_m: inside[0].exp() };
            // Outside of the range the likelihood falls off, so that a search turns back.
            let outside = (p[0] - inside[0]).abs() + (p[1] - inside[1]).abs();
            solved(readings, covariance).map_or(f64::INFINITY, |m| outside - m.likelihood)
        };
        // A coarse look over the whole range, then downhill from the best of it.
        let side = if n > 150 { 5 } else { 9 };
        let step =
            |range: [f64; 2], i: usize| range[0] + (range[1] - range[0]) * (i as f64 + 0.5) / side as f64;
        let grid = (0..side * side).map(|k| [step(lengths, k % side), step(deviations, k / side)]);
        let best = grid.map(|p| (at(p), p)).min_by(|a, b| a.0.total_cmp(&b.0)).map_or([0.0; 2], |b| b.1);
        let found = downhill(at, best, 0.5);
        let inside = [found[0].clamp(lengths[0], lengths[1]), found[1].clamp(deviations[0], deviations[1])];
        solved(readings, Covariance { variance: (2.0 * inside[1]).exp(), length_m: inside[0].exp() })
    }

    /// The angle at a place.
    pub fn at(&self, place_m: [f64; 2]) -> Estimate {
        let near: Vec<f64> = self.places.iter().map(|p| self.covariance.of(*p, place_m)).collect();
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
        let half = self.factor.forward(&near);
        // What the mean itself is uncertain by counts where the place is far from all readings.
        let far = 1.0 - dot(&near, &self.ones);
        let variance = self.covariance.variance - dot(&half, &half) + far * far * self.mean_variance;
        Estimate {
            angle_rad: (self.mean + dot(&near, &self.weights)).clamp(0.0, std::f64::consts::PI),
            spread_rad: variance.max(0.0).sqrt(),
        }
    }

    /// The map at the centres of `columns` x `rows` cells of a rectangle from `lower_left` of a size (m), row by row from
    /// the lower left.
    pub fn grid(&self, lower_left: [f64; 2], size: [f64; 2], columns: usize, rows: usize) -> Vec<Estimate> {
        let at = |k: usize, n: usize, i: usize| lower_left[i] + size[i] * (k as f64 + 0.5) / n as f64;
        (0..columns * rows)
            .map(|k| self.at([at(k % columns, columns, 0), at(k / columns, rows, 1)]))
            .collect()
    }

    /// The covariance.
    pub fn covariance(&self) -> Covariance {
        self.covariance
    }

    /// The mean of the surface and one standard deviation of it, rad.
    pub fn mean(&self) -> Estimate {
        Estimate { angle_rad: self.mean, spread_rad: self.mean_variance.sqrt() }
    }

    /// Logarithm of the restricted likelihood.
    pub fn log_likelihood(&self) -> f64 {
        self.likelihood
    }
}

fn solved(readings: &[Placed], covariance: Covariance) -> Result<AngleMap, NoMap> {
    let n = readings.len();
    let mut rows = vec![0.0; n * n];
    for (i, a) in readings.iter().enumerate() {
        for (j, b) in readings.iter().enumerate().take(i + 1) {
            rows[i * n + j] = covariance.of(a.place_m, b.place_m);
            rows[j * n + i] = rows[i * n + j];
        }
        // Readings without spread at one place would contradict each other; a millionth keeps the system sound.
        rows[i * n + i] += a.spread_rad.powi(2).max(1e-9 * covariance.variance);
    }
    let factor = Cholesky::of(&rows, n)?;
    let angles: Vec<f64> = readings.iter().map(|r| r.angle_rad).collect();
    let ones = factor.solve(&vec![1.0; n]);
    let sum: f64 = ones.iter().sum();
    let mean = ones.iter().zip(&angles).map(|(o, a)| o * a).sum::<f64>() / sum;
    let rest: Vec<f64> = angles.iter().map(|a| a - mean).collect();
    let weights = factor.solve(&rest);
    let square: f64 = weights.iter().zip(&rest).map(|(w, r)| w * r).sum();
    let likelihood =
        -0.5 * (square + factor.log_determinant() + sum.ln() + (n as f64 - 1.0) * TAU.ln() - (n as f64).ln());
    Ok(AngleMap {
        places: readings.iter().map(|r| r.place_m).collect(),
        covariance,
        mean,
        mean_variance: 1.0 / sum,
        factor,
        weights,
        ones,
        likelihood,
    })
}

/// The simplex of J. A. Nelder and R. Mead, Computer J. 7 (1965) 308, in two unknowns; ends when it is a thousandth across.
fn downhill(f: impl Fn([f64; 2]) -> f64, start: [f64; 2], size: f64) -> [f64; 2] {
    let mut corners = [start, [start[0] + size, start[1]], [start[0], start[1] + size]].map(|p| (f(p), p));
    for _ in 0..120 {
        corners.sort_by(|a, b| a.0.total_cmp(&b.0));
        let across =
            (1..3).map(|i| (corners[i].1[0] - corners[0].1[0]).hypot(corners[i].1[1] - corners[0].1[1]));
        if across.fold(0.0, f64::max) < 1e-3 {
            break;
        }
        let middle = [0, 1].map(|i| 0.5 * (corners[0].1[i] + corners[1].1[i]));
        let towards = |t: f64| {
            let p = [0, 1].map(|i| middle[i] + t * (corners[2].1[i] - middle[i]));
            (f(p), p)
        };
        let mirrored = towards(-1.0);
        let next = if mirrored.0 < corners[0].0 {
            let further = towards(-2.0);
            if further.0 < mirrored.0 { Some(further) } else { Some(mirrored) }
        } else if mirrored.0 < corners[1].0 {
            Some(mirrored)
        } else {
            let nearer = towards(if mirrored.0 < corners[2].0 { -0.5 } else { 0.5 });
            (nearer.0 < corners[2].0.min(mirrored.0)).then_some(nearer)
        };
        match next {
            Some(corner) => corners[2] = corner,
            None => {
                let best = corners[0].1;
                for c in &mut corners[1..] {
                    let p = [0, 1].map(|i| 0.5 * (best[i] + c.1[i]));
                    *c = (f(p), p);
                }
            }
        }
    }
    corners.sort_by(|a, b| a.0.total_cmp(&b.0));
    corners[0].1
}

#[cfg(test)]
mod tests {
    use super::*;
    use facedown_raster::render::Noise;

    /// Readings on a smooth invented face with a dirty stripe.
    fn face(n: usize, spread: f64) -> (Vec<Placed>, impl Fn([f64; 2]) -> f64) {
        let truth = |p: [f64; 2]| 0.5 + 0.25 * (-(p[0] - 6e-3).powi(2) / (2.0 * 9e-6)).exp() + 4.0 * p[1];
        let mut noise = Noise::new(21);
        let readings = (0..n)
            .map(|_| {
                let place_m = [15e-3 * noise.uniform(), 15e-3 * noise.uniform()];
                Placed { place_m, angle_rad: truth(place_m) + spread * noise.normal(), spread_rad: spread }
            })
            .collect();
        (readings, truth)
    }

    #[test]
    fn the_map_is_right_within_its_spread_and_less_certain_far_away() {
        let (readings, truth) = face(60, 0.03);
        let map = AngleMap::fitted(&readings).unwrap();
        let grid = map.grid([0.0; 2], [15e-3; 2], 12, 12);
        let pulls: Vec<f64> = grid
            .iter()
            .enumerate()
            .map(|(k, e)| {
                let p = [(k % 12) as f64 + 0.5, (k / 12) as f64 + 0.5].map(|v| v * 15e-3 / 12.0);
                (e.angle_rad - truth(p)) / e.spread_rad
            })
            .collect();
        let square = (pulls.iter().map(|p| p * p).sum::<f64>() / pulls.len() as f64).sqrt();
        assert!(square < 1.3, "{square}");
        assert!(map.at([5.0, 5.0]).spread_rad > 2.0 * map.at([7e-3, 7e-3]).spread_rad);
        // Far from all readings only the mean is left.
        assert!((map.at([9.0, 9.0]).angle_rad - map.mean().angle_rad).abs() < 1e-9);
    }

    #[test]
    fn readings_without_spread_are_met_and_no_covariance_is_likelier() {
        let (readings, _) = face(25, 0.0);
        let map = AngleMap::fitted(&readings).unwrap();
        for r in &readings {
            assert!((map.at(r.place_m).angle_rad - r.angle_rad).abs() < 1e-4);
        }
        let c = map.covariance();
        for (a, b) in [(1.1, 1.0), (0.9, 1.0), (1.0, 1.1), (1.0, 0.9)] {
            let other = Covariance { variance: c.variance * a, length_m: c.length_m * b };
            assert!(
                AngleMap::with(&readings, other).unwrap().log_likelihood() <= map.log_likelihood() + 1e-6
            );
        }
    }

    #[test]
    fn what_gives_no_map_is_refused() {
        let (readings, _) = face(8, 0.02);
        assert_eq!(
            AngleMap::fitted(&readings[..3]).err().map(|e| e.to_string()).unwrap(),
            "3 readings are too few for a fitted map; 5 are needed"
        );
        let one = vec![readings[0]; 6];
        assert!(matches!(AngleMap::fitted(&one), Err(NoMap::OnePlace)));
        let mut wrong = readings.clone();
        wrong[2].angle_rad = 4.0;
        let words = AngleMap::fitted(&wrong).err().unwrap().to_string();
        assert_eq!(words, "the angle of reading 3 is 4; it must be from 0 to 180 deg");
        assert!(matches!(AngleMap::fitted(&vec![readings[0]; 401]), Err(NoMap::TooMany { .. })));
        assert!(AngleMap::with(&readings, Covariance { variance: 0.0, length_m: 1.0 }).is_err());
    }
}
