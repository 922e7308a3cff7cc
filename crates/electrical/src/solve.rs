//! From a problem to its outcome.

use crate::line::strip;
use crate::nets::{Common, net, strip_of};
use crate::outcome::{Joule, Outcome, TraceLine};
use crate::problem::Problem;
use crate::valid::{Refusal, check};
use crate::{bumped, compare, conductor, figures};

/// Solves a problem.
///
/// # Errors
/// [`Refusal`] when the input is not finite or not physical.
pub fn solve(problem: &Problem) -> Result<Outcome, Refusal> {
    check(problem)?;
    let t = problem.temperature_k;
    let rdl = &problem.rdl;
    let bump = bumped::bump(&problem.bump, t)?;
    let wire = bumped::wire(&problem.wire, t)?;
    let narrow = problem
        .bump
        .pieces
        .iter()
        .map(|p| p.waist_m.map_or(p.diameter_m, |w| w.min(p.diameter_m)))
        .fold(f64::INFINITY, f64::min);
    let common = Common {
        sheet: conductor::sheet(&rdl.metal, rdl.thickness_m, t),
        via: rdl.via.map_or(0.0, |v| conductor::via(&v, conductor::resistivity(&rdl.metal, t))),
        bump: bump.resistance_ohm,
        narrowest: std::f64::consts::PI * narrow * narrow / 4.0,
        wire: wire.resistance_ohm,
    };
    let nets: Vec<_> = problem.nets.iter().map(|n| net(problem, &common, n)).collect();
    // The line of the trace with the longest path.
    let longest = problem.nets.iter().filter(|n| n.trace_length_m > 0.0).fold(
        None,
        |best: Option<&crate::problem::Net>, n| match best {
            Some(b) if b.longest_path_m >= n.longest_path_m => Some(b),
            _ => Some(n),
        },
    );
    let trace = longest.map(|n| {
        let line = strip(&strip_of(problem, n));
        TraceLine {
            width_m: n.trace_width_m,
            sheet_ohm: common.sheet,
            impedance_ohm: line.impedance_ohm,
            effective_permittivity: line.effective,
            capacitance_f_m: line.capacitance(),
            inductance_h_m: line.inductance(),
        }
    });
    let joule = nets.iter().fold(Joule::default(), |sum, n| Joule {
        bumps_w: sum.bumps_w + n.joule.bumps_w,
        traces_w: sum.traces_w + n.joule.traces_w,
        planes_w: sum.planes_w + n.joule.planes_w,
    });
    let comparison = compare::rows(&wire, &bump, &nets, &problem.switching);
    let mut outcome = Outcome {
        trace,
        bump,
        bump_pieces: problem.bump.pieces.iter().map(|p| (p.name.clone(), conductor::piece(p, t))).collect(),
        wire,
        nets,
        comparison,
        joule,
        figures: Vec::new(),
        limits: Default::default(),
        notes: Vec::new(),
        advice: Vec::new(),
    };
    figures::add(problem, &common, &mut outcome);
    Ok(outcome)
}
