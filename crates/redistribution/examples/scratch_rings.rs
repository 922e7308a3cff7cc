//! scratch
use facedown_redistribution::specimen::ring;
fn main() {
    let a: Vec<String> = std::env::args().collect();
    let n: usize = a[1].parse().unwrap();
    let cut: f64 = a[2].parse().unwrap();
    let layers: u8 = a[3].parse().unwrap();
    let fixed = a.get(4).map(|s| s.parse().unwrap());
    let p = ring(n, cut, 5.0, layers, fixed);
    let t = std::time::Instant::now();
    let o = facedown_redistribution::solve(&p, &mut |_| true).unwrap();
    println!("time {:?}", t.elapsed());
    for f in &o.figures {
        println!("{} {:.4} {}", f.name, f.value, f.unit);
    }
    for c in &o.certificates {
        println!("{}", format!("{c:?}").chars().take(300).collect::<String>());
    }
    let t = std::time::Instant::now();
    let mut rules = facedown_rulecheck::Rules::new(p.rules.line, p.rules.space);
    if a.len() > 5 {
        return;
    }
    let r = facedown_rulecheck::check(&o.drawing, &rules);
    println!("check {:?} total {} {:?} min {:?}", t.elapsed(), r.total, r.counts, r.min_spacing());
    for v in r.violations.iter().take(6) {
        println!("  {}", v.sentence);
    }
    let _ = &mut rules;
}
