//! Fixed Gauss-Legendre rules for several smooth integrands at once.
//!
//! Where the integrand is analytic on the interval (a shape between its ends, a chemical rate over a ramp) a fixed rule
//! of a few dozen nodes reaches rounding error, and integrals that share their work are taken together. Nodes by
//! Newton's method on the three-term recurrence of the Legendre polynomials (Abramowitz and Stegun, Handbook of
//! Mathematical Functions, 1964, 22.7.10 and 25.4.29). A fixed rule knows no error of its own: compare two of them, or
//! [`crate::quadrature::adaptive`].

/// The nodes and weights of one rule on the interval from -1 to 1.
#[derive(Debug, Clone, PartialEq)]
pub struct Rule {
    nodes: Vec<(f64, f64)>,
}

impl Rule {
    /// The rule with `count` nodes (at least one), exact for polynomials up to degree `2 count - 1`.
    pub fn new(count: usize) -> Rule {
        let count = count.max(1);
        let n = count as f64;
        let nodes = (0..count)
            .map(|i| {
                let mut x = (std::f64::consts::PI * (i as f64 + 0.75) / (n + 0.5)).cos();
                let mut slope = 1.0;
                // The cosine starts within the basin of its own root; ten steps are plenty for any count.
                for _ in 0..10 {
                    let (mut before, mut value) = (1.0, x);
                    for k in 2..=count {
                        let k = k as f64;
                        (before, value) = (value, ((2.0 * k - 1.0) * x * value - (k - 1.0) * before) / k);
                    }
                    slope = n * (x * value - before) / (x * x - 1.0);
                    let step = value / slope;
                    x -= step;
                    if step.abs() < 1e-15 {
                        break;
                    }
                }
                (x, 2.0 / ((1.0 - x * x) * slope * slope))
            })
            .collect();
        Rule { nodes }
    }

    /// The integrals from `a` to `b` of the components of `f`.
    pub fn integrate<const N: usize>(&self, f: impl Fn(f64) -> [f64; N], a: f64, b: f64) -> [f64; N] {
        let (centre, half) = (0.5 * (a + b), 0.5 * (b - a));
        let mut sums = [0.0; N];
        for &(x, weight) in &self.nodes {
            for (sum, value) in sums.iter_mut().zip(f(centre + half * x)) {
                *sum += weight * half * value;
            }
        }
        sums
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn polynomials_are_exact_up_to_twice_the_nodes() {
        for count in [1, 2, 3, 5, 8, 16, 33, 64] {
            let rule = Rule::new(count);
            let degree = 2 * count as i32 - 2;
            let [even, odd, one] = rule.integrate(|x| [x.powi(degree), x.powi(degree + 1), 1.0], -1.0, 1.0);
            assert!((even - 2.0 / f64::from(degree + 1)).abs() < 2e-14, "{count}: {even}");
            assert!(odd.abs() < 2e-14 && (one - 2.0).abs() < 2e-14);
        }
    }

    #[test]
    fn known_integrals_and_their_orientation() {
        let rule = Rule::new(24);
        let [exp, root] = rule.integrate(|x| [x.exp(), 1.0 / (1.0 + x * x)], 0.0, 1.0);
        assert!((exp - (1.0_f64.exp() - 1.0)).abs() < 1e-14);
        assert!((root - std::f64::consts::FRAC_PI_4).abs() < 1e-14);
        assert!((rule.integrate(|x| [x], 1.0, 0.0)[0] + 0.5).abs() < 1e-14);
    }
}
