//! Answers tasks of statistics, currents and moisture in JSON, one a line, for comparison with general-purpose libraries.
//!
//! A task has one key: `rainflow`, `fit`, `bound`, `orders`, `units`, `proved`, `lot`, `failures`, `array`, `currents`,
//! `sheet`, `rows` (the published checks of the study).

use facedown_life::rainflow::{Counted, count, count_repeating, reversals};
use facedown_life::weibull::{Weibull, array_quantile};
use facedown_life::weibull_fit::Sample;
use facedown_life::{demonstration, electromigration, moisture, rank};
use serde_json::{Value, json};
use std::io::BufRead;

type Answer = Result<Value, Box<dyn std::error::Error>>;

fn rainflow(task: &Value) -> Answer {
    let points: Vec<(f64, f64)> = serde_json::from_value(task["points"].clone())?;
    let gate = task["gate"].as_f64().unwrap_or(0.0);
    let counted = if task["repeating"].as_bool() == Some(true) {
        count_repeating(&points, gate)
    } else {
        count(&reversals(&points, gate))
    };
    let row = |c: &Counted| json!([c.range(), c.mean(), c.count, c.first.index, c.second.index]);
    Ok(counted.iter().map(row).collect())
}

fn sample(task: &Value) -> Result<Sample, Box<dyn std::error::Error>> {
    let failures: Vec<f64> = serde_json::from_value(task["failures"].clone())?;
    let running: Vec<f64> = serde_json::from_value(task["running"].clone())?;
    Ok(Sample::new(&failures, &running)?)
}

fn fit(task: &Value) -> Answer {
    let sample = sample(task)?;
    let confidence = task["confidence"].as_f64().unwrap_or(0.9);
    let share = task["share"].as_f64().unwrap_or(0.1);
    let fit = sample.fit()?;
    Ok(json!({
        "shape": fit.weibull.shape,
        "scale": fit.weibull.scale,
        "log_likelihood": fit.log_likelihood,
        "shape_bounds": sample.shape_bounds(&fit, confidence)?,
        "scale_bounds": sample.scale_bounds(&fit, confidence)?,
        "life_bounds": sample.quantile_bounds(&fit, share, confidence)?,
        "mean": fit.weibull.mean(),
        "deviation": fit.weibull.deviation(),
    }))
}

fn bound(task: &Value) -> Answer {
    let [shape, confidence] = serde_json::from_value(task["with"].clone())?;
    Ok(json!(sample(task)?.least_scale(shape, confidence)?.scale))
}

fn orders(task: &Value) -> Answer {
    let failures: Vec<f64> = serde_json::from_value(task["failures"].clone())?;
    let running: Vec<f64> = serde_json::from_value(task["running"].clone())?;
    let orders: Vec<f64> = rank::orders(&failures, &running).iter().map(|p| p.1).collect();
    let ranks: Vec<f64> = rank::adjusted(&failures, &running).iter().map(|p| p.1).collect();
    Ok(json!([orders, ranks]))
}

fn units(task: &Value) -> Answer {
    let (reliability, confidence, accepted) = serde_json::from_value(task.clone())?;
    Ok(json!(demonstration::units(reliability, confidence, accepted)))
}

fn proved(task: &Value) -> Answer {
    let (units, failed, confidence) = serde_json::from_value(task.clone())?;
    Ok(json!(demonstration::proved_reliability(units, failed, confidence)))
}

fn lot(task: &Value) -> Answer {
    let (share, confidence, accepted) = serde_json::from_value(task.clone())?;
    Ok(json!(demonstration::lot_sample(share, confidence, accepted)))
}

fn failures(task: &Value) -> Answer {
    let (failed, confidence) = serde_json::from_value(task.clone())?;
    Ok(json!(demonstration::most_failures(failed, confidence)))
}

fn array(task: &Value) -> Answer {
    let parts: Vec<[f64; 3]> = serde_json::from_value(task["parts"].clone())?;
    let failed = task["failed"].as_f64().unwrap_or(f64::NAN);
    let parts: Vec<(Weibull, f64)> =
        parts.iter().map(|&[shape, scale, count]| (Weibull { shape, scale }, count)).collect();
    Ok(json!(array_quantile(&parts, failed)?))
}

fn currents(task: &Value) -> Answer {
    let medians: Vec<(f64, f64)> = serde_json::from_value(task["medians"].clone())?;
    let deviation = task["deviation"].as_f64().unwrap_or(f64::NAN);
    let failed = task["failed"].as_f64().unwrap_or(f64::NAN);
    Ok(json!(electromigration::array_life(&medians, deviation, failed)?))
}

fn sheet(task: &Value) -> Answer {
    let times: Vec<f64> = serde_json::from_value(task.clone())?;
    Ok(times.iter().map(|&t| json!([moisture::uptake(t), moisture::middle(t)])).collect())
}

fn answer(task: &Value) -> Answer {
    let Some((key, task)) = task.as_object().and_then(|o| o.iter().next()) else {
        return Err("a task is an object with one key".into());
    };
    match key.as_str() {
        "rainflow" => rainflow(task),
        "fit" => fit(task),
        "bound" => bound(task),
        "orders" => orders(task),
        "units" => units(task),
        "proved" => proved(task),
        "lot" => lot(task),
        "failures" => failures(task),
        "array" => array(task),
        "currents" => currents(task),
        "sheet" => sheet(task),
        "rows" => Ok(serde_json::to_value(facedown_life::published::checks())?),
        other => Err(format!("no such task: {other}").into()),
    }
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    for line in std::io::stdin().lock().lines() {
        println!("{}", answer(&serde_json::from_str(&line?)?)?);
    }
    Ok(())
}
