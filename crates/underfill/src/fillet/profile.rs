//! The profile of a fillet in a plane upright to the die's edge.
//!
//! With `phi` the downward slope of the surface from the horizontal, `z` the height above the substrate and `1/a^2 = density
//! gravity / tension`, the equation of Young and Laplace `dphi/ds = P - z/a^2` (`P`: pressure at the substrate over the
//! tension) has the first integral `cos phi = cos foot + P z - z^2 / (2 a^2)` (P.-G. de Gennes, F. Brochard-Wyart, D. Quere,
//! Capillarity and Wetting Phenomena, 2004, ch. 2; R. Finn, Equilibrium Capillary Surfaces, 1986, ch. 1). A profile is therefore
//! known by its height and its two end slopes. With `v = 1 - cos phi`, `zeta = z / height` and `g = height^2 / (2 a^2)`:
//!
//! `v = v_foot (1 - zeta) + v_head zeta - g zeta (1 - zeta)`, `P = (v_foot - v_head) / height + height / (2 a^2)`.
//!
//! Width and area are integrals of `cot phi = (1 - v) / sqrt(v (2 - v))`; `zeta = sin^2(t/2)` takes the roots at the ends away. A
//! profile exists while `v > 0`: `height < 2 a (sin(foot/2) + sin(head/2))`, the thickness of a puddle plus the rise above it
//! at a wall, where the width goes to infinity.

use facedown_field::{NoConvergence, quadrature::adaptive};
use std::f64::consts::PI;

/// Relative tolerance of the integrals.
const TOLERANCE: f64 = 1e-11;

/// Square of width over capillary length below which the balance of moments cancels too far.
const LIGHT: f64 = 1e-3;

/// Gravity, m/s2.
pub const GRAVITY: f64 = 9.80665;

/// A profile between a wall and the substrate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Profile {
    /// Height of its line on the wall above the substrate, m.
    pub height_m: f64,
    /// Slope at the substrate, rad: the contact angle there.
    pub foot_rad: f64,
    /// Slope at the wall, rad: a quarter turn less the contact angle there.
    pub head_rad: f64,
    /// Density times gravity over tension, 1/m2; zero without weight.
    pub weight_per_m2: f64,
    /// Distance of its line on the substrate from the wall, m.
    pub width_m: f64,
}

impl Profile {
    /// The profile with that height, m, slopes from 0 to pi, rad, and weight, 1/m2; nothing where liquid of these slopes stands
    /// lower however wide it is.
    ///
    /// # Errors
    /// [`NoConvergence`] where the integral does not keep its tolerance: at widths beyond thirty capillary lengths.
    pub fn between(
        height_m: f64,
        foot_rad: f64,
        head_rad: f64,
        weight_per_m2: f64,
    ) -> Result<Option<Profile>, NoConvergence> {
        let rise = (0.5 * foot_rad).sin() + (0.5 * head_rad).sin();
        if height_m * weight_per_m2.sqrt() >= 2.0 * rise {
            return Ok(None);
        }
        let mut profile = Profile { height_m, foot_rad, head_rad, weight_per_m2, width_m: 0.0 };
        profile.width_m = height_m * adaptive(|t| profile.slope(t), 0.0, PI, TOLERANCE)?;
        Ok(Some(profile))
    }

    /// `cot phi dzeta/dt` at `zeta = sin^2(t/2)`.
    fn slope(&self, t: f64) -> f64 {
        let (sin, cos) = (0.5 * t).sin_cos();
        let (up, down) = (sin * sin, cos * cos);
        let g = 0.5 * self.height_m * self.height_m * self.weight_per_m2;
        let ends = |x: f64, y: f64| 2.0 * (x * x * down + y * y * up);
        let (foot, head) = ((0.5 * self.foot_rad).sin_cos(), (0.5 * self.head_rad).sin_cos());
        // The same as a sum of squares: no digits are lost where a wide surface lies nearly level.
        let (level, over) = (foot.0 + head.0, (0.5 * g).sqrt());
        let v =
            2.0 * (foot.0 * down - head.0 * up).powi(2) + 2.0 * (level - over) * (level + over) * up * down;
        let rest = ends(foot.1, head.1) + g * up * down;
        (1.0 - v) * sin * cos / (v * rest).sqrt()
    }

    /// Pressure at the substrate above that of the air over the tension, 1/m.
    pub fn pressure_per_m(&self) -> f64 {
        let (foot, head) = ((0.5 * self.foot_rad).sin(), (0.5 * self.head_rad).sin());
        2.0 * (foot + head) * (foot - head) / self.height_m + 0.5 * self.height_m * self.weight_per_m2
    }

    /// Area between wall, substrate and surface, m2.
    ///
    /// # Errors
    /// Like [`Profile::between`].
    pub fn area_m2(&self) -> Result<f64, NoConvergence> {
        let of = |t: f64| (0.5 * t).sin().powi(2) * self.slope(t);
        Ok(self.height_m * self.height_m * adaptive(of, 0.0, PI, TOLERANCE)?)
    }

    /// First moment of that area about the wall, m3; a quarter turn of the profile about an upright edge has the volume of pi / 2 times
    /// it.
    ///
    /// # Errors
    /// Like [`Profile::between`].
    pub fn moment_m3(&self) -> Result<f64, NoConvergence> {
        let bond = self.weight_per_m2 * self.width_m * self.width_m;
        if bond > LIGHT {
            return Ok(self.balanced_moment());
        }
        self.integrated_moment()
    }

    /// By the balance of moments about the foot of the wall: pressure on the substrate, pull of the surface at the substrate, all
    /// upright pulls over the height (the integral of `cos phi`, a polynomial of the height), weight. It cancels without weight.
    fn balanced_moment(&self) -> f64 {
        let v = |a: f64| 2.0 * (0.5 * a).sin().powi(2);
        let g = 0.5 * self.height_m * self.height_m * self.weight_per_m2;
        let upright = self.height_m * (1.0 - 0.5 * (v(self.foot_rad) + v(self.head_rad)) + g / 6.0);
        let width = self.width_m;
        let pulls = 0.5 * self.pressure_per_m() * width * width - width * self.foot_rad.sin() + upright;
        pulls / self.weight_per_m2
    }

    fn integrated_moment(&self) -> Result<f64, NoConvergence> {
        let of = |t: f64| {
            let x = adaptive(|t| self.slope(t), t, PI, TOLERANCE).unwrap_or(f64::NAN);
            0.5 * x * x * (0.5 * t).sin() * (0.5 * t).cos()
        };
        Ok(self.height_m.powi(3) * adaptive(of, 0.0, PI, 1e-8)?)
    }

    /// Distance from the wall and height above the substrate, m, of `count` + 1 points from the wall to the substrate.
    ///
    /// # Errors
    /// Like [`Profile::between`].
    pub fn points(&self, count: usize) -> Result<Vec<[f64; 2]>, NoConvergence> {
        let at = |k: usize| PI * (1.0 - k as f64 / count as f64);
        let mut x = 0.0;
        let mut points = vec![[0.0, self.height_m]];
        for k in 0..count {
            x += self.height_m * adaptive(|t| self.slope(t), at(k + 1), at(k), TOLERANCE)?;
            points.push([x, self.height_m * (0.5 * at(k + 1)).sin().powi(2)]);
        }
        Ok(points)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn forces_on_the_liquid_balance(
            height in 1e-5..2e-3_f64, foot in 0.0..1.5_f64, head in 0.0..2.5_f64, weight in prop_oneof![Just(0.0), 1e3..1e6_f64],
        ) {
            prop_assume!(foot + head > 0.05);
            let Some(p) = Profile::between(height, foot, head, weight).unwrap() else {
                prop_assert!(height * weight.sqrt() >= 2.0 * ((0.5 * foot).sin() + (0.5 * head).sin()));
                return Ok(());
            };
            // Upright: pressure on the substrate, weight, and the pull of the surface at both ends.
            let area = p.area_m2().unwrap();
            let pull = p.pressure_per_m() * p.width_m - weight * area - foot.sin() + head.sin();
            prop_assert!(pull.abs() < 1e-8 * (1.0 + p.width_m / height), "{pull}");
            if weight * p.width_m * p.width_m > LIGHT {
                let (one, other) = (p.integrated_moment().unwrap(), p.balanced_moment());
                prop_assert!((one / other - 1.0).abs() < 1e-6, "{one} {other}");
            }
            let points = p.points(24).unwrap();
            let end = points.last().unwrap();
            prop_assert!((end[0] - p.width_m).abs() < 1e-9 * (height + p.width_m.abs()) && end[1].abs() < 1e-12);
        }

        #[test]
        fn without_weight_it_is_an_arc(height in 1e-5..2e-3_f64, foot in 0.0..1.5_f64, head in 0.0..1.5_f64) {
            prop_assume!((foot - head).abs() > 0.01 && foot + head > 0.05);
            let p = Profile::between(height, foot, head, 0.0).unwrap().unwrap();
            let radius = height / (foot.cos() - head.cos());
            prop_assert!((p.width_m / (radius * (head.sin() - foot.sin())) - 1.0).abs() < 1e-8);
            prop_assert!((p.pressure_per_m() * radius + 1.0).abs() < 1e-10);
            let turn = head - foot;
            let area = 0.5 * height * p.width_m - 0.5 * radius * radius * (turn - turn.sin());
            prop_assert!((p.area_m2().unwrap() / area - 1.0).abs() < 1e-6);
        }
    }
}
