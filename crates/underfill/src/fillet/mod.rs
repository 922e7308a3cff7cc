//! Fillets: where the liquid that the gap leaves over stands around the die.
//!
//! All sides hang together through the gap, so that at rest one pressure holds in the liquid, and each side has the profile of
//! that pressure ([`profile`]) with its own contact angles, its stop on the substrate and the two edges of the die
//! (`filling`). [`solve`] finds the pressure under which all sides together hold the volume. Beside it stand the tongue of a
//! dispensed line, whether passives and keep-outs stay clear, and what spills where.
//!
//! Known limits: profiles are those of a long straight side; around a corner the mean of both sides is turned about the edge, which neglects the
//! second curvature there. Lines are taken to have advanced: a tongue that drew back may leave a film. A bead is told
//! before the gap has drawn any of it, the farthest it can come. Bumps and the order of the passes play no part.
//!
//! ```
//! use facedown_underfill::fillet::{self, Problem};
//! // 8 mm by 10 mm, gap 60 um, back at 460 um; 3 mm3 left over; 30, 25 and 20 deg on face, wall and substrate.
//! let angles = [30.0_f64, 25.0, 20.0].map(f64::to_radians);
//! let outcome = fillet::solve(&Problem::even([8e-3, 10e-3], [60e-6, 460e-6], 1.5e-9, angles)).unwrap();
//! assert!(outcome.faults().is_empty() && outcome.sides[0].climb > 0.5);
//! ```

mod filling;
mod outcome;
mod problem;
pub mod profile;
mod refusal;

pub use filling::{Seat, Way};
pub use outcome::{Clear, Meniscus, Outcome, Spill, Tongue};
pub use problem::{EDGES, Line, Problem, Side, Stop};
pub use refusal::Refusal;

use facedown_field::{NoConvergence, root};
use filling::{Filling, State};
use profile::Profile;
use std::f64::consts::FRAC_PI_2;

/// Share of the volume that the outcome may be off.
const KEPT: f64 = 1e-7;
/// Pieces of a profile that is handed out.
const PIECES: usize = 48;

/// The fillets of a problem at rest; a few milliseconds, tens with stops.
///
/// # Errors
/// [`Refusal`]: a number that cannot be, angles under which no fillet holds (P. Concus and R. Finn, Proc. Natl. Acad. Sci. 63
/// (1969) 292: liquid runs along a corner of a right angle if both contact angles add up to less than one), less liquid than the gap
/// needs.
pub fn solve(problem: &Problem) -> Result<Outcome, Refusal> {
    refusal::check(problem)?;
    let mut sides = Vec::with_capacity(4);
    let (mut low, mut high) = ((f64::NEG_INFINITY, 0), (f64::INFINITY, 0));
    for (k, edge) in EDGES.into_iter().enumerate() {
        let side = Filling::of(problem, k)?;
        let Some([least, most]) = side.range()? else {
            return Err(Refusal::NothingHolds { edge });
        };
        if least > low.0 {
            low = (least, k);
        }
        if most < high.0 {
            high = (most, k);
        }
        sides.push(side);
    }
    if low.0 >= high.0 {
        return Err(Refusal::NothingHolds { edge: EDGES[high.1] });
    }
    let least = volume(problem, &states(&sides, low.0)?)?.0;
    if problem.volume_m3 < least {
        return Err(Refusal::TooLittle {
            edge: EDGES[low.1],
            missing_mm3: (least - problem.volume_m3) * 1e9,
        });
    }
    let most = volume(problem, &states(&sides, high.0)?)?.0;
    let mut spill = None;
    let pressure = if problem.volume_m3 > most {
        let way = sides[high.1].end.1;
        spill = Some(Spill { edge: EDGES[high.1], way, volume_m3: problem.volume_m3 - most });
        high.0
    } else {
        let apart = |p: f64| {
            let held = states(&sides, p).and_then(|s| volume(problem, &s));
            held.map_or(f64::NAN, |(v, _)| v - problem.volume_m3)
        };
        root::bracketed(apart, low.0, high.0, 1e-14)?
    };
    let states = states(&sides, pressure)?;
    let (held_m3, corners_m3) = volume(problem, &states)?;
    let spilled = spill.map_or(0.0, |s| s.volume_m3);
    if (held_m3 + spilled - problem.volume_m3).abs() > KEPT * problem.volume_m3.abs().max(least.abs()) {
        return Err(Refusal::Numeric(NoConvergence::TooSlow));
    }
    let mut told = Vec::with_capacity(4);
    for (k, state) in states.iter().enumerate() {
        told.push(meniscus(problem, k, &sides[k], state)?);
    }
    let Ok(sides) = <[Meniscus; 4]>::try_from(told) else {
        return Err(Refusal::Numeric(NoConvergence::NotFinite));
    };
    Ok(Outcome { pressure_pa: pressure * problem.tension_n_m, sides, held_m3, corners_m3, spill })
}

/// The surfaces of all sides under one pressure over the tension, 1/m.
fn states(sides: &[Filling], pressure_per_m: f64) -> Result<Vec<State>, NoConvergence> {
    sides.iter().map(|s| s.under(pressure_per_m)).collect()
}

/// Volume of the fillets, and the part of it around the corners, m3.
fn volume(problem: &Problem, states: &[State]) -> Result<(f64, f64), NoConvergence> {
    let (mut straight, mut corners) = (0.0, 0.0);
    for (k, state) in states.iter().enumerate() {
        straight += problem.length_m(k) * state.profile.area_m2()?;
        // A side has half a quarter turn at either end.
        corners += FRAC_PI_2 * state.profile.moment_m3()?;
    }
    Ok((straight + corners, corners))
}

fn meniscus(
    problem: &Problem,
    k: usize,
    filling: &Filling,
    state: &State,
) -> Result<Meniscus, NoConvergence> {
    let side = problem.sides[k];
    let profile = state.profile;
    let tongue = match side.line {
        Some(line) => Some(tongue(line, side.substrate_rad, problem.weight_per_m2(), filling)?),
        None => None,
    };
    let reach_m = tongue.map_or(profile.width_m, |t| t.reach_m.max(profile.width_m));
    Ok(Meniscus {
        edge: EDGES[k],
        height_m: profile.height_m,
        climb: ((profile.height_m - problem.gap_m) / (problem.back_m - problem.gap_m)).clamp(0.0, 1.0),
        seat: state.seat,
        width_m: profile.width_m,
        stopped: state.stopped,
        foot_rad: profile.foot_rad,
        head_rad: FRAC_PI_2 - profile.head_rad,
        area_m2: profile.area_m2()?,
        profile_m: profile.points(PIECES)?,
        tongue,
        clear: side.keep_clear_m.map(|distance_m| Clear { distance_m, reach_m }),
    })
}

/// The bead on the substrate, half of it a profile whose surface is level at its crest.
fn tongue(line: Line, foot_rad: f64, weight_per_m2: f64, filling: &Filling) -> Result<Tongue, NoConvergence> {
    // Crest over that of the same area without weight: an arc of half width r sin(foot).
    let arc = (line.area_m2 / (foot_rad - foot_rad.sin() * foot_rad.cos())).sqrt() * (1.0 - foot_rad.cos());
    let bead = |height: f64| Profile::between(height, foot_rad, 0.0, weight_per_m2);
    let apart = |height: f64| match bead(height) {
        Ok(Some(p)) => p.area_m2().map_or(f64::NAN, |a| (2.0 * a / line.area_m2 - 1.0).atan()),
        Ok(None) => FRAC_PI_2,
        Err(_) => f64::NAN,
    };
    // Weight only lowers it. A bead too wide to be told apart from a puddle has the thickness of one.
    let puddle = 2.0 * (0.5 * foot_rad).sin() / weight_per_m2.sqrt();
    let top = arc.min((1.0 - 1e-9) * puddle);
    let (height_m, half_width_m) = if apart(top) < 0.0 && top < arc {
        (puddle, 0.5 * line.area_m2 / puddle)
    } else {
        let height = root::bracketed(apart, 1e-3 * top, (1.0 + 1e-9) * top, 1e-13)?;
        (height, bead(height)?.map_or(0.5 * line.area_m2 / height, |p| p.width_m))
    };
    let touches = line.offset_m <= half_width_m;
    let mut reach_m = line.offset_m + half_width_m;
    let mut holds = true;
    if touches {
        let (state, held) = filling.holding(line.area_m2)?;
        reach_m = reach_m.max(state.profile.width_m);
        holds = held;
    }
    Ok(Tongue { half_width_m, height_m, reach_m, touches, holds })
}

#[cfg(test)]
mod tests;
