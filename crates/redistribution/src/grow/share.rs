//! Sharing the free room among several supplies: every place goes to the supply whose metal is nearest, measured around
//! the metal of all signals.
//!
//! A front leaves the metal of all supplies at the same speed (fast marching, Sethian 1996: a first-order upwind
//! solution of |grad u| = 1) on a lattice; where two fronts meet is the border. Across signals the front goes a
//! thousand times slower: only gaps finer than the lattice, and room that nobody reaches, find an owner that way.

use super::contour::{Lattice, smoother};
use super::region::{FINE, Ring, Spot};
use super::scan::scan;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Lattice points at most.
const MOST_POINTS: f64 = 150_000.0;
/// How much slower the front goes where no metal may grow.
const SLOWER: f64 = 1000.0;
const NOBODY: u32 = u32::MAX;

/// Each supply's part of the die.
pub struct Parts {
    /// Rings of each supply, the part on the left.
    pub rings: Vec<Vec<Ring>>,
    /// How far a ring may lie beyond the true border, nm.
    pub doubt: f64,
}

/// Shares a die of `size` nm among supplies with the given metal. `room` is where a line's centre may be as far as
/// signals go; `pitch` (nm) is line and space together.
pub fn share(size: [f64; 2], room: &[&Ring], metal: &[Vec<Ring>], pitch: f64) -> Parts {
    let step = (pitch / 3.0).max((size[0] * size[1] / MOST_POINTS).sqrt());
    let count = [0, 1].map(|k| (size[k] / step).ceil().max(1.0) as usize);
    // Lattice points in the middles of the cells, a frame far outside that repeats the outermost ones, and one that
    // nobody owns.
    let axis = |k: usize| {
        let far = 4.0 * pitch + step;
        let mut at = vec![-2.0 * far, -far];
        at.extend((0..count[k]).map(|i| (i as f64 + 0.5) * size[k] / count[k] as f64));
        at.extend([size[k] + far, size[k] + 2.0 * far]);
        at
    };
    let (xs, ys) = (axis(0), axis(1));
    let columns = xs.len();
    let grid = Grid { origin: [xs[2], ys[2]], step: [xs[3] - xs[2], ys[3] - ys[2]], count, columns };
    let mut free = vec![false; xs.len() * ys.len()];
    grid.fill(room.iter().map(|r| r.as_slice()), |p| free[p] = true);
    let mut owner = vec![NOBODY; free.len()];
    for (k, rings) in metal.iter().enumerate() {
        let mut take = |p: usize| {
            if owner[p] == NOBODY {
                owner[p] = k as u32;
            }
        };
        for ring in rings {
            grid.fill(std::iter::once(ring.as_slice()), &mut take);
            grid.walk(ring, &mut take);
        }
    }
    let distance = march(&grid, &free, &mut owner);
    let mut lattice = Lattice { xs, ys, owner, distance };
    repeat_outermost(&mut lattice);
    let doubt = step / 3.0;
    let rings = lattice
        .rings(metal.len())
        .into_iter()
        .map(|rings| rings.iter().map(|r| smoother(r, doubt)).collect())
        .collect();
    Parts { rings, doubt }
}

struct Grid {
    origin: [f64; 2],
    step: [f64; 2],
    count: [usize; 2],
    columns: usize,
}

impl Grid {
    fn at(&self, x: usize, y: usize) -> usize {
        (y + 2) * self.columns + x + 2
    }

    /// Position in steps from the first lattice point.
    fn steps(&self, p: Spot) -> [f64; 2] {
        [0, 1].map(|k| (p[k] as f64 / FINE - self.origin[k]) / self.step[k])
    }

    /// Visits the lattice points inside rings (odd number of crossings).
    fn fill<'a>(&self, rings: impl Iterator<Item = &'a [Spot]>, mut visit: impl FnMut(usize)) {
        scan(rings, self.origin, self.step, self.count, |x, y| visit(self.at(x, y)));
    }

    /// Visits the lattice points nearest to a ring's edges.
    fn walk(&self, ring: &[Spot], mut visit: impl FnMut(usize)) {
        let Some(&end) = ring.last() else { return };
        let mut a = self.steps(end);
        for &p in ring {
            let b = self.steps(p);
            let n = (b[0] - a[0]).abs().max((b[1] - a[1]).abs()).ceil().max(1.0);
            for k in 0..n as usize {
                let t = k as f64 / n;
                let cell =
                    |i: usize| ((a[i] + t * (b[i] - a[i])).round().max(0.0) as usize).min(self.count[i] - 1);
                visit(self.at(cell(0), cell(1)));
            }
            a = b;
        }
    }
}

/// Distances from the points that have an owner, nm; gives every other point the owner of the front that comes first.
fn march(grid: &Grid, free: &[bool], owner: &mut [u32]) -> Vec<f64> {
    let step = (grid.step[0] * grid.step[1]).sqrt();
    let mut distance = vec![f64::INFINITY; owner.len()];
    let mut done = vec![false; owner.len()];
    // The bits of a positive float sort like the float.
    let mut front: BinaryHeap<Reverse<(u64, u32)>> = BinaryHeap::new();
    let on_lattice = |p: usize| {
        let (x, y) = (p % grid.columns, p / grid.columns);
        (2..2 + grid.count[0]).contains(&x) && (2..2 + grid.count[1]).contains(&y)
    };
    for p in 0..owner.len() {
        if owner[p] != NOBODY {
            distance[p] = 0.0;
            front.push(Reverse((0, p as u32)));
        }
    }
    while let Some(Reverse((_, p))) = front.pop() {
        let p = p as usize;
        if done[p] {
            continue;
        }
        done[p] = true;
        for q in [p - 1, p + 1, p - grid.columns, p + grid.columns] {
            if done[q] || !on_lattice(q) {
                continue;
            }
            let cost = if free[q] { step } else { SLOWER * step };
            let lower = |a: usize, b: usize| {
                let known =
                    |c: usize| if done[c] && owner[c] == owner[p] { distance[c] } else { f64::INFINITY };
                known(a).min(known(b))
            };
            let (a, b) = (lower(q - 1, q + 1), lower(q - grid.columns, q + grid.columns));
            let reached = if (a - b).abs() < cost {
                (a + b + (2.0 * cost * cost - (a - b) * (a - b)).sqrt()) / 2.0
            } else {
                a.min(b) + cost
            };
            if reached < distance[q] {
                distance[q] = reached;
                owner[q] = owner[p];
                front.push(Reverse((reached.to_bits(), q as u32)));
            }
        }
    }
    distance
}

fn repeat_outermost(lattice: &mut Lattice) {
    let (n, rows) = (lattice.xs.len(), lattice.ys.len());
    let mut copy = |to: usize, from: usize| {
        lattice.owner[to] = lattice.owner[from];
        lattice.distance[to] = lattice.distance[from];
    };
    for y in 2..rows - 2 {
        copy(y * n + 1, y * n + 2);
        copy(y * n + n - 2, y * n + n - 3);
    }
    for x in 1..n - 1 {
        copy(n + x, 2 * n + x);
        copy((rows - 2) * n + x, (rows - 3) * n + x);
    }
}

#[cfg(test)]
mod tests {
    use super::super::region::{area, bounds, inside, spot};
    use super::*;

    fn rectangle(x0: f64, y0: f64, x1: f64, y1: f64) -> Ring {
        vec![spot(x0, y0), spot(x1, y0), spot(x1, y1), spot(x0, y1)]
    }

    #[test]
    fn a_wall_bends_the_border_and_all_room_has_an_owner() {
        let size = [1e6, 1e6];
        let metal = vec![vec![rectangle(0.0, 0.0, 1e5, 1e6)], vec![rectangle(9e5, 0.0, 1e6, 1e6)]];
        let open = rectangle(0.0, 0.0, 1e6, 1e6);
        let even = share(size, &[&open], &metal, 2e4);
        // Halves, the far frame included.
        let halves = [area(&even.rings[0][0]), area(&even.rings[1][0])];
        assert!((halves[0] / halves[1] - 1.0).abs() < 0.02, "{halves:?}");
        assert!(inside(&even.rings[0], spot(4.8e5, 5e5)) && inside(&even.rings[1], spot(5.2e5, 5e5)));
        // A wall of signals right of the first supply, open at the top: the second supply gets the room behind it.
        let wall = [rectangle(0.0, 0.0, 2e5, 1e6), rectangle(2.4e5, 0.0, 1e6, 9e5)];
        let walled: Vec<&Ring> = wall.iter().collect();
        let bent = share(size, &walled, &metal, 2e4);
        assert!(inside(&bent.rings[1], spot(4.5e5, 2e5)));
        assert!(bounds(&bent.rings[0][0])[0][0] < 0);
    }
}
