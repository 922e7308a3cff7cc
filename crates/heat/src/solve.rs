//! From a problem to its outcome: service first, then the standard surroundings.

use crate::judge::{Judged, judge};
use crate::metrics::{self, Like, Reading, SETS};
use crate::mixing::{Pattern, joint_sheet, sheet};
use crate::network::{Downward, Setting, Upward};
use crate::outcome::{DieTemperatures, FaceFilm, Outcome};
use crate::paths;
use crate::problem::{Carrier, HeatSink, Mount, Problem, Surroundings};
use crate::standards::{SPEEDS_M_S, TestBoard, board};
use crate::surroundings::{Settled, settle, settle_from};
use crate::valid::{Refusal, check};

/// Film that stands for a heat sink and its interface over the face that it covers, W/(m2 K).
fn sink_film(problem: &Problem, sink: &HeatSink) -> f64 {
    let area: f64 = match &problem.lid {
        Some(lid) => lid.width_m * lid.height_m,
        None => problem
            .dies
            .iter()
            .filter(|d| matches!(d.mount, Mount::Bumps(_)))
            .map(|d| d.width_m * d.height_m)
            .sum(),
    };
    let interface = sink.interface.as_ref().map_or(0.0, |t| t.sheet(problem.service.ambient_k).resistance());
    1.0 / (interface + sink.resistance_k_w * area)
}

/// The service of a problem with one set of correlations.
fn service_setting(problem: &Problem, on: &Carrier, set: usize) -> Setting {
    let service = &problem.service;
    let own_film = service.top_film.or_else(|| service.heat_sink.as_ref().map(|s| sink_film(problem, s)));
    let (down, air) = match service.surroundings {
        Surroundings::StillAir | Surroundings::TopColdPlate => (Downward::Air(0.0), Upward::Air(0.0)),
        Surroundings::MovingAir { speed_m_s } => (Downward::Air(speed_m_s), Upward::Air(speed_m_s)),
        Surroundings::RingColdPlate => (Downward::Ring, Upward::Insulated),
    };
    let up = match (own_film, service.surroundings) {
        (Some(film), _) => Upward::Film(film),
        (None, Surroundings::TopColdPlate) => Upward::Film(problem.cold_plate_film),
        (None, _) => air,
    };
    Setting {
        ambient_k: service.ambient_k,
        down,
        up,
        board: on.clone(),
        natural: SETS[set].0,
        pattern: SETS[set].1,
        powers_w: problem.dies.iter().map(|d| d.power_w).collect(),
    }
}

/// The setting of a problem's service on its own board, or on a JESD51-9 board with two planes where it gives none.
pub fn service(problem: &Problem) -> Setting {
    service_setting(problem, &own_board(problem), 0)
}

fn own_board(problem: &Problem) -> Carrier {
    let body = problem.substrate.width_m.max(problem.substrate.height_m);
    problem.board.clone().unwrap_or_else(|| board(TestBoard::TwoPlanes, body))
}

/// Where the junction would rise more than this over the ambient in still air, the metrics in air are taken at a power
/// scaled down by the excess, K (common practice, no source).
const TEST_RISE_K: f64 = 100.0;

/// Solves a problem.
///
/// # Errors
/// [`Refusal`] when the input is not finite or not physical, or when temperatures and films do not settle.
pub fn solve(problem: &Problem) -> Result<Outcome, Refusal> {
    check(problem)?;
    let own_board = own_board(problem);
    let setting = service_setting(problem, &own_board, 0);
    let service = settle(problem, &setting)?;
    let reading = metrics::read(&service);
    // The same with the other sets, for the spread of the figures of service.
    let mut junctions = vec![reading.junction];
    let mut bumps = vec![reading.bump];
    for set in 1..SETS.len() {
        let other = service_setting(problem, &own_board, set);
        let other = metrics::read(&settle_from(problem, &other, Some((&service.levels, &service.films)))?);
        junctions.push(other.junction);
        bumps.push(other.bump);
    }

    let mut like = Like { levels: &service.levels, films: &service.films, share: 1.0 };
    let still_air = "still air, the design's board";
    let mut still = metrics::in_air(problem, &own_board, SETS[0], 0.0, still_air, &like)?;
    let power: f64 = metrics::test_powers(problem).iter().sum();
    let rise = still.metric.theta_ja.unwrap_or_default() * power;
    // A part that needs its heat sink would glow in still air; the metric is taken at a power that a test would use.
    if rise > TEST_RISE_K {
        let first = Like { levels: &still.levels, films: &still.films, share: TEST_RISE_K / rise };
        like.share = first.share;
        still = metrics::in_air(problem, &own_board, SETS[0], 0.0, still_air, &first)?;
    }
    let like = Like { levels: &still.levels, films: &still.films, share: like.share };
    let mut theta_ja = vec![still.metric.theta_ja.unwrap_or_default()];
    for set in &SETS[1..] {
        theta_ja.extend(metrics::in_air(problem, &own_board, *set, 0.0, "", &like)?.metric.theta_ja);
    }
    let mut list = vec![still.metric.clone()];
    for speed in SPEEDS_M_S {
        list.push(
            metrics::in_air(problem, &own_board, SETS[0], speed, "moving air, the design's board", &like)?
                .metric,
        );
    }
    for (kind, words) in [
        (TestBoard::NoPlanes, "still air, JESD51-9 board without planes"),
        (TestBoard::TwoPlanes, "still air, JESD51-9 board with two planes"),
    ] {
        // Bodies over 90 mm have no board in the standard; none is reported for them.
        let body = problem.substrate.width_m.max(problem.substrate.height_m);
        if crate::standards::board_size(body).is_some() {
            list.push(metrics::in_air(problem, &board(kind, body), SETS[0], 0.0, words, &like)?.metric);
        }
    }
    let theta_jb = [SETS[0], SETS[2]]
        .into_iter()
        .map(|set| metrics::to_board(problem, &own_board, set))
        .collect::<Result<Vec<f64>, Refusal>>()?;
    let theta_jc = match metrics::to_case(problem, &own_board, problem.cold_plate_film) {
        Ok(value) => Ok(value),
        Err(Refusal::NoWayOut(why)) => Err(why),
        Err(other) => return Err(other),
    };
    let mut outcome = describe(problem, &service, &reading);
    outcome.metrics = list;
    judge(
        problem,
        &service,
        Judged {
            reading,
            junctions,
            bumps,
            theta_ja,
            theta_jb,
            theta_jc,
            still_outside: still.outside,
            still_path: still.path,
            air_power_w: like.share * power,
            air_share: like.share,
        },
        &mut outcome,
    );
    if let Some(fineness) = problem.fineness {
        match crate::solved::solve(problem, &own_board, &setting, fineness, &mut outcome, like.share) {
            Ok(()) => {}
            Err(refusal @ Refusal::NoGrid { .. }) => return Err(refusal),
            Err(refusal) => {
                let sentence =
                    format!("The solid model gave no solution ({refusal}): this is the closed form.");
                for figure in &mut outcome.figures {
                    *figure = figure.clone().outside(&sentence);
                }
            }
        }
    }
    Ok(outcome)
}

/// Temperatures, paths and films of service.
fn describe(problem: &Problem, service: &Settled<'_>, reading: &Reading) -> Outcome {
    let (network, s) = (&service.network, &service.solution);
    let ambient = problem.service.ambient_k;
    let dies = problem
        .dies
        .iter()
        .enumerate()
        .map(|(i, die)| {
            let place = network.on_bumps.iter().position(|&j| j == i);
            DieTemperatures {
                name: die.name.clone(),
                power_w: die.power_w,
                mean_k: ambient + reading.mean[i],
                max_k: ambient + reading.hottest[i],
                bump_k: place
                    .map(|p| ambient + reading.hottest[i] - (s.junction[p] - s.under_bumps[p]) / 2.0),
                back_k: ambient
                    + match (place, &die.mount) {
                        (Some(p), _) => s.back[p],
                        // Its back lies on its host.
                        (None, Mount::OnDie { host, .. }) => {
                            network.on_bumps.iter().position(|j| j == host).map_or(0.0, |p| s.back[p])
                        }
                        (None, Mount::Bumps(_)) => 0.0,
                    },
                up_w: place.map_or(0.0, |p| s.up[p]),
                down_w: place.map_or(0.0, |p| s.down[p]),
            }
        })
        .collect();
    let names = ["top of the package", "substrate around the dies", "board, upper face", "board, lower face"];
    let films = names
        .iter()
        .zip(&s.faces)
        .zip(&service.parts)
        .filter(|((_, face), _)| face.area > 0.0 && face.heat.abs() > 0.0)
        .map(|((name, face), part)| FaceFilm {
            face: (*name).into(),
            area_m2: face.area,
            temperature_k: ambient + face.rise,
            convection: part[0],
            radiation: part[1],
            heat_w: face.heat,
        })
        .collect();
    let levels = &service.levels;
    let setting = network.setting;
    let of = |c: &Carrier, level: f64| -> Vec<_> {
        c.layers.iter().map(|l| sheet(l, level, Pattern::Along)).collect()
    };
    let mut effective = Vec::new();
    for &i in &network.on_bumps {
        if let Mount::Bumps(joints) = &problem.dies[i].mount {
            let die = &problem.dies[i];
            let layer = joint_sheet(joints, die.width_m * die.height_m, levels.dies[i]);
            effective.push(paths::effective(&format!("bumps of {}", die.name), &[layer]));
        }
    }
    if let Some(interposer) = &problem.interposer {
        effective.push(paths::effective("interposer", &of(&interposer.carrier, levels.interposer)));
        effective
            .extend(network.interposer_joints.iter().map(|j| paths::effective("interposer bumps", &[*j])));
    }
    effective.push(paths::effective("substrate", &of(&problem.substrate, levels.substrate)));
    effective.push(paths::effective("balls", &[network.balls]));
    effective.push(paths::effective("board", &of(&setting.board, levels.board)));
    let spot = &reading.spots[reading.place];
    Outcome {
        ambient_k: ambient,
        power_w: problem.power_w(),
        dies,
        lid_k: problem.lid.as_ref().map(|_| {
            // Under an insulated top the lid is as warm as the dies that touch it.
            let insulated = network.lid.is_none();
            ambient + if insulated { s.back.iter().copied().fold(0.0, f64::max) } else { s.lid }
        }),
        interposer_k: problem.interposer.as_ref().map(|_| levels.interposer),
        substrate_k: levels.substrate,
        board_k: levels.board,
        up: paths::up(
            network,
            s,
            reading.place,
            spot,
            problem.service.heat_sink.as_ref().filter(|_| problem.service.top_film.is_none()),
        ),
        down: paths::down(network, s, reading.place, spot),
        up_w: s.faces[0].heat + s.faces[1].heat,
        down_w: s.balls,
        films,
        effective,
        metrics: Vec::new(),
        solid: None,
        figures: Vec::new(),
        limits: Default::default(),
        notes: Vec::new(),
        advice: Vec::new(),
    }
}
