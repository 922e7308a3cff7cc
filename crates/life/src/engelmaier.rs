//! Fatigue life of a solder joint from its cyclic shear strain.
//!
//! W. Engelmaier, Fatigue life of leadless chip carrier solder joints during power cycling, IEEE Transactions CHMT-6
//! (1983) 232, in the dwell form of IPC-D-279 and IPC-SM-785: joints that relax during the dwell turn the whole shear
//! strain into damage, and the exponent depends on the mean temperature and the dwell.

use crate::problem::Alloy;

/// Constants of the model for one alloy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Constants {
    /// Alloy with source.
    pub name: &'static str,
    /// Fatigue ductility coefficient.
    pub ductility: f64,
    /// Exponent at 0 degC and an endless dwell.
    pub base: f64,
    /// Change of the exponent with the mean temperature, 1/degC.
    pub temperature: f64,
    /// Change of the exponent with `ln(1 + reference / dwell)`.
    pub dwell: f64,
    /// Reference of the dwell, min.
    pub reference_min: f64,
}

/// Tin-lead (IPC-D-279, IPC-SM-785; constants from memory).
pub const TIN_LEAD: Constants = Constants {
    name: "Engelmaier, Sn63Pb37, IPC-SM-785",
    ductility: 0.325,
    base: -0.442,
    temperature: -6.0e-4,
    dwell: 1.74e-2,
    reference_min: 360.0,
};

/// Tin-silver-copper (W. Engelmaier, Global SMT & Packaging 2008; from memory).
pub const TIN_SILVER_COPPER: Constants = Constants {
    name: "Engelmaier, SAC305/405, 2008",
    ductility: 0.425,
    base: -0.480,
    temperature: -9.3e-4,
    dwell: 1.92e-2,
    reference_min: 500.0,
};

/// The exponents re-fitted to measured lives of SAC305 (M. Osterman and A. Dasgupta 2007; P. Chauhan, M. Osterman, S. Lee
/// and M. Pecht 2009; from memory) with the ductility of the 2008 set: the one that belongs to it was not read, so that
/// this set only shows a spread.
pub const TIN_SILVER_COPPER_REFIT: Constants = Constants {
    name: "Osterman and Dasgupta 2007 exponents, ductility of 2008",
    ductility: 0.425,
    base: -0.347,
    temperature: -1.74e-3,
    dwell: 7.83e-3,
    reference_min: 360.0,
};

/// The constants for an alloy: the first is used for the figure, further ones show the spread.
pub fn sets(alloy: Alloy) -> &'static [Constants] {
    match alloy {
        Alloy::TinLead => &[TIN_LEAD],
        Alloy::TinSilverCopper => &[TIN_SILVER_COPPER, TIN_SILVER_COPPER_REFIT],
    }
}

/// What a cycle does to a joint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Load {
    /// Cyclic shear strain range.
    pub strain_range: f64,
    /// Mean temperature of the joint over the cycle, K.
    pub mean_temperature: f64,
    /// Time at each end, s.
    pub dwell: f64,
}

/// Exponents that any published set of the model gives in use; beyond them it means nothing and the power would
/// overflow.
const EXPONENTS: std::ops::RangeInclusive<f64> = -0.9..=-0.1;

impl Constants {
    /// The fatigue exponent (below zero). The model holds for dwells above zero; at none the logarithm has no end, so
    /// the dwell is taken as at least one second.
    pub fn exponent(&self, load: &Load) -> f64 {
        let dwell_min = (load.dwell / 60.0).max(1.0 / 60.0);
        self.base
            + self.temperature * (load.mean_temperature - 273.15)
            + self.dwell * (1.0 + self.reference_min / dwell_min).ln()
    }

    /// Median cycles to failure, `1/2 (strain / (2 ductility))^(1/exponent)`; at most 1e15, and that for no strain.
    pub fn median_cycles(&self, load: &Load) -> f64 {
        let exponent = self.exponent(load).clamp(*EXPONENTS.start(), *EXPONENTS.end());
        let cycles = 0.5 * (load.strain_range.abs() / (2.0 * self.ductility)).powf(1.0 / exponent);
        cycles.min(1e15)
    }
}

/// Why a load between two temperatures (K) lies outside of what the model was made for, if so: lives below 100 cycles,
/// swings across -20 to 20 degC by more than 100 K (Engelmaier's own cautions, from memory), dwells too short for stress
/// to relax, exponents that had to be held.
pub fn outside(alloy: Alloy, load: &Load, low: f64, high: f64) -> Option<String> {
    let sets = sets(alloy);
    let (median_cycles, dwell) = (sets[0].median_cycles(load), load.dwell);
    let mut reasons = Vec::new();
    if let Some(set) = sets.iter().find(|set| !EXPONENTS.contains(&set.exponent(load))) {
        reasons.push(format!(
            "the fatigue exponent of {} at a mean of {:.0} degC and a dwell of {dwell:.0} s would be {:.2}; it is held within \
             {:.1} to {:.1}",
            set.name,
            load.mean_temperature - 273.15,
            set.exponent(load),
            EXPONENTS.start(),
            EXPONENTS.end()
        ));
    }
    if median_cycles < 100.0 {
        reasons.push(format!("a median of {median_cycles:.0} cycles is below the 100 of the model's fit"));
    }
    if low < 253.15 && high > 293.15 && high - low > 100.0 {
        reasons.push(format!(
            "the swing from {:.0} to {:.0} degC crosses -20 to 20 degC, where more than one kind of damage acts",
            low - 273.15,
            high - 273.15
        ));
    }
    if dwell < 60.0 {
        reasons.push(format!("a dwell of {dwell:.0} s is too short for the stress to relax"));
    }
    (!reasons.is_empty()).then(|| {
        let mut text = reasons.join("; ");
        text.replace_range(..1, &text[..1].to_uppercase());
        text + "."
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn halving_the_strain_multiplies_life_by_the_slope() {
        let load = Load { strain_range: 0.02, mean_temperature: 323.15, dwell: 900.0 };
        let half = Load { strain_range: 0.01, ..load };
        let slope = TIN_LEAD.exponent(&load);
        let ratio = TIN_LEAD.median_cycles(&half) / TIN_LEAD.median_cycles(&load);
        assert!((ratio - 2.0_f64.powf(-1.0 / slope)).abs() < 1e-9);
        assert!(TIN_LEAD.median_cycles(&Load { strain_range: 0.0, dwell: 0.0, ..load }) <= 1e15);
    }

    #[test]
    fn an_exponent_that_is_held_is_said() {
        let usual = Load { strain_range: 0.02, mean_temperature: 323.15, dwell: 900.0 };
        assert_eq!(outside(Alloy::TinSilverCopper, &usual, 293.15, 353.15), None);
        let cold = Load { mean_temperature: 90.0, ..usual };
        let said = outside(Alloy::TinSilverCopper, &cold, 80.0, 100.0).unwrap();
        assert!(said.contains("is held within -0.9 to -0.1"), "{said}");
    }

    #[test]
    fn longer_dwells_and_more_heat_shorten_life() {
        for set in [TIN_LEAD, TIN_SILVER_COPPER, TIN_SILVER_COPPER_REFIT] {
            let load = Load { strain_range: 0.02, mean_temperature: 323.15, dwell: 900.0 };
            let n = set.median_cycles(&load);
            assert!(set.median_cycles(&Load { dwell: 9000.0, ..load }) < n);
            assert!(set.median_cycles(&Load { mean_temperature: 353.15, ..load }) < n);
        }
    }
}
