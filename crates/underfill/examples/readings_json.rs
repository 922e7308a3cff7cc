//! Answers tasks about drops, readings and pictures on standard input, one JSON object a line, with one line each; the
//! oracle tests compare them with general-purpose libraries.

use facedown_raster::Grey;
use facedown_underfill::drop::{self, Gravity, profile, read, size};
use facedown_underfill::micrograph::{self, Asked};
use facedown_underfill::readings::Placed;
use facedown_underfill::readings::map::{AngleMap, Covariance};
use serde_json::{Value, json};
use std::io::BufRead;

fn number(task: &Value, key: &str) -> f64 {
    task[key].as_f64().unwrap_or(f64::NAN)
}

fn picture(task: &Value) -> Option<Grey> {
    if let Some(path) = task["path"].as_str() {
        return facedown_raster::read(&std::fs::read(path).ok()?).ok();
    }
    let values: Vec<f32> = serde_json::from_value(task["values"].clone()).ok()?;
    Grey::new(task["width"].as_u64()? as usize, values)
}

fn answer(task: &Value) -> Option<Value> {
    Some(match task["task"].as_str()? {
        "profile" => {
            let p = profile::at_slope(number(task, "beta"), number(task, "slope")).ok()?;
            json!([p.x, p.z, p.volume])
        }
        "sized" => {
            let pair = |key| (number(task, key), 0.0);
            let found = size::angle_of(pair("volume"), pair("diameter"), number(task, "length")).ok()?;
            json!([found.angle_rad, found.cap_rad])
        }
        "drop" => {
            let gravity = match task["length"].as_f64() {
                Some(length_m) => Gravity::Known { length_m, spread_m: 0.0 },
                None => Gravity::Fitted,
            };
            let asked = drop::Asked { pixel_m: task["pixel"].as_f64(), gravity, base_line: None };
            match read(&picture(task)?, &asked) {
                Ok(r) => {
                    json!({"angle": r.angle_rad, "spread": r.uncertainty.total_rad(), "left": r.left.angle_rad,
                    "right": r.right.angle_rad, "base": r.base_px, "height": r.height_px, "volume": r.volume_px3})
                }
                Err(e) => json!({"refused": e.to_string()}),
            }
        }
        "map" => {
            let rows: Vec<[f64; 4]> = serde_json::from_value(task["readings"].clone()).ok()?;
            let readings: Vec<Placed> = rows
                .iter()
                .map(|[x, y, angle_rad, spread_rad]| Placed {
                    place_m: [*x, *y],
                    angle_rad: *angle_rad,
                    spread_rad: *spread_rad,
                })
                .collect();
            let map = match task["variance"].as_f64() {
                Some(variance) => {
                    AngleMap::with(&readings, Covariance { variance, length_m: number(task, "length") })
                        .ok()?
                }
                None => AngleMap::fitted(&readings).ok()?,
            };
            let places: Vec<[f64; 2]> = serde_json::from_value(task["places"].clone()).ok()?;
            let at: Vec<[f64; 2]> =
                places.iter().map(|p| map.at(*p)).map(|e| [e.angle_rad, e.spread_rad]).collect();
            let (mean, covariance) = (map.mean(), map.covariance());
            json!({"at": at, "mean": mean.angle_rad, "mean_spread": mean.spread_rad, "likelihood": map.log_likelihood(),
                "variance": covariance.variance, "length": covariance.length_m})
        }
        "micrograph" => {
            let bumps: Vec<[f64; 2]> = serde_json::from_value(task["bumps"].clone()).ok()?;
            let asked = Asked {
                die_m: serde_json::from_value(task["die"].clone()).ok()?,
                bumps: &bumps,
                bump_diameter_m: number(task, "diameter"),
                corners: None,
                edge_m: 0.0,
                voids: micrograph::Shade::Brighter,
                least_diameter_m: 0.0,
            };
            match micrograph::read(&picture(task)?, &asked) {
                Ok(r) => json!({"share": r.share, "uncertainty": r.uncertainty, "corners": r.frame.corners(),
                    "voids": r.voids.iter().map(|v| json!([v.centre_m, v.diameter_m, v.bumps])).collect::<Vec<_>>()}),
                Err(e) => json!({"refused": e.to_string()}),
            }
        }
        _ => return None,
    })
}

fn main() {
    for line in std::io::stdin().lock().lines().map_while(Result::ok) {
        let task: Value = serde_json::from_str(&line).unwrap_or(Value::Null);
        println!("{}", answer(&task).unwrap_or(Value::Null));
    }
}
