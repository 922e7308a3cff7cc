//! How much of a shape lies in a rectangle of the grid, exactly: so that no heat and no void gets lost, whatever the grid.

use super::parts::Area;
use crate::problem::Cells;

/// Part of the disc of radius one around the origin with `u <= x` and `v <= y`, by integrating its height over `u`.
fn quadrant(x: f64, y: f64) -> f64 {
    if y <= -1.0 || x <= -1.0 {
        return 0.0;
    }
    // Twice the area between the arc and the axis, from -1 to u.
    let arcs = |u: f64| {
        let u = u.clamp(-1.0, 1.0);
        u * (1.0 - u * u).max(0.0).sqrt() + u.asin() + std::f64::consts::FRAC_PI_2
    };
    let x = x.min(1.0);
    if y >= 1.0 {
        return arcs(x);
    }
    // Where the arc is farther from the axis than y.
    let c = (1.0 - y * y).sqrt();
    let [a, b] = [-c, c.min(x).max(-c)];
    let inside = y * (b - a) + 0.5 * (arcs(b) - arcs(a));
    if y <= 0.0 {
        return inside;
    }
    let left = arcs(x.min(-c));
    let right = if x > c { arcs(x) - arcs(c) } else { 0.0 };
    inside + left + right
}

/// Area of a circle that lies in a rectangle.
pub(super) fn circle_in(centre: [f64; 2], radius: f64, area: &Area) -> f64 {
    let [[x0, y0], [x1, y1]] = [area.from, area.to].map(|p| [0, 1].map(|i| (p[i] - centre[i]) / radius));
    let part = quadrant(x1, y1) - quadrant(x0, y1) - quadrant(x1, y0) + quadrant(x0, y0);
    radius * radius * part.max(0.0)
}

/// Cells of a grid over an area that meet a span along one axis: index, and share of the cell that lies in the span.
pub(super) fn met(cells: usize, over: [f64; 2], span: [f64; 2]) -> Vec<(usize, f64)> {
    let step = (over[1] - over[0]) / cells as f64;
    let place = |at: f64| ((at - over[0]) / step).clamp(0.0, cells as f64);
    let [from, to] = span.map(place);
    let first = from.floor() as usize;
    (first..cells)
        .take_while(|i| (*i as f64) < to)
        .map(|i| (i, (to.min(i as f64 + 1.0) - from.max(i as f64)).max(0.0)))
        .filter(|m| m.1 > 0.0)
        .collect()
}

/// Sum over the cells of a grid that lie in a rectangle, each by the share of it that does.
pub(super) fn cells_in(cells: &Cells, over: &Area, area: &Area) -> f64 {
    let along = |axis: usize, count: usize| {
        met(count, [over.from[axis], over.to[axis]], [area.from[axis], area.to[axis]])
    };
    let (xs, ys) = (along(0, cells.columns), along(1, cells.rows()));
    ys.iter()
        .map(|(y, h)| {
            let row = &cells.values[y * cells.columns..(y + 1) * cells.columns];
            h * xs.iter().map(|(x, w)| w * row[*x]).sum::<f64>()
        })
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::f64::consts::PI;

    fn area(from: [f64; 2], to: [f64; 2]) -> Area {
        Area { from, to }
    }

    #[test]
    fn parts_of_a_circle_are_what_geometry_says() {
        let whole = circle_in([2.0, 3.0], 0.5, &area([0.0, 0.0], [9.0, 9.0]));
        assert!((whole - PI / 4.0).abs() < 1e-14);
        let quarter = circle_in([2.0, 3.0], 0.5, &area([2.0, 3.0], [9.0, 9.0]));
        assert!((quarter - PI / 16.0).abs() < 1e-14);
        // A square inside, and one beside it.
        assert!((circle_in([0.0; 2], 1.0, &area([-0.5; 2], [0.5; 2])) - 1.0).abs() < 1e-14);
        assert!(circle_in([0.0; 2], 1.0, &area([0.8; 2], [0.9; 2])).abs() < 1e-14);
        // The cap beyond half the radius: acos(1/2) - sqrt(3)/4.
        let cap = circle_in([0.0; 2], 1.0, &area([0.5, -2.0], [2.0, 2.0]));
        assert!((cap - (PI / 3.0 - 3f64.sqrt() / 4.0)).abs() < 1e-14);
    }

    proptest! {
        #[test]
        fn tiles_add_up_to_the_circle_and_the_grid(
            x in -0.4..0.4_f64, y in -0.4..0.4_f64, r in 0.05..0.5_f64,
            cuts in prop::collection::vec(-1.0..1.0_f64, 1..6), columns in 1..7_usize,
            values in prop::collection::vec(0.0..3.0_f64, 35),
        ) {
            let mut line = [vec![-1.0, 1.0], cuts].concat();
            line.sort_by(f64::total_cmp);
            let cells = Cells { columns, values: values[..columns * 5].to_vec() };
            let over = area([-0.7, -0.9], [0.6, 0.8]);
            let (mut discs, mut sum) = (0.0, 0.0);
            for ys in line.windows(2) {
                for xs in line.windows(2) {
                    let tile = area([xs[0], ys[0]], [xs[1], ys[1]]);
                    discs += circle_in([x, y], r, &tile);
                    sum += cells_in(&cells, &over, &tile);
                }
            }
            prop_assert!((discs - PI * r * r).abs() < 1e-12);
            let all: f64 = cells.values.iter().sum();
            prop_assert!((sum - all).abs() < 1e-12 * (1.0 + all));
        }
    }
}
