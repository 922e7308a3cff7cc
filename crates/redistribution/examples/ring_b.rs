//! scratch
use facedown_redistribution::geodesic::Discs;
use facedown_redistribution::route::mesh::{Mesh, Vertex};
use facedown_redistribution::route::negotiate::{Effort, Tree, route};
use facedown_redistribution::route::plane::distance;
use std::collections::BTreeMap;

fn read(path: &str) -> Vec<(String, String, f64, f64)> {
    std::fs::read_to_string(path)
        .unwrap()
        .lines()
        .filter(|l| !l.starts_with('#'))
        .skip(1)
        .map(|l| {
            let f: Vec<&str> = l.split(',').collect();
            (f[0].into(), f[1].into(), f[2].parse::<f64>().unwrap() * 1e3, f[3].parse::<f64>().unwrap() * 1e3)
        })
        .collect()
}

fn main() {
    let dir = std::env::args().nth(1).unwrap();
    let space: f64 = std::env::args().nth(2).map_or(10e3, |s| s.parse::<f64>().unwrap() * 1e3);
    let pads = read(&format!("{dir}/ring-b-pads.csv"));
    let bumps = read(&format!("{dir}/ring-b-bumps.csv"));
    let width = 40e3;
    let t0 = std::time::Instant::now();
    let mut vertices = vec![];
    let mut nets: BTreeMap<String, Vec<u32>> = BTreeMap::new();
    for p in &pads {
        nets.entry(p.1.clone()).or_default().push(vertices.len() as u32);
        vertices.push(Vertex { p: [p.2, p.3], radius: 38.3e3, gap: space });
    }
    for p in &bumps {
        nets.entry(p.1.clone()).or_default().push(vertices.len() as u32);
        vertices.push(Vertex { p: [p.2, p.3], radius: 135e3, gap: space });
    }
    let mesh = Mesh::new(&vertices, [2e3, 2e3], [3878e3, 5068e3], &[], space).unwrap();
    let trees: Vec<Tree> = nets
        .values()
        .enumerate()
        .map(|(i, v)| Tree { net: i as u32, vertices: v.clone(), width, class: u32::MAX })
        .collect();
    let names: Vec<&String> = nets.keys().collect();
    let r = route(mesh, trees, space, Effort::default(), &mut |_| true);
    eprintln!("time {:?} expanded {}", t0.elapsed(), r.expanded);
    eprintln!(
        "planar {} full {:?} pinches {:?} missing {:?}",
        r.sketch.planar(),
        r.full.len(),
        r.pinches,
        r.missing
    );
    let (mut total, mut bound) = (0.0, 0.0);
    let mut svg = String::from(
        "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 3880 5070' width='1164' height='1521'><g transform='translate(0,5070) scale(1,-1)'>",
    );
    for p in &pads {
        svg += &format!(
            "<rect x='{}' y='{}' width='60' height='60' fill='#888'/>",
            p.2 / 1e3 - 30.,
            p.3 / 1e3 - 30.
        );
    }
    for p in &bumps {
        svg += &format!("<circle cx='{}' cy='{}' r='135' fill='#ccc'/>", p.2 / 1e3, p.3 / 1e3);
    }
    for (w, c) in r.courses.iter().enumerate() {
        let tree = &r.trees[r.tree_of[w] as usize];
        let Some(c) = c else {
            eprintln!("unrouted {}", names[tree.net as usize]);
            continue;
        };
        let mut d = format!("M{} {}", c.start[0] / 1e3, c.start[1] / 1e3);
        for a in &c.arcs {
            d += &format!(
                "L{} {}A{} {} 0 0 {} {} {}",
                a.from[0] / 1e3,
                a.from[1] / 1e3,
                a.radius / 1e3,
                a.radius / 1e3,
                if a.side > 0.0 { 1 } else { 0 },
                a.to[0] / 1e3,
                a.to[1] / 1e3
            );
        }
        d += &format!("L{} {}", c.end[0] / 1e3, c.end[1] / 1e3);
        let hue = (w * 67) % 360;
        svg += &format!(
            "<path d='{d}' fill='none' stroke='hsl({hue},70%,45%)' stroke-width='40' stroke-opacity='.7'/>"
        );
        if tree.vertices.len() == 2 {
            let foreign: Vec<_> = bumps
                .iter()
                .enumerate()
                .filter(|(i, _)| (63 + i) as u32 != tree.vertices[1])
                .map(|(_, b)| ([b.2, b.3], 135e3 + space + width / 2.0))
                .collect();
            let b = Discs::new(foreign).shortest(c.start, c.end, f64::INFINITY, &[]);
            total += c.length();
            bound += b;
            if c.length() / b > 1.08 {
                eprintln!(
                    "{} {:.3} {:.0} {:.0}",
                    names[tree.net as usize],
                    c.length() / b,
                    c.length() / 1e3,
                    b / 1e3
                );
            }
            let _ = distance(c.start, c.end);
        }
    }
    svg += "</g></svg>";
    std::fs::write("/tmp/ring_b.svg", svg).unwrap();
    eprintln!("total {:.1} bound {:.1} ratio {:.4}", total / 1e3, bound / 1e3, total / bound);
}
