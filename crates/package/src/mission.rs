//! Where the package works and what it must survive.

use crate::read::record::{record, words};
use crate::values::{
    Cycles, FilmCoefficient, Fraction, Name, Temperature, ThermalResistance, Time, Velocity,
};

record! {
    /// Where the package works.
    pub struct Environment: "the table [environment]" {
        /// Ambient temperature.
        ambient: Temperature,
        /// Standard surroundings. Left out: still air.
        surroundings: Option<Surroundings>,
        /// Velocity of the air.
        air_speed: Option<Velocity>,
        /// Film coefficient on the top of the package, heat sink included.
        top_film: Option<FilmCoefficient>,
        /// Resistance of the heat sink to the air.
        heat_sink: Option<ThermalResistance>,
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
        /// Share of parts that may fail by the end of life. Left out: 1 %.
        failed: Option<Fraction>,
    }
}

record! {
    /// One kind of temperature cycle.
    pub struct Cycle: "a table [[mission.cycle]]" {
        /// Name.
        name: Option<Name>,
        /// Lowest temperature.
        low: Temperature,
        /// Highest temperature.
        high: Temperature,
        /// How often over the life.
        count: Cycles,
        /// Time at each end.
        dwell: Option<Time>,
        /// Time of each ramp.
        ramp: Option<Time>,
    }
}
