//! Random numbers that any part of a run can draw by their place in the sequence, the same on every machine.
//!
//! The generator is SplitMix64 (G. L. Steele, D. Lea and C. H. Flood, Fast splittable pseudorandom number generators, OOPSLA
//! 2014, fig. 16 with the constants of the reference program of S. Vigna, 2015). Its state is a counter, so that draw `n` is had without
//! those before it: threads may share one sequence and the outcome does not depend on their number. Good for sampling; not for secrets.

/// A sequence, given by its seed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sequence(u64);

/// The step of the counter: 2^64 over the golden ratio, made odd.
const STEP: u64 = 0x9E37_79B9_7F4A_7C15;

impl Sequence {
    /// The sequence of a seed.
    pub fn new(seed: u64) -> Sequence {
        Sequence(seed)
    }

    /// Whole number at a place of the sequence, from 0.
    pub fn bits(self, place: u64) -> u64 {
        let mut z = self.0.wrapping_add(place.wrapping_add(1).wrapping_mul(STEP));
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Number between 0 and 1, both excluded, at a place of the sequence.
    pub fn uniform(self, place: u64) -> f64 {
        ((self.bits(place) >> 12) as f64 + 0.5) / (1_u64 << 52) as f64
    }

    /// Number of the standard normal distribution at a place of the sequence, by its quantile.
    pub fn normal(self, place: u64) -> f64 {
        crate::distribution::normal_quantile(self.uniform(place)).unwrap_or(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sequence_is_that_of_the_reference_program() {
        // The first numbers of S. Vigna's splitmix64.c from the seed 1234567, as listed at Rosetta Code, Pseudo-random
        // numbers/Splitmix64.
        let sequence = Sequence::new(1_234_567);
        let listed: [u64; 5] = [
            6_457_827_717_110_365_317,
            3_203_168_211_198_807_973,
            9_817_491_932_198_370_423,
            4_593_380_528_125_082_431,
            16_408_922_859_458_223_821,
        ];
        for (place, number) in listed.into_iter().enumerate() {
            assert_eq!(sequence.bits(place as u64), number);
        }
    }

    #[test]
    fn normal_numbers_have_their_mean_and_deviation_and_the_distribution() {
        let n = 20_000;
        let mut drawn: Vec<f64> = (0..n).map(|k| Sequence::new(5).normal(k)).collect();
        let mean = drawn.iter().sum::<f64>() / n as f64;
        let variance = drawn.iter().map(|z| (z - mean).powi(2)).sum::<f64>() / n as f64;
        // Four deviations of mean and variance.
        assert!(
            mean.abs() < 4.0 / (n as f64).sqrt() && (variance - 1.0).abs() < 4.0 * (2.0 / n as f64).sqrt()
        );
        drawn.sort_by(f64::total_cmp);
        // Kolmogorov and Smirnov: below 1.63 / sqrt n with 99 %.
        let gap = drawn
            .iter()
            .enumerate()
            .map(|(k, z)| (crate::distribution::normal_probability(*z) - (k as f64 + 0.5) / n as f64).abs());
        assert!(gap.fold(0.0, f64::max) < 1.63 / (n as f64).sqrt());
    }
}
