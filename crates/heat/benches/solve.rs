//! Time of one solve of each invented package, in milliseconds, and of one whose film on top is changed where it stands
//! solved on the usual grid: `cargo bench -p facedown-heat`.

use facedown_heat::network::{Setting, Upward};
use facedown_heat::solid::Standing;
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
        film(name, &problem);
    }
}

fn film(name: &str, problem: &facedown_heat::Problem) {
    let laid_out = facedown_heat::service(problem);
    let start = Instant::now();
    let Ok((mut standing, _)) = Standing::new(problem, &laid_out, 1.0) else {
        return println!("{name}: not solved in space");
    };
    println!("{name}, service in space: {:.2} s", start.elapsed().as_secs_f64());
    for film in [1000.0, 1100.0, 1500.0] {
        let start = Instant::now();
        let setting = Setting { up: Upward::Film(film), ..laid_out.clone() };
        if let Err(refusal) = standing.with(&setting) {
            println!("{name}: {refusal}");
        }
        println!("{name}, film on top {film} W/(m2 K): {:.3} s", start.elapsed().as_secs_f64());
    }
}
