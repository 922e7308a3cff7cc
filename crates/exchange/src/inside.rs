//! Points and polygons: whether one lies in the other, and a point that does. Exact, in integers.

use facedown_layout::{Point, Polygon};
use facedown_quantity::Nm;
use std::cmp::Ordering;

/// Where a point lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Side {
    Inside,
    Border,
    Outside,
}

/// Where `p` lies to a polygon, its holes counted (even-odd rule).
pub(crate) fn side(polygon: &Polygon, p: Point) -> Side {
    let mut inside = false;
    for ring in std::iter::once(&polygon.outer).chain(&polygon.holes) {
        for (a, b) in ring.iter().zip(ring.iter().cycle().skip(1)) {
            // Twice the area of the triangle a, b, p: positive where p lies to the left of a -> b.
            let turn = {
                let (ux, uy) = (i128::from((b.x - a.x).0), i128::from((b.y - a.y).0));
                let (vx, vy) = (i128::from((p.x - a.x).0), i128::from((p.y - a.y).0));
                (ux * vy - uy * vx).cmp(&0)
            };
            let in_box = |p: Nm, a: Nm, b: Nm| a.min(b) <= p && p <= a.max(b);
            if turn == Ordering::Equal && in_box(p.x, a.x, b.x) && in_box(p.y, a.y, b.y) {
                return Side::Border;
            }
            let up = a.y <= p.y && p.y < b.y && turn == Ordering::Greater;
            let down = b.y <= p.y && p.y < a.y && turn == Ordering::Less;
            inside ^= up || down;
        }
    }
    if inside { Side::Inside } else { Side::Outside }
}

/// A grid point inside a polygon, as far from its border along x as a few horizontal lines show; a corner where
/// the polygon is too thin to hold a grid point on those lines.
pub(crate) fn point_in(polygon: &Polygon) -> Option<Point> {
    let low = polygon.outer.iter().map(|p| p.y).min()?;
    let high = polygon.outer.iter().map(|p| p.y).max()?;
    let mut best: Option<(Nm, Point)> = None;
    // Halves, quarters and so on, odd numerators: the middle line first.
    for (numerator, parts) in [(1, 2), (1, 4), (3, 4), (3, 8), (5, 8), (1, 8), (7, 8), (7, 16), (9, 16)] {
        let y = low + (high - low) * numerator / parts;
        let mut crossings: Vec<f64> = std::iter::once(&polygon.outer)
            .chain(&polygon.holes)
            .flat_map(|ring| ring.iter().zip(ring.iter().cycle().skip(1)))
            .filter(|(a, b)| (a.y <= y) != (b.y <= y))
            .map(|(a, b)| a.x.nm() + (b.x - a.x).nm() * ((y - a.y).nm() / (b.y - a.y).nm()))
            .collect();
        crossings.sort_by(f64::total_cmp);
        for pair in crossings.chunks_exact(2) {
            let width = Nm((pair[1] - pair[0]) as i64);
            let at = Point::new(Nm(((pair[0] + pair[1]) / 2.0).round() as i64), y);
            if best.is_none_or(|(widest, _)| width > widest) && side(polygon, at) == Side::Inside {
                best = Some((width, at));
            }
        }
        // The middle line is good enough where it is clear by a micrometre to both sides.
        if best.is_some_and(|(width, _)| width >= Nm(2000)) {
            break;
        }
    }
    best.map(|(_, at)| at).or_else(|| polygon.outer.first().copied())
}

/// Lower-left and upper-right corners of what encloses a ring.
pub(crate) fn bounds(ring: &[Point]) -> Option<[Point; 2]> {
    ring.iter().fold(None, |bounds, p| {
        let [low, high] = bounds.unwrap_or([*p, *p]);
        Some([Point::new(low.x.min(p.x), low.y.min(p.y)), Point::new(high.x.max(p.x), high.y.max(p.y))])
    })
}

#[cfg(test)]
mod tests {
    use super::{Side, point_in, side};
    use facedown_layout::{Point, Polygon};
    use facedown_quantity::Nm;

    fn at(x: i64, y: i64) -> Point {
        Point::new(Nm(x), Nm(y))
    }

    #[test]
    fn sides_count_holes_and_borders() {
        let mut plate = Polygon::rectangle(at(0, 0), at(100, 100));
        plate.holes.push(vec![at(40, 40), at(40, 60), at(60, 60), at(60, 40)]);
        assert_eq!(side(&plate, at(10, 10)), Side::Inside);
        assert_eq!(side(&plate, at(50, 50)), Side::Outside);
        assert_eq!(side(&plate, at(40, 50)), Side::Border);
        assert_eq!(side(&plate, at(100, 100)), Side::Border);
        assert_eq!(side(&plate, at(101, 50)), Side::Outside);
        assert_eq!(side(&plate, at(-5, 40)), Side::Outside);
    }

    #[test]
    fn a_point_is_found_off_the_hole_and_on_thin_slants() {
        let mut ring = Polygon::rectangle(at(0, 0), at(10_000, 10_000));
        ring.holes.push(vec![at(1000, 1000), at(1000, 9000), at(9000, 9000), at(9000, 1000)]);
        assert_eq!(side(&ring, point_in(&ring).unwrap()), Side::Inside);
        let slant = Polygon::new(vec![at(0, 0), at(40, 0), at(100_040, 100_000), at(100_000, 100_000)]);
        assert_eq!(side(&slant, point_in(&slant).unwrap()), Side::Inside);
    }
}
