//! Solves the invented lidded package and prints its figures and where the kelvins go.
//!
//! `cargo run --release -p facedown-heat --example heat_of_a_package`

fn main() -> Result<(), facedown_heat::Refusal> {
    let problems = [
        ("bare die", facedown_heat::specimen::bare()),
        ("lid", facedown_heat::specimen::lidded()),
        ("module", facedown_heat::specimen::module()),
    ];
    for (name, problem) in problems {
        let outcome = facedown_heat::solve(&problem)?;
        println!("{name}, {} W", outcome.power_w);
        for figure in &outcome.figures {
            let between = figure.between.map_or(String::new(), |[a, b]| format!("  ({a:.3} to {b:.3})"));
            println!("  {:<20} {:>10.4} {}{between}", figure.name, figure.value, figure.unit);
        }
        for (way, path) in [("up", &outcome.up), ("down", &outcome.down)] {
            for step in path {
                println!(
                    "  {way:<5} {:<32} {:>8.2} K {:>5.1} %",
                    step.name,
                    step.kelvins,
                    100.0 * step.share
                );
            }
        }
        for (figure, clause) in &outcome.limits {
            println!("  {figure}: {clause}");
        }
        for film in &outcome.films {
            println!(
                "  film {:<28} {:>6.1} + {:>5.1} W/m2K at {:.1} K, {:.2} W",
                film.face, film.convection, film.radiation, film.temperature_k, film.heat_w
            );
        }
    }
    Ok(())
}
