//! Pictures from shapes, for specimens and tests: coverage of a pixel by a shape, and repeatable noise.

use crate::Grey;

/// Share of each pixel that a shape covers, by `parts` x `parts` points a pixel.
pub fn covered(width: usize, height: usize, parts: usize, is_in: impl Fn(f64, f64) -> bool) -> Grey {
    let n = parts.max(1);
    let at = |i: usize| (i as f64 + 0.5) / n as f64 - 0.5;
    let (w, h) = (width.max(1), height.max(1));
    // Only pixels near an edge need all their points.
    let coarse: Vec<bool> = (0..=2 * h)
        .flat_map(|y| (0..=2 * w).map(move |x| (x, y)))
        .map(|(x, y)| is_in(0.5 * x as f64 - 0.5, 0.5 * y as f64 - 0.5))
        .collect();
    let row = 2 * w + 1;
    Grey::from_fn(w, h, |x, y| {
        let around = (0..9).map(|k| coarse[(2 * y + k / 3) * row + 2 * x + k % 3]).filter(|c| *c).count();
        match around {
            0 => 0.0,
            9 => 1.0,
            _ => {
                let hits = (0..n * n).filter(|k| is_in(x as f64 + at(k % n), y as f64 + at(k / n))).count();
                hits as f32 / (n * n) as f32
            }
        }
    })
}

/// Repeatable noise: a small generator of its own (G. Marsaglia, Xorshift RNGs, J. Stat. Software 8(14) (2003), the triple 13,
/// 7, 17), so that specimens have the same bytes everywhere.
#[derive(Debug, Clone)]
pub struct Noise(u64);

impl Noise {
    /// A sequence that begins at a seed.
    pub fn new(seed: u64) -> Noise {
        let mut noise = Noise(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x2545_f491_4f6c_dd1d | 1);
        (0..8).for_each(|_| {
            noise.uniform();
        });
        noise
    }

    /// Evenly spread over 0 to 1.
    pub fn uniform(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Normal, mean 0 and deviation 1 (G. E. P. Box and M. E. Muller, Ann. Math. Stat. 29 (1958) 610).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.uniform()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.uniform()).cos()
    }

    /// The picture with normal noise of a standard deviation on every pixel.
    pub fn over(&mut self, picture: &Grey, deviation: f64) -> Grey {
        let values = picture.values().iter().map(|v| v + (deviation * self.normal()) as f32).collect();
        Grey::new(picture.width(), values).unwrap_or_else(|| picture.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coverage_is_the_area() {
        let disc = covered(50, 50, 16, |x, y| (x - 24.3).hypot(y - 25.1) < 17.0);
        let area: f64 = disc.values().iter().map(|v| f64::from(*v)).sum();
        assert!((area / (std::f64::consts::PI * 289.0) - 1.0).abs() < 1e-3);
    }

    #[test]
    fn noise_has_its_deviation_and_is_repeatable() {
        let draws = |seed| {
            let mut noise = Noise::new(seed);
            (0..20_000).map(|_| noise.normal()).collect::<Vec<f64>>()
        };
        let values = draws(5);
        let mean = values.iter().sum::<f64>() / 2e4;
        let square = values.iter().map(|v| v * v).sum::<f64>() / 2e4;
        assert!(mean.abs() < 0.03 && (square - 1.0).abs() < 0.04);
        assert_eq!(values, draws(5));
        assert_ne!(values, draws(6));
    }
}
