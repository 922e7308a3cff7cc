//! Answers tasks on standard input, one JSON object a line, with one line each; the oracle tests compare them with scipy.

use facedown_underfill::cure::{Chemoviscosity, Course, History, Kinetics, Melt};
use facedown_underfill::flow::patterns::{Scaled, fluidity, progress};
use facedown_underfill::flow::permeability::drag;
use facedown_underfill::flow::pressure::Bump;
use facedown_underfill::flow::race::Race;
use facedown_underfill::flow::regions::Regions;
use facedown_underfill::flow::{Medium, permeability::Cell};
use facedown_underfill::problem::BumpShape;
use facedown_underfill::surface::owens_wendt::{Read, fit};
use facedown_underfill::surface::{Parts, acid_base, probe_liquid};
use facedown_underfill::{Lattice, Pattern, Problem, solve, treatment};
use serde_json::{Value, json};
use std::io::BufRead;

fn number(task: &Value, key: &str) -> f64 {
    task[key].as_f64().unwrap_or(f64::NAN)
}

fn rows<const N: usize>(task: &Value, key: &str) -> Vec<[f64; N]> {
    serde_json::from_value::<Vec<Vec<f64>>>(task[key].clone())
        .unwrap_or_default()
        .into_iter()
        .filter_map(|row| row.try_into().ok())
        .collect()
}

fn medium([permeability_m2, free, pressure_pa]: [f64; 3]) -> Medium {
    Medium { permeability_m2, free, pressure_pa }
}

fn answer(task: &Value) -> Option<Value> {
    let lattice = if task["hexagonal"] == true { Lattice::Hexagonal } else { Lattice::Square };
    Some(match task["task"].as_str()? {
        "owens_wendt" => {
            let reads: Vec<Read> = rows::<4>(task, "reads")
                .into_iter()
                .map(|[dispersive, polar, angle_rad, spread_rad]| Read {
                    liquid: Parts { dispersive, polar },
                    angle_rad,
                    spread_rad,
                })
                .collect();
            let fit = fit(&reads).ok()?;
            json!({"dispersive": fit.parts.dispersive, "polar": fit.parts.polar, "spread": fit.spread,
                "condition": fit.condition, "clamped": fit.clamped})
        }
        "acid_base" => {
            let liquids = ["water", "formamide", "diiodomethane", "glycerol"].map(probe_liquid);
            let angles: Vec<f64> = serde_json::from_value(task["angles"].clone()).ok()?;
            let reads: Vec<_> = liquids.iter().flatten().zip(angles).collect();
            let found = acid_base::solve(&reads).ok()?;
            json!([found.apolar, found.acceptor, found.donor, found.negative_root])
        }
        "treatment" => {
            let readings: Vec<(f64, f64)> =
                rows::<2>(task, "readings").into_iter().map(|[d, a]| (d, a)).collect();
            let law = treatment::fit(&readings, 0.0).ok()?;
            json!([law.start_rad, law.end_rad, law.rate])
        }
        "cure" => {
            let k: Kinetics = serde_json::from_value(task["kinetics"].clone()).ok()?;
            let growth: Chemoviscosity = serde_json::from_value(task["growth"].clone()).ok()?;
            let points: Vec<(f64, f64)> =
                rows::<2>(task, "viscosity").into_iter().map(|[t, m]| (t, m)).collect();
            let melt = Melt { points: &points, energy_j_mol: number(task, "energy") };
            let steps = rows::<3>(task, "steps").into_iter().map(|[ramp, to, hold]| (ramp, to, hold));
            let course =
                Course::follow(k, growth, melt, &History::steps(number(task, "start"), steps)).ok()?;
            let times: Vec<f64> = serde_json::from_value(task["times"].clone()).ok()?;
            json!({
                "degree": times.iter().map(|t| course.degree(*t)).collect::<Vec<_>>(),
                "fluidity": times.iter().map(|t| course.fluidity_time(*t)).collect::<Vec<_>>(),
                "gel": course.gel_time(),
            })
        }
        "regions" => {
            let regions = Regions(
                rows::<4>(task, "regions").into_iter().map(|[k, f, p, l]| (medium([k, f, p]), l)).collect(),
            );
            let places: Vec<f64> = serde_json::from_value(task["places"].clone()).ok()?;
            json!(places.iter().map(|x| regions.fluidity_to(*x)).collect::<Vec<_>>())
        }
        "pattern" => {
            let sides = Scaled { across: number(task, "across"), along: number(task, "along") };
            let pattern: Pattern = serde_json::from_value(task["pattern"].clone()).ok()?;
            json!({"fluidity": fluidity(pattern, sides), "progress": progress(pattern, sides, 13)})
        }
        "drag" => json!(drag(lattice, number(task, "solid"))),
        "permeability" => {
            let cell = Cell {
                lattice,
                pitch_m: number(task, "pitch"),
                diameter_m: number(task, "diameter"),
                gap_m: number(task, "gap"),
            };
            json!(Bump { cell, shape: BumpShape::Cylinder }.permeability_m2())
        }
        "lead" => {
            let [rim, field] = rows::<3>(task, "media").try_into().ok()?;
            let race = Race { rim_width_m: number(task, "width"), rim: medium(rim), field: medium(field) };
            let lead = race.lead(number(task, "distance"));
            json!([lead.estimate_m, lead.bound_m])
        }
        "solve" => {
            let problem: Problem = serde_json::from_value(task["problem"].clone()).ok()?;
            serde_json::to_value(solve(&problem).ok()?).ok()?
        }
        "specimen" => serde_json::to_value(facedown_underfill::specimen::wetting()).ok()?,
        _ => return None,
    })
}

fn main() {
    for line in std::io::stdin().lock().lines().map_while(Result::ok) {
        let task: Value = serde_json::from_str(&line).unwrap_or(Value::Null);
        println!("{}", answer(&task).unwrap_or(Value::Null));
    }
}
