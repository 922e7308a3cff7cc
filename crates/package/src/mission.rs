//! Where the package works and what it must survive.

use crate::read::record::{record, words};
use crate::values::{
    Cycles, FilmCoefficient, Fraction, Name, TablePath, Temperature, TemperatureDifference,
    ThermalResistance, Time, Velocity,
};
use serde::Serialize;

record! {
    /// Where the package works.
    pub struct Environment: "the table [environment]" {
        /// Ambient temperature.
        ambient: Temperature,
        /// Relative humidity of the ambient, for the humid tests of the qualification plan.
        humidity: Option<Fraction>,
        /// Standard surroundings. Left out: still air.
        surroundings: Option<Surroundings>,
        /// Velocity of the air.
        air_speed: Option<Velocity>,
        /// Film coefficient on the top of the package, heat sink included.
        top_film: Option<FilmCoefficient>,
        /// Resistance of the heat sink to the air.
        heat_sink: Option<ThermalResistance>,
        /// Whether the pair of transients of JESD51-14 is followed too, for comparison with a test. Left out: no.
        transient_pair: Option<bool>,
    }
}

words! {
    /// Standard surroundings of a thermal test.
    pub enum Surroundings: "standard surroundings" {
        /// JESD51-2A.
        StillAir = "still air",
        /// JESD51-6.
        MovingAir = "moving air",
        /// JESD51-8.
        RingColdPlate = "ring cold plate",
        /// Cold plate on the top of the case.
        TopColdPlate = "top cold plate",
    }
}

record! {
    /// Service: for how long, and which temperature cycles.
    pub struct Mission: "the table [mission]" {
        /// Service life.
        life: Time,
        /// Share of the life with power on. Left out: all of it.
        powered: Option<Fraction>,
        /// Temperature cycles.
        #[serde(default)]
        cycles "cycle": Vec<Cycle>,
        /// A recorded temperature, counted into cycles beside those that are listed.
        history: Option<TemperatureHistory>,
        /// Share of parts that may fail by the end of life. Left out: 1 %.
        failed: Option<Fraction>,
    }
}

record! {
    /// One kind of temperature cycle.
    pub struct Cycle: "a table [[mission.cycle]]" {
        /// Name.
        name: Option<Name>,
        /// Lowest temperature of the dies and their joints.
        low: Temperature,
        /// Highest temperature of the dies and their joints.
        high: Temperature,
        /// Temperature of the substrate at the cold and at the hot end, where it is not that of the dies (power cycles); the
        /// balls have it too. Left out: that of the dies.
        substrate: Option<[Temperature; 2]>,
        /// Temperature of the board at both ends. Left out: that of the substrate.
        board: Option<[Temperature; 2]>,
        /// How often over the life.
        count: Cycles,
        /// Time at each end.
        dwell: Option<Time>,
        /// Time of each ramp.
        ramp: Option<Time>,
    }
}

record! {
    /// A recorded temperature of the package that repeats over the life.
    pub struct TemperatureHistory: "the table [mission.history]" {
        /// Name.
        name: Option<Name>,
        /// The record: a table with columns time (rising) and temperature.
        table: TablePath,
        /// How often it repeats over the life. Left out: the life over the length of the record.
        repeats: Option<Cycles>,
        /// Smaller swings are not counted. Left out: 2 K.
        gate: Option<TemperatureDifference>,
        => loaded {
            /// The record as read.
            points: Vec<RecordedTemperature>,
        }
    }
}

/// One row of a recorded temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RecordedTemperature {
    /// Time, s.
    pub time_s: f64,
    /// Temperature, K.
    pub temperature_k: f64,
}

impl TemperatureHistory {
    /// Name in sentences.
    pub fn name(&self) -> &str {
        self.name.as_ref().map_or("record", |n| n.as_str())
    }

    /// Length of the record, s; zero for fewer than two rows.
    pub fn length_s(&self) -> f64 {
        match (self.points.first(), self.points.last()) {
            (Some(first), Some(last)) => last.time_s - first.time_s,
            _ => 0.0,
        }
    }

    /// How often it repeats over a life, s: as written, else the life over its length; zero where it has none.
    pub fn repeats(&self, life_s: f64) -> f64 {
        let length = self.length_s();
        let filling = if length > 0.0 { life_s / length } else { 0.0 };
        self.repeats.map_or(filling, |r| r.si())
    }

    /// Swings below this are not counted, K: as written, else 2 K (common practice, no source).
    pub fn gate_k(&self) -> f64 {
        self.gate.map_or(2.0, |g| g.si())
    }

    /// Lowest and highest temperature, K; nothing for an empty record.
    pub fn ends_k(&self) -> Option<(f64, f64)> {
        let kelvins = || self.points.iter().map(|p| p.temperature_k);
        Some((kelvins().min_by(f64::total_cmp)?, kelvins().max_by(f64::total_cmp)?))
    }
}
