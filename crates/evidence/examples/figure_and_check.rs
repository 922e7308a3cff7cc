//! A figure with its evidence, and a published check of the formula behind it.
//!
//! Run with `cargo run -p facedown-evidence --example figure_and_check`.

use facedown_evidence::{Basis, Check, Figure, Status};

fn main() {
    // worst octilinear detour over the straight line: 1 / cos(22.5 degrees), plane geometry
    let detour = 1.0 / (std::f64::consts::PI / 8.0).cos();
    let row = Check::relative(
        "octilinear-detour",
        "redistribution",
        "plane geometry",
        Basis::Published,
        1.082_392_2,
        detour,
        1e-7,
    );
    println!(
        "{}: expected {}, computed {}, {}",
        row.id,
        row.expected,
        row.computed,
        if row.pass() { "pass" } else { "fail" }
    );

    let figure = Figure {
        name: "assignment_bound".into(),
        value: 45_766.113,
        unit: "um".into(),
        error: Some(0.0),
        hand: None,
        basis: "sum of the straight lines of the cheapest assignment".into(),
        status: Status::Solved,
        outside: None,
        between: None,
    };
    println!("{} = {} {}", figure.name, figure.value, figure.unit);
}
