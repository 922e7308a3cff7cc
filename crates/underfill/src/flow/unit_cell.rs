//! Permeability of one unit cell by Stokes flow in space: a bump between two no-slip plates, repeated for ever.
//!
//! A quarter of the cell over half the gap is solved ([`facedown_field::stokes`]): the bump stands in a corner, rays go from its side
//! to the outline of its Voronoi cell. The flow is along x. Square array: the outline is the quarter square, whose three planes are
//! planes of symmetry or, where x is held, planes that the flow passes upright. Hexagonal array: the outline ends with the
//! oblique edge to the next nearest bump; the flow equals itself turned by half a turn about the middle of that
//! edge, which ties each of its nodes to the mirrored one. The mean velocity over the whole cell, bump included, under a unit
//! force is the permeability.
//!
//! This makes the table of [`super::cells`]; a design never runs it.

use super::permeability::{Cell, drag};
use crate::problem::{BumpShape, Lattice};
use facedown_field::NoConvergence;
use facedown_field::stokes::{Condition, Flow, Mesh, Node, graded, solve};
use std::f64::consts::FRAC_PI_2;

/// A cell in units of its pitch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UnitCell {
    /// Arrangement.
    pub lattice: Lattice,
    /// Shape of the bump.
    pub shape: BumpShape,
    /// Largest diameter over pitch, below one.
    pub tight: f64,
    /// Gap over pitch; of a truncated sphere below its diameter.
    pub slender: f64,
}

/// Which way the flow goes in a hexagonal array; its permeability does not depend on it, so that the two check each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Along a row of nearest neighbours.
    Along,
    /// Across it.
    Across,
}

/// Bricks from the bump outwards, around it and from the middle of the gap to a plate; around it divisible by six.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bricks(pub [usize; 3]);

impl Bricks {
    /// Of the shipped table.
    pub const TABLE: Bricks = Bricks([6, 12, 4]);
    /// Coarser, to tell the error of the table from the difference.
    pub const COARSE: Bricks = Bricks([4, 6, 3]);
    /// Finer, for checks.
    pub const FINE: Bricks = Bricks([9, 18, 6]);
}

impl UnitCell {
    /// Permeability over the square of the pitch, and the flow.
    ///
    /// # Errors
    /// [`NoConvergence::Singular`] for a cell without room, else what [`solve`] says.
    pub fn permeability(self, bricks: Bricks, way: Way) -> Result<(f64, Flow), NoConvergence> {
        let flow = self.flow(bricks, way, false)?;
        let (a, b) = self.sides();
        let quarter = self.lattice_quarter(a, b) * 0.5 * self.slender;
        Ok((flow.integral[usize::from(way == Way::Across)] / quarter, flow))
    }

    /// Permeability across an endless array without plates over the square of the pitch.
    ///
    /// # Errors
    /// Like [`UnitCell::permeability`].
    pub fn plane(self, bricks: Bricks, way: Way) -> Result<f64, NoConvergence> {
        let cell = UnitCell { shape: BumpShape::Cylinder, slender: 2.0, ..self };
        let flow = cell.flow(Bricks([bricks.0[0], bricks.0[1], 1]), way, true)?;
        let (a, b) = self.sides();
        Ok(flow.integral[usize::from(way == Way::Across)] / self.lattice_quarter(a, b))
    }

    /// `12 K / gap^2`: the share of the bare gap's permeability that the bumps leave.
    ///
    /// # Errors
    /// Like [`UnitCell::permeability`].
    pub fn share(self, bricks: Bricks) -> Result<f64, NoConvergence> {
        Ok(12.0 * self.permeability(bricks, Way::Along)?.0 / (self.slender * self.slender))
    }

    /// Half the distances of bumps along and across a row; the second is where the oblique edge ends.
    fn sides(self) -> (f64, f64) {
        match self.lattice {
            Lattice::Square => (0.5, 0.5),
            Lattice::Hexagonal => (0.5, 1.0 / 3.0_f64.sqrt()),
        }
    }

    /// Plan area that the block stands for, its share of the bump included: a quarter of the Voronoi cell.
    fn lattice_quarter(self, a: f64, b: f64) -> f64 {
        match self.lattice {
            Lattice::Square => a * b,
            // Between the bump's axes and the oblique edge from (a, b / 2) to (0, b).
            Lattice::Hexagonal => 0.75 * a * b,
        }
    }

    /// Radius of the bump at a height above the middle of the gap.
    fn radius(self, z: f64) -> f64 {
        let r = 0.5 * self.tight;
        match self.shape {
            BumpShape::Cylinder => r,
            BumpShape::TruncatedSphere => (r * r - z * z).max(0.0).sqrt(),
        }
    }

    fn flow(self, bricks: Bricks, way: Way, plane: bool) -> Result<Flow, NoConvergence> {
        let half = 0.5 * self.slender;
        let room =
            self.tight > 0.0 && self.tight < 1.0 && half > 0.0 && half.is_finite() && self.radius(half) > 0.0;
        if !room {
            return Err(NoConvergence::Singular);
        }
        let [outwards, around, upwards] = bricks.0;
        let (a, b) = self.sides();
        // The layer at the bump's side is about a third of the gap thick and thinner than the bump, that at a plate as thick as the flow past an
        // endless array needs to turn.
        let ray = a - 0.5 * self.tight;
        let cell = Cell { lattice: self.lattice, pitch_m: 1.0, diameter_m: self.tight, gap_m: self.slender };
        let across = (cell.area() / drag(self.lattice, cell.solid())).sqrt();
        let layer = (0.25 * self.slender).min(0.2 * self.tight) / ray;
        let radial = graded(outwards, layer.clamp(0.02, 0.6 / outwards as f64));
        let upper: Vec<f64> =
            graded(upwards, (0.7 * across / half).min(1.0)).iter().rev().map(|z| 1.0 - z).collect();
        // The corner of the outline lies at a share of the turn.
        let corner = match self.lattice {
            Lattice::Square => 0.5,
            Lattice::Hexagonal => 1.0 / 3.0,
        };
        let turn: Vec<f64> = (0..=around).map(|k| k as f64 / around as f64).collect();
        let outline = |t: f64| match self.lattice {
            Lattice::Square if t <= corner => (a, b * t / corner),
            Lattice::Square => (a * (1.0 - t) / (1.0 - corner), b),
            Lattice::Hexagonal if t <= corner => (a, 0.5 * b * t / corner),
            Lattice::Hexagonal => {
                let s = (t - corner) / (1.0 - corner);
                (a * (1.0 - s), 0.5 * b * (1.0 + s))
            }
        };
        let mesh = Mesh::new([&radial, &turn, &upper], |[s, t, z]| {
            let z = half * z;
            let (sin, cos) = (t * FRAC_PI_2).sin_cos();
            let (r, out) = (self.radius(z), outline(t));
            [(1.0 - s) * r * cos + s * out.0, (1.0 - s) * r * sin + s * out.1, z]
        })
        .map_err(|_| NoConvergence::Singular)?;
        let (to, side) = match way {
            Way::Along => (0, 1),
            Way::Across => (1, 0),
        };
        let mut force = [0.0; 3];
        force[to] = 1.0;
        let corner_at = (corner * 2.0 * around as f64).round() as usize;
        solve(&mesh, force, |n: Node| {
            let [s, t, z] = n.index;
            let wall = s == 0 || (!plane && z == n.last[2]);
            if wall {
                return Condition::Held([true; 3]);
            }
            let mut held = [false; 3];
            let mut on = |axis: usize| {
                // A plane upright to an axis: passed by the flow, or a plane of symmetry.
                if axis == to {
                    held[side] = true;
                    held[2] = true;
                } else {
                    held[axis] = true;
                }
            };
            let outer = s == n.last[0];
            if t == 0 {
                on(1);
            }
            if t == n.last[1] {
                on(0);
            }
            if outer && t <= corner_at {
                on(0);
            }
            if outer && t >= corner_at {
                match self.lattice {
                    Lattice::Square => on(1),
                    Lattice::Hexagonal => {
                        let mirrored = n.last[1] + corner_at - t;
                        if mirrored < t {
                            return Condition::Tied([s, mirrored, z], [1.0, 1.0, -1.0]);
                        }
                        // The middle is its own image.
                        held[2] |= mirrored == t;
                    }
                }
            }
            if z == 0 || (plane && z == n.last[2]) {
                held[2] = true;
            }
            if plane {
                held[2] = true;
            }
            Condition::Held(held)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cell(lattice: Lattice, tight: f64, slender: f64) -> UnitCell {
        UnitCell { lattice, shape: BumpShape::Cylinder, tight, slender }
    }

    #[test]
    fn a_hexagonal_array_does_not_know_which_way_the_flow_goes() {
        let one = cell(Lattice::Hexagonal, 0.5, 0.4);
        let (along, flow) = one.permeability(Bricks::TABLE, Way::Along).unwrap();
        let across = one.permeability(Bricks::TABLE, Way::Across).unwrap().0;
        assert!((along / across - 1.0).abs() < 1e-3, "{along} {across}");
        assert!(flow.imbalance < 1e-9 && (flow.integral[0] / flow.dissipation - 1.0).abs() < 1e-7);
    }

    #[test]
    fn a_low_zone_of_a_sphere_is_nearly_a_cylinder() {
        let zone = UnitCell { shape: BumpShape::TruncatedSphere, ..cell(Lattice::Square, 0.5, 0.05) };
        let share = zone.share(Bricks::COARSE).unwrap();
        let equal = cell(Lattice::Square, 0.5 * (1.0 - 0.05_f64.powi(2) / 3.0 / 0.25).sqrt(), 0.05);
        assert!((share / equal.share(Bricks::COARSE).unwrap() - 1.0).abs() < 5e-3);
    }

    #[test]
    fn no_room_is_no_number() {
        for (tight, slender) in [(1.0, 0.3), (0.0, 0.3), (0.5, 0.0), (f64::NAN, 0.3)] {
            assert!(cell(Lattice::Square, tight, slender).share(Bricks::COARSE).is_err());
        }
        let sphere = UnitCell { shape: BumpShape::TruncatedSphere, ..cell(Lattice::Square, 0.4, 0.4) };
        assert!(sphere.share(Bricks::COARSE).is_err());
    }
}
