//! Answers tasks in JSON, one a line, for comparison with general-purpose libraries.
//!
//! A task has one of the keys `problem` (a whole problem), `plate`, `held_rim`, `round_fin`, `films`, `stack` (a step of power
//! on layers, or on a rectangle), `specimen`.

use facedown_heat::film::{AirFace, Facing, Natural, radiation};
use facedown_heat::fin::board_as_round_fin;
use facedown_heat::plate::{Face, Modes, Patch, Plate, Rectangle, held_rim};
use facedown_heat::sheet::Sheet;
use facedown_heat::stack::{Slab, Stack, rectangle_rise};
use facedown_heat::{Problem, solve, specimen};
use serde_json::{Value, json};
use std::io::BufRead;

type Answer = Result<Value, Box<dyn std::error::Error>>;

fn sheets(layers: &[[f64; 4]]) -> Vec<Sheet> {
    layers
        .iter()
        .map(|&[thickness, in_plane, through, contact]| Sheet { thickness, in_plane, through, contact })
        .collect()
}

fn plate(task: &Value) -> Answer {
    let [width, height]: [f64; 2] = serde_json::from_value(task["size"].clone())?;
    let layers: Vec<[f64; 4]> = serde_json::from_value(task["layers"].clone())?;
    let rectangles: Vec<[f64; 4]> = serde_json::from_value(task["rectangles"].clone())?;
    let film = task["film"].as_f64().unwrap_or(f64::NAN);
    let face_film = task["face_film"].as_f64().unwrap_or(0.0);
    let terms = task["terms"].as_u64().unwrap_or(100) as usize;
    let plate = Plate { face_film, ..Plate::on_film(width, height, sheets(&layers), film) };
    let modes = Modes::new(&plate, [terms; 2], true);
    let patches: Vec<Patch> = rectangles
        .iter()
        .map(|&[x0, x1, y0, y1]| Patch::rectangle(Rectangle { x: [x0, x1], y: [y0, y1] }))
        .collect();
    let means: Vec<Vec<f64>> =
        patches.iter().map(|a| patches.iter().map(|b| modes.mean(b, a)).collect()).collect();
    let [x0, x1, y0, y1] = rectangles[0];
    let centre = [(x0 + x1) / 2.0, (y0 + y1) / 2.0];
    Ok(json!({
        "means": means,
        "centre": modes.at(&patches[0], centre, Face::Heated),
        "far": modes.at(&patches[0], centre, Face::Far),
    }))
}

fn films(task: &Value) -> Answer {
    let [face_k, air_k, length, flow, speed, emissivity]: [f64; 6] = serde_json::from_value(task.clone())?;
    let of = |set, facing| {
        AirFace { facing, natural_length_m: length, flow_length_m: flow, speed_m_s: speed, set }
            .convection(face_k, air_k)
    };
    Ok(json!([
        of(Natural::Textbook, Facing::Up),
        of(Natural::Textbook, Facing::Down),
        of(Natural::ThinLayer, Facing::Up),
        of(Natural::ThinLayer, Facing::Down),
        of(Natural::ThinLayer, Facing::Side),
        radiation(emissivity, face_k, air_k)
    ]))
}

fn stack(task: &Value) -> Answer {
    let times: Vec<f64> = serde_json::from_value(task["times"].clone())?;
    let rises: Result<Vec<f64>, _> = if let Some(sides) = task.get("sides") {
        let sides: [f64; 2] = serde_json::from_value(sides.clone())?;
        let [k, capacity]: [f64; 2] = serde_json::from_value(task["material"].clone())?;
        times.iter().map(|t| rectangle_rise(1.0, sides, k, capacity, *t)).collect()
    } else {
        let layers: Vec<[f64; 4]> = serde_json::from_value(task["layers"].clone())?;
        let slab = |[thickness_m, conductivity, capacity_j_m3_k, contact_m2_k_w]: [f64; 4]| Slab {
            thickness_m,
            conductivity,
            capacity_j_m3_k,
            contact_m2_k_w,
        };
        let film = task["film"].as_f64().unwrap_or(f64::INFINITY);
        let stack = Stack { layers: layers.into_iter().map(slab).collect(), film };
        times.iter().map(|t| stack.step_response(*t)).collect()
    };
    Ok(json!(rises?))
}

fn answer(line: &str) -> Answer {
    let task: Value = serde_json::from_str(line)?;
    if let Some(task) = task.get("plate") {
        return plate(task);
    }
    if let Some(task) = task.get("held_rim") {
        let layers: Vec<[f64; 4]> = serde_json::from_value(task["layers"].clone())?;
        let pair = |key: &str| serde_json::from_value::<[f64; 2]>(task[key].clone());
        let (mean, at) = held_rim(pair("size")?, pair("source")?, &sheets(&layers), pair("point")?);
        return Ok(json!([mean, at]));
    }
    if let Some(task) = task.get("round_fin") {
        let [footprint, board, conductance, films]: [f64; 4] = serde_json::from_value(task.clone())?;
        return Ok(json!(board_as_round_fin(footprint, board, conductance, films)?));
    }
    if let Some(task) = task.get("stack") {
        return stack(task);
    }
    if let Some(task) = task.get("films") {
        return films(task);
    }
    let problem: Problem = match task.get("specimen").and_then(Value::as_str) {
        Some("bare") => specimen::bare(),
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
