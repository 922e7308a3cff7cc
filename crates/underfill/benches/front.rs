//! The front over whole dies: a die of 418 bumps with dirty patches, one of 9,000 bumps, twenty recipes, ten thousand lots; and the
//! same equation solved by FiPy in the same run.
//!
//! `cargo bench -p facedown-underfill --bench front`. Where Python with FiPy is found (`FACEDOWN_PYTHON`, or `python3`;
//! `pip install fipy==4.0.3 scipy`), `front_fipy.py` beside this file follows the front of the die of 418 bumps on the same
//! cells, with one driving pressure everywhere. `FACEDOWN_BENCH_STEPS` gives lengths of steps in cells, `0.25,0.5,1,2` for instance, to compare.

use facedown_underfill::flow::Medium;
use facedown_underfill::front::medium::Local;
use facedown_underfill::front::{
    self, Bumps, CellLaw, Clock, ClosedForms, Line, Map, Outcome, Problem, Shape,
};
use facedown_underfill::{BumpShape, Edge, Lattice};
use serde_json::json;
use std::io::Write;
use std::process::{Command, Stdio};
use std::time::Instant;

const TENSION: f64 = 0.03;
/// Gap of the die of 418 bumps, m.
const GAP: f64 = 100e-6;

fn die(
    size_m: [f64; 2],
    gap_m: f64,
    pitch: f64,
    count: [usize; 2],
    bump: (f64, BumpShape),
    bare: usize,
) -> Problem {
    let mut problem = Problem::bare(size_m, gap_m, TENSION, 25_f64.to_radians(), &[Edge::Left, Edge::Bottom]);
    let low = [0, 1].map(|k| 0.5 * (size_m[k] - pitch * (count[k] as f64 - 1.0)));
    // The corners carry no bumps.
    let corner = |k: usize| {
        let far = |at: usize, count: usize| at.min(count - 1 - at) >= bare;
        far(k % count[0], count[0]) || far(k / count[0], count[1])
    };
    let place = |k: usize| [low[0] + pitch * (k % count[0]) as f64, low[1] + pitch * (k / count[0]) as f64];
    problem.bumps = Some(Bumps {
        places_m: (0..count[0] * count[1]).filter(|&k| corner(k)).map(place).collect(),
        diameter_m: bump.0,
        shape: bump.1,
        lattice: Lattice::Square,
    });
    problem.angle_bump_rad = Map::Uniform(35_f64.to_radians());
    problem
}

/// 418 bumps on 7.2 mm x 6.4 mm, one row dirty, a patch that repels.
fn tidewatch() -> Problem {
    let mut problem = clean();
    let bar = Shape::Rectangle { low_m: [2.0e-3, 3.05e-3], high_m: [5.5e-3, 3.35e-3] };
    let disc = Shape::Disc { centre_m: [5.0e-3, 4.7e-3], radius_m: 0.5e-3 };
    let ground = 30_f64.to_radians();
    problem.angle_substrate_rad = Map::Patches { ground, patches: vec![(bar, 1.2), (disc, 2.8)] };
    problem
}

fn clean() -> Problem {
    die([7.2e-3, 6.4e-3], GAP, 300e-6, [22, 19], (140e-6, BumpShape::TruncatedSphere), 0)
}

/// 9,064 pillars on 16 mm x 14 mm.
fn harborlight() -> Problem {
    let mut problem = die([16e-3, 14e-3], 65e-6, 150e-6, [104, 91], (85e-6, BumpShape::Cylinder), 10);
    // The steps that a run takes on a die with so many rows (`filling::task`).
    problem.resolution.advance = 1.0;
    problem
}

fn told(name: &str, problem: &Problem) -> Option<(f64, Outcome)> {
    let start = Instant::now();
    let outcome = match front::solve(problem) {
        Ok(outcome) => outcome,
        Err(reason) => {
            println!("| {name} | {reason} |");
            return None;
        }
    };
    let seconds = start.elapsed().as_secs_f64();
    println!(
        "| {name} | {} | {} | {} | {} | {seconds:.3} | {:.6e} | {} voids, {:.4} mm2 | {:.0e} |",
        outcome.cells.len(),
        outcome.course.len(),
        outcome.effort[0],
        outcome.effort[1],
        outcome.fill_fluidity.unwrap_or(f64::NAN),
        outcome.voids.len(),
        1e6 * outcome.voids.iter().map(|v| v.area_m2).sum::<f64>(),
        outcome.volume_error,
    );
    Some((seconds, outcome))
}

/// Root mean square difference of the times of arrival, over the time to fill.
fn apart(a: &Outcome, b: &Outcome) -> f64 {
    let pairs =
        a.cells.iter().zip(&b.cells).filter_map(|(a, b)| Some((a.arrival_fluidity?, b.arrival_fluidity?)));
    let (sum, count) = pairs.fold((0.0, 0), |(s, n), (a, b)| (s + (a - b) * (a - b), n + 1));
    (sum / f64::from(count)).sqrt() / b.fill_fluidity.unwrap_or(f64::NAN)
}

/// Twenty recipes: patterns, passes, waiting times.
fn recipes() -> Vec<Problem> {
    let base = tidewatch();
    let whole = base.size_m[0] * base.size_m[1] * GAP;
    let line =
        |edge, volume_m3: f64, start_s: f64| Line { volume_m3, start_s, ..Line::ample(edge, base.size_m) };
    let patterns: [&[Edge]; 5] = [
        &[Edge::Left],
        &[Edge::Bottom],
        &[Edge::Left, Edge::Bottom],
        &[Edge::Left, Edge::Right],
        &[Edge::Left, Edge::Bottom, Edge::Right],
    ];
    let mut all = Vec::new();
    for edges in patterns {
        for passes in [1, 2] {
            for wait in [0.0, 0.1] {
                let mut problem = base.clone();
                problem.lines.clear();
                for (k, &edge) in edges.iter().enumerate() {
                    let volume = 1.2 * whole / (edges.len() * passes) as f64;
                    // The waiting time stands between lines, and ten times it between passes, in s at 1 Pa s.
                    let each =
                        (0..passes).map(|p| line(edge, volume, 10.0 * wait * k as f64 + 20.0 * p as f64));
                    problem.lines.extend(each);
                }
                all.push(problem);
            }
        }
    }
    all
}

fn main() {
    let only = std::env::var("FACEDOWN_BENCH_CASE").unwrap_or_default();
    let wanted = |name: &str| only.is_empty() || only.split(',').any(|o| o == name);
    println!(
        "| case | cells | steps | solutions | sweeps | s | fluidity time to fill, 1/Pa | voids | volume error |"
    );
    println!("|---|---|---|---|---|---|---|---|---|");
    let steps = std::env::var("FACEDOWN_BENCH_STEPS").unwrap_or_default();
    let steps: Vec<f64> = steps.split(',').filter_map(|s| s.parse().ok()).collect();
    for (name, problem) in [("tidewatch", tidewatch()), ("clean", clean()), ("harborlight", harborlight())] {
        if !wanted(name) {
            continue;
        }
        let mut first = None;
        for &advance in &steps {
            let mut problem = problem.clone();
            problem.resolution.advance = advance;
            let Some((_, outcome)) = told(&format!("{name}, {advance} cells"), &problem) else { continue };
            match &first {
                None => first = Some(outcome),
                Some(first) => {
                    println!("  arrival differs by {:.2e} of the fill time", apart(&outcome, first))
                }
            }
        }
        if steps.is_empty() {
            told(name, &problem);
        }
    }
    if wanted("recipes") {
        let start = Instant::now();
        let found = front::solve_all(&recipes());
        let good = found.iter().filter(|f| f.is_ok()).count();
        println!("{good} of {} recipes in {:.3} s", found.len(), start.elapsed().as_secs_f64());
    }
    if wanted("lots") {
        lots();
    }
    if wanted("fipy") {
        peer();
    }
}

/// Ten thousand lots of one geometry: viscosity, its rise and tension differ, the followed front is the same.
fn lots() {
    let start = Instant::now();
    let Ok(outcome) = front::solve(&tidewatch()) else { return };
    let Some(fill) = outcome.fill_fluidity else { return };
    let solved = start.elapsed().as_secs_f64();
    let (mut state, mut sum, mut gelled) = (1_u64, 0.0, 0);
    let mut random = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
    };
    for _ in 0..10_000 {
        let (viscosity, rate, tension) =
            (0.3 * (1.0 + 0.2 * random()), 0.05 * (1.0 + 0.3 * random()), 1.0 + 0.1 * random());
        let mut fluidity = 0.0;
        let mut points = vec![(0.0, 0.0)];
        for k in 0..200 {
            let time = f64::from(k);
            fluidity += (-rate * time).exp() / viscosity;
            points.push((time + 1.0, fluidity));
        }
        // Fluidity time goes with the reciprocal of the tension.
        match Clock::new(points, None).and_then(|clock| clock.time(fill / tension)) {
            Some(time) => sum += time,
            None => gelled += 1,
        }
    }
    println!(
        "10,000 lots in {:.3} s, of which the front {solved:.3} s; {gelled} gel, mean of the others {:.2} s",
        start.elapsed().as_secs_f64(),
        sum / f64::from(10_000 - gelled),
    );
}

/// Cells as they are, but drawn into by one pressure.
struct Even(ClosedForms, f64);

impl CellLaw for Even {
    fn medium(&self, local: Local) -> Option<Medium> {
        Some(Medium { pressure_pa: self.1, ..self.0.medium(local)? })
    }
}

/// FiPy on the same cells, with the steps that this program took.
fn peer() {
    let problem = clean();
    let law = Even(ClosedForms::of(&problem), 600.0);
    let start = Instant::now();
    let Ok(outcome) = front::solve_with(&problem, &law) else { return };
    let own = start.elapsed().as_secs_f64();
    let python = std::env::var("FACEDOWN_PYTHON").unwrap_or_else(|_| "python3".into());
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/front_fipy.py");
    let [nx, ny] = outcome.count;
    let mut cells = [vec![0.0; nx * ny], vec![0.0; nx * ny], vec![0.0; nx * ny]];
    for cell in &outcome.cells {
        let at = cell.at[1] * nx + cell.at[0];
        cells[0][at] = cell.permeability_m2 * GAP;
        cells[1][at] = cell.free * GAP;
        cells[2][at] = cell.drive_pa;
    }
    let mut before = 0.0;
    let mut lengths = Vec::new();
    for mark in &outcome.course {
        lengths.push(mark.fluidity - before);
        before = mark.fluidity;
    }
    for solver in ["lu", "pcg"] {
        let [conductance, room, drive] = &cells;
        let input = json!({
            "count": outcome.count, "step": outcome.step_m, "conductance": conductance, "room": room, "drive": drive,
            "lengths": lengths, "solver": solver,
        });
        let Ok(mut child) = Command::new(&python)
            .arg(script)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
        else {
            return;
        };
        if let Some(mut pipe) = child.stdin.take() {
            let _ = pipe.write_all(input.to_string().as_bytes());
        }
        let Ok(output) = child.wait_with_output() else { return };
        match serde_json::from_slice::<(f64, f64, usize, usize)>(&output.stdout) {
            Ok((seconds, fill, solutions, full)) => println!(
                "FiPy ({solver}): {seconds:.2} s, {solutions} solutions (here {}), {full} of {} cells full, filled at {fill:e} against {:e}; {own:.3} s, ratio {:.0}",
                outcome.effort[0],
                outcome.cells.len(),
                outcome.fill_fluidity.unwrap_or(f64::NAN),
                seconds / own,
            ),
            Err(_) => println!("FiPy ({solver}) is not there or gave nothing"),
        }
    }
}
