//! Prints the JSON Schema of `results.json`, as committed in `docs/results.schema.json`.
//!
//! ```text
//! cargo run -p facedown-pipeline --example results_schema > docs/results.schema.json
//! ```

fn main() -> Result<(), serde_json::Error> {
    print!("{}", facedown_pipeline::results::schema()?);
    Ok(())
}
