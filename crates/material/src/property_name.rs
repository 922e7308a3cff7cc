//! The properties a material may have: their names in files, what they are measured in, and sane bounds.
//!
//! The bounds are no data: they catch slips of unit or decimal (a conductivity of 148 kW/mK) and are wide enough for
//! every material in a package.

use facedown_quantity::{Kind, KindTable, kind};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;

/// What a property is measured in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Measure {
    /// A quantity, written with a unit.
    Quantity(&'static KindTable),
    /// A plain number, such as a Poisson ratio.
    Number,
}

macro_rules! properties {
    ($(#[doc = $doc:literal] $name:ident = $text:literal, $measure:expr, $over:ident, $least:literal..$most:literal;)*) => {
        /// Name of a property.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum PropertyName {
            $(#[doc = $doc] $name),*
        }

        impl PropertyName {
            /// All properties, in the order in which tables list them.
            pub const ALL: &'static [PropertyName] = &[$(PropertyName::$name),*];

            /// The name in files and tables.
            pub fn words(self) -> &'static str {
                match self { $(PropertyName::$name => $text),* }
            }

            /// What it is measured in.
            pub fn measure(self) -> Measure {
                match self { $(PropertyName::$name => $measure),* }
            }

            /// True when it may change with temperature, so that a range of validity belongs to it.
            pub fn is_over_temperature(self) -> bool {
                match self { $(PropertyName::$name => properties!(@$over)),* }
            }

            /// Bounds in SI outside of which a value is almost certainly a slip.
            pub fn sane_bounds(self) -> (f64, f64) {
                match self { $(PropertyName::$name => ($least, $most)),* }
            }

            /// One line that says what it is.
            pub fn meaning(self) -> &'static str {
                match self { $(PropertyName::$name => $doc.trim_ascii()),* }
            }
        }
    };
    (@over) => { true };
    (@fixed) => { false };
}

const fn of<K: Kind>() -> Measure {
    Measure::Quantity(K::TABLE)
}

properties! {
    #[doc = " Mass per volume of the solid."]
    Density = "density", of::<kind::Density>(), over, 0.1..25000.0;
    #[doc = " Thermal conductivity, the same in all directions."]
    Conductivity = "conductivity", of::<kind::Conductivity>(), over, 0.001..3000.0;
    #[doc = " Thermal conductivity in the plane of a laminate."]
    ConductivityInPlane = "conductivity_in_plane", of::<kind::Conductivity>(), over, 0.001..3000.0;
    #[doc = " Thermal conductivity through a laminate."]
    ConductivityThrough = "conductivity_through", of::<kind::Conductivity>(), over, 0.001..3000.0;
    #[doc = " Heat capacity per mass."]
    HeatCapacity = "heat_capacity", of::<kind::HeatCapacity>(), over, 50.0..6000.0;
    #[doc = " Emissivity of a bare surface to thermal radiation."]
    Emissivity = "emissivity", Measure::Number, over, 0.01..1.0;
    #[doc = " Young's modulus; of a polymer, below its glass transition."]
    Modulus = "modulus", of::<kind::Stress>(), over, 1e3..1.2e12;
    #[doc = " Young's modulus above the glass transition."]
    ModulusAboveGlass = "modulus_above_glass", of::<kind::Stress>(), over, 1e3..1e11;
    #[doc = " Poisson ratio; of a laminate, in its plane."]
    Poisson = "poisson", Measure::Number, over, 0.0..0.5;
    #[doc = " Elastic constant C11 of a cubic crystal."]
    ElasticC11 = "elastic_c11", of::<kind::Stress>(), over, 1e9..1.2e12;
    #[doc = " Elastic constant C12 of a cubic crystal."]
    ElasticC12 = "elastic_c12", of::<kind::Stress>(), over, 1e9..1.2e12;
    #[doc = " Elastic constant C44 of a cubic crystal."]
    ElasticC44 = "elastic_c44", of::<kind::Stress>(), over, 1e9..1.2e12;
    #[doc = " Instantaneous thermal expansion; of a polymer, below its glass transition."]
    Expansion = "expansion", of::<kind::Expansion>(), over, -5e-6..4e-4;
    #[doc = " Thermal expansion above the glass transition."]
    ExpansionAboveGlass = "expansion_above_glass", of::<kind::Expansion>(), over, -5e-6..4e-4;
    #[doc = " Thermal expansion in the plane of a laminate, below its glass transition."]
    ExpansionInPlane = "expansion_in_plane", of::<kind::Expansion>(), over, -5e-6..4e-4;
    #[doc = " Thermal expansion in the plane of a laminate, above its glass transition."]
    ExpansionInPlaneAboveGlass = "expansion_in_plane_above_glass", of::<kind::Expansion>(), over, -5e-6..4e-4;
    #[doc = " Thermal expansion through a laminate, below its glass transition."]
    ExpansionThrough = "expansion_through", of::<kind::Expansion>(), over, -5e-6..4e-4;
    #[doc = " Thermal expansion through a laminate, above its glass transition."]
    ExpansionThroughAboveGlass = "expansion_through_above_glass", of::<kind::Expansion>(), over, -5e-6..4e-4;
    #[doc = " Temperature at which a polymer turns from glass to rubber."]
    GlassTransition = "glass_transition", of::<kind::Temperature>(), fixed, 100.0..800.0;
    #[doc = " Temperature of cure."]
    CureTemperature = "cure_temperature", of::<kind::Temperature>(), fixed, 250.0..800.0;
    #[doc = " Stress at which a metal yields."]
    YieldStress = "yield_stress", of::<kind::Stress>(), over, 1e5..5e9;
    #[doc = " Tensile strength."]
    TensileStrength = "tensile_strength", of::<kind::Stress>(), over, 1e5..2e10;
    #[doc = " Elongation at break."]
    Elongation = "elongation", of::<kind::Fraction>(), over, 0.0..10.0;
    #[doc = " Plane-strain fracture toughness."]
    FractureToughness = "fracture_toughness", of::<kind::FractureToughness>(), over, 1e4..5e8;
    #[doc = " Stress of the film on silicon at room temperature, tension positive."]
    FilmStress = "film_stress", of::<kind::Stress>(), fixed, -3e9..3e9;
    #[doc = " Electrical resistivity."]
    Resistivity = "resistivity", of::<kind::Resistivity>(), over, 1e-9..1e18;
    #[doc = " Relative change of resistivity per kelvin, near 20 degC."]
    ResistivityCoefficient = "resistivity_coefficient", of::<kind::TemperatureCoefficient>(), fixed, -0.02..0.02;
    #[doc = " Relative permittivity."]
    Permittivity = "permittivity", Measure::Number, over, 1.0..100.0;
    #[doc = " Dielectric loss tangent."]
    LossTangent = "loss_tangent", Measure::Number, over, 0.0..1.0;
    #[doc = " Temperature below which a solder is all solid."]
    Solidus = "solidus", of::<kind::Temperature>(), fixed, 250.0..3500.0;
    #[doc = " Temperature above which a solder is all liquid."]
    Liquidus = "liquidus", of::<kind::Temperature>(), fixed, 250.0..3500.0;
    #[doc = " Mass per volume of the liquid."]
    DensityLiquid = "density_liquid", of::<kind::Density>(), over, 500.0..20000.0;
    #[doc = " Surface tension of the liquid."]
    SurfaceTension = "surface_tension", of::<kind::SurfaceTension>(), over, 0.005..2.0;
    #[doc = " Viscosity before cure."]
    Viscosity = "viscosity", of::<kind::Viscosity>(), over, 1e-5..1e6;
    #[doc = " Index of the power law of the uncured liquid: its viscosity goes with the shear rate to the power of the index less 1; 1 for none."]
    ShearIndex = "shear_index", Measure::Number, fixed, 0.1..3.0;
    #[doc = " Shear rate at which the viscosity was read."]
    ShearRate = "shear_rate", of::<kind::Rate>(), fixed, 1e-4..1e6;
    #[doc = " Mass of filler per mass of the whole."]
    FillerMass = "filler_mass", of::<kind::Fraction>(), fixed, 0.0..1.0;
    #[doc = " Contact angle of the liquid on solder mask."]
    ContactAngle = "contact_angle", of::<kind::Angle>(), fixed, 0.0..3.2;
    #[doc = " Usual thickness of the bond line."]
    BondLine = "bond_line", of::<kind::Length>(), fixed, 1e-6..5e-3;
    #[doc = " Thermal resistance times area of the whole interface at its usual bond line."]
    InterfaceResistance = "interface_resistance", of::<kind::ThermalResistanceArea>(), over, 1e-8..1e-2;
}

impl PropertyName {
    /// The property with this name.
    pub fn from_words(words: &str) -> Option<PropertyName> {
        PropertyName::ALL.iter().copied().find(|p| p.words() == words)
    }
}

impl fmt::Display for PropertyName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.words())
    }
}

impl Serialize for PropertyName {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.words())
    }
}

impl<'de> Deserialize<'de> for PropertyName {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let words = String::deserialize(deserializer)?;
        PropertyName::from_words(&words)
            .ok_or_else(|| serde::de::Error::custom(format!("`{words}` is not a property")))
    }
}
