//! Share of metal in windows, exact: signed areas of the merged edges accumulated in the tiles between all window
//! borders, then summed by window. Linear in edges plus tiles.

use crate::cluster::Hit;
use crate::index::EdgeIndex;
use crate::merge::FINE;

/// Window borders along one side: starts at every step, the last window ends at the die edge.
fn starts(length: i64, size: i64, step: i64) -> Vec<i64> {
    let last = (length - size).max(0);
    let mut starts: Vec<i64> = (0..).map(|k| k * step).take_while(|s| *s < last).collect();
    starts.push(last);
    starts
}

fn borders(starts: &[i64], length: i64, size: i64) -> Vec<i64> {
    let mut all: Vec<i64> =
        starts.iter().flat_map(|s| [*s, (*s + size).min(length)]).chain([0, length]).collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// Share of metal in every window, rows from the bottom; `at` is the window's centre. Lengths in nm.
pub(crate) fn windows(index: &EdgeIndex, width: i64, height: i64, size: i64, step: i64) -> Vec<Hit> {
    let (across, up) = (starts(width, size, step), starts(height, size, step));
    let (xs, ys) = (borders(&across, width, size), borders(&up, height, size));
    let tiles = tile_areas(index, &xs, &ys);
    // Summed-area table over the tiles.
    let (columns, rows) = (xs.len() - 1, ys.len() - 1);
    let mut sum = vec![0.0; (columns + 1) * (rows + 1)];
    for r in 0..rows {
        for c in 0..columns {
            sum[(r + 1) * (columns + 1) + c + 1] =
                tiles[r * columns + c] + sum[r * (columns + 1) + c + 1] + sum[(r + 1) * (columns + 1) + c]
                    - sum[r * (columns + 1) + c];
        }
    }
    let place = |borders: &[i64], x: i64| borders.partition_point(|b| *b < x);
    let mut windows = Vec::new();
    for y in &up {
        for x in &across {
            let (x1, y1) = ((x + size).min(width), (y + size).min(height));
            let (c0, c1, r0, r1) = (place(&xs, *x), place(&xs, x1), place(&ys, *y), place(&ys, y1));
            let at = |r: usize, c: usize| sum[r * (columns + 1) + c];
            let area = at(r1, c1) - at(r0, c1) - at(r1, c0) + at(r0, c0);
            let share = area / ((x1 - x) as f64 * (y1 - y) as f64);
            let centre = [(x + x1) as f64 / 2.0, (y + y1) as f64 / 2.0];
            windows.push(Hit { key: (0, 0), value: share.clamp(0.0, 1.0), at: centre, edges: None });
        }
    }
    windows
}

/// Area of metal (nm2) in each tile. Every edge is cut at the tile borders; a piece in row r adds the trapezoid to its left
/// within its own tile and whole strips to all tiles left of that.
fn tile_areas(index: &EdgeIndex, xs: &[i64], ys: &[i64]) -> Vec<f64> {
    let (columns, rows) = (xs.len() - 1, ys.len() - 1);
    let xs: Vec<f64> = xs.iter().map(|x| *x as f64).collect();
    let ys: Vec<f64> = ys.iter().map(|y| *y as f64).collect();
    let mut own = vec![0.0; columns * rows];
    // Height of edge pieces whose strips fill the tiles to the left, by row and column.
    let mut strips = vec![0.0; (columns + 1) * rows];
    for [p, q] in &index.edges {
        let a = [p[0] as f64 / FINE as f64, p[1] as f64 / FINE as f64];
        let b = [q[0] as f64 / FINE as f64, q[1] as f64 / FINE as f64];
        if a[1] == b[1] {
            continue;
        }
        let x_at = |y: f64| a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]);
        let (low, high) = (a[1].min(b[1]), a[1].max(b[1]));
        // Upward edges have the metal on their left.
        let sign = if b[1] > a[1] { 1.0 } else { -1.0 };
        let first = ys.partition_point(|y| *y <= low).saturating_sub(1);
        for row in first..rows {
            let (y0, y1) = (low.max(ys[row]), high.min(ys[row + 1]));
            if y0 >= high {
                break;
            }
            if y1 <= y0 {
                continue;
            }
            let (mut from, mut to) = ((x_at(y0), y0), (x_at(y1), y1));
            if from.0 > to.0 {
                std::mem::swap(&mut from, &mut to);
            }
            let (x0, x1, dy) = (from.0, to.0, (to.1 - from.1).abs());
            let share = |x: f64| if x1 > x0 { ((x - x0) / (x1 - x0)).clamp(0.0, 1.0) * dy } else { dy };
            // Right of the die: fills every tile of the row.
            let beyond = if x0 >= xs[columns] { dy } else { dy - share(xs[columns]) };
            strips[row * (columns + 1) + columns] += sign * beyond;
            let first_column = xs.partition_point(|x| *x <= x0).saturating_sub(1);
            for column in first_column..columns {
                let (l, r) = (x0.max(xs[column]), x1.min(xs[column + 1]));
                if l > r || (l == r && x1 > x0) || (x1 == x0 && (x0 < xs[column] || x0 >= xs[column + 1])) {
                    if xs[column] > x1 {
                        break;
                    }
                    continue;
                }
                let height = if x1 > x0 { (r - l) / (x1 - x0) * dy } else { dy };
                own[row * columns + column] += sign * height * ((l + r) / 2.0 - xs[column]);
                strips[row * (columns + 1) + column] += sign * height;
            }
        }
    }
    for row in 0..rows {
        let mut height = strips[row * (columns + 1) + columns];
        for column in (0..columns).rev() {
            own[row * columns + column] += height * (xs[column + 1] - xs[column]);
            height += strips[row * (columns + 1) + column];
        }
    }
    own
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exact::Spot;

    fn index(rings: &[Vec<Spot>]) -> EdgeIndex {
        let fine: Vec<Vec<Spot>> =
            rings.iter().map(|r| r.iter().map(|p| [p[0] * FINE, p[1] * FINE]).collect()).collect();
        let owned: Vec<(u32, &[Spot])> = fine.iter().map(|r| (0, r.as_slice())).collect();
        EdgeIndex::new(&owned, 1000)
    }

    #[test]
    fn a_triangle_and_metal_beyond_the_die_give_exact_shares() {
        let triangle = vec![[0, 0], [100, 0], [0, 100]];
        let shares: Vec<f64> =
            windows(&index(&[triangle]), 100, 100, 50, 50).iter().map(|w| w.value).collect();
        assert_eq!(shares, [1.0, 0.5, 0.5, 0.0]);
        let beyond = vec![[-50, -50], [75, -50], [75, 50], [-50, 50]];
        let shares: Vec<f64> = windows(&index(&[beyond]), 100, 100, 50, 50).iter().map(|w| w.value).collect();
        assert_eq!(shares, [1.0, 0.5, 0.0, 0.0]);
        let covering = vec![[-50, -50], [275, -50], [275, 150], [-50, 150]];
        let shares: Vec<f64> =
            windows(&index(&[covering]), 100, 100, 50, 50).iter().map(|w| w.value).collect();
        assert_eq!(shares, [1.0; 4]);
    }

    #[test]
    fn the_last_window_ends_at_the_die_edge() {
        assert_eq!(starts(100, 40, 30), [0, 30, 60]);
        assert_eq!(starts(110, 40, 30), [0, 30, 60, 70]);
        assert_eq!(starts(30, 40, 30), [0]);
    }
}
