//! Follows fronts given on standard input, one problem as JSON a line, and answers with one line each: times of arrival of
//! the cells, fill, voids. The oracle tests compare them with scipy.

use facedown_underfill::front::{self, Line, Problem, obstacle};
use facedown_underfill::{BumpShape, Edge, Lattice};
use serde_json::{Value, json};
use std::io::BufRead;

fn number(task: &Value, key: &str) -> f64 {
    task[key].as_f64().unwrap_or(f64::NAN)
}

/// A bare or bumped gap with ample lines: `size`, `gap`, `tension`, `angle`, `edges`, `least`, and where there are bumps
/// `places` and `diameter`,
/// and `angle_bump` where it is another one.
fn problem(task: &Value) -> Option<Problem> {
    let size: [f64; 2] = serde_json::from_value(task["size"].clone()).ok()?;
    let edges: Vec<Edge> = serde_json::from_value(task["edges"].clone()).ok()?;
    let mut problem =
        Problem::bare(size, number(task, "gap"), number(task, "tension"), number(task, "angle"), &[]);
    problem.lines = edges.iter().map(|&edge| Line::ample(edge, size)).collect();
    problem.resolution.least = task["least"].as_u64()? as usize;
    if let Ok(map) = serde_json::from_value(task["gap_map"].clone()) {
        problem.gap_m = map;
    }
    if let Ok(places_m) = serde_json::from_value::<Vec<[f64; 2]>>(task["places"].clone()) {
        problem.bumps = Some(front::Bumps {
            places_m,
            diameter_m: number(task, "diameter"),
            shape: BumpShape::Cylinder,
            lattice: Lattice::Square,
        });
        if let Some(angle) = task["angle_bump"].as_f64() {
            problem.angle_bump_rad = front::Map::Uniform(angle);
        }
    }
    Some(problem)
}

fn answer(task: &Value) -> Option<Value> {
    let problem = problem(task)?;
    let outcome = front::solve(&problem).ok()?;
    let cells: Vec<Value> = outcome
        .cells
        .iter()
        .map(|c| json!([c.at[0], c.at[1], c.permeability_m2, c.drive_pa, c.arrival_fluidity, c.fill]))
        .collect();
    Some(json!({
        "count": outcome.count, "cells": cells, "fill": outcome.fill_fluidity,
        "obstacle": obstacle::fill(&problem).ok()?.map(|f| f.0),
        "course": outcome.course.iter().map(|p| [p.fluidity, p.filled]).collect::<Vec<_>>(),
    }))
}

fn main() {
    for line in std::io::stdin().lock().lines().map_while(Result::ok) {
        let task: Value = serde_json::from_str(&line).unwrap_or(Value::Null);
        println!("{}", answer(&task).unwrap_or(Value::Null));
    }
}
