//! Prints the table wire bond against flip chip for an invented die.

use facedown_electrical::{solve, specimen};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let outcome = solve(&specimen::small())?;
    println!("{:<34}{:>12}{:>12}{:>16}", "", "wire", "bump", "bump and trace");
    for row in &outcome.comparison {
        let name = format!("{} ({})", row.quantity, row.unit);
        println!("{name:<34}{:>12.3}{:>12.3}{:>16.3}", row.wire, row.bump, row.bump_and_trace);
    }
    for figure in &outcome.figures {
        let limit = outcome.limits.get(&figure.name).map(|l| format!(", {l}")).unwrap_or_default();
        println!("{}: {:.4} {}{limit}", figure.name, figure.value, figure.unit);
    }
    Ok(())
}
