//! Lines of equal grey between pixels, and places of edges along a given direction.

use crate::{Grey, Mask};
use std::collections::BTreeMap;

/// A line of equal grey: places in order, the brighter side to one hand throughout.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Places, x and y.
    pub points: Vec<[f64; 2]>,
    /// True where the last place joins the first; else the line ends at the frame.
    pub closed: bool,
}

/// Where the picture, taken as bilinear on the sides of the pixel grid, equals a level: marching squares (W. E. Lorensen
/// and H. E. Cline, Computer Graphics 21 (1987) 163, in the plane). Where both diagonals of a square lie on different sides, the
/// brighter corners are kept apart. Lines come in the order of their first crossing, row by row.
pub fn lines(picture: &Grey, level: f64) -> Vec<Line> {
    let (w, h) = (picture.width(), picture.height());
    let v = |x: usize, y: usize| f64::from(picture.at(x as isize, y as isize));
    // A crossing lies on the side that leaves pixel (x, y) to the right (0) or down (1).
    type Side = (usize, usize, u8);
    let place = |(x, y, way): Side| {
        let (a, b) = (v(x, y), if way == 0 { v(x + 1, y) } else { v(x, y + 1) });
        let t = (level - a) / (b - a);
        if way == 0 { [x as f64 + t, y as f64] } else { [x as f64, y as f64 + t] }
    };
    let mut next: BTreeMap<Side, Side> = BTreeMap::new();
    let mut starts: BTreeMap<Side, bool> = BTreeMap::new();
    for y in 0..h.saturating_sub(1) {
        for x in 0..w.saturating_sub(1) {
            let corners = [v(x, y), v(x + 1, y), v(x + 1, y + 1), v(x, y + 1)].map(|c| c > level);
            let sides: [Side; 4] = [(x, y, 0), (x + 1, y, 1), (x, y + 1, 0), (x, y, 1)];
            // Around the square: a bright corner that follows a dark one opens a segment, the next dark one closes it.
            let rises: Vec<usize> = (0..4).filter(|i| !corners[*i] && corners[(i + 1) % 4]).collect();
            for rise in rises {
                let fall = (1..4).map(|k| (rise + k) % 4).find(|i| corners[*i] && !corners[(i + 1) % 4]);
                if let Some(fall) = fall {
                    next.insert(sides[rise], sides[fall]);
                    starts.entry(sides[rise]).or_insert(true);
                    starts.insert(sides[fall], false);
                }
            }
        }
    }
    let mut out = Vec::new();
    let follow = |from: Side, next: &mut BTreeMap<Side, Side>| {
        let mut points = vec![place(from)];
        let mut at = from;
        while let Some(to) = next.remove(&at) {
            if to == from {
                return Line { points, closed: true };
            }
            points.push(place(to));
            at = to;
        }
        Line { points, closed: false }
    };
    // Lines that begin at the frame first, else they would be begun in their middle.
    for (side, _) in starts.iter().filter(|(_, first)| **first) {
        if next.contains_key(side) {
            out.push(follow(*side, &mut next));
        }
    }
    while let Some(side) = next.keys().next().copied() {
        out.push(follow(side, &mut next));
    }
    out
}

/// The longest outer line around a mask.
pub fn outline(mask: &Mask) -> Option<Line> {
    lines(&mask.to_grey(), 0.5).into_iter().max_by_key(|l| l.points.len())
}

/// An edge found along a direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Edge {
    /// Its place along the direction from the middle, pixels.
    pub offset: f64,
    /// Grey before and behind it.
    pub levels: [f64; 2],
}

/// The place of an edge near `middle` along the unit vector `direction`: where the grey crosses the half of what it is
/// `reach` pixels before and behind, nearest to the middle. A blurred straight edge keeps its place by this. Nothing where
/// both sides differ by less than `least` or nothing crosses.
pub fn edge(picture: &Grey, middle: [f64; 2], direction: [f64; 2], reach: f64, least: f64) -> Option<Edge> {
    let grey = |s: f64| picture.sample(middle[0] + s * direction[0], middle[1] + s * direction[1]);
    let mean = |from: f64| (grey(from) + grey(from * 1.2) + grey(from * 1.4)) / 3.0;
    let levels = [mean(-reach), mean(reach)];
    let apart = (levels[1] - levels[0]).abs();
    if apart.is_nan() || apart <= least {
        return None;
    }
    let half = 0.5 * (levels[0] + levels[1]);
    crossing(picture, middle, direction, reach, half).map(|offset| Edge { offset, levels })
}

/// Where the grey crosses a level along the unit vector `direction`, nearest to `middle` and at most `reach` pixels from it.
pub fn crossing(
    picture: &Grey,
    middle: [f64; 2],
    direction: [f64; 2],
    reach: f64,
    level: f64,
) -> Option<f64> {
    let steps = (4.0 * reach).ceil() as i32;
    let at = |i: i32| f64::from(i) * reach / f64::from(steps);
    let above = |s: f64| picture.sample(middle[0] + s * direction[0], middle[1] + s * direction[1]) - level;
    let values: Vec<f64> = (-steps..=steps).map(|i| above(at(i))).collect();
    values
        .windows(2)
        .enumerate()
        .filter(|(_, pair)| (pair[0] > 0.0) != (pair[1] > 0.0))
        .map(|(i, pair)| {
            let t = pair[0] / (pair[0] - pair[1]);
            (f64::from(i as i32 - steps) + t) * reach / f64::from(steps)
        })
        .min_by(|a, b| a.abs().total_cmp(&b.abs()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{render, smooth};

    #[test]
    fn the_edge_of_a_blurred_disc_lies_on_its_circle() {
        let centre = [40.3, 37.8];
        let radius = 21.7;
        let sharp = render::covered(80, 80, 16, |x, y| (x - centre[0]).hypot(y - centre[1]) < radius);
        let picture = smooth::gaussian(&sharp, 1.0);
        let found = lines(&picture, 0.5);
        assert_eq!(found.len(), 1);
        assert!(found[0].closed && found[0].points.len() > 150);
        for p in &found[0].points {
            let apart = (p[0] - centre[0]).hypot(p[1] - centre[1]) - radius;
            assert!(apart.abs() < 0.06, "{apart}");
            let way = [(p[0] - centre[0]) / radius, (p[1] - centre[1]) / radius];
            let edge = edge(&picture, *p, way, 4.0, 0.1).unwrap();
            assert!((edge.offset + apart).abs() < 0.06, "{}", edge.offset);
        }
    }

    #[test]
    fn a_line_that_leaves_the_picture_is_open_and_whole() {
        let half = Grey::from_fn(12, 9, |_, y| y as f32);
        let found = lines(&half, 3.25);
        assert_eq!(found.len(), 1);
        assert!(!found[0].closed && found[0].points.len() == 12);
        assert!(found[0].points.iter().all(|p| (p[1] - 3.25).abs() < 1e-6));
        assert!(lines(&half, 100.0).is_empty());
    }
}
