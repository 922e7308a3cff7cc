//! Answers tasks in JSON, one a line, for comparison with general-purpose libraries.
//!
//! A task has one of the keys `bar` (length, radius), `bars` (length, radius, distance), `strip` (width, thickness, height,
//! permittivity, cover), `ladder` (count, segment, bump), `array` (radius over cell side), `edge_fed` (aspect), `problem`, `specimen`.

use facedown_electrical::line::{Strip, strip};
use facedown_electrical::{Problem, inductance, sharing, solve, specimen, spreading};
use serde_json::{Value, from_value, json};
use std::io::BufRead;

fn answer(task: &Value) -> Result<Value, Box<dyn std::error::Error>> {
    let given = |key: &str| task.get(key).cloned();
    Ok(if let Some(v) = given("bar") {
        let [l, r]: [f64; 2] = from_value(v)?;
        json!(inductance::round_bar(l, r)?)
    } else if let Some(v) = given("bars") {
        let [l, r, d]: [f64; 3] = from_value(v)?;
        json!(inductance::round_bars(l, r, d))
    } else if let Some(v) = given("strip") {
        let [width_m, thickness_m, height_m, permittivity, cover]: [f64; 5] = from_value(v)?;
        let line = strip(&Strip { width_m, thickness_m, height_m, permittivity, cover });
        json!([line.impedance_ohm, line.effective, line.capacitance(), line.inductance()])
    } else if let Some(v) = given("ladder") {
        let (count, segment, bump): (u32, f64, f64) = from_value(v)?;
        json!(sharing::ladder(count, segment, bump))
    } else if let Some(v) = given("array") {
        let ratio: f64 = from_value(v)?;
        json!([spreading::corner_drop(ratio), spreading::edge_drop(ratio), spreading::mean_drop(ratio)])
    } else if let Some(v) = given("edge_fed") {
        let aspect: f64 = from_value(v)?;
        json!([spreading::edge_fed_max(aspect), spreading::edge_fed_mean(aspect)])
    } else if let Some(v) = given("problem") {
        let problem: Problem = from_value(v)?;
        match solve(&problem) {
            Ok(outcome) => serde_json::to_value(outcome)?,
            Err(refusal) => json!({ "refusal": refusal.to_string() }),
        }
    } else {
        serde_json::to_value(specimen::small())?
    })
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    for line in std::io::stdin().lock().lines() {
        println!("{}", answer(&serde_json::from_str(&line?)?)?);
    }
    Ok(())
}
