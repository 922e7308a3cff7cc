//! Writes the JSON Schema of design files again, from the types.
//!
//! ```text
//! cargo run -p facedown-package --example write_schema
//! ```

fn main() -> std::io::Result<()> {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("schema/design.schema.json");
    std::fs::write(path, facedown_package::schema::schema_text())
}
