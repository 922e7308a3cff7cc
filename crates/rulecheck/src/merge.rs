//! Polygon union and intersection, the only place that calls the overlay library.
//!
//! Merging happens on a grid of 1/16 nm, so that a crossing of two slanted edges moves by less than 0.05 nm when
//! it is put on the grid; drawn vertices stay where they are.

use crate::exact::{Spot, ring_area2};
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::{IntOverlayOptions, Overlay, ShapeType};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;
use std::collections::BTreeSet;

/// Merging-grid units in a nanometre.
pub(crate) const FINE: i64 = 16;

fn add(overlay: &mut Overlay<i64>, ring: &[Spot], kind: ShapeType) {
    overlay.add_path_iter(ring.iter().map(|p| IntPoint::new(p[0] * FINE, p[1] * FINE)), kind);
}

fn overlay(vertices: usize) -> Overlay<i64> {
    // Collinear vertices are kept: where two rings only touch, the touching point must appear on both.
    let options = IntOverlayOptions { preserve_output_collinear: true, ..Default::default() };
    Overlay::new_custom(vertices, options, Default::default())
}

/// The union of rings (outer ones counter-clockwise, holes clockwise, nm), as rings on the fine grid with the
/// metal on their left. A ring that meets itself in a point is given as two rings. Holes, and specks of metal beside
/// other metal, thinner than `sliver` (nm, twice the area over the perimeter) are left out: they are what rounding leaves
/// between outlines that were meant to coincide.
pub(crate) fn union(rings: &[&[Spot]], sliver: f64) -> Vec<Vec<Spot>> {
    let mut work = overlay(rings.iter().map(|r| r.len()).sum());
    for ring in rings {
        add(&mut work, ring, ShapeType::Subject);
    }
    let shapes = work.overlay(OverlayRule::Subject, FillRule::NonZero);
    let mut loops: Vec<(bool, Vec<Spot>)> = Vec::new();
    for contour in shapes.into_iter().flatten() {
        for ring in simple_loops(contour.iter().map(|p| [p.x, p.y])) {
            let thin = ring_area2(&ring).abs() as f64 <= perimeter(&ring) * sliver * FINE as f64;
            loops.push((thin, ring));
        }
    }
    // Metal that is thin all over is a fault to be found, not a speck.
    let any_solid = loops.iter().any(|(thin, ring)| !thin && ring_area2(ring) > 0);
    loops.retain(|(thin, ring)| !thin || (!any_solid && ring_area2(ring) > 0));
    loops.into_iter().map(|(_, ring)| ring).collect()
}

/// Cuts a ring at every point that it passes twice; there-and-back spurs vanish.
fn simple_loops(points: impl Iterator<Item = Spot>) -> Vec<Vec<Spot>> {
    let mut loops = Vec::new();
    let mut path: Vec<Spot> = Vec::new();
    let mut seen: BTreeSet<Spot> = BTreeSet::new();
    for p in points {
        if !seen.insert(p) {
            let start = path.iter().rposition(|q| *q == p).unwrap_or(0);
            let cut: Vec<Spot> = path.drain(start..).collect();
            for q in &cut[1..] {
                seen.remove(q);
            }
            loops.push(cut);
        }
        path.push(p);
    }
    loops.push(path);
    loops.retain(|l| l.len() > 2);
    loops
}

/// A vertex (nm) of the common area of two sets of rings; `None` when their insides do not overlap.
pub(crate) fn overlap(first: &[Vec<Spot>], second: &[Vec<Spot>]) -> Option<[f64; 2]> {
    let mut work = overlay(first.iter().chain(second).map(Vec::len).sum());
    for ring in first {
        add(&mut work, ring, ShapeType::Subject);
    }
    for ring in second {
        add(&mut work, ring, ShapeType::Clip);
    }
    let common = work.overlay(OverlayRule::Intersect, FillRule::NonZero);
    let corner = common.iter().flatten().flatten().map(|p| [p.x, p.y]).min()?;
    Some([corner[0] as f64 / FINE as f64, corner[1] as f64 / FINE as f64])
}

fn perimeter(ring: &[Spot]) -> f64 {
    let length = |(i, p): (usize, &Spot)| {
        let q = ring[(i + 1) % ring.len()];
        ((q[0] - p[0]) as f64).hypot((q[1] - p[1]) as f64)
    };
    ring.iter().enumerate().map(length).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: i64, y: i64, side: i64) -> Vec<Spot> {
        vec![[x, y], [x + side, y], [x + side, y + side], [x, y + side]]
    }

    #[test]
    fn union_keeps_area_and_orientation() {
        let (a, b) = (square(0, 0, 100), square(50, 50, 100));
        let merged = union(&[&a, &b], 0.0);
        assert_eq!(merged.len(), 1);
        assert_eq!(ring_area2(&merged[0]), 2 * 17_500 * (FINE * FINE) as i128);
    }

    #[test]
    fn union_of_a_frame_has_a_clockwise_hole_and_a_sliver_is_filled() {
        let outer = square(0, 0, 100);
        let mut hole = square(20, 20, 60);
        hole.reverse();
        let areas: Vec<bool> = union(&[&outer, &hole], 0.0).iter().map(|r| ring_area2(r) > 0).collect();
        assert_eq!(areas, [true, false]);
        let slit = [[20, 20], [20, 80], [21, 80], [21, 20]];
        assert_eq!(union(&[&outer, &slit], 2.0).len(), 1);
        assert_eq!(union(&[&outer, &slit], 0.5).len(), 2);
    }

    #[test]
    fn a_ring_that_meets_itself_is_cut_and_spurs_vanish() {
        let eight = [[0, 0], [10, 0], [5, 5], [10, 10], [0, 10], [5, 5]];
        let loops = simple_loops(eight.into_iter());
        assert_eq!(loops, [vec![[5, 5], [10, 10], [0, 10]], vec![[0, 0], [10, 0], [5, 5]]]);
        let spur = [[0, 0], [10, 0], [10, 9], [10, 0], [10, -5]];
        assert_eq!(simple_loops(spur.into_iter()), [vec![[0, 0], [10, 0], [10, -5]]]);
    }

    #[test]
    fn touching_is_no_overlap() {
        assert!(overlap(&[square(0, 0, 10)], &[square(10, 0, 10)]).is_none());
        assert_eq!(overlap(&[square(0, 0, 10)], &[square(9, 0, 10)]), Some([9.0, 0.0]));
    }
}
