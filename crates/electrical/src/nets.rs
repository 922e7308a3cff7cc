//! Each net: its longest trace, the current of its bumps, its drop and its Joule heat.

use crate::line::{Line, Strip, strip};
use crate::outcome::{Joule, NetOutcome};
use crate::problem::{Net, Plane, Problem};
use crate::{conductor, spreading};

/// The strip that a net's trace is.
pub(crate) fn strip_of(problem: &Problem, net: &Net) -> Strip {
    Strip {
        width_m: net.trace_width_m,
        thickness_m: problem.rdl.thickness_m,
        height_m: problem.rdl.height_to_reference_m,
        permittivity: problem.rdl.permittivity,
        cover: problem.rdl.cover_permittivity,
    }
}

/// Contact radius over the side of the plane's cell of one bump.
pub(crate) fn ratio(net: &Net, plane: &Plane) -> f64 {
    let cell = (plane.width_m * plane.height_m / f64::from(net.bumps)).sqrt();
    plane.contact_diameter_m / 2.0 / cell
}

/// What all nets share.
pub(crate) struct Common {
    /// Ohm per square at temperature.
    pub sheet: f64,
    /// Resistance of a via, ohm.
    pub via: f64,
    /// Resistance of a bump, ohm.
    pub bump: f64,
    /// Smallest cross-section of a bump, m2.
    pub narrowest: f64,
    /// Resistance of a wire, ohm.
    pub wire: f64,
}

pub(crate) fn net(problem: &Problem, common: &Common, net: &Net) -> NetOutcome {
    let (bumps, pads) = (f64::from(net.bumps), f64::from(net.pads));
    let line: Option<Line> = (net.trace_length_m > 0.0).then(|| strip(&strip_of(problem, net)));
    let path = if net.longest_path_m > 0.0 {
        let counted = || conductor::path_squares(net.longest_path_m, net.trace_width_m, net.bends);
        net.squares.unwrap_or_else(counted)
    } else {
        net.squares.unwrap_or(0.0)
    };
    let vias = f64::from(net.vias) * common.via;
    let trace_resistance_ohm = path * common.sheet + vias;
    let all_traces =
        if net.trace_length_m > 0.0 { net.trace_length_m / net.trace_width_m * common.sheet } else { 0.0 };
    let mean = net.current_a / bumps;
    let most = mean * net.crowding;
    let branch = net.current_a / pads * if net.pads > 1 { net.crowding.min(pads) } else { 1.0 };
    let (mut drop_plane_v, mut planes_w) = (0.0, 0.0);
    let mut drop_wired_v = branch * common.wire;
    if let Some(plane) = &net.plane {
        let sheet = common.sheet / plane.conducting_share;
        let ratio = ratio(net, plane);
        drop_plane_v = sheet * most * spreading::corner_drop(ratio).max(0.0);
        planes_w = sheet * net.current_a * mean * spreading::mean_drop(ratio).max(0.0);
        drop_wired_v += sheet * net.current_a * spreading::edge_fed_max(plane.width_m / plane.height_m);
    }
    let (capacitance, inductance, delay) =
        line.map_or((0.0, 0.0, 0.0), |l| (l.capacitance(), l.inductance(), l.delay()));
    NetOutcome {
        name: net.name.clone(),
        kind: net.kind,
        bumps: net.bumps,
        trace_resistance_ohm,
        trace_capacitance_f: net.trace_length_m * capacitance,
        trace_inductance_h: net.longest_path_m * inductance,
        trace_delay_s: net.longest_path_m * delay,
        bump_current_mean_a: mean,
        bump_current_max_a: most,
        bump_current_density_a_m2: most / common.narrowest,
        drop_bump_v: most * common.bump,
        drop_plane_v,
        drop_trace_v: branch * trace_resistance_ohm,
        drop_wired_v,
        joule: Joule {
            bumps_w: net.current_a * mean * common.bump,
            // Each pad's branch carries its share; all branches together have the whole length.
            traces_w: (net.current_a / pads).powi(2) * (all_traces + pads * vias),
            planes_w,
        },
    }
}
