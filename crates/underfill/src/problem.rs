//! What the study reads: plain numbers in SI, nothing of the design file.

use crate::cure::{Chemoviscosity, Kinetics};
use crate::surface::ProbeLiquid;
use serde::{Deserialize, Serialize};

/// One die, or an interposer with its dies, to be underfilled.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Problem {
    /// The die.
    pub die: Die,
    /// Stand-off between the faces, m.
    pub gap_m: f64,
    /// The bumps in the gap; none for a bare gap.
    pub bumps: Option<BumpField>,
    /// The underfill.
    pub liquid: Liquid,
    /// Angle of the underfill on the die's face, where it is stated.
    pub angle_die: Option<Angle>,
    /// Angle of the underfill on the substrate, where it is stated.
    pub angle_substrate: Option<Angle>,
    /// Angle of the underfill on the bumps, where it is stated.
    pub angle_bump: Option<Angle>,
    /// Contact-angle readings with probe liquids; may be empty.
    pub readings: Vec<Reading>,
    /// Drops that were measured: of the underfill itself, by size or picture, at places, by lot; may be empty.
    pub drops: Vec<Drop>,
    /// Plasma before underfill.
    pub plasma: Option<Plasma>,
    /// Time between plasma and dispense, s.
    pub queue_s: f64,
    /// Bake before underfill: temperature in K and time in s.
    pub bake: Option<(f64, f64)>,
    /// How it is dispensed.
    pub dispense: Dispense,
    /// The fillet that is wanted; left out, 60 % of the die's thickness.
    pub fillet: Option<Fillet>,
    /// The cure, step by step after the flow; may be empty.
    pub cure: Vec<CureStep>,
    /// Pressure of the air in which it is dispensed, Pa.
    pub ambient_pa: f64,
    /// Centres of the bumps from the lower left corner of the die, seen from above, m; empty where only the field is known.
    pub places_m: Vec<[f64; 2]>,
    /// Residue on die or substrate before plasma; may be empty.
    pub residues: Vec<ResiduePatch>,
    /// Share of the residue that the plasma leaves, where it is stated; else the readings' rate gives it.
    pub residue_left: Option<f64>,
    /// Distance from the die's edges that must stay clear of underfill, m: passives, keep-outs.
    pub keep_clear_m: Option<f64>,
    /// Recipes to be tried; left out, none.
    pub search: Option<Search>,
    /// Process windows; left out, none.
    pub windows: Option<Windows>,
    /// Cells in a pitch of the bumps, at least two, for the front on the bump map; left out, closed forms alone.
    pub fineness: Option<f64>,
}

/// A rectangular die.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Die {
    /// Extent along x, m.
    pub width_m: f64,
    /// Extent along y, m.
    pub height_m: f64,
    /// Thickness, m.
    pub thickness_m: f64,
}

/// Bumps in the gap: an array, as regular or as its mean.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct BumpField {
    /// Arrangement.
    pub lattice: Lattice,
    /// Distance of neighbours, m.
    pub pitch_m: f64,
    /// Largest diameter of a bump, m.
    pub diameter_m: f64,
    /// Shape between the faces.
    pub shape: BumpShape,
    /// Number of bumps.
    pub count: usize,
    /// Extent of the array along x, bump cells included, m; it lies in the middle of the die.
    pub covered_width_m: f64,
    /// Extent of the array along y, m.
    pub covered_height_m: f64,
    /// Median distance of nearest neighbours over the mean pitch; 1 for a regular array.
    pub regularity: f64,
}

/// Bumps by their places, for [`BumpField::of_places`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bumps<'a> {
    /// Centres of the bumps, m.
    pub places: &'a [[f64; 2]],
    /// Largest diameter, m.
    pub diameter_m: f64,
    /// Shape.
    pub shape: BumpShape,
    /// Arrangement that describes the neighbourhood best.
    pub lattice: Lattice,
}

impl BumpField {
    /// The field with the mean pitch of a bump map: the covered rectangle is that of the centres, widened by half a
    /// pitch on each side, and every bump has its share `p^2` (square) or `p^2 sqrt(3)/2` (hexagonal) of it. Nothing
    /// for fewer than two different places.
    pub fn of_places(bumps: Bumps<'_>) -> Option<BumpField> {
        BumpField::of_neighbours(bumps, crate::nearest::median_nearest(bumps.places))
    }

    /// The same where the median over the bumps of the distance to the nearest other one ([`crate::median_nearest`]), m, is known.
    pub fn of_neighbours(bumps: Bumps<'_>, nearest_m: f64) -> Option<BumpField> {
        let n = bumps.places.len() as f64;
        let extent = |axis: usize| {
            let (least, most) = bumps
                .places
                .iter()
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, m), p| (l.min(p[axis]), m.max(p[axis])));
            most - least
        };
        if bumps.places.len() < 2 {
            return None;
        }
        let (w, h) = (extent(0), extent(1));
        // n s p^2 = (w + p)(h + p)
        let a = n * bumps.lattice.cell_share() - 1.0;
        let b = w + h;
        let pitch = (b + (b * b + 4.0 * a * w * h).sqrt()) / (2.0 * a);
        if !(pitch.is_finite() && pitch > 0.0 && a > 0.0) {
            return None;
        }
        Some(BumpField {
            lattice: bumps.lattice,
            pitch_m: pitch,
            diameter_m: bumps.diameter_m,
            shape: bumps.shape,
            count: bumps.places.len(),
            covered_width_m: w + pitch,
            covered_height_m: h + pitch,
            regularity: nearest_m / pitch,
        })
    }
}

/// Arrangement of the bumps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Lattice {
    /// Rows and columns.
    Square,
    /// Rows shifted by half a pitch, with six equal neighbours.
    Hexagonal,
}

impl Lattice {
    /// Area of a cell over the pitch squared.
    pub fn cell_share(self) -> f64 {
        match self {
            Lattice::Square => 1.0,
            Lattice::Hexagonal => 0.75_f64.sqrt(),
        }
    }
}

/// Shape of a bump between the two faces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum BumpShape {
    /// A pillar.
    Cylinder,
    /// A solder joint, thickest at half height.
    TruncatedSphere,
}

/// The uncured underfill.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Liquid {
    /// Surface tension at the flow temperature, N/m.
    pub surface_tension_n_m: f64,
    /// Share of the surface tension that is dispersive, 0 to 1; left out, a labelled starting value of 0.85.
    pub dispersive_share: Option<f64>,
    /// Contact angle that the material's sheet gives, used on faces without an angle or readings, rad.
    pub contact_angle_rad: Option<f64>,
    /// Viscosity before cure at temperatures, K and Pa s, temperatures rising. Between two points its logarithm is
    /// linear in 1/T.
    pub viscosity: Vec<(f64, f64)>,
    /// Temperature range for which the viscosity's source vouches, K.
    pub viscosity_valid: Option<(f64, f64)>,
    /// Activation energy of the viscosity outside of the points, J/mol; left out, a labelled starting value.
    pub activation_j_mol: Option<f64>,
    /// How the viscosity goes with the shear rate; left out, not at all.
    #[serde(default)]
    pub thinning: Option<Thinning>,
    /// Growth of the viscosity with cure; left out, a labelled starting value.
    pub chemoviscosity: Option<Chemoviscosity>,
    /// Cure kinetics; left out, labelled starting values, low and high.
    pub kinetics: Option<Kinetics>,
    /// Glass transition when cured, K.
    pub glass_transition_k: Option<f64>,
    /// Diameter of the largest filler, m.
    pub filler_largest_m: Option<f64>,
}

/// A power law of the viscosity over the shear rate: it goes with the rate to the power `index - 1`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Thinning {
    /// Index; below 1 it thins, above 1 it thickens.
    pub index: f64,
    /// Shear rate at which the viscosity was read, 1/s.
    pub rate_per_s: f64,
}

/// A face that the underfill wets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Face {
    /// The die's face.
    Die,
    /// The substrate's face.
    Substrate,
    /// The bumps.
    Bump,
}

impl Face {
    /// The face in words.
    pub fn words(self) -> &'static str {
        match self {
            Face::Die => "die",
            Face::Substrate => "substrate",
            Face::Bump => "bump",
        }
    }
}

/// A contact angle with its spread.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Angle {
    /// Angle, rad.
    pub angle_rad: f64,
    /// One standard deviation, rad.
    pub spread_rad: f64,
}

/// A contact-angle reading with a probe liquid.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// Where.
    pub face: Face,
    /// With what.
    pub liquid: ProbeLiquid,
    /// Angle, rad.
    pub angle_rad: f64,
    /// One standard deviation of the reading, rad; zero is taken as 2 degrees.
    pub spread_rad: f64,
    /// Plasma dose before the reading: power times time, J; zero for the untreated surface.
    pub dose_j: f64,
    /// Time between plasma and reading, s; without meaning for the untreated surface.
    pub age_s: f64,
}

/// A drop that was measured.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Drop {
    /// Where.
    pub face: Face,
    /// Probe liquid; none for the underfill itself.
    pub liquid: Option<ProbeLiquid>,
    /// How its angle is told.
    pub how: Measured,
    /// One standard deviation of a stated angle, rad; zero is taken as 2 degrees.
    pub spread_rad: f64,
    /// Plasma dose before: power times time, J; zero for the untreated surface.
    pub dose_j: f64,
    /// Time between plasma and reading, s.
    pub age_s: f64,
    /// Place from the lower left corner of the die, seen from above, m.
    pub place_m: Option<[f64; 2]>,
    /// Lot.
    pub lot: Option<String>,
}

/// How the angle of a drop is told.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Measured {
    /// As an angle, rad.
    Angle(f64),
    /// By its size.
    Size {
        /// Volume, m3.
        volume_m3: f64,
        /// Diameter of its base, m.
        diameter_m: f64,
    },
    /// By a picture from the side.
    Picture {
        /// File, for messages.
        name: String,
        /// Bytes of a PNG or JPEG file in base 64.
        base64: String,
        /// Size of a pixel, m, where it is known.
        pixel_m: Option<f64>,
    },
}

/// A plasma treatment.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Plasma {
    /// Gas.
    pub gas: PlasmaGas,
    /// Radio-frequency power, W.
    pub power_w: f64,
    /// Chamber pressure, Pa.
    pub pressure_pa: Option<f64>,
    /// Time, s.
    pub time_s: f64,
}

/// Gas of a plasma.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum PlasmaGas {
    /// Argon.
    Argon,
    /// Oxygen.
    Oxygen,
    /// Argon and oxygen.
    ArgonOxygen,
    /// Argon and hydrogen.
    ArgonHydrogen,
    /// Nitrogen and hydrogen.
    NitrogenHydrogen,
}

impl PlasmaGas {
    /// The gas in words.
    pub fn words(self) -> &'static str {
        match self {
            PlasmaGas::Argon => "argon",
            PlasmaGas::Oxygen => "oxygen",
            PlasmaGas::ArgonOxygen => "argon and oxygen",
            PlasmaGas::ArgonHydrogen => "argon and hydrogen",
            PlasmaGas::NitrogenHydrogen => "nitrogen and hydrogen",
        }
    }
}

/// Which recipes are tried, and what one must keep.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Search {
    /// Patterns; empty for all.
    pub patterns: Vec<Pattern>,
    /// Numbers of passes; empty for one and those that the offset asks for.
    pub passes: Vec<u32>,
    /// Waits between passes, s; empty for that of the problem.
    pub waits_s: Vec<f64>,
    /// Offsets of the lines, m; empty for that of the problem.
    pub offsets_m: Vec<f64>,
    /// Voids that are allowed over the die's area.
    pub void_area_fraction: f64,
    /// Gel over fill time that is asked for.
    pub gel_margin: f64,
    /// Room beside each edge before something that must stay clean, m.
    pub room_m: f64,
}

/// Process windows about the recipe, with the tolerances beside those of the angles.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Windows {
    /// Lowest and highest angle on the substrate, rad.
    pub angles_rad: [f64; 2],
    /// Lowest and highest flow temperature, K.
    pub temperatures_k: [f64; 2],
    /// Smallest and largest gap, m.
    pub gaps_m: [f64; 2],
    /// Longest queue time, s.
    pub queue_s: f64,
    /// Standard deviation of the gap over the gap.
    pub gap_spread: f64,
    /// Standard deviation of the viscosity over the viscosity.
    pub viscosity_spread: f64,
    /// Voids that are allowed over the die's area.
    pub void_area_fraction: f64,
}

/// Residue on a part of a face.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ResiduePatch {
    /// Face.
    pub face: Face,
    /// Where it lies.
    pub extent: Extent,
    /// Share of the face that it covers there, 0 to 1; of a grid, a factor of its cells.
    pub cover: f64,
    /// Contact angle of the underfill on it, rad.
    pub angle_rad: f64,
}

/// Where residue lies; places in m from the lower left corner of the die, seen from above.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Extent {
    /// In a figure.
    Shape(crate::front::Shape),
    /// Over the whole die by shares of even cells, rows from the lower edge.
    Grid {
        /// Cells along x and y.
        count: [usize; 2],
        /// Share of each, 0 to 1.
        shares: Vec<f64>,
    },
}

/// How the underfill is dispensed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Dispense {
    /// Temperature of the substrate while it flows, K.
    pub temperature_k: f64,
    /// Where the part is not hot yet when dispensing begins: its temperature then, K, and its heating rate, K/s.
    pub heating: Option<(f64, f64)>,
    /// Pattern.
    pub pattern: Pattern,
    /// Edge of the first line; left out, the longest.
    pub edge: Option<Edge>,
    /// Number of passes, at least 1.
    pub passes: u32,
    /// Time from the start of one pass to the start of the next, s.
    pub wait_s: f64,
    /// Distance of the line from the die's edge, m.
    pub offset_m: Option<f64>,
    /// Volume of all passes, m3; left out, what gap and fillets need.
    pub volume_m3: Option<f64>,
}

/// Lines along which it is dispensed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Pattern {
    /// One edge.
    Line,
    /// Two opposite edges.
    TwoLines,
    /// Two edges that meet.
    L,
    /// Three edges.
    U,
}

impl Pattern {
    /// The pattern in words.
    pub fn words(self) -> &'static str {
        match self {
            Pattern::Line => "line",
            Pattern::TwoLines => "two lines",
            Pattern::L => "L",
            Pattern::U => "U",
        }
    }

    /// The edges that it runs along, the first line's first: an L goes on along the next edge counter-clockwise, a U has the first
    /// edge in its middle.
    pub fn edges(self, first: Edge) -> Vec<Edge> {
        let start = Edge::AROUND.iter().position(|e| *e == first).unwrap_or(0);
        let turned = |n: usize| Edge::AROUND[(start + n) % 4];
        match self {
            Pattern::Line => vec![turned(0)],
            Pattern::TwoLines => vec![turned(0), turned(2)],
            Pattern::L => vec![turned(0), turned(1)],
            Pattern::U => vec![turned(0), turned(1), turned(3)],
        }
    }
}

/// An edge of the die, seen from above.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Edge {
    /// x small.
    Left,
    /// x large.
    Right,
    /// y small.
    Bottom,
    /// y large.
    Top,
}

impl Edge {
    /// The edges counter-clockwise, seen from above.
    pub const AROUND: [Edge; 4] = [Edge::Left, Edge::Bottom, Edge::Right, Edge::Top];
}

/// A fillet with a straight or hollow face.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Fillet {
    /// Height on the die's wall, m.
    pub height_m: f64,
    /// Width on the substrate, m.
    pub width_m: f64,
}

/// One step of a cure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CureStep {
    /// Temperature held, K.
    pub temperature_k: f64,
    /// Time held, s.
    pub hold_s: f64,
    /// Time of the ramp to it, s.
    pub ramp_s: f64,
}
