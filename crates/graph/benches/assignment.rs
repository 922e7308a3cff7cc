use facedown_graph::assignment::*;
use std::time::Instant;
fn ring(n: usize, w: f64) -> Vec<[f64; 2]> {
    let m = n / 4;
    let mut out = vec![];
    for s in 0..4 {
        for k in 0..m {
            let t = (k as f64 + 0.5) / m as f64 * w;
            out.push(match s {
                0 => [t, 60.0],
                1 => [w - 60.0, t],
                2 => [w - t, w - 60.0],
                _ => [60.0, w - t],
            });
        }
    }
    out
}
fn main() {
    for n in [1000usize, 2000, 5000] {
        let w = 10000.0;
        let p = ring(n, w);
        for f in [1.0, 1.3] {
            let k = (n as f64 * f).sqrt().ceil() as usize;
            let g: Vec<f64> = (0..k).map(|i| (i as f64 + 0.5) * w / k as f64).collect();
            let b: Vec<[f64; 2]> = g.iter().flat_map(|&y| g.iter().map(move |&x| [x, y])).collect();
            let t = Instant::now();
            let a = assign_points(&p, &b, Distance::Euclidean).unwrap();
            println!("ring {n} {} geo {} gap {:e} {:?}", b.len(), a.total, a.total - a.bound(), t.elapsed());
            let t = Instant::now();
            let c = CostMatrix::from_fn(p.len(), b.len(), |i, j| Distance::Euclidean.between(p[i], b[j]))
                .unwrap();
            if n < 5000 {
                let a = assign_dense(&c).unwrap();
                println!(
                    "ring {n} {} dense {} gap {:e} {:?}",
                    b.len(),
                    a.total,
                    a.total - a.bound(),
                    t.elapsed()
                );
            }
        }
        let mut s = 12345u64;
        let mut r = || {
            s = s.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
            (s >> 11) as f64 / (1u64 << 53) as f64 * w
        };
        let p: Vec<[f64; 2]> = (0..n).map(|_| [r(), r()]).collect();
        let b: Vec<[f64; 2]> = (0..n).map(|_| [r(), r()]).collect();
        let t = Instant::now();
        let a = assign_points(&p, &b, Distance::Euclidean).unwrap();
        println!("rand {n} geo {} gap {:e} {:?}", a.total, a.total - a.bound(), t.elapsed());
        let t = Instant::now();
        let c =
            CostMatrix::from_fn(p.len(), b.len(), |i, j| Distance::Euclidean.between(p[i], b[j])).unwrap();
        let a = assign_dense(&c).unwrap();
        println!("rand {n} dense {} gap {:e} {:?}", a.total, a.total - a.bound(), t.elapsed());
    }
}
