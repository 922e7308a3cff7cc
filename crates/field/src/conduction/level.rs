//! One level of the hierarchy: its cells, their couplings, and the relaxation of whole columns.
//!
//! A column is tridiagonal along z and solved exactly, all columns of a strip side by side. Its pivots are built from
//! what each cell sends elsewhere than up, added like conductances in series and side by side (`s' = e + g s / (s +
//! g)`), never as a difference of large numbers: a layer of a micrometre is as harmless as one of a millimetre.

use super::couplings::{Couplings, Pair, add_lateral, lateral_sum, zeros};
use super::strips::{Beside, Strips, rows, rows_of_two};

/// A level.
#[derive(Debug, Default)]
pub(super) struct Level {
    pub strips: Strips,
    pub couplings: Couplings,
    /// Reciprocals of the pivots of the columns; zero where no cell is.
    pub inverse: Pair<f32>,
    /// Widths of the cells along x and y.
    pub widths: [Vec<f64>; 2],
    /// Coarse column of every column along x and y, empty on the coarsest level.
    pub merged: [Vec<u32>; 2],
}

impl Level {
    /// Builds the pivots of all columns.
    pub fn factor(&mut self) {
        let Level { strips, couplings, inverse, .. } = self;
        let (strips, couplings) = (&*strips, &*couplings);
        for (colour, inverse) in inverse.iter_mut().enumerate() {
            inverse.resize(strips.len(colour), 0.0);
            rows(strips, colour, inverse, &|y, sheet| {
                let row = strips.row(colour, y);
                // What the cells below send elsewhere than up, and the conductance up from them.
                let mut below: Vec<f64> = Vec::new();
                for z in 0..strips.cells[2] {
                    let own = strips.get(colour, y, z);
                    let mut elsewhere: Vec<f64> = couplings.ground[colour][own.start..][..own.count]
                        .iter()
                        .map(|g| f64::from(*g))
                        .collect();
                    lateral_sum(strips, couplings, [colour, y, z], own, &mut elsewhere);
                    if z > 0 {
                        let down = strips.get(colour, y, z - 1);
                        let Beside { own: at, other: from, count } = Strips::beside(own, down, 0);
                        let up = &couplings.z[colour][down.start + from..][..count];
                        for ((e, s), g) in
                            elsewhere[at..][..count].iter_mut().zip(&below[from..][..count]).zip(up)
                        {
                            let g = f64::from(*g);
                            if g > 0.0 {
                                *e += g * (s / (s + g));
                            }
                        }
                    }
                    let own_up = &couplings.z[colour][own.start..][..own.count];
                    for ((i, e), g) in sheet[own.start - row..].iter_mut().zip(&elsewhere).zip(own_up) {
                        let pivot = e + f64::from(*g);
                        *i = if pivot > 0.0 { (1.0 / pivot) as f32 } else { 0.0 };
                    }
                    below = elsewhere;
                }
                0.0
            });
        }
    }

    /// Relaxes all columns of a colour: `x` is what balances `right` and what flows from the other colour's `other`.
    pub fn relax(&self, colour: usize, x: &mut [f32], other: Option<&[f32]>, right: &[f32]) {
        let strips = &self.strips;
        rows(strips, colour, x, &|y, sheet| {
            self.relax_row(colour, y, sheet, other, right);
            0.0
        });
    }

    #[inline(always)]
    fn relax_row(&self, colour: usize, y: usize, sheet: &mut [f32], other: Option<&[f32]>, right: &[f32]) {
        let (strips, couplings) = (&self.strips, &self.couplings);
        let row = strips.row(colour, y);
        let layers = strips.cells[2];
        for z in 0..layers {
            let own = strips.get(colour, y, z);
            let (before, rest) = sheet.split_at_mut(own.start - row);
            let sum = &mut rest[..own.count];
            sum.copy_from_slice(&right[own.start..][..own.count]);
            if let Some(other) = other {
                add_lateral(strips, couplings, [colour, y, z], own, other, sum);
            }
            if z > 0 {
                let down = strips.get(colour, y, z - 1);
                let Beside { own: at, other: from, count } = Strips::beside(own, down, 0);
                let up = &couplings.z[colour][down.start + from..][..count];
                let inverse = &self.inverse[colour][down.start + from..][..count];
                let below = &before[down.start + from - row..][..count];
                for (((s, b), g), i) in sum[at..][..count].iter_mut().zip(below).zip(up).zip(inverse) {
                    *s += g * i * b;
                }
            }
        }
        for z in (0..layers).rev() {
            let own = strips.get(colour, y, z);
            let (before, after) = sheet.split_at_mut(own.start - row + own.count);
            let sum = &mut before[own.start - row..];
            if z + 1 < layers {
                let up = strips.get(colour, y, z + 1);
                let Beside { own: at, other: from, count } = Strips::beside(own, up, 0);
                let g = &couplings.z[colour][own.start + at..][..count];
                let above = &after[up.start + from - row - (own.start - row + own.count)..][..count];
                for ((s, g), a) in sum[at..][..count].iter_mut().zip(g).zip(above) {
                    *s += g * a;
                }
            }
            for (s, i) in sum.iter_mut().zip(&self.inverse[colour][own.start..][..own.count]) {
                *s *= i;
            }
        }
    }

    /// What is left over on colour 0, whose columns have just been relaxed before the other colour moved from zero to
    /// `black`, summed into the cells of the coarser level.
    pub fn restrict(&self, coarse: &Strips, black: &[f32], right: &mut Pair<f32>) {
        let [first, second] = right;
        let children = children(&self.merged[1], coarse.cells[1]);
        rows_of_two(coarse, (0, first), (1, second), &|row, zero, one| {
            zero.fill(0.0);
            one.fill(0.0);
            let mut rest: Vec<f32> = Vec::new();
            for y in children(row) {
                let half = Strips::half(0, y);
                for z in 0..self.strips.cells[2] {
                    let own = self.strips.get(0, y, z);
                    if own.count == 0 {
                        continue;
                    }
                    rest.clear();
                    rest.resize(own.count, 0.0);
                    add_lateral(&self.strips, &self.couplings, [0, y, z], own, black, &mut rest);
                    let targets = [0, 1].map(|c| coarse.get(c, row, z));
                    let starts = [0, 1].map(|c| coarse.row(c, row));
                    let xs = self.merged[0][2 * own.first + half..].iter().step_by(2);
                    for (r, x) in rest.iter().zip(xs) {
                        let x = *x as usize;
                        let c = (x + row) & 1;
                        let at = targets[c].start - starts[c] + x / 2 - targets[c].first;
                        if c == 0 {
                            zero[at] += r;
                        } else {
                            one[at] += r;
                        }
                    }
                }
            }
            0.0
        });
    }

    /// Adds the coarser level's correction to colour 0.
    pub fn prolong(&self, coarse: &Strips, correction: &Pair<f32>, red: &mut [f32]) {
        let strips = &self.strips;
        rows(strips, 0, red, &|y, sheet| {
            let row = self.merged[1][y] as usize;
            let half = Strips::half(0, y);
            for z in 0..strips.cells[2] {
                let own = strips.get(0, y, z);
                let sources = [0, 1].map(|c| coarse.get(c, row, z));
                if own.count == 0 {
                    continue;
                }
                let xs = self.merged[0][2 * own.first + half..].iter().step_by(2);
                for (v, x) in sheet[own.start - strips.row(0, y)..][..own.count].iter_mut().zip(xs) {
                    let x = *x as usize;
                    let c = (x + row) & 1;
                    *v += correction[c][sources[c].start + x / 2 - sources[c].first];
                }
            }
            0.0
        });
    }

    /// Arrays for the values and the right-hand side.
    pub fn room(&self) -> [Pair<f32>; 2] {
        [zeros(&self.strips), zeros(&self.strips)]
    }
}

/// The fine rows of every coarse one, as ranges.
pub(super) fn children(
    merged: &[u32],
    coarse: usize,
) -> impl Fn(usize) -> std::ops::Range<usize> + Sync + use<> {
    let mut starts = vec![merged.len(); coarse + 1];
    for (fine, &at) in merged.iter().enumerate().rev() {
        starts[at as usize] = fine;
    }
    move |row| starts[row]..starts[row + 1]
}
