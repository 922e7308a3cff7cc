//! Conductances between neighbouring cells and what they do to a field: products and sums over neighbours.
//!
//! Every cell keeps the conductances to its neighbours at the larger x, y and z; those to the others are kept by the
//! neighbours. They are held in single precision and are the truth from there on: a product takes differences of
//! double-precision values, so that a constant field gives exactly what flows to the ground and nothing else.

use super::strips::{Beside, Strip, Strips, over_rows, rows};

/// Single or double precision.
pub(super) trait Real:
    Copy
    + Send
    + Sync
    + Default
    + std::ops::AddAssign
    + std::ops::Mul<Output = Self>
    + std::ops::Sub<Output = Self>
{
    fn of(g: f32) -> Self;
    fn wide(self) -> f64;
}

impl Real for f32 {
    fn of(g: f32) -> f32 {
        g
    }
    fn wide(self) -> f64 {
        f64::from(self)
    }
}

impl Real for f64 {
    fn of(g: f32) -> f64 {
        f64::from(g)
    }
    fn wide(self) -> f64 {
        self
    }
}

/// An array for each colour.
pub(super) type Pair<T> = [Vec<T>; 2];

/// Conductances, W/K in conduction.
#[derive(Debug, Clone, Default)]
pub(super) struct Couplings {
    /// To the neighbour at the larger x, by colour.
    pub x: Pair<f32>,
    /// To the neighbour at the larger y.
    pub y: Pair<f32>,
    /// To the neighbour at the larger z.
    pub z: Pair<f32>,
    /// To the ground.
    pub ground: Pair<f32>,
}

/// Zeros for every cell.
pub(super) fn zeros<T: Clone + Default>(strips: &Strips) -> Pair<T> {
    [0, 1].map(|c| vec![T::default(); strips.len(c)])
}

/// A neighbour of a strip in the plane: which part lies beside which, and the conductances between them.
struct Neighbour<'a> {
    beside: Beside,
    /// Start of the other strip in the array of the other colour.
    start: usize,
    conductances: &'a [f32],
}

/// The four neighbours in the plane of a strip.
#[inline(always)]
fn neighbours<'a>(
    strips: &Strips,
    couplings: &'a Couplings,
    colour: usize,
    y: usize,
    z: usize,
    own: Strip,
) -> [Option<Neighbour<'a>>; 4] {
    let other_colour = 1 - colour;
    let half = Strips::half(colour, y) as isize;
    let kept_by_own = |other: Strip, shift: isize, along: &'a Pair<f32>| {
        let beside = Strips::beside(own, other, shift);
        (beside.count > 0).then(|| Neighbour {
            beside,
            start: other.start,
            conductances: &along[colour][own.start + beside.own..][..beside.count],
        })
    };
    let kept_by_other = |other: Strip, shift: isize, along: &'a Pair<f32>| {
        let beside = Strips::beside(own, other, shift);
        (beside.count > 0).then(|| Neighbour {
            beside,
            start: other.start,
            conductances: &along[other_colour][other.start + beside.other..][..beside.count],
        })
    };
    let row = strips.get(other_colour, y, z);
    let above = (y + 1 < strips.cells[1]).then(|| strips.get(other_colour, y + 1, z));
    let below = y.checked_sub(1).map(|y| strips.get(other_colour, y, z));
    [
        kept_by_own(row, half, &couplings.x),
        kept_by_other(row, half - 1, &couplings.x),
        above.and_then(|s| kept_by_own(s, 0, &couplings.y)),
        below.and_then(|s| kept_by_other(s, 0, &couplings.y)),
    ]
}

/// Adds to a strip what its neighbours in the plane send: conductance times value, summed.
#[inline(always)]
pub(super) fn add_lateral(
    strips: &Strips,
    couplings: &Couplings,
    [colour, y, z]: [usize; 3],
    own: Strip,
    other: &[f32],
    sum: &mut [f32],
) {
    for n in neighbours(strips, couplings, colour, y, z, own).into_iter().flatten() {
        let Beside { own: at, other: from, count } = n.beside;
        let values = &other[n.start + from..][..count];
        for ((s, g), v) in sum[at..][..count].iter_mut().zip(n.conductances).zip(values) {
            *s += g * v;
        }
    }
}

/// Sum of the conductances of every cell of a strip to its neighbours in the plane.
pub(super) fn lateral_sum(
    strips: &Strips,
    couplings: &Couplings,
    [colour, y, z]: [usize; 3],
    own: Strip,
    sum: &mut [f64],
) {
    for n in neighbours(strips, couplings, colour, y, z, own).into_iter().flatten() {
        for (s, g) in sum[n.beside.own..][..n.beside.count].iter_mut().zip(n.conductances) {
            *s += f64::from(*g);
        }
    }
}

/// `image = A field`, and the sum of `field · image` in an order that no thread changes.
pub(super) fn product<T: Real>(
    strips: &Strips,
    couplings: &Couplings,
    field: &Pair<T>,
    image: &mut Pair<T>,
) -> f64 {
    let mut energy = 0.0;
    for (colour, image) in image.iter_mut().enumerate() {
        energy += rows(strips, colour, image, &|y, sheet| {
            product_row(strips, couplings, [colour, y], field, sheet)
        });
    }
    energy
}

#[inline(always)]
fn product_row<T: Real>(
    strips: &Strips,
    couplings: &Couplings,
    [colour, y]: [usize; 2],
    field: &Pair<T>,
    sheet: &mut [T],
) -> f64 {
    let row = strips.row(colour, y);
    let own_field = &field[colour];
    let mut sum = 0.0;
    for z in 0..strips.cells[2] {
        let own = strips.get(colour, y, z);
        if own.count == 0 {
            continue;
        }
        let out = &mut sheet[own.start - row..][..own.count];
        let values = &own_field[own.start..][..own.count];
        let ground = &couplings.ground[colour][own.start..][..own.count];
        for ((o, v), g) in out.iter_mut().zip(values).zip(ground) {
            *o = T::of(*g) * *v;
        }
        for n in neighbours(strips, couplings, colour, y, z, own).into_iter().flatten() {
            let Beside { own: at, other: from, count } = n.beside;
            let others = &field[1 - colour][n.start + from..][..count];
            add_flow(&mut out[at..][..count], &values[at..][..count], others, n.conductances);
        }
        if z + 1 < strips.cells[2] {
            let up = strips.get(colour, y, z + 1);
            let Beside { own: at, other: from, count } = Strips::beside(own, up, 0);
            let g = &couplings.z[colour][own.start + at..][..count];
            let others = &own_field[up.start + from..][..count];
            add_flow(&mut out[at..][..count], &values[at..][..count], others, g);
        }
        if z > 0 {
            let down = strips.get(colour, y, z - 1);
            let Beside { own: at, other: from, count } = Strips::beside(own, down, 0);
            let g = &couplings.z[colour][down.start + from..][..count];
            let others = &own_field[down.start + from..][..count];
            add_flow(&mut out[at..][..count], &values[at..][..count], others, g);
        }
        sum += dot(values, out);
    }
    sum
}

#[inline(always)]
fn add_flow<T: Real>(out: &mut [T], own: &[T], other: &[T], conductances: &[f32]) {
    for (((o, v), n), g) in out.iter_mut().zip(own).zip(other).zip(conductances) {
        *o += T::of(*g) * (*v - *n);
    }
}

/// A sum in eight lanes, the same on every machine.
#[inline(always)]
pub(super) fn dot<A: Real, B: Real>(a: &[A], b: &[B]) -> f64 {
    let mut lanes = [0.0; 8];
    let (heads, tails) = (a.chunks_exact(8), b.chunks_exact(8));
    let rest: f64 = heads.remainder().iter().zip(tails.remainder()).map(|(x, y)| x.wide() * y.wide()).sum();
    for (x, y) in heads.zip(tails) {
        for i in 0..8 {
            lanes[i] += x[i].wide() * y[i].wide();
        }
    }
    lanes.iter().sum::<f64>() + rest
}

/// Sum of products over both colours, row by row.
pub(super) fn inner<A: Real, B: Real>(strips: &Strips, a: &Pair<A>, b: &Pair<B>) -> f64 {
    (0..2)
        .map(|c| {
            over_rows(strips, c, &|y| {
                let range = strips.row(c, y)..strips.row(c, y + 1);
                dot(&a[c][range.clone()], &b[c][range])
            })
        })
        .sum()
}
