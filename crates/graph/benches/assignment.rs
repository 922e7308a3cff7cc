//! Assignment of 250 to 5,000 points, timed beside scipy's `linear_sum_assignment` in the same run.
//!
//! `cargo bench -p facedown-graph --bench assignment`. Where Python with scipy is found (`FACEDOWN_PYTHON`, or `python3`), it solves
//! the same costs; its time excludes making the matrix, ours includes everything from the points on. Two kinds of
//! input: random points in a square (easy), and a ring of pads around an array of as many sites (hard, what
//! redistribution meets).

use facedown_graph::assignment::{CostMatrix, Distance, assign_dense, assign_points};
use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::Rng;
use std::io::Write;
use std::process::{Command, Stdio};
use std::time::Instant;

const SIDE: f64 = 10_000.0;
/// The dense solver and a ring take minutes above this.
const MOST_DENSE: usize = 2000;

type Points = Vec<[f64; 2]>;

fn random(count: usize, seed: u128) -> Points {
    let mut random = Pcg64Mcg::new(seed | 1);
    let mut coordinate = || (random.next_u64() >> 11) as f64 / (1u64 << 53) as f64 * SIDE;
    (0..count).map(|_| [coordinate(), coordinate()]).collect()
}

fn ring(count: usize) -> Points {
    let per_side = count / 4;
    let place = |k: usize| {
        let t = ((k % per_side) as f64 + 0.5) / per_side as f64 * SIDE;
        [[t, 60.0], [SIDE - 60.0, t], [SIDE - t, SIDE - 60.0], [60.0, SIDE - t]][k / per_side]
    };
    (0..4 * per_side).map(place).collect()
}

fn array(count: usize) -> Points {
    let per_side = (count as f64).sqrt().ceil() as usize;
    let at = |k: usize| (k as f64 + 0.5) / per_side as f64 * SIDE;
    (0..per_side * per_side).map(|k| [at(k % per_side), at(k / per_side)]).collect()
}

const SCRIPT: &str = "
import json, sys, time, numpy
from scipy.optimize import linear_sum_assignment
rows, columns = (numpy.array(p) for p in json.load(sys.stdin))
costs = numpy.hypot(rows[:, None, 0] - columns[None, :, 0], rows[:, None, 1] - columns[None, :, 1])
start = time.perf_counter()
i, j = linear_sum_assignment(costs)
print(json.dumps([time.perf_counter() - start, costs[i, j].sum()]))
";

/// Seconds and total of scipy; none where Python or scipy is missing.
fn scipy(rows: &Points, columns: &Points) -> Option<(f64, f64)> {
    let python = std::env::var("FACEDOWN_PYTHON").unwrap_or_else(|_| "python3".into());
    let mut child = Command::new(python)
        .args(["-c", SCRIPT])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .ok()?;
    let input = serde_json::to_string(&(rows, columns)).ok()?;
    child.stdin.take()?.write_all(input.as_bytes()).ok()?;
    let output = child.wait_with_output().ok()?;
    serde_json::from_slice(&output.stdout).ok()
}

fn main() {
    println!(
        "{:>6} {:>6} {:<7} {:>10} {:>10} {:>10} {:>9} {:>9}",
        "rows", "sites", "kind", "points s", "matrix s", "scipy s", "ratio", "differ"
    );
    for count in [250, 500, 1000, 2000, 5000] {
        for (kind, rows, columns) in
            [("random", random(count, 1), random(count, 2)), ("ring", ring(count), array(count))]
        {
            let start = Instant::now();
            let best = assign_points(&rows, &columns, Distance::Euclidean);
            let seconds = start.elapsed().as_secs_f64();
            let Ok(best) = best else { continue };
            let matrix = (kind == "random" || count <= MOST_DENSE).then(|| {
                let start = Instant::now();
                let costs = CostMatrix::from_fn(rows.len(), columns.len(), |i, j| {
                    Distance::Euclidean.between(rows[i], columns[j])
                });
                let total = costs.and_then(|c| assign_dense(&c)).map_or(f64::NAN, |a| a.total);
                (start.elapsed().as_secs_f64(), total)
            });
            let scipy = scipy(&rows, &columns);
            let time = |t: &Option<(f64, f64)>| t.map_or("-".into(), |t| format!("{:.4}", t.0));
            let differ = [matrix, scipy].into_iter().flatten().map(|t| (t.1 / best.total - 1.0).abs());
            println!(
                "{:>6} {:>6} {:<7} {:>10.4} {:>10} {:>10} {:>9} {:>9.1e}",
                rows.len(),
                columns.len(),
                kind,
                seconds,
                time(&matrix),
                time(&scipy),
                scipy.map_or("-".into(), |t| format!("{:.1} x", t.0 / seconds)),
                differ.fold(0.0, f64::max),
            );
        }
    }
}
