//! Surface energy from contact angles, and the angle that a liquid of known parts makes on such a surface.
//!
//! [`owens_wendt`] splits the energy into dispersive and polar parts from two or more probe liquids, [`acid_base`] into
//! an apolar, an electron-accepting and an electron-donating part from three; [`rough`] says what roughness and patches
//! do to an angle; [`mod@drop`] reads an angle from the shape of a small drop.

pub mod acid_base;
pub mod drop;
mod liquids;
pub mod owens_wendt;
pub mod rough;

pub use liquids::{ProbeLiquid, probe_liquid, probe_liquid_names};

use facedown_field::NoConvergence;

/// Parts of a surface energy, J/m2 (or N/m of a liquid).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parts {
    /// Dispersive part.
    pub dispersive: f64,
    /// Polar part.
    pub polar: f64,
}

impl Parts {
    /// Both together.
    pub fn total(self) -> f64 {
        self.dispersive + self.polar
    }
}

/// Why readings give no surface energy.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoEnergy {
    /// Fewer liquids than unknowns.
    #[error("{given} probe liquids were read; the method needs {needed} different ones")]
    TooFew {
        /// Liquids given.
        given: usize,
        /// Liquids needed.
        needed: usize,
    },
    /// The liquids are too alike.
    #[error(
        "the probe liquids are too alike to tell the parts apart; add one that is apolar, such as diiodomethane"
    )]
    Alike,
    /// An angle or a liquid that does not exist.
    #[error("an angle outside 0 to 180 deg, or a liquid without surface tension, was read")]
    NotPhysical,
}

impl From<NoConvergence> for NoEnergy {
    fn from(_: NoConvergence) -> Self {
        NoEnergy::Alike
    }
}

/// Work of adhesion of a liquid of surface tension `tension` (N/m) at the contact angle (rad), J/m2:
/// `tension (1 + cos angle)` (Young 1805, Dupre 1869).
pub fn work_of_adhesion(tension: f64, angle_rad: f64) -> f64 {
    tension * (1.0 + angle_rad.cos())
}

/// The contact angle of a liquid on a solid, rad, by the geometric mean of their parts: `tension (1 + cos angle) =
/// 2 sqrt(dd) + 2 sqrt(pp)` (D. K. Owens and R. C. Wendt, J. Appl. Polym. Sci. 13 (1969) 1741, eq. 4). Zero where the
/// liquid would spread.
pub fn predicted_angle(solid: Parts, liquid: Parts) -> f64 {
    let adhesion = 2.0
        * ((solid.dispersive * liquid.dispersive).max(0.0).sqrt()
            + (solid.polar * liquid.polar).max(0.0).sqrt());
    (adhesion / liquid.total() - 1.0).clamp(-1.0, 1.0).acos()
}

/// Energy of the interface of a solid and a liquid, J/m2, by the same mean:
/// `s + l - 2 sqrt(dd) - 2 sqrt(pp)`.
pub fn interface_energy(solid: Parts, liquid: Parts) -> f64 {
    let root = |a: f64, b: f64| (a * b).max(0.0).sqrt();
    solid.total() + liquid.total()
        - 2.0 * (root(solid.dispersive, liquid.dispersive) + root(solid.polar, liquid.polar))
}

/// Work of adhesion of a resin on a solid under water, J/m2; negative where water displaces the joint (D. H. Kaelble,
/// J. Adhesion 2 (1970) 66).
pub fn adhesion_in_water(solid: Parts, resin: Parts, water: Parts) -> f64 {
    interface_energy(solid, water) + interface_energy(resin, water) - interface_energy(solid, resin)
}

#[cfg(test)]
mod tests {
    use super::*;

    proptest::proptest! {
        #[test]
        fn a_predicted_angle_gives_back_the_parts(d in 0.01..0.06_f64, p in 0.0..0.04_f64) {
            let solid = Parts { dispersive: d, polar: p };
            let (water, oil) = (Parts { dispersive: 0.0218, polar: 0.051 }, Parts { dispersive: 0.0508, polar: 0.0 });
            let angles = [predicted_angle(solid, water), predicted_angle(solid, oil)];
            proptest::prop_assume!(angles.iter().all(|a| *a > 1e-3));
            let read = |l: Parts, angle_rad| owens_wendt::Read { liquid: l, angle_rad, spread_rad: 0.02 };
            let found = owens_wendt::fit(&[read(water, angles[0]), read(oil, angles[1])]).unwrap();
            proptest::prop_assert!((found.parts.dispersive - d).abs() < 1e-9 && (found.parts.polar - p).abs() < 1e-8);
            let itself = predicted_angle(water, water);
            proptest::prop_assert!(itself < 1e-6);
        }
    }

    #[test]
    fn water_displaces_a_resin_from_a_polar_solid_and_not_from_an_apolar_one() {
        let water = Parts { dispersive: 0.0218, polar: 0.051 };
        let resin = Parts { dispersive: 0.038, polar: 0.006 };
        let apolar = Parts { dispersive: 0.04, polar: 0.001 };
        let polar = Parts { dispersive: 0.04, polar: 0.2 };
        assert!(adhesion_in_water(apolar, resin, water) > 0.0);
        assert!(adhesion_in_water(polar, resin, water) < 0.0);
    }
}
