//! Answers tasks in JSON, one a line, for comparison with general-purpose libraries.
//!
//! A task has one of the keys `ladder` (gains and time constants: the rungs), `spectrum` (times and values of a step
//! response: its parts), `trace` (gains, time constants, durations, inputs: extremes and mean of the periodic state).

use facedown_field::deconvolution::{Asked, spectrum};
use facedown_field::ladder;
use facedown_field::relaxation::{Piece, Relaxation, State, range};
use facedown_field::step_response::{Resampling, StepResponse};
use serde_json::{Value, json};
use std::io::BufRead;

type Answer = Result<Value, Box<dyn std::error::Error>>;

fn parts(task: &Value) -> Result<Vec<Relaxation>, serde_json::Error> {
    let gains: Vec<f64> = serde_json::from_value(task["gains"].clone())?;
    let constants: Vec<f64> = serde_json::from_value(task["time_constants"].clone())?;
    let pairs = gains.into_iter().zip(constants);
    Ok(pairs.map(|(gain, time_constant)| Relaxation { gain, time_constant }).collect())
}

fn answer(line: &str) -> Answer {
    let task: Value = serde_json::from_str(line)?;
    if let Some(task) = task.get("ladder") {
        let rungs = ladder::from_parts(&parts(task)?)?;
        return Ok(json!(rungs.iter().map(|r| [r.capacity, r.resistance]).collect::<Vec<_>>()));
    }
    if let Some(task) = task.get("spectrum") {
        let times: Vec<f64> = serde_json::from_value(task["times"].clone())?;
        let values: Vec<f64> = serde_json::from_value(task["values"].clone())?;
        let response = StepResponse::sampled(&times, &values, Resampling::default())?;
        let found = spectrum(&response, &Asked::default())?;
        return Ok(json!({
            "parts": found.parts.iter().map(|p| [p.gain, p.time_constant]).collect::<Vec<_>>(),
            "misfit": found.misfit,
        }));
    }
    let task = &task["trace"];
    let durations: Vec<f64> = serde_json::from_value(task["durations"].clone())?;
    let inputs: Vec<f64> = serde_json::from_value(task["inputs"].clone())?;
    let pieces = durations.into_iter().zip(inputs);
    let trace: Vec<Piece> = pieces.map(|(duration, input)| Piece { duration, inputs: vec![input] }).collect();
    let parts = [parts(task)?];
    let found = range(State::periodic(&parts, &trace), &trace)?;
    Ok(json!([found.high, found.low, found.mean]))
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    for line in std::io::stdin().lock().lines() {
        println!("{}", answer(&line?).unwrap_or_else(|e| json!({ "error": e.to_string() })));
    }
    Ok(())
}
