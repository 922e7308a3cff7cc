//! The figures by the solid model: service on three grids, the standard surroundings on two, all side by side.
//!
//! The closed forms have been run before; they stay beside every figure as its hand check, and the spread of published
//! correlations, which they are run with, is laid around the solved value.

use crate::described::{Way, describe, name, path};
use crate::following;
use crate::judge::{PSI_ABOVE_THETA, clause, psi_above_theta, round};
use crate::metrics::{self, SETS};
use crate::network::{Downward, Setting, Upward};
use crate::outcome::{Outcome, Warming};
use crate::pair::{self, Pair};
use crate::problem::{Carrier, Problem};
use crate::solid::{Estimate, Heating, Reading, TIMES_S, Volume, estimate, extrapolated};
use crate::standards::{SPEEDS_M_S, TestBoard, board, board_size};
use crate::transient_path::transient_path;
use crate::valid::Refusal;
use facedown_evidence::{Figure, Status};
use facedown_field::deconvolution::Asked;
use facedown_field::relaxation::step;
use facedown_field::step_response::Resampling;
use rayon::prelude::*;

/// Spacings of the companion grids fall by this.
const RATIO: f64 = std::f64::consts::SQRT_2;
/// Order of the error where the grids of service tell none: that of a flux at the edge of a source (measured on the
/// specimens, see `docs/conduction.md`).
const USUAL_ORDER: f64 = 1.3;
/// Closed form and solver further apart than this are told, over the solved value.
const APART: f64 = 0.15;

const ZERO_CELSIUS: f64 = 273.15;

/// A setting and the fineness that it is solved at.
struct Job {
    setting: Setting,
    fineness: f64,
    /// The whole field is kept.
    whole: bool,
}

/// A metric's surroundings.
struct Metric {
    words: &'static str,
    speed_m_s: f64,
    figure: String,
    settings: Setting,
}

/// Solves service and metrics in space and puts the figures in place of those of the closed forms.
///
/// # Errors
/// [`Refusal`] of the first case that has no solution.
pub(crate) fn solve(
    problem: &Problem,
    own_board: &Carrier,
    service: &Setting,
    fineness: f64,
    outcome: &mut Outcome,
    air_share: f64,
) -> Result<(), Refusal> {
    let body = problem.substrate.width_m.max(problem.substrate.height_m);
    let air = |on: &Carrier, speed: f64| {
        let mut s = metrics::setting(problem, on, SETS[0], Downward::Air(speed), Upward::Air(speed));
        s.powers_w.iter_mut().for_each(|p| *p *= air_share);
        s
    };
    let metric = |words, speed_m_s, figure: &str, settings| Metric {
        words,
        speed_m_s,
        figure: figure.into(),
        settings,
    };
    let mut list = vec![metric("still air, the design's board", 0.0, "theta_ja", air(own_board, 0.0))];
    for speed in SPEEDS_M_S {
        let figure = format!("theta_jma_{speed:.0}");
        list.push(metric("moving air, the design's board", speed, &figure, air(own_board, speed)));
    }
    if board_size(body).is_some() {
        for (kind, words, figure) in [
            (TestBoard::NoPlanes, "still air, JESD51-9 board without planes", "theta_ja_no_planes"),
            (TestBoard::TwoPlanes, "still air, JESD51-9 board with two planes", "theta_ja_two_planes"),
        ] {
            list.push(metric(words, 0.0, figure, air(&board(kind, body), 0.0)));
        }
    }
    let plate = Upward::Film(problem.cold_plate_film);
    let standard = |down, up| metrics::setting(problem, own_board, SETS[0], down, up);
    let has_case = outcome.figures.iter().any(|f| f.name == "theta_jc_top");

    let grids = [fineness / (RATIO * RATIO), fineness / RATIO, fineness];
    let mut jobs: Vec<Job> =
        grids.iter().map(|&fineness| Job { setting: service.clone(), fineness, whole: false }).collect();
    // The finest grid of service is what pictures and files show.
    jobs[grids.len() - 1].whole = true;
    let both = |setting: &Setting| {
        [0, 1].map(|i| Job { setting: setting.clone(), fineness: grids[i], whole: false })
    };
    jobs.extend(list.iter().flat_map(|m| both(&m.settings)));
    jobs.extend(both(&standard(Downward::Ring, Upward::Insulated)));
    if has_case {
        jobs.extend(both(&standard(Downward::Insulated, plate)));
    }
    // The warming-up takes as long as all the rest: it runs beside it.
    let (transients, read) = rayon::join(
        || {
            let heating = crate::solid::heating(problem, service, grids[0])?;
            let traced = crate::solid::traced(problem, service, grids[0])?;
            let asked = problem.pair && has_case;
            let pair = if asked { pair::follow(problem, own_board, grids[0])? } else { None };
            Ok::<_, Refusal>((heating, traced, pair))
        },
        || {
            jobs.par_iter()
                .map(|job| {
                    if job.whole {
                        let (reading, volume) =
                            crate::solid::solve_whole(problem, &job.setting, job.fineness)?;
                        return Ok((reading, Some(volume)));
                    }
                    Ok((crate::solid::solve(problem, &job.setting, job.fineness)?, None))
                })
                .collect::<Result<Vec<(Reading, Option<Volume>)>, Refusal>>()
        },
    );
    let (readings, volumes): (Vec<Reading>, Vec<Option<Volume>>) = read?.into_iter().unzip();
    let (heating, traced, pair) = transients?;
    let volume = volumes.into_iter().flatten().next().unwrap_or_default();

    let three = [&readings[0], &readings[1], &readings[2]];
    let of_service = |read: &dyn Fn(&Reading) -> f64| estimate(three.map(read), RATIO);
    let junction = of_service(&|r| r.junction());
    let order = junction.order.unwrap_or(USUAL_ORDER);
    let mut rest = readings[3..].chunks_exact(2);
    let next = |read: &dyn Fn(&Reading) -> f64, pair: &[Reading]| {
        extrapolated([read(&pair[0]), read(&pair[1])], RATIO, order)
    };
    let power: f64 = metrics::test_powers(problem).iter().sum();
    let mut solved: Vec<(String, Estimate)> = Vec::new();
    let at_power = air_share * power;
    for m in &list {
        let Some(pair) = rest.next() else { break };
        let theta = next(&|r| r.junction() / at_power, pair);
        let psi_jt = next(&|r| (r.junction() - r.case()) / at_power, pair);
        let psi_jb = next(&|r| (r.junction() - r.board_sensor) / at_power, pair);
        if m.figure == "theta_ja" {
            let finer = &pair[1];
            let way = if finer.to_board >= 0.5 * at_power { Way::Down } else { Way::Up };
            if let Some(limit) = clause(&path(problem, &m.settings, finer, way)) {
                outcome.limits.insert("theta_ja".into(), limit);
            }
            solved.push(("psi_jt".into(), psi_jt));
            solved.push(("psi_jb".into(), psi_jb));
        }
        solved.push((m.figure.clone(), theta));
        let known =
            outcome.metrics.iter_mut().find(|k| k.surroundings == m.words && k.speed_m_s == m.speed_m_s);
        if let Some(known) = known {
            known.theta_ja = Some(theta.value);
            known.psi_jt = Some(psi_jt.value);
            known.psi_jb = Some(psi_jb.value);
            known.board_share = pair[1].to_board / at_power;
        }
    }
    if let Some(pair) = rest.next() {
        solved.push(("theta_jb".into(), next(&|r| (r.junction() - r.board_sensor) / power, pair)));
    }
    if let Some(pair) = rest.next() {
        solved.push(("theta_jc_top".into(), next(&|r| (r.junction() - r.case()) / power, pair)));
    }
    let celsius = |e: Estimate| Estimate { value: e.value + service.ambient_k - ZERO_CELSIUS, ..e };
    solved.push(("junction_max".into(), celsius(junction)));
    // A bump is below its junction on every grid, and so it is beyond them: the drop is carried on, not the bump.
    let drop = of_service(&|r| r.junction() - r.bump());
    let bump = Estimate {
        value: junction.value - drop.value.max(0.0),
        error: junction.error + drop.error,
        order: junction.order,
    };
    solved.push(("bump_max".into(), celsius(bump)));
    solved.push(("case_max".into(), celsius(of_service(&|r| r.case()))));
    let in_service: f64 = service.powers_w.iter().sum();
    if in_service > 0.0 {
        solved.push(("heat_to_board".into(), of_service(&|r| 100.0 * r.to_board / in_service)));
    }
    let finest = &readings[2];
    solved.push(("energy_balance".into(), Estimate { value: finest.balance.abs(), error: 0.0, order: None }));
    replace(&mut outcome.figures, &solved, finest);
    outcome.notes.retain(|n| n != PSI_ABOVE_THETA);
    let even = problem.dies.iter().all(|d| d.blocks.is_empty() && d.grid.is_none());
    outcome.notes.extend(psi_above_theta(&outcome.figures, even));
    apart(problem, outcome);
    describe(problem, service, &junction, finest, volume, outcome);
    if let (Some(trace), Some(traced)) = (&problem.trace, &traced) {
        following::follow(problem, trace, traced, junction.value, outcome);
    }
    if let Some(pair) = &pair {
        pair::tell(problem, pair, outcome);
    }
    match heating {
        Some(heating) => {
            warming(problem, &heating, pair.as_ref(), junction.value / in_service, outcome);
        }
        None => {
            let unknown = crate::solid::without_capacity(problem, service);
            let names: Vec<String> = unknown.iter().map(|p| name(problem, *p)).collect();
            if !names.is_empty() {
                outcome.notes.push(format!(
                    "How the package warms up is not followed: no density or heat capacity is known of {}.",
                    names.join(", ")
                ));
            }
        }
    }
    Ok(())
}

/// Puts solved values in the place of the closed forms'.
fn replace(figures: &mut [Figure], solved: &[(String, Estimate)], finest: &Reading) {
    for figure in figures {
        let Some((_, found)) = solved.iter().find(|s| s.0 == figure.name) else { continue };
        let shift = found.value - figure.value;
        figure.hand = Some(figure.value);
        figure.value = found.value;
        figure.error = Some(found.error);
        figure.status = Status::Solved;
        if figure.name == "energy_balance" {
            figure.basis =
                "power less the heat of all exposed faces, over the power, of the solid model".into();
            figure.hand = None;
            continue;
        }
        figure.between = figure.between.map(|b| b.map(|v| v + shift));
        figure.basis = format!(
            "finite volumes in space, {} cells on the finest grid, error from coarser grids; hand check: {}",
            finest.cells, figure.basis
        );
    }
}

/// Tells figures that lie far from their hand check, and what the closed form leaves out.
fn apart(problem: &Problem, outcome: &mut Outcome) {
    for figure in &outcome.figures {
        let Some(hand) = figure.hand else { continue };
        // Temperatures are compared as they are told; a rise of a few kelvin is below this anyway.
        let gap = (figure.value - hand).abs();
        if gap > APART * figure.value.abs() && gap > 3.0 * figure.error.unwrap_or(0.0) {
            outcome.notes.push(format!(
                "{} is {} {u} where its closed form gives {} {u}, which {}.",
                figure.name,
                round(figure.value),
                round(hand),
                left_out(problem, &figure.name),
                u = figure.unit
            ));
        }
    }
}

/// What the closed form of a figure leaves out of a package, as a clause. Without a lid the reasons were found by solving
/// a demonstration with joints spread evenly and by reading its die's back in the middle and as a mean; with one they are
/// read off the closed forms, and no case was solved that sets one of them apart.
fn left_out(problem: &Problem, figure: &str) -> &'static str {
    let case = ["psi_jt", "theta_jc_top", "case_max"].contains(&figure);
    match (case, problem.lid.is_some(), problem.dies.len()) {
        (true, false, _) => "takes the mean of the die's back for the case over its middle",
        (true, true, 1) => "joins die and lid by their means",
        (true, true, _) => "looks for the hottest place of each die as if it stood alone",
        (false, true, _) => "joins lid, foot and substrate by their means",
        (false, false, _) => "spreads bumps and balls evenly over die and substrate",
    }
}

/// Curve points a decade.
const POINTS: f64 = 20.0;
/// The structure function is read up to this share of the whole resistance; what lies beyond is noise.
const READABLE: f64 = 0.995;

/// Figures and curves of the warming-up; `steady` is what the junction comes to by the grids of service, K/W.
fn warming(problem: &Problem, heating: &Heating, pair: Option<&Pair>, steady: f64, outcome: &mut Outcome) {
    let [from, to] = TIMES_S;
    let count = (POINTS * (to / from).log10()).round() as usize;
    let times: Vec<f64> = (0..=count).map(|i| from * (to / from).powf(i as f64 / count as f64)).collect();
    let curve_of = |h: &Heating| times.iter().map(|&t| [t, h.impedance(t)]).collect::<Vec<[f64; 2]>>();
    let curve = curve_of(heating);
    let mean: Vec<f64> = times.iter().map(|&t| heating.driven_at_once + step(&heating.driven, t)).collect();
    let whole: f64 = heating.driven_at_once + heating.driven.iter().map(|p| p.gain).sum::<f64>();
    let how = Resampling { per_decade: POINTS, ..Resampling::default() };
    let (mut spectrum, mut structure) = (Vec::new(), Vec::new());
    match transient_path(&times, &mean, how, &Asked::default()) {
        Ok(path) => {
            spectrum = path.spectrum.parts.iter().map(|p| [p.time_constant, p.gain]).collect();
            let known = path.structure.iter().take_while(|p| p.resistance < READABLE * whole);
            structure = known.map(|p| [p.resistance, p.capacity]).collect();
        }
        Err(why) => outcome.notes.push(format!("The warming-up curve was not deconvolved: {why}.")),
    }
    let basis = format!(
        "hottest place of the hottest die after a step of all powers, over their sum; rational Krylov space of {} solutions on \
         {} cells, films and conductivities as settled; error of the model, and of its grid by the end of the curve",
        heating.shifts, heating.cells
    );
    let end = heating.impedance(to);
    for (figure, time) in [("impedance_1ms", 1e-3), ("impedance_100ms", 0.1), ("impedance_10s", 10.0)] {
        let mut figure = Figure::solved(figure, heating.impedance(time), "K/W", &basis);
        // The error of the model, and that of its one grid as the end of the curve shows it.
        figure.error = Some(heating.error * end + figure.value * ((end - steady) / end).abs());
        outcome.figures.push(figure);
    }
    if let Some(solid) = &mut outcome.solid {
        solid.heating = Some(Warming {
            die: problem.dies[heating.die].name.clone(),
            curve,
            pair: pair.map(|p| [&p.greased, &p.dry].map(curve_of)),
            parts: heating.hottest.iter().map(|p| [p.gain, p.time_constant]).collect(),
            spectrum,
            structure,
            error: heating.error,
            cells: heating.cells,
            shifts: heating.shifts,
        });
    }
}
