//! Answers tasks in JSON, one a line, for comparison with general-purpose libraries.
//!
//! A task has one of the keys `problem` (a whole problem), `specimen`, `section`, `annular`, `plates`, `published`.

use facedown_warpage::annular::{self, Ring};
use facedown_warpage::plates::{self, Area, Assembly, Part, Region, Spring};
use facedown_warpage::property::Elastic;
use facedown_warpage::section::{Ply, Section};
use facedown_warpage::{Problem, solve, specimen};
use serde_json::{Value, json};
use std::io::BufRead;

type Answer = Result<Value, Box<dyn std::error::Error>>;

/// Plies of [bottom, top, modulus, Poisson's ratio, strain].
fn plies(task: &Value) -> Result<Vec<Ply>, serde_json::Error> {
    let rows: Vec<[f64; 5]> = serde_json::from_value(task.clone())?;
    Ok(rows
        .into_iter()
        .map(|[bottom, top, modulus, poisson, strain]| {
            Ply::isotropic(bottom, top, Elastic { modulus, poisson, strain })
        })
        .collect())
}

fn area(task: &Value) -> Result<Area, serde_json::Error> {
    let [x0, x1, y0, y1]: [f64; 4] = serde_json::from_value(task.clone())?;
    Ok(Area { x: [x0, x1], y: [y0, y1] })
}

/// A rectangle under `area`, less that under `opening` where there is one.
fn region(task: &Value) -> Result<Region, serde_json::Error> {
    let opening = task.get("opening").map(area).transpose()?;
    Ok(Region { outer: area(&task["area"])?, opening })
}

/// Heights of plate 0 over its middle, and of plate 1 over plate 0, at places of a body.
fn rectangles(task: &Value) -> Answer {
    let size: [f64; 2] = serde_json::from_value(task["size"].clone())?;
    let list = |key: &str| task[key].as_array().cloned().unwrap_or_default();
    let mut parts = Vec::new();
    for part in list("parts") {
        let plate = part["plate"].as_u64().unwrap_or(0) as usize;
        parts.push(Part { plate, region: region(&part)?, plies: plies(&part["plies"])? });
    }
    let mut springs = Vec::new();
    for spring in list("springs") {
        let [low, high, shear, normal, opening]: [f64; 5] = serde_json::from_value(spring["is"].clone())?;
        springs.push(Spring { region: region(&spring)?, heights: [low, high], shear, normal, opening });
    }
    let step = size[0].max(size[1]) / task["pieces"].as_f64().unwrap_or(10.0);
    let bent = plates::solve(&Assembly { size, parts, springs, step })?;
    let middle = bent.deflection(0, [0.0; 2]);
    let at: Vec<[f64; 2]> = serde_json::from_value(task["at"].clone())?;
    let heights: Vec<f64> = at.iter().map(|&p| bent.deflection(0, p) - middle).collect();
    let gaps: Vec<f64> = at.iter().map(|&p| bent.deflection(1, p) - bent.deflection(0, p)).collect();
    Ok(json!({ "heights": heights, "gaps": gaps, "unknowns": bent.unknowns() }))
}

fn answer(line: &str) -> Answer {
    let task: Value = serde_json::from_str(line)?;
    if let Some(task) = task.get("section") {
        let plies = plies(task)?;
        let free = Section::of(&plies).free()?;
        let stress: Vec<[f64; 2]> = plies.iter().map(|p| p.stress(free.at(p.top))).collect();
        return Ok(json!({ "strain": free.strain, "curvature": free.curvature, "stress": stress }));
    }
    if let Some(task) = task.get("annular") {
        let outer: Vec<f64> = serde_json::from_value(task["outer"].clone())?;
        let sections = task["plies"].as_array().ok_or("plies are missing")?;
        let rings = outer
            .into_iter()
            .zip(sections)
            .map(|(outer, own)| Ok(Ring { outer, section: Section::of(&plies(own)?) }))
            .collect::<Result<Vec<Ring>, serde_json::Error>>()?;
        let solution = annular::solve(&rings)?;
        let at: Vec<f64> = serde_json::from_value(task["at"].clone())?;
        let heights: Vec<f64> = at.iter().map(|&r| solution.height(r)).collect();
        return Ok(json!(heights));
    }
    if let Some(task) = task.get("plates") {
        return rectangles(task);
    }
    if task.get("published").is_some() {
        return Ok(serde_json::to_value(facedown_warpage::published::checks())?);
    }
    let problem: Problem = match task.get("specimen").and_then(Value::as_str) {
        Some("bare") => specimen::bare(),
        Some("ringed") => specimen::ringed(),
        Some("lidded") => specimen::lidded(),
        Some("module") => specimen::module(),
        _ => serde_json::from_value(task["problem"].clone())?,
    };
    if task.get("show").is_some() {
        return Ok(serde_json::to_value(problem)?);
    }
    Ok(serde_json::to_value(solve(&problem)?)?)
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    for line in std::io::stdin().lock().lines() {
        println!("{}", answer(&line?).unwrap_or_else(|e| json!({ "error": e.to_string() })));
    }
    Ok(())
}
