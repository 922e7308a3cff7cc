//! The next coarser level: which columns merge, and how the coarse ones are coupled.
//!
//! Columns merge in pairs along x and y, each axis by itself: a pair merges when its width is at most the width of the
//! level, which doubles from level to level. The narrowest columns merge first, so that a graded grid becomes uniform
//! before all of it is coarsened, and no column becomes much longer one way than the other. Pairs across a line where
//! the conduction in the plane jumps, or where a body ends, merge last.
//!
//! A plain sum over the faces (Galerkin with constant transfer) makes a coarse grid twice too stiff in the plane. A
//! coarse face is instead as conductive as its fine face in series with the halves of the merged pairs, and at least as
//! the sum scaled by the ratio of distances: the first is right in a patchwork, the second where a slot cuts a pair
//! (after R. E. Alcouffe, A. Brandt, J. E. Dendy, J. W. Painter, SIAM J. Sci. Stat. Comput. 2 (1981) 430, who average
//! conductances along and across).

use super::couplings::{Couplings, zeros};
use super::level::{Level, children};
use super::strips::{Strips, rows, rows_of_two};

/// What a protected line is taken to be wider by.
const PROTECTED: f64 = 8.0;

/// How the merging goes on from level to level.
#[derive(Debug, Clone)]
pub(super) struct Merging {
    /// Pairs up to this width merge next.
    width: f64,
    /// For each axis and each inner line between columns: whether it is protected.
    protected: [Vec<bool>; 2],
}

impl Merging {
    pub fn new(widths: &[Vec<f64>; 2], protected: [Vec<bool>; 2]) -> Merging {
        let smallest = widths.iter().flatten().copied().fold(f64::INFINITY, f64::min);
        Merging { width: 2.3 * smallest, protected }
    }

    /// Coarse column of every column along x and y; `None` when one column is left.
    pub fn next(&mut self, widths: &[Vec<f64>; 2]) -> Option<[Vec<u32>; 2]> {
        if widths.iter().all(|w| w.len() <= 1) {
            return None;
        }
        loop {
            let maps = [0, 1].map(|axis| pair_up(&widths[axis], &self.protected[axis], self.width));
            self.width *= 2.0;
            if maps.iter().zip(widths).any(|(m, w)| m.last().map_or(0, |l| *l as usize + 1) < w.len()) {
                for (axis, map) in maps.iter().enumerate() {
                    let inner = map.windows(2).zip(&self.protected[axis]);
                    self.protected[axis] = inner.filter(|(w, _)| w[0] != w[1]).map(|(_, p)| *p).collect();
                }
                return Some(maps);
            }
        }
    }
}

fn pair_up(widths: &[f64], protected: &[bool], widest: f64) -> Vec<u32> {
    let mut map = Vec::with_capacity(widths.len());
    let (mut at, mut coarse) = (0, 0);
    while at < widths.len() {
        let merges = at + 1 < widths.len() && {
            let factor = if protected[at] { PROTECTED } else { 1.0 };
            factor * (widths[at] + widths[at + 1]) <= widest
        };
        map.push(coarse);
        if merges {
            map.push(coarse);
            at += 1;
        }
        at += 1;
        coarse += 1;
    }
    map
}

/// One axis of a merging: fine columns of each coarse one, widths and distances.
struct Axis<'a> {
    widths: &'a [f64],
    first: Vec<usize>,
    coarse: Vec<f64>,
}

impl Axis<'_> {
    fn new<'a>(widths: &'a [f64], map: &[u32]) -> Axis<'a> {
        let count = map.last().map_or(0, |l| *l as usize + 1);
        let range = children(map, count);
        let coarse = (0..count).map(|i| range(i).map(|k| widths[k]).sum()).collect();
        let mut first: Vec<usize> = (0..count).map(|i| range(i).start).collect();
        first.push(widths.len());
        Axis { widths, first, coarse }
    }

    /// Conductances between a coarse column and the next, from those between fine ones: `fine(i)` is the one from fine
    /// column `i` to `i + 1`. Both ways of the module's text.
    fn between(&self, column: usize, fine: impl Fn(usize) -> f64) -> [f64; 2] {
        let [from, middle, end] = [self.first[column], self.first[column + 1], self.first[column + 2]];
        let last = middle - 1;
        let open = fine(last);
        if open <= 0.0 {
            return [0.0; 2];
        }
        let mut resistance = 1.0 / open;
        let mut pair = |line: usize, far: usize| {
            let g = fine(line);
            if g > 0.0 {
                resistance += self.widths[far] / (self.widths[line] + self.widths[line + 1]) / g;
            }
        };
        if last > from {
            pair(last - 1, last - 1);
        }
        if middle + 1 < end {
            pair(middle, middle + 1);
        }
        let near = self.widths[last] + self.widths[middle];
        let far = self.coarse[column] + self.coarse[column + 1];
        [1.0 / resistance, open * near / far]
    }
}

/// The coarser level of a merging.
pub(super) fn coarser(fine: &Level) -> Level {
    let [map_x, map_y] = &fine.merged;
    let (axis_x, axis_y) = (Axis::new(&fine.widths[0], map_x), Axis::new(&fine.widths[1], map_y));
    let cells = [axis_x.coarse.len(), axis_y.coarse.len(), fine.strips.cells[2]];
    let rows_of = children(map_y, cells[1]);
    let strips = Strips::new(cells, |row, z| {
        let mut span = [usize::MAX, 0];
        for y in rows_of(row) {
            let [from, end] = fine.strips.span(y, z);
            if end > from {
                span = [span[0].min(map_x[from] as usize), span[1].max(map_x[end - 1] as usize + 1)];
            }
        }
        if span[1] == 0 { [0, 0] } else { span }
    });
    let couplings =
        Couplings { x: zeros(&strips), y: zeros(&strips), z: zeros(&strips), ground: zeros(&strips) };
    let widths = [axis_x.coarse, axis_y.coarse];
    let mut level = Level { strips, couplings, widths, ..Level::default() };
    recouple(fine, &mut level);
    level
}

/// Couples the cells of a coarser level anew, without their ground.
pub(super) fn recouple(fine: &Level, coarse: &mut Level) {
    let [map_x, map_y] = &fine.merged;
    let (axis_x, axis_y) = (Axis::new(&fine.widths[0], map_x), Axis::new(&fine.widths[1], map_y));
    let Level { strips, couplings, .. } = coarse;
    let (strips, cells) = (&*strips, strips.cells);
    let rows_of = children(map_y, cells[1]);
    let value = |pair: &[Vec<f32>; 2], at: [usize; 3]| {
        fine.strips.place(at).map_or(0.0, |(c, i)| f64::from(pair[c][i]))
    };
    for colour in 0..2 {
        rows_of_two(
            strips,
            (colour, &mut couplings.x[colour]),
            (colour, &mut couplings.y[colour]),
            &|row, along_x, along_y| {
                for z in 0..cells[2] {
                    for (x, at) in strips.along(colour, row, z) {
                        let at = at - strips.row(colour, row);
                        if x + 1 < cells[0] {
                            let sums = rows_of(row).fold([0.0; 2], |s, y| {
                                let g = axis_x.between(x, |i| value(&fine.couplings.x, [i, y, z]));
                                [s[0] + g[0], s[1] + g[1]]
                            });
                            along_x[at] = sums[0].max(sums[1]) as f32;
                        }
                        if row + 1 < cells[1] {
                            let sums = (axis_x.first[x]..axis_x.first[x + 1]).fold([0.0; 2], |s, i| {
                                let g = axis_y.between(row, |y| value(&fine.couplings.y, [i, y, z]));
                                [s[0] + g[0], s[1] + g[1]]
                            });
                            along_y[at] = sums[0].max(sums[1]) as f32;
                        }
                    }
                }
                0.0
            },
        );
        sum_children(fine, strips, &axis_x, map_y, colour, &fine.couplings.z, &mut couplings.z[colour]);
    }
}

/// Sums the ground of a level anew into the coarser one.
pub(super) fn sum_ground(fine: &Level, coarse: &mut Level) {
    let [map_x, map_y] = &fine.merged;
    let axis_x = Axis::new(&fine.widths[0], map_x);
    for (colour, ground) in coarse.couplings.ground.iter_mut().enumerate() {
        sum_children(fine, &coarse.strips, &axis_x, map_y, colour, &fine.couplings.ground, ground);
    }
}

/// Sums a value of the fine cells into the coarse ones of a colour.
fn sum_children(
    fine: &Level,
    strips: &Strips,
    axis_x: &Axis<'_>,
    map_y: &[u32],
    colour: usize,
    of: &[Vec<f32>; 2],
    into: &mut [f32],
) {
    let rows_of = children(map_y, strips.cells[1]);
    rows(strips, colour, into, &|row, sheet| {
        for z in 0..strips.cells[2] {
            for (x, at) in strips.along(colour, row, z) {
                let mut sum = 0.0;
                for y in rows_of(row) {
                    for i in axis_x.first[x]..axis_x.first[x + 1] {
                        sum += fine.strips.place([i, y, z]).map_or(0.0, |(c, at)| f64::from(of[c][at]));
                    }
                }
                sheet[at - strips.row(colour, row)] = sum as f32;
            }
        }
        0.0
    });
}
