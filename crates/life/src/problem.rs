//! What the study reads: plain numbers in SI, temperatures in kelvin.
//!
//! Bumps join the die to what it stands on, balls join the package to the board; both are [`Attachment`]s. What a
//! design does not know is left out and its figures stay out of the outcome. A [`Table`] of a property over temperature
//! is read by straight lines between its points and held at its ends.

use crate::electromigration::Kinetics;
use serde::{Deserialize, Serialize};

/// A property over temperature: pairs of (K, value) in rising temperature; one pair is a constant.
pub type Table = Vec<(f64, f64)>;

/// Everything that the life of one package depends on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Problem {
    /// Joints between die and substrate.
    #[serde(default)]
    pub bumps: Option<Attachment>,
    /// Joints between package and board.
    #[serde(default)]
    pub balls: Option<Attachment>,
    /// Service.
    pub mission: Mission,
    /// Currents through the joints, for electromigration.
    #[serde(default)]
    pub currents: Option<Currents>,
    /// The body and what moisture finds in it.
    #[serde(default)]
    pub moisture: Option<Moisture>,
    /// How the design is to be shown good.
    #[serde(default)]
    pub qualification: Qualification,
    /// A finished temperature-cycling test of the same joints.
    #[serde(default)]
    pub test: Option<LifeTest>,
}

/// Solder alloys by the constants that were published for them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Alloy {
    /// Near-eutectic tin-lead.
    TinLead,
    /// Tin-silver-copper and tin-silver.
    TinSilverCopper,
}

/// An array of joints between an upper and a lower part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Attachment {
    /// The solder.
    pub alloy: Alloy,
    /// Joints by their distance from the neutral point; at least one.
    pub places: Vec<Place>,
    /// Gap between both parts, m.
    pub gap: f64,
    /// Height of the solder in the gap, m; less than the gap on a pillar.
    pub solder_height: f64,
    /// Diameter of the joint at its narrower interface, m.
    pub interface_diameter: f64,
    /// Expansion of the solder, 1/K.
    pub solder_expansion: f64,
    /// Expansion of the pillar, 1/K; unused where the solder fills the gap.
    #[serde(default = "copper_expansion")]
    pub pillar_expansion: f64,
    /// The upper part (die; package seen from the board).
    pub upper: Plate,
    /// The lower part (substrate; board).
    pub lower: Plate,
    /// In-plane expansion of the upper part where something stiff sits above the joints (the die above the balls).
    #[serde(default)]
    pub shadow: Option<Shadow>,
    /// What fills the gap between the joints.
    #[serde(default)]
    pub underfill: Option<Underfill>,
    /// Factor on the strain of the farthest joint that the closed form leaves out (0.5 to 1.5, 1 for stiff parts).
    #[serde(default = "one")]
    pub strain_factor: f64,
    /// Lateral stiffness of both parts as one joint feels it, N/m, in series with the joint; left out: parts that do not
    /// give way.
    #[serde(default)]
    pub stiffness: Option<f64>,
    /// Stiffness of both parts across the gap as one joint feels it, N/m; read with underfill only; left out: parts that do
    /// not give way.
    #[serde(default)]
    pub normal_stiffness: Option<f64>,
    /// Distance from the farthest joint to the edge of the bonded area, m; read with underfill only.
    #[serde(default)]
    pub edge_margin: f64,
    /// Share of the area that joints cover, 0 to 1; read with underfill only.
    #[serde(default)]
    pub joint_share: f64,
    /// Young modulus of the pillar, Pa; read with underfill only.
    #[serde(default = "copper_modulus")]
    pub pillar_modulus: f64,
    /// Weibull shape of the fatigue life of a joint.
    pub weibull_shape: f64,
}

fn one() -> f64 {
    1.0
}

fn copper_expansion() -> f64 {
    17e-6
}

fn copper_modulus() -> f64 {
    117e9
}

/// Joints at one distance from the neutral point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Place {
    /// Name for sentences (`corner A1`).
    pub name: String,
    /// Distance from the neutral point, m.
    pub distance: f64,
    /// Number of joints there.
    pub count: u64,
}

/// One of the two parts that the joints hold together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Plate {
    /// In-plane expansion at the plane of the joints over temperature, 1/K.
    pub expansion: Table,
    /// In-plane Young modulus over temperature, Pa; read with underfill only.
    pub modulus: Table,
    /// Poisson ratio.
    pub poisson: f64,
    /// Thickness, m.
    pub thickness: f64,
}

/// Where the upper part is stiffened by something above it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shadow {
    /// Distance from the neutral point to its corner, m.
    pub reach: f64,
    /// In-plane expansion at the plane of the joints within it, 1/K.
    pub expansion: Table,
    /// Limits between which that expansion lies, where it is not known better; each is run by the strain model, and the
    /// figures of the attachment span what comes of them.
    #[serde(default)]
    pub limits: Vec<ShadowLimit>,
}

/// A limit of the expansion of what lies above the joints.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ShadowLimit {
    /// How the parts are held, for sentences (`held flat`).
    pub name: String,
    /// In-plane expansion at the plane of the joints, 1/K.
    pub expansion: Table,
}

/// The filled gap, well bonded.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Underfill {
    /// Young modulus over temperature, Pa.
    pub modulus: Table,
    /// Poisson ratio.
    pub poisson: f64,
    /// Expansion over temperature, 1/K.
    pub expansion: Table,
    /// Glass transition, K.
    #[serde(default)]
    pub glass_transition: Option<f64>,
}

/// Service.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Mission {
    /// Service life, s.
    pub life: f64,
    /// Share of the life with power on, 0 to 1.
    pub powered: f64,
    /// Share of packages that may have failed at the end of the life, 0 to 1, both excluded.
    pub failed: f64,
    /// Temperature cycles with their counts over the life.
    #[serde(default)]
    pub cycles: Vec<Cycle>,
    /// Recorded temperature of the joints over time, counted by rainflow into further cycles.
    #[serde(default)]
    pub history: Option<History>,
    /// Junction or joint temperature with power on, K, for storage and electromigration.
    #[serde(default)]
    pub powered_temperature: Option<f64>,
    /// Ambient temperature with power off, K.
    #[serde(default)]
    pub ambient_temperature: Option<f64>,
    /// Relative humidity of the ambient, 0 to 1.
    #[serde(default)]
    pub ambient_humidity: Option<f64>,
}

/// One kind of temperature cycle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cycle {
    /// Name for sentences.
    pub name: String,
    /// Lowest temperature of the upper part and of the joints, K.
    pub low: f64,
    /// Highest temperature of the upper part and of the joints, K.
    pub high: f64,
    /// Temperature of the lower part at both ends, K, where it differs (power cycles of the die).
    #[serde(default)]
    pub lower_part: Option<(f64, f64)>,
    /// How often over the life; half cycles of a rainflow count as 0.5.
    pub count: f64,
    /// Time at each end, s. Left out: half of life over count, at most 12 h.
    #[serde(default)]
    pub dwell: Option<f64>,
    /// Time of each ramp, s. Left out: 10 min.
    #[serde(default)]
    pub ramp: Option<f64>,
}

/// A recorded temperature that repeats.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct History {
    /// Name for sentences.
    pub name: String,
    /// Time, s, and temperature, K, in rising time; at least two points.
    pub points: Vec<(f64, f64)>,
    /// How often it repeats over the life.
    pub repeats: f64,
    /// Swings below this are dropped before counting, K.
    pub gate: f64,
}

/// Currents through joints.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Currents {
    /// The joints that carry direct current, alike ones together; at least one.
    pub carriers: Vec<Carrier>,
    /// Diameter of the opening through which the current enters the solder, m.
    pub opening: f64,
    /// Electrical resistance that heats one joint: joint with its feeding trace, ohm.
    pub resistance: f64,
    /// Thermal resistance from one joint to its surroundings, K/W.
    pub thermal_resistance: f64,
    /// What feeds the joint, for crowding; left out: the crowding of the test that the constants come from.
    #[serde(default)]
    pub feed: Option<Feed>,
    /// Measured or published constants; empty: the published sets of the alloy, marked as such.
    #[serde(default)]
    pub kinetics: Vec<Kinetics>,
    /// The solder.
    pub alloy: Alloy,
}

/// Joints that carry the same current.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Carrier {
    /// Name for sentences (`VDD bump 17`).
    pub name: String,
    /// Direct current while powered, A.
    pub current: f64,
    /// Temperature of the joint without its own heat, K.
    pub temperature: f64,
    /// Number of such joints.
    pub count: u64,
}

/// The trace and metallisation that spread the current into the joint.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Feed {
    /// Sheet resistance of the trace, or of the trace with thick metallisation over the opening, ohm.
    pub sheet_resistance: f64,
    /// Resistance through the metallisation and contact times area, ohm m2.
    pub vertical_resistance: f64,
}

/// The moulded or laminate body and its moisture.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Moisture {
    /// Moisture sensitivity level.
    pub level: Level,
    /// Thickness of the polymer through which moisture goes, m.
    pub thickness: f64,
    /// True where moisture enters from both faces, false from one.
    pub both_faces: bool,
    /// Diffusivity, m2/s, at `diffusivity_temperature`.
    pub diffusivity: f64,
    /// K.
    pub diffusivity_temperature: f64,
    /// Activation energy of the diffusivity, eV.
    pub activation_energy: f64,
    /// Temperature on the floor, K.
    pub floor_temperature: f64,
    /// Temperature of the bake, K.
    pub bake_temperature: f64,
}

/// Moisture sensitivity level of IPC/JEDEC J-STD-020.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Level {
    /// Level 1.
    #[serde(rename = "1")]
    L1,
    /// Level 2.
    #[serde(rename = "2")]
    L2,
    /// Level 2a.
    #[serde(rename = "2a")]
    L2a,
    /// Level 3.
    #[serde(rename = "3")]
    L3,
    /// Level 4.
    #[serde(rename = "4")]
    L4,
    /// Level 5.
    #[serde(rename = "5")]
    L5,
    /// Level 5a.
    #[serde(rename = "5a")]
    L5a,
    /// Level 6.
    #[serde(rename = "6")]
    L6,
}

/// How the design is to be shown good.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Qualification {
    /// Condition letter of JESD22-A104 (`A`, `B`, `G`, `J`, ...).
    pub condition: String,
    /// Cycles per day in the chamber.
    pub cycles_per_day: f64,
    /// Confidence of the demonstration, 0 to 1, both excluded.
    pub confidence: f64,
    /// Failures that the sample may show.
    pub accepted: u32,
    /// Temperature of the high-temperature storage test, K.
    pub storage_temperature: f64,
}

impl Default for Qualification {
    /// JESD22-A104 condition J (0 to 100 degC), 48 cycles a day, 90 % confidence, no failure, storage at 150 degC.
    fn default() -> Self {
        Qualification {
            condition: "J".into(),
            cycles_per_day: 48.0,
            confidence: 0.9,
            accepted: 0,
            storage_temperature: 423.15,
        }
    }
}

/// A finished test of whole packages in temperature cycling.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LifeTest {
    /// Lowest temperature, K.
    pub low: f64,
    /// Highest temperature, K.
    pub high: f64,
    /// Cycles per day.
    pub cycles_per_day: f64,
    /// The solder that failed or may fail.
    pub alloy: Alloy,
    /// Cycles at which packages failed.
    pub failures: Vec<f64>,
    /// Cycles that packages without failure have seen.
    pub running: Vec<f64>,
}
