//! Answers tasks on standard input, one JSON object a line, with one line each; the oracle tests compare them with
//! general-purpose libraries.

use facedown_raster::{Grey, background, contour, label, read, smooth, threshold};
use serde_json::{Value, json};
use std::io::BufRead;

fn picture(task: &Value) -> Option<Grey> {
    let values: Vec<f32> = serde_json::from_value(task["values"].clone()).ok()?;
    Grey::new(task["width"].as_u64()? as usize, values)
}

fn answer(task: &Value) -> Option<Value> {
    let number = |key: &str| task[key].as_f64();
    Some(match task["task"].as_str()? {
        "gaussian" => json!(smooth::gaussian(&picture(task)?, number("sigma")?).values()),
        "otsu" => json!(threshold::otsu(picture(task)?.values())),
        "label" => {
            let neighbours =
                if task["eight"] == true { label::Neighbours::Eight } else { label::Neighbours::Four };
            let found = label::components(&picture(task)?.above(0.5), neighbours);
            let regions: Vec<Value> = found
                .regions
                .iter()
                .map(|r| json!({"area": r.area, "bounds": r.bounds, "centroid": r.centroid, "perimeter": r.perimeter,
                    "diameter": r.equivalent_diameter()}))
                .collect();
            json!({"labels": found.labels, "regions": regions})
        }
        "fill" => json!(picture(task)?.above(0.5).filled().pixels()),
        "contours" => {
            let lines = contour::lines(&picture(task)?, number("level")?);
            json!(lines.iter().map(|l| json!({"points": l.points, "closed": l.closed})).collect::<Vec<_>>())
        }
        "surface" => {
            let picture = picture(task)?;
            let surface = background::surface(&picture, number("degree")? as usize, |_, _| true).ok()?;
            let all = Grey::from_fn(picture.width(), picture.height(), |x, y| {
                surface.at(x as f64, y as f64) as f32
            });
            json!(all.values())
        }
        "read" => {
            let picture = read(&std::fs::read(task["path"].as_str()?).ok()?).ok()?;
            json!({"width": picture.width(), "values": picture.values()})
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
