//! Readings of the solid model at several finenesses, for packages of `specimen` or a problem as JSON: the study that
//! `docs/conduction.md` tells of.
//!
//! `cargo run --release -p facedown-heat --example finenesses -- bare lidded module 0.5 0.71 1 1.41 2`

use facedown_heat::film::Natural;
use facedown_heat::mixing::Pattern;
use facedown_heat::network::{Downward, Setting, Upward};
use facedown_heat::problem::{Problem, Surroundings};
use facedown_heat::solid;
use facedown_heat::{specimen, standards};
use std::time::Instant;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let finenesses: Vec<f64> = arguments.iter().filter_map(|a| a.parse().ok()).collect();
    for name in arguments.iter().filter(|a| a.parse::<f64>().is_err()) {
        let problem: Problem = match name.as_str() {
            "bare" => specimen::bare(),
            "lidded" => specimen::lidded(),
            "module" => specimen::module(),
            file => serde_json::from_str(&std::fs::read_to_string(file)?)?,
        };
        for (case, setting) in settings(&problem) {
            println!("{name}, {case}");
            println!(
                "fineness    cells  steps     s   hottest      mean      case  mean back    sensor   board W"
            );
            for &fineness in &finenesses {
                let began = Instant::now();
                let read = solid::solve(&problem, &setting, fineness)?;
                let die = &read.dies[read.hottest];
                println!(
                    "{fineness:8.2} {:8} {:6} {:5.2} {:9.4} {:9.4} {:9.4}  {:9.4} {:9.4} {:9.4}",
                    read.cells,
                    read.rounds[1],
                    began.elapsed().as_secs_f64(),
                    die.hottest,
                    die.mean,
                    die.case,
                    die.back,
                    read.board_sensor,
                    read.to_board,
                );
            }
        }
    }
    Ok(())
}

/// Still air, ring of JESD51-8, cold plate on top, and service where the top has a film.
fn settings(problem: &Problem) -> Vec<(&'static str, Setting)> {
    let body = problem.substrate.width_m.max(problem.substrate.height_m);
    let board =
        problem.board.clone().unwrap_or_else(|| standards::board(standards::TestBoard::TwoPlanes, body));
    let of = |down, up| Setting {
        ambient_k: problem.service.ambient_k,
        down,
        up,
        board: board.clone(),
        natural: Natural::ThinLayer,
        pattern: Pattern::Along,
        powers_w: problem.dies.iter().map(|d| d.power_w).collect(),
    };
    let mut list = vec![
        ("still air", of(Downward::Air(0.0), Upward::Air(0.0))),
        ("ring", of(Downward::Ring, Upward::Insulated)),
        ("cold plate", of(Downward::Insulated, Upward::Film(problem.cold_plate_film))),
    ];
    if let Some(film) = problem.service.top_film {
        let speed = match problem.service.surroundings {
            Surroundings::MovingAir { speed_m_s } => speed_m_s,
            _ => 0.0,
        };
        list.push(("service", of(Downward::Air(speed), Upward::Film(film))));
    }
    list
}
