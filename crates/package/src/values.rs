//! The values that a design file is written with: quantities with tolerance, names, paths, layer pairs.

use facedown_quantity::{Toleranced, kind};
use serde::Serialize;
use std::fmt;

/// A length.
pub type Length = Toleranced<kind::Length>;
/// An area.
pub type Area = Toleranced<kind::Area>;
/// A volume.
pub type Volume = Toleranced<kind::Volume>;
/// An angle.
pub type Angle = Toleranced<kind::Angle>;
/// An absolute temperature.
pub type Temperature = Toleranced<kind::Temperature>;
/// A difference of temperatures.
pub type TemperatureDifference = Toleranced<kind::TemperatureDifference>;
/// A rate of temperature change.
pub type TemperatureRate = Toleranced<kind::TemperatureRate>;
/// A time.
pub type Time = Toleranced<kind::Time>;
/// A number of cycles.
pub type Cycles = Toleranced<kind::Cycles>;
/// A share of a whole.
pub type Fraction = Toleranced<kind::Fraction>;
/// A power.
pub type Power = Toleranced<kind::Power>;
/// An activation energy.
pub type ActivationEnergy = Toleranced<kind::ActivationEnergy>;
/// A current density.
pub type CurrentDensity = Toleranced<kind::CurrentDensity>;
/// A current.
pub type Current = Toleranced<kind::Current>;
/// A pressure.
pub type Pressure = Toleranced<kind::Stress>;
/// A mechanical strength.
pub type Strength = Toleranced<kind::Stress>;
/// An electrical resistance times area.
pub type ResistanceArea = Toleranced<kind::ResistanceArea>;
/// A surface tension.
pub type SurfaceTension = Toleranced<kind::SurfaceTension>;
/// A viscosity.
pub type Viscosity = Toleranced<kind::Viscosity>;
/// A velocity.
pub type Velocity = Toleranced<kind::Velocity>;
/// A film coefficient.
pub type FilmCoefficient = Toleranced<kind::FilmCoefficient>;
/// A thermal resistance.
pub type ThermalResistance = Toleranced<kind::ThermalResistance>;
/// A thermal resistance times area.
pub type ThermalResistanceArea = Toleranced<kind::ThermalResistanceArea>;

macro_rules! text_types {
    ($( $(#[$meta:meta])* $name:ident; )*) => { $(
        $(#[$meta])*
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, schemars::JsonSchema)]
        #[serde(transparent)]
        pub struct $name(#[schemars(length(min = 1, max = 200))] pub String);

        impl $name {
            /// The text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }
    )* };
}

text_types! {
    /// A name: 1 to 200 characters without control characters.
    Name;
    /// The name of a material, of the tool's own or of the design's.
    MaterialName;
    /// The path of a file in the design's folder, relative to the design file.
    TablePath;
}

/// Layer and datatype (or text type) of a GDSII layout, written `37/0`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LayerPair {
    /// Layer.
    pub layer: i16,
    /// Datatype or text type.
    pub datatype: i16,
}

impl fmt::Display for LayerPair {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.layer, self.datatype)
    }
}

impl Serialize for LayerPair {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl schemars::JsonSchema for LayerPair {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "LayerPair".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({
            "type": "string",
            "description": "Layer and datatype of a GDSII layout, `37/0`.",
            "pattern": "^[0-9]{1,5}/[0-9]{1,5}$",
        })
    }
}
