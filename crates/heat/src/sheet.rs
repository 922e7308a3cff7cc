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

/// Temperature on the near face over the mean that carries heat in the plane, for even heat that enters the near face
/// and leaves sideways, m2 K/W: `integral of (1 - F)^2 / k_z dz`, with `F` the share of the in-plane conductance above
/// `z`. A single layer gives `t / 3k`. Derived: the flux left at depth `z` is `q (1 - F)`; the mean of the drop weighted
/// by in-plane conductance follows by parts.
pub fn entry_resistance(layers: &[Sheet]) -> f64 {
    let total: f64 = layers.iter().map(|l| l.thickness * l.in_plane).sum();
    let mut left = 1.0;
    let mut resistance = 0.0;
    for layer in layers {
        let next = left - layer.thickness * layer.in_plane / total;
        // (1 - F) falls linearly within a layer.
        resistance += layer.thickness / layer.through * (left * left + left * next + next * next) / 3.0
            + layer.contact * next * next;
        left = next;
    }
    resistance
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn entry_of_one_layer_is_a_third() {
        let one = entry_resistance(&[Sheet::isotropic(3e-3, 2.0)]);
        assert!((one - 3e-3 / 6.0).abs() < 1e-15);
        let halves = entry_resistance(&[Sheet::isotropic(1e-3, 2.0), Sheet::isotropic(2e-3, 2.0)]);
        assert!((halves - one).abs() < 1e-15);
    }
}
