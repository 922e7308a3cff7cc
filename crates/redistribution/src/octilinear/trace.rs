//! Octilinear traces as polygons in whole nanometres, mitred at every bend.
//!
//! Sides lie on lines of whole nanometres, half the width away along the axes and the next even offset at least that far
//! along diagonals, so neighbouring sides meet on whole nanometres, each side runs in an exact multiple of 45
//! degrees, and no place is narrower than asked. At a bend of 45 degrees the mitre reaches as far as the octagon
//! about the corner, which is what clearances were measured with.

use super::gauge;
use crate::metal::{ROUNDING, polygon};
use crate::route::plane::{P2, cross, dot, sub};
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

/// True when all pieces of a course run in exact multiples of 45 degrees.
pub fn octilinear(course: &Course) -> bool {
    corners(course).windows(2).all(|p| gauge::octilinear(sub(p[1], p[0])))
}
