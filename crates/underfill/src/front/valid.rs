//! What a problem must be before its front is followed.

use super::Refusal;
use super::network::same_stretch;
use super::problem::Problem;
use crate::nearest;
use crate::problem::Edge;
use std::f64::consts::PI;

/// Checks every number of a problem.
pub(super) fn check(problem: &Problem) -> Result<(), Refusal> {
    let within = |what: &str, value: f64, low: f64, high: f64, allowed: &'static str| {
        if (low..=high).contains(&value) {
            Ok(())
        } else {
            Err(Refusal::NotPhysical { what: what.into(), value, allowed })
        }
    };
    for (what, value) in
        [("the width of the die", problem.size_m[0]), ("the height of the die", problem.size_m[1])]
    {
        within(what, value, 1e-6, 10.0, "from 1 um to 10 m")?;
    }
    within("the surface tension", problem.tension_n_m, 1e-4, 1.0, "from 0.1 mN/m to 1 N/m")?;
    within("the pressure of the air", problem.ambient_pa, 0.0, 1e8, "from 0 to 100 MPa")?;
    if let Some(value) = problem.gap_m.fault(1e-8..=1e-1) {
        within("the gap", value, 1e-8, 1e-1, "from 0.01 um to 0.1 m")?;
    }
    for (what, map) in [
        ("the contact angle on the die", &problem.angle_die_rad),
        ("the contact angle on the substrate", &problem.angle_substrate_rad),
        ("the contact angle on the bumps", &problem.angle_bump_rad),
    ] {
        if let Some(value) = map.fault(0.0..=PI) {
            within(what, value, 0.0, PI, "from 0 to 180 deg")?;
        }
    }
    if !problem.clock.sound() {
        within("the fluidity time", f64::NAN, 0.0, 0.0, "rising from nothing, with a viscosity above zero")?;
    }
    if let Some(shear) = problem.shear {
        within("the index of the power law", shear.index, 0.1, 3.0, "from 0.1 to 3")?;
    }
    if problem.blocked.iter().any(|s| !s.is_finite()) {
        within("a corner of what is blocked", f64::NAN, 0.0, 0.0, "a number")?;
    }
    let r = problem.resolution;
    within("the number of cells in a pitch", r.cells_a_pitch, 0.05, 1e3, "from 0.05 to 1000")?;
    within("the number of cells along the shorter side", r.least as f64, 1.0, 1e4, "from 1 to 10000")?;
    within("the advance of a step in cells", r.advance, 0.01, 1e4, "from 0.01 to 10000")?;
    within("the angle of the grid", r.turned_rad, -10.0, 10.0, "from -10 to 10 rad")?;
    bumps(problem)?;
    lines(problem)
}

fn bumps(problem: &Problem) -> Result<(), Refusal> {
    let Some(bumps) = &problem.bumps else { return Ok(()) };
    let refuse = |what: &str, value: f64, allowed| Refusal::NotPhysical { what: what.into(), value, allowed };
    if !(1e-8..=1e-2).contains(&bumps.diameter_m) {
        return Err(refuse("the diameter of the bumps", bumps.diameter_m, "from 0.01 um to 10 mm"));
    }
    for place in &bumps.places_m {
        for (k, value) in place.iter().enumerate() {
            if !(0.0..=problem.size_m[k]).contains(value) {
                return Err(refuse("a place of a bump", *value, "under the die"));
            }
        }
    }
    let near = nearest::each(&bumps.places_m);
    if let Some(first) = near.iter().position(|d| *d < bumps.diameter_m) {
        let apart = |k: usize| {
            let (a, b) = (bumps.places_m[first], bumps.places_m[k]);
            (a[0] - b[0]).hypot(a[1] - b[1])
        };
        let others = (0..near.len()).filter(|k| *k != first);
        let second = others.min_by(|&a, &b| apart(a).total_cmp(&apart(b))).unwrap_or(first);
        return Err(Refusal::BumpsTouch {
            first,
            second,
            distance_um: 1e6 * near[first],
            diameter_um: 1e6 * bumps.diameter_m,
        });
    }
    Ok(())
}

fn lines(problem: &Problem) -> Result<(), Refusal> {
    if problem.lines.is_empty() {
        return Err(Refusal::NoLine);
    }
    for (k, line) in problem.lines.iter().enumerate() {
        let edge = match line.edge {
            Edge::Left | Edge::Right => problem.size_m[1],
            Edge::Bottom | Edge::Top => problem.size_m[0],
        };
        let slack = 1e-9 * edge;
        if !(line.from_m >= -slack && line.to_m <= edge + slack && line.to_m > line.from_m + slack) {
            return Err(Refusal::OffTheEdge {
                number: k + 1,
                from_mm: 1e3 * line.from_m,
                to_mm: 1e3 * line.to_m,
                edge_mm: 1e3 * edge,
            });
        }
        for (what, value, allowed) in [
            ("the volume of a line", line.volume_m3, "above zero"),
            ("the start of a line", line.start_s, "a time from 0 on"),
        ] {
            let sound = if what.contains("volume") { value > 0.0 } else { (0.0..1e12).contains(&value) };
            if !sound {
                return Err(Refusal::NotPhysical { what: what.into(), value, allowed });
            }
        }
        for (other, before) in problem.lines.iter().enumerate().take(k) {
            let (from, to) = (line.from_m.max(before.from_m), line.to_m.min(before.to_m));
            if before.edge == line.edge && to > from + slack && !same_stretch(line, before) {
                return Err(Refusal::LinesOverlap {
                    first: other + 1,
                    second: k + 1,
                    from_mm: 1e3 * from,
                    to_mm: 1e3 * to,
                });
            }
        }
    }
    Ok(())
}
