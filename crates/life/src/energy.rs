//! Life from what one settled cycle does to the solder: accumulated creep strain or inelastic work.
//!
//! Every constant was fitted together with one constitutive law, to averages over the layer at the pad from finite
//! elements. [`Source`] keeps law and models together and [`Source::lives`] runs that law alone, so that no model can be
//! fed by a foreign law. Here the average is that of a joint taken as one point, which is less than that of the layer
//! at the pad: lives tend to be long, the spread between models and the order of designs hold better.

use crate::anand::{self, Anand};
use crate::creep::{self, Creep};
use crate::joint::{Course, Effort, Elastic, Law, Settled, cycle};
use crate::problem::Alloy;
use facedown_field::NoConvergence;

/// What the source calls the life that its model gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Half of the joints have failed.
    Median,
    /// The mean life.
    Mean,
    /// 63.2 % of the joints have failed.
    Characteristic,
}

impl Kind {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Kind::Median => "median life",
            Kind::Mean => "mean life",
            Kind::Characteristic => "characteristic life",
        }
    }

    /// Median of a Weibull distribution with this life and a shape: `eta (ln 2)^(1/beta)`, with
    /// `mean = eta Gamma(1 + 1/beta)`.
    pub fn median(self, cycles: f64, shape: f64) -> f64 {
        let median = std::f64::consts::LN_2.powf(1.0 / shape);
        match self {
            Kind::Median => cycles,
            Kind::Characteristic => cycles * median,
            Kind::Mean => cycles * median / facedown_field::distribution::gamma(1.0 + 1.0 / shape),
        }
    }
}

/// How cycles follow from the answer of the joint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rule {
    /// `coefficient * strain^exponent` of the accumulated equivalent creep strain.
    Strain {
        /// Cycles at a strain of one.
        coefficient: f64,
        /// Below zero.
        exponent: f64,
    },
    /// `coefficient * work^exponent` of the inelastic work in MPa (MJ/m3).
    Work {
        /// Cycles at 1 MPa.
        coefficient: f64,
        /// Below zero.
        exponent: f64,
    },
    /// Start and growth of a crack through the joint: `k1 W^k2 + diameter / (k3 W^k4)`, work in psi, growth in inches.
    Crack {
        /// Cycles to the start at 1 psi.
        k1: f64,
        /// Below zero.
        k2: f64,
        /// Inches per cycle at 1 psi.
        k3: f64,
        /// Above zero.
        k4: f64,
    },
}

/// A published model of life.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Model {
    /// Model with source.
    pub name: &'static str,
    /// The rule.
    pub rule: Rule,
    /// What its cycles are.
    pub kind: Kind,
}

/// Pascal in a pound per square inch.
pub const PSI: f64 = 6_894.757;
/// Metres in an inch.
pub const INCH: f64 = 0.0254;
/// Lives above this are not told apart.
pub const LONGEST: f64 = 1e15;

impl Model {
    /// Cycles for an accumulated equivalent creep strain, an inelastic work (J/m3) and a diameter of the joint at its
    /// interface (m); [`LONGEST`] for none.
    pub fn cycles(&self, strain: f64, work: f64, diameter: f64) -> f64 {
        let cycles = match self.rule {
            Rule::Strain { coefficient, exponent } => coefficient * strain.powf(exponent),
            Rule::Work { coefficient, exponent } => coefficient * (work / 1e6).powf(exponent),
            Rule::Crack { k1, k2, k3, k4 } => {
                let psi = work / PSI;
                k1 * psi.powf(k2) + diameter / INCH / (k3 * psi.powf(k4))
            }
        };
        if cycles.is_finite() { cycles.min(LONGEST) } else { LONGEST }
    }
}

/// A. Syed, ECTC 2004, with the law of Schubert: `1 / (0.0513 strain)`; from memory.
pub const SYED_STRAIN_SINE: Model = Model {
    name: "Syed 2004, creep strain, hyperbolic sine",
    rule: Rule::Strain { coefficient: 1.0 / 0.0513, exponent: -1.0 },
    kind: Kind::Mean,
};
/// A. Syed, ECTC 2004, with the law of Schubert: `1 / (0.0019 work)`; from memory.
pub const SYED_WORK_SINE: Model = Model {
    name: "Syed 2004, creep work, hyperbolic sine",
    rule: Rule::Work { coefficient: 1.0 / 0.0019, exponent: -1.0 },
    kind: Kind::Mean,
};
/// A. Syed, ECTC 2004, with the law of Wiese: `1 / (0.0468 strain)`; from memory.
pub const SYED_STRAIN_POWERS: Model = Model {
    name: "Syed 2004, creep strain, two power laws",
    rule: Rule::Strain { coefficient: 1.0 / 0.0468, exponent: -1.0 },
    kind: Kind::Mean,
};
/// A. Syed, ECTC 2004, with the law of Wiese: `1 / (0.0015 work)`; from memory.
pub const SYED_WORK_POWERS: Model = Model {
    name: "Syed 2004, creep work, two power laws",
    rule: Rule::Work { coefficient: 1.0 / 0.0015, exponent: -1.0 },
    kind: Kind::Mean,
};
/// A. Schubert et al., ECTC 2003, tin-silver-copper: `4.5 strain^-1.295`; from memory, its life taken as the median.
pub const SCHUBERT_STRAIN: Model = Model {
    name: "Schubert et al. 2003, creep strain",
    rule: Rule::Strain { coefficient: 4.5, exponent: -1.295 },
    kind: Kind::Median,
};
/// A. Schubert et al., ECTC 2003, tin-silver-copper: `345 work^-1.02` (MPa); from memory, its life taken as the median.
pub const SCHUBERT_WORK: Model = Model {
    name: "Schubert et al. 2003, creep work",
    rule: Rule::Work { coefficient: 345.0, exponent: -1.02 },
    kind: Kind::Median,
};
/// R. Darveaux, ECTC 2000, tin-lead, start and growth of the crack, first of two sets of constants; from memory.
pub const DARVEAUX_A: Model = Model {
    name: "Darveaux 2000, crack growth, first set",
    rule: Rule::Crack { k1: 22_400.0, k2: -1.52, k3: 5.86e-7, k4: 0.98 },
    kind: Kind::Characteristic,
};
/// R. Darveaux, ECTC 2000, tin-lead, second set, for another thickness of the averaged layer; from memory.
pub const DARVEAUX_B: Model = Model {
    name: "Darveaux 2000, crack growth, second set",
    rule: Rule::Crack { k1: 71_000.0, k2: -1.62, k3: 2.76e-7, k4: 1.05 },
    kind: Kind::Characteristic,
};

/// A constitutive law with the models that were fitted with it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Source {
    law: Law,
    models: &'static [Model],
}

const fn creep(law: Creep, models: &'static [Model]) -> Source {
    Source { law: Law::Creep(law), models }
}

const fn viscoplastic(law: Anand, models: &'static [Model]) -> Source {
    Source { law: Law::Anand(law), models }
}

const TIN_LEAD: [Source; 2] =
    [viscoplastic(anand::DARVEAUX, &[DARVEAUX_A, DARVEAUX_B]), viscoplastic(anand::WANG, &[])];
const TIN_SILVER_COPPER: [Source; 4] = [
    creep(creep::SCHUBERT, &[SYED_STRAIN_SINE, SYED_WORK_SINE, SCHUBERT_STRAIN, SCHUBERT_WORK]),
    creep(creep::WIESE, &[SYED_STRAIN_POWERS, SYED_WORK_POWERS]),
    viscoplastic(anand::MYSORE, &[]),
    viscoplastic(anand::MOTALAB, &[]),
];

/// All laws of an alloy, each with its own models; those without a model show stress and work alone.
pub fn sources(alloy: Alloy) -> &'static [Source] {
    match alloy {
        Alloy::TinLead => &TIN_LEAD,
        Alloy::TinSilverCopper => &TIN_SILVER_COPPER,
    }
}

impl Source {
    /// The law.
    pub fn law(&self) -> &Law {
        &self.law
    }

    /// Runs the law through a course and every model that belongs to it; `diameter` of the joint at its interface, m.
    ///
    /// # Errors
    /// [`NoConvergence`] as for [`cycle`].
    pub fn lives(
        &self,
        elastic: Elastic,
        course: &Course,
        effort: &Effort,
        diameter: f64,
    ) -> Result<(Settled, Vec<(Model, f64)>), NoConvergence> {
        let settled = cycle(&self.law, elastic, course, effort)?;
        let lives = self
            .models
            .iter()
            .map(|model| (*model, model.cycles(settled.inelastic, settled.work, diameter)))
            .collect();
        Ok((settled, lives))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_of_life_differ_by_the_weibull_shape() {
        assert_eq!(Kind::Median.median(100.0, 3.0), 100.0);
        // Exponential: the mean is the characteristic life.
        let mean = Kind::Mean.median(100.0, 1.0);
        assert!((mean - Kind::Characteristic.median(100.0, 1.0)).abs() < 1e-9);
        assert!((mean - 69.314_718).abs() < 1e-5);
        // Rayleigh: mean = eta sqrt(pi) / 2.
        let eta = 2.0 / std::f64::consts::PI.sqrt();
        assert!((Kind::Mean.median(1.0, 2.0) - Kind::Characteristic.median(eta, 2.0)).abs() < 1e-9);
    }

    #[test]
    fn less_work_is_a_longer_life_and_none_is_the_longest() {
        for alloy in [Alloy::TinLead, Alloy::TinSilverCopper] {
            assert!(sources(alloy).len() >= 2);
            for model in sources(alloy).iter().flat_map(|s| s.models) {
                assert!(model.cycles(0.01, 2e5, 5e-4) > model.cycles(0.02, 4e5, 5e-4));
                assert_eq!(model.cycles(0.0, 0.0, 5e-4), LONGEST);
            }
        }
    }
}
