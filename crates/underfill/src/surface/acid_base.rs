//! Apolar, electron-accepting and electron-donating part from three probe liquids.
//!
//! C. J. van Oss, M. K. Chaudhury and R. J. Good, Chem. Rev. 88 (1988) 927:
//! `tension (1 + cos angle) = 2 [sqrt(LW LW) + sqrt(s+ l-) + sqrt(s- l+)]`, linear in the square roots of the solid's parts.

use super::{NoEnergy, ProbeLiquid};
use facedown_field::dense;

/// Parts of a solid, J/m2.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AcidBase {
    /// Apolar (Lifshitz-van der Waals) part.
    pub apolar: f64,
    /// Electron-accepting part.
    pub acceptor: f64,
    /// Electron-donating part.
    pub donor: f64,
    /// True where a negative square root came out: the readings contradict each other or the method.
    pub negative_root: bool,
}

impl AcidBase {
    /// Polar part `2 sqrt(acceptor donor)`, J/m2; zero where a root is negative.
    pub fn polar(self) -> f64 {
        if self.negative_root { 0.0 } else { 2.0 * (self.acceptor * self.donor).sqrt() }
    }

    /// Total, J/m2.
    pub fn total(self) -> f64 {
        self.apolar + self.polar()
    }
}

/// Solves for the parts from three or more readings (liquid, angle in rad), by least squares over the roots.
///
/// # Errors
/// [`NoEnergy`] for fewer than three readings, liquids without acid-base parts or too alike, or angles outside 0 to pi.
pub fn solve(reads: &[(&ProbeLiquid, f64)]) -> Result<AcidBase, NoEnergy> {
    if reads.len() < 3 {
        return Err(NoEnergy::TooFew { given: reads.len(), needed: 3 });
    }
    let (mut rows, mut right) = (Vec::new(), Vec::new());
    for (liquid, angle) in reads {
        let (Some(plus), Some(minus)) = (liquid.acceptor_n_m, liquid.donor_n_m) else {
            return Err(NoEnergy::NotPhysical);
        };
        let parts = [liquid.dispersive_n_m, minus, plus];
        if !(0.0..=std::f64::consts::PI).contains(angle)
            || parts.iter().any(|p| !(*p >= 0.0 && p.is_finite()))
        {
            return Err(NoEnergy::NotPhysical);
        }
        rows.extend(parts.map(|p| 2.0 * p.sqrt()));
        right.push(liquid.tension_n_m() * (1.0 + angle.cos()));
    }
    let roots = dense::least_squares(&rows, 3, &right)?;
    let part = |i: usize| roots[i].max(0.0).powi(2);
    Ok(AcidBase {
        apolar: part(0),
        acceptor: part(1),
        donor: part(2),
        negative_root: roots.iter().any(|r| *r < 0.0),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::surface::probe_liquid;

    #[test]
    fn two_liquids_or_three_apolar_ones_are_not_enough() {
        let water = probe_liquid("water").unwrap();
        let oil = probe_liquid("diiodomethane").unwrap();
        assert!(matches!(solve(&[(&water, 1.0), (&oil, 0.5)]), Err(NoEnergy::TooFew { .. })));
        assert_eq!(solve(&[(&oil, 1.0), (&oil, 0.5), (&oil, 0.6)]), Err(NoEnergy::Alike));
        assert_eq!(solve(&[(&oil, 1.0), (&oil, 0.5), (&water, f64::NAN)]), Err(NoEnergy::NotPhysical));
    }
}
