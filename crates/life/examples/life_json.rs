//! Answers tasks in JSON, one a line, for comparison with general-purpose libraries.
//!
//! A task has one of the keys `problem` (a whole problem), `specimen`, `cycle` (one joint through temperature cycles),
//! `pull` (a bar at a lasting strain rate), `cell` (one joint in underfill under shear), `paths` (strains of one place through one cycle).

use facedown_life::anand::{self, Anand};
use facedown_life::cell::Cell;
use facedown_life::creep::{self, Creep, Form};
use facedown_life::joint::{Course, Effort, Elastic, Law, cycle, pull};
use facedown_life::problem::{Attachment, Cycle};
use facedown_life::strain::{Paths, range};
use facedown_life::{Problem, solve, specimen};
use serde_json::{Value, json};
use std::io::BufRead;

type Answer = Result<Value, Box<dyn std::error::Error>>;

/// Nine constants in the order s0, Q/R, A, xi, m, h0, s_hat, n, a, with the line of the modulus.
fn viscoplastic(constants: [f64; 9], [modulus, modulus_fall, poisson]: [f64; 3]) -> Anand {
    let [initial, activation, rate, multiplier, sensitivity, hardening, saturation, n, a] = constants;
    Anand {
        name: "task",
        initial,
        activation,
        rate,
        multiplier,
        sensitivity,
        hardening,
        saturation,
        saturation_exponent: n,
        hardening_exponent: a,
        modulus,
        modulus_fall,
        poisson,
    }
}

fn law(task: &Value) -> Result<Law, Box<dyn std::error::Error>> {
    match task["law"].as_str() {
        Some("darveaux") => return Ok(Law::Anand(anand::DARVEAUX)),
        Some("mysore") => return Ok(Law::Anand(anand::MYSORE)),
        Some("motalab") => return Ok(Law::Anand(anand::MOTALAB)),
        Some("schubert") => return Ok(Law::Creep(creep::SCHUBERT)),
        Some("wiese") => return Ok(Law::Creep(creep::WIESE)),
        _ => {}
    }
    let elastic: [f64; 3] = serde_json::from_value(task["elastic"].clone())?;
    if let Some(constants) = task.get("anand") {
        return Ok(Law::Anand(viscoplastic(serde_json::from_value(constants.clone())?, elastic)));
    }
    let [modulus, modulus_fall, poisson] = elastic;
    let [rate, multiplier, exponent, activation]: [f64; 4] = serde_json::from_value(task["sine"].clone())?;
    let form = Form::Sine { rate, multiplier, exponent, activation };
    Ok(Law::Creep(Creep { name: "task", form, modulus, modulus_fall, poisson }))
}

fn one_joint(task: &Value) -> Answer {
    let course = Course {
        path: serde_json::from_value(task["path"].clone())?,
        ramp: task["ramp"].as_f64().unwrap_or(f64::NAN),
        hot_dwell: task["hot_dwell"].as_f64().unwrap_or(0.0),
        cold_dwell: task["cold_dwell"].as_f64().unwrap_or(0.0),
    };
    let elastic = match task["compliance"].as_f64() {
        Some(compliance) => Elastic::Shear { compliance },
        None => Elastic::Axial,
    };
    let cycles = task["cycles"].as_u64().unwrap_or(3) as usize;
    let settled = cycle(&law(task)?, elastic, &course, &Effort { accuracy: 1e-8, settled: 0.0, cycles })?;
    Ok(json!({
        "ends": settled.ends,
        "inelastic": settled.inelastic,
        "work": settled.work,
        "resistance": settled.resistance,
    }))
}

fn answer(line: &str) -> Answer {
    let task: Value = serde_json::from_str(line)?;
    if let Some(task) = task.get("cycle") {
        return one_joint(task);
    }
    if let Some(task) = task.get("pull") {
        let Law::Anand(law) = law(task)? else { return Err("a pull needs Anand's law".into()) };
        let [modulus, rate, temperature, strain]: [f64; 4] = serde_json::from_value(task["bar"].clone())?;
        return Ok(json!(pull(&law, modulus, rate, temperature, strain)?));
    }
    if let Some(task) = task.get("cell") {
        let [share, pillar, solder, pillar_modulus, diameter, stiffness, normal_stiffness]: [f64; 7] =
            serde_json::from_value(task["cell"].clone())?;
        let cell = Cell { share, pillar, solder, pillar_modulus, diameter, stiffness, normal_stiffness };
        if task.get("opened").is_some() {
            let [filled, column, joint, young]: [f64; 4] = serde_json::from_value(task["opened"].clone())?;
            return Ok(json!(cell.axial(filled, column, joint, young)));
        }
        let [displacement, solder, underfill]: [f64; 3] = serde_json::from_value(task["sheared"].clone())?;
        return Ok(json!([cell.shear(displacement, solder, underfill), cell.layer(solder, underfill)]));
    }
    if let Some(task) = task.get("paths") {
        let attachment: Attachment = serde_json::from_value(task["attachment"].clone())?;
        let cycle: Cycle = serde_json::from_value(task["cycle"].clone())?;
        let path = Paths::new(&attachment, &cycle, task["solder"].as_f64().unwrap_or(f64::NAN))
            .at(task["distance"].as_f64().unwrap_or(f64::NAN));
        let points: Vec<[f64; 3]> = path.iter().map(|p| [p.temperature, p.shear, p.axial]).collect();
        return Ok(json!({ "points": points, "range": range(&path) }));
    }
    let problem: Problem = match task.get("specimen").and_then(Value::as_str) {
        Some("outdoors") => specimen::outdoors(),
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
