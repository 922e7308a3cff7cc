//! Two plates joined by a layer that shears: force, shear, peel and curvature along the half-length.
//!
//! E. Suhir, J. Appl. Mech. 53 (1986) 657 and 56 (1989) 595, for stacks of layers instead of single ones: each plate
//! enters by its stretching and bending stiffness and the distance of its neutral plane from the joint. Shear does
//! not vanish at the end, as it does in truth (C. Q. Ru 2002), and the elastic peak is singular at a bimaterial edge:
//! these are numbers to compare designs by, not strengths.

use crate::property::Elastic;

/// A plate of the pair, per width.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Member {
    /// Stretching stiffness, N/m.
    pub stretch: f64,
    /// Bending stiffness about its own neutral plane, N m.
    pub bend: f64,
    /// Distance of the neutral plane from the joint, m.
    pub arm: f64,
    /// Shear compliance of the plate itself, m3/N: its thickness over three times its shear modulus for a single
    /// layer.
    pub compliance: f64,
    /// Free strain at the neutral plane.
    pub strain: f64,
    /// Free curvature, 1/m, positive where it is convex.
    pub curvature: f64,
}

/// A layer of a plate of the pair.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slice {
    /// Thickness, m.
    pub thickness: f64,
    /// Constants in its plane.
    pub elastic: Elastic,
    /// Modulus of shear between its faces, Pa: bare joints have one although they bear nothing in the plane.
    pub shear: f64,
}

impl From<(f64, Elastic)> for Slice {
    /// A layer of that thickness, m, that is the same in every direction.
    fn from((thickness, elastic): (f64, Elastic)) -> Slice {
        Slice { thickness, elastic, shear: elastic.shear() }
    }
}

impl Member {
    /// Layers from the joint outward; `up` where the plate is the upper one.
    pub fn of<S: Into<Slice> + Copy>(layers: &[S], up: bool) -> Member {
        let layers: Vec<Slice> = layers.iter().map(|&l| l.into()).collect();
        let mut z = 0.0;
        let (mut a, mut b, mut d, mut n, mut m) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for &Slice { thickness: t, elastic: e, .. } in &layers {
            let (q, top) = (e.biaxial(), z + t);
            let first = (top * top - z * z) / 2.0;
            a += q * t;
            b += q * first;
            d += q * (top.powi(3) - z.powi(3)) / 3.0;
            n += q * t * e.strain;
            m += q * first * e.strain;
            z = top;
        }
        let arm = b / a;
        // Shear falls from the joint to the free face as the stretching stiffness beyond it does.
        let (mut beyond, mut compliance) = (1.0, 0.0);
        for &Slice { thickness: t, elastic: e, shear } in &layers {
            let next = beyond - e.biaxial() * t / a;
            compliance += t / shear * (beyond * beyond + beyond * next + next * next) / 3.0;
            beyond = next;
        }
        let bend = d - a * arm * arm;
        let turn = (m - arm * n) / bend;
        Member { stretch: a, bend, arm, compliance, strain: n / a, curvature: if up { turn } else { -turn } }
    }

    /// A single layer without free curvature, with its stiffness in stretching and in bending given apart, as some of
    /// the published cases do (`E'` of the one and of the other), and its shear modulus.
    pub fn single(thickness: f64, stretch: f64, bend: f64, shear: f64, strain: f64) -> Member {
        Member {
            stretch: stretch * thickness,
            bend: bend * thickness.powi(3) / 12.0,
            arm: thickness / 2.0,
            compliance: thickness / (3.0 * shear),
            strain,
            curvature: 0.0,
        }
    }
}

/// The layer between them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    /// Thickness, m; zero for plates that touch.
    pub thickness: f64,
    /// Shear modulus, Pa.
    pub shear: f64,
}

/// The pair.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// Axial compliance, m/N.
    pub axial: f64,
    /// Compliance of the joint, m3/N.
    pub interface: f64,
    /// Reciprocal of the length over which shear dies away, 1/m.
    pub decay: f64,
    /// Difference of free strains that the joint holds together.
    pub mismatch: f64,
    /// Bending stiffness of both, N m.
    bend: f64,
    /// Distance of the two neutral planes, m.
    arm: f64,
    free_curvature: f64,
    /// Peel over the slope of the shear, m.
    peel_arm: f64,
}

impl Pair {
    /// The pair; `plates_shear` false leaves out the plates' own shear, as plates without shear deformation do.
    pub fn new(upper: Member, lower: Member, layer: Layer, plates_shear: bool) -> Pair {
        let bend = upper.bend + lower.bend;
        let (c1, c2) = (upper.arm + layer.thickness / 2.0, lower.arm + layer.thickness / 2.0);
        let arm = c1 + c2;
        let axial = 1.0 / upper.stretch + 1.0 / lower.stretch + arm * arm / bend;
        let own = if plates_shear { upper.compliance + lower.compliance } else { 0.0 };
        let through = if layer.thickness > 0.0 { layer.thickness / layer.shear } else { 0.0 };
        let interface = own + through;
        let free_curvature = (upper.bend * upper.curvature + lower.bend * lower.curvature) / bend;
        Pair {
            axial,
            interface,
            decay: (axial / interface).sqrt(),
            mismatch: lower.strain - upper.strain + arm * free_curvature,
            bend,
            arm,
            free_curvature,
            peel_arm: (upper.bend * c2 - lower.bend * c1) / bend,
        }
    }

    /// Force in the upper plate at a place from the middle, N/m, tension positive; `half` is the half-length, m.
    pub fn force(&self, x: f64, half: f64) -> f64 {
        self.mismatch / self.axial * (1.0 - ratio_cosh(self.decay, x, half))
    }

    /// Shear on the underside of the upper plate, outward positive, Pa.
    pub fn shear(&self, x: f64, half: f64) -> f64 {
        self.mismatch / (self.axial * self.interface).sqrt() * ratio_sinh(self.decay, x, half)
    }

    /// Peel, Pa, tension positive.
    pub fn peel(&self, x: f64, half: f64) -> f64 {
        self.peel_arm * self.mismatch / self.interface * ratio_cosh(self.decay, x, half)
    }

    /// Curvature, 1/m, positive where it is convex.
    pub fn curvature(&self, x: f64, half: f64) -> f64 {
        self.free_curvature - self.force(x, half) * self.arm / self.bend
    }

    /// Height over the middle at a place, m; beyond the half-length the plate below goes on straight.
    pub fn height(&self, x: f64, half: f64) -> f64 {
        let inside = x.min(half);
        let k = self.decay;
        // The integrals of 1 - cosh kx / cosh kl.
        let slope = |x: f64| x - ratio_sinh(k, x, half) / k;
        let rise = inside * inside / 2.0 - (ratio_cosh(k, inside, half) - ratio_cosh(k, 0.0, half)) / (k * k);
        let drawn = self.mismatch / self.axial * self.arm / self.bend;
        let free = |x: f64| x * x / 2.0;
        let beyond = (x - half).max(0.0);
        -self.free_curvature * (free(inside) + half * beyond) + drawn * (rise + slope(half) * beyond)
    }

    /// Half-length over which the pair bends as one, m: what is left when the ends that slip are taken off.
    pub fn held_half(&self, half: f64) -> f64 {
        half - ratio_sinh(self.decay, half, half) / self.decay
    }
}

/// cosh kx / cosh kl without overflow.
fn ratio_cosh(k: f64, x: f64, l: f64) -> f64 {
    (k * (x - l)).exp() * (1.0 + (-2.0 * k * x).exp()) / (1.0 + (-2.0 * k * l).exp())
}

/// sinh kx / cosh kl without overflow.
fn ratio_sinh(k: f64, x: f64, l: f64) -> f64 {
    -(k * (x - l)).exp() * (-2.0 * k * x).exp_m1() / (1.0 + (-2.0 * k * l).exp())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stack_of_equal_layers_is_one_layer() {
        let e = Elastic { modulus: 70e9, poisson: 0.3, strain: 1e-3 };
        let one = Member::of(&[(1e-3, e)], true);
        let three = Member::of(&[(0.2e-3, e), (0.5e-3, e), (0.3e-3, e)], true);
        for (a, b) in [
            (one.stretch, three.stretch),
            (one.bend, three.bend),
            (one.arm, three.arm),
            (one.compliance, three.compliance),
            (one.strain, three.strain),
            (one.compliance, 1e-3 / 3.0 / e.shear()),
        ] {
            assert!((a / b - 1.0).abs() < 1e-12, "{a} {b}");
        }
        assert!(three.curvature.abs() < 1e-12);
    }

    #[test]
    fn a_long_pair_bends_like_its_section() {
        use crate::section::{Section, stacked};
        let die = Elastic { modulus: 131e9, poisson: 0.28, strain: -4e-4 };
        let board = Elastic { modulus: 22e9, poisson: 0.2, strain: -22e-4 };
        let pair = Pair::new(
            Member::of(&[(0.75e-3, die)], true),
            Member::of(&[(1e-3, board)], false),
            Layer { thickness: 0.0, shear: 1e9 },
            true,
        );
        let section = Section::of(&stacked(-1e-3, &[(1e-3, board), (0.75e-3, die)]));
        let free = section.free().unwrap();
        assert!((pair.curvature(0.0, 0.1) / free.curvature[0] - 1.0).abs() < 1e-9);
        assert!(pair.peel(0.0075, 0.0075) < 0.0, "the stiffer die is pressed at its edge on cooling");
    }
}
