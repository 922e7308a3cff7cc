//! A solved case in the words of the outcome: temperatures, the ways of the heat, films, maps.

use crate::judge::largest;
use crate::network::{Setting, Upward};
use crate::outcome::{FaceFilm, Outcome, Solid, Step};
use crate::problem::Problem;
use crate::solid::parts::Part;
use crate::solid::{Estimate, Reading, Volume};

/// Name of a part in the words of the outcome.
pub(crate) fn name(problem: &Problem, part: Part) -> String {
    match part {
        Part::Interface(i) => {
            problem.dies[i].interface.as_ref().map_or("interface".into(), |t| t.name.clone())
        }
        other => other.kind().into(),
    }
}

/// Up or down from the hottest junction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Way {
    Up,
    Down,
}

/// Where the kelvins go from the hottest place of a reading to the ambient; empty where no heat goes that way.
pub(crate) fn path(problem: &Problem, setting: &Setting, reading: &Reading, way: Way) -> Vec<Step> {
    let die = &reading.dies[reading.hottest];
    let [top, .., ring] = reading.faces;
    let sink = problem.service.heat_sink.as_ref().filter(|_| problem.service.top_film.is_none());
    let (layers, heat, end, leaves) = match way {
        Way::Up => {
            let end = match (setting.up, sink) {
                (Upward::Insulated, _) => return Vec::new(),
                (Upward::Film(_), Some(_)) => "heat sink to air",
                (Upward::Film(_), None) => "film on the top",
                (Upward::Air(_), _) => "air above the package",
            };
            (&reading.above, die.up, end, top.heat)
        }
        Way::Down => {
            let end = if ring.area > 0.0 { "board to the ring" } else { "air around the board" };
            (&reading.below, die.down, end, reading.to_board)
        }
    };
    if heat <= 0.0 {
        return Vec::new();
    }
    let mut steps = vec![("hottest place over the mean of its die".to_owned(), die.hottest - die.mean, heat)];
    for layer in layers {
        let label = name(problem, layer.part);
        match steps.last_mut() {
            Some(last) if last.0 == label => last.1 += layer.drop,
            _ => steps.push((label, layer.drop, heat)),
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
}

/// Temperatures, paths and films of service from the finest grid.
pub(crate) fn describe(
    problem: &Problem,
    service: &Setting,
    junction: &Estimate,
    finest: &Reading,
    volume: Volume,
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
    let [top, beside, board_top, board_bottom, _] = finest.faces;
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
        .map(|(face, f)| FaceFilm {
            face: (*face).into(),
            area_m2: f.area,
            temperature_k: ambient + f.rise,
            convection: f.convection,
            radiation: f.radiation,
            heat_w: f.heat,
        })
        .collect();
    outcome.up = path(problem, service, finest, Way::Up);
    outcome.down = path(problem, service, finest, Way::Down);
    if let Some(limit) = largest(outcome) {
        outcome.limits.insert("junction_max".into(), limit.clone());
        outcome.limits.insert("bump_max".into(), limit);
    }
    let die = &finest.dies[finest.hottest];
    outcome.solid = Some(Solid {
        cells: finest.cells,
        rounds: finest.rounds[0],
        steps: finest.rounds[1],
        order: junction.order,
        hottest_die: finest.hottest,
        plan: finest.plan.clone(),
        section: finest.section.clone(),
        blocks: finest
            .dies
            .iter()
            .map(|d| d.blocks.iter().map(|b| b.map(|t| ambient + t)).collect())
            .collect(),
        heating: None,
        trace: None,
        hottest_at_m: die.at,
        volume,
    });
    outcome.notes.retain(|n| !n.starts_with("Heat enters each carrier evenly under a die"));
    outcome.notes.push(format!(
        "The package is solved in space on {} cells; joints stand where the layout places them, substrate and board are \
         taken as layers with their copper share. The constriction at single pads is left out.",
        finest.cells
    ));
}
