//! What the study gives: figures with their evidence, and the plain results that others read.

use crate::problem::Metal;
use facedown_evidence::Figure;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The result of a [`crate::Problem`].
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Outcome {
    /// The joints under the die, where the problem has them.
    pub bumps: Option<ArrayOutcome>,
    /// The joints under the package, where the problem has them.
    pub balls: Option<ArrayOutcome>,
    /// The reflow as a curve, where the problem has one.
    pub reflow: Option<ReflowOutcome>,
    /// The class of the package body and what the reflow keeps of its limits.
    pub classification: Option<ClassOutcome>,
    /// Figures.
    pub figures: Vec<Figure>,
    /// What limits a figure, by figure name, as a clause that ends a sentence.
    pub limits: BTreeMap<String, String>,
    /// Sentences that a reader must see.
    pub notes: Vec<String>,
    /// Facts of practice, each marked common practice.
    pub advice: Vec<String>,
}

impl Outcome {
    /// The figure of that name.
    pub fn figure(&self, name: &str) -> Option<&Figure> {
        self.figures.iter().find(|f| f.name == name)
    }
}

/// One array in equilibrium. Lengths in m, forces in N, stiffness in N/m.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct ArrayOutcome {
    /// Gap between the faces of both parts where its deviation is zero.
    pub stand_off: f64,
    /// Least local gap between both parts.
    pub stand_off_least: f64,
    /// Largest local gap between both parts.
    pub stand_off_most: f64,
    /// What the stand-off is uncertain by.
    #[serde(default)]
    pub stand_off_spread: GapSpread,
    /// Force that the array carries, without the solder's own weight.
    pub load: f64,
    /// Each kind of joint at the mean gap (its height less its metal; zero deviation), in the order of the problem.
    pub kinds: Vec<KindOutcome>,
    /// Stiffness of the whole array against vertical motion.
    pub vertical_stiffness_total: f64,
    /// Stiffness of the whole array against lateral motion.
    pub lateral_stiffness_total: f64,
    /// Joints that do not touch the other part.
    pub open_joints: f64,
    /// Metal left under the solder after reflows and storage, from the pad outward, central estimate.
    pub metal_left: Vec<MetalLeft>,
}

/// Standard deviations of the gap between both parts, m, by their cause.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct GapSpread {
    /// By the tolerance of the bumps' height before joining, all bumps alike.
    pub height: f64,
    /// Over the array, by the bow of both parts while the solder is liquid.
    pub bow: f64,
    /// By the surface tension, of which sources give a least and a largest value, each between as likely.
    pub tension: f64,
}

impl GapSpread {
    /// All causes together, m.
    pub fn total(&self) -> f64 {
        self.height.hypot(self.bow).hypot(self.tension)
    }
}

/// One kind of joint. Lengths in m, angles in rad.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct KindOutcome {
    /// Its name in the problem.
    pub name: String,
    /// How many there are.
    pub count: u32,
    /// Solder volume, m3.
    pub volume: f64,
    /// Height of the solder from pad to pad where the gap's deviation is zero.
    pub height: f64,
    /// Height with neither load nor weight.
    pub height_unloaded: f64,
    /// Height of the bump with all its solder before joining.
    pub height_free: f64,
    /// Largest diameter.
    pub width: f64,
    /// Least diameter.
    pub neck: f64,
    /// Angle inside the solder at the upper pad.
    pub angle_upper: f64,
    /// Angle inside the solder at the lower pad.
    pub angle_lower: f64,
    /// Excess pressure in the solder, Pa.
    pub pressure: f64,
    /// Force that it pushes the upper part with, N; negative pulls.
    pub force: f64,
    /// Stiffness against vertical motion, N/m.
    pub vertical_stiffness: f64,
    /// Stiffness against lateral motion, N/m.
    pub lateral_stiffness: f64,
    /// Outline from the lower pad to the upper one: radius and height of each point.
    pub profile: Vec<[f64; 2]>,
}

/// What is left of a layer, central estimate.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct MetalLeft {
    /// Metal.
    pub metal: Metal,
    /// Thickness at the start, m.
    pub before: f64,
    /// Thickness left, m.
    pub after: f64,
}

/// A reflow.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct ReflowOutcome {
    /// Time, s, and temperature, K, of the corners of the profile, from room temperature and back.
    pub profile: Vec<[f64; 2]>,
    /// Liquidus that counts (the highest of the solders), K.
    pub liquidus: f64,
    /// Time above it, s.
    pub time_above_liquidus: f64,
}

/// The class of a package body.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct ClassOutcome {
    /// Classification temperature, K.
    pub temperature: f64,
    /// Body volume, m3.
    pub volume: f64,
    /// The limits of the profile, one by one.
    pub clauses: Vec<Clause>,
}

/// One limit of the classification profile.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Clause {
    /// What is limited.
    pub what: String,
    /// The value of the reflow in `unit`.
    pub value: f64,
    /// The limit in `unit`.
    pub limit: f64,
    /// Unit of both.
    pub unit: String,
    /// True where the value does not exceed the limit.
    pub kept: bool,
}
