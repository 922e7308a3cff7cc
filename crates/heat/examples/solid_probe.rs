use facedown_heat::{network::*, problem::*, solid, specimen, standards, surroundings};
fn main() {
    for (name, p) in [("bare", specimen::bare()), ("lidded", specimen::lidded()), ("module", specimen::module())] {
        let board = p.board.clone().unwrap();
        let (down, up) = match p.service.surroundings { Surroundings::MovingAir { speed_m_s } => (Downward::Air(speed_m_s), Upward::Air(speed_m_s)), _ => (Downward::Air(0.0), Upward::Air(0.0)) };
        let up = p.service.top_film.map_or(up, Upward::Film);
        for (label, down, up) in [("service", down, up), ("ring", Downward::Ring, Upward::Insulated), ("case", Downward::Insulated, Upward::Film(20000.0)), ("still", Downward::Air(0.0), Upward::Air(0.0))] {
            let setting = Setting { ambient_k: p.service.ambient_k, down, up, board: board.clone(), natural: facedown_heat::film::Natural::ThinLayer, pattern: facedown_heat::mixing::Pattern::Along, powers_w: p.dies.iter().map(|d| d.power_w * if label == "still" { 0.05 } else { 1.0 }).collect() };
            let hand = surroundings::settle(&p, &setting).unwrap();
            println!("{name} {label}: hand junction mean {:?} sensor {:.3} faces {:?}", hand.solution.junction, hand.solution.board_sensor, hand.solution.faces.map(|f| f.heat));
            let mut v = vec![];
            for f in [0.5, 0.7071, 1.0, 1.41, 2.0] {
                let t = std::time::Instant::now();
                match solid::solve(&p, &setting, f) {
                    Ok(r) => { println!("  f {f}: cells {} rounds {:?} bal {:.1e} T {:.3} mean {:.3} bump {:.3} case {:.3} sensor {:.3} faces {:?} {:.2}s", r.cells, r.rounds, r.balance, r.junction(), r.dies[0].mean, r.bump(), r.case(), r.board_sensor, r.faces.map(|f| (f.heat * 1e3).round() / 1e3), t.elapsed().as_secs_f64()); v.push(r.junction());
                        if f == 1.0 { for c in r.above.iter().chain(&r.below) { print!(" {:?} {:.3}", c.part, c.drop); } println!(); } }
                    Err(e) => println!("  f {f}: {e}"),
                }
            }
        }
    }
}
