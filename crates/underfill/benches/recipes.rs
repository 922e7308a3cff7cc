//! Draws and searches: 10,000 tolerance draws with the fronts of their response, and 20 recipes over a die of 9,025 bumps (invented).
//! `cargo bench -p facedown-underfill --bench recipes`; aims on two cores: 10 s and 30 s.
#![allow(clippy::unwrap_used, reason = "bench code")]

use facedown_underfill::search::{self, specimen as recipes};
use facedown_underfill::window::{self, specimen as draws};
use facedown_underfill::{Edge, contamination};
use std::time::Instant;

fn main() {
    // `cargo test --benches` runs this too; then nothing is timed.
    if !std::env::args().any(|a| a == "--bench") {
        return;
    }
    let timed = |what: &str, run: &mut dyn FnMut() -> String| {
        let begin = Instant::now();
        let told = run();
        println!("{what:<58} {:>8.3} s  {told}", begin.elapsed().as_secs_f64());
    };
    let face = contamination::specimen::streak();
    timed("cleaning: sheet of a face", &mut || {
        contamination::sheet(&face).unwrap().dose_j.map_or(String::new(), |d| format!("{:.1} kJ", d * 1e-3))
    });
    for (count, drawn) in [(8, 10_000), (8, 1_000_000), (20, 10_000)] {
        let mut task = draws::task(drawn);
        task.base = draws::die(count);
        timed(&format!("{drawn} draws over {count} x {count} bumps"), &mut || {
            let told = window::spread(&task).unwrap();
            format!("{} fronts, released {:.4}, {:?}", told.fronts, told.good.share, told.accuracy)
        });
    }
    for count in [30, 95] {
        let mut task = recipes::task(count);
        let from = |e: Edge| matches!(e, Edge::Left | Edge::Bottom);
        task.recipes.retain(|r| from(r.edge));
        task.recipes.truncate(20);
        task.around.room_m = [20e-3; 4];
        task.recipes.iter_mut().for_each(|r| (r.offset_m, r.volume_m3) = (2e-3, 0.84 * r.volume_m3));
        timed(&format!("{} recipes over {count} x {count} bumps", task.recipes.len()), &mut || {
            let table = search::search(&task).unwrap();
            let best = table.best().map_or("none released".to_string(), |b| b.recipe.words());
            format!("followed {:?}: {best}", table.followed)
        });
    }
}
