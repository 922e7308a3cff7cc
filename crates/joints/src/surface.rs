//! Surfaces of revolution of constant mean curvature, all of them by one formula.
//!
//! Without gravity the outline of a liquid joint keeps `r sin psi = (p r^2 - f) / 2` (the first integral of the
//! Young-Laplace equation; C. Delaunay, J. Math. Pures Appl. 6, 1841, 309), with `p` the excess pressure and `pi f` the
//! axial force, both over the surface tension. Taken against `r` the integrals for height and volume are singular at a
//! bulge or a neck, and the formula changes from unduloid to nodoid. Taken against the arc length `s` neither happens:
//! the square of the radius obeys `u'' = 2 + p f - p^2 u`, so from the lower rim (radius `a`, inclination `psi_0`)
//!
//! ```text
//! u(s) = a^2 + 2 a cos(psi_0) S1 + 2 (1 - p a sin(psi_0)) S2,   S1 = sin(p s)/p,   S2 = (1 - cos(p s))/p^2
//! sin psi = (a sin(psi_0) + p (u - a^2)/2) / sqrt(u),           cos psi = u' / (2 sqrt(u))
//! ```
//!
//! which is analytic in `p`, through `p = 0` (catenoid), `p a sin(psi_0) = 1` (cylinder at 90 degrees) and `f = 0`
//! (sphere), and stays so for nodoids and unduloids. (The substitution by arc length is that of K. Kenmotsu, Tohoku
//! Math. J. 32, 1980, 147, moved from the equator to the rim.) Height, volume and area are then integrals of smooth
//! functions over the arc, for which a Gauss-Legendre rule reaches rounding error. Any consistent unit of length.

use facedown_field::{NoConvergence, gauss, quadrature};
use std::f64::consts::PI;
use std::sync::LazyLock;

/// Twice 16 nodes over the outline: rounding error for every shape that a joint takes.
static RULE: LazyLock<gauss::Rule> = LazyLock::new(|| gauss::Rule::new(16));
const PANELS: usize = 2;

/// An outline from the lower rim to the upper one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outline {
    /// Radius of the lower rim.
    pub rim: f64,
    /// Inclination of the outline to the horizontal at the lower rim, rad; the angle inside the liquid at the lower
    /// pad is `pi` less it.
    pub inclination: f64,
    /// Excess pressure over surface tension, twice the mean curvature.
    pub pressure: f64,
    /// Arc length up to the upper rim.
    pub length: f64,
}

/// One point of an outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Radius.
    pub radius: f64,
    /// Sine of the inclination.
    pub sine: f64,
    /// Cosine of the inclination.
    pub cosine: f64,
}

/// `sin(p s)/p`, `(1 - cos(p s))/p^2` and their derivatives with respect to `p`.
struct Waves {
    s1: f64,
    s2: f64,
    s1_p: f64,
    s2_p: f64,
}

fn waves(p: f64, s: f64) -> Waves {
    let y = p * s;
    if y.abs() > 0.5 {
        let (sine, cosine) = y.sin_cos();
        let s1 = sine / p;
        let half = (0.5 * y).sin();
        let s2 = 2.0 * half * half / (p * p);
        return Waves { s1, s2, s1_p: (s * cosine - s1) / p, s2_p: (s * s1 - 2.0 * s2) / p };
    }
    // Taylor series in y; ten terms are exact to rounding for |y| up to 0.5.
    let y2 = y * y;
    let (mut s1, mut s2, mut s1_p, mut s2_p) = (0.0, 0.0, 0.0, 0.0);
    let mut term = 1.0; // (-1)^k y^(2k) / (2k)!
    for k in 0..10 {
        let n = 2.0 * f64::from(k);
        let t1 = term / (n + 1.0);
        let t2 = t1 / (n + 2.0);
        s1 += t1;
        s2 += t2;
        s1_p += n * t1;
        s2_p += n * t2;
        term *= -y2 / ((n + 1.0) * (n + 2.0));
    }
    // d/dp y^n = n y^n / p; the sums above start at n = 2, so that y divides them.
    let per_p = if y == 0.0 { 0.0 } else { 1.0 / p };
    Waves { s1: s * s1, s2: s * s * s2, s1_p: s * s1_p * per_p, s2_p: s * s * s2_p * per_p }
}

/// The integrals of an outline and how they change with pressure, inclination and length.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Sums {
    /// Square of the radius at the upper end, and its changes.
    pub end: [f64; 4],
    /// Height, and its changes.
    pub height: [f64; 4],
    /// Volume over pi, and its changes.
    pub volume: [f64; 4],
    /// True where the outline crosses neither the axis nor a horizontal tangent.
    pub plain: bool,
}

impl Outline {
    /// `f` of the first integral: axial force over pi times the surface tension; the same at every height.
    pub fn axial(&self) -> f64 {
        self.rim * (self.pressure * self.rim - 2.0 * self.inclination.sin())
    }

    fn square(&self, s: f64) -> f64 {
        let (sine, cosine) = self.inclination.sin_cos();
        let w = waves(self.pressure, s);
        self.rim * self.rim
            + 2.0 * self.rim * cosine * w.s1
            + 2.0 * (1.0 - self.pressure * self.rim * sine) * w.s2
    }

    /// The point at the arc length `s` from the lower rim.
    pub fn point(&self, s: f64) -> Point {
        let (sine, cosine) = self.inclination.sin_cos();
        let (a, p) = (self.rim, self.pressure);
        let u = self.square(s);
        let radius = u.sqrt();
        let slope = 2.0 * a * cosine * (p * s).cos() + 2.0 * (1.0 - p * a * sine) * waves(p, s).s1;
        Point { radius, sine: (a * sine + 0.5 * p * (u - a * a)) / radius, cosine: 0.5 * slope / radius }
    }

    /// Height, volume and area of the free surface.
    pub fn measure(&self) -> [f64; 3] {
        self.panels(|s| {
            let point = self.point(s);
            let r = point.radius;
            [point.sine, PI * r * r * point.sine, 2.0 * PI * r]
        })
    }

    /// Height and volume by the adaptive rule, to judge the fixed one.
    ///
    /// # Errors
    /// What the adaptive rule gives: the outline crosses the axis, or is not finite.
    pub fn measure_adaptively(&self, tolerance: f64) -> Result<[f64; 2], NoConvergence> {
        Ok([
            quadrature::adaptive(|s| self.point(s).sine, 0.0, self.length, tolerance)?,
            quadrature::adaptive(
                |s| {
                    let point = self.point(s);
                    PI * point.radius * point.radius * point.sine
                },
                0.0,
                self.length,
                tolerance,
            )?,
        ])
    }

    fn panels<const N: usize>(&self, f: impl Fn(f64) -> [f64; N]) -> [f64; N] {
        let step = self.length / PANELS as f64;
        let mut sums = [0.0; N];
        for panel in 0..PANELS {
            let from = panel as f64 * step;
            for (sum, part) in sums.iter_mut().zip(RULE.integrate(&f, from, from + step)) {
                *sum += part;
            }
        }
        sums
    }

    /// Largest and least radius: where the outline is vertical between its ends, else at the ends.
    pub fn extremes(&self) -> (f64, f64) {
        let last = self.point(self.length);
        let (mut widest, mut narrowest) = (self.rim.max(last.radius), self.rim.min(last.radius));
        let (p, f) = (self.pressure, self.axial());
        let root = (1.0 + p * f).max(0.0).sqrt();
        let first = self.inclination.cos();
        if first > 0.0 && last.cosine < 0.0 {
            widest = widest.max((1.0 + root) / p);
        } else if first < 0.0 && last.cosine > 0.0 {
            narrowest = narrowest.min(-f / (1.0 + root));
        }
        (widest, narrowest)
    }

    /// Radius and height of `count` points (at least two) at equal arc lengths, from the lower rim.
    pub fn trace(&self, count: usize) -> Vec<[f64; 2]> {
        let steps = count.max(2) - 1;
        let mut points = Vec::with_capacity(steps + 1);
        let mut height = 0.0;
        for i in 0..=steps {
            let s = self.length * i as f64 / steps as f64;
            if i > 0 {
                let before = self.length * (i - 1) as f64 / steps as f64;
                height += RULE.integrate(|s| [self.point(s).sine], before, s)[0];
            }
            points.push([self.point(s).radius, height]);
        }
        points
    }

    /// The integrals and their derivatives, in one pass.
    pub(crate) fn sums(&self) -> Sums {
        let (sine, cosine) = self.inclination.sin_cos();
        let (a, p) = (self.rim, self.pressure);
        let bend = 1.0 - p * a * sine;
        // u, w = r sin psi, and their derivatives with respect to pressure and inclination.
        let local = |s: f64| {
            let v = waves(p, s);
            let u = a * a + 2.0 * a * cosine * v.s1 + 2.0 * bend * v.s2;
            let u_p = 2.0 * a * cosine * v.s1_p + 2.0 * bend * v.s2_p - 2.0 * a * sine * v.s2;
            let u_i = -2.0 * a * sine * v.s1 - 2.0 * p * a * cosine * v.s2;
            let w = a * sine + 0.5 * p * (u - a * a);
            let w_p = 0.5 * (u - a * a) + 0.5 * p * u_p;
            let w_i = a * cosine + 0.5 * p * u_i;
            (u, u_p, u_i, w, w_p, w_i)
        };
        let [h, h_p, h_i, v, v_p, v_i, crossings] = self.panels(|s| {
            let (u, u_p, u_i, w, w_p, w_i) = local(s);
            let r = u.sqrt();
            let (k, q) = (0.5 * w / (u * r), 0.5 * w / r);
            let crossed = if u > 0.0 && w > 0.0 { 0.0 } else { 1.0 };
            [
                w / r,
                w_p / r - k * u_p,
                w_i / r - k * u_i,
                r * w,
                r * w_p + q * u_p,
                r * w_i + q * u_i,
                crossed,
            ]
        });
        let (u, u_p, u_i, w, _, _) = local(self.length);
        let slope = 2.0 * a * cosine * (p * self.length).cos() + 2.0 * bend * waves(p, self.length).s1;
        let r = u.sqrt();
        Sums {
            end: [u, u_p, u_i, slope],
            height: [h, h_p, h_i, w / r],
            volume: [v, v_p, v_i, r * w],
            plain: crossings == 0.0 && u > 0.0 && w > 0.0 && sine > 0.0,
        }
    }

    /// Change of `u' = 2 r cos psi` at the upper rim with pressure, inclination and length.
    pub(crate) fn slope_changes(&self) -> [f64; 3] {
        let (sine, cosine) = self.inclination.sin_cos();
        let (a, p, s) = (self.rim, self.pressure, self.length);
        let bend = 1.0 - p * a * sine;
        let v = waves(p, s);
        let turn = (p * s).cos();
        [
            -2.0 * a * cosine * s * p * v.s1 + 2.0 * bend * v.s1_p - 2.0 * a * sine * v.s1,
            -2.0 * a * sine * turn - 2.0 * p * a * cosine * v.s1,
            -2.0 * a * cosine * p * p * v.s1 + 2.0 * bend * turn,
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::f64::consts::FRAC_PI_4;

    #[test]
    fn sphere_cylinder_and_catenoid_are_cases_of_it() {
        let sphere = Outline {
            rim: 1.0,
            inclination: FRAC_PI_4,
            pressure: 2.0_f64.sqrt(),
            length: FRAC_PI_4 * 8.0_f64.sqrt(),
        };
        let [h, v, area] = sphere.measure();
        assert!((h - 2.0).abs() < 1e-14 && (v - 10.0 * PI / 3.0).abs() < 1e-13);
        assert!((area - 4.0 * PI * 2.0_f64.sqrt()).abs() < 1e-13 && sphere.axial().abs() < 1e-15);
        assert!((sphere.extremes().0 - 2.0_f64.sqrt()).abs() < 1e-14);
        let cylinder = Outline { rim: 1.0, inclination: PI / 2.0, pressure: 1.0, length: 1.0 };
        let [h, v, _] = cylinder.measure();
        assert!((h - 1.0).abs() < 1e-14 && (v - PI).abs() < 1e-14 && (cylinder.axial() + 1.0).abs() < 1e-15);
    }

    fn outlines() -> impl Strategy<Value = Outline> {
        (0.2..5.0_f64, 0.3..2.8_f64, -0.4..2.5_f64, 0.2..2.0_f64).prop_map(|(rim, inclination, p, length)| {
            Outline { rim, inclination, pressure: p / rim, length: length * rim }
        })
    }

    proptest! {
        #[test]
        fn the_first_integral_and_the_unit_tangent_hold_everywhere(outline in outlines(), share in 0.0..1.0_f64) {
            let point = outline.point(share * outline.length);
            prop_assume!(point.radius.is_finite() && point.radius > 0.05 * outline.rim);
            let r = point.radius;
            prop_assert!((point.sine.hypot(point.cosine) - 1.0).abs() < 1e-9);
            let kept = outline.pressure * r * r - 2.0 * r * point.sine;
            prop_assert!((kept - outline.axial()).abs() < 1e-10 * outline.rim);
        }

        #[test]
        fn the_derivatives_are_those_of_the_integrals(outline in outlines()) {
            let sums = outline.sums();
            prop_assume!(sums.plain && outline.trace(50).iter().all(|p| p[0] > 0.2 * outline.rim));
            let d = 1e-6;
            let changed = |i: usize, d: f64| {
                let mut o = outline;
                match i {
                    1 => o.pressure += d,
                    2 => o.inclination += d,
                    _ => o.length += d,
                }
                (o.sums(), o.point(o.length), o)
            };
            for i in 1..4 {
                let ((up, up_end, _), (down, down_end, _)) = (changed(i, d), changed(i, -d));
                for (both, plus, minus) in [
                    (sums.end, up.end, down.end),
                    (sums.height, up.height, down.height),
                    (sums.volume, up.volume, down.volume),
                ] {
                    let difference = (plus[0] - minus[0]) / (2.0 * d);
                    prop_assert!((difference - both[i]).abs() < 1e-6 * (1.0 + both[i].abs()), "{i} {difference} {both:?}");
                }
                let slope = |end: Point| 2.0 * end.radius * end.cosine;
                let difference = (slope(up_end) - slope(down_end)) / (2.0 * d);
                let exact = outline.slope_changes()[i - 1];
                prop_assert!((difference - exact).abs() < 1e-6 * (1.0 + exact.abs()));
            }
        }

        #[test]
        fn the_fixed_rule_agrees_with_the_adaptive_one(outline in outlines()) {
            prop_assume!(outline.sums().plain && outline.trace(50).iter().all(|p| p[0] > 0.4 * outline.rim));
            let [h, v, _] = outline.measure();
            let [h2, v2] = outline.measure_adaptively(1e-13).unwrap();
            prop_assert!((h / h2 - 1.0).abs() < 1e-10 && (v / v2 - 1.0).abs() < 1e-10, "{h} {h2} {v} {v2}");
        }
    }
}
