//! The steady field: conjugate gradients with a cycle of the hierarchy as preconditioner.
//!
//! The step length and the direction are those of M. R. Hestenes and E. Stiefel, J. Res. Natl. Bur. Stand. 49 (1952)
//! 409; the new direction is made orthogonal to the image of the last one, which holds also where the cycle is not the
//! same operator from step to step. Fields are in double precision, the cycle in single.

use super::body::Body;
use super::couplings::{Pair, inner, product, zeros};
use super::hierarchy::Cycle;
use super::strips::{rows, rows_of_two};
use crate::NoConvergence;

/// A value for every cell of a body: a temperature rise, K.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    pub(super) values: Pair<f64>,
}

/// How a solution is sought.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effort {
    /// Largest residual over the right-hand side, both as root sums of squares.
    pub residual: f64,
    /// Most steps.
    pub steps: usize,
    /// The cycle.
    pub cycle: Cycle,
}

impl Default for Effort {
    fn default() -> Self {
        Effort { residual: 1e-8, steps: 200, cycle: Cycle::AsNeeded }
    }
}

/// A solution and what it took.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// The field.
    pub field: Field,
    /// Steps.
    pub steps: usize,
    /// Residual over the right-hand side.
    pub residual: f64,
}

impl Body {
    /// A field of zeros.
    pub fn zero(&self) -> Field {
        Field { values: zeros(&self.finest().strips) }
    }

    /// Value of a field in a cell; `None` where no cell is.
    pub fn at(&self, field: &Field, cell: [usize; 3]) -> Option<f64> {
        let (colour, place) = self.place(cell)?;
        Some(field.values[colour][place])
    }

    /// Adds to a field in a cell. Says whether the cell exists.
    pub fn add_at(&self, field: &mut Field, cell: [usize; 3], amount: f64) -> bool {
        match self.place(cell) {
            Some((colour, place)) => {
                field.values[colour][place] += amount;
                true
            }
            None => false,
        }
    }

    /// Adds what flows in from outside: each exposed face's conductance, as last set, times the value outside it.
    pub fn add_outside(&self, load: &mut Field, outside: impl Fn(usize) -> f64) {
        for (i, (face, conductance)) in self.exposed.iter().zip(&self.faces).enumerate() {
            if *conductance > 0.0 {
                load.values[face.place.0][face.place.1] += conductance * outside(i);
            }
        }
    }

    /// Value of a field on an exposed face, and what flows out through it, for a value outside.
    pub fn on_face(&self, field: &Field, face: usize, outside: f64) -> [f64; 2] {
        let exposed = &self.exposed[face];
        let inside = field.values[exposed.place.0][exposed.place.1];
        let flow = self.faces[face] * (inside - outside);
        [inside - flow * exposed.half, flow]
    }

    /// Sum of the products of two fields over all cells.
    pub fn inner(&self, a: &Field, b: &Field) -> f64 {
        inner(&self.finest().strips, &a.values, &b.values)
    }

    /// Largest difference of two fields in any cell.
    pub fn apart(&self, a: &Field, b: &Field) -> f64 {
        let pairs = a.values.iter().flatten().zip(b.values.iter().flatten());
        pairs.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
    }

    /// The system as a matrix in coordinates, for other solvers: rows, columns, values (each neighbour once a row, the
    /// diagonal once) and the right-hand side of a load, over the cells that exist, numbered without gaps.
    pub fn matrix(&self, load: &Field) -> (Vec<u32>, Vec<u32>, Vec<f64>, Vec<f64>) {
        let level = self.finest();
        let strips = &level.strips;
        let [_, ny, nz] = strips.cells;
        let mut numbers: Pair<u32> = [0, 1].map(|c| vec![u32::MAX; strips.len(c)]);
        let mut right = Vec::with_capacity(self.count());
        let cells = |y: usize| {
            (0..nz).flat_map(move |z| {
                let [from, end] = strips.span(y, z);
                (from..end).map(move |x| [x, y, z])
            })
        };
        for cell in (0..ny).flat_map(cells) {
            if let Some((colour, at)) = self.place(cell) {
                numbers[colour][at] = right.len() as u32;
                right.push(load.values[colour][at]);
            }
        }
        let (mut rows, mut columns, mut values) = (Vec::new(), Vec::new(), Vec::new());
        let mut diagonal: Vec<f64> = vec![0.0; right.len()];
        for cell in (0..ny).flat_map(cells) {
            let Some((colour, at)) = self.place(cell) else { continue };
            let own = numbers[colour][at];
            diagonal[own as usize] += f64::from(level.couplings.ground[colour][at]);
            let along = [&level.couplings.x, &level.couplings.y, &level.couplings.z];
            for (axis, pair) in along.into_iter().enumerate() {
                let conductance = f64::from(pair[colour][at]);
                let mut next = cell;
                next[axis] += 1;
                let Some((c, p)) = self.place(next).filter(|_| conductance > 0.0) else { continue };
                let other = numbers[c][p];
                rows.extend([own, other]);
                columns.extend([other, own]);
                values.extend([-conductance; 2]);
                diagonal[own as usize] += conductance;
                diagonal[other as usize] += conductance;
            }
        }
        for (i, d) in diagonal.into_iter().enumerate() {
            rows.push(i as u32);
            columns.push(i as u32);
            values.push(d);
        }
        (rows, columns, values, right)
    }

    /// The operator applied to a field: what each cell sends to its neighbours and the ground.
    pub fn apply(&self, field: &Field) -> Field {
        let level = self.finest();
        let mut image = self.zero();
        product(&level.strips, &level.couplings, &field.values, &mut image.values);
        image
    }

    /// Solves for the field that balances a load (W in each cell), from a start.
    ///
    /// # Errors
    /// [`NoConvergence`]: singular where a piece of the body has no ground ([`Body::stranded`]), not finite where a number
    /// of load, ground or start is not, else where the residual is not reached in the steps allowed.
    pub fn solve(
        &self,
        load: &Field,
        start: Option<&Field>,
        effort: Effort,
    ) -> Result<Solution, NoConvergence> {
        if self.faces.iter().any(|g| g.is_nan()) {
            return Err(NoConvergence::NotFinite);
        }
        if self.stranded().is_some() {
            return Err(NoConvergence::Singular);
        }
        let level = self.finest();
        let (strips, couplings) = (&level.strips, &level.couplings);
        let mut cycle = if effort.cycle == Cycle::AsNeeded { Cycle::Plain } else { effort.cycle };
        let mut rooms = self.hierarchy.rooms(cycle);
        let whole = inner(strips, &load.values, &load.values).sqrt();
        if whole == 0.0 {
            // No residual is small against nothing.
            return Ok(Solution { field: self.zero(), steps: 0, residual: 0.0 });
        }
        let mut rest = load.values.clone();
        let mut image: Pair<f64> = zeros(strips);
        let mut x = match start {
            Some(start) => {
                product(strips, couplings, &start.values, &mut image);
                subtract(&mut rest, &image);
                start.values.clone()
            }
            None => zeros(strips),
        };
        if !whole.is_finite() {
            return Err(NoConvergence::NotFinite);
        }
        let mut direction: Pair<f64> = zeros(strips);
        let mut energy = 0.0;
        let mut slowly: Vec<f64> = Vec::new();
        for steps in 0..=effort.steps {
            let left = inner(strips, &rest, &rest).sqrt();
            if !left.is_finite() {
                return Err(NoConvergence::NotFinite);
            }
            if left <= effort.residual * whole {
                return Ok(Solution { field: Field { values: x }, steps, residual: left / whole });
            }
            slowly.push(left);
            if effort.cycle == Cycle::AsNeeded && cycle == Cycle::Plain && is_slow(&slowly) {
                cycle = Cycle::Nested;
                rooms = self.hierarchy.rooms(cycle);
            }
            // The cycle runs in single precision, whose range a residual near its goal could leave.
            let scale = 1.0 / left;
            for (colour, right) in rooms[0].right.iter_mut().enumerate() {
                rows(strips, colour, right, &|y, sheet| {
                    for (r, v) in sheet.iter_mut().zip(&rest[colour][strips.row(colour, y)..]) {
                        *r = (v * scale) as f32;
                    }
                    0.0
                });
            }
            self.hierarchy.cycle(&mut rooms);
            let z = &rooms[0].x;
            let beta = if steps > 0 { -inner(strips, z, &image) / energy } else { 0.0 };
            for (colour, direction) in direction.iter_mut().enumerate() {
                rows(strips, colour, direction, &|y, sheet| {
                    for (p, z) in sheet.iter_mut().zip(&z[colour][strips.row(colour, y)..]) {
                        *p = f64::from(*z) + beta * *p;
                    }
                    0.0
                });
            }
            energy = product(strips, couplings, &direction, &mut image);
            if !energy.is_finite() {
                return Err(NoConvergence::NotFinite);
            }
            if energy <= 0.0 {
                return Err(NoConvergence::Singular);
            }
            let alpha = inner(strips, &direction, &rest) / energy;
            for (colour, (x, rest)) in x.iter_mut().zip(&mut rest).enumerate() {
                rows_of_two(strips, (colour, x), (colour, rest), &|y, x, rest| {
                    let at = strips.row(colour, y);
                    for ((x, r), (p, q)) in
                        x.iter_mut().zip(rest).zip(direction[colour][at..].iter().zip(&image[colour][at..]))
                    {
                        *x += alpha * p;
                        *r -= alpha * q;
                    }
                    0.0
                });
            }
        }
        Err(NoConvergence::TooSlow)
    }
}

/// Steps over which the pace of a cycle is taken.
const WATCHED: usize = 3;
/// A residual that falls by less than this a step is slow: the nested cycle costs about twice the plain one, and falls
/// by about a sixth of what it has whatever lies in the cells.
const SLOW: f64 = 0.4;

/// Whether the last residuals fell slowly.
fn is_slow(residuals: &[f64]) -> bool {
    let Some(before) = residuals.len().checked_sub(1 + WATCHED) else { return false };
    residuals[residuals.len() - 1] > residuals[before] * SLOW.powi(WATCHED as i32)
}

fn subtract(from: &mut Pair<f64>, what: &Pair<f64>) {
    for (from, what) in from.iter_mut().zip(what) {
        for (f, w) in from.iter_mut().zip(what) {
            *f -= w;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::conduction::Medium;
    use crate::grid::Grid;

    struct Holed;
    impl Medium for Holed {
        fn conductivity(&self, [x, y, z]: [usize; 3]) -> Option<[f64; 3]> {
            ((x, y) != (1, 1) || z == 0).then_some([1.0 + x as f64, 2.0 + y as f64, 0.5 + z as f64])
        }
    }

    #[test]
    fn the_matrix_is_the_operator() {
        let line = |n: usize| (0..=n).map(|i| (i * (i + 3)) as f64).collect::<Vec<f64>>();
        let mut body = Body::new(Grid::new([line(4), line(3), line(2)]).unwrap(), &Holed, 1 << 30).unwrap();
        let films: Vec<f64> = (0..body.exposed().len()).map(|i| (i % 3) as f64).collect();
        body.set_ground(&films, None);
        let mut field = body.zero();
        for (i, cell) in (0..24).map(|i| (i, [i % 4, i / 4 % 3, i / 12])) {
            body.add_at(&mut field, cell, ((7 * i + 3) % 11) as f64);
        }
        let image = body.apply(&field);
        let (rows, columns, values, own) = body.matrix(&field);
        let expected = body.matrix(&image).3;
        assert_eq!(own.len(), body.count());
        let mut found = vec![0.0; own.len()];
        for ((r, c), v) in rows.iter().zip(&columns).zip(&values) {
            found[*r as usize] += v * own[*c as usize];
        }
        for (found, expected) in found.iter().zip(&expected) {
            assert!((found - expected).abs() <= 1e-12 * expected.abs().max(1.0), "{found} {expected}");
        }
    }
}
