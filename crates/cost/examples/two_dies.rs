//! A package of two dies, tested and untested: what known-good dies are worth.

use facedown_cost::{Die, Problem, Refusal, Step, solve, yields::Model};

fn main() -> Result<(), Refusal> {
    for coverage in [0.0, 0.95] {
        let die = |name: &str, side: f64| Die {
            name: name.into(),
            width: side,
            height: side,
            street: 80e-6,
            wafer_diameter: 0.3,
            edge_exclusion: 3e-3,
            wafer_price: 4000.0,
            defect_density: 1000.0,
            model: Model::Clustered(3.0),
            test_coverage: coverage,
            test_price: if coverage > 0.0 { 0.2 } else { 0.0 },
        };
        let steps = vec![
            Step { name: "attach and underfill".into(), price: 1.2, good: 0.99, inspected: false },
            Step { name: "final test".into(), price: 0.6, good: 0.995, inspected: true },
        ];
        let outcome =
            solve(&Problem { dies: vec![die("large", 15e-3), die("small", 7e-3)], steps, invented: true })?;
        println!("wafer test finds {:.0} %", 100.0 * coverage);
        for figure in &outcome.figures {
            println!("{:>20} {:>10.3} {}", figure.name, figure.value, figure.unit);
        }
    }
    Ok(())
}
