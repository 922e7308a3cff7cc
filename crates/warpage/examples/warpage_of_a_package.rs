//! One invented package bare, with a ring and with a lid: warpage at room temperature and at the peak of the reflow.
//!
//! Run with `cargo run -p facedown-warpage --example warpage_of_a_package`. The bare one is some 184 um convex at
//! room temperature, less than half of that with a ring.

use facedown_warpage::{Refusal, solve, specimen};

fn main() -> Result<(), Refusal> {
    for (name, problem) in
        [("bare", specimen::bare()), ("ring", specimen::ringed()), ("lid", specimen::lidded())]
    {
        let outcome = solve(&problem)?;
        println!("{name}");
        for figure in &outcome.figures {
            println!("  {:26}{:10.2} {}", figure.name, figure.value, figure.unit);
        }
        for point in outcome.curve.iter().step_by(3) {
            println!("  {:6.0} degC {:8.1} um", point.temperature_k - 273.15, point.warpage_m * 1e6);
        }
    }
    Ok(())
}
