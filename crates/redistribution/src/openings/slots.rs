//! Slots in metal wider than the process allows.
//!
//! The rule: no disc of diameter `M` lies in a net's metal outside its landings, capture pads and vias. Square slots of
//! side `h` stand on a lattice with bars of `b` between them, at least `g` inside the metal and away from pads. The
//! middle of any disc is at most (h + b)/sqrt 2 from the middle of a slot, half the diagonal of the lattice's cell, and so
//! at most (2 h + b)/sqrt 2 from all of it. With
//!
//! ```text
//! sqrt 2 (2 h + b) <= M - 2 g
//! ```
//!
//! every disc of the metal holds a whole slot that is g inside the disc, and hence g inside the metal: it was not
//! left out, and the disc is not metal any more. That holds for metal of any outline (plane geometry).
//!
//! Slots stand only where such discs are: their middles are looked for on a lattice of M/16, so metal is slotted from
//! 0.91 M on.

use super::cut::cut;
use super::lattice::Lattice;
use super::{is_pad, meets, rings};
use crate::grow::region::{FINE, Ring, Spot, bounds, union};
use crate::problem::{Problem, Slots};
use facedown_layout::{Drawing, Layer, Role};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::f64::consts::SQRT_2;

/// Added to distances so that rounding to whole nanometres makes no metal narrower than a line, nm.
const ROUNDING: f64 = 2.0;
/// Lattice of the middles of discs: a first look, and the one that decides, as shares of the widest metal.
const LOOKS: [f64; 2] = [1.0 / 4.0, 1.0 / 16.0];

/// Cuts slots into all metal that is too wide.
pub fn slots(problem: &Problem, drawing: &mut Drawing) {
    let Some(rule) = problem.rules.slots else { return };
    let pattern = Pattern::of(rule, problem.rules.line.nm());
    for layer in drawing.layers.iter_mut().filter(|l| matches!(l.role, Role::Rdl(_))) {
        slotted(layer, &pattern);
    }
}

/// Lengths in nm.
struct Pattern {
    widest: f64,
    side: f64,
    bar: f64,
    /// Least distance of a slot from edges and pads.
    apart: f64,
}

impl Pattern {
    /// The widest bars that leave no metal too wide; never narrower than a line.
    fn of(rule: Slots, line: f64) -> Pattern {
        let (widest, side, apart) = (rule.widest.nm(), rule.side.nm(), line + ROUNDING);
        let bar = ((widest - 2.0 * apart - ROUNDING) / SQRT_2 - 2.0 * side).floor().max(line);
        Pattern { widest, side, bar, apart }
    }

    fn pitch(&self) -> f64 {
        self.bar + self.side
    }
}

fn slotted(layer: &mut Layer, pattern: &Pattern) {
    let mut own: BTreeMap<&str, (Vec<Ring>, Vec<Ring>)> = BTreeMap::new();
    for shape in &layer.shapes {
        if let Some(net) = &shape.net {
            let (metal, pads) = own.entry(net).or_default();
            let outline = rings(&shape.polygon);
            if is_pad(shape.kind) {
                pads.extend(outline.iter().cloned());
            }
            metal.extend(outline);
        }
    }
    let squares: BTreeMap<String, Vec<Ring>> = own
        .into_par_iter()
        .map(|(net, (metal, pads))| {
            let pieces = union(&metal);
            let found = pieces.iter().flat_map(|piece| squares(piece, &pads, pattern)).collect();
            (net.to_owned(), found)
        })
        .filter(|(_, found): &(String, Vec<Ring>)| !found.is_empty())
        .collect();
    if squares.is_empty() {
        return;
    }
    let shapes = std::mem::take(&mut layer.shapes);
    let cut_up: Vec<_> = shapes
        .into_par_iter()
        .map(|shape| match shape.net.as_ref().and_then(|n| squares.get(n)) {
            Some(squares) if !is_pad(shape.kind) => cut(shape, squares),
            _ => vec![shape],
        })
        .collect();
    layer.shapes = cut_up.into_iter().flatten().collect();
}

/// The slots of one connected piece of metal, counter-clockwise.
fn squares(piece: &[Ring], pads: &[Ring], pattern: &Pattern) -> Vec<Ring> {
    let around = bounds(&piece[0]);
    let across = (0..2).map(|k| (around[1][k] - around[0][k]) as f64 / FINE).fold(f64::INFINITY, f64::min);
    if across < (1.0 - 2.0 * LOOKS[1]) * pattern.widest {
        return Vec::new();
    }
    let pads: Vec<&Ring> = pads.iter().filter(|p| meets(p, around)).collect();
    let clear = |lattice: &Lattice, apart: f64| {
        let mut clear = vec![false; lattice.len()];
        lattice.inside(piece, |i| clear[i] = true);
        piece.iter().for_each(|r| lattice.near(r, apart, |i| clear[i] = false));
        for &pad in &pads {
            lattice.near(pad, apart, |i| clear[i] = false);
            lattice.inside([pad], |i| clear[i] = false);
        }
        clear
    };
    let mut wide: Option<(Lattice, Vec<bool>, f64)> = None;
    for look in LOOKS {
        let step = look * pattern.widest;
        let points = Lattice::over(around, [0.0; 2], step, 0.0);
        let middles = clear(&points, pattern.widest / 2.0 - step / SQRT_2);
        if !middles.contains(&true) {
            return Vec::new();
        }
        wide = Some((points, middles, step));
    }
    let Some((points, middles, step)) = wide else { return Vec::new() };
    let lattice = Lattice::over(around, [0.0; 2], pattern.pitch(), pattern.side);
    let open = clear(&lattice, pattern.apart);
    // A slot counts when it lies in a disc around one of the middles.
    let reach = pattern.widest / 2.0 - pattern.apart + step / SQRT_2;
    let wanted = |i: usize| {
        let low = lattice.corner(i);
        let (s, far) = (pattern.side, reach);
        points.between(1, low[1] + s - far, low[1] + far).any(|y| {
            points.between(0, low[0] + s - far, low[0] + far).any(|x| {
                let k = points.at(x, y);
                middles[k] && {
                    let p = points.corner(k);
                    let off = [0, 1].map(|a| (p[a] - low[a]).abs().max((p[a] - low[a] - s).abs()));
                    off[0].hypot(off[1]) <= far
                }
            })
        })
    };
    let ring = |i: usize| -> Ring {
        let mut ring: Ring =
            lattice.hole(i).iter().map(|p| [p.x.0, p.y.0].map(|v| v * FINE as i64)).collect::<Vec<Spot>>();
        ring.reverse();
        ring
    };
    (0..lattice.len()).filter(|&i| open[i] && wanted(i)).map(ring).collect()
}
