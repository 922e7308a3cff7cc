//! A round plate of rings with different sections, free everywhere, solved exactly.
//!
//! The round counterpart of a package: die, substrate around it, stiffener. In each ring the mid-plane displacement
//! and the slope are `a r + b / r` (S. Timoshenko, S. Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed. 1959,
//! chapter 3; the coupled laminate has the same solutions because both equations share the operator). Displacement,
//! slope, force and moment agree where rings meet; the rim is free. All plates are the same in every direction.

use crate::section::Section;
use facedown_field::{NoConvergence, dense};

/// A ring: its outer radius, m, and its section about a plane that all rings share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ring {
    /// Outer radius, m.
    pub outer: f64,
    /// Section.
    pub section: Section,
}

/// The solution.
#[derive(Debug, Clone, PartialEq)]
pub struct Annular {
    outer: Vec<f64>,
    /// Displacement a, b and slope a, b of each ring, over radii in units of the outermost.
    coefficients: Vec<[f64; 4]>,
}

/// Solves a plate of rings from the middle outward, radii rising.
///
/// # Errors
/// [`NoConvergence`] when the rings have no stiffness or radii do not rise.
pub fn solve(rings: &[Ring]) -> Result<Annular, NoConvergence> {
    let Some(last) = rings.last() else { return Err(NoConvergence::Singular) };
    let unit = last.outer;
    let mut inner = 0.0;
    for ring in rings {
        if ring.outer <= inner || !ring.outer.is_finite() {
            return Err(NoConvergence::Singular);
        }
        inner = ring.outer;
    }
    let n = rings.len();
    let size = 4 * n;
    let mut rows = vec![0.0; size * size];
    let mut right = vec![0.0; size];
    // Lengths in units of the rim, forces of the first ring's stretching stiffness.
    let scale = rings.iter().map(|r| r.section.a[0]).fold(0.0, f64::max);
    // Force and moment over r and 1/r terms of displacement and slope: c11 u' + c12 u / r.
    let forces = |s: &Section, r: f64| -> [[f64; 4]; 2] {
        let pair = |c: &[f64; 4]| [c[0] + c[1], -(c[0] - c[1]) / (r * r)];
        let (a, b, d) = (pair(&s.a), pair(&s.b), pair(&s.d));
        // Slope f: curvatures are f' and f / r; in units of the rim b scales with 1/unit, d with its square.
        let (bu, du) = (1.0 / unit / scale, 1.0 / (unit * unit) / scale);
        [[a[0] / scale, a[1] / scale, b[0] * bu, b[1] * bu], [b[0] * bu, b[1] * bu, d[0] * du, d[1] * du]]
    };
    let free = |s: &Section| [s.force[0] / scale, s.moment[0] / unit / scale];
    let mut row = 0;
    // Nothing grows without limit in the middle.
    for k in [1, 3] {
        rows[row * size + k] = 1.0;
        row += 1;
    }
    for (i, ring) in rings.iter().enumerate() {
        let r = ring.outer / unit;
        let here = forces(&ring.section, r);
        let own = free(&ring.section);
        if let Some(next) = rings.get(i + 1) {
            for k in [0, 2] {
                rows[row * size + 4 * i + k] = r;
                rows[row * size + 4 * i + k + 1] = 1.0 / r;
                rows[row * size + 4 * (i + 1) + k] = -r;
                rows[row * size + 4 * (i + 1) + k + 1] = -1.0 / r;
                row += 1;
            }
            let there = forces(&next.section, r);
            let theirs = free(&next.section);
            for k in 0..2 {
                for c in 0..4 {
                    rows[row * size + 4 * i + c] = here[k][c];
                    rows[row * size + 4 * (i + 1) + c] = -there[k][c];
                }
                right[row] = own[k] - theirs[k];
                row += 1;
            }
        } else {
            for k in 0..2 {
                rows[row * size + 4 * i..row * size + 4 * i + 4].copy_from_slice(&here[k]);
                right[row] = own[k];
                row += 1;
            }
        }
    }
    let x = dense::solve(&rows, &right)?;
    Ok(Annular {
        outer: rings.iter().map(|r| r.outer).collect(),
        coefficients: x.chunks(4).map(|c| [c[0], c[1], c[2], c[3]]).collect(),
    })
}

impl Annular {
    fn unit(&self) -> f64 {
        self.outer.last().copied().unwrap_or(1.0)
    }

    /// Strains at the shared plane and curvatures, radial and around, at a radius, m; curvature positive where it is
    /// convex.
    pub fn at(&self, radius: f64) -> ([f64; 2], [f64; 2]) {
        let i = self.outer.iter().position(|&o| radius <= o).unwrap_or(self.outer.len() - 1);
        let r = radius / self.unit();
        let [a, b, c, d] = self.coefficients[i];
        let q = if b == 0.0 && d == 0.0 { 0.0 } else { 1.0 / (r * r) };
        let u = self.unit();
        ([a - b * q, a + b * q], [(c - d * q) / u, (c + d * q) / u])
    }

    /// Height over the middle at a radius, m.
    pub fn height(&self, radius: f64) -> f64 {
        let u = self.unit();
        let (mut inner, mut height) = (0.0, 0.0);
        for (&outer, &[_, _, c, d]) in self.outer.iter().zip(&self.coefficients) {
            let end = radius.min(outer) / u;
            if end > inner {
                let turned = if d == 0.0 || inner == 0.0 { 0.0 } else { d * (end / inner).ln() };
                height -= (c * (end * end - inner * inner) / 2.0 + turned) * u;
            }
            inner = outer / u;
        }
        height
    }
}
