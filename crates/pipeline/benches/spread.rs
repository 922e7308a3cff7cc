//! How the figures of the demonstration designs follow their tolerances: time of the studies with and without them, and how far
//! warpage on its coarse grid is from warpage on the grid of the figures.
//! `cargo bench -p facedown-pipeline`; `FACEDOWN_BENCH_DESIGNS` names designs, `FACEDOWN_BENCH_QUICK` leaves the second out.
#![allow(clippy::unwrap_used, reason = "bench code")]

use facedown_package::{Memory, demo, read_and_check};
use facedown_pipeline::graph::Depth;
use facedown_pipeline::spread::spreads_at;
use facedown_pipeline::{Cache, Control, studies};
use std::time::Instant;

/// Time of this process on all processors, s, on Linux; else not a number.
fn processor() -> f64 {
    // Clock ticks of user and system, a hundredth of a second each.
    let text = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let fields: Vec<f64> = text.rsplit_once(')').map_or_else(Vec::new, |(_, rest)| {
        rest.split_whitespace().map(|f| f.parse().unwrap_or(f64::NAN)).collect()
    });
    fields.get(11).zip(fields.get(12)).map_or(f64::NAN, |(user, system)| (user + system) / 100.0)
}

fn timed<T>(run: impl FnOnce() -> T) -> (T, f64, f64) {
    let (began, spent) = (Instant::now(), processor());
    let done = run();
    (done, began.elapsed().as_secs_f64(), processor() - spent)
}

fn main() {
    let names =
        std::env::var("FACEDOWN_BENCH_DESIGNS").unwrap_or_else(|_| "tidewatch,harborlight,breakwater".into());
    let quick = std::env::var_os("FACEDOWN_BENCH_QUICK").is_some();
    let graph = studies::graph().unwrap();
    println!("| design | what | clock s | processor s |\n|---|---|---|---|");
    for name in names.split(',') {
        let demo = demo(name).unwrap();
        let files = demo.files.iter().fold(Memory::default(), |files, (name, text)| files.with(name, *text));
        let reading = read_and_check(&files, "design.toml");
        let design = reading.design.as_ref().unwrap();
        let closed = studies::graph().unwrap().at_depth(Depth::ClosedForms);
        let laid = [studies::REDISTRIBUTION, studies::RULE_CHECK].map(str::to_owned);
        for (what, some) in
            [("layout and rule check", Some(closed.select(&laid).unwrap())), ("all studies", None)]
        {
            let (_, clock, spent) =
                timed(|| closed.run(design, some.as_ref(), &Cache::none(), Control::silent()));
            println!("| {name} | {what}, by closed forms | {clock:.2} | {spent:.2} |");
        }
        let base = closed.run(design, None, &Cache::none(), Control::silent());
        let of = |base, how| {
            timed(|| spreads_at(how, &graph, &files, &reading, "design.toml", base, Control::silent()))
        };
        let (_, clock, spent) = of(&base, Depth::Changes);
        println!("| {name} | tolerances, all studies | {clock:.2} | {spent:.2} |");
        if quick {
            continue;
        }
        let selected = graph.select(&[studies::WARPAGE.to_owned()]).unwrap();
        let warped = graph.run(design, Some(&selected), &Cache::none(), Control::silent());
        let (coarse, clock, spent) = of(&warped, Depth::Changes);
        println!("| {name} | warpage on its coarse grid | {clock:.2} | {spent:.2} |");
        let (fine, clock, spent) = of(&warped, Depth::Solvers);
        println!("| {name} | warpage on its own grid | {clock:.2} | {spent:.2} |");
        let mut apart: Vec<(f64, String)> = fine
            .iter()
            .map(|(key, spread)| {
                let other = coarse.get(key).map_or(f64::NAN, |s| s.deviation);
                (
                    other / spread.deviation - 1.0,
                    format!("{}.{} {:.4e} {:.4e}", key.0, key.1, spread.deviation, other),
                )
            })
            .collect();
        apart.sort_by(|a, b| b.0.abs().total_cmp(&a.0.abs()));
        for (share, what) in apart.iter().take(25).filter(|a| a.0.abs() >= 1e-3 || a.0.is_nan()) {
            println!("{:+.2} % {what}", 100.0 * share);
        }
    }
}
