//! Answers tasks in JSON, one a line, for comparison with other programs.
//!
//! `{"shape": {"lower": m, "upper": m, "volume": m3, "height": m}}` gives the shape at a height,
//! `{"problem": {...}}` the whole outcome of a [`facedown_joints::Problem`], `{"checks": true}` the published checks.

use facedown_joints::joint::{Joint, Reach};
use facedown_joints::{Problem, published, solve};
use serde_json::{Value, json};
use std::io::{BufRead, stdin};

fn shape(task: &Value) -> Option<Value> {
    let number = |name: &str| task[name].as_f64();
    let joint = Joint { lower: number("lower")?, upper: number("upper")?, volume: number("volume")? };
    let free = joint.unloaded();
    Some(match joint.at_height(number("height")?) {
        Reach::Shape(s) => {
            let (widest, narrowest) = s.outline.extremes();
            json!({
                "state": "holds", "pressure": s.outline.pressure, "inclination": s.outline.inclination,
                "length": s.outline.length, "force": s.force(), "vertical": s.vertical_stiffness(),
                "lateral": joint.lateral_stiffness(&s), "widest": widest, "narrowest": narrowest,
                "angle_upper": s.angle_upper, "free_height": free.height, "outline": s.outline.trace(9),
            })
        }
        Reach::Overruns(s) => json!({"state": "overruns", "height": s.height}),
        Reach::Parts(s) => json!({"state": "parts", "height": s.height}),
    })
}

fn answer(line: &str) -> Result<Value, String> {
    let task: Value = serde_json::from_str(line).map_err(|e| e.to_string())?;
    if let Some(task) = task.get("shape") {
        return shape(task).ok_or_else(|| "a number is missing".into());
    }
    if let Some(problem) = task.get("problem") {
        let problem: Problem = serde_json::from_value(problem.clone()).map_err(|e| e.to_string())?;
        let outcome = solve(&problem).map_err(|e| e.to_string())?;
        return serde_json::to_value(outcome).map_err(|e| e.to_string());
    }
    if task.get("checks").is_some() {
        return serde_json::to_value(published::checks()).map_err(|e| e.to_string());
    }
    Err("no task of a known name".into())
}

fn main() {
    for line in stdin().lock().lines().map_while(Result::ok).filter(|line| !line.trim().is_empty()) {
        println!("{}", answer(&line).unwrap_or_else(|error| json!({"error": error})));
    }
}
