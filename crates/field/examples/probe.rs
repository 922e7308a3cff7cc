use facedown_field::conduction::*;
use facedown_field::grid::*;
use std::time::Instant;
struct Stack { grid: Grid, tim_k: f64, patch: f64, slot: bool, absent: f64, zb: [f64; 9] }
fn hash(a: u64) -> f64 { let mut x = a.wrapping_mul(0x9E3779B97F4A7C15) ^ 0x1234567; x ^= x >> 31; x = x.wrapping_mul(0xBF58476D1CE4E5B9); x ^= x >> 29; (x >> 11) as f64 / (1u64 << 53) as f64 }
impl Medium for Stack {
    fn conductivity(&self, [x, y, z]: [usize; 3]) -> Option<[f64; 3]> {
        let (px, py, pz) = (self.grid.middle(0, x), self.grid.middle(1, y), self.grid.middle(2, z));
        let inside = |w: f64, h: f64| px.abs() < w / 2.0 && py.abs() < h / 2.0;
        let b = &self.zb;
        if self.absent > 0.0 && hash((x * 7919 + y * 104729) as u64) < self.absent { return None; }
        let slot = self.slot && (px - 2e-3).abs() < 0.15e-3 && py.abs() < 5e-3;
        let f = if self.patch > 1.0 { self.patch.powf(hash(((px / 4e-3).floor() as i64 * 31 + (py / 4e-3).floor() as i64 * 977 + z as i64 * 0) as u64) - 0.5) } else { 1.0 };
        let k = if pz < b[1] { inside(0.1015, 0.1145).then_some([20.0 * f, 20.0 * f, 0.35]) }
        else if pz < b[2] { inside(35e-3, 35e-3).then_some([0.1, 0.1, 8.0]) }
        else if pz < b[3] { inside(35e-3, 35e-3).then_some([30.0 * f, 30.0 * f, 0.6]) }
        else if pz < b[4] { (inside(16e-3, 14e-3) && !slot).then_some([1.0, 1.0, 10.0]) }
        else if pz < b[5] { (inside(16e-3, 14e-3) && !slot).then_some([120.0; 3]) }
        else if pz < b[6] { (inside(16e-3, 14e-3) && !slot).then_some([self.tim_k; 3]) }
        else { (inside(35e-3, 35e-3) && !slot).then_some([390.0; 3]) };
        k
    }
}
fn case(n: f64, ratio: f64, tim: f64, tim_k: f64, patch: f64, slot: bool, absent: f64, cycle: Cycle, label: &str) {
    let zb = [0.0, 1.6e-3, 2.1e-3, 3.3e-3, 3.38e-3, 3.38e-3 + 0.75e-3, 3.38e-3 + 0.75e-3 + tim, 3.38e-3 + 0.75e-3 + tim + 2e-3, 0.0];
    let (fine, coarse) = if ratio > 1.0 { (0.35e-3 / n, 0.35e-3 * ratio / n) } else { (0.7e-3 / n, 0.7e-3 / n) };
    let line = |w: f64, s: f64, d: f64| {
        let marks: Vec<Mark> = [(-w / 2.0, coarse), (-s / 2.0, fine), (-d / 2.0, fine), (d / 2.0, fine), (s / 2.0, fine), (w / 2.0, coarse)].iter().map(|&(at, spacing)| Mark { at, spacing }).collect();
        graded(&marks, Growth { ratio: 1.3, largest: coarse, nearest: 1e-7 })
    };
    let zn = [8, 4, 8, 2, 6, 2, 6];
    let mut z = vec![0.0];
    for (i, c) in zn.iter().enumerate() { let m = (*c as f64 * n.powf(0.5)).round().max(1.0) as usize; for k in 1..=m { z.push(zb[i] + (zb[i + 1] - zb[i]) * k as f64 / m as f64); } }
    let grid = Grid::new([line(0.1015, 35e-3, 16e-3), line(0.1145, 35e-3, 14e-3), z]).unwrap();
    let stack = Stack { grid: grid.clone(), tim_k, patch, slot, absent, zb };
    let t = Instant::now();
    let mut body = Body::new(grid.clone(), &stack, 20 << 30).unwrap();
    let t1 = t.elapsed().as_secs_f64();
    let films: Vec<f64> = body.exposed().iter().map(|f| match f.side { Side::Top | Side::Bottom => 15.0, _ => 0.0 }).collect();
    body.set_ground(&films, None);
    let setup = t.elapsed().as_secs_f64();
    let mut load = body.zero();
    let zj = grid.holding(2, 3.3801e-3);
    let c = grid.cells();
    for x in 0..c[0] { for y in 0..c[1] {
        if grid.middle(0, x).abs() < 8e-3 && grid.middle(1, y).abs() < 7e-3 { body.add_at(&mut load, [x, y, zj], 60.0 * grid.width(0, x) * grid.width(1, y) / (16e-3 * 14e-3)); } } }
    let t = Instant::now();
    let s = body.solve(&load, None, Effort { cycle, ..Effort::default() });
    let took = t.elapsed().as_secs_f64();
    let cx = grid.holding(0, 1e-5); let cy = grid.holding(1, 1e-5);
    match s {
        Ok(s) => println!("{label:40} {:?} cells {} ({:.0} % of lattice) build {t1:.2} setup {setup:.2} solve {took:.2} steps {} {:.2} M/s T {:.4}", cycle, body.count(), 100.0 * body.count() as f64 / (c[0] * c[1] * c[2]) as f64, s.steps, body.count() as f64 / took / 1e6, body.at(&s.field, [cx, cy, zj]).unwrap_or(f64::NAN)),
        Err(e) => println!("{label:40} {cycle:?} {} {e} {took:.2}", body.count()),
    }
}
fn main() {
    let n: f64 = std::env::args().nth(1).and_then(|a| a.parse().ok()).unwrap_or(1.0);
    for cycle in [Cycle::Plain, Cycle::Nested] {
        case(n, 1.0, 30e-6, 3.0, 1.0, false, 0.0, cycle, "uniform");
        case(n, 1.0, 1e-6, 0.02, 1.0, false, 0.0, cycle, "uniform TIM 1 um k 0.02");
        case(n, 1.0, 1e-3, 400.0, 1.0, false, 0.0, cycle, "uniform TIM 1 mm k 400");
        case(n, 5.0, 30e-6, 3.0, 1.0, false, 0.0, cycle, "graded 5");
        case(n, 30.0, 30e-6, 3.0, 1.0, false, 0.0, cycle, "graded 30");
        case(n, 1.0, 30e-6, 3.0, 400.0, false, 0.0, cycle, "patches 400");
        case(n, 1.0, 30e-6, 3.0, 22500.0, false, 0.0, cycle, "patches 22500");
        case(n, 1.0, 30e-6, 3.0, 1.0, true, 0.0, cycle, "slot");
        case(n, 1.0, 30e-6, 3.0, 1.0, false, 0.1, cycle, "absent 10 %");
        case(n, 30.0, 30e-6, 3.0, 1.0, false, 0.1, cycle, "absent 10 % graded 30");
    }
}
