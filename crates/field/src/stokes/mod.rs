//! Steady Stokes flow in three dimensions, driven by a uniform force, on a body-fitted block of curved bricks.
//!
//! `-div grad u + grad p = f`, `div u = 0`, viscosity one. Velocities are continuous and quadratic in each direction (27 nodes a
//! brick, curved with its faces), pressures linear within each brick and free to jump: the pair of M. Fortin, Int. J. Numer.
//! Methods Fluids 1 (1981) 347, with the pressures linear in space and not in the brick's own coordinates, which keeps the order on
//! curved bricks (D. Boffi, L. Gastaldi, Int. J. Numer. Methods Fluids 39 (2002) 1001; from memory). Mass balances brick by brick. Flow rates converge with the
//! fourth power of the mesh, times a logarithm of it where two walls meet at a right angle.
//!
//! *Why body-fitted.* What is wanted is one number, the flow rate through a cell with one smooth body. A staircase or cut grid
//! reaches it with the square of the spacing at best; a fitted quadratic mesh of a few hundred bricks has it to four
//! digits.
//!
//! *Solver.* Pressures are found by the method of multipliers (M. Fortin, R. Glowinski, Augmented Lagrangian Methods,
//! North-Holland 1983): divergence is punished with a finite weight, the punished matrix is positive definite and is factored
//! once (`envelope`), and a few cheap steps drive the divergence down. Work grows with unknowns times the square of the
//! cross-section of the mesh: 6,000 unknowns in about half a second.
//!
//! A plane flow falls out: one layer of bricks with its two faces as planes of symmetry.

mod brick;
mod envelope;
mod mesh;
mod numbering;

pub use mesh::{Mesh, NotAMesh, graded};

use crate::NoConvergence;
use brick::Brick;

/// A node of a mesh, as conditions see it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Node {
    /// Index along the three directions of the block, from zero.
    pub index: [usize; 3],
    /// The last index along each.
    pub last: [usize; 3],
    /// Place.
    pub place: [f64; 3],
}

/// What holds at a node.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Condition {
    /// Components that are zero; all three at a wall, the one across at a plane of symmetry, the two along where the flow
    /// passes a plane upright and the mean pressure is zero. None inside.
    Held([bool; 3]),
    /// The velocity of another node, each component times a sign; for flows that equal themselves turned. A tie may end at
    /// a node that is held, never at one that is tied.
    Tied([usize; 3], [f64; 3]),
}

/// A flow.
#[derive(Debug, Clone, PartialEq)]
pub struct Flow {
    /// Integral of the velocity over the block.
    pub integral: [f64; 3],
    /// Volume of the block.
    pub volume: f64,
    /// Velocity at the nodes of the mesh, in its order.
    pub velocity: Vec<[f64; 3]>,
    /// Integral of the squared velocity gradient, which the force's work must equal.
    pub dissipation: f64,
    /// Root mean square of the divergence, as pressures see it, over that of the velocity gradient.
    pub divergence: f64,
    /// Largest net outflow of one brick over the mean velocity times the brick's volume to the power 2/3: the share that does not
    /// balance.
    pub imbalance: f64,
    /// Unknown velocities.
    pub unknowns: usize,
    /// Steps of the multipliers.
    pub steps: usize,
}

/// Weight of the punished divergence; each step divides the divergence by about this times the square of the
/// block's inf-sup constant.
const WEIGHT: f64 = 2000.0;
/// Divergence at which the multipliers end.
const DIVERGENCE: f64 = 1e-10;
const MOST_STEPS: usize = 200;

/// Solves for the flow under a uniform force.
///
/// # Errors
/// [`NoConvergence::Singular`] where nothing holds the flow or a brick is turned inside out, [`NoConvergence::TooSlow`] where the
/// divergence does not fall below 1e-10 of the gradient.
pub fn solve(
    mesh: &Mesh,
    force: [f64; 3],
    condition: impl Fn(Node) -> Condition,
) -> Result<Flow, NoConvergence> {
    let numbers = numbering::number(mesh, condition)?;
    let bricks: Vec<Brick> = mesh
        .bricks()
        .map(|nodes| Brick::new(mesh, &nodes))
        .collect::<Option<_>>()
        .ok_or(NoConvergence::Singular)?;
    // The matrix and the load.
    let mut matrix = envelope::Envelope::new(numbers.unknowns, |reach| {
        for nodes in mesh.bricks() {
            reach(&numbers.of(&nodes).iter().filter_map(|(i, _)| *i).collect::<Vec<_>>());
        }
    });
    let mut load = vec![0.0; numbers.unknowns];
    for (nodes, brick) in mesh.bricks().zip(&bricks) {
        let own = numbers.of(&nodes);
        let stiff = brick.stiffness(WEIGHT);
        for (a, (row, sign)) in own.iter().enumerate() {
            let Some(row) = *row else { continue };
            load[row] += sign * force[a % 3] * brick.weights[a / 3];
            for (b, (column, other)) in own.iter().enumerate() {
                if let Some(column) = column.filter(|c| *c <= row) {
                    matrix.add(row, column, sign * other * stiff[a * 81 + b]);
                }
            }
        }
    }
    let factor = matrix.factor()?;
    let mut pressure = vec![[0.0; 4]; bricks.len()];
    for steps in 1..=MOST_STEPS {
        let mut right = load.clone();
        for ((nodes, brick), p) in mesh.bricks().zip(&bricks).zip(&pressure) {
            for (a, (row, sign)) in numbers.of(&nodes).iter().enumerate() {
                if let Some(row) = row {
                    right[*row] += sign * (0..4).map(|q| p[q] * brick.divergence[q][a]).sum::<f64>();
                }
            }
        }
        let x = factor.solve(&right);
        let work: f64 = right.iter().zip(&x).map(|(a, b)| a * b).sum();
        let (mut square, mut worst) = (0.0, 0.0_f64);
        for ((nodes, brick), p) in mesh.bricks().zip(&bricks).zip(&mut pressure) {
            let u = numbers.velocity(&nodes, &x);
            let b = brick.net(&u);
            let strength = brick.mass_solve(b);
            square += (0..4).map(|q| b[q] * strength[q]).sum::<f64>();
            (0..4).for_each(|q| p[q] -= WEIGHT * strength[q]);
            worst = worst.max(b[0].abs() / brick.volume().powf(2.0 / 3.0));
        }
        let dissipation = work - WEIGHT * square;
        if !(dissipation.is_finite() && square.is_finite()) {
            return Err(NoConvergence::NotFinite);
        }
        let divergence = if dissipation > 0.0 { (square.max(0.0) / dissipation).sqrt() } else { 0.0 };
        if divergence <= DIVERGENCE {
            let mut integral = [0.0; 3];
            for (nodes, brick) in mesh.bricks().zip(&bricks) {
                let u = numbers.velocity(&nodes, &x);
                (0..81).for_each(|a| integral[a % 3] += brick.weights[a / 3] * u[a]);
            }
            let volume: f64 = bricks.iter().map(Brick::volume).sum();
            let mean = integral.iter().map(|v| v * v).sum::<f64>().sqrt() / volume;
            return Ok(Flow {
                integral,
                volume,
                velocity: (0..mesh.nodes().len()).map(|n| numbers.at(n, &x)).collect(),
                dissipation,
                divergence,
                imbalance: if mean > 0.0 { worst / mean } else { 0.0 },
                unknowns: numbers.unknowns,
                steps,
            });
        }
    }
    Err(NoConvergence::TooSlow)
}

#[cfg(test)]
mod checks;
