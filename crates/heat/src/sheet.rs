//! One layer as heat sees it: thickness, conductivity in the plane and through it, contact under it.

/// A layer of a plate in numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sheet {
    /// Thickness, m, above zero.
    pub thickness: f64,
    /// Conductivity in the plane, W/(m K), above zero.
    pub in_plane: f64,
    /// Conductivity through the plane, W/(m K), above zero.
    pub through: f64,
    /// Contact resistance on its far face, m2 K/W.
    pub contact: f64,
}

impl Sheet {
    /// A layer of one conductivity, W/(m K), without contact resistance.
    pub fn isotropic(thickness: f64, conductivity: f64) -> Sheet {
        Sheet { thickness, in_plane: conductivity, through: conductivity, contact: 0.0 }
    }

    /// Resistance through it with its contact, m2 K/W.
    pub fn resistance(&self) -> f64 {
        self.thickness / self.through + self.contact
    }

    /// Geometric mean of both conductivities, W/(m K): with [`Sheet::stretched_thickness`] the isotropic layer that
    /// behaves the same (Y. S. Muzychka, M. M. Yovanovich, J. R. Culham, J. Thermophysics and Heat Transfer 18 (2004)
    /// 45-51; from memory).
    pub fn mean_conductivity(&self) -> f64 {
        (self.in_plane * self.through).sqrt()
    }

    /// Thickness times the root of in-plane over through-plane conductivity, m.
    pub fn stretched_thickness(&self) -> f64 {
        self.thickness * (self.in_plane / self.through).sqrt()
    }

    /// What heat of wave number `beta` (1/m) sees from the near face when the far face sees `below`, W/(m2 K).
    pub fn seen_through(&self, beta: f64, below: f64) -> f64 {
        let below = below / (1.0 + below * self.contact);
        let y = beta * self.mean_conductivity();
        let tanh = (beta * self.stretched_thickness()).tanh();
        (below + y * tanh) / (1.0 + below * tanh / y)
    }
}
