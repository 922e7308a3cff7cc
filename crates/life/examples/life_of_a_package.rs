//! Solves the invented package and prints its figures, damage and models.
//!
//! `cargo run --release -p facedown-life --example life_of_a_package`

fn main() -> Result<(), facedown_life::Refusal> {
    let outcome = facedown_life::solve(&facedown_life::specimen::outdoors())?;
    for figure in &outcome.figures {
        let between = figure.between.map_or(String::new(), |[a, b]| format!("  ({a:.3e} to {b:.3e})"));
        println!("{:<24} {:>11.4e} {}{between}", figure.name, figure.value, figure.unit);
        if let Some(outside) = &figure.outside {
            println!("    {outside}");
        }
    }
    for (name, attachment) in [("bumps", &outcome.bumps), ("balls", &outcome.balls)] {
        let Some(a) = attachment else { continue };
        println!("{name}: worst at {}", a.worst_place);
        for d in &a.damage {
            println!(
                "  {:<20} strain {:.5} cycles {:>10.3e} damage {:.4}",
                d.cycle, d.strain_range, d.median_cycles, d.damage
            );
        }
        for l in &a.loops {
            println!(
                "  {:<60} work {:>8.4} MPa, strain {:.5}, {} cycles, settled: {}",
                l.law,
                l.work_density / 1e6,
                l.inelastic_strain,
                l.cycles,
                l.settled
            );
        }
        for m in &a.models {
            println!("  {:<60} {:>10.3e} cycles, {}", m.model, m.cycles, m.kind);
        }
    }
    for (figure, clause) in &outcome.limits {
        println!("{figure}: {clause}");
    }
    for note in &outcome.notes {
        println!("{note}");
    }
    Ok(())
}
