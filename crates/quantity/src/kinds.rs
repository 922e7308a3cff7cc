//! The kinds of quantity and their units.
//!
//! One block a kind: the names, the units with their decimal size in SI (`254 e -7` for a mil), further
//! spellings, and, for the units of daily use, a constructor and an accessor named by the unit. Sizes of units
//! follow BIPM, The International System of Units, 9th edition, 2019; mil and inch follow the international inch of
//! 25.4 mm (1959).

use crate::quantity::Quantity;
use crate::table::{Kind, KindTable, Linear, Scale, Unit};

macro_rules! scale {
    ($m:literal e $x:literal) => {
        Scale::Decimal { mantissa: $m, exponent: $x }
    };
    (celsius) => {
        Scale::Celsius
    };
    (factor $f:expr) => {
        Scale::Factor($f)
    };
}

macro_rules! kinds {
    ($(
        $(#[$doc:meta])*
        $kind:ident: $a_name:literal, $name:literal, customary $customary:literal, examples $examples:expr,
        $(least $least:literal,)? $(tolerance $tolerance:ident,)?
        units { $( $unit:literal $([$($also:literal),*])? = ($($scale:tt)*) $($written:ident)? ; )* }
        names { $( $from:ident $to:ident $named:literal; )* }
    )*) => {
        /// The kinds as types, one each; [`crate::Kind::TABLE`] holds its units.
        pub mod kind {
            $( $(#[$doc])* #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd)] pub struct $kind; )*
        }
        $(
            $(#[$doc])*
            pub type $kind = Quantity<kind::$kind>;
            impl Kind for kind::$kind {
                const TABLE: &'static KindTable = &KindTable {
                    a_name: $a_name,
                    name: $name,
                    units: &[$( Unit {
                        name: $unit,
                        also: &[$($($also),*)?],
                        scale: scale!($($scale)*),
                        written: kinds!(@written $($written)?),
                    } ),*],
                    customary: $customary,
                    examples: &$examples,
                    least: kinds!(@option $($least)?),
                    tolerance: kinds!(@table $($tolerance)?),
                };
            }
            impl Quantity<kind::$kind> {
                $(
                    #[doc = concat!("From a number of `", $named, "`.")]
                    pub fn $from(number: f64) -> Self {
                        Quantity::from_unit(number, $named)
                    }
                    #[doc = concat!("As a number of `", $named, "`.")]
                    pub fn $to(self) -> f64 {
                        self.in_unit($named)
                    }
                )*
            }
        )*
        /// The tables of all kinds, in the order of the source.
        pub fn all_kinds() -> &'static [&'static KindTable] {
            &[$(<kind::$kind as Kind>::TABLE),*]
        }
    };
    (@written) => { false };
    (@written written) => { true };
    (@option) => { None };
    (@option $x:literal) => { Some($x) };
    (@table) => { None };
    (@table $t:ident) => { Some(<kind::$t as Kind>::TABLE) };
}

macro_rules! linear { ($($kind:ident)*) => { $(impl Linear for kind::$kind {})* }; }

kinds! {
    /// A length, in metres inside.
    Length: "a length", "length", customary "um", examples ["75 um", "7.2 mm", "75 um +- 5 um"],
    units {
        "nm" = (1 e -9) written; "um" ["micron", "microns"] = (1 e -6) written; "mm" = (1 e -3) written;
        "m" = (1 e 0) written; "cm" = (1 e -2); "mil" ["mils", "thou"] = (254 e -7); "inch" ["in"] = (254 e -4);
    }
    names { from_nm nm "nm"; from_um um "um"; from_mm mm "mm"; from_m m "m"; from_mil mil "mil"; }

    /// An area, in square metres inside.
    Area: "an area", "area", customary "mm2", examples ["46 mm2"],
    units { "um2" = (1 e -12) written; "mm2" = (1 e -6) written; "cm2" = (1 e -4); "m2" = (1 e 0) written; }
    names { from_um2 um2 "um2"; from_mm2 mm2 "mm2"; from_m2 m2 "m2"; }

    /// A volume, in cubic metres inside.
    Volume: "a volume", "volume", customary "mm3", examples ["1.2 uL", "0.5 mm3"],
    units {
        "um3" = (1 e -18) written; "mm3" = (1 e -9) written; "nL" = (1 e -12); "uL" = (1 e -9); "mL" = (1 e -6);
        "L" = (1 e -3); "cm3" = (1 e -6); "m3" = (1 e 0) written;
    }
    names { from_um3 um3 "um3"; from_mm3 mm3 "mm3"; from_m3 m3 "m3"; }

    /// An absolute temperature, in kelvin inside. Its tolerance is a temperature difference.
    Temperature: "an absolute temperature", "temperature", customary "degC",
    examples ["260 degC", "-40 degC", "533.15 K", "260 degC +- 5 K"], least 0.0, tolerance TemperatureDifference,
    units { "degC" = (celsius) written; "K" ["kelvin"] = (1 e 0); }
    names { from_deg_c deg_c "degC"; from_kelvin kelvin "K"; }

    /// A temperature difference, in kelvin inside; never written in degC.
    TemperatureDifference: "a temperature difference", "temperature difference", customary "K", examples ["63 K"],
    units { "mK" = (1 e -3) written; "K" ["kelvin"] = (1 e 0) written; }
    names { from_kelvin kelvin "K"; }

    /// A rate of temperature change, in K/s inside.
    TemperatureRate: "a temperature rate", "temperature rate", customary "K/s", examples ["2 K/s", "15 K/min"],
    units { "K/s" ["degC/s"] = (1 e 0) written; "K/min" ["degC/min"] = (factor 1.0 / 60.0); }
    names { from_k_per_s k_per_s "K/s"; }

    /// A time, in seconds inside.
    Time: "a time", "time", customary "s", examples ["60 s", "30 min", "2 h", "7 day"],
    units {
        "ps" = (1 e -12) written; "ns" = (1 e -9) written; "us" = (1 e -6) written; "ms" = (1 e -3) written;
        "s" ["sec"] = (1 e 0) written; "min" = (60 e 0) written; "h" ["hour", "hours", "hr"] = (3600 e 0) written;
        "day" ["days", "d"] = (86400 e 0) written; "year" ["years", "a"] = (31557600 e 0);
    }
    names { from_seconds seconds "s"; from_minutes minutes "min"; from_hours hours "h"; from_years years "year"; }

    /// A frequency, in hertz inside.
    Frequency: "a frequency", "frequency", customary "GHz", examples ["10 GHz"],
    units {
        "Hz" = (1 e 0) written; "kHz" = (1 e 3) written; "MHz" = (1 e 6) written; "GHz" = (1 e 9) written;
        "THz" = (1 e 12) written;
    }
    names { from_hz hz "Hz"; from_ghz ghz "GHz"; }

    /// Events per time (reaction, creep), in 1/s inside.
    Rate: "a rate", "rate", customary "1/s", examples ["0.02 1/s", "3 1/h"],
    units {
        "1/s" ["/s", "s-1", "per s"] = (1 e 0) written; "1/min" ["/min"] = (factor 1.0 / 60.0);
        "1/h" ["/h"] = (factor 1.0 / 3600.0); "1/day" ["/day"] = (factor 1.0 / 86400.0);
    }
    names { from_per_s per_s "1/s"; from_per_day per_day "1/day"; }

    /// A number of cycles.
    Cycles: "a number of cycles", "cycles", customary "cycles", examples ["1000 cycles"],
    units { "cycles" ["cycle"] = (1 e 0) written; "kcycles" = (1 e 3); }
    names { from_cycles cycles "cycles"; }

    /// A fraction of a whole, as a plain ratio inside; `+- 3 %` on a fraction means percentage points.
    Fraction: "a fraction", "fraction", customary "%", examples ["60 %", "500 ppm"],
    units { "ppm" = (1 e -6) written; "%" ["percent", "per cent"] = (1 e -2) written; }
    names { from_percent percent "%"; from_ppm ppm "ppm"; }

    /// An angle, in radians inside.
    Angle: "an angle", "angle", customary "deg", examples ["30 deg", "0.5 rad"],
    units {
        "deg" ["degree", "degrees"] = (factor std::f64::consts::PI / 180.0) written; "mrad" = (1 e -3);
        "rad" = (1 e 0);
    }
    names { from_deg deg "deg"; from_rad rad "rad"; }

    /// A power, in watts inside.
    Power: "a power", "power", customary "W", examples ["4.5 W", "250 mW"],
    units { "uW" = (1 e -6) written; "mW" = (1 e -3) written; "W" = (1 e 0) written; "kW" = (1 e 3) written; }
    names { from_w w "W"; from_mw mw "mW"; }

    /// A power per area, in W/m2 inside.
    PowerDensity: "a power density", "power density", customary "W/cm2", examples ["30 W/cm2"],
    units {
        "W/m2" = (1 e 0); "W/cm2" = (1 e 4) written; "W/mm2" = (1 e 6);
    }
    names { from_w_per_m2 w_per_m2 "W/m2"; from_w_per_cm2 w_per_cm2 "W/cm2"; }

    /// A thermal conductivity, in W/(m K) inside.
    Conductivity: "a thermal conductivity", "thermal conductivity", customary "W/mK", examples ["148 W/mK"],
    units { "mW/mK" = (1 e -3); "W/mK" ["W/m-K", "W/m/K", "Wm-1K-1", "W/mdegC"] = (1 e 0) written; "W/cmK" = (1 e 2); }
    names { from_w_per_mk w_per_mk "W/mK"; }

    /// A film (heat transfer) coefficient, in W/(m2 K) inside.
    FilmCoefficient: "a film coefficient", "film coefficient", customary "W/m2K", examples ["10 W/m2K"],
    units { "W/m2K" ["W/m2-K", "W/m2/K", "Wm-2K-1"] = (1 e 0) written; "W/cm2K" = (1 e 4); }
    names { from_w_per_m2k w_per_m2k "W/m2K"; }

    /// A thermal resistance between two places, in K/W inside.
    ThermalResistance: "a thermal resistance", "thermal resistance", customary "K/W", examples ["0.3 K/W"],
    units { "mK/W" = (1 e -3); "K/W" ["degC/W"] = (1 e 0) written; }
    names { from_k_per_w k_per_w "K/W"; }

    /// A thermal resistance times area (interface, bond line), in m2 K/W inside.
    ThermalResistanceArea: "an area thermal resistance", "area thermal resistance", customary "mm2K/W",
    examples ["12 mm2K/W"],
    units { "mm2K/W" ["mm2degC/W", "Kmm2/W"] = (1 e -6) written; "cm2K/W" ["cm2degC/W", "Kcm2/W"] = (1 e -4); "m2K/W" ["Km2/W"] = (1 e 0); }
    names { from_mm2k_per_w mm2k_per_w "mm2K/W"; from_m2k_per_w m2k_per_w "m2K/W"; }

    /// A specific heat capacity, in J/(kg K) inside.
    HeatCapacity: "a specific heat capacity", "specific heat capacity", customary "J/kgK", examples ["712 J/kgK"],
    units { "J/kgK" ["J/kg-K", "J/kg/K"] = (1 e 0) written; "J/gK" ["J/g-K"] = (1 e 3); }
    names { from_j_per_kgk j_per_kgk "J/kgK"; }

    /// An energy per mass (latent heat, heat of reaction), in J/kg inside.
    SpecificEnergy: "an energy per mass", "specific energy", customary "J/g", examples ["61 J/g"],
    units { "J/kg" = (1 e 0); "J/g" ["kJ/kg"] = (1 e 3) written; }
    names { from_j_per_kg j_per_kg "J/kg"; }

    /// A thermal or mass diffusivity, in m2/s inside.
    Diffusivity: "a diffusivity", "diffusivity", customary "mm2/s", examples ["88 mm2/s", "1e-12 m2/s"],
    units { "m2/s" = (1 e 0) written; "cm2/s" = (1 e -4); "mm2/s" = (1 e -6); }
    names { from_m2_per_s m2_per_s "m2/s"; }

    /// A density, in kg/m3 inside.
    Density: "a density", "density", customary "kg/m3", examples ["2330 kg/m3", "7.4 g/cm3"],
    units { "kg/m3" = (1 e 0) written; "g/cm3" ["g/cc"] = (1 e 3); }
    names { from_kg_per_m3 kg_per_m3 "kg/m3"; from_g_per_cm3 g_per_cm3 "g/cm3"; }

    /// A mass, in kilograms inside.
    Mass: "a mass", "mass", customary "g", examples ["12 g"],
    units { "ug" = (1 e -9) written; "mg" = (1 e -6) written; "g" = (1 e -3) written; "kg" = (1 e 0) written; }
    names { from_kg kg "kg"; from_g g "g"; }

    /// A current, in amperes inside.
    Current: "a current", "current", customary "mA", examples ["20 mA", "3.5 A"],
    units { "nA" = (1 e -9) written; "uA" = (1 e -6) written; "mA" = (1 e -3) written; "A" = (1 e 0) written; }
    names { from_a a "A"; from_ma ma "mA"; }

    /// A current density, in A/m2 inside.
    CurrentDensity: "a current density", "current density", customary "A/cm2", examples ["1e4 A/cm2"],
    units { "A/m2" = (1 e 0); "A/cm2" = (1 e 4) written; "A/mm2" = (1 e 6); "mA/um2" = (1 e 9); }
    names { from_a_per_m2 a_per_m2 "A/m2"; from_a_per_cm2 a_per_cm2 "A/cm2"; }

    /// A voltage, in volts inside.
    Voltage: "a voltage", "voltage", customary "V", examples ["0.9 V", "25 mV"],
    units { "uV" = (1 e -6) written; "mV" = (1 e -3) written; "V" = (1 e 0) written; "kV" = (1 e 3) written; }
    names { from_v v "V"; from_mv mv "mV"; }

    /// An electrical resistance, in ohms inside.
    Resistance: "an electrical resistance", "resistance", customary "mohm", examples ["12 mohm", "50 ohm"],
    units { "uohm" = (1 e -6) written; "mohm" = (1 e -3) written; "ohm" ["ohms"] = (1 e 0) written; "kohm" = (1 e 3) written; }
    names { from_ohm ohm "ohm"; from_mohm mohm "mohm"; }

    /// A sheet resistance, in ohms per square inside.
    SheetResistance: "a sheet resistance", "sheet resistance", customary "mohm/sq", examples ["5 mohm/sq"],
    units { "mohm/sq" = (1 e -3) written; "ohm/sq" = (1 e 0) written; }
    names { from_ohm_per_square ohm_per_square "ohm/sq"; }

    /// An electrical resistance times the area that the current crosses (contacts), in ohm m2 inside.
    ResistanceArea: "an electrical resistance times area", "resistance times area", customary "ohm cm2", examples ["1e-8 ohm cm2"],
    units { "ohm um2" = (1 e -12); "ohm cm2" = (1 e -4) written; "ohm m2" = (1 e 0); }
    names { from_ohm_m2 ohm_m2 "ohm m2"; from_ohm_cm2 ohm_cm2 "ohm cm2"; }

    /// An electrical resistivity, in ohm m inside.
    Resistivity: "an electrical resistivity", "resistivity", customary "uohm cm", examples ["1.72 uohm cm", "1e-8 ohm m"],
    units { "nohm m" = (1 e -9); "uohm cm" = (1 e -8) written; "uohm m" = (1 e -6); "ohm cm" = (1 e -2) written; "ohm m" = (1 e 0); }
    names { from_ohm_m ohm_m "ohm m"; from_uohm_cm uohm_cm "uohm cm"; }

    /// An inductance, in henries inside.
    Inductance: "an inductance", "inductance", customary "pH", examples ["25 pH", "1.2 nH"],
    units { "fH" = (1 e -15) written; "pH" = (1 e -12) written; "nH" = (1 e -9) written; "uH" = (1 e -6) written; "H" = (1 e 0); }
    names { from_h h "H"; from_nh nh "nH"; from_ph ph "pH"; }

    /// A capacitance, in farads inside.
    Capacitance: "a capacitance", "capacitance", customary "pF", examples ["1.5 pF", "40 fF"],
    units { "fF" = (1 e -15) written; "pF" = (1 e -12) written; "nF" = (1 e -9) written; "uF" = (1 e -6) written; "F" = (1 e 0); }
    names { from_f f "F"; from_pf pf "pF"; from_ff ff "fF"; }

    /// A stress, modulus or pressure, in pascals inside.
    Stress: "a stress or pressure", "stress or pressure", customary "MPa", examples ["28 MPa", "130 GPa", "1 bar"],
    units {
        "Pa" = (1 e 0) written; "kPa" = (1 e 3) written; "MPa" = (1 e 6) written; "GPa" = (1 e 9) written;
        "mbar" = (1 e 2); "bar" = (1 e 5);
    }
    names { from_pa pa "Pa"; from_mpa mpa "MPa"; from_gpa gpa "GPa"; }

    /// A factor per stress (creep laws), in 1/Pa inside.
    PerStress: "a factor per stress", "factor per stress", customary "1/MPa", examples ["0.06 1/MPa"],
    units { "1/GPa" ["/GPa"] = (1 e -9); "1/MPa" ["/MPa", "MPa-1"] = (1 e -6) written; "1/Pa" ["/Pa"] = (1 e 0); }
    names { from_per_mpa per_mpa "1/MPa"; }

    /// A fracture toughness (stress intensity), in Pa m^0.5 inside.
    FractureToughness: "a fracture toughness", "fracture toughness", customary "MPa m^0.5", examples ["0.9 MPa m^0.5"],
    units { "MPa m^0.5" ["MPa sqrt(m)", "MPam1/2", "MPa√m"] = (1 e 6) written; "Pa m^0.5" = (1 e 0); }
    names { from_mpa_sqrt_m mpa_sqrt_m "MPa m^0.5"; }

    /// An energy per area (adhesion, fracture), in J/m2 inside.
    FractureEnergy: "an energy per area", "energy per area", customary "J/m2", examples ["20 J/m2"],
    units { "mJ/m2" = (1 e -3); "J/m2" = (1 e 0) written; }
    names { from_j_per_m2 j_per_m2 "J/m2"; }

    /// A surface tension, in N/m inside.
    SurfaceTension: "a surface tension", "surface tension", customary "mN/m", examples ["480 mN/m", "0.48 N/m"],
    units { "mN/m" ["dyn/cm", "dyne/cm"] = (1 e -3) written; "N/m" = (1 e 0); }
    names { from_n_per_m n_per_m "N/m"; from_mn_per_m mn_per_m "mN/m"; }

    /// A dynamic viscosity, in Pa s inside.
    Viscosity: "a viscosity", "viscosity", customary "Pa s", examples ["0.5 Pa s", "300 mPa s"],
    units { "mPa s" ["mPa.s", "mPa-s", "cP"] = (1 e -3) written; "Pa s" ["Pa.s", "Pa-s"] = (1 e 0) written; }
    names { from_pa_s pa_s "Pa s"; from_mpa_s mpa_s "mPa s"; }

    /// A coefficient of thermal expansion, in 1/K inside.
    Expansion: "a thermal expansion", "thermal expansion", customary "ppm/K", examples ["2.6 ppm/K", "17e-6 1/K"],
    units { "ppm/K" ["ppm/degC", "ppm/C", "um/mK"] = (1 e -6) written; "1/K" ["/K", "K-1", "1/degC"] = (1 e 0); }
    names { from_ppm_per_k ppm_per_k "ppm/K"; from_per_k per_k "1/K"; }

    /// A relative change per kelvin (resistance and the like), in 1/K inside.
    TemperatureCoefficient: "a temperature coefficient", "temperature coefficient", customary "%/K", examples ["0.39 %/K"],
    units { "ppm/K" ["ppm/degC", "ppm/C"] = (1 e -6); "%/K" ["%/degC"] = (1 e -2) written; "1/K" ["/K", "K-1", "1/degC"] = (1 e 0); }
    names { from_per_kelvin per_kelvin "1/K"; }

    /// A velocity, in m/s inside.
    Velocity: "a velocity", "velocity", customary "m/s", examples ["1 m/s", "5 mm/s"],
    units { "um/s" = (1 e -6) written; "mm/s" = (1 e -3) written; "m/s" = (1 e 0) written; "mm/min" = (factor 1e-3 / 60.0); }
    names { from_m_per_s m_per_s "m/s"; from_mm_per_s mm_per_s "mm/s"; }

    /// An acceleration, in m/s2 inside.
    Acceleration: "an acceleration", "acceleration", customary "m/s2", examples ["1500 gn"],
    units { "m/s2" = (1 e 0) written; "gn" ["g0"] = (980665 e -5); }
    names { from_m_per_s2 m_per_s2 "m/s2"; }

    /// A force, in newtons inside.
    Force: "a force", "force", customary "N", examples ["50 N", "3 mN"],
    units { "uN" = (1 e -6) written; "mN" = (1 e -3) written; "N" = (1 e 0) written; "kN" = (1 e 3) written; "gf" = (980665 e -8); "kgf" = (980665 e -5); }
    names { from_n n "N"; from_mn mn "mN"; }

    /// A stiffness, in N/m inside.
    Stiffness: "a stiffness", "stiffness", customary "N/m", examples ["5 N/m"],
    units { "N/m" = (1 e 0) written; "kN/m" = (1 e 3) written; }
    names { from_n_per_m n_per_m "N/m"; }

    /// An energy, in joules inside.
    Energy: "an energy", "energy", customary "J", examples ["5 mJ"],
    units { "uJ" = (1 e -6) written; "mJ" = (1 e -3) written; "J" = (1 e 0) written; "kJ" = (1 e 3) written; }
    names { from_j j "J"; }

    /// An activation energy, in joules per particle inside.
    ActivationEnergy: "an activation energy", "activation energy", customary "eV", examples ["0.9 eV", "75 kJ/mol"],
    units {
        "eV" = (1602176634 e -28) written; "meV" = (1602176634 e -31);
        "kJ/mol" = (factor 1e3 / crate::constants::AVOGADRO); "J/mol" = (factor 1.0 / crate::constants::AVOGADRO);
    }
    names { from_ev ev "eV"; from_kj_per_mol kj_per_mol "kJ/mol"; }
}

linear! {
    Length Area Volume TemperatureDifference TemperatureRate Time Frequency Rate Cycles Fraction Angle Power PowerDensity
    Conductivity FilmCoefficient ThermalResistance ThermalResistanceArea HeatCapacity SpecificEnergy Diffusivity Density
    Mass Current CurrentDensity Voltage Resistance SheetResistance ResistanceArea Resistivity Inductance Capacitance Stress PerStress
    FractureToughness FractureEnergy SurfaceTension Viscosity Expansion TemperatureCoefficient Velocity Acceleration
    Force Stiffness Energy ActivationEnergy
}

/// A pressure is a [`Stress`] by another name.
pub type Pressure = Stress;
