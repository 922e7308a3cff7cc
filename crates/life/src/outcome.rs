//! What the study gives: plain data for the report and other studies.

use facedown_evidence::Figure;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The life of one package.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Outcome {
    /// Figures with their evidence; those that cannot be judged are absent.
    pub figures: Vec<Figure>,
    /// What limits a figure, or why it is absent, by figure name, as a clause that ends a sentence.
    pub limits: BTreeMap<String, String>,
    /// Sentences that a reader must see.
    pub notes: Vec<String>,
    /// Facts of the trade, marked common practice.
    pub advice: Vec<String>,
    /// Life of the bumps.
    pub bumps: Option<AttachmentLife>,
    /// Life of the balls.
    pub balls: Option<AttachmentLife>,
    /// Electromigration by published set of constants.
    pub electromigration: Vec<CurrentLife>,
    /// The finished test, fitted.
    pub test: Option<FittedTest>,
    /// Qualification plan, one row a test.
    pub plan: Vec<PlanRow>,
    /// Test cycles that stand for the mission, by published fit of the acceleration.
    pub equivalent_cycles: Vec<Equivalent>,
}

/// Fatigue of one array of joints.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AttachmentLife {
    /// Name of the place with the shortest life.
    pub worst_place: String,
    /// Damage of the worst place by mission cycle (share of its median life), worst first.
    pub damage: Vec<CycleDamage>,
    /// Time, s, and share of packages failed: the Weibull curve of the array over the mission.
    pub distribution: Vec<(f64, f64)>,
    /// Weibull shape of the array.
    pub weibull_shape: f64,
    /// Characteristic life of the array, s.
    pub characteristic_life_s: f64,
    /// The joint through one settled cycle by each law; the cycle is the one that damages most.
    pub loops: Vec<Loop>,
    /// Median cycles of the worst joint in that cycle by each published model.
    pub models: Vec<ModelLife>,
    /// Median cycles of one joint at each place in that cycle, in the order of the problem.
    pub place_cycles: Vec<f64>,
}

/// Damage of one mission cycle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CycleDamage {
    /// Name of the cycle.
    pub cycle: String,
    /// Lowest and highest temperature, K.
    pub between_k: (f64, f64),
    /// How often.
    pub count: f64,
    /// Equivalent shear strain range of the worst joint.
    pub strain_range: f64,
    /// Median cycles of the worst joint.
    pub median_cycles: f64,
    /// Share of the median life over the mission.
    pub damage: f64,
}

/// Shear stress and strain of a joint through one settled cycle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Loop {
    /// Constitutive law with its source.
    pub law: String,
    /// Shear strain and shear stress, Pa, through the cycle from the cold end.
    pub points: Vec<(f64, f64)>,
    /// Inelastic work in the cycle, J/m3.
    pub work_density: f64,
    /// Accumulated equivalent inelastic strain in the cycle.
    pub inelastic_strain: f64,
    /// Cycles integrated.
    pub cycles: usize,
    /// True when the work of the last two cycles differs by less than 1 %.
    pub settled: bool,
}

/// Median cycles by one published model.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ModelLife {
    /// Model with its source.
    pub model: String,
    /// Median (strain models) or characteristic or mean (energy models) cycles, as the model states.
    pub cycles: f64,
    /// What the source calls that life.
    pub kind: String,
}

/// Electromigration of all joints by one set of constants.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CurrentLife {
    /// Set of constants with its source.
    pub kinetics: String,
    /// Powered time to the mission's failed share, s.
    pub powered_time_s: f64,
    /// Calendar time to the mission's failed share, s.
    pub calendar_time_s: f64,
    /// Median life of the worst joint, s of powered time.
    pub worst_median_s: f64,
}

/// A finished life test, fitted; lives in cycles of the test, bounds by the likelihood ratio.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FittedTest {
    /// Weibull shape by maximum likelihood; absent where all are censored.
    pub shape: Option<f64>,
    /// Bounds of the shape.
    pub shape_bounds: Option<(f64, f64)>,
    /// Characteristic life.
    pub characteristic: Option<f64>,
    /// Bounds of the characteristic life.
    pub characteristic_bounds: Option<(f64, f64)>,
    /// Confidence of all bounds, 0 to 1.
    pub confidence: f64,
    /// Failures and their median ranks (adjusted for censoring), in rising life.
    pub points: Vec<(f64, f64)>,
    /// Lives of units that still ran, rising.
    pub running: Vec<f64>,
    /// Shares failed, rising, each with the bounds of the life at which it has failed; empty where nothing bounds the fit.
    pub band: Vec<ShareLife>,
    /// Where nothing could be fitted: a shape from elsewhere and the characteristic life that the test shows at the least.
    pub at_least: Option<(f64, f64)>,
    /// The test against the mission; absent where it says nothing about the wanted share or the mission has no cycles.
    pub translated: Option<TranslatedTest>,
}

/// Life at one share failed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ShareLife {
    /// Share failed, 0 to 1.
    pub failed: f64,
    /// Bounds of the life at which it has failed.
    pub between: (f64, f64),
}

/// A finished test in terms of the mission.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TranslatedTest {
    /// Share that may fail over the mission, 0 to 1.
    pub failed: f64,
    /// Test cycles at which that share has failed; a lower bound where nothing could be fitted.
    pub test_cycles: f64,
    /// Bounds of those cycles, where there are any.
    pub test_cycles_between: Option<(f64, f64)>,
    /// Test cycles that stand for the mission: least and most of the published fits of the acceleration.
    pub mission_cycles: (f64, f64),
    /// Time in the mission at which that share has failed, s: least and most of the published fits.
    pub field_life_s: (f64, f64),
}

/// One test of the qualification plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlanRow {
    /// Test in words.
    pub test: String,
    /// Standard number.
    pub standard: String,
    /// Condition in words.
    pub condition: String,
    /// Cycles or hours.
    pub amount: f64,
    /// `cycles` or `h`.
    pub unit: String,
    /// Units on test.
    pub sample: u64,
    /// Failures allowed.
    pub accepted: u64,
    /// What sets the amount.
    pub why: String,
    /// Where the numbers come from.
    pub basis: String,
}

/// The mission in cycles of the chosen test by one published fit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Equivalent {
    /// Fit with its source.
    pub fit: String,
    /// Test cycles that do the damage of the mission.
    pub test_cycles: f64,
}
