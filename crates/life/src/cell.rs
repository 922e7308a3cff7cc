//! One joint and the underfill of its cell: what share of the gap's displacement comes to the solder.
//!
//! The joint is a column of pillar and solder, the underfill a sleeve beside it. Sheared, both take the displacement of the
//! gap; the joint gives way by its solder, by its pillar (a beam held against turning at both ends) and by the pads, which
//! are rigid discs on an elastic half space (R. D. Mindlin, Compliance of elastic bodies in contact, Journal of Applied
//! Mechanics 16 (1949) 259). The pads feel only what the joint bears beyond the underfill, so a joint of the stuff of the
//! underfill strains like the underfill, exactly; and they feel the less of it the more of the cell the joint covers, by
//! `1 - sqrt(share)`. That factor is an interpolation: it lies between the mean `1 - share` and the
//! `(1 - sqrt(share))^1.5` of flow that narrows in a tube (M. G. Cooper, B. B. Mikic and M. M. Yovanovich, International
//! Journal of Heat and Mass Transfer 12 (1969) 279), and fits finite elements best. Opened, both columns bear on the
//! plates side by side. What the underfill drags along the wall of the joint, or presses on it, is left out.
//!
//! Against finite elements of a cell between half spaces the mean shear of the solder comes out from 15 % too low to 40 %
//! too high and the mean traction of the layer from 30 % too low to 40 % too high; what the opening of the gap does to the
//! solder up to twice too high, in tall solder up to 35 % too low, in solder that does not flow at all down to four tenths
//! (`tests/oracle/test_life.py`).
//!
//! Solder flows, so its modulus here is a secant: [`secant`] gives the one at which the stress of a published law at the
//! mean rate of half a cycle, at both ends, meets the strain. Joints integrated through their cycles by that law show
//! strain ranges from 15 % larger to 20 % smaller.

use crate::joint::Law;
use crate::problem::Attachment;
use std::f64::consts::PI;

/// Poisson ratio of copper (handbook value).
const PILLAR_POISSON: f64 = 0.34;

/// Lateral stiffness of a rigid disc on an elastic half space, `8 G a / (2 - nu)`, N/m (Mindlin 1949).
pub fn disc_stiffness(shear_modulus: f64, poisson: f64, radius: f64) -> f64 {
    8.0 * shear_modulus * radius / (2.0 - poisson)
}

/// The same on a layer of that depth (m) over a stiff base: larger by `1 + a / (2 H)` (G. Gazetas, Soil Dynamics and
/// Earthquake Engineering 2 (1983) 2, table for a stratum over bedrock; from memory).
pub fn disc_on_layer_stiffness(shear_modulus: f64, poisson: f64, radius: f64, depth: f64) -> f64 {
    disc_stiffness(shear_modulus, poisson, radius) * (1.0 + radius / (2.0 * depth))
}

/// Normal stiffness of a rigid disc on an elastic half space, `4 G a / (1 - nu)` (J. Boussinesq 1885; I. N. Sneddon,
/// International Journal of Engineering Science 3 (1965) 47), on a layer of that depth over a stiff base larger by
/// `1 + 1.28 a / H` (Gazetas 1983, from memory), N/m.
pub fn disc_on_layer_normal_stiffness(shear_modulus: f64, poisson: f64, radius: f64, depth: f64) -> f64 {
    4.0 * shear_modulus * radius / (1.0 - poisson) * (1.0 + 1.28 * radius / depth)
}

/// A joint with its share of the area. Lengths in m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// Share of the cell that the joint covers, 0 to 1.
    pub share: f64,
    /// Height of the pillar.
    pub pillar: f64,
    /// Height of the solder.
    pub solder: f64,
    /// Young modulus of the pillar, Pa.
    pub pillar_modulus: f64,
    /// Diameter of the joint.
    pub diameter: f64,
    /// Lateral stiffness of the pads of one joint, N/m; infinite for stiff ones.
    pub stiffness: f64,
    /// The same across the gap.
    pub normal_stiffness: f64,
}

impl Cell {
    /// The cell of an attachment.
    pub fn of(a: &Attachment) -> Cell {
        Cell {
            share: a.joint_share,
            pillar: (a.gap - a.solder_height).max(0.0),
            solder: a.solder_height,
            pillar_modulus: a.pillar_modulus,
            diameter: a.interface_diameter,
            stiffness: a.stiffness.unwrap_or(f64::INFINITY),
            normal_stiffness: a.normal_stiffness.unwrap_or(f64::INFINITY),
        }
    }

    /// Displacement of the pads by a stress (Pa) that the joint bears beyond the underfill, m/Pa.
    pub fn pads(&self) -> f64 {
        self.pressed(self.stiffness)
    }

    fn pressed(&self, stiffness: f64) -> f64 {
        (1.0 - self.share.sqrt()) * 0.25 * PI * self.diameter.powi(2) / stiffness
    }

    /// Displacement of pads and pillar by the shear stress of the joint, m/Pa.
    pub fn give(&self) -> f64 {
        let sheared = self.pillar * 2.0 * (1.0 + PILLAR_POISSON) / self.pillar_modulus;
        // h^3 / (12 E I) over the stress, with I = A d^2 / 16.
        let bent = 4.0 * self.pillar.powi(3) / (3.0 * self.pillar_modulus * self.diameter.powi(2));
        self.pads() + sheared + bent
    }

    /// Shear of the solder by a displacement (m) of the gap, for the shear moduli (Pa) of solder and underfill.
    pub fn shear(&self, displacement: f64, solder: f64, underfill: f64) -> f64 {
        let beside = underfill / (self.pillar + self.solder);
        displacement * (1.0 + self.pads() * beside) / (self.solder + solder * self.give())
    }

    /// Shear modulus of the layer, Pa: joint and underfill side by side.
    pub fn layer(&self, solder: f64, underfill: f64) -> f64 {
        let gap = self.pillar + self.solder;
        let joint = solder * self.shear(gap, solder, underfill);
        self.share * joint + (1.0 - self.share) * underfill
    }

    /// Strain of the solder along the axis, where the underfill alone would open the gap by `filled` (m) with a stiffness
    /// of its column (Pa), the joint alone by `joint`, and the solder has a Young modulus (Pa).
    pub fn axial(&self, filled: f64, column: f64, joint: f64, solder: f64) -> f64 {
        let underfill = column / (self.pillar + self.solder);
        let own = self.pillar / self.pillar_modulus + self.solder / solder;
        // Forces of joint and underfill cancel; the pads feel the difference of their stresses.
        let give = underfill * ((1.0 - self.share) * own + self.pressed(self.normal_stiffness));
        let stress = (1.0 - self.share) * underfill * (filled - joint) / (give + self.share);
        stress / solder
    }
}

/// Stiffness of a column of a layer whose in-plane strain is held, `E (1 - nu) / ((1 + nu) (1 - 2 nu))`, Pa.
pub fn held_modulus(modulus: f64, poisson: f64) -> f64 {
    modulus * (1.0 - poisson) / ((1.0 + poisson) * (1.0 - 2.0 * poisson))
}

/// Range of the shear stress (Pa) that solder bears at an equivalent shear strain range over half a cycle of that duration
/// (s) between two temperatures (K), once it has settled: steady flow at the mean rate at both ends.
pub fn flow(law: &Law, strain_range: f64, duration: f64, [low, high]: [f64; 2]) -> f64 {
    let root = 3.0_f64.sqrt();
    let rate = strain_range / root / duration;
    (law.steady_stress(rate, low) + law.steady_stress(rate, high)) / root
}

/// Secant shear modulus (Pa) at which elastic strain and flow of the solder make up the strain range that the joint then
/// has; `strain_range` gives it for a modulus. The elastic modulus where nothing strains.
pub fn secant(law: &Law, duration: f64, between: [f64; 2], mut strain_range: impl FnMut(f64) -> f64) -> f64 {
    let elastic = law.modulus(0.5 * (between[0] + between[1])) / (2.0 * (1.0 + law.poisson()));
    let (mut soft, mut stiff) = ((1e-6 * elastic).ln(), elastic.ln());
    while stiff - soft > 1e-6 {
        let middle = 0.5 * (soft + stiff);
        let modulus = middle.exp();
        let strain = strain_range(modulus);
        let borne = flow(law, strain, duration, between);
        let flows = strain > 1e-12 && modulus / elastic + modulus * strain / borne > 1.0;
        if flows {
            stiff = middle;
        } else {
            soft = middle;
        }
    }
    (0.5 * (soft + stiff)).exp()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::creep::SCHUBERT;

    fn cell(share: f64) -> Cell {
        Cell {
            share,
            pillar: 43e-6,
            solder: 12e-6,
            pillar_modulus: 117e9,
            diameter: 85e-6,
            stiffness: 4e5,
            normal_stiffness: 6e5,
        }
    }

    #[test]
    fn a_joint_like_the_underfill_strains_like_it() {
        let one = Cell { pillar: 0.0, solder: 55e-6, ..cell(0.3) };
        assert!((one.shear(55e-9, 3e9, 3e9) / 1e-3 - 1.0).abs() < 1e-12);
        assert!((one.layer(3e9, 3e9) / 3e9 - 1.0).abs() < 1e-12);
    }

    #[test]
    fn limits_of_the_share() {
        // No share, stiff pillar and pads: the underfill opens the gap and the solder takes all of it.
        let alone = Cell {
            pillar_modulus: 1e20,
            stiffness: f64::INFINITY,
            normal_stiffness: f64::INFINITY,
            ..cell(0.0)
        };
        assert!((alone.axial(3e-7, 5e9, 1e-7, 9e9) / (2e-7 / 12e-6) - 1.0).abs() < 1e-9);
        assert!((alone.shear(1e-7, 9e9, 3e9) / (1e-7 / 12e-6) - 1.0).abs() < 1e-9);
        assert_eq!(alone.layer(9e9, 3e9), 3e9);
        // All joint: it opens by its own and no pad gives way against its neighbours.
        let all = cell(1.0);
        assert_eq!((all.axial(3e-7, 5e9, 1e-7, 9e9), all.pads()), (0.0, 0.0));
        let half = cell(0.5).axial(3e-7, 5e9, 1e-7, 9e9);
        assert!(half > 0.0 && half < cell(0.1).axial(3e-7, 5e9, 1e-7, 9e9));
    }

    #[test]
    fn a_layer_is_stiffer_than_a_half_space() {
        let deep = disc_on_layer_stiffness(2e9, 0.3, 40e-6, 1.0);
        assert!((deep / disc_stiffness(2e9, 0.3, 40e-6) - 1.0).abs() < 1e-4);
        // Close to pure shear of a thin layer, G A / H.
        let thin = disc_on_layer_stiffness(2e9, 0.3, 40e-6, 4e-6) / (2e9 * PI * 1.6e-9 / 4e-6);
        assert!((0.7..1.3).contains(&thin), "{thin}");
    }

    #[test]
    fn the_secant_is_where_stress_meets_strain() {
        let law = Law::Creep(SCHUBERT);
        let between = [263.15, 368.15];
        let own = cell(0.25);
        let strain = |g: f64| own.shear(2e-7, g, 3e9);
        let modulus = secant(&law, 2400.0, between, strain);
        let elastic = law.modulus(315.65) / 2.72;
        let borne = flow(&law, strain(modulus), 2400.0, between);
        assert!((modulus * strain(modulus) / (borne * (1.0 - modulus / elastic)) - 1.0).abs() < 1e-4);
        assert!(secant(&law, 2400.0, between, |_| 0.0) > 0.999 * elastic);
        // Longer dwells let it flow.
        assert!(secant(&law, 24_000.0, between, strain) < modulus);
    }
}
