//! Probe liquids at 20 degC with their parts. The split is not unique: it is stored with every reading.

use serde::{Deserialize, Serialize};

/// A liquid of known surface tension, all N/m.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ProbeLiquid {
    /// Name.
    pub name: String,
    /// Dispersive (apolar) part of the surface tension.
    pub dispersive_n_m: f64,
    /// Polar part.
    pub polar_n_m: f64,
    /// Electron-accepting part, where the acid-base method is to use the liquid.
    pub acceptor_n_m: Option<f64>,
    /// Electron-donating part.
    pub donor_n_m: Option<f64>,
}

impl ProbeLiquid {
    /// Surface tension, N/m.
    pub fn tension_n_m(&self) -> f64 {
        self.dispersive_n_m + self.polar_n_m
    }
}

/// Name, dispersive, polar, acceptor, donor in mN/m. Water, glycols, formamide: F. M. Fowkes and C. J. van Oss (from
/// memory); diiodomethane and 1-bromonaphthalene: C. J. van Oss, Interfacial Forces in Aqueous Media, ch. XVII.
const LIQUIDS: &[(&str, f64, f64, f64, f64)] = &[
    ("water", 21.8, 51.0, 25.5, 25.5),
    ("diiodomethane", 50.8, 0.0, 0.0, 0.0),
    ("ethylene glycol", 29.0, 19.0, 1.92, 47.0),
    ("formamide", 39.0, 19.0, 2.28, 39.6),
    ("glycerol", 34.0, 30.0, 3.92, 57.4),
    ("1-bromonaphthalene", 44.4, 0.0, 0.0, 0.0),
    ("dimethyl sulfoxide", 36.0, 8.0, 0.5, 32.0),
];

/// The probe liquid of that name at 20 degC; nothing for an unknown one. Names are those of chemistry in lower case.
pub fn probe_liquid(name: &str) -> Option<ProbeLiquid> {
    LIQUIDS.iter().find(|l| l.0 == name).map(|&(name, d, p, plus, minus)| ProbeLiquid {
        name: name.into(),
        dispersive_n_m: d * 1e-3,
        polar_n_m: p * 1e-3,
        acceptor_n_m: Some(plus * 1e-3),
        donor_n_m: Some(minus * 1e-3),
    })
}

/// The names that [`probe_liquid`] knows.
pub fn probe_liquid_names() -> impl Iterator<Item = &'static str> {
    LIQUIDS.iter().map(|l| l.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn polar_parts_are_those_of_acceptor_and_donor() {
        for name in probe_liquid_names() {
            let liquid = probe_liquid(name).unwrap();
            let product = liquid.acceptor_n_m.unwrap() * liquid.donor_n_m.unwrap();
            assert!((2.0 * product.sqrt() - liquid.polar_n_m).abs() < 0.1e-3, "{name}");
        }
        assert_eq!(probe_liquid("brine"), None);
    }
}
