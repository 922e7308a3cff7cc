//! What a compound layer takes from the metal and from the solder.
//!
//! Stoichiometry alone: a film of one compound, grown without pores, consumes its elements in the ratio of its formula.
//! Densities of the compounds: R. J. Fields, S. R. Low and G. K. Lucey, NIST, 1991 (from memory); of the metals and the
//! atomic masses: standard tables.

use crate::problem::Metal;

/// A compound of a metal with tin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compound {
    /// Formula, for sentences.
    pub formula: &'static str,
    /// Atoms of metal and of tin in the formula.
    pub atoms: [f64; 2],
    /// Density, kg/m3.
    pub density: f64,
    /// Molar mass, kg/mol, of the metal.
    pub metal_mass: f64,
    /// Density of the metal, kg/m3.
    pub metal_density: f64,
}

/// Molar mass of tin, kg/mol.
pub const TIN_MASS: f64 = 0.118_710;
/// Density of tin, kg/m3.
pub const TIN_DENSITY: f64 = 7287.0;

/// Cu6Sn5, on copper under liquid and solid solder.
pub const CU6SN5: Compound = Compound {
    formula: "Cu6Sn5",
    atoms: [6.0, 5.0],
    density: 8280.0,
    metal_mass: 0.063_546,
    metal_density: 8940.0,
};
/// Cu3Sn, between copper and Cu6Sn5 after long times.
pub const CU3SN: Compound = Compound { formula: "Cu3Sn", atoms: [3.0, 1.0], density: 8900.0, ..CU6SN5 };
/// Ni3Sn4, on nickel.
pub const NI3SN4: Compound = Compound {
    formula: "Ni3Sn4",
    atoms: [3.0, 4.0],
    density: 8650.0,
    metal_mass: 0.058_693,
    metal_density: 8908.0,
};

impl Compound {
    /// The compound that a metal forms first with tin; absent for metals that dissolve or do not react.
    pub fn of(metal: Metal) -> Option<Compound> {
        match metal {
            Metal::Copper => Some(CU6SN5),
            Metal::Nickel | Metal::NickelPhosphorus => Some(NI3SN4),
            Metal::Gold | Metal::Palladium | Metal::Inert => None,
        }
    }

    fn molar_mass(&self) -> f64 {
        self.atoms[0] * self.metal_mass + self.atoms[1] * TIN_MASS
    }

    /// Thickness of metal in one thickness of compound.
    pub fn metal_share(&self) -> f64 {
        self.density / self.molar_mass() * self.atoms[0] * self.metal_mass / self.metal_density
    }

    /// Thickness of tin in one thickness of compound.
    pub fn tin_share(&self) -> f64 {
        self.density / self.molar_mass() * self.atoms[1] * TIN_MASS / TIN_DENSITY
    }

    /// Relative change of volume when metal and tin become compound; negative: it shrinks.
    pub fn volume_change(&self) -> f64 {
        1.0 / (self.metal_share() + self.tin_share()) - 1.0
    }
}
