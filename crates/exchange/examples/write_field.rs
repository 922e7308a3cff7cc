//! Writes an invented field on an uneven grid as a VTK file, and the same numbers as JSON.
//!
//! Run: `cargo run -p facedown-exchange --example write_field -- DIR`
//!
//! Expected: `DIR/field.vtk` (5 x 4 x 3 cells; on cells a scalar, a vector, a scalar in single precision and
//! one of bytes, a scalar on points) and
//! `DIR/field.json`. A test under `tests/oracle` reads the first one with a general-purpose library.

use facedown_exchange::vtk::{Field, On, RectilinearGrid, Values, vtk};
use serde_json::json;
use std::error::Error;
use std::path::Path;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args().nth(1).ok_or("name the folder to write to")?;
    let x = [0.0, 1e-3, 1.3e-3, 1.5e-3, 2.1e-3, 5e-3];
    let y = [-2e-3, -0.7e-3, 0.1e-3, 0.3e-3, 4e-3];
    let z = [0.0, 5e-6, 80e-6, 0.7e-3];
    let temperature: Vec<f64> = (0..60).map(|i| 300.0 + (f64::from(i) * 0.7).sin() / 3.0).collect();
    let flux: Vec<f64> = (0..180).map(|i| f64::from(i * i) / 7.0 - 1e3).collect();
    let rise: Vec<f32> = temperature.iter().map(|t| (t - 300.0) as f32).collect();
    let part: Vec<u8> = (0..60).map(|i| i % 14).collect();
    let potential: Vec<f64> = (0..120).map(|i| 1e-9 * f64::from(i).exp().sqrt()).collect();
    let grid = RectilinearGrid {
        title: "invented field on an uneven grid",
        lines: [&x, &y, &z],
        fields: vec![
            Field {
                name: "temperature_K",
                on: On::Cells,
                components: 1,
                values: Values::Double(&temperature),
            },
            Field { name: "flux_W_m2", on: On::Cells, components: 3, values: Values::Double(&flux) },
            Field { name: "rise_K", on: On::Cells, components: 1, values: Values::Float(&rise) },
            Field { name: "part", on: On::Cells, components: 1, values: Values::Byte(&part) },
            Field { name: "potential_V", on: On::Points, components: 1, values: Values::Double(&potential) },
        ],
    };
    let truth = json!({"x": x, "y": y, "z": z, "temperature_K": temperature, "flux_W_m2": flux, "rise_K": rise,
        "part": part, "potential_V": potential});
    std::fs::create_dir_all(&folder)?;
    std::fs::write(Path::new(&folder).join("field.vtk"), vtk(&grid)?)?;
    std::fs::write(Path::new(&folder).join("field.json"), truth.to_string())?;
    println!("wrote {folder}/field.vtk");
    Ok(())
}
