//! Thermal interfaces: bond line, contact, voids.
//!
//! The resistance of an area is `line / k + contact`; what is void carries nothing where voids are spread evenly, and
//! what air conducts where their places are known.

use crate::mixing::at;
use crate::problem::{BondLine, Interface};
use crate::sheet::Sheet;

/// Conductivity of the air in a void, W/(m K), at 300 K (F. P. Incropera, D. P. DeWitt, Fundamentals of Heat and Mass
/// Transfer, 6th ed. 2007, table A.4; from memory).
pub const VOID_GAS: f64 = 0.0263;

/// Bond line of a filled paste that was pressed until it stopped flowing, m: `1.31e-4 (yield stress / pressure)^0.166`
/// (R. S. Prasher, J. Shipley, S. Prstic, P. Koning, J.-L. Wang, J. Heat Transfer 125 (2003) 1170-1177; constants from
/// memory). Both Pa, above zero; fitted between about 0.05 and 1 MPa.
pub fn pressed_bond_line(yield_stress_pa: f64, pressure_pa: f64) -> f64 {
    1.31e-4 * (yield_stress_pa / pressure_pa).powf(0.166)
}

impl BondLine {
    /// Thickness, m.
    pub fn thickness_m(&self) -> f64 {
        match *self {
            BondLine::Given(thickness) => thickness,
            BondLine::Pressed { yield_stress_pa, pressure_pa } => {
                pressed_bond_line(yield_stress_pa, pressure_pa)
            }
        }
    }

    /// True where the scaling law was fitted, or the line is given.
    pub fn inside_range(&self) -> bool {
        match *self {
            BondLine::Given(_) => true,
            BondLine::Pressed { pressure_pa, .. } => (5e4..=1e6).contains(&pressure_pa),
        }
    }
}

impl Interface {
    /// As a layer at a temperature, K: the full parts carry the heat of all.
    pub fn sheet(&self, temperature_k: f64) -> Sheet {
        let full = 1.0 - self.voids;
        let k = at(&self.conductivity, temperature_k) * full;
        Sheet {
            thickness: self.bond_line.thickness_m(),
            in_plane: k,
            through: k,
            contact: self.contact_m2_k_w / full,
        }
    }

    /// Conductance of an area through its whole height, W/(m2 K), of which a share is void: the full part and the gas of
    /// the void lie side by side.
    pub fn conductance(&self, void: f64, temperature_k: f64) -> f64 {
        let line = self.bond_line.thickness_m();
        let full = line / at(&self.conductivity, temperature_k) + self.contact_m2_k_w;
        (1.0 - void) / full + void * VOID_GAS / line
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn voids_and_contact_add_resistance() {
        let mut tim = Interface {
            name: "TIM1".into(),
            bond_line: BondLine::Given(45e-6),
            conductivity: vec![(300.0, 3.0)],
            contact_m2_k_w: 3e-6,
            voids: 0.0,
            void_places: None,
            capacity: None,
        };
        assert!((tim.sheet(350.0).resistance() - 18e-6).abs() < 1e-18);
        tim.voids = 0.1;
        assert!((tim.sheet(350.0).resistance() - 20e-6).abs() < 1e-18);
        // Full, half and all void.
        assert!((1.0 / tim.conductance(0.0, 350.0) - 18e-6).abs() < 1e-18);
        assert!((tim.conductance(1.0, 350.0) - VOID_GAS / 45e-6).abs() < 1e-9);
        let half = 0.5 * (tim.conductance(0.0, 350.0) + tim.conductance(1.0, 350.0));
        assert!((tim.conductance(0.5, 350.0) - half).abs() < 1e-9);
    }
}
