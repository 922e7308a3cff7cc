//! Polygons as compact path text: circles found again, arcs of many points thinned, lengths in micrometres.
//!
//! A drawing holds polygons only, so a bump arrives as a ring of many corners. What is a circle is written as
//! one, in a twentieth of the bytes; other rings lose the corners that no eye can see.

use facedown_layout::{Point, Polygon};
use facedown_quantity::Nm;

use crate::number::push_um;

/// A circle in nanometres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Circle {
    pub x: f64,
    pub y: f64,
    pub radius: f64,
}

/// The circle that a ring of at least twelve corners stands for, if all of them lie evenly on one.
pub(super) fn as_circle(polygon: &Polygon) -> Option<Circle> {
    let ring = &polygon.outer;
    let count = ring.len();
    if count < 12 || !polygon.holes.is_empty() {
        return None;
    }
    let n = count as f64;
    let (x, y) = ring.iter().fold((0.0, 0.0), |(x, y), p| (x + p.x.nm(), y + p.y.nm()));
    let (x, y) = (x / n, y / n);
    // Pictures are made of millions of corners: what is compared are squares.
    let squared = |p: &Point| {
        let (dx, dy) = (p.x.nm() - x, p.y.nm() - y);
        dx * dx + dy * dy
    };
    // Most other rings are told from a circle by a few corners.
    let first = squared(&ring[0]);
    let loose = 4.0 * first.sqrt() * (first.sqrt() * 1e-5).max(3.0) + 100.0;
    if ring.iter().any(|p| (squared(p) - first).abs() > loose) {
        return None;
    }
    let radius = (ring.iter().map(squared).sum::<f64>() / n).sqrt();
    // Corners are rounded to whole nanometres, so they stray by about one from the circle.
    let slack = (radius * 1e-5).max(3.0);
    let between = |low: f64, high: f64| {
        let low = low.max(0.0);
        low * low..=high * high
    };
    let near = between(radius - slack, radius + slack);
    let even = 2.0 * radius * (std::f64::consts::PI / n).sin();
    let sides = between(even - even * 0.02 - slack, even + even * 0.02 + slack);
    let mut last = ring[count - 1];
    let mut fits = true;
    for p in ring {
        let (dx, dy) = (p.x.nm() - last.x.nm(), p.y.nm() - last.y.nm());
        fits &= near.contains(&squared(p)) && sides.contains(&(dx * dx + dy * dy));
        last = *p;
    }
    (fits && radius > slack).then_some(Circle { x, y, radius })
}

/// Box around a polygon's outer ring: left, bottom, right, top.
pub(super) fn bounds(polygon: &Polygon) -> Option<(Point, Point)> {
    let first = *polygon.outer.first()?;
    Some(polygon.outer.iter().fold((first, first), |(low, high), p| {
        (Point::new(low.x.min(p.x), low.y.min(p.y)), Point::new(high.x.max(p.x), high.y.max(p.y)))
    }))
}

/// Appends a polygon to path text, in micrometres; corners nearer than `tolerance` to the line between their
/// neighbours are left out.
pub(super) fn push_polygon(path: &mut String, polygon: &Polygon, tolerance: Nm) {
    if let Some(circle) = as_circle(polygon) {
        push_circle(path, circle);
        return;
    }
    push_ring(path, &thinned(&polygon.outer, tolerance));
    for hole in &polygon.holes {
        push_ring(path, &thinned(hole, tolerance));
    }
}

/// Two half circles, counter-clockwise as all outer rings are.
fn push_circle(path: &mut String, circle: Circle) {
    let (cx, cy) = (Nm(circle.x.round() as i64), Nm(circle.y.round() as i64));
    let radius = Nm(circle.radius.round() as i64);
    path.push('M');
    push_um(path, cx + radius);
    push_next(path, cy);
    for across in [Nm(-2 * radius.0), Nm(2 * radius.0)] {
        path.push('a');
        push_um(path, radius);
        push_next(path, radius);
        path.push_str(" 0 1 1");
        push_next(path, across);
        path.push_str(" 0");
    }
    path.push('z');
}

/// Relative steps, because their numbers are shorter; they are whole nanometres and add up exactly.
fn push_ring(path: &mut String, ring: &[Point]) {
    let Some(first) = ring.first().filter(|_| ring.len() >= 3) else { return };
    path.push('M');
    push_um(path, first.x);
    push_next(path, first.y);
    let mut last_command = 'M';
    for pair in ring.windows(2) {
        let (dx, dy) = (pair[1].x - pair[0].x, pair[1].y - pair[0].y);
        let command = match (dx.0, dy.0) {
            (0, 0) => continue,
            (_, 0) => 'h',
            (0, _) => 'v',
            _ => 'l',
        };
        let repeated = command == last_command;
        if !repeated {
            path.push(command);
            last_command = command;
        }
        let first_number = if command == 'v' { dy } else { dx };
        if repeated {
            push_next(path, first_number)
        } else {
            push_um(path, first_number)
        }
        if command == 'l' {
            push_next(path, dy);
        }
    }
    path.push('z');
}

/// A number after a number: a minus sign parts them by itself.
fn push_next(path: &mut String, length: Nm) {
    if length.0 >= 0 {
        path.push(' ');
    }
    push_um(path, length);
}

/// The ring without corners that stray less than `tolerance` from the line between those kept.
///
/// Douglas and Peucker 1973, "Algorithms for the reduction of the number of points required to represent a
/// digitized line", with a stack of its own so that long rings cannot exhaust the call stack.
pub(super) fn thinned(ring: &[Point], tolerance: Nm) -> Vec<Point> {
    let count = ring.len();
    if count <= 8 {
        return ring.to_vec();
    }
    let square = |a: Point, b: Point| {
        let (dx, dy) = (a.x.nm() - b.x.nm(), a.y.nm() - b.y.nm());
        dx * dx + dy * dy
    };
    // The ring is cut at its first corner and at the one farthest from it.
    let mut opposite = 0;
    for i in 1..count {
        if square(ring[i], ring[0]) > square(ring[opposite], ring[0]) {
            opposite = i;
        }
    }
    let mut keep = vec![false; count];
    keep[0] = true;
    keep[opposite] = true;
    let limit = tolerance.nm();
    let mut spans = vec![(0, opposite), (opposite, count)];
    while let Some((from, to)) = spans.pop() {
        let (a, b) = (ring[from], ring[to % count]);
        let length = square(a, b).sqrt();
        let (mut worst, mut at) = (limit, None);
        for (i, p) in ring.iter().enumerate().take(to).skip(from + 1) {
            let stray = if length > 0.0 { distance_to_segment(*p, a, b) } else { square(*p, a).sqrt() };
            if stray > worst {
                (worst, at) = (stray, Some(i));
            }
        }
        if let Some(i) = at {
            keep[i] = true;
            spans.push((from, i));
            spans.push((i, to));
        }
    }
    let kept: Vec<Point> = ring.iter().zip(&keep).filter(|(_, k)| **k).map(|(p, _)| *p).collect();
    if kept.len() >= 3 { kept } else { ring.to_vec() }
}

/// Distance in nanometres from a point to the segment between two different points.
fn distance_to_segment(p: Point, a: Point, b: Point) -> f64 {
    let (dx, dy) = (b.x.nm() - a.x.nm(), b.y.nm() - a.y.nm());
    let (px, py) = (p.x.nm() - a.x.nm(), p.y.nm() - a.y.nm());
    let along = ((px * dx + py * dy) / (dx * dx + dy * dy)).clamp(0.0, 1.0);
    let (off_x, off_y) = (px - along * dx, py - along * dy);
    (off_x * off_x + off_y * off_y).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(count: usize, radius: f64, squeeze: f64) -> Polygon {
        let corner = |i: usize| {
            let angle = std::f64::consts::TAU * i as f64 / count as f64;
            Point::um(100.0 + radius * angle.cos(), 50.0 + squeeze * radius * angle.sin())
        };
        Polygon::new((0..count).map(corner).collect())
    }

    fn path(polygon: &Polygon, tolerance: Nm) -> String {
        let mut text = String::new();
        push_polygon(&mut text, polygon, tolerance);
        text
    }

    #[test]
    fn a_ring_of_corners_becomes_a_circle_and_an_ellipse_does_not() {
        assert_eq!(path(&ring(64, 40.0, 1.0), Nm(1)), "M140 50a40 40 0 1 1-80 0a40 40 0 1 1 80 0z");
        assert!(as_circle(&ring(64, 40.0, 0.99)).is_none());
        assert!(as_circle(&ring(8, 40.0, 1.0)).is_none());
    }

    #[test]
    fn a_rectangle_is_written_in_steps() {
        let square = Polygon::rectangle(Point::um(-1.5, 2.0), Point::um(8.5, 12.25));
        assert_eq!(path(&square, Nm(100)), "M-1.5 2h10v10.25h-10z");
    }

    #[test]
    fn thinning_stays_within_its_tolerance() {
        let oval = ring(200, 300.0, 0.5);
        let tolerance = Nm(1000);
        let kept = thinned(&oval.outer, tolerance);
        assert!(kept.len() < 60, "{} corners kept", kept.len());
        for p in &oval.outer {
            let nearest = kept
                .iter()
                .zip(kept.iter().cycle().skip(1))
                .map(|(a, b)| distance_to_segment(*p, *a, *b))
                .fold(f64::INFINITY, f64::min);
            assert!(nearest <= tolerance.nm() + 1e-6, "{nearest} nm");
        }
    }

    #[test]
    fn rings_of_no_extent_write_nothing_wrong() {
        assert_eq!(path(&Polygon::default(), Nm(100)), "");
        let spot = Polygon::new(vec![Point::um(1.0, 1.0); 20]);
        assert_eq!(path(&spot, Nm(100)), "M1 1z");
    }
}
