//! Per-net reports and the figures of the study.

use crate::assignment::{Pairing, Tree};
use crate::geodesic::Discs;
use crate::layer::{LayerRoute, Stands, place, via_radius};
use crate::outcome::NetReport;
use crate::problem::{Problem, Style};
use crate::solve::failed;
use facedown_evidence::{Figure, Status};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// One report a tree.
pub fn reports(problem: &Problem, trees: &[Tree], layers: &[LayerRoute]) -> Vec<NetReport> {
    let mut out: Vec<NetReport> = trees
        .iter()
        .map(|t| NetReport {
            net: t.net.clone(),
            pads: t.pads.iter().map(|&p| problem.pads[p].name.clone()).collect(),
            bumps: t.sites.iter().map(|&s| problem.sites[s].name.clone()).collect(),
            routed: false,
            length_m: 0.0,
            bound_m: 0.0,
            width_m: crate::layer::width_of(problem, &t.net) * 1e-9,
            squares: 0.0,
            layers: Vec::new(),
        })
        .collect();
    for l in layers {
        let bad = failed(l);
        // Foreign capture pads (on the upper layer) or vias, grown by a space and half a line.
        let radius =
            if l.number == problem.layers { problem.rules.capture.nm() / 2.0 } else { via_radius(problem) };
        let centres: Vec<_> = l
            .stands
            .iter()
            .filter_map(|s| if let Stands::Site(i) = s { Some(place(problem.sites[*i].at)) } else { None })
            .collect();
        let mut discs: BTreeMap<u64, Discs> = BTreeMap::new();
        for w in &l.routed.sketch.wires {
            let r = radius + problem.rules.space.nm() + w.width / 2.0;
            discs
                .entry(w.width.to_bits())
                .or_insert_with(|| Discs::new(centres.iter().map(|&c| (c, r)).collect()));
        }
        let (courses, lines) = (&l.routed.courses, &l.routed.sketch.wires);
        let bounds: Vec<f64> = (0..courses.len())
            .into_par_iter()
            .map(|w| {
                let (Some(c), Some(around)) = (&courses[w], discs.get(&lines[w].width.to_bits())) else {
                    return 0.0;
                };
                let bends: Vec<_> = c.arcs.iter().map(|a| a.centre).collect();
                around.shortest(c.start, c.end, c.length(), &bends)
            })
            .collect();
        for (w, course) in courses.iter().enumerate() {
            let Some(course) = course else { continue };
            let report = &mut out[l.tree[l.routed.tree_of[w] as usize]];
            report.bound_m += bounds[w] * 1e-9;
            report.length_m += course.length() * 1e-9;
        }
        let mut wires: Vec<Vec<usize>> = vec![Vec::new(); l.tree.len()];
        for (w, &k) in l.routed.tree_of.iter().enumerate() {
            wires[k as usize].push(w);
        }
        for (k, &t) in l.tree.iter().enumerate() {
            out[t].routed = !bad.contains(&k);
            out[t].layers = vec![l.number];
            out[t].squares = squares(l, k, &wires[k]);
        }
    }
    out
}

/// Longest way from a pad to a bump through a tree, in squares.
fn squares(l: &LayerRoute, k: usize, wires: &[usize]) -> f64 {
    let r = &l.routed;
    let tree = &r.trees[k];
    let mut best = 0.0_f64;
    for &start in tree.vertices.iter().filter(|&&v| matches!(l.stands[v as usize], Stands::Pad(_))) {
        // A pad is served by the nearest bump of its tree.
        let mut far: Vec<(u32, f64)> = vec![(start, 0.0)];
        let mut i = 0;
        let mut nearest = f64::INFINITY;
        while i < far.len() {
            let (v, d) = far[i];
            i += 1;
            if matches!(l.stands[v as usize], Stands::Site(_)) {
                nearest = nearest.min(d);
                continue;
            }
            for &w in wires {
                let course = &r.courses[w];
                let ends = r.sketch.wires[w].ends;
                let other = if ends[0] == v {
                    ends[1]
                } else if ends[1] == v {
                    ends[0]
                } else {
                    continue;
                };
                if let (Some(c), false) = (course, far.iter().any(|f| f.0 == other)) {
                    far.push((other, d + c.length() / tree.width));
                }
            }
        }
        if nearest.is_finite() {
            best = best.max(nearest);
        }
    }
    best
}

/// The figures of the study, but for those of the rule checker.
pub fn figures(
    problem: &Problem,
    pairing: &Pairing,
    nets: &[NetReport],
    layers: &[LayerRoute],
) -> Vec<Figure> {
    let mut out = Vec::new();
    let mut add = |name: &str, value: f64, unit: &str, error: Option<f64>, hand: Option<f64>, basis: &str| {
        out.push(Figure {
            name: name.into(),
            value,
            unit: unit.into(),
            error,
            hand,
            basis: basis.into(),
            status: Status::Solved,
            outside: None,
            between: None,
        });
    };
    let mut names: Vec<&str> = nets.iter().map(|n| n.net.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    let open: std::collections::BTreeSet<&str> =
        nets.iter().filter(|n| !n.routed).map(|n| n.net.as_str()).collect();
    add("nets", names.len() as f64, "", Some(0.0), None, "count of nets with at least one pad to connect");
    add(
        "routed_nets",
        (names.len() - open.len()) as f64,
        "",
        Some(0.0),
        None,
        "nets of which every piece is connected",
    );
    let bumps = nets.iter().map(|n| n.bumps.len()).sum::<usize>();
    add("bumps", bumps as f64, "", Some(0.0), None, "count of sites that carry a bump");
    let routed = || nets.iter().filter(|n| n.routed);
    let pairs = || routed().filter(|n| n.pads.len() == 1 && n.bumps.len() == 1);
    if routed().next().is_some() {
        let mm = 1e3;
        let hand = pairing.bound_m() * mm;
        let length: f64 = routed().map(|n| n.length_m).sum::<f64>() * mm;
        // Courses are exact up to the rounding of metal to whole nanometres.
        add(
            "wirelength",
            length,
            "mm",
            Some(1e-6 * nets.len() as f64),
            None,
            match problem.style {
                Style::AnyAngle => "sum of centre-line lengths, straight lines and arcs in closed form",
                Style::Octilinear => "sum of centre-line lengths, corner to corner",
            },
        );
        let (l, b) = pairs().fold((0.0, 0.0), |(l, b), n| (l + n.length_m, b + n.bound_m));
        if b > 0.0 {
            add(
                "geodesic_bound",
                b * mm,
                "mm",
                Some(0.0),
                None,
                match problem.style {
                    Style::AnyAngle => {
                        "two-terminal nets: shortest paths around foreign capture pads, exact over common tangents"
                    }
                    Style::Octilinear => {
                        "two-terminal nets: shortest paths in any direction around foreign capture pads, exact over \
                         common tangents; octilinear lengths are up to 8.24 % above them by metric alone (1/cos 22.5 \
                         degrees, plane geometry)"
                    }
                },
            );
            add(
                "wirelength_ratio",
                l / b,
                "",
                Some(0.0),
                Some(1.0),
                "two-terminal nets: wirelength over geodesic bound; 1 cannot be beaten",
            );
            let worst = pairs().map(|n| n.length_m / n.bound_m).fold(0.0, f64::max);
            add(
                "worst_detour",
                worst,
                "",
                Some(0.0),
                Some(1.0),
                "largest length over bound of a two-terminal net",
            );
        }
        add(
            "assignment_bound",
            hand,
            "mm",
            Some(0.0),
            None,
            "exact linear assignment of straight distances over all signal nets (Jonker and Volgenant 1987)",
        );
        add(
            "longest_net",
            routed().map(|n| n.length_m).fold(0.0, f64::max) * mm,
            "mm",
            Some(0.0),
            None,
            "longest connection tree",
        );
        add(
            "trace_resistance_max",
            routed().map(|n| n.squares).fold(0.0, f64::max),
            "squares",
            Some(0.0),
            None,
            "length over width from a pad to its nearest bump",
        );
    }
    if !layers.is_empty() {
        let used: std::collections::BTreeSet<u8> =
            nets.iter().flat_map(|n| n.layers.iter().copied()).collect();
        add("layers_used", used.len() as f64, "", Some(0.0), None, "RDL layers with traces");
        let mut worst = 0.0_f64;
        for l in layers {
            let s = &l.routed.sketch;
            for e in 0..s.mesh.edges.len() as u32 {
                if !s.order[e as usize].is_empty() && s.room(e) > 0.0 {
                    worst = worst.max(s.used(e) / s.room(e));
                }
            }
        }
        add(
            "worst_cut_use",
            worst,
            "",
            Some(0.0),
            None,
            "fullest gap between two neighbouring obstacles: width and space needed over room",
        );
    }
    out
}
