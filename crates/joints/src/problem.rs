//! What the study reads: plain numbers in SI, temperatures in kelvin.
//!
//! A joint is solder between two round pads; the upper pad belongs to the part that is carried (die, interposer,
//! package), the lower one to what it stands on. Everything that only some designs know is optional, and what is left
//! out is left out of the outcome too.

use serde::{Deserialize, Serialize};

/// The solder joints of one part, and optionally those below its package.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Problem {
    /// Joints between the die (or interposer) and what it stands on.
    pub bumps: Option<Array>,
    /// Joints between the package and the board.
    pub balls: Option<Array>,
    /// The reflow that melts them.
    pub reflow: Option<Reflow>,
    /// The package body, for its moisture and reflow class.
    pub body: Option<Body>,
    /// Time at temperature in the solid state (bake, burn-in, storage, service), for the growth of compounds.
    #[serde(default)]
    pub storage: Vec<Dwell>,
}

/// An array of joints that carry one rigid part together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Array {
    /// The solder.
    pub solder: Solder,
    /// The kinds of joints in it; at least one with a count above zero.
    pub joints: Vec<Kind>,
    /// Least distance between centres of neighbours, m.
    pub pitch: f64,
    /// Mass that the array carries, kg.
    pub carried_mass: f64,
    /// Further downward force on the carried part while the solder is liquid (lid, weight, tool), N; negative lifts.
    #[serde(default)]
    pub extra_force: f64,
    /// Gap between both parts while the solder is liquid, less its mean plane.
    #[serde(default)]
    pub gap_map: GapMap,
    /// Offset of the part from its true place before it aligns itself, m.
    #[serde(default)]
    pub misplacement: f64,
    /// How much lower than nominal the lowest bump may be before joining, m (its tolerance, or three deviations).
    #[serde(default)]
    pub height_shortfall: f64,
    /// Metallisation under the solder on the upper pad; empty where it is not to be judged. From the pad outward, so
    /// that the last layer meets the solder.
    #[serde(default)]
    pub metallisation: Vec<Layer>,
    /// Metallisation of the lower pad, from the pad outward; counts for the solder that reacts.
    #[serde(default)]
    pub lower_metallisation: Vec<Layer>,
    /// Metal that one reflow takes from the reacting layer, least and most, m, where it was measured; replaces the
    /// built-in ranges.
    #[serde(default)]
    pub consumed_per_reflow: Option<[f64; 2]>,
}

/// A liquid solder.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Solder {
    /// Name, for sentences.
    pub name: String,
    /// Surface tension of the liquid, N/m.
    pub surface_tension: f64,
    /// Least and largest surface tension that sources give, N/m.
    #[serde(default)]
    pub surface_tension_range: Option<[f64; 2]>,
    /// Density of the liquid, kg/m3.
    pub density_liquid: f64,
    /// Solidus, K.
    pub solidus: f64,
    /// Liquidus, K.
    pub liquidus: f64,
    /// True where it contains lead.
    #[serde(default)]
    pub leaded: bool,
}

/// Joints that are alike.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Kind {
    /// Name, for sentences (`signal`, `corner`).
    pub name: String,
    /// How many of them the array has.
    pub count: u32,
    /// Diameter of the upper area that solder wets, m.
    pub upper_diameter: f64,
    /// Diameter of the lower area that solder wets, m.
    pub lower_diameter: f64,
    /// Solder on the upper pad before joining.
    pub upper_solder: Vec<Supply>,
    /// Solder on the lower pad before joining (paste, pre-solder); empty where there is none.
    #[serde(default)]
    pub lower_solder: Vec<Supply>,
    /// Height of solid metal between the upper part's face and the solder (pillar, under-bump metal), m; negative where
    /// the pad lies in a recess.
    #[serde(default)]
    pub upper_metal: f64,
    /// Height of solid metal between the lower part's face and the solder, m; negative where a mask stands above the
    /// pad.
    #[serde(default)]
    pub lower_metal: f64,
}

/// How solder gets onto a pad. Lengths in m.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Supply {
    /// A known volume, m3.
    Volume(f64),
    /// Plated into a round resist opening, with a mushroom where it grows over the resist.
    Plated {
        /// Diameter of the opening.
        opening: f64,
        /// Thickness up to the top of the resist at most.
        thickness: f64,
        /// Growth over the resist, upward and sideways; zero without a mushroom.
        overgrowth: f64,
    },
    /// The cap of a copper pillar, a disc as plated.
    PillarCap {
        /// Diameter of the pillar.
        diameter: f64,
        /// Thickness as plated.
        thickness: f64,
    },
    /// Stencilled paste.
    Paste {
        /// Area of the aperture, m2.
        aperture_area: f64,
        /// Perimeter of the aperture, m.
        aperture_perimeter: f64,
        /// Thickness of the stencil.
        stencil: f64,
        /// Share of the aperture's volume that is released, 0 to 1.
        transfer: f64,
        /// Share of the paste's volume that is metal, 0 to 1.
        metal: f64,
    },
    /// A solder ball.
    Ball {
        /// Diameter.
        diameter: f64,
    },
    /// A reflowed bump, a cap of a sphere on its wetted pad.
    Reflowed {
        /// Diameter of the wetted pad.
        pad: f64,
        /// Height of the solder above the pad.
        height: f64,
    },
}

/// Gap between both parts, less its mean plane, while the solder is liquid.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum GapMap {
    /// Both faces flat.
    #[default]
    Flat,
    /// Relative curvature over a rectangular array.
    Bow {
        /// Second derivative of the gap in x, 1/m; positive where the gap is wider at the edge.
        curvature_x: f64,
        /// Second derivative of the gap in y, 1/m.
        curvature_y: f64,
        /// Half the extent of the joints in x, m.
        half_width: f64,
        /// Half the extent of the joints in y, m.
        half_height: f64,
    },
    /// Deviation of the gap at every joint or at samples that stand for equal numbers of joints, m.
    Samples(Vec<f64>),
}

/// One layer of a metallisation.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Layer {
    /// Metal.
    pub metal: Metal,
    /// Thickness, m.
    pub thickness: f64,
}

/// A metal as the liquid solder sees it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Metal {
    /// Copper: reacts with tin to Cu6Sn5.
    Copper,
    /// Nickel, plated or sputtered, nickel-vanadium: reacts with tin to Ni3Sn4.
    Nickel,
    /// Electroless nickel with phosphorus: reacts to Ni3Sn4 and leaves a band rich in phosphorus.
    NickelPhosphorus,
    /// Gold: dissolves into the solder during the first reflow.
    Gold,
    /// Palladium: dissolves into the solder during the first reflow.
    Palladium,
    /// Titanium, titanium-tungsten, chromium, aluminium and what else solder does not react with.
    Inert,
}

/// An assembly reflow.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Reflow {
    /// Lower end of the preheat, K.
    pub preheat_from: f64,
    /// Upper end of the preheat, K.
    pub preheat_to: f64,
    /// Time between both, s.
    pub preheat_time: f64,
    /// Heating rate outside the preheat, K/s.
    pub ramp_up: f64,
    /// Peak temperature at the joints, K.
    pub peak: f64,
    /// Time above the solder's liquidus, s. Left out: as the ramps give, with `hold` at the peak.
    pub time_above_liquidus: Option<f64>,
    /// Time at the peak, s; used where the time above liquidus is left out.
    pub hold: f64,
    /// Cooling rate, K/s, as a positive number.
    pub ramp_down: f64,
    /// Number of reflows that the joint sees in all.
    pub count: u32,
    /// True where lead-free limits of the classification profile apply; left out: by the solders.
    pub lead_free: Option<bool>,
}

/// A package body without its balls.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Body {
    /// Size in x, m.
    pub width: f64,
    /// Size in y, m.
    pub height: f64,
    /// Thickness without balls, with lid, m.
    pub thickness: f64,
}

/// Time at a temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Dwell {
    /// Temperature, K.
    pub temperature: f64,
    /// Time, s.
    pub time: f64,
}
