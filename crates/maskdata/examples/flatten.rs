//! Flattens a cell of a GDSII file and prints its polygons and texts as JSON, in nanometres.
//!
//! Run: `cargo run -p facedown-maskdata --example flatten -- FILE [CELL]`
//!
//! Expected: `{"polygons": [{"layer": 5, "datatype": 0, "points": [[0, 0], ...]}, ...], "texts": [...]}`; without a
//! cell, the only top cell is taken.

use facedown_layout::Point;
use facedown_maskdata::gdsii::{Limits, read};
use serde_json::json;
use std::error::Error;

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let file = arguments.next().ok_or("name a GDSII file")?;
    let library = read(&std::fs::read(&file)?)?;
    let top = library.top_cells();
    let cell = match (arguments.next(), top.as_slice()) {
        (Some(cell), _) => cell,
        (None, [only]) => (*only).to_owned(),
        (None, cells) => return Err(format!("name one of the top cells: {}", cells.join(", ")).into()),
    };
    let flat = library.flatten(&cell, &Limits::default())?;
    let place = |p: &Point| json!([p.x.0, p.y.0]);
    let polygons: Vec<_> = flat
        .polygons
        .iter()
        .map(|p| {
            json!({"layer": p.layer, "datatype": p.datatype, "points": p.points.iter().map(place).collect::<Vec<_>>()})
        })
        .collect();
    let texts: Vec<_> = flat
        .texts
        .iter()
        .map(|t| json!({"layer": t.layer, "texttype": t.texttype, "at": place(&t.at), "string": t.string}))
        .collect();
    println!("{}", json!({"polygons": polygons, "texts": texts}));
    Ok(())
}
