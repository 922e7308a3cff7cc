//! Octilinear layouts: all nets routed, no rule broken, every piece of every trace in an exact multiple of 45 degrees, and
//! no longer than the octilinear distances ask for by more than the metal in the way explains.

use facedown_layout::{Point, ShapeKind};
use facedown_quantity::Nm;
use facedown_redistribution::octilinear::gauge;
use facedown_redistribution::specimen::ring;
use facedown_redistribution::{AssignmentMode, Outcome, Pad, Problem, Rules, Site, Style, solve};
use std::path::{Path, PathBuf};

fn octilinear(mut p: Problem) -> (Problem, Outcome) {
    p.style = Style::Octilinear;
    let o = solve(&p, &mut |_| true).unwrap();
    (p, o)
}

/// Sharpest change of direction between neighbouring sides of a trace, degrees, after a check that every side runs in a
/// multiple of 45 degrees. Its four end corners are square cuts, so a straight trace gives 90.
fn directions(o: &Outcome) -> f64 {
    let mut worst = 0.0_f64;
    let mut traces = 0;
    for s in o.drawing.layers.iter().flat_map(|l| &l.shapes).filter(|s| s.kind == ShapeKind::Trace) {
        traces += 1;
        let ring = &s.polygon.outer;
        let n = ring.len();
        let side = |k: usize| {
            let (a, b) = (ring[k % n], ring[(k + 1) % n]);
            (b.x.0 - a.x.0, b.y.0 - a.y.0)
        };
        for k in 0..n {
            let (u, v) = (side(k), side(k + 1));
            assert!(
                u.0 == 0 || u.1 == 0 || u.0.abs() == u.1.abs(),
                "net {:?}: a side of ({}, {}) nm is no multiple of 45 degrees",
                s.net,
                u.0,
                u.1
            );
            let turn = ((u.0 * v.1 - u.1 * v.0) as f64).atan2((u.0 * v.0 + u.1 * v.1) as f64);
            worst = worst.max(turn.abs().to_degrees());
        }
    }
    assert!(traces > 0);
    worst
}

/// Length of the routed two-terminal nets over the sum of their octilinear distances (plane geometry).
fn over_octilinear_distance(p: &Problem, o: &Outcome) -> f64 {
    let (mut length, mut least) = (0.0, 0.0);
    for n in o.nets.iter().filter(|n| n.routed && n.pads.len() == 1 && n.bumps.len() == 1) {
        let a = p.pads.iter().find(|x| x.name == n.pads[0]).unwrap().at;
        let b = p.sites.iter().find(|x| x.name == n.bumps[0]).unwrap().at;
        let d8 = gauge::length([a.x.nm() - b.x.nm(), a.y.nm() - b.y.nm()]);
        assert!(n.length_m * 1e9 >= d8 - 1.0, "net {} is shorter than its octilinear distance", n.net);
        length += n.length_m * 1e9;
        least += d8;
    }
    length / least
}

fn figure(o: &Outcome, name: &str) -> f64 {
    o.figures.iter().find(|f| f.name == name).unwrap().value
}

fn clean(p: &Problem, o: &Outcome) {
    let mut rules = facedown_rulecheck::Rules::new(p.rules.line, p.rules.space);
    rules.edge_clearance = Some(p.rules.edge_clearance);
    let report = facedown_rulecheck::check(&o.drawing, &rules);
    let said: Vec<&str> = report.violations.iter().map(|v| v.sentence.as_str()).take(5).collect();
    assert_eq!(report.total, 0, "{}: {said:#?}", p.name);
}

#[test]
fn generated_rings_are_routed_whole_in_multiples_of_45_degrees() {
    for (pads, cut_use, most) in
        [(60, 0.5, 1.01), (60, 0.8, 1.01), (250, 0.5, 1.02), (250, 0.8, 1.03), (500, 0.7, 1.03)]
    {
        let (p, o) = octilinear(ring(pads, cut_use, 5.0, 1, None));
        assert_eq!(
            figure(&o, "routed_nets"),
            figure(&o, "nets"),
            "{pads} at {cut_use}: {:?}",
            o.certificates
        );
        clean(&p, &o);
        assert!(directions(&o) <= 90.0);
        let over = over_octilinear_distance(&p, &o);
        assert!(over <= most, "{pads} at {cut_use}: {over}");
    }
}

#[test]
fn the_same_problem_gives_the_same_octilinear_drawing() {
    let p = ring(60, 0.8, 5.0, 1, None);
    assert_eq!(octilinear(p.clone()).1, octilinear(p).1);
}

#[test]
fn bends_turn_by_45_degrees() {
    let (_, o) = octilinear(ring(250, 0.8, 5.0, 1, None));
    for s in o.drawing.layers.iter().flat_map(|l| &l.shapes).filter(|s| s.kind == ShapeKind::Trace) {
        let ring = &s.polygon.outer;
        let n = ring.len();
        let square = (0..n)
            .filter(|&k| {
                let [a, b, c] = [0, 1, 2].map(|i| ring[(k + i) % n]);
                (b.x.0 - a.x.0) * (c.x.0 - b.x.0) + (b.y.0 - a.y.0) * (c.y.0 - b.y.0) == 0
            })
            .count();
        assert_eq!(square, 4, "net {:?} has a right-angled bend beside its four end corners", s.net);
    }
}

#[test]
fn two_layers_and_given_nets_stay_clean() {
    for p in [ring(120, 0.7, 5.0, 2, None), ring(120, 0.6, 5.0, 1, Some(7))] {
        let (p, o) = octilinear(p);
        assert_eq!(figure(&o, "routed_nets"), 120.0, "{:?}", o.certificates);
        clean(&p, &o);
        directions(&o);
    }
}

fn shared() -> Option<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data");
    folder.join("ring-b-pads.csv").is_file().then_some(folder)
}

fn read(path: &Path) -> Vec<(String, String, Point)> {
    let text = std::fs::read_to_string(path).unwrap();
    let rows = text.lines().filter(|l| !l.starts_with('#')).skip(1);
    rows.map(|l| {
        let f: Vec<&str> = l.split(',').collect();
        (f[0].into(), f[1].into(), Point::um(f[2].parse().unwrap(), f[3].parse().unwrap()))
    })
    .collect()
}

/// The real ring with its nets given; a landing of 2.9 um around an opening inset by 5 um.
fn real_ring(folder: &Path, space: f64) -> Problem {
    let um = Nm::round_um;
    let pads = read(&folder.join("ring-b-pads.csv")).into_iter().map(|(name, net, at)| Pad {
        name,
        net,
        at,
        width: um(60.0),
        height: um(60.0),
    });
    let sites = read(&folder.join("ring-b-bumps.csv"));
    let pads: Vec<Pad> = pads.collect();
    let sites = sites
        .into_iter()
        .filter(|(_, net, _)| pads.iter().any(|p| p.net == *net))
        .map(|(name, net, at)| Site { name, at, net: Some(net) })
        .collect();
    Problem {
        name: "ring-b".into(),
        width: um(3880.0),
        height: um(5070.0),
        pads,
        sites,
        rules: Rules {
            line: um(40.0),
            space: um(space),
            edge_clearance: um(2.0),
            landing_enclosure: um(2.9),
            capture: um(270.0),
            ubm: um(250.0),
            bump_opening: um(220.0),
            bump: um(300.0),
            pad_opening_inset: um(5.0),
            via: um(40.0),
            via_enclosure: um(10.0),
        },
        layers: 1,
        style: Style::Octilinear,
        assignment: AssignmentMode::Fixed,
        nets: Vec::new(),
        keep_outs: Vec::new(),
    }
}

#[test]
fn a_real_ring_is_routed_octilinear() {
    let Some(folder) = shared() else {
        println!("skipped: the folder with the pads and bumps of the real ring is absent");
        return;
    };
    for space in [10.0, 26.0] {
        let (p, o) = octilinear(real_ring(&folder, space));
        println!(
            "space {space} um: {} of {} nets, {:.4} of the geodesic bound, {:.4} of the octilinear distances",
            figure(&o, "routed_nets"),
            figure(&o, "nets"),
            figure(&o, "wirelength_ratio"),
            over_octilinear_distance(&p, &o)
        );
        assert_eq!(figure(&o, "routed_nets"), 57.0, "space {space} um: {:?}", o.certificates);
        clean(&p, &o);
        directions(&o);
    }
}
