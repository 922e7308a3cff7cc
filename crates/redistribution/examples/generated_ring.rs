//! Redistributes an invented ring of 120 pads and prints its figures. `cargo run -p facedown-redistribution --example
//! generated_ring`; the ratio of wirelength to geodesic bound should be below 1.05.

use facedown_redistribution::{SolveError, solve, specimen::ring};

fn main() -> Result<(), SolveError> {
    let problem = ring(120, 0.8, 10.0, 1, None);
    let outcome = solve(&problem, &mut |_| true)?;
    for figure in &outcome.figures {
        println!("{:>22} {:>12.4} {}", figure.name, figure.value, figure.unit);
    }
    Ok(())
}
