//! Areas as rings on a fine grid, and the booleans between them: the only file here that calls the overlay library.
//!
//! The grid is 1/8 nm, so that the crossing of two slanted edges moves by far less than a nanometre when it is put on
//! it. Everything counts windings: rings may overlap each other and themselves, and what is wound around a positive number
//! of times is inside. An offset outline may therefore be handed on without being cleaned first.

use facedown_layout::{Point, Polygon};
use facedown_quantity::Nm;
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::integer::OverlayInt;
use i_overlay::core::overlay::{Overlay, ShapeType};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;

/// Grid steps in a nanometre.
pub const FINE: f64 = 8.0;

/// A point on the fine grid.
pub type Spot = [i64; 2];

/// A closed ring, its metal on the left: outer rings counter-clockwise, holes clockwise.
pub type Ring = Vec<Spot>;

/// The point of the fine grid nearest to a place in nm.
pub fn spot(x: f64, y: f64) -> Spot {
    [(x * FINE).round() as i64, (y * FINE).round() as i64]
}

/// A drawn ring on the fine grid, made counter-clockwise.
pub fn outer_ring(points: &[Point]) -> Ring {
    let mut ring: Ring = points.iter().map(|p| spot(p.x.nm(), p.y.nm())).collect();
    if area(&ring) < 0.0 {
        ring.reverse();
    }
    ring
}

/// Signed area in nm2, positive for a counter-clockwise ring.
pub fn area(ring: &[Spot]) -> f64 {
    let Some(&last) = ring.last() else { return 0.0 };
    // Taken from the last corner, so that the products stay small.
    let from = |p: &Spot| [(p[0] - last[0]) as f64, (p[1] - last[1]) as f64];
    let twice: f64 = ring
        .windows(2)
        .map(|w| {
            let (a, b) = (from(&w[0]), from(&w[1]));
            a[0] * b[1] - a[1] * b[0]
        })
        .sum();
    twice / 2.0 / (FINE * FINE)
}

/// Connected pieces: of each the outer ring, then its holes.
pub type Pieces = Vec<Vec<Ring>>;

/// Coordinates that the quicker 32-bit engine takes, 67 mm: half its documented limit.
const SHORT: i64 = 1 << 29;

fn overlay<'a>(
    subject: impl Iterator<Item = &'a Ring>,
    clip: impl Iterator<Item = &'a Ring>,
    rule: OverlayRule,
) -> Pieces {
    let (subject, clip): (Vec<&Ring>, Vec<&Ring>) = (subject.collect(), clip.collect());
    let short = |ring: &&Ring| ring.iter().flatten().all(|v| v.abs() < SHORT);
    if subject.iter().chain(&clip).all(short) {
        overlay_as::<i32>(&subject, &clip, rule, |v| v as i32, i64::from)
    } else {
        overlay_as::<i64>(&subject, &clip, rule, |v| v, |v| v)
    }
}

fn overlay_as<I: OverlayInt>(
    subject: &[&Ring],
    clip: &[&Ring],
    rule: OverlayRule,
    to: fn(i64) -> I,
    from: fn(I) -> i64,
) -> Pieces {
    let corners = subject.iter().chain(clip).map(|r| r.len()).sum();
    let mut work: Overlay<I> = Overlay::new(corners);
    for (rings, kind) in [(subject, ShapeType::Subject), (clip, ShapeType::Clip)] {
        for ring in rings {
            work.add_path_iter(ring.iter().map(|p| IntPoint::new(to(p[0]), to(p[1]))), kind);
        }
    }
    let ring = |ring: Vec<IntPoint<I>>| ring.into_iter().map(|p| [from(p.x), from(p.y)]).collect();
    work.overlay(rule, FillRule::Positive)
        .into_iter()
        .map(|piece| piece.into_iter().map(ring).collect())
        .collect()
}

/// Everything wound around positively, as clean pieces.
pub fn union<'a>(rings: impl IntoIterator<Item = &'a Ring>) -> Pieces {
    overlay(rings.into_iter(), std::iter::empty(), OverlayRule::Subject)
}

/// What is inside `from` and not inside `less`.
pub fn difference<'a>(
    from: impl IntoIterator<Item = &'a Ring>,
    less: impl IntoIterator<Item = &'a Ring>,
) -> Pieces {
    overlay(from.into_iter(), less.into_iter(), OverlayRule::Difference)
}

/// What is inside both.
pub fn common<'a>(
    first: impl IntoIterator<Item = &'a Ring>,
    second: impl IntoIterator<Item = &'a Ring>,
) -> Pieces {
    overlay(first.into_iter(), second.into_iter(), OverlayRule::Intersect)
}

/// True when a point lies inside a piece.
pub fn inside(piece: &[Ring], at: Spot) -> bool {
    let mut odd = false;
    for ring in piece {
        let mut a = match ring.last() {
            Some(&p) => p,
            None => continue,
        };
        for &b in ring {
            if (a[1] > at[1]) != (b[1] > at[1]) {
                let t = (at[1] - a[1]) as f64 / (b[1] - a[1]) as f64;
                odd ^= (at[0] as f64) < a[0] as f64 + t * (b[0] - a[0]) as f64;
            }
            a = b;
        }
    }
    odd
}

/// Lower-left and upper-right corner of the box around a ring.
pub fn bounds(ring: &[Spot]) -> [Spot; 2] {
    ring.iter().fold([[i64::MAX; 2], [i64::MIN; 2]], |[l, h], p| {
        [[l[0].min(p[0]), l[1].min(p[1])], [h[0].max(p[0]), h[1].max(p[1])]]
    })
}

/// A ring in whole nanometres; corners that fall together are dropped, and what has no area left is nothing.
fn whole(ring: &[Spot]) -> Option<Vec<Point>> {
    let round = |v: i64| Nm((v as f64 / FINE).round() as i64);
    let mut points: Vec<Point> = ring.iter().map(|p| Point::new(round(p[0]), round(p[1]))).collect();
    points.dedup();
    while points.len() > 1 && points.first() == points.last() {
        points.pop();
    }
    (points.len() > 2).then_some(points)
}

/// A piece as a drawn polygon.
pub fn polygon(piece: &[Ring]) -> Option<Polygon> {
    let (outer, holes) = piece.split_first()?;
    Some(Polygon { outer: whole(outer)?, holes: holes.iter().filter_map(|h| whole(h)).collect() })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: i64, side: i64) -> Ring {
        vec![[x, x], [x + side, x], [x + side, x + side], [x, x + side]]
    }

    #[test]
    fn pieces_have_outer_rings_on_the_left_and_holes_on_the_right() {
        let frame = difference(&[square(0, 800)], &[square(80, 160)]);
        assert_eq!(frame.len(), 1);
        let areas: Vec<f64> = frame[0].iter().map(|r| area(r)).collect();
        assert_eq!(areas, [10_000.0, -400.0]);
        assert!(inside(&frame[0], [40, 40]) && !inside(&frame[0], [160, 160]));
    }

    #[test]
    fn a_ring_wound_the_wrong_way_is_nothing() {
        let mut hole = square(0, 80);
        hole.reverse();
        assert!(union(&[hole.clone()]).is_empty());
        assert_eq!(union(&[square(0, 80), square(40, 80)]).len(), 1);
        assert_eq!(area(&common(&[square(0, 80)], &[square(40, 80)])[0][0]), 25.0);
    }
}
