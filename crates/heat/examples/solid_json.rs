//! Three packages as plain boxes with given films, and what the solver in space makes of them, for the oracle tests.
//!
//! A line of JSON for each: boxes (part, outline, hole, heights, conductivities in and through the plane, films of their
//! exposed upper, lower and upright faces; where boxes overlap, the later one holds), dies (outline, height of the
//! active face, heat as rectangles on it), planes of symmetry, and mean and hottest rise of every die with the error
//! that is told. Conductivities are constant and films given, so that no correlation is compared.

use facedown_heat::film::Natural;
use facedown_heat::mixing::Pattern;
use facedown_heat::network::{Downward, Films, Setting, Upward};
use facedown_heat::problem::{Block, Problem, Table};
use facedown_heat::solid::parts::{Part, parts};
use facedown_heat::solid::{Reading, estimate, solve_with_films};
use facedown_heat::specimen;
use serde_json::{Value, json};

const RATIO: f64 = std::f64::consts::SQRT_2;
const AT_K: f64 = 350.0;

/// The package with all silicon at one conductivity: the only property of the specimens that depends on temperature.
fn constant(mut problem: Problem) -> Problem {
    let fix = |table: &mut Table| *table = vec![(AT_K, facedown_heat::mixing::at(table, AT_K))];
    for die in &mut problem.dies {
        die.body.iter_mut().for_each(|layer| fix(&mut layer.in_plane));
    }
    if let Some(interposer) = &mut problem.interposer {
        interposer.carrier.layers.iter_mut().for_each(|layer| fix(&mut layer.in_plane));
    }
    problem
}

fn told(
    problem: &Problem,
    films: Films,
    symmetric: [bool; 2],
    name: &str,
) -> Result<Value, Box<dyn std::error::Error>> {
    let board = problem.board.clone().ok_or("no board")?;
    let setting = Setting {
        ambient_k: 300.0,
        down: Downward::Air(0.0),
        up: Upward::Air(0.0),
        board,
        natural: Natural::ThinLayer,
        pattern: Pattern::Along,
        powers_w: problem.dies.iter().map(|d| d.power_w).collect(),
    };
    let laid = parts(problem, &setting);
    let boxes: Vec<Value> = laid
        .slabs
        .iter()
        .map(|slab| {
            let sheet = slab.sheet(AT_K, setting.pattern);
            let [above, below, upright] = match slab.part {
                Part::Board => [films.board_top, films.board_bottom, films.board_top],
                Part::Die(_) | Part::Lid => [films.top, 0.0, films.substrate],
                _ => [films.substrate, 0.0, films.substrate],
            };
            json!({
                "part": format!("{:?}", slab.part),
                "from": slab.area.from, "to": slab.area.to,
                "hole": slab.hole.map(|h| [h.from, h.to]),
                "z": slab.z, "in_plane": sheet.in_plane, "through": sheet.through,
                "films": {"above": above, "below": below, "upright": upright},
            })
        })
        .collect();
    let grids = [0, 1, 2].map(|i| RATIO.powi(i - 2));
    let readings = grids
        .iter()
        .map(|fineness| solve_with_films(problem, &setting, films, *fineness))
        .collect::<Result<Vec<Reading>, _>>()?;
    let dies: Vec<Value> = (0..problem.dies.len())
        .map(|i| {
            let [mean, hottest] = [|r: &Reading, i: usize| r.dies[i].mean, |r: &Reading, i: usize| r.dies[i].hottest]
                .map(|read| estimate([0, 1, 2].map(|g| read(&readings[g], i)), RATIO));
            let die = &problem.dies[i];
            let [x, y] = laid.dies[i].from;
            let heat: Vec<Value> = if die.blocks.is_empty() {
                vec![json!({"from": laid.dies[i].from, "to": laid.dies[i].to, "heat": die.power_w})]
            } else {
                let of = |b: &Block| {
                    let from = [x + b.x_m, y + b.y_m];
                    json!({"from": from, "to": [from[0] + b.width_m, from[1] + b.height_m], "heat": b.power_w})
                };
                die.blocks.iter().map(of).collect()
            };
            json!({
                "name": die.name, "from": laid.dies[i].from, "to": laid.dies[i].to, "active": laid.active[i],
                "heat": heat,
                "mean": [mean.value, mean.error], "hottest": [hottest.value, hottest.error],
            })
        })
        .collect();
    let cells: Vec<usize> = readings.iter().map(|r| r.cells).collect();
    Ok(json!({"name": name, "boxes": boxes, "dies": dies, "symmetric": symmetric, "cells": cells}))
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let films = |top, rest| Films { top, substrate: rest, board_top: rest, board_bottom: rest };
    let mut lidded = constant(specimen::lidded());
    // Two blocks in the middle of the die, one in the other, so that a quarter tells all.
    let die = &mut lidded.dies[0];
    let centred = |width_m: f64, height_m: f64, power_w: f64| Block {
        x_m: (die.width_m - width_m) / 2.0,
        y_m: (die.height_m - height_m) / 2.0,
        width_m,
        height_m,
        power_w,
    };
    die.blocks = vec![centred(die.width_m, die.height_m, 25.0), centred(6e-3, 5e-3, 35.0)];
    for (problem, films, symmetric, name) in [
        (constant(specimen::bare()), films(14.0, 12.0), [true, true], "bare"),
        (lidded, films(900.0, 15.0), [true, true], "lidded"),
        (constant(specimen::module()), films(6000.0, 12.0), [true, false], "module"),
    ] {
        println!("{}", told(&problem, films, symmetric, name)?);
    }
    Ok(())
}
