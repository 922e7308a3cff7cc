//! The gap between two faces that are not flat, as levels that stand for shares of the joints.
//!
//! The mean is taken off, so that the stand-off of an array is its mean gap; tilt must have been taken off already.

use crate::problem::GapMap;

/// A deviation of the gap from its mean, m, and the share of the joints that it stands for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Level {
    /// Deviation; positive where the gap is wider.
    pub deviation: f64,
    /// Share of the joints, 0 to 1.
    pub share: f64,
}

/// The levels of a gap map with its least and largest deviation.
#[derive(Debug, Clone, PartialEq)]
pub struct Levels {
    /// Levels from narrow to wide; the shares add up to one.
    pub levels: Vec<Level>,
    /// Least deviation of any joint, m.
    pub least: f64,
    /// Largest deviation of any joint, m.
    pub most: f64,
}

const BINS: usize = 15;
/// Samples along half of each axis of a bow.
const ALONG: usize = 24;

impl Levels {
    /// Standard deviation over the joints, m.
    pub fn deviation(&self) -> f64 {
        self.levels.iter().map(|l| l.share * l.deviation.powi(2)).sum::<f64>().sqrt()
    }

    /// Puts a gap map into levels.
    pub fn new(map: &GapMap) -> Levels {
        match map {
            GapMap::Flat => Levels::from_samples(&[0.0], None),
            GapMap::Bow { curvature_x, curvature_y, half_width, half_height } => {
                let at = |x: f64, y: f64| {
                    let (x, y) = (x * half_width, y * half_height);
                    0.5 * (curvature_x * x * x + curvature_y * y * y)
                };
                let place = |i: usize| (i as f64 + 0.5) / ALONG as f64;
                let samples: Vec<f64> =
                    (0..ALONG * ALONG).map(|i| at(place(i % ALONG), place(i / ALONG))).collect();
                let corners = [at(0.0, 0.0), at(1.0, 0.0), at(0.0, 1.0), at(1.0, 1.0)];
                Levels::from_samples(&samples, Some(corners))
            }
            GapMap::Samples(samples) => Levels::from_samples(samples, None),
        }
    }

    fn from_samples(samples: &[f64], corners: Option<[f64; 4]>) -> Levels {
        let count = samples.len().max(1) as f64;
        let mean = samples.iter().sum::<f64>() / count;
        let everywhere = || samples.iter().copied().chain(corners.into_iter().flatten());
        let least = everywhere().fold(f64::INFINITY, f64::min) - mean;
        let most = everywhere().fold(f64::NEG_INFINITY, f64::max) - mean;
        let width = (most - least) / BINS as f64;
        if width <= 0.0 || !width.is_finite() {
            return Levels { levels: vec![Level { deviation: 0.0, share: 1.0 }], least: 0.0, most: 0.0 };
        }
        let mut bins = [(0.0, 0.0); BINS];
        for sample in samples {
            let deviation = sample - mean;
            let bin = (((deviation - least) / width) as usize).min(BINS - 1);
            bins[bin].0 += deviation;
            bins[bin].1 += 1.0;
        }
        let levels = bins
            .iter()
            .filter(|(_, number)| *number > 0.0)
            .map(|(sum, number)| Level { deviation: sum / number, share: number / count })
            .collect();
        Levels { levels, least, most }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bow_has_its_corners_and_no_mean() {
        let map = GapMap::Bow { curvature_x: 0.1, curvature_y: 0.1, half_width: 5e-3, half_height: 5e-3 };
        let levels = Levels::new(&map);
        let mean: f64 = levels.levels.iter().map(|l| l.share * l.deviation).sum();
        let shares: f64 = levels.levels.iter().map(|l| l.share).sum();
        assert!(mean.abs() < 1e-15 && (shares - 1.0).abs() < 1e-12);
        // k r^2 / 2 at the corner of a 10 mm square: 2.5 um, a third of it below the mean at the centre.
        assert!((levels.most - levels.least - 2.5e-6).abs() < 1e-15);
        assert!((levels.least + 2.5e-6 / 3.0).abs() < 2e-9);
    }

    #[test]
    fn equal_samples_are_flat() {
        let flat = Levels::new(&GapMap::Flat);
        assert_eq!(Levels::new(&GapMap::Samples(vec![3e-6; 7])), flat);
        let turned = GapMap::Bow { curvature_x: 0.2, curvature_y: -0.2, half_width: 5e-3, half_height: 5e-3 };
        let saddle = Levels::new(&turned);
        assert!((saddle.most + saddle.least).abs() < 1e-12);
    }
}
