//! Generated rings of 250 to 5,000 pads at 60 to 95 % of cut capacity, on one and two layers, free and fixed, judged by the
//! independent rule checker; and the real ring where its tables are found. `cargo bench -p facedown-redistribution --bench rings`.
#![allow(clippy::unwrap_used, reason = "bench code")]

#[path = "../tests/support/mod.rs"]
mod support;

use facedown_redistribution::{Problem, solve, specimen::ring};
use std::time::Instant;
use support::{figure, judge, ring_b, ring_b_folder, rows};

fn main() {
    println!("| case | nets | layers | routed | violations | ratio | worst cut | solve s | check s |");
    println!("|---|---|---|---|---|---|---|---|---|");
    match ring_b_folder() {
        Ok(folder) => {
            let pads = rows(&folder.join("ring-b-pads.csv"));
            let bumps = rows(&folder.join("ring-b-bumps.csv"));
            for space in [10.0, 26.0] {
                row(&format!("real ring, space {space} um"), &ring_b(&pads, &bumps, space));
            }
        }
        Err(reason) => println!("| real ring | skipped: {reason} |"),
    }
    let most: usize = std::env::var("FACEDOWN_BENCH_PADS").ok().and_then(|n| n.parse().ok()).unwrap_or(5000);
    for pads in [250, 1000, 2000, 5000].into_iter().filter(|&n| n <= most) {
        for use_ in [0.6, 0.8, 0.95] {
            row(&format!("{pads} pads, {:.0} %, free", 100.0 * use_), &ring(pads, use_, 5.0, 1, None));
        }
        row(&format!("{pads} pads, 95 %, fixed in order"), &ring(pads, 0.95, 5.0, 1, Some(0)));
        row(&format!("{pads} pads, 80 %, every 10th pair exchanged"), &ring(pads, 0.8, 5.0, 1, Some(10)));
        row(
            &format!("{pads} pads, 95 %, every 3rd pair exchanged, two layers"),
            &ring(pads, 0.95, 5.0, 2, Some(3)),
        );
    }
}

fn row(name: &str, problem: &Problem) {
    let start = Instant::now();
    let outcome = solve(problem, &mut |_| true).unwrap();
    let solved = start.elapsed().as_secs_f64();
    let start = Instant::now();
    let report = judge(problem, &outcome);
    let checked = start.elapsed().as_secs_f64();
    let (nets, routed) = (figure(&outcome, "nets"), figure(&outcome, "routed_nets"));
    let get = |name: &str| outcome.figures.iter().find(|f| f.name == name).map_or(f64::NAN, |f| f.value);
    println!(
        "| {name} | {nets} | {} | {:.1} % | {} | {:.4} | {:.3} | {solved:.3} | {checked:.3} |",
        get("layers_used"),
        100.0 * routed / nets,
        report.total,
        get("wirelength_ratio"),
        get("worst_cut_use"),
    );
}
