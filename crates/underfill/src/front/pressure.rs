//! Pressures of the wet cells: a symmetric system on a part of the grid, with a few further nodes for pockets and reservoirs.
//!
//! Conjugate gradients with a modified incomplete factorisation (I. Gustafsson, BIT 18 (1978) 142), started from the last
//! pressures. The wet region changes by a row of cells from step to step, so that a start is near and the factorisation, made
//! anew each time, costs less than one product of a multigrid set up anew.

use facedown_field::NoConvergence;

/// No cell in the south.
const NONE: u32 = u32::MAX;

/// A system of wet cells in the order of their rows, then nodes.
#[derive(Debug, Clone, Default)]
pub(super) struct System {
    /// Conductance to the cell before, zero where that is no neighbour.
    pub west: Vec<f64>,
    /// Neighbour in the row before.
    pub south_at: Vec<u32>,
    /// Conductance to it.
    pub south: Vec<f64>,
    /// Sum of conductances, cells and then nodes.
    pub diagonal: Vec<f64>,
    /// Right side.
    pub right: Vec<f64>,
    /// Largest allowed residual of each row.
    pub allowed: Vec<f64>,
    /// Conductances between cells and nodes: cell, node (from nothing), conductance.
    pub to_nodes: Vec<(u32, u32, f64)>,
    inverse: Vec<f64>,
    east: Vec<f64>,
    north: Vec<f64>,
}

/// Share of the fill-in that is added to the diagonal.
const MODIFIED: f64 = 0.97;

impl System {
    /// Empties it for a number of wet cells and nodes.
    pub fn begin(&mut self, cells: usize, nodes: usize) {
        for v in [&mut self.west, &mut self.south] {
            v.clear();
            v.resize(cells, 0.0);
        }
        self.south_at.clear();
        self.south_at.resize(cells, NONE);
        for v in [&mut self.diagonal, &mut self.right, &mut self.allowed] {
            v.clear();
            v.resize(cells + nodes, 0.0);
        }
        self.to_nodes.clear();
    }

    /// The product with pressures.
    pub fn times(&self, x: &[f64], y: &mut [f64]) {
        let n = self.west.len();
        for ((y, d), x) in y.iter_mut().zip(&self.diagonal).zip(x) {
            *y = d * x;
        }
        for i in 0..n {
            let (w, own) = (self.west[i], x[i]);
            if w != 0.0 {
                y[i] -= w * x[i - 1];
                y[i - 1] -= w * own;
            }
            let at = self.south_at[i];
            if at != NONE {
                let s = self.south[i];
                y[i] -= s * x[at as usize];
                y[at as usize] -= s * own;
            }
        }
        for &(cell, node, t) in &self.to_nodes {
            let (cell, node) = (cell as usize, n + node as usize);
            y[cell] -= t * x[node];
            y[node] -= t * x[cell];
        }
    }

    /// The incomplete factorisation.
    fn factor(&mut self) {
        let n = self.west.len();
        for v in [&mut self.east, &mut self.north] {
            v.clear();
            v.resize(n, 0.0);
        }
        for i in 0..n {
            if self.west[i] != 0.0 {
                self.east[i - 1] = self.west[i];
            }
            if self.south_at[i] != NONE {
                self.north[self.south_at[i] as usize] = self.south[i];
            }
        }
        self.inverse.clear();
        self.inverse.extend(self.diagonal.iter().map(|d| d.recip()));
        for i in 0..n {
            let mut d = self.diagonal[i];
            let w = self.west[i];
            if w != 0.0 {
                d -= w * (w + MODIFIED * self.north[i - 1]) * self.inverse[i - 1];
            }
            let at = self.south_at[i];
            if at != NONE {
                let (at, s) = (at as usize, self.south[i]);
                d -= s * (s + MODIFIED * self.east[at]) * self.inverse[at];
            }
            self.inverse[i] = d.max(1e-3 * self.diagonal[i]).recip();
        }
    }

    /// Applies the inverse of the factorisation.
    fn precondition(&self, r: &[f64], z: &mut [f64]) {
        let n = self.west.len();
        let mut before = 0.0;
        for i in 0..n {
            let mut v = r[i] + self.west[i] * before;
            let at = self.south_at[i];
            if at != NONE {
                v += self.south[i] * z[at as usize];
            }
            before = v * self.inverse[i];
            z[i] = before;
        }
        let mut after = 0.0;
        for i in (0..n).rev() {
            let mut v = self.east[i] * after;
            // What the row above has left here.
            v = z[i] + v * self.inverse[i];
            z[i] = v;
            after = v;
            let at = self.south_at[i];
            if at != NONE {
                z[at as usize] += self.south[i] * v * self.inverse[at as usize];
            }
        }
        for i in n..r.len() {
            z[i] = r[i] * self.inverse[i];
        }
    }

    /// Solves it from a start, until every residual is at most `slack` times what its row allows; gives the number of steps.
    pub fn solve(&mut self, x: &mut [f64], slack: f64) -> Result<usize, NoConvergence> {
        let n = x.len();
        self.factor();
        let mut r = vec![0.0; n];
        self.times(x, &mut r);
        r.iter_mut().zip(&self.right).for_each(|(r, b)| *r = b - *r);
        let mut z = vec![0.0; n];
        let mut q = vec![0.0; n];
        let mut p = vec![0.0; n];
        let mut rho = 0.0;
        let most = 200 + 20 * (n as f64).sqrt() as usize;
        for step in 0..=most {
            if r.iter().zip(&self.allowed).all(|(r, a)| r.abs() <= slack * a) {
                return Ok(step);
            }
            self.precondition(&r, &mut z);
            let next: f64 = r.iter().zip(&z).map(|(a, b)| a * b).sum();
            if !next.is_finite() {
                return Err(NoConvergence::NotFinite);
            }
            let turn = if step == 0 { 0.0 } else { next / rho };
            rho = next;
            p.iter_mut().zip(&z).for_each(|(p, z)| *p = z + turn * *p);
            self.times(&p, &mut q);
            let energy: f64 = p.iter().zip(&q).map(|(a, b)| a * b).sum();
            if energy.is_nan() || energy <= 0.0 {
                return Err(NoConvergence::Singular);
            }
            let length = rho / energy;
            x.iter_mut().zip(&p).for_each(|(x, p)| *x += length * p);
            r.iter_mut().zip(&q).for_each(|(r, q)| *r -= length * q);
        }
        Err(NoConvergence::TooSlow)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A square of cells with one node at its first column.
    fn system(side: usize) -> System {
        let mut s = System::default();
        s.begin(side * side, 1);
        for i in 0..side * side {
            let (x, y) = (i % side, i / side);
            let t = |k: usize| 1.0 + 0.5 * ((k * 7 + 3) % 5) as f64;
            if x > 0 {
                s.west[i] = t(i);
                s.diagonal[i] += t(i);
                s.diagonal[i - 1] += t(i);
            } else {
                s.to_nodes.push((i as u32, 0, 2.0));
                s.diagonal[i] += 2.0;
                s.diagonal[side * side] += 2.0;
            }
            if y > 0 {
                s.south_at[i] = (i - side) as u32;
                s.south[i] = t(i + 2);
                s.diagonal[i] += t(i + 2);
                s.diagonal[i - side] += t(i + 2);
            }
            if x + 1 == side {
                s.diagonal[i] += 1.0;
            }
        }
        s.allowed.fill(1e-11);
        s
    }

    #[test]
    fn known_pressures_come_back_in_few_steps() {
        let side = 40;
        let mut s = system(side);
        let known: Vec<f64> = (0..=side * side).map(|i| (0.37 * i as f64).sin()).collect();
        let mut right = vec![0.0; known.len()];
        s.times(&known, &mut right);
        s.right = right;
        let mut x = vec![0.0; known.len()];
        let steps = s.solve(&mut x, 1.0).unwrap();
        assert!(x.iter().zip(&known).all(|(a, b)| (a - b).abs() < 1e-9));
        assert!(steps < 60, "{steps}");
        assert_eq!(s.solve(&mut x, 1.0), Ok(0));
    }

    #[test]
    fn a_system_without_a_given_pressure_is_told() {
        let mut s = System::default();
        s.begin(2, 0);
        s.west[1] = 1.0;
        s.diagonal.fill(1.0);
        s.right = vec![1.0, 1.0];
        s.allowed.fill(1e-9);
        assert!(s.solve(&mut [0.0, 0.0], 1.0).is_err());
    }
}
