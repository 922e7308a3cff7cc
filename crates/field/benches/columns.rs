//! Steady conduction in a lidded package on its board (invented), by the multigrid of columns: time, steps, memory and
//! share of the machine's memory bandwidth over sizes, and steps over what is hard for a multigrid; on the smaller sizes
//! beside PyAMG and hypre (through PETSc) on the same matrix to the same residual, where a Python with them is found
//! (`FACEDOWN_PYTHON`, or `python3`; two ranks for hypre where `mpiexec` is there). `cargo bench -p facedown-field`; with
//! `FACEDOWN_CELLS=10` also ten million cells.
#![allow(clippy::unwrap_used, reason = "bench code")]

use facedown_field::conduction::{Body, Cycle, Effort, Field, Medium, Side};
use facedown_field::grid::{Grid, Growth, Mark, graded};
use rayon::prelude::*;
use std::io::Write;
use std::process::Command;
use std::time::Instant;

/// What a case changes in the package.
#[derive(Clone, Copy)]
struct Case {
    name: &'static str,
    /// Largest over smallest cell in the plane.
    grading: f64,
    /// Thickness of the thermal interface, m, and its conductivity, W/(m K).
    interface: [f64; 2],
    /// Ratio of conductivities of random 4 mm patches of board and substrate.
    patches: f64,
    /// A slot of 0.3 mm through bumps, die, interface and lid.
    slot: bool,
    /// Share of columns that are not there.
    absent: f64,
}

const PLAIN: Case =
    Case { name: "uniform", grading: 1.0, interface: [30e-6, 3.0], patches: 1.0, slot: false, absent: 0.0 };

struct Package {
    grid: Grid,
    faces: [f64; 8],
    case: Case,
}

/// A number from 0 to 1 that depends on a whole number only.
fn scattered(n: u64) -> f64 {
    let mut x = n.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x0123_4567;
    x ^= x >> 31;
    x = x.wrapping_mul(0xBF58_476D_1CE4_E5B9);
    x ^= x >> 29;
    (x >> 11) as f64 / (1_u64 << 53) as f64
}

impl Medium for Package {
    fn conductivity(&self, [x, y, z]: [usize; 3]) -> Option<[f64; 3]> {
        let at = [0, 1, 2].map(|a| self.grid.middle(a, [x, y, z][a]));
        let inside = |w: f64, h: f64| at[0].abs() < w / 2.0 && at[1].abs() < h / 2.0;
        let case = &self.case;
        if case.absent > 0.0 && scattered((x * 7919 + y * 104_729) as u64) < case.absent {
            return None;
        }
        let open = !(case.slot && (at[0] - 2e-3).abs() < 0.15e-3 && at[1].abs() < 5e-3);
        let patch = |v: f64| (v / 4e-3).floor() as i64;
        let f = case.patches.powf(scattered((patch(at[0]) * 31 + patch(at[1]) * 977) as u64) - 0.5);
        let layer = self.faces.iter().position(|&face| at[2] < face).unwrap_or(7);
        match layer {
            0 | 1 => inside(0.1015, 0.1145).then_some([20.0 * f, 20.0 * f, 0.35]),
            2 => inside(35e-3, 35e-3).then_some([0.1, 0.1, 8.0]),
            3 => inside(35e-3, 35e-3).then_some([30.0 * f, 30.0 * f, 0.6]),
            4 => (inside(16e-3, 14e-3) && open).then_some([1.0, 1.0, 10.0]),
            5 => (inside(16e-3, 14e-3) && open).then_some([120.0; 3]),
            6 => (inside(16e-3, 14e-3) && open).then_some([case.interface[1]; 3]),
            _ => (inside(35e-3, 35e-3) && open).then_some([390.0; 3]),
        }
    }
}

/// The package cut `n` times as finely as at about a quarter of a million cells.
fn package(case: Case, n: f64) -> Package {
    let mut faces = [0.0, 1.6e-3, 0.5e-3, 1.2e-3, 80e-6, 0.75e-3, case.interface[0], 2e-3];
    for i in 1..8 {
        faces[i] += faces[i - 1];
    }
    let (fine, coarse) =
        if case.grading > 1.0 { (0.35e-3 / n, 0.35e-3 * case.grading / n) } else { (0.7e-3 / n, 0.7e-3 / n) };
    let line = |board: f64, die: f64| {
        let ends = [(board, coarse), (35e-3, fine), (die, fine)];
        let marks = ends.iter().flat_map(|&(w, spacing)| [-0.5 * w, 0.5 * w].map(|at| Mark { at, spacing }));
        graded(&marks.collect::<Vec<_>>(), Growth { ratio: 1.3, largest: coarse, nearest: 1e-7 })
    };
    let mut z = vec![0.0];
    for (i, cells) in [8.0, 4.0, 8.0, 2.0, 6.0, 2.0, 6.0].iter().enumerate() {
        let count = (cells * f64::sqrt(n)).round().max(1.0) as usize;
        z.extend((1..=count).map(|k| faces[i] + (faces[i + 1] - faces[i]) * k as f64 / count as f64));
    }
    let grid = Grid::new([line(0.1015, 16e-3), line(0.1145, 14e-3), z]).unwrap();
    Package { grid, faces, case }
}

/// 60 W into the lowest layer of the die.
fn load(body: &Body, package: &Package) -> Field {
    let mut load = body.zero();
    let z = package.grid.holding(2, package.faces[4] + 1e-9);
    let [nx, ny, _] = package.grid.cells();
    for y in 0..ny {
        for x in 0..nx {
            let at = [package.grid.middle(0, x), package.grid.middle(1, y)];
            if at[0].abs() < 8e-3 && at[1].abs() < 7e-3 {
                let area = package.grid.width(0, x) * package.grid.width(1, y);
                body.add_at(&mut load, [x, y, z], 60.0 * area / (16e-3 * 14e-3));
            }
        }
    }
    load
}

/// Memory of this process by a name of `/proc/self/status`, bytes (Linux).
fn memory(name: &str) -> f64 {
    let text = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = text.lines().find(|l| l.starts_with(name)).unwrap_or("");
    line.split_whitespace().nth(1).and_then(|v| v.parse::<f64>().ok()).unwrap_or(0.0) * 1024.0
}

/// Forgets the peak of the memory so far (Linux 4.0 and later) and gives what is held now, bytes.
fn held() -> f64 {
    let _ = std::fs::write("/proc/self/clear_refs", "5");
    memory("VmRSS")
}

/// Bandwidth of `a = b + s c` on all threads, bytes/s (J. D. McCalpin, STREAM, 1995).
fn triad() -> f64 {
    let n = 30_000_000;
    let (b, c) = (vec![1.0_f64; n], vec![2.0_f64; n]);
    let mut a = vec![0.0_f64; n];
    let mut best = f64::INFINITY;
    for _ in 0..5 {
        let t = Instant::now();
        a.par_chunks_mut(1 << 16).zip(b.par_chunks(1 << 16)).zip(c.par_chunks(1 << 16)).for_each(
            |((a, b), c)| {
                for ((a, b), c) in a.iter_mut().zip(b).zip(c) {
                    *a = b + 3.0 * c;
                }
            },
        );
        best = best.min(t.elapsed().as_secs_f64());
    }
    std::hint::black_box(&a);
    24.0 * n as f64 / best
}

/// What a cell costs in one step by count of the arrays that move: two products with single-precision conductances and
/// double-precision fields, and a plain cycle over all levels.
const BYTES_A_STEP: f64 = 208.0;

fn run(case: Case, n: f64, cycle: Cycle, bandwidth: f64, peer: bool) {
    let package = package(case, n);
    let before = held();
    let t = Instant::now();
    let mut body = Body::new(package.grid.clone(), &package, 20 << 30).unwrap();
    let films: Vec<f64> = body
        .exposed()
        .iter()
        .map(|f| if matches!(f.side, Side::Top | Side::Bottom) { 15.0 } else { 0.0 })
        .collect();
    body.set_ground(&films, None);
    let setup = t.elapsed().as_secs_f64();
    let load = load(&body, &package);
    let effort = Effort { cycle, ..Effort::default() };
    let t = Instant::now();
    let solution = body.solve(&load, None, effort).unwrap();
    let solve = t.elapsed().as_secs_f64();
    let cells = body.count() as f64;
    println!(
        "| {} | {cycle:?} | {:.2} | {setup:.2} | {solve:.2} | {} | {:.2} | {:.0} | {:.0} |",
        case.name,
        cells * 1e-6,
        solution.steps,
        cells / (setup + solve) * 1e-6,
        (memory("VmHWM") - before) / cells,
        100.0 * BYTES_A_STEP * cells * solution.steps as f64 / solve / bandwidth,
    );
    if peer {
        peers(&body, &load, setup + solve);
    }
}

/// The same system by general-purpose libraries.
fn peers(body: &Body, load: &Field, own: f64) {
    let (rows, columns, values, right) = body.matrix(load);
    let folder = std::env::temp_dir().join("facedown-columns-bench");
    std::fs::create_dir_all(&folder).unwrap();
    let write = |name: &str, bytes: Vec<u8>| {
        std::fs::File::create(folder.join(name)).unwrap().write_all(&bytes).unwrap();
    };
    write("rows", rows.iter().flat_map(|v| v.to_le_bytes()).collect());
    write("columns", columns.iter().flat_map(|v| v.to_le_bytes()).collect());
    write("values", values.iter().flat_map(|v| v.to_le_bytes()).collect());
    write("right", right.iter().flat_map(|v| v.to_le_bytes()).collect());
    let python = std::env::var("FACEDOWN_PYTHON").unwrap_or_else(|_| "python3".into());
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/peers.py");
    let told = |command: &mut Command| {
        let out = command.arg(script).arg(&folder).output();
        out.map(|o| String::from_utf8_lossy(&o.stdout).into_owned()).unwrap_or_default()
    };
    let alone = told(&mut Command::new(&python));
    let ranks = told(Command::new("mpiexec").args(["-n", "2", &python]));
    for line in alone.lines().chain(ranks.lines()) {
        let seconds: f64 = line.split('|').nth(2).and_then(|v| v.trim().parse().ok()).unwrap_or(f64::NAN);
        println!("| {line} {:.1} times ours |", seconds / own);
    }
    let _ = std::fs::remove_dir_all(&folder);
}

fn main() {
    let bandwidth = triad();
    println!("Triad on {} threads: {:.1} GB/s", rayon::current_num_threads(), bandwidth * 1e-9);
    println!(
        "| case | cycle | million cells | setup s | solve s | steps | million cells/s | bytes a cell | % of triad |"
    );
    println!("|---|---|---|---|---|---|---|---|---|");
    run(PLAIN, 0.68, Cycle::Plain, bandwidth, true);
    run(PLAIN, 1.8, Cycle::Plain, bandwidth, true);
    let most: f64 = std::env::var("FACEDOWN_CELLS").ok().and_then(|v| v.parse().ok()).unwrap_or(1.0);
    if most >= 10.0 {
        run(PLAIN, 4.5, Cycle::Plain, bandwidth, false);
    }
    let hard = [
        Case { name: "interface 1 um, 0.02 W/mK", interface: [1e-6, 0.02], ..PLAIN },
        Case { name: "interface 1 mm, 400 W/mK", interface: [1e-3, 400.0], ..PLAIN },
        Case { name: "grading 5", grading: 5.0, ..PLAIN },
        Case { name: "grading 30", grading: 30.0, ..PLAIN },
        Case { name: "patches 400:1", patches: 400.0, ..PLAIN },
        Case { name: "patches 22,500:1", patches: 22_500.0, ..PLAIN },
        Case { name: "slot", slot: true, ..PLAIN },
        Case { name: "absent 10 %", absent: 0.1, ..PLAIN },
        Case { name: "absent 10 %, grading 30", absent: 0.1, grading: 30.0, ..PLAIN },
    ];
    for cycle in [Cycle::Plain, Cycle::Nested, Cycle::AsNeeded] {
        for case in hard {
            run(case, 1.0, cycle, bandwidth, false);
        }
    }
}
