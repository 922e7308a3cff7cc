//! Answers tasks in JSON, one a line, for comparison with general-purpose libraries.
//!
//! A task has one of the keys `problem` (a whole problem), `specimen`, `section`, `annular`.

use facedown_warpage::annular::{self, Ring};
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
