//! One brick: quadratic velocities, linear pressures, and their integrals by three Gauss points a direction.

use super::mesh::Mesh;

/// Integrals over a brick. Velocities are numbered node by node, three components each.
pub(super) struct Brick {
    /// Of each node's shape.
    pub weights: [f64; 27],
    /// Of the products of shape gradients.
    gradients: Box<[[f64; 27]; 27]>,
    /// Of each pressure shape times the divergence of each velocity shape.
    pub divergence: Box<[[f64; 81]; 4]>,
    /// Lower Cholesky factor of the products of pressure shapes.
    mass: [[f64; 4]; 4],
}

/// Quadratic shapes on -1, 0, 1 and their slopes.
fn shapes(t: f64) -> ([f64; 3], [f64; 3]) {
    ([0.5 * t * (t - 1.0), 1.0 - t * t, 0.5 * t * (t + 1.0)], [t - 0.5, -2.0 * t, t + 0.5])
}

impl Brick {
    /// Nothing where the map folds.
    pub fn new(mesh: &Mesh, nodes: &[usize; 27]) -> Option<Brick> {
        let root = 0.6_f64.sqrt();
        let points = [(-root, 5.0 / 9.0), (0.0, 8.0 / 9.0), (root, 5.0 / 9.0)];
        let places = nodes.map(|n| mesh.nodes()[n]);
        let middle = places[13];
        let size =
            (0..3).map(|i| (places[26][i] - places[0][i]).abs()).fold(0.0, f64::max).max(f64::MIN_POSITIVE);
        let mut brick = Brick {
            weights: [0.0; 27],
            gradients: Box::new([[0.0; 27]; 27]),
            divergence: Box::new([[0.0; 81]; 4]),
            mass: [[0.0; 4]; 4],
        };
        for k in 0..27 {
            let along = [points[k % 3], points[k / 3 % 3], points[k / 9]];
            let lines = along.map(|(t, _)| shapes(t));
            let value: [f64; 27] =
                std::array::from_fn(|a| lines[0].0[a % 3] * lines[1].0[a / 3 % 3] * lines[2].0[a / 9]);
            let slope: [[f64; 3]; 27] = std::array::from_fn(|a| {
                let at = [a % 3, a / 3 % 3, a / 9];
                std::array::from_fn(|d| {
                    (0..3).map(|i| if i == d { lines[i].1[at[i]] } else { lines[i].0[at[i]] }).product()
                })
            });
            // jacobian[i][d]: derivative of place i by direction d.
            let mut jacobian = [[0.0; 3]; 3];
            let mut place = [0.0; 3];
            for a in 0..27 {
                for i in 0..3 {
                    place[i] += value[a] * places[a][i];
                    (0..3).for_each(|d| jacobian[i][d] += places[a][i] * slope[a][d]);
                }
            }
            let j = &jacobian;
            let minor = |r: usize, c: usize| {
                let (r1, r2, c1, c2) = ((r + 1) % 3, (r + 2) % 3, (c + 1) % 3, (c + 2) % 3);
                j[r1][c1] * j[r2][c2] - j[r1][c2] * j[r2][c1]
            };
            let volume: f64 = (0..3).map(|c| j[0][c] * minor(0, c)).sum();
            if volume.is_nan() || volume <= 0.0 {
                return None;
            }
            let weight = along.iter().map(|(_, w)| w).product::<f64>() * volume;
            let space: [[f64; 3]; 27] = std::array::from_fn(|a| {
                std::array::from_fn(|i| (0..3).map(|d| slope[a][d] * minor(i, d)).sum::<f64>() / volume)
            });
            let linear = [
                1.0,
                (place[0] - middle[0]) / size,
                (place[1] - middle[1]) / size,
                (place[2] - middle[2]) / size,
            ];
            for a in 0..27 {
                brick.weights[a] += weight * value[a];
                for b in 0..27 {
                    brick.gradients[a][b] += weight * (0..3).map(|i| space[a][i] * space[b][i]).sum::<f64>();
                }
                for (q, p) in linear.iter().enumerate() {
                    (0..3).for_each(|i| brick.divergence[q][3 * a + i] += weight * p * space[a][i]);
                }
            }
            for q in 0..4 {
                (0..4).for_each(|r| brick.mass[q][r] += weight * linear[q] * linear[r]);
            }
        }
        for (i, k) in (0..4).flat_map(|i| (0..=i).map(move |k| (i, k))) {
            // Entries are taken over by the factor's one after the other.
            let l = &mut brick.mass;
            let rest = l[i][k] - (0..k).map(|e| l[i][e] * l[k][e]).sum::<f64>();
            if i == k && (rest.is_nan() || rest <= 0.0) {
                return None;
            }
            l[i][k] = if i == k { rest.sqrt() } else { rest / l[k][k] };
        }
        Some(brick)
    }

    /// Inverse of the pressure products times a vector.
    pub fn mass_solve(&self, right: [f64; 4]) -> [f64; 4] {
        let (l, mut x) = (&self.mass, right);
        for i in 0..4 {
            x[i] = (x[i] - (0..i).map(|k| l[i][k] * x[k]).sum::<f64>()) / l[i][i];
        }
        for i in (0..4).rev() {
            x[i] = (x[i] - (i + 1..4).map(|k| l[k][i] * x[k]).sum::<f64>()) / l[i][i];
        }
        x
    }

    /// Pressure shapes times divergence of a velocity; the first is the net outflow.
    pub fn net(&self, u: &[f64; 81]) -> [f64; 4] {
        std::array::from_fn(|q| self.divergence[q].iter().zip(u).map(|(d, u)| d * u).sum())
    }

    /// Volume.
    pub fn volume(&self) -> f64 {
        self.weights.iter().sum()
    }

    /// Gradients and punished divergence, 81 by 81, row by row.
    pub fn stiffness(&self, weight: f64) -> Vec<f64> {
        let inverse: Vec<[f64; 4]> =
            (0..81).map(|a| self.mass_solve(std::array::from_fn(|q| self.divergence[q][a]))).collect();
        let mut matrix = vec![0.0; 81 * 81];
        for a in 0..81 {
            for b in 0..81 {
                let grad = if a % 3 == b % 3 { self.gradients[a / 3][b / 3] } else { 0.0 };
                let div: f64 = (0..4).map(|q| self.divergence[q][a] * inverse[b][q]).sum();
                matrix[81 * a + b] = grad + weight * div;
            }
        }
        matrix
    }
}
