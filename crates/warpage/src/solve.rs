//! From a problem to its outcome.

use crate::history::{DIE_SIDE, History, LINE, Reading, curvature, curvature_of};
use crate::judge::{Checks, judge};
use crate::limits;
use crate::mixture;
use crate::neighbour::{Sides, Start, Trace};
use crate::outcome::{BondLine, CurvePoint, DieStress, EdgeLoad, GapBow, Outcome, Profile, Stage};
use crate::problem::{CoverKind, Die, JointLayer, Plate, Problem, Weibull};
use crate::shape::{SIDE, fitted_curvature, signed_warpage};
use crate::stack::{Cause, Made, layers, stack};
use crate::strength::{principal, probability, risk};
use crate::valid::{Refusal, check};
use facedown_field::{NoConvergence, dense};

/// Solves a problem.
///
/// # Errors
/// [`Refusal`] when the input is not finite or not physical, or when the plates have no solution in the given
/// precision.
pub fn solve(problem: &Problem) -> Result<Outcome, Refusal> {
    check(problem)?;
    outcome(problem, &History::run(problem, &Start::Anew)?)
}

/// Solves a problem and keeps what others that differ little from it are solved from by [`solve_near`].
///
/// # Errors
/// As [`solve`].
pub fn solve_traced(problem: &Problem) -> Result<(Outcome, Trace), Refusal> {
    check(problem)?;
    let history = History::run(problem, &Start::Anew)?;
    Ok((outcome(problem, &history)?, history.trace()))
}

/// Solves a problem that differs little from a solved one: for derivatives. What is alike is taken over, and of the rest
/// only the change is solved, to a thousandth of itself. The outcome is that of the other with the changes on it, so that
/// readings on a line of the grid do not jump where a change takes a mirror image away. With `sides`, of the same problem moved
/// to both sides the first is solved and the second takes the opposite of its changes.
///
/// # Errors
/// As [`solve`].
pub fn solve_near(problem: &Problem, trace: &Trace, sides: Option<&Sides>) -> Result<Outcome, Refusal> {
    check(problem)?;
    outcome(problem, &History::run(problem, &trace.from(problem, sides))?)
}

fn outcome(problem: &Problem, history: &History) -> Result<Outcome, Refusal> {
    let crept = problem.process.crept_in_cure;
    let states = history
        .temperatures
        .iter()
        .map(|&t| Ok((t, history.finished(t, crept)?)))
        .collect::<Result<Vec<(f64, Reading)>, Refusal>>()?;
    let mut outcome = Outcome {
        stages: stages(problem, history)?,
        curve: states.iter().map(|(t, r)| point(problem, *t, r)).collect::<Result<_, Refusal>>()?,
        permissible_m: problem.balls.and_then(|b| limits::permissible(b.pitch_m)),
        permissible: limits::table(),
        profiles: profiles(problem, history)?,
        gaps: gaps(problem)?,
        ball_gap: ball_gap(problem, history)?,
        dies: die_stresses(problem, history, &states)?,
        edges: edges(problem, &states),
        bond_lines: bond_lines(problem, history, &states)?,
        figures: Vec::new(),
        limits: Default::default(),
        notes: Vec::new(),
        advice: Vec::new(),
    };
    // What is not known of the joints' creep, as two ends.
    let p = &problem.process;
    let mut ends = Vec::new();
    for crept in [0.0, 1.0] {
        let at = |t: f64| -> Result<f64, Refusal> {
            Ok(point(problem, t, &history.finished(t, crept)?)?.warpage_m)
        };
        let hot = history.temperatures.iter().filter(|&&t| t >= p.ball_liquidus_k - 1e-9);
        let hottest = hot.map(|&t| at(t)).collect::<Result<Vec<f64>, Refusal>>()?;
        let worst = hottest.into_iter().map(f64::abs).fold(0.0, f64::max);
        ends.push([at(p.room_k)?, at(p.reflow_peak_k)?, worst]);
    }
    let checks = Checks { hand: crate::hand::warpage_room(problem).ok(), grid_error: history.grid_error() };
    judge(problem, &ends, &checks, &mut outcome);
    Ok(outcome)
}

fn at(kelvin: f64) -> impl Fn(NoConvergence) -> Refusal {
    move |why| Refusal::Unsolved { temperature_k: kelvin, why }
}

fn point(problem: &Problem, kelvin: f64, r: &Reading) -> Result<CurvePoint, Refusal> {
    let body = signed_warpage(&r.body, SIDE).map_err(at(kelvin))?;
    let warpage = match problem.balls {
        Some(_) => signed_warpage(&r.balls, SIDE).map_err(at(kelvin))?,
        None => body,
    };
    Ok(CurvePoint { temperature_k: kelvin, warpage_body_m: body, warpage_m: warpage })
}

fn stages(problem: &Problem, history: &History) -> Result<Vec<Stage>, Refusal> {
    let p = &problem.process;
    let crept = p.crept_in_cure;
    let mut list = vec![("received", p.room_k, history.received(p.room_k)?)];
    list.push(("die attach", p.room_k, history.attached(p.room_k)?));
    if problem.has_underfill() {
        list.push(("underfill", p.room_k, history.filled(p.room_k, crept)?));
    }
    if let Some(cover) = &problem.cover {
        let name = if cover.kind == CoverKind::Ring { "ring" } else { "lid" };
        list.push((name, p.room_k, history.finished(p.room_k, crept)?));
    }
    if problem.balls.is_some() {
        list.push(("ball attach", p.ball_solidus_k, history.finished(p.ball_solidus_k, crept)?));
    }
    list.push(("reflow peak", p.reflow_peak_k, history.finished(p.reflow_peak_k, crept)?));
    list.push(("coldest", p.coldest_k, history.finished(p.coldest_k, crept)?));
    list.into_iter()
        .map(|(name, kelvin, r)| {
            let shape = point(problem, kelvin, &r)?;
            Ok(Stage {
                name: name.into(),
                temperature_k: kelvin,
                curvature: r.dies[0].curvature,
                warpage_body_m: shape.warpage_body_m,
            })
        })
        .collect()
}

fn profiles(problem: &Problem, history: &History) -> Result<Vec<Profile>, Refusal> {
    let p = &problem.process;
    let mut list = Vec::new();
    for kelvin in [p.room_k, p.reflow_peak_k] {
        let r = history.finished(kelvin, p.crept_in_cure)?;
        let rows: Vec<f64> = history.layout.body.iter().flat_map(|&[x, y]| [1.0, x, y]).collect();
        let plane = dense::least_squares(&rows, 3, &r.body).map_err(at(kelvin))?;
        for (k, line) in ["x axis", "y axis", "diagonal"].into_iter().enumerate() {
            let range = k * LINE..(k + 1) * LINE;
            let points =
                history.layout.lines[range.clone()].iter().zip(&r.lines[range]).map(|(&[x, y], h)| {
                    let along = if k == 0 { x } else { y.signum() * x.hypot(y) };
                    [along, h - plane[0] - plane[1] * x - plane[2] * y]
                });
            list.push(Profile { temperature_k: kelvin, line: line.into(), points_m: points.collect() });
        }
    }
    Ok(list)
}

/// Dies in their order, the interposer last: name, plate, joints and what is below.
fn seats(problem: &Problem) -> Vec<(String, &Plate, &JointLayer, &Plate)> {
    let below = problem.interposer.as_ref().map_or(&problem.substrate.plate, |i| &i.plate);
    let mut list: Vec<_> =
        problem.dies.iter().map(|d: &Die| (d.name.clone(), &d.plate, &d.joints, below)).collect();
    if let Some(i) = &problem.interposer {
        list.push(("interposer".into(), &i.plate, &i.joints, &problem.substrate.plate));
    }
    list
}

/// How each gap is bowed while its solder freezes and while it is liquid. A part of its own bends as it likes. Dies are
/// joined to an interposer that its carrier holds flat, and stiffen it before it meets the substrate (common practice,
/// no source).
fn gaps(problem: &Problem) -> Result<Vec<GapBow>, Refusal> {
    let p = &problem.process;
    let on_carrier = problem.interposer.as_ref().map(|i| &i.plate);
    let bow = |plate: &Plate, kelvin: f64| -> Result<[f64; 2], Refusal> {
        let mut own = curvature_of(plate, p.room_k, kelvin)?;
        if std::ptr::eq(plate, &problem.substrate.plate) {
            let received = problem.substrate.received_bow_m.unwrap_or(0.0);
            own[0] += 4.0 * received / plate.width_m.powi(2);
            own[1] += 4.0 * received / plate.height_m.powi(2);
        }
        Ok(own)
    };
    let lower = |plate: &Plate, kelvin: f64| match on_carrier {
        Some(held) if std::ptr::eq(plate, held) => Ok([0.0; 2]),
        _ => bow(plate, kelvin),
    };
    let upper = |plate: &Plate, kelvin: f64| match on_carrier {
        Some(own) if std::ptr::eq(plate, own) => module_bow(problem, own, kelvin),
        _ => bow(plate, kelvin),
    };
    seats(problem)
        .into_iter()
        .map(|(name, plate, joints, below)| {
            let (cold_upper, cold_lower) = (upper(plate, p.bump_solidus_k)?, lower(below, p.bump_solidus_k)?);
            let (hot_upper, hot_lower) = (upper(plate, p.bump_liquidus_k)?, lower(below, p.bump_liquidus_k)?);
            Ok(GapBow {
                name,
                temperature_k: p.bump_solidus_k,
                upper: cold_upper,
                lower: cold_lower,
                gap: [0, 1].map(|k| cold_lower[k] - cold_upper[k]),
                gap_at_liquidus: [0, 1].map(|k| hot_lower[k] - hot_upper[k]),
                half_extent_m: joints.extent_m.map(|e| e / 2.0),
            })
        })
        .collect()
}

/// Curvature of an interposer with its dies on it: that of the joined sections, flat where they were joined, over the
/// share that each die covers, and its own where there is none.
fn module_bow(problem: &Problem, interposer: &Plate, kelvin: f64) -> Result<[f64; 2], Refusal> {
    let p = &problem.process;
    let own = curvature_of(interposer, p.room_k, kelvin)?;
    let (mut bare, mut sum) = (1.0_f64, [0.0; 2]);
    for die in &problem.dies {
        let covered = die.plate.width_m * die.plate.height_m / (interposer.width_m * interposer.height_m);
        let covered = covered.min(bare);
        bare -= covered;
        let cured = die.joints.underfill.is_some();
        let born = if cured { p.underfill_cure_k } else { p.bump_solidus_k };
        let joined = |from: f64, to: f64| {
            let cause = Cause::Heat(from, to);
            let between = mixture::joint_layer(&die.joints, cured, from, to).in_plane;
            let mut all = layers(interposer, cause);
            all.push((die.joints.gap_m, between));
            all.extend(layers(&die.plate, cause));
            all
        };
        let joined = curvature(joined, born, kelvin)?;
        (0..2).for_each(|k| sum[k] += covered * joined[k]);
    }
    Ok([0, 1].map(|k| sum[k] + bare * own[k]))
}

fn ball_gap(problem: &Problem, history: &History) -> Result<Option<GapBow>, Refusal> {
    let Some(balls) = problem.balls else { return Ok(None) };
    let p = &problem.process;
    let fit = |kelvin: f64| -> Result<[f64; 2], Refusal> {
        let r = history.finished(kelvin, p.crept_in_cure)?;
        fitted_curvature(&r.balls, SIDE, balls.extent_m[0], balls.extent_m[1]).map_err(at(kelvin))
    };
    let (upper, hot) = (fit(p.ball_solidus_k)?, fit(p.ball_liquidus_k)?);
    Ok(Some(GapBow {
        name: "balls".into(),
        temperature_k: p.ball_solidus_k,
        upper,
        lower: [0.0; 2],
        gap: upper.map(|k| 0.0 - k),
        gap_at_liquidus: hot.map(|k| 0.0 - k),
        half_extent_m: balls.extent_m.map(|e| e / 2.0),
    }))
}

/// Risk of the ground back at one state of stress, by the mean over the grid's cells.
fn back_risk(w: &Weibull, stress: &[[f64; 3]], area: f64) -> f64 {
    let cell = area / ((DIE_SIDE - 1) * (DIE_SIDE - 1)) as f64;
    let on_rim = |k: usize| k == 0 || k == DIE_SIDE - 1;
    let weight = |k: usize| {
        let (i, j) = (k % DIE_SIDE, k / DIE_SIDE);
        let half = |k: usize| if on_rim(k) { 0.5 } else { 1.0 };
        half(i) * half(j)
    };
    stress.iter().enumerate().map(|(k, s)| risk(w, &principal(*s), cell * weight(k))).sum()
}

/// Stress along the four edges of the back with the length that each place stands for.
fn edge_stress(stress: &[[f64; 3]], width: f64, height: f64) -> Vec<(f64, f64)> {
    let last = DIE_SIDE - 1;
    let mut list = Vec::new();
    for k in 0..DIE_SIDE {
        let share = if k == 0 || k == last { 0.5 } else { 1.0 } / last as f64;
        for row in [0, last] {
            list.push((stress[row * DIE_SIDE + k][0], share * width));
            list.push((stress[k * DIE_SIDE + row][1], share * height));
        }
    }
    list
}

fn die_stresses(
    problem: &Problem,
    history: &History,
    states: &[(f64, Reading)],
) -> Result<Vec<DieStress>, Refusal> {
    let p = &problem.process;
    let room = history.finished(p.room_k, p.crept_in_cure)?;
    let middle = DIE_SIDE * DIE_SIDE / 2;
    let list = problem.dies.iter().enumerate().map(|(d, die)| {
        let (width, height) = (die.plate.width_m, die.plate.height_m);
        let mut best = (f64::NEG_INFINITY, p.room_k, "back");
        let mut worst: f64 = 0.0;
        for (kelvin, state) in states {
            let own = &state.dies[d];
            for (face, on) in [(&own.back, "back"), (&own.active, "active face")] {
                for (k, s) in face.iter().enumerate() {
                    // The outermost places stand where the edge disturbs.
                    let inner = |k: usize| k > 0 && k < DIE_SIDE - 1;
                    let tension = principal(*s)[0];
                    if inner(k % DIE_SIDE) && inner(k / DIE_SIDE) && tension > best.0 {
                        best = (tension, *kelvin, on);
                    }
                }
            }
            let along = edge_stress(&own.back, width, height);
            if let Some(strength) = &die.strength {
                let back = strength.back.iter().map(|w| back_risk(w, &own.back, width * height));
                let edges = strength
                    .edge
                    .iter()
                    .map(|w| along.iter().map(|&(s, length)| risk(w, &[s], length)).sum::<f64>());
                worst = worst.max(back.chain(edges).sum());
            }
        }
        let known = die.strength.as_ref().is_some_and(|s| s.back.is_some() || s.edge.is_some());
        let own = &room.dies[d];
        let pair = |s: [f64; 3]| [s[0], s[1]];
        DieStress {
            name: die.name.clone(),
            back_room_pa: pair(own.back[middle]),
            tension_max_pa: best.0.max(0.0),
            tension_at_k: best.1,
            tension_on: best.2.into(),
            failure_probability: known.then(|| probability(worst)),
        }
    });
    Ok(list.collect())
}

fn edges(problem: &Problem, states: &[(f64, Reading)]) -> Vec<EdgeLoad> {
    let room = problem.process.room_k;
    let own = stack(problem, Made::Filled, Cause::Heat(room, room)).seats;
    own.iter()
        .enumerate()
        .map(|(k, seat)| {
            let all = || states.iter().map(|(t, r)| (*t, r.seats[k]));
            let most =
                |value: fn(&crate::history::SeatReading) -> f64| {
                    all().fold((room, f64::NEG_INFINITY), |best, (t, r)| {
                        if value(&r) > best.1 { (t, value(&r)) } else { best }
                    })
                };
            let (at, shear) = most(|r| r.shear.abs());
            let (peel_at, peel) = most(|r| r.peel);
            EdgeLoad {
                name: seat.name.clone(),
                temperature_k: at,
                shear_max_pa: shear,
                peel_max_pa: peel.max(0.0),
                peel_at_k: peel_at,
                decay_length_m: 1.0 / seat.pair().decay,
            }
        })
        .collect()
}

/// Heights over the least-squares plane would hide a tilted bond line, so the whole range counts.
fn range(values: &[f64]) -> f64 {
    let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let low = values.iter().copied().fold(f64::INFINITY, f64::min);
    high - low
}

fn bond_lines(
    problem: &Problem,
    history: &History,
    states: &[(f64, Reading)],
) -> Result<Vec<BondLine>, Refusal> {
    let p = &problem.process;
    let mut list = Vec::new();
    if !history.layout.lidded.contains(&true) {
        return Ok(list);
    }
    let born = history.filled(p.cover_cure_k, p.crept_in_cure)?;
    for (d, die) in problem.dies.iter().enumerate() {
        let Some(layer) = die.interface.as_ref().filter(|_| history.layout.lidded[d]) else { continue };
        // The lid is flat when it is set down on the bent dies; the interface fills what is between.
        let thickness = |r: &Reading| -> Vec<f64> {
            born.dies[d].height.iter().zip(&r.dies[d].opening).map(|(h, o)| o - h).collect()
        };
        let room = history.finished(p.room_k, p.crept_in_cure)?;
        let opening = states.iter().flat_map(|(_, r)| r.dies[d].opening.iter().copied()).fold(0.0, f64::max);
        list.push(BondLine {
            name: die.name.clone(),
            nominal_m: layer.thickness_m,
            spread_room_m: range(&thickness(&room)),
            opening_max_m: opening,
        });
    }
    Ok(list)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_even_stress_has_the_risk_of_its_area_and_its_edges() {
        let w = Weibull { characteristic_pa: 200e6, shape: 3.0, reference: 2e-4, source: String::new() };
        let even = vec![[100e6, 100e6, 0.0]; DIE_SIDE * DIE_SIDE];
        // Two tensions at half the strength over half the reference.
        assert!((back_risk(&w, &even, 1e-4) - 2.0 / 8.0 / 2.0).abs() < 1e-12);
        let along = edge_stress(&even, 8e-3, 12e-3);
        let length: f64 = along.iter().map(|e| e.1).sum();
        assert!((length - 40e-3).abs() < 1e-15 && along.iter().all(|e| e.0 == 100e6));
    }

    #[test]
    fn edges_are_read_along_themselves() {
        // Stress in x on the lower edge only, in y on the left edge only.
        let mut stress = vec![[0.0; 3]; DIE_SIDE * DIE_SIDE];
        (0..DIE_SIDE).for_each(|k| stress[k][0] = 1.0);
        (0..DIE_SIDE).for_each(|k| stress[k * DIE_SIDE][1] = 2.0);
        let sum: f64 = edge_stress(&stress, 3.0, 5.0).iter().map(|e| e.0 * e.1).sum();
        // The corner of the lower edge also ends the left and right edges, which see no stress in y but on the left.
        assert!((sum - (3.0 + 10.0)).abs() < 1e-12, "{sum}");
    }
}
