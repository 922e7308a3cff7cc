//! What the study refuses: numbers that are not finite or not physical, and pieces that touch each other.

use crate::problem::{Bump, Metal, Net, Problem, Wire};
use facedown_evidence::input::{Missing, OutOfRange, within};

/// Why a problem cannot be solved.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// A number outside what is physical.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// Something is not there.
    #[error(transparent)]
    Missing(#[from] Missing),
    /// A number must be larger than another.
    #[error("{what} is {value}; it must be larger than {than}, {limit}")]
    NotLarger {
        /// What, in words.
        what: String,
        /// Its value in SI units.
        value: f64,
        /// The other, in words.
        than: &'static str,
        /// Its value in SI units.
        limit: f64,
    },
    /// A name stands twice.
    #[error("the net {0} is given twice: give each net once, with all its pads and bumps")]
    Twice(String),
    /// A numerical method gave no number.
    #[error("the {0} has no number for this input: check its lengths and diameters")]
    NoNumber(&'static str),
}

type Checked = Result<(), Refusal>;
type Ranged = Result<(), OutOfRange>;

fn length(what: impl Into<String>, value: f64) -> Ranged {
    within(what, value, 1e-9, 1.0, "a length from 1 nm to 1 m")
}

fn larger(what: impl Into<String>, value: f64, than: &'static str, limit: f64) -> Checked {
    if value > limit { Ok(()) } else { Err(Refusal::NotLarger { what: what.into(), value, than, limit }) }
}

fn permittivity(what: &str, value: f64) -> Ranged {
    within(what, value, 1.0, 1e4, "a relative permittivity from 1 to 10000")
}

fn current(what: impl Into<String>, value: f64) -> Ranged {
    within(what, value, 0.0, 1e5, "a current from 0 to 100 kA")
}

fn count(what: impl Into<String>, value: u32) -> Ranged {
    within(what, f64::from(value), 1.0, 1e7, "from 1 to 10 million")
}

fn metal(what: &str, metal: &Metal, temperature_k: f64) -> Ranged {
    let allowed = "a resistivity from 1e-9 to 1e-2 ohm m";
    within(format!("the resistivity of {what}"), metal.resistivity_ohm_m, 1e-9, 1e-2, allowed)?;
    within(
        format!("the temperature coefficient of {what}"),
        metal.coefficient_per_k,
        -0.1,
        0.1,
        "from -0.1 to 0.1 1/K",
    )?;
    within(
        format!("the reference temperature of {what}"),
        metal.reference_k,
        1.0,
        2000.0,
        "from 1 to 2000 K",
    )?;
    let at = crate::conductor::resistivity(metal, temperature_k);
    within(
        format!("the resistivity of {what} at the temperature of service"),
        at,
        1e-10,
        1.0,
        "above 1e-10 ohm m",
    )
}

/// Checks a whole problem.
///
/// # Errors
/// The first [`Refusal`] in the order of the fields.
pub fn check(problem: &Problem) -> Checked {
    let t = problem.temperature_k;
    within("the temperature of service", t, 50.0, 1000.0, "from 50 to 1000 K")?;
    let rdl = &problem.rdl;
    length("the thickness of the redistribution metal", rdl.thickness_m)?;
    metal("the redistribution metal", &rdl.metal, t)?;
    permittivity("the permittivity of the dielectric", rdl.permittivity)?;
    permittivity("the permittivity over the trace", rdl.cover_permittivity)?;
    length("the height of the trace over its reference", rdl.height_to_reference_m)?;
    if let Some(via) = &rdl.via {
        length("the height of the via", via.height_m)?;
        length("the diameter of the via", via.diameter_m)?;
    }
    bump(&problem.bump, t)?;
    wire(&problem.wire, t)?;
    let s = &problem.switching;
    within("the number of switching outputs", f64::from(s.drivers), 0.0, 1e7, "from 0 to 10 million")?;
    current("the current of a switching output", s.driver_current_a)?;
    within("the time of an edge", s.edge_time_s, 1e-15, 1.0, "from 1 fs to 1 s")?;
    within("the load of a connection", s.load_f, 0.0, 1.0, "from 0 to 1 F")?;
    count("the number of supply-and-return pairs", s.supply_pairs)?;
    if problem.nets.is_empty() {
        return Err(Missing::new("the list of nets", "give at least one net of the die").into());
    }
    let mut names = std::collections::BTreeSet::new();
    for net in &problem.nets {
        if !names.insert(net.name.as_str()) {
            return Err(Refusal::Twice(net.name.clone()));
        }
        check_net(net)?;
    }
    Ok(())
}

fn bump(bump: &Bump, temperature_k: f64) -> Checked {
    if bump.pieces.is_empty() {
        return Err(Missing::new("the list of pieces of a bump", "give at least its solder").into());
    }
    length("the pitch of the bumps", bump.pitch_m)?;
    permittivity("the permittivity between the bumps", bump.permittivity)?;
    for piece in &bump.pieces {
        let name = &piece.name;
        length(format!("the height of the {name} of a bump"), piece.height_m)?;
        for diameter in [Some(piece.diameter_m), piece.waist_m].into_iter().flatten() {
            length(format!("the diameter of the {name} of a bump"), diameter)?;
            let what = "the pitch of the bumps";
            larger(what, bump.pitch_m, "the diameter of a bump", diameter)?;
        }
        metal(&format!("the {name} of a bump"), &piece.metal, temperature_k)?;
    }
    Ok(())
}

fn wire(wire: &Wire, temperature_k: f64) -> Checked {
    length("the diameter of the wire", wire.diameter_m)?;
    length("the length of the wire", wire.length_m)?;
    length("the height of the wire's loop", wire.loop_height_m)?;
    length("the spacing of the wires", wire.spacing_m)?;
    larger("the spacing of the wires", wire.spacing_m, "their diameter", wire.diameter_m)?;
    larger("the height of the wire's loop", wire.loop_height_m, "the wire's diameter", wire.diameter_m)?;
    larger("the length of the wire", wire.length_m, "its diameter", wire.diameter_m)?;
    permittivity("the permittivity around the wire", wire.permittivity)?;
    Ok(metal("the wire", &wire.metal, temperature_k)?)
}

fn check_net(net: &Net) -> Checked {
    let name = &net.name;
    current(format!("the current of net {name}"), net.current_a)?;
    count(format!("the number of pads of net {name}"), net.pads)?;
    count(format!("the number of bumps of net {name}"), net.bumps)?;
    let n = f64::from(net.bumps);
    within(
        format!("the crowding of net {name}"),
        net.crowding,
        1.0,
        n,
        "from 1 (even) to the number of its bumps (all current through one)",
    )?;
    within(format!("the trace length of net {name}"), net.trace_length_m, 0.0, 1e4, "from 0 to 10 km")?;
    within(
        format!("the longest path of net {name}"),
        net.longest_path_m,
        0.0,
        net.trace_length_m,
        "from 0 to the length of all its traces",
    )?;
    if net.trace_length_m > 0.0 {
        length(format!("the trace width of net {name}"), net.trace_width_m)?;
    }
    if let Some(squares) = net.squares {
        within(format!("the squares of net {name}"), squares, 0.0, 1e9, "from 0 to 1e9")?;
    }
    if let Some(plane) = &net.plane {
        length(format!("the width of the plane of net {name}"), plane.width_m)?;
        length(format!("the height of the plane of net {name}"), plane.height_m)?;
        let allowed = "above 0 to 1 (solid)";
        within(
            format!("the conducting share of the plane of net {name}"),
            plane.conducting_share,
            1e-4,
            1.0,
            allowed,
        )?;
        length(format!("the contact of a bump with the plane of net {name}"), plane.contact_diameter_m)?;
        let cell = (plane.width_m * plane.height_m / n).sqrt();
        larger(
            format!("the side of a bump's share of the plane of net {name}"),
            cell,
            "the contact of the bump with it",
            plane.contact_diameter_m,
        )?;
    }
    Ok(())
}
