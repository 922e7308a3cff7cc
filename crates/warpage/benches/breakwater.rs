//! A package of four dies on an interposer under a lid (the invented design breakwater), whole and with one die thicker,
//! which spoils its mirror image; and one factorisation of that size against the processor and against scipy on the same
//! matrix, where Python with scipy is found (`FACEDOWN_PYTHON`, or `python3`). `cargo bench -p facedown-warpage`.
#![allow(clippy::unwrap_used, reason = "bench code")]

use facedown_field::fronts::Plan;
use facedown_warpage::{Problem, solve, specimen};
use std::hint::black_box;
use std::io::Write;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::Instant;

/// Time of this thread, s: on Linux that on the processor, so that a busy machine does not count; else by the clock.
fn now(since: Instant) -> f64 {
    let own = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let spent = own.and_then(|text| text.split(' ').next()?.parse::<f64>().ok());
    spent.map_or_else(|| since.elapsed().as_secs_f64(), |ns| ns * 1e-9)
}

/// The mean time of a run, s, over as many as fill some tenths of a second: the system counts in steps.
fn mean<T>(mut run: impl FnMut() -> T) -> f64 {
    let since = Instant::now();
    let start = now(since);
    let mut runs = 0;
    loop {
        black_box(run());
        runs += 1;
        let spent = now(since) - start;
        if spent > 0.4 {
            return spent / f64::from(runs);
        }
    }
}

fn main() {
    let breakwater: Problem = serde_json::from_str(include_str!("breakwater.json")).unwrap();
    let mut unlike = breakwater.clone();
    unlike.dies[0].plate.layers[0].thickness_m *= 1.01;
    println!("| package | solve s |");
    println!("|---|---|");
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    for (name, problem) in [
        ("bare die", specimen::bare()),
        ("die under a lid", specimen::lidded()),
        ("two unlike dies on an interposer", specimen::module()),
        ("breakwater", breakwater),
        ("breakwater, one die thicker", unlike),
    ] {
        println!("| {name} | {:.3} |", pool.install(|| mean(|| solve(&problem).unwrap())));
    }
    factorisation([20, 18]);
}

/// Multiplications and additions of a second when nothing but them is done.
fn peak() -> f64 {
    const ROUNDS: usize = 4_000_000;
    let factor = black_box([1.000_000_1; 2]);
    let seconds = mean(|| {
        let mut sums = [[1.0; 2]; 12];
        for _ in 0..ROUNDS {
            for sum in &mut sums {
                for k in 0..2 {
                    sum[k] = sum[k] * factor[k] + factor[k];
                }
            }
        }
        sums
    });
    (ROUNDS * 12 * 2 * 2) as f64 / seconds
}

/// Unknowns of two plates on a grid: twelve at each corner of a piece, four at the middle of each side and of the piece.
fn plates([nx, ny]: [usize; 2]) -> (Vec<Vec<usize>>, usize) {
    let (mut first, mut count) = (Vec::new(), 0);
    for i in 0..=2 * nx {
        for j in 0..=2 * ny {
            first.push(count);
            count += if i % 2 == 0 && j % 2 == 0 { 12 } else { 4 };
        }
    }
    first.push(count);
    let at = |i: usize, j: usize| i * (2 * ny + 1) + j;
    let pieces = (0..nx * ny).map(|p| {
        let places = (0..9).map(|k| at(2 * (p / ny) + k / 3, 2 * (p % ny) + k % 3));
        places.flat_map(|k| first[k]..first[k + 1]).collect()
    });
    (pieces.collect(), count)
}

const SCRIPT: &str = "
import json, sys, time
import numpy, scipy.sparse, scipy.sparse.linalg
pieces = numpy.array(json.load(sys.stdin))
count, n = pieces.shape
i, j = numpy.indices((n, n))
i, j = numpy.maximum(i, j), numpy.minimum(i, j)
values = ((5 * numpy.arange(count)[:, None, None] + 7 * i + 3 * j) % 11) / 5 - 1.0
values[:, range(n), range(n)] = 4.0 * n
rows, columns = (numpy.broadcast_to(p, values.shape).ravel() for p in (pieces[:, :, None], pieces[:, None, :]))
matrix = scipy.sparse.coo_matrix((values.ravel(), (rows, columns))).tocsc()
right = numpy.sin(numpy.arange(matrix.shape[0]))
best = []
for options in ({}, dict(permc_spec='MMD_AT_PLUS_A', diag_pivot_thresh=0.0, options=dict(SymmetricMode=True))):
    took = []
    for _ in range(3):
        start = time.process_time()
        factor = scipy.sparse.linalg.splu(matrix, **options)
        took.append(time.process_time() - start)
    best.append(min(took))
start = time.process_time()
x = factor.solve(right)
json.dump(best + [time.process_time() - start, float(abs(x).sum())], sys.stdout)
";

fn scipy(pieces: &[Vec<usize>]) -> Option<[f64; 4]> {
    let python = std::env::var("FACEDOWN_PYTHON").unwrap_or_else(|_| "python3".into());
    let mut child = Command::new(python)
        .args(["-c", SCRIPT])
        .env("OPENBLAS_NUM_THREADS", "1")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .ok()?;
    child.stdin.take()?.write_all(serde_json::to_string(pieces).ok()?.as_bytes()).ok()?;
    serde_json::from_slice(&child.wait_with_output().ok()?.stdout).ok()
}

fn factorisation(grid: [usize; 2]) {
    let (pieces, count) = plates(grid);
    let n = pieces[0].len();
    let entry = |p: usize, i: usize, j: usize| match (i.max(j), i.min(j)) {
        (i, j) if i == j => 4.0 * n as f64,
        (i, j) => ((5 * p + 7 * i + 3 * j) % 11) as f64 / 5.0 - 1.0,
    };
    let matrices: Vec<Vec<f64>> =
        (0..pieces.len()).map(|p| (0..n * n).map(|k| entry(p, k / n, k % n)).collect()).collect();
    let right: Vec<f64> = (0..count).map(|k| (k as f64).sin()).collect();
    let planned = mean(|| Plan::new(grid, pieces.clone(), count));
    let plan = Arc::new(Plan::new(grid, pieces.clone(), count));
    let factored = mean(|| plan.factor(&matrices).unwrap());
    let factor = plan.factor(&matrices).unwrap();
    let solved = mean(|| factor.solve(&right).unwrap());
    let (done, most) = (plan.operations() / factored / 1e9, peak() / 1e9);
    println!("\n{} by {} pieces, {count} unknowns, {} entries", grid[0], grid[1], plan.entries());
    println!("plan {planned:.4} s, factor {factored:.4} s, one right side {solved:.5} s");
    println!("{done:.1} of {most:.1} Gflop/s, {:.0} %", 100.0 * done / most);
    // Both sweeps read the factor once.
    println!("right side: {:.1} GB/s of the factor", 16.0 * plan.entries() as f64 / solved / 1e9);
    match scipy(&pieces) {
        Some([usual, symmetric, own, sum]) => {
            let here: f64 = factor.solve(&right).unwrap().iter().map(|v| v.abs()).sum();
            println!("scipy splu: {usual:.3} s, symmetric mode {symmetric:.3} s, one right side {own:.4} s");
            println!("sums of the solutions differ by {:.1e}", (here / sum - 1.0).abs());
        }
        None => println!("scipy: not found"),
    }
}
