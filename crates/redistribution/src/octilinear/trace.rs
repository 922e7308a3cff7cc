//! Octilinear traces as polygons in whole nanometres, mitred at every bend.
//!
//! Sides lie on lines of whole nanometres, half the width away along the axes and the next even offset at least that far
//! along diagonals, so neighbouring sides meet on whole nanometres, each side runs in an exact multiple of 45
//! degrees, and no place is narrower than asked. At a bend of 45 degrees the mitre reaches as far as the octagon
//! about the corner, which is what clearances were measured with.

use super::gauge;
use crate::metal::{Neighbours, ROUNDING, polygon};
use crate::route::plane::{P2, cross, distance, dot, norm, sub};
use crate::route::taut::Course;
use facedown_layout::Polygon;
use std::f64::consts::FRAC_1_SQRT_2;

/// How far the mitre of a bend of 45 degrees reaches, in half widths: 1 / cos(22.5 degrees), plane geometry.
pub const MITRE: f64 = 1.082_392_200_292_394;

/// The corners of a course: start, bends, end.
pub fn corners(course: &Course) -> Vec<P2> {
    let mut points = vec![course.start];
    points.extend(course.arcs.iter().map(|a| a.centre));
    points.push(course.end);
    points.dedup();
    points
}

/// The trace of an octilinear course with its ends cut straight at the terminals' centres.
pub fn trace(course: &Course, width: f64) -> Polygon {
    let points = corners(course);
    let mut outline = side(&points, width / 2.0 + ROUNDING, -1.0);
    let mut back = side(&points, width / 2.0 + ROUNDING, 1.0);
    back.reverse();
    outline.extend(back);
    polygon(&outline)
}

/// The line beside a piece as `n . p = c` with whole numbers: normal (to the left) with entries of 0 and 1, and offset.
fn beside(a: P2, b: P2, half: f64, hand: f64) -> (P2, f64) {
    let v = sub(b, a);
    let n = [-v[1].signum() * f64::from(v[1] != 0.0), v[0].signum() * f64::from(v[0] != 0.0)];
    let diagonal = n[0] != 0.0 && n[1] != 0.0;
    // Even along diagonals, so that the straight cuts at the ends fall on whole nanometres too.
    let off = if diagonal { 2.0 * (half * FRAC_1_SQRT_2).ceil() } else { half.ceil() };
    (n, dot(n, a) + hand * off)
}

/// One side of a trace: `hand` +1 for the left.
fn side(points: &[P2], half: f64, hand: f64) -> Vec<P2> {
    let lines: Vec<(P2, f64)> = points.windows(2).map(|p| beside(p[0], p[1], half, hand)).collect();
    let last = points.len() - 1;
    let mut out = Vec::with_capacity(points.len());
    for (k, &p) in points.iter().enumerate() {
        let (n, c) = lines[k.min(lines.len() - 1)];
        let foot = || {
            let t = (c - dot(n, p)) / dot(n, n);
            [p[0] + t * n[0], p[1] + t * n[1]]
        };
        if k == 0 || k == last {
            out.push(foot());
            continue;
        }
        let (m, b) = lines[k - 1];
        let det = cross(m, n);
        if det == 0.0 {
            out.push(foot());
        } else {
            out.push([(b * n[1] - c * m[1]) / det, (m[0] * c - n[0] * b) / det]);
        }
    }
    out
}

/// How far the first straight piece, seen from the start or the end of a course, goes before the mitre of its bend
/// begins.
pub fn first_run(course: &Course, from_start: bool, width: f64) -> P2 {
    let mut points = corners(course);
    if !from_start {
        points.reverse();
    }
    let v = sub(points[1], points[0]);
    let mitre = if points.len() > 2 { (width / 2.0 + ROUNDING) * gauge::HALF_SIDE + 1.0 } else { 0.0 };
    let share = (1.0 - mitre / norm(v)).max(1e-3);
    [points[0][0] + share * v[0], points[0][1] + share * v[1]]
}

/// Metal that fills the sharp notches where a trace whose first bend lies inside or close to its terminal's disc (`radius`
/// nm at the course's start, or its end) leaves that disc off-centre: tangent from the trace's edge back to the disc, as
/// long as there is room.
pub fn fillets(
    net: u32,
    course: &Course,
    from_start: bool,
    radius: f64,
    width: f64,
    space: f64,
    others: &Neighbours,
) -> Vec<Polygon> {
    let mut points = corners(course);
    if !from_start {
        points.reverse();
    }
    let centre = points[0];
    // A bend just outside the disc leaves a notch as well.
    let beyond = radius + 0.7 * width;
    let Some(k) = (1..points.len()).find(|&k| distance(points[k], centre) > beyond) else { return vec![] };
    if k == 1 {
        return vec![];
    }
    let (q, v) = (sub(points[k - 1], centre), sub(points[k], points[k - 1]));
    let u = [v[0] / norm(v), v[1] / norm(v)];
    let n = [-u[1], u[0]];
    let place = |o: f64, s: f64| [centre[0] + n[0] * o + u[0] * s, centre[1] + n[1] * o + u[1] * s];
    let half = width / 2.0 + ROUNDING;
    let last = dot(sub(points[k], centre), u) - half * gauge::HALF_SIDE;
    let mut out = Vec::new();
    for hand in [1.0, -1.0] {
        let edge = dot(n, q) + hand * half;
        // A notch is sharp where the edge lies beyond the centre.
        if hand * edge >= 0.0 || edge.abs() > 0.95 * radius {
            continue;
        }
        let o = edge - hand * 2.0;
        let exit = (radius * radius - o * o).sqrt();
        for share in [1.0, 0.7, 0.45, 0.25, 0.12, 0.06, 0.03] {
            let reach = exit + share * (0.6 * radius + 1.5 * width);
            if reach > last {
                continue;
            }
            let tip = place(o, reach);
            let far = distance(tip, centre);
            let (sin, cos) = (hand * (0.95 * radius / far).acos()).sin_cos();
            let w = [(tip[0] - centre[0]) / far, (tip[1] - centre[1]) / far];
            let r = 0.95 * radius;
            let foot = [centre[0] + r * (w[0] * cos - w[1] * sin), centre[1] + r * (w[0] * sin + w[1] * cos)];
            if others.clear(net, foot, tip, space) {
                let root = place(o, 0.97 * exit);
                let ring = if hand > 0.0 { [centre, root, tip, foot] } else { [centre, foot, tip, root] };
                out.push(polygon(&ring));
                break;
            }
        }
    }
    out
}

/// Metal over the notch between the teardrops of two traces of one net that leave a terminal (a disc of `radius` nm) at a
/// right angle or less: out to a little beyond the place where the two teardrops' sides would cross.
pub fn between_teardrops(
    net: u32,
    centre: P2,
    ends: [P2; 2],
    radius: f64,
    width: f64,
    space: f64,
    others: &Neighbours,
) -> Option<Polygon> {
    let d = ends.map(|e| sub(e, centre));
    let l = d.map(norm);
    let turn = cross(d[0], d[1]);
    if turn == 0.0 || dot(d[0], d[1]) < -0.1 * l[0] * l[1] {
        return None;
    }
    // A teardrop's side touches a disc of 0.9 of the radius and ends beside the trace at `tip`.
    let half = turn.abs().atan2(dot(d[0], d[1])) / 2.0;
    let (inner, tip) = (0.9 * radius, 1.6 * radius + 1.5 * width);
    let notch = inner / ((inner / tip).acos() - half).cos();
    let reach = (1.08 * notch / half.cos()).min(l[0]).min(l[1]);
    let tips = [0, 1].map(|k| [centre[0] + reach * d[k][0] / l[k], centre[1] + reach * d[k][1] / l[k]]);
    others
        .clear(net, tips[0], tips[1], space)
        .then(|| polygon(&if turn > 0.0 { [centre, tips[0], tips[1]] } else { [centre, tips[1], tips[0]] }))
}

/// True when all pieces of a course run in exact multiples of 45 degrees.
pub fn octilinear(course: &Course) -> bool {
    corners(course).windows(2).all(|p| gauge::octilinear(sub(p[1], p[0])))
}
