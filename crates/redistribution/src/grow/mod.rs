//! Supply planes: after routing, the metal of chosen nets is grown into the free room of its layer.
//!
//! The free room is the die less its edge clearance, all foreign metal with its space around, and the keep-outs. Where several
//! supplies grow, each place goes to the one whose metal is nearest ([`share`]). Metal is then added as the union of all
//! discs of a line's width that fit into a supply's part: an opening, so that nothing added is narrower than a line and all
//! its outward corners are round. Necks where two such discs overlap and sharp notches beside traces are found on the
//! outline with the net's own metal ([`notch`]) and the plane draws back from them. What does not touch the net's own
//! metal, or adds next to nothing, is left out.
//!
//! All distances err to the safe side: foreign outlines are made coarser outward and grown by circumscribed arcs. What a
//! plane covers depends on the drawing alone, so the same drawing gives the same planes.
//!
//! Limits: holes in foreign metal count as metal. The border between two supplies is true to about a third of line
//! and space, or of the lattice of [`share`] on large dies. Planes come out solid; openings are cut
//! afterwards ([`crate::openings`]).

mod contour;
mod notch;
mod offset;
pub(crate) mod region;
pub(crate) mod scan;
mod share;

use crate::problem::{Plane, Problem};
use facedown_layout::{Drawing, Role, Shape, ShapeKind};
use offset::{coarser, grown};
use rayon::prelude::*;
use region::{FINE, Pieces, Ring, Spot, area, bounds, common, difference, inside, outer_ring, spot, union};
use std::collections::{BTreeMap, BTreeSet};

/// How far arcs of grown metal may go out beyond true arcs, nm.
const CHORD: f64 = 8.0;
/// The same for the clearance around foreign metal, and how much coarser its outline may be, as a share of the space.
const COARSE: f64 = 0.025;
/// What a disc's radius exceeds half a line by, nm: the checker reads drawn arcs up to two sagittas narrow.
const WIDER: f64 = 6.0;
/// Rounding to whole nanometres on both sides of a space, nm.
const ROUNDING: f64 = 2.0;
/// A piece of plane must add this many squares of a line's width.
const LEAST_SQUARES: f64 = 10.0;
/// How often a plane draws back from necks before the pieces that still have one are given up.
const ROUNDS: usize = 6;

/// Adds a shape of kind [`ShapeKind::Plane`] for every piece of plane of the nets that are to grow.
pub fn grow(problem: &Problem, drawing: &mut Drawing) {
    for number in 1..=problem.layers {
        let here = |p: &Plane| p.layer.is_none_or(|l| l == number);
        let growing = problem.nets.iter().filter(|n| n.plane.as_ref().is_some_and(here));
        let growing: BTreeSet<&str> = growing.map(|n| n.name.as_str()).collect();
        if growing.is_empty() {
            continue;
        }
        let role = Role::Rdl(number);
        let Some(layer) = drawing.layer(role) else { continue };
        let planes = planes(problem, number, &growing, &layer.shapes);
        drawing.layer_mut(role).shapes.extend(planes);
    }
}

/// Distances of one problem, nm.
struct Measures {
    line: f64,
    space: f64,
    /// Radius of the discs that planes are made of.
    disc: f64,
    /// Distance of the centres of these discs from the borders of the room.
    centre: f64,
    /// How coarse outlines of what planes keep away from are.
    coarse: f64,
}

fn planes(problem: &Problem, number: u8, growing: &BTreeSet<&str>, shapes: &[Shape]) -> Vec<Shape> {
    let rules = &problem.rules;
    let disc = rules.line.nm() / 2.0 + WIDER;
    let space = rules.space.nm();
    let measures = Measures {
        line: rules.line.nm(),
        space,
        disc,
        centre: disc + CHORD + ROUNDING,
        coarse: (COARSE * space).clamp(CHORD, 500.0),
    };
    let mut own: BTreeMap<&str, Vec<Ring>> = BTreeMap::new();
    let mut foreign: Vec<Ring> = Vec::new();
    for shape in shapes {
        let ring = outer_ring(&shape.polygon.outer);
        match shape.net.as_deref().filter(|n| growing.contains(n)) {
            _ if shape.kind == ShapeKind::KeepOut => {}
            Some(net) => own.entry(net).or_default().push(ring),
            None => foreign.push(ring),
        }
    }
    if own.is_empty() {
        return Vec::new();
    }
    let keep_outs = problem.keep_outs.iter().filter(|k| k.layer.is_none_or(|l| l == number));
    foreign.extend(keep_outs.map(|k| outer_ring(&k.polygon.outer)));
    let size = [problem.width.nm(), problem.height.nm()];
    let around: Vec<Ring> = foreign.par_iter().map(|r| cleared(r, &measures)).collect();
    let edge = rules.edge_clearance.nm() + measures.centre;
    let whole = [rectangle([edge; 2], [size[0] - edge, size[1] - edge])];
    let room = difference(&whole, &around);
    let metal: Vec<Vec<Ring>> = own.values().cloned().collect();
    let parts = (own.len() > 1).then(|| {
        let room: Vec<&Ring> = room.iter().flatten().collect();
        share::share(size, &room, &metal, measures.line + measures.space)
    });
    let metal_around: Vec<Vec<Ring>> =
        metal.par_iter().map(|rings| rings.iter().map(|r| cleared(r, &measures)).collect()).collect();
    let names: Vec<&str> = own.keys().copied().collect();
    let grown: Vec<Vec<Shape>> = (0..names.len())
        .into_par_iter()
        .map(|k| {
            let mut less: Vec<Ring> = Vec::new();
            if let Some(parts) = &parts {
                let apart = measures.space / 2.0 + parts.doubt + measures.centre;
                less = outside(size, &parts.rings[k], apart, measures.coarse);
            }
            let others = metal_around.iter().enumerate().filter(|o| o.0 != k).flat_map(|o| o.1);
            let centres = difference(room.iter().flatten(), less.iter().chain(others));
            let pieces = plane(&centres, &metal[k], &measures);
            pieces
                .iter()
                .filter_map(|p| Some(Shape::new(ShapeKind::Plane, Some(names[k]), region::polygon(p)?)))
                .collect()
        })
        .collect();
    grown.into_iter().flatten().collect()
}

fn rectangle(low: [f64; 2], high: [f64; 2]) -> Ring {
    vec![spot(low[0], low[1]), spot(high[0], low[1]), spot(high[0], high[1]), spot(low[0], high[1])]
}

/// Where the centre of a disc may not be because of this metal.
fn cleared(ring: &[Spot], measures: &Measures) -> Ring {
    grown(&coarser(ring, measures.coarse), measures.space + measures.centre, measures.coarse)
}

/// Everything outside a part, and `by` nm of the part along its border.
fn outside(size: [f64; 2], part: &[Ring], by: f64, coarse: f64) -> Vec<Ring> {
    let far = 2.0 * size[0].max(size[1]);
    let mut rings = vec![rectangle([-far; 2], [far; 2])];
    rings.extend(part.iter().map(|ring| {
        let hole: Ring = ring.iter().rev().copied().collect();
        grown(&hole, by, coarse)
    }));
    rings
}

/// The pieces of plane whose discs have their centres in `centres`, joined to a net's own metal.
fn plane(centres: &Pieces, metal: &[Ring], measures: &Measures) -> Pieces {
    let pieces = joined(discs(centres, measures), metal, measures);
    // Piece by piece, as few of them have a neck.
    pieces
        .into_par_iter()
        .flat_map_iter(|piece| {
            let [low, high] = bounds(&piece[0]);
            let near = |ring: &&Ring| {
                let [l, h] = bounds(ring);
                let reach = (measures.line * FINE) as i64;
                (0..2).all(|k| l[k] <= high[k] + reach && h[k] >= low[k] - reach)
            };
            let metal: Vec<Ring> = metal.iter().filter(near).cloned().collect();
            let mine: Pieces = centres.iter().filter(|c| inside(&piece, c[0][0])).cloned().collect();
            drawn_back(piece, mine, &metal, measures)
        })
        .collect()
}

fn discs(centres: &Pieces, measures: &Measures) -> Pieces {
    let rings: Vec<Ring> = centres.iter().flatten().map(|r| grown(r, measures.disc, CHORD)).collect();
    union(&rings)
}

/// What is left of a piece, the union of the discs around `centres`, when it has drawn back from all necks and notches.
fn drawn_back(piece: Vec<Ring>, mut centres: Pieces, metal: &[Ring], measures: &Measures) -> Pieces {
    let bad = |pieces: &Pieces| {
        let all = union(pieces.iter().flatten().chain(metal));
        notch::notches(&all.iter().flatten().collect::<Vec<_>>(), measures.line)
    };
    let size = |pieces: &Pieces| pieces.iter().flatten().map(|r| area(r)).sum::<f64>();
    let mut pieces = vec![piece];
    let mut notches = bad(&pieces);
    for round in 0..ROUNDS {
        if notches.is_empty() {
            break;
        }
        // From a neck that was met before, the plane draws back further.
        let by = measures.disc * (2.0 + round as f64 / 2.0);
        let holes: Vec<Ring> = notches.iter().map(|&at| circle(at, by)).collect();
        let before = size(&centres);
        centres = difference(centres.iter().flatten(), &holes);
        if (size(&centres) - before).abs() < 1.0 {
            break;
        }
        pieces = joined(discs(&centres, measures), metal, measures);
        notches = bad(&pieces);
    }
    pieces.retain(|p| !notches.iter().any(|&at| passes(p, at, 0.1 * measures.line)));
    pieces
}

fn circle(at: Spot, radius: f64) -> Ring {
    const CORNERS: usize = 24;
    let step = std::f64::consts::TAU / CORNERS as f64;
    let r = radius * FINE / (step / 2.0).cos();
    (0..CORNERS)
        .map(|k| {
            let a = k as f64 * step;
            [at[0] + (r * a.cos()).round() as i64, at[1] + (r * a.sin()).round() as i64]
        })
        .collect()
}

/// The pieces that overlap the metal and add something worth while to it.
fn joined(pieces: Pieces, metal: &[Ring], measures: &Measures) -> Pieces {
    let boxes: Vec<[Spot; 2]> = pieces.iter().map(|p| bounds(&p[0])).collect();
    let mut shared = vec![0.0; pieces.len()];
    for overlap in common(pieces.iter().flatten(), metal) {
        let Some(at) = within(&overlap[0]) else { continue };
        let holds = |k: &usize| {
            let [low, high] = boxes[*k];
            (0..2).all(|i| low[i] <= at[i] && at[i] <= high[i]) && inside(&pieces[*k], at)
        };
        if let Some(k) = (0..pieces.len()).find(holds) {
            shared[k] += overlap.iter().map(|r| area(r)).sum::<f64>();
        }
    }
    let least = LEAST_SQUARES * measures.line * measures.line;
    pieces
        .into_iter()
        .zip(shared)
        .filter(|(p, s)| *s > 0.0 && p.iter().map(|r| area(r)).sum::<f64>() - s >= least)
        .map(|(p, _)| p)
        .collect()
}

/// A point just inside the longest edge of a ring.
fn within(ring: &[Spot]) -> Option<Spot> {
    let edge = |i: usize| (ring[i], ring[(i + 1) % ring.len()]);
    let length = |i: usize| {
        let (a, b) = edge(i);
        ((b[0] - a[0]) as f64).hypot((b[1] - a[1]) as f64)
    };
    let longest = (0..ring.len()).max_by(|&i, &j| length(i).total_cmp(&length(j)))?;
    let ((a, b), l) = (edge(longest), length(longest));
    let inward = [-((b[1] - a[1]) as f64) / l * 3.0, (b[0] - a[0]) as f64 / l * 3.0];
    Some([0, 1].map(|k| (a[k] + b[k]) / 2 + inward[k].round() as i64))
}

/// True when the outline of a piece passes within `near` nm of a point.
fn passes(piece: &[Ring], at: Spot, near: f64) -> bool {
    let from = |p: Spot| [(p[0] - at[0]) as f64 / FINE, (p[1] - at[1]) as f64 / FINE];
    piece.iter().any(|ring| {
        (0..ring.len()).any(|i| {
            let (a, b) = (from(ring[i]), from(ring[(i + 1) % ring.len()]));
            crate::route::plane::nearest_on_segment(a, b, [0.0, 0.0]).1 < near
        })
    })
}
