//! The figures by the solid model: service on three grids, the standard surroundings on two, all side by side.
//!
//! The closed forms have been run before; they stay beside every figure as its hand check, and the spread of published
//! correlations, which they are run with, is laid around the solved value.

use crate::metrics::{self, SETS};
use crate::network::{Downward, Setting, Upward};
use crate::outcome::{Outcome, Solid, Step, Warming};
use crate::problem::{Carrier, Problem};
use crate::solid::parts::Part;
use crate::solid::{Estimate, Heating, Reading, TIMES_S, estimate, extrapolated};
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
        grids.iter().map(|&fineness| Job { setting: service.clone(), fineness }).collect();
    let both = |setting: &Setting| [0, 1].map(|i| Job { setting: setting.clone(), fineness: grids[i] });
    jobs.extend(list.iter().flat_map(|m| both(&m.settings)));
    jobs.extend(both(&standard(Downward::Ring, Upward::Insulated)));
    if has_case {
        jobs.extend(both(&standard(Downward::Insulated, plate)));
    }
    // The warming-up takes as long as all the rest: it runs beside it.
    let (heating, readings) = rayon::join(
        || crate::solid::heating(problem, service, grids[0]),
        || {
            jobs.par_iter()
                .map(|job| crate::solid::solve(problem, &job.setting, job.fineness))
                .collect::<Result<Vec<Reading>, Refusal>>()
        },
    );
    let (heating, readings) = (heating?, readings?);

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
    solved.push(("bump_max".into(), celsius(of_service(&|r| r.bump()))));
    solved.push(("case_max".into(), celsius(of_service(&|r| r.case()))));
    let in_service: f64 = service.powers_w.iter().sum();
    if in_service > 0.0 {
        solved.push(("heat_to_board".into(), of_service(&|r| 100.0 * r.to_board / in_service)));
    }
    let finest = &readings[2];
    solved.push(("energy_balance".into(), Estimate { value: finest.balance.abs(), error: 0.0, order: None }));
    replace(&mut outcome.figures, &solved, finest);
    apart(outcome);
    describe(problem, service, &junction, finest, outcome);
    match heating {
        Some(heating) => warming(problem, &heating, outcome),
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

/// Tells figures that lie far from their hand check.
fn apart(outcome: &mut Outcome) {
    for figure in &outcome.figures {
        let Some(hand) = figure.hand else { continue };
        // Temperatures are compared as they are told; a rise of a few kelvin is below this anyway.
        let gap = (figure.value - hand) / figure.value.abs().max(1e-12);
        if gap.abs() > APART && (figure.value - hand).abs() > 3.0 * figure.error.unwrap_or(0.0) {
            outcome.notes.push(format!(
                "{} is {:.0} % {} its closed form, which heats every plate evenly under each part and lets no heat out at the sides.",
                figure.name,
                100.0 * gap.abs(),
                if gap > 0.0 { "above" } else { "below" },
            ));
        }
    }
}

/// Curve points a decade.
const POINTS: f64 = 20.0;
/// The structure function is read up to this share of the whole resistance; what lies beyond is noise.
const READABLE: f64 = 0.995;

/// Figures and curves of the warming-up.
fn warming(problem: &Problem, heating: &Heating, outcome: &mut Outcome) {
    let [from, to] = TIMES_S;
    let count = (POINTS * (to / from).log10()).round() as usize;
    let times: Vec<f64> = (0..=count).map(|i| from * (to / from).powf(i as f64 / count as f64)).collect();
    let curve: Vec<[f64; 2]> = times.iter().map(|&t| [t, heating.impedance(t)]).collect();
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
         {} cells, films and conductivities as settled",
        heating.shifts, heating.cells
    );
    let end = heating.impedance(to);
    for (figure, time) in [("impedance_1ms", 1e-3), ("impedance_100ms", 0.1), ("impedance_10s", 10.0)] {
        let mut figure = Figure::solved(figure, heating.impedance(time), "K/W", &basis);
        figure.error = Some(heating.error * end);
        outcome.figures.push(figure);
    }
    if let Some(solid) = &mut outcome.solid {
        solid.heating = Some(Warming {
            die: problem.dies[heating.die].name.clone(),
            curve,
            parts: heating.hottest.iter().map(|p| [p.gain, p.time_constant]).collect(),
            spectrum,
            structure,
            error: heating.error,
            cells: heating.cells,
            shifts: heating.shifts,
        });
    }
}

fn name(problem: &Problem, part: Part) -> String {
    match part {
        Part::Board => "board".into(),
        Part::Balls => "balls".into(),
        Part::Substrate => "substrate".into(),
        Part::InterposerJoints => "interposer bumps".into(),
        Part::Interposer => "interposer".into(),
        Part::Bumps(_) => "bumps and underfill".into(),
        Part::Die(_) => "die".into(),
        Part::Attach(_) => "die attach".into(),
        Part::Interface(i) => {
            problem.dies[i].interface.as_ref().map_or("interface".into(), |t| t.name.clone())
        }
        Part::Lid => "lid".into(),
        Part::Foot => "foot of the lid".into(),
        Part::Ring => "ring".into(),
        Part::Air => "air under the lid".into(),
    }
}

/// Temperatures, paths and films of service from the finest grid.
fn describe(
    problem: &Problem,
    service: &Setting,
    junction: &Estimate,
    finest: &Reading,
    outcome: &mut Outcome,
) {
    let ambient = service.ambient_k;
    for (die, read) in outcome.dies.iter_mut().zip(&finest.dies) {
        die.mean_k = ambient + read.mean;
        die.max_k = ambient + read.hottest;
        die.bump_k = read.bump.map(|b| ambient + b);
        die.back_k = ambient + read.back;
        die.up_w = read.up;
        die.down_w = read.down;
    }
    outcome.lid_k = finest.lid.map(|t| ambient + t);
    outcome.interposer_k = finest.interposer.map(|t| ambient + t);
    outcome.substrate_k = ambient + finest.substrate;
    outcome.board_k = ambient + finest.board;
    let [top, beside, board_top, board_bottom, ring] = finest.faces;
    outcome.up_w = top.heat + beside.heat;
    outcome.down_w = finest.to_board;
    let names = [
        "top of the package",
        "substrate and sides of the package",
        "board, upper face",
        "board, lower face",
    ];
    outcome.films = names
        .iter()
        .zip([top, beside, board_top, board_bottom])
        .filter(|(_, f)| f.area > 0.0 && f.heat.abs() > 0.0)
        .map(|(face, f)| crate::outcome::FaceFilm {
            face: (*face).into(),
            area_m2: f.area,
            temperature_k: ambient + f.rise,
            convection: f.convection,
            radiation: f.radiation,
            heat_w: f.heat,
        })
        .collect();
    let die = &finest.dies[finest.hottest];
    let sink = problem.service.heat_sink.as_ref().filter(|_| problem.service.top_film.is_none());
    let up_end = match (service.up, sink) {
        (Upward::Film(_), Some(_)) => "heat sink to air",
        (Upward::Film(_), None) => "film on the top",
        _ => "air above the package",
    };
    let down_end = if ring.area > 0.0 { "board to the ring" } else { "air around the board" };
    let path = |list: &[crate::solid::Crossing], heat: f64, end: &str, leaves: f64| {
        if heat <= 0.0 || matches!(service.up, Upward::Insulated) && end == up_end {
            return Vec::new();
        }
        let mut steps: Vec<(String, f64, f64)> =
            vec![("hottest place over the mean of its die".into(), die.hottest - die.mean, heat)];
        for c in list {
            let label = name(problem, c.part);
            match steps.last_mut() {
                Some(last) if last.0 == label => last.1 += c.drop,
                _ => steps.push((label, c.drop, heat)),
            }
        }
        let dropped: f64 = steps.iter().map(|s| s.1).sum();
        steps.push((end.into(), die.hottest - dropped, leaves));
        steps.retain(|s| s.1.abs() > 1e-9);
        steps
            .into_iter()
            .map(|(name, kelvins, heat_w)| Step {
                name,
                kelvins,
                share: if die.hottest > 0.0 { kelvins / die.hottest } else { 0.0 },
                heat_w,
                resistance_k_w: if heat_w.abs() > 1e-12 { kelvins / heat_w } else { 0.0 },
            })
            .collect()
    };
    outcome.up = path(&finest.above, die.up, up_end, top.heat);
    outcome.down = path(&finest.below, die.down, down_end, finest.to_board);
    outcome.solid = Some(Solid {
        cells: finest.cells,
        rounds: finest.rounds[0],
        steps: finest.rounds[1],
        order: junction.order,
        plan: finest.plan.clone(),
        section: finest.section.clone(),
        blocks: finest
            .dies
            .iter()
            .map(|d| d.blocks.iter().map(|b| b.map(|t| ambient + t)).collect())
            .collect(),
        heating: None,
        hottest_at_m: die.at,
    });
    outcome.notes.retain(|n| !n.starts_with("Heat enters each carrier evenly under a die"));
    outcome.notes.push(format!(
        "The package is solved in space on {} cells; joints stand where the layout places them, {} are taken as layers \
         with their copper share. The constriction at single pads is left out.",
        finest.cells, "substrate and board"
    ));
}
