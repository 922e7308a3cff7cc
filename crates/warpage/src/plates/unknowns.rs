//! Where the unknowns of the plates are: lines of the grid, mirrors, and what keeps a free body in place.

use super::{Area, Assembly, Part, Region, Spring};
use crate::grid::Lines;

/// Where the unknowns are.
#[derive(Clone, PartialEq)]
pub(super) struct Numbering {
    /// Number of unknowns.
    pub count: usize,
    /// Unknown of plate, half line in x, half line in y, component (0, 1 in the plane; 2 to 5 deflection, slope x,
    /// slope y, twist); none where there is no plate or it is held.
    pub index: Vec<Option<usize>>,
    across: [usize; 2],
}

impl Numbering {
    pub fn slot(&self, plate: usize, i: usize, j: usize, component: usize) -> usize {
        ((i * self.across[1] + j) * 2 + plate) * 6 + component
    }

    /// Unknowns of a piece with the numbers of their shape functions as they are counted in a piece: plate by plate
    /// both displacements in the plane and the deflection, each with that in y running faster.
    pub fn piece(&self, piece: [usize; 2]) -> Vec<(usize, usize)> {
        let mut all = Vec::new();
        let mut number = 0;
        for (plate, field) in [(0, 0), (0, 1), (0, 2), (1, 0), (1, 1), (1, 2)] {
            let n = if field == 2 { 4 } else { 3 };
            for k in 0..n * n {
                all.extend(self.of(plate, field, piece, k / n, k % n).map(|u| (number, u)));
                number += 1;
            }
        }
        all
    }

    /// Unknown of local function (`a` in x, `b` in y) of a field in the piece (`px`, `py`).
    pub fn of(&self, plate: usize, field: usize, [px, py]: [usize; 2], a: usize, b: usize) -> Option<usize> {
        if field < 2 {
            self.index[self.slot(plate, 2 * px + a, 2 * py + b, field)]
        } else {
            let component = 2 + (a % 2) + 2 * (b % 2);
            self.index[self.slot(plate, 2 * px + 2 * (a / 2), 2 * py + 2 * (b / 2), component)]
        }
    }
}

/// Whether a body is solved on a quarter: its own mirror image across both directions.
pub fn quartered(assembly: &Assembly) -> bool {
    mirrors(assembly) == [true; 2]
}

/// Across which directions a body is its own mirror image.
pub(crate) fn mirrors(assembly: &Assembly) -> [bool; 2] {
    [0, 1].map(|axis| mirrored(assembly, axis))
}

/// Whether parts and springs are their own mirror image across a direction: each as often as its image.
fn mirrored(assembly: &Assembly, axis: usize) -> bool {
    let near = 1e-9 * assembly.size[axis];
    let ends = |a: &Area| if axis == 0 { a.x } else { a.y };
    let same = |a: &Area, b: &Area, sign: f64| {
        let ([a0, a1], [b0, b1]) = (ends(a), ends(b));
        let image = if sign < 0.0 { [-b1, -b0] } else { [b0, b1] };
        let other = if axis == 0 { [a.y, b.y] } else { [a.x, b.x] };
        (a0 - image[0]).abs() <= near
            && (a1 - image[1]).abs() <= near
            && (0..2).all(|k| (other[0][k] - other[1][k]).abs() <= near)
    };
    let like = |a: &Region, b: &Region, sign: f64| {
        same(&a.outer, &b.outer, sign)
            && match (&a.opening, &b.opening) {
                (Some(a), Some(b)) => same(a, b, sign),
                (None, None) => true,
                _ => false,
            }
    };
    let parts = assembly.parts.iter().all(|p| {
        let count = |sign: f64| {
            let alike =
                |q: &&Part| q.plate == p.plate && q.plies == p.plies && like(&q.region, &p.region, sign);
            assembly.parts.iter().filter(alike).count()
        };
        count(1.0) == count(-1.0)
    });
    parts
        && assembly.springs.iter().all(|s| {
            let count = |sign: f64| {
                let alike = |t: &&Spring| {
                    Spring { region: s.region, ..**t } == *s && like(&t.region, &s.region, sign)
                };
                assembly.springs.iter().filter(alike).count()
            };
            count(1.0) == count(-1.0)
        })
}

/// Lines across a direction; with `mirror` of the positive half alone.
pub(super) fn lines(assembly: &Assembly, axis: usize, mirror: bool) -> Lines {
    let half = assembly.size[axis] / 2.0;
    let mut breaks = vec![if mirror { 0.0 } else { -half }, half];
    if !mirror {
        breaks.push(0.0);
    }
    let regions = assembly.parts.iter().map(|p| &p.region).chain(assembly.springs.iter().map(|s| &s.region));
    for area in regions.flat_map(|r| std::iter::once(r.outer).chain(r.opening)) {
        let ends = if axis == 0 { area.x } else { area.y };
        let low = breaks[0];
        breaks.extend(ends.into_iter().filter(|&e| e > low && e < half));
    }
    Lines::new(breaks, mirror, assembly.step)
}

/// Across which directions a component turns its sign in a mirror.
pub(super) fn odd(component: usize) -> [bool; 2] {
    match component {
        0 | 3 => [true, false],
        1 | 4 => [false, true],
        2 => [false, false],
        _ => [true, true],
    }
}

pub(super) fn number(lines: &[Lines; 2], present: &[[bool; 2]]) -> Numbering {
    let [nx, ny] = [lines[0].pieces(), lines[1].pieces()];
    let across = [2 * nx + 1, 2 * ny + 1];
    let mut numbering = Numbering { count: 0, index: vec![None; across[0] * across[1] * 12], across };
    // The node that holds the body where no mirror does: next to the middle.
    let middle = [0, 1].map(|k| if lines[k].mirrored { 0 } else { 2 * lines[k].find(0.0).0 });
    for i in 0..across[0] {
        for j in 0..across[1] {
            for plate in [0, 1] {
                let near = |k: usize, n: usize| [(k.max(1) - 1) / 2, (k / 2).min(n - 1)];
                let there =
                    near(i, nx).iter().any(|&px| near(j, ny).iter().any(|&py| present[px * ny + py][plate]));
                if !there {
                    continue;
                }
                for component in 0..6 {
                    let node = i % 2 == 0 && j % 2 == 0;
                    if component >= 2 && !node {
                        continue;
                    }
                    let on = [lines[0].mirrored && i == 0, lines[1].mirrored && j == 0];
                    let odd = odd(component);
                    let held_by_mirror = (0..2).any(|k| on[k] && odd[k]);
                    let here = plate == 0 && [i, j] == middle;
                    let second = plate == 0 && [i, j] == [middle[0] + 2, middle[1]];
                    // Six conditions keep a free body in place: two in the plane and its turn, height and two tilts.
                    let held =
                        here && match component {
                            0 => !lines[0].mirrored,
                            1 => !lines[1].mirrored,
                            2..=4 => true,
                            _ => false,
                        } || second && component == 1 && !lines[0].mirrored && !lines[1].mirrored;
                    if !held_by_mirror && !held {
                        let slot = numbering.slot(plate, i, j, component);
                        numbering.index[slot] = Some(numbering.count);
                        numbering.count += 1;
                    }
                }
            }
        }
    }
    numbering
}
