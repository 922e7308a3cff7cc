//! Time of one solve of each invented package, in milliseconds: `cargo bench -p facedown-heat`.

use std::time::Instant;

fn main() {
    let problems = [
        ("bare", facedown_heat::specimen::bare()),
        ("lidded", facedown_heat::specimen::lidded()),
        ("module", facedown_heat::specimen::module()),
    ];
    for (name, problem) in problems {
        let runs = 20_u32;
        let start = Instant::now();
        for _ in 0..runs {
            if let Err(refusal) = facedown_heat::solve(&problem) {
                println!("{name}: {refusal}");
            }
        }
        println!("{name}: {:.1} ms", 1e3 * start.elapsed().as_secs_f64() / f64::from(runs));
    }
}
