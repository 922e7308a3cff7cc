//! What the study reads: plain numbers in SI units, temperatures in K, one die at a time.

use serde::{Deserialize, Serialize};

/// One die with its nets, its redistribution, its bumps and the wires that they replace.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Problem {
    /// Temperature of traces and bumps in service, K.
    pub temperature_k: f64,
    /// The redistribution layer.
    pub rdl: Rdl,
    /// One bump.
    pub bump: Bump,
    /// The bond wire that a bump replaces.
    pub wire: Wire,
    /// What switches, for delay and supply bounce.
    pub switching: Switching,
    /// The nets, at least one, names unique.
    pub nets: Vec<Net>,
}

/// A metal over temperature: `rho(T) = resistivity [1 + coefficient (T - reference)]`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Metal {
    /// Resistivity at the reference temperature, ohm m.
    pub resistivity_ohm_m: f64,
    /// Relative change per kelvin at the reference temperature, 1/K.
    pub coefficient_per_k: f64,
    /// The reference temperature, K (293.15 for most tables).
    pub reference_k: f64,
}

/// The redistribution layer; where several layers carry traces, the one with the most resistance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Rdl {
    /// Thickness of the metal, m.
    pub thickness_m: f64,
    /// The metal.
    pub metal: Metal,
    /// Relative permittivity of the dielectric under the trace.
    pub permittivity: f64,
    /// Height of the trace's lower face over the plane that carries the return current, m: the dielectric under the
    /// trace, and what else lies between.
    pub height_to_reference_m: f64,
    /// Relative permittivity of what covers the trace (passivation, underfill), taken as thick; 1 for air.
    pub cover_permittivity: f64,
    /// The via from the trace down to the pad.
    pub via: Option<Via>,
}

/// A via filled with the trace's metal.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Via {
    /// Height: the dielectric that it passes, m.
    pub height_m: f64,
    /// Diameter, m.
    pub diameter_m: f64,
}

/// A bump as a pile of pieces, from the die downward.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Bump {
    /// The pieces (under-bump metal, pillar, solder), at least one.
    pub pieces: Vec<Piece>,
    /// Distance of neighbouring bumps, centre to centre, m.
    pub pitch_m: f64,
    /// Relative permittivity of what lies between the bumps (underfill; 1 for air).
    pub permittivity: f64,
}

/// One piece of a bump.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Piece {
    /// Name for the reader (`solder`).
    pub name: String,
    /// Height, m.
    pub height_m: f64,
    /// Diameter of both ends, m.
    pub diameter_m: f64,
    /// Diameter at mid-height where the piece bulges or necks (a melted joint), m.
    pub waist_m: Option<f64>,
    /// The metal.
    pub metal: Metal,
}

/// A bond wire.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Wire {
    /// Diameter, m.
    pub diameter_m: f64,
    /// Length along the wire, m.
    pub length_m: f64,
    /// Height of the loop's top over the plane below it, m.
    pub loop_height_m: f64,
    /// Distance to the neighbouring wire that carries the return, centre to centre, m.
    pub spacing_m: f64,
    /// Relative permittivity of what surrounds it (mould compound; 1 for air).
    pub permittivity: f64,
    /// The metal.
    pub metal: Metal,
}

/// What switches.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Switching {
    /// Outputs that switch at once.
    pub drivers: u32,
    /// Change of current of each, A.
    pub driver_current_a: f64,
    /// Time of that change, s.
    pub edge_time_s: f64,
    /// Capacitance that each connection drives beside its own, F.
    pub load_f: f64,
    /// Supply-and-return pairs of connections through which the current of all of them comes.
    pub supply_pairs: u32,
}

/// What a net does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// Brings current to the die.
    Supply,
    /// Takes it back.
    Ground,
    /// Carries a signal.
    Signal,
}

/// One net of a die.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Net {
    /// Name.
    pub name: String,
    /// What it does.
    pub kind: Kind,
    /// Direct (or root-mean-square) current of the whole net, A; zero where it carries none.
    pub current_a: f64,
    /// Pads of the net on the die (and bond wires in the wire-bonded package), at least one.
    pub pads: u32,
    /// Bumps of the net, at least one.
    pub bumps: u32,
    /// Largest current of one bump over the mean, 1 for even sharing.
    pub crowding: f64,
    /// Length of all traces together, m; zero where the pad lies on the bump.
    pub trace_length_m: f64,
    /// Length of the longest path from a pad to its bump, m.
    pub longest_path_m: f64,
    /// Width of the traces, m.
    pub trace_width_m: f64,
    /// Squares of the longest path, corners counted, where they are known; left out: length over width, less what right-angle
    /// bends save.
    pub squares: Option<f64>,
    /// Right-angle bends of the longest path (used where `squares` is left out); a 45-degree bend is not counted.
    pub bends: u32,
    /// Vias in the longest path.
    pub vias: u32,
    /// The plane that joins its bumps, where the net has one.
    pub plane: Option<Plane>,
}

/// A supply plane, solid or meshed, fed by the net's bumps and loaded evenly over its area.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Plane {
    /// Width, m.
    pub width_m: f64,
    /// Height, m.
    pub height_m: f64,
    /// Share of the width across which each direction conducts: 1 for a solid plane, line width over pitch for a mesh.
    pub conducting_share: f64,
    /// Diameter of the contact through which a bump feeds it, m.
    pub contact_diameter_m: f64,
}
