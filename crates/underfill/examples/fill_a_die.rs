//! Fills the gap under an invented die and prints figures and process sheet. `cargo run -p facedown-underfill --example
//! fill_a_die`; the fill time should be near 9 s.

use facedown_underfill::{Refusal, solve, specimen};

fn main() -> Result<(), Refusal> {
    let outcome = solve(&specimen::with_readings())?;
    for figure in &outcome.figures {
        let range = figure.between.map_or(String::new(), |[low, high]| format!("  ({low:.4} to {high:.4})"));
        println!("{:>24} {:>12.4} {}{range}", figure.name, figure.value, figure.unit);
        if let Some(limit) = outcome.limits.get(&figure.name) {
            println!("{:>24} {limit}", "");
        }
    }
    for note in &outcome.notes {
        println!("note: {note}");
    }
    for line in &outcome.sheet {
        println!(
            "{:>16}: {} | {} | {} | {}",
            line.step, line.setting, line.limit, line.inspection, line.caution
        );
    }
    Ok(())
}
