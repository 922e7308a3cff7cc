//! A face with a streak of flux residue (invented): its angles before and after a plasma step and a wait, and the sheet.
//! `cargo run -p facedown-underfill --example clean_a_face`; the streak should fall from about 100 deg to about 32 deg.

use facedown_underfill::contamination::{self, NoCleaning, specimen};

fn main() -> Result<(), NoCleaning> {
    let task = specimen::streak();
    let outcome = contamination::clean(&task)?;
    let words = |a: facedown_underfill::Angle| {
        format!("{:.1} +- {:.1} deg", a.angle_rad.to_degrees(), a.spread_rad.to_degrees())
    };
    println!("streak before: {}", words(outcome.worst_before));
    println!("streak after {:.1} kJ and the wait: {}", outcome.dose_j * 1e-3, words(outcome.worst));
    println!("bare face: {}", words(outcome.bare));
    let sheet = contamination::sheet(&task)?;
    for line in &sheet.lines {
        println!(
            "{:>20}: {} | {} | {} | {}",
            line.step, line.setting, line.limit, line.inspection, line.caution
        );
    }
    Ok(())
}
