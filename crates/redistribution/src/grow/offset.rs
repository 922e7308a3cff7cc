//! Growing outlines by a distance, never by less.
//!
//! The outline of a grown area is made ring by ring: every edge moves out square to itself, outward corners are bridged
//! by arcs that are circumscribed with chords, inward corners go through the old corner, so that the rectangle swept by each
//! edge is wound around once more. What is wound around a positive number of times is then exactly the grown area,
//! whatever the ring looks like; a union ([`super::region::union`]) cleans it. Shrinking an area is growing what is
//! around it.

use super::region::{FINE, Ring, Spot};

/// The outline of a ring grown by `by` nm, with arcs that go out by up to `sagitta` nm beyond. Holes (clockwise rings) get
/// smaller. Not cleaned.
pub fn grown(ring: &[Spot], by: f64, sagitta: f64) -> Ring {
    let corners = distinct(ring);
    let n = corners.len();
    if n < 3 {
        return Ring::new();
    }
    let by = by * FINE;
    let step = 2.0 * (by / (by + sagitta * FINE)).acos();
    let sides: Vec<([f64; 2], f64)> = (0..n)
        .map(|i| {
            let (a, b) = (corners[i], corners[(i + 1) % n]);
            let d = [(b[0] - a[0]) as f64, (b[1] - a[1]) as f64];
            let l = d[0].hypot(d[1]);
            ([d[0] / l, d[1] / l], l)
        })
        .collect();
    let mut out = Ring::with_capacity(2 * n);
    for i in 0..n {
        let ((u, before), (v, after)) = (sides[(i + n - 1) % n], sides[i]);
        let at = corners[i];
        let mut push = |dx: f64, dy: f64| {
            out.push([at[0] + dx.round() as i64, at[1] + dy.round() as i64]);
        };
        let turn = (u[0] * v[1] - u[1] * v[0]).atan2(u[0] * v[0] + u[1] * v[1]);
        let bisector = || {
            let scale = by / (1.0 + u[0] * v[0] + u[1] * v[1]);
            [(u[1] + v[1]) * scale, -(u[0] + v[0]) * scale]
        };
        if !(-3.1..0.0).contains(&turn) {
            let turn = turn.abs();
            let pieces = (turn / step).ceil().max(1.0);
            if pieces == 1.0 && turn < 1.0 {
                let b = bisector();
                push(b[0], b[1]);
                continue;
            }
            let piece = turn / pieces;
            let (from, radius) = ((-u[0]).atan2(u[1]), by / (piece / 2.0).cos());
            for k in 0..pieces as usize {
                let a = from + (k as f64 + 0.5) * piece;
                push(radius * a.cos(), radius * a.sin());
            }
        } else if by * (-turn / 2.0).tan() < 0.45 * before.min(after) {
            // The moved edges still meet: a clean inward corner.
            let b = bisector();
            push(b[0], b[1]);
        } else {
            push(by * u[1], -by * u[0]);
            push(0.0, 0.0);
            push(by * v[1], -by * v[0]);
        }
    }
    out
}

fn distinct(ring: &[Spot]) -> Vec<Spot> {
    let mut corners = ring.to_vec();
    corners.dedup();
    while corners.len() > 1 && corners.first() == corners.last() {
        corners.pop();
    }
    corners
}

/// A ring with fewer corners that holds the given one and goes out by at most about `by` nm beyond it: edges between two
/// outward corners give way to their neighbours' meeting point, shallow inward corners are cut off.
pub fn coarser(ring: &[Spot], by: f64) -> Ring {
    let mut ring = distinct(ring);
    // Each pass halves the corners of an arc and makes its sagitta four times as large.
    loop {
        let before = ring.len();
        ring = without_shallow_notches(&ring, 0.75 * by * FINE);
        ring = without_short_edges(&ring, 0.75 * by * FINE);
        if ring.len() < 8 || ring.len() == before {
            break;
        }
    }
    ring
}

fn vector(a: Spot, b: Spot) -> [f64; 2] {
    [(b[0] - a[0]) as f64, (b[1] - a[1]) as f64]
}

fn cross(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

fn dot(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

fn without_shallow_notches(ring: &[Spot], by: f64) -> Ring {
    let n = ring.len();
    let mut out = Ring::with_capacity(n);
    let mut dropped = false;
    for i in 0..n {
        let (a, b, c) = (ring[(i + n - 1) % n], ring[i], ring[(i + 1) % n]);
        let (along, to) = (vector(a, c), vector(a, b));
        let length = along[0].hypot(along[1]);
        let depth = if length > 0.0 { cross(along, to) / length } else { f64::INFINITY };
        let between = dot(along, to) > 0.0 && dot(along, vector(b, c)) > 0.0;
        let last_beside_first = i == n - 1 && out.first() != ring.first();
        if !dropped && !last_beside_first && between && (0.0..=by).contains(&depth) {
            dropped = true;
        } else {
            out.push(b);
            dropped = false;
        }
    }
    if out.len() < 3 { ring.to_vec() } else { out }
}

fn without_short_edges(ring: &[Spot], by: f64) -> Ring {
    let n = ring.len();
    let mut out = Ring::with_capacity(n);
    let mut i = 0;
    // An edge from corner i to i + 1 is looked at with its neighbours; corner 0 stays unless its edge goes.
    while i < n {
        let (p, a, b, q) = (ring[(i + n - 1) % n], ring[i], ring[(i + 1) % n], ring[(i + 2) % n]);
        if let (true, Some(meeting)) = (i + 1 < n, meeting(p, a, b, q, by)) {
            out.push(meeting);
            i += 2;
        } else {
            out.push(a);
            i += 1;
        }
    }
    if out.len() < 3 { ring.to_vec() } else { out }
}

/// Where the edges before and after the edge `a b` meet outside it, at most `by` away from it.
fn meeting(p: Spot, a: Spot, b: Spot, q: Spot, by: f64) -> Option<Spot> {
    let (u, e, v) = (vector(p, a), vector(a, b), vector(b, q));
    let (cu, cv, cuv) = (cross(u, e), cross(e, v), cross(u, v));
    if cu <= 0.0 || cv <= 0.0 || cuv <= 0.0 || dot(u, v) <= 0.0 {
        return None;
    }
    // a + t u is on the line of v.
    let t = cross(e, v) / cuv;
    let away = t * cu / e[0].hypot(e[1]);
    (away <= by).then(|| [a[0] + (t * u[0]).round() as i64, a[1] + (t * u[1]).round() as i64])
}

#[cfg(test)]
mod tests {
    use super::super::region::{area, difference, spot, union};
    use super::*;
    use std::f64::consts::PI;

    fn circle(radius: f64, corners: usize) -> Ring {
        (0..corners)
            .map(|k| {
                let a = 2.0 * PI * k as f64 / corners as f64;
                spot(radius * a.cos(), radius * a.sin())
            })
            .collect()
    }

    #[test]
    fn a_square_grows_by_its_sides_and_four_quarter_discs() {
        let square = vec![spot(0.0, 0.0), spot(1000.0, 0.0), spot(1000.0, 1000.0), spot(0.0, 1000.0)];
        let out = union(&[grown(&square, 500.0, 0.5)]);
        assert_eq!(out.len(), 1);
        let exact = 1e6 + 4.0 * 1000.0 * 500.0 + PI * 500.0 * 500.0;
        let got = area(&out[0][0]);
        assert!(got >= exact - 5e3 && got <= exact + 2.0 * PI * 500.5 * 0.5 + 5e3, "{got} {exact}");
    }

    #[test]
    fn a_hole_shrinks_and_a_small_one_closes() {
        let mut frame = [circle(5000.0, 300), circle(2000.0, 150)];
        frame[1].reverse();
        let open: Vec<Ring> = frame.iter().map(|r| grown(r, 1000.0, 2.0)).collect();
        let open = union(&open);
        assert_eq!(open[0].len(), 2);
        assert!((area(&open[0][1]) + PI * 1e6).abs() < 2e4);
        let closed: Vec<Ring> = frame.iter().map(|r| grown(r, 2500.0, 2.0)).collect();
        assert_eq!(union(&closed)[0].len(), 1);
    }

    #[test]
    fn a_grown_notch_loses_nothing_of_what_it_was() {
        let comb = vec![
            spot(0.0, 0.0),
            spot(900.0, 0.0),
            spot(900.0, 800.0),
            spot(600.0, 800.0),
            spot(500.0, 100.0),
            spot(400.0, 800.0),
            spot(0.0, 800.0),
        ];
        let out = union(&[grown(&comb, 30.0, 0.5)]);
        let lost = difference(std::slice::from_ref(&comb), &out[0]);
        assert!(lost.is_empty());
    }

    #[test]
    fn a_coarser_ring_holds_the_ring_and_stays_near() {
        let ring = circle(88_000.0, 330);
        let coarse = coarser(&ring, 90.0);
        assert!(coarse.len() * 3 < ring.len(), "{}", coarse.len());
        let lost: f64 = difference(std::slice::from_ref(&ring), std::slice::from_ref(&coarse))
            .iter()
            .map(|p| area(&p[0]))
            .sum();
        // Corners are on a grid of 1/8 nm.
        assert!(lost < 0.02 * 2.0 * PI * 88_000.0, "{lost}");
        assert!(area(&coarse) - area(&ring) < 2.0 * PI * 88_000.0 * 90.0);
    }
}
