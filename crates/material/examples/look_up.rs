//! Looks up materials and properties, and shows what happens outside their range.
//!
//! Run with `cargo run -p facedown-material --example look_up`.

use facedown_material::{Library, PropertyName, property_rows};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let library = Library::built_in();
    let silicon = library.get("silicon")?;
    for kelvin in [300.0, 358.15, 2000.0] {
        match silicon.value(PropertyName::Conductivity, kelvin) {
            Ok(value) => println!("silicon at {kelvin} K: {value:.1} W/mK"),
            Err(outside) => println!("{outside}"),
        }
    }
    for row in property_rows(library.get("polyimide")?) {
        println!(
            "{:<18} {:<12} {:<22} {:<15} {}",
            row.property, row.value, row.spread, row.status, row.source
        );
    }
    if let Err(unknown) = library.get("polymide") {
        println!("{unknown}");
    }
    Ok(())
}
