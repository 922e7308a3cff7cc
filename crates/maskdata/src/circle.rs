//! Telling that a polygon stands for a circle, so that formats with circles can say so.

use facedown_layout::{Point, Polygon};
use facedown_quantity::Nm;

/// A circle on the nanometre grid.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Circle {
    /// Centre.
    pub centre: Point,
    /// Radius through the corners of the polygon that stood for it.
    pub radius: Nm,
}

/// Corners that lie this close to one circle, in nanometres: the rounding of a corner to the grid (0.71) and of the
/// centre to the grid (0.71).
const OFF_CIRCLE_NM: f64 = 1.5;

/// The circle through the corners of a polygon without holes that has at least 16 corners, evenly spaced on a
/// circle as far as the nanometre grid allows; `None` for any other polygon.
///
/// The circle covers slightly more than the polygon of n corners: by `r (1 - cos(pi / n))` at most, 0.12 % of the radius
/// for 64 corners.
pub fn circle_of(polygon: &Polygon) -> Option<Circle> {
    let ring = &polygon.outer;
    let count = ring.len();
    if count < 16 || !polygon.holes.is_empty() {
        return None;
    }
    // Files hold tens of millions of corners, most of them of circles: from the first corner all sums are exact in floating
    // numbers, and what is compared are squares.
    let origin = ring[0];
    let from_origin = |p: &Point| [(p.x - origin.x).nm(), (p.y - origin.y).nm()];
    let [sum_x, sum_y] = ring.iter().map(from_origin).fold([0.0; 2], |[x, y], p| [x + p[0], y + p[1]]);
    let centre = [sum_x, sum_y].map(|sum| (sum / count as f64).round());
    let from_centre = |p: &Point| {
        let [x, y] = from_origin(p);
        [x - centre[0], y - centre[1]]
    };
    let square = |[x, y]: [f64; 2]| x * x + y * y;
    // Most other rings are told from a circle by a few corners.
    let first = square(from_centre(&origin));
    let loose = 4.0 * OFF_CIRCLE_NM * (first.sqrt() + 10.0);
    if ring.iter().any(|p| (square(from_centre(p)) - first).abs() > loose) {
        return None;
    }
    let radius = (ring.iter().map(|p| square(from_centre(p))).sum::<f64>() / count as f64).sqrt();
    // Squares of the least and the largest distance.
    let between = |low: f64, high: f64| {
        let low = low.max(0.0);
        low * low..=high * high
    };
    let near = between(radius - OFF_CIRCLE_NM, radius + OFF_CIRCLE_NM);
    let chord = 2.0 * radius * (std::f64::consts::PI / count as f64).sin();
    let even = between(chord - 2.0 - 0.01 * chord, chord + 2.0 + 0.01 * chord);
    let mut last = from_centre(&ring[count - 1]);
    let (mut fits, mut twice_area) = (true, 0.0);
    for p in ring {
        let p = from_centre(p);
        let side = [p[0] - last[0], p[1] - last[1]];
        fits &= near.contains(&square(p)) && even.contains(&square(side));
        // Chords of the right length could still run back and forth; the area tells.
        twice_area += last[0] * p[1] - p[0] * last[1];
        last = p;
    }
    let full = count as f64 * radius * radius * (std::f64::consts::TAU / count as f64).sin();
    let centre = Point::new(origin.x + Nm(centre[0] as i64), origin.y + Nm(centre[1] as i64));
    (radius >= 10.0 && fits && (twice_area.abs() - full).abs() <= 0.01 * full)
        .then(|| Circle { centre, radius: Nm(radius.round() as i64) })
}

/// Centre, width and height of a polygon that is an axis-parallel rectangle whose centre lies on the grid.
pub fn rectangle_of(polygon: &Polygon) -> Option<(Point, Nm, Nm)> {
    let [a, b, c, d] = polygon.outer[..] else { return None };
    let flat_first = a.y == b.y && b.x == c.x && c.y == d.y && d.x == a.x;
    let steep_first = a.x == b.x && b.y == c.y && c.x == d.x && d.y == a.y;
    let (width, height) = ((c.x - a.x).abs(), (c.y - a.y).abs());
    let on_grid = (a.x + c.x).0 % 2 == 0 && (a.y + c.y).0 % 2 == 0;
    (polygon.holes.is_empty()
        && (flat_first || steep_first)
        && on_grid
        && width > Nm::ZERO
        && height > Nm::ZERO)
        .then(|| (Point::new((a.x + c.x) / 2, (a.y + c.y) / 2), width, height))
}

#[cfg(test)]
mod tests {
    use super::{circle_of, rectangle_of};
    use facedown_layout::{Point, Polygon};
    use facedown_quantity::Nm;

    fn ring(count: usize, step: usize, radius: f64) -> Polygon {
        Polygon::new(
            (0..count)
                .map(|i| {
                    let a = (i * step) as f64 / count as f64 * std::f64::consts::TAU + 0.1;
                    Point::um(100.25 + radius * a.cos(), -30.0 + radius * a.sin())
                })
                .collect(),
        )
    }

    #[test]
    fn regular_polygons_of_sixteen_corners_and_more_are_circles() {
        for (count, radius) in [(16, 5.0), (37, 135.0), (64, 0.5), (180, 500.0)] {
            let circle = circle_of(&ring(count, 1, radius)).unwrap();
            assert!((circle.radius.um() - radius).abs() < 0.002);
            assert!((circle.centre.x.um() - 100.25).abs() < 0.002);
        }
    }

    #[test]
    fn other_shapes_are_not() {
        assert_eq!(circle_of(&ring(12, 1, 50.0)), None, "too few corners");
        assert_eq!(circle_of(&ring(17, 2, 50.0)), None, "a star");
        let mut gap = ring(64, 1, 50.0);
        gap.outer.remove(3);
        assert_eq!(circle_of(&gap), None, "a corner is missing");
        let half = Polygon::new(ring(64, 1, 50.0).outer[..33].to_vec());
        assert_eq!(circle_of(&half), None, "half a disc");
        let mut holed = ring(64, 1, 50.0);
        holed.holes.push(ring(32, 1, 5.0).outer);
        assert_eq!(circle_of(&holed), None, "a hole");
    }

    #[test]
    fn a_rectangle_needs_its_centre_on_the_grid() {
        let at = |x, y| Point::new(Nm(x), Nm(y));
        assert_eq!(
            rectangle_of(&Polygon::rectangle(at(0, 0), at(10, 20))),
            Some((at(5, 10), Nm(10), Nm(20)))
        );
        assert_eq!(rectangle_of(&Polygon::rectangle(at(0, 0), at(11, 20))), None);
        assert_eq!(rectangle_of(&Polygon::new(vec![at(0, 0), at(10, 2), at(12, 20), at(0, 20)])), None);
    }
}
