//! A multilayer plate as one section: stiffness and thermal resultants about a common plane.
//!
//! Classical lamination theory (R. M. Jones, Mechanics of Composite Materials, 2nd ed. 1999, section 4.3; P. H.
//! Townsend, D. M. Barnett, T. A. Brunner 1987 for the plate of isotropic layers). Heights z are positive up;
//! curvature is positive where the plate is convex seen from above, so the strain at a height is `mid + z curvature`.
//! It holds some two thicknesses away from free edges.

use crate::property::Elastic;
use facedown_field::{NoConvergence, dense};

/// One ply: a layer with its own stiffness along x and y.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ply {
    /// Lower face, m.
    pub bottom: f64,
    /// Upper face, m.
    pub top: f64,
    /// Reduced stiffness Q11, Q12, Q22, Q66, Pa.
    pub stiffness: [f64; 4],
    /// Free strain in x and y.
    pub strain: [f64; 2],
}

impl Ply {
    /// A layer that is the same in every direction of the plane.
    pub fn isotropic(bottom: f64, top: f64, e: Elastic) -> Ply {
        let q = e.modulus / (1.0 - e.poisson * e.poisson);
        Ply { bottom, top, stiffness: [q, q * e.poisson, q, e.shear()], strain: [e.strain; 2] }
    }

    /// A layer with its own moduli along x and y (Pa), Poisson's ratio of y strain under x stress, shear modulus (Pa)
    /// and free strains.
    pub fn orthotropic(
        [bottom, top]: [f64; 2],
        [ex, ey, shear]: [f64; 3],
        poisson_xy: f64,
        strain: [f64; 2],
    ) -> Ply {
        let poisson_yx = poisson_xy * ey / ex;
        let f = 1.0 / (1.0 - poisson_xy * poisson_yx);
        Ply { bottom, top, stiffness: [ex * f, poisson_yx * ex * f, ey * f, shear], strain }
    }

    /// Stress in x and y, Pa, at strains of x and y.
    pub fn stress(&self, strain: [f64; 2]) -> [f64; 2] {
        let [q11, q12, q22, _] = self.stiffness;
        let e = [strain[0] - self.strain[0], strain[1] - self.strain[1]];
        [q11 * e[0] + q12 * e[1], q12 * e[0] + q22 * e[1]]
    }
}

/// Stiffness of a section and what its free strains ask for, per width.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Section {
    /// Stretching, N/m: 11, 12, 22, 66.
    pub a: [f64; 4],
    /// Coupling, N.
    pub b: [f64; 4],
    /// Bending, N m.
    pub d: [f64; 4],
    /// Thermal force in x and y, N/m.
    pub force: [f64; 2],
    /// Thermal moment in x and y, N.
    pub moment: [f64; 2],
}

/// Strain and curvature of a section that nothing holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Free {
    /// Strain at height zero in x and y.
    pub strain: [f64; 2],
    /// Curvature in x and y, 1/m, positive where it is convex.
    pub curvature: [f64; 2],
}

impl Free {
    /// Strain at a height.
    pub fn at(&self, z: f64) -> [f64; 2] {
        [self.strain[0] + z * self.curvature[0], self.strain[1] + z * self.curvature[1]]
    }
}

impl Section {
    /// The section of a list of plies.
    pub fn of<'a>(plies: impl IntoIterator<Item = &'a Ply>) -> Section {
        let mut section = Section::default();
        plies.into_iter().for_each(|p| section.add(p));
        section
    }

    /// Adds a ply.
    pub fn add(&mut self, p: &Ply) {
        let moments = [
            p.top - p.bottom,
            (p.top * p.top - p.bottom * p.bottom) / 2.0,
            (p.top.powi(3) - p.bottom.powi(3)) / 3.0,
        ];
        for k in 0..4 {
            self.a[k] += p.stiffness[k] * moments[0];
            self.b[k] += p.stiffness[k] * moments[1];
            self.d[k] += p.stiffness[k] * moments[2];
        }
        let [q11, q12, q22, _] = p.stiffness;
        let pull = [q11 * p.strain[0] + q12 * p.strain[1], q12 * p.strain[0] + q22 * p.strain[1]];
        for (k, pull) in pull.into_iter().enumerate() {
            self.force[k] += pull * moments[0];
            self.moment[k] += pull * moments[1];
        }
    }

    /// Strain and curvature without load.
    ///
    /// # Errors
    /// [`NoConvergence`] when the section has no stiffness.
    pub fn free(&self) -> Result<Free, NoConvergence> {
        // Lengths in units of the section's own height keep stretching and bending of like size.
        let unit = (self.d[0] / self.a[0]).sqrt();
        if !(unit.is_finite() && unit > 0.0) {
            return Err(NoConvergence::Singular);
        }
        let scale = self.a[0];
        let (a, b, d) = (
            self.a.map(|v| v / scale),
            self.b.map(|v| v / scale / unit),
            self.d.map(|v| v / scale / unit / unit),
        );
        let rows = [
            [a[0], a[1], b[0], b[1]],
            [a[1], a[2], b[1], b[2]],
            [b[0], b[1], d[0], d[1]],
            [b[1], b[2], d[1], d[2]],
        ];
        let right = [
            self.force[0] / scale,
            self.force[1] / scale,
            self.moment[0] / scale / unit,
            self.moment[1] / scale / unit,
        ];
        let x = dense::solve(&rows.concat(), &right)?;
        Ok(Free { strain: [x[0], x[1]], curvature: [x[2] / unit, x[3] / unit] })
    }

    /// The same section seen from a plane that lies `shift` higher, m.
    pub fn seen_from(&self, shift: f64) -> Section {
        let mut s = *self;
        for k in 0..4 {
            s.b[k] = self.b[k] - shift * self.a[k];
            s.d[k] = self.d[k] - 2.0 * shift * self.b[k] + shift * shift * self.a[k];
        }
        for k in 0..2 {
            s.moment[k] = self.moment[k] - shift * self.force[k];
        }
        s
    }
}

/// Plies of isotropic layers stacked from a height up: thickness, m, and elastic constants.
pub fn stacked(from: f64, layers: &[(f64, Elastic)]) -> Vec<Ply> {
    let mut z = from;
    layers
        .iter()
        .map(|&(thickness, e)| {
            let ply = Ply::isotropic(z, z + thickness, e);
            z += thickness;
            ply
        })
        .collect()
}
