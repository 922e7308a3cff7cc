//! How the package is to be shown good before it is released, and what a finished test has shown already.

use crate::read::record::{record, words};
use crate::values::{ActivationEnergy, CurrentDensity, Cycles, Fraction, Name, Temperature, Time};

record! {
    /// Qualification: the test that the mission is measured in, and its statistics.
    pub struct Qualification: "the table [qualification]" {
        /// Condition letter of temperature cycling by JESD22-A104. Left out: J.
        condition: Option<CyclingCondition>,
        /// Cycles a day in the chamber. Left out: 48 cycles.
        cycles_per_day: Option<Cycles>,
        /// Confidence with which the tests must show it. Left out: 90 %.
        confidence: Option<Fraction>,
        /// Failures that the sample may show. Left out: none.
        accepted: Option<u32>,
        /// Temperature of the storage test. Left out: 150 degC.
        storage_temperature: Option<Temperature>,
        /// Moisture sensitivity level by J-STD-020 that the package is to have. Left out: 3.
        moisture_level: Option<MoistureLevel>,
        /// A finished temperature-cycling test of the same joints.
        test: Option<FinishedTest>,
        /// Finished tests of the same bumps under current. Left out: published constants of the alloy, from memory.
        #[serde(default)]
        current_tests "current_test": Vec<CurrentTest>,
    }
}

record! {
    /// A finished test of bumps under current, told by the constants of J. R. Black's law (1969) that came of it.
    pub struct CurrentTest: "a table [[qualification.current_test]]" {
        /// Name, with its source.
        name: Option<Name>,
        /// Exponent of the current density.
        exponent: f64,
        /// Activation energy.
        activation: ActivationEnergy,
        /// Mean current density over the opening in the test.
        density: CurrentDensity,
        /// Temperature of the joints in the test, their own heat included.
        temperature: Temperature,
        /// Median life in the test.
        life: Time,
        /// Standard deviation of the natural logarithm of the life. Left out: 0.5.
        log_deviation: Option<f64>,
        /// Highest over mean current density in the tested bumps. Left out: not known, and crowding plays no part.
        crowding: Option<f64>,
    }
}

record! {
    /// A finished temperature-cycling test.
    pub struct FinishedTest: "the table [qualification.test]" {
        /// Lowest temperature.
        low: Temperature,
        /// Highest temperature.
        high: Temperature,
        /// Cycles a day.
        cycles_per_day: Cycles,
        /// Cycles at which packages failed.
        #[serde(default)]
        failures: Vec<Cycles>,
        /// Cycles that packages without failure have seen.
        #[serde(default)]
        running: Vec<Cycles>,
    }
}

words! {
    /// Condition of JESD22-A104.
    pub enum CyclingCondition: "a condition of JESD22-A104" {
        /// -55 to 85 degC.
        A = "A",
        /// -55 to 125 degC.
        B = "B",
        /// -65 to 150 degC.
        C = "C",
        /// -40 to 125 degC.
        G = "G",
        /// -55 to 150 degC.
        H = "H",
        /// 0 to 100 degC.
        J = "J",
        /// 0 to 125 degC.
        K = "K",
        /// -55 to 110 degC.
        L = "L",
        /// -40 to 150 degC.
        M = "M",
        /// -40 to 85 degC.
        N = "N",
        /// -25 to 125 degC.
        R = "R",
        /// -40 to 100 degC.
        T = "T",
    }
}

words! {
    /// Moisture sensitivity level of IPC/JEDEC J-STD-020.
    pub enum MoistureLevel: "a moisture sensitivity level" {
        /// Unlimited floor life at 85 % humidity.
        Level1 = "1",
        /// One year.
        Level2 = "2",
        /// Four weeks.
        Level2a = "2a",
        /// 168 h.
        Level3 = "3",
        /// 72 h.
        Level4 = "4",
        /// 48 h.
        Level5 = "5",
        /// 24 h.
        Level5a = "5a",
        /// Bake before use.
        Level6 = "6",
    }
}
