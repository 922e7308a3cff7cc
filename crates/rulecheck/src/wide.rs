//! Metal too wide: discs wider than the limit that lie in the metal of one piece outside its pads.
//!
//! Landings, capture pads and vias have their own sizes and are taken out: what is left must hold no disc wider than the
//! limit. The middle of such a disc is looked for by halving squares: the distance `d` of a square's middle from the nearest
//! edge bounds that of every other point in it by `d + r`, `r` half its diagonal, so most squares are dropped at once.
//! What is dropped cannot hold a middle. The edges that a square may need are handed down from square to square; whether
//! its middle is metal follows from the edges between it and the middle of the square that it was cut from.

use crate::cluster::Hit;
use crate::exact::Spot;
use crate::merge::FINE;
use crate::plane::{Part, Plane};
use facedown_layout::ShapeKind;
use rayon::prelude::*;

/// Points of the search lie on a grid twice as fine as the merged outlines and at odd places of it, so that no
/// horizontal or vertical way between two of them meets a corner.
const FINER: i64 = 2;

#[derive(Clone, Copy)]
struct Edge {
    a: Spot,
    b: Spot,
    /// Edge of a pad, else of the merged metal.
    pad: bool,
}

/// Places of discs wider than `limit` + `slack` (nm): keys are the pieces, values the widths found there, negative so that the
/// widest comes first. A width found is that of a disc that is there; a wider one may be nearby.
pub(crate) fn too_wide(plane: &Plane, limit: f64, slack: f64) -> Vec<Hit> {
    let scale = (FINE * FINER) as f64;
    let radius = (limit + slack) / 2.0 * scale;
    let mut edges: Vec<Vec<Edge>> = vec![Vec::new(); plane.pieces as usize];
    for number in 0..plane.merged.edges.len() as u32 {
        let [a, b] = plane.merged.edges[number as usize].map(|p| p.map(|v| v * FINER));
        edges[plane.merged.owner(number) as usize].push(Edge { a, b, pad: false });
    }
    for (part, piece) in plane.parts.iter().zip(&plane.piece_of).filter(|(p, _)| is_pad(p)) {
        for ring in &part.rings {
            let next = ring.iter().cycle().skip(1);
            edges[*piece as usize].extend(ring.iter().zip(next).map(|(a, b)| Edge {
                a: a.map(|v| v * FINE * FINER),
                b: b.map(|v| v * FINE * FINER),
                pad: true,
            }));
        }
    }
    let found: Vec<Vec<Hit>> = edges
        .into_par_iter()
        .enumerate()
        .map(|(piece, edges)| {
            let mut hits = Vec::new();
            let Some((first, half)) = whole(&edges, radius) else { return hits };
            search(first, half, &edges, radius, &mut |at: Spot, d: f64| {
                hits.push(Hit {
                    key: (piece as u32, piece as u32),
                    value: -2.0 * d / scale,
                    at: at.map(|v| v as f64 / scale),
                    edges: None,
                });
            });
            hits
        })
        .collect();
    found.into_iter().flatten().collect()
}

fn is_pad(part: &Part) -> bool {
    matches!(part.kind, ShapeKind::Landing | ShapeKind::Capture | ShapeKind::Via)
}

/// A point of the search: where it is, and how often metal and pads are wound around it.
#[derive(Clone, Copy)]
struct Middle {
    at: Spot,
    metal: i32,
    pads: i32,
}

impl Middle {
    fn in_metal(&self) -> bool {
        self.metal > 0 && self.pads <= 0
    }

    /// The point by way of a horizontal and a vertical step, counting the edges crossed.
    fn moved(&self, to: Spot, edges: &[Edge]) -> Middle {
        let mut there = Middle { at: to, ..*self };
        let corner = [to[0], self.at[1]];
        for e in edges {
            let mut turns = 0;
            if (e.a[1] > self.at[1]) != (e.b[1] > self.at[1]) {
                turns += left(e, corner) - left(e, self.at);
            }
            if (e.a[0] > corner[0]) != (e.b[0] > corner[0]) {
                turns += left(e, to) - left(e, corner);
            }
            if e.pad {
                there.pads += turns;
            } else {
                there.metal += turns;
            }
        }
        there
    }
}

/// 1 where a point lies left of an edge, which is where the metal is.
fn left(e: &Edge, p: Spot) -> i32 {
    let cross = i128::from(e.b[0] - e.a[0]) * i128::from(p[1] - e.a[1])
        - i128::from(e.b[1] - e.a[1]) * i128::from(p[0] - e.a[0]);
    i32::from(cross > 0)
}

/// A square around all edges, its middle outside everything; nothing where no disc of `radius` fits between them.
fn whole(edges: &[Edge], radius: f64) -> Option<(Middle, i64)> {
    let metal = || edges.iter().filter(|e| !e.pad).map(|e| e.a);
    let (mut low, mut high) = ([i64::MAX; 2], [i64::MIN; 2]);
    for p in metal() {
        for k in 0..2 {
            low[k] = low[k].min(p[k]);
            high[k] = high[k].max(p[k]);
        }
    }
    if metal().next().is_none() || (0..2).any(|k| ((high[k] - low[k]) as f64) < 2.0 * radius) {
        return None;
    }
    // A power of two, so that halves stay whole and middles odd.
    let half = (((high[0] - low[0]).max(high[1] - low[1]) / 2 + 4) as u64).next_power_of_two() as i64;
    let outside = Middle { at: low.map(|v| v - 3), metal: 0, pads: 0 };
    let odd = |v: i64| v | 1;
    Some((outside.moved([odd(low[0] + half - 2), odd(low[1] + half - 2)], edges), half))
}

fn search(from: Middle, half: i64, edges: &[Edge], radius: f64, found: &mut dyn FnMut(Spot, f64)) {
    let reach = half as f64 * std::f64::consts::SQRT_2;
    // Edges farther away than this change nothing in the square.
    let far = radius + reach;
    let mut near = Vec::new();
    let mut d = f64::INFINITY;
    for e in edges {
        let to = distance(from.at, e);
        if to <= far {
            near.push(*e);
            d = d.min(to);
        }
    }
    if from.in_metal() {
        if d + reach < radius {
            return;
        }
        if d >= radius {
            found(from.at, if d.is_finite() { d } else { radius });
            // Close enough together to be told as one place.
            if reach <= radius {
                return;
            }
        }
    } else if d > reach || reach - d < radius && reach < radius {
        return;
    }
    let quarter = half / 2;
    // Middles closer than this are told apart by rounding only.
    if quarter < 4 {
        return;
    }
    for [x, y] in [[-1, -1], [1, -1], [-1, 1], [1, 1]] {
        let to = [from.at[0] + x * quarter, from.at[1] + y * quarter];
        search(from.moved(to, &near), quarter, &near, radius, found);
    }
}

fn distance(p: Spot, e: &Edge) -> f64 {
    let v = |q: Spot| [(q[0] - e.a[0]) as f64, (q[1] - e.a[1]) as f64];
    let (along, to) = (v(e.b), v(p));
    let length2 = along[0] * along[0] + along[1] * along[1];
    let t =
        if length2 > 0.0 { ((to[0] * along[0] + to[1] * along[1]) / length2).clamp(0.0, 1.0) } else { 0.0 };
    (to[0] - t * along[0]).hypot(to[1] - t * along[1])
}
