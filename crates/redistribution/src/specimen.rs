//! Generated rings: wire-bond pads in two staggered rows around a full bump array, as full as one likes.
//!
//! Invented data for benches and tests. The pitch is chosen so that the gaps of the outermost bump row are used to a given share
//! of their room, the measure by which such problems are easy or hard.

use crate::problem::{AssignmentMode, Pad, Problem, Rules, Site, Style};
use facedown_layout::Point;
use facedown_quantity::Nm;

/// A ring of `pads` signal pads whose outermost bump row is used to `cut_use` (0..1) on one layer, with lines and
/// spaces of `line` um. With `fixed`, every bump's net is given: by the order of the free optimum with every
/// `swap`-th pair of neighbouring pads exchanged (0 for none).
pub fn ring(pads: usize, cut_use: f64, line: f64, layers: u8, fixed: Option<usize>) -> Problem {
    // Of the array sizes that hold all pads, the one whose outermost row comes nearest to the wanted use with a
    // whole number of lines a gap.
    let least = (pads as f64).sqrt().ceil() as usize;
    let (mut n, mut lines, mut off) = (least, 1.0, f64::INFINITY);
    for size in least..least + 4 {
        let outer = 4.0 * (size as f64 - 1.0);
        let inner = (pads as f64 - outer).max(0.0);
        let per_gap = (inner / outer / cut_use - 1e-9).ceil().max(1.0);
        let miss = (inner / outer / per_gap - cut_use).abs();
        if miss < off - 0.005 {
            (n, lines, off) = (size, per_gap, miss);
        }
    }
    // Capture pads of 0.54 of the pitch leave a gap of 0.46: the lines and one more space, and the allowance for
    // drawing arcs as chords.
    let pitch = ((2.0 * lines * line + 1.01 * line) / 0.46).max(8.0 * line).ceil();
    let row = (3.0 * line).max(30.0);
    let margin = 2.0 * row + 1.5 * line + 40.0 + 0.6 * pitch;
    let side = (n as f64 - 1.0) * pitch + 2.0 * margin;
    let along = 4.0 * (side - 4.0 * row) / pads as f64;
    let opening = (0.6 * along).clamp(4.0, 28.0).floor();
    let mut list = Vec::with_capacity(pads);
    for i in 0..pads {
        let s = (i as f64 + 0.5) * along;
        let edge = (s / (side - 4.0 * row)).floor();
        let at = s - edge * (side - 4.0 * row) + 2.0 * row;
        let depth = (1.5 * line + 7.0).max(20.0) + if i % 2 == 0 { 0.0 } else { row };
        let (x, y) = match edge as usize % 4 {
            0 => (at, depth),
            1 => (side - depth, at),
            2 => (side - at, side - depth),
            _ => (depth, side - at),
        };
        list.push(Pad {
            name: format!("P{i}"),
            net: format!("n{i}"),
            at: Point::um(x.round(), y.round()),
            width: Nm::round_um(opening),
            height: Nm::round_um(opening),
        });
    }
    let sites = (0..n * n)
        .map(|k| Site {
            name: format!("B{k}"),
            at: Point::um(
                (margin + pitch * (k % n) as f64).round(),
                (margin + pitch * (k / n) as f64).round(),
            ),
            net: None,
        })
        .collect();
    let um = Nm::round_um;
    let capture = (0.54 * pitch).floor();
    let mut problem = Problem {
        name: format!("ring-{pads}"),
        width: um(side.ceil()),
        height: um(side.ceil()),
        pads: list,
        sites,
        rules: Rules {
            line: um(line),
            space: um(line),
            edge_clearance: um(5.0),
            landing_enclosure: um(1.0),
            capture: um(capture),
            ubm: um((0.5 * pitch).floor()),
            bump_opening: um((0.4 * pitch).floor()),
            bump: um((0.6 * pitch).floor()),
            pad_opening_inset: um(1.0),
            via: um(2.0 * line),
            via_enclosure: um(line / 2.0),
            slots: None,
        },
        layers,
        style: Style::AnyAngle,
        assignment: AssignmentMode::Free,
        nets: Vec::new(),
        keep_outs: Vec::new(),
    };
    if let Some(swap) = fixed {
        give_nets(&mut problem, swap);
    }
    problem
}

/// Gives every bump its net: the free optimum, with every `swap`-th pair of neighbouring pads exchanged.
fn give_nets(problem: &mut Problem, swap: usize) {
    let Ok(pairing) = crate::assignment::assign(problem) else { return };
    let mut site_of = vec![usize::MAX; problem.pads.len()];
    for t in &pairing.trees {
        site_of[t.pads[0]] = t.sites[0];
    }
    if swap > 0 {
        for i in (0..problem.pads.len() - 1).step_by(swap) {
            site_of.swap(i, i + 1);
        }
    }
    for (p, &s) in site_of.iter().enumerate() {
        problem.sites[s].net = Some(problem.pads[p].net.clone());
    }
    problem.sites.retain(|s| s.net.is_some());
    problem.assignment = AssignmentMode::Fixed;
}
