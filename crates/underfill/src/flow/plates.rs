//! Fill times of a gap without bumps, from a line with ample feed.
//!
//! E. W. Washburn, Phys. Rev. 17 (1921) 273, for tubes; M. K. Schwiebert and W. H. Leong, IEEE Trans. CPMT C 19 (1996) 133,
//! for the gap under a die. Inertia is left out: its time scale `density gap^2 / (12 viscosity)` is microseconds.

/// A gap that a liquid enters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// Distance of the faces, m.
    pub gap_m: f64,
    /// Surface tension, N/m.
    pub tension_n_m: f64,
    /// Contact angles on both faces, rad.
    pub angles_rad: [f64; 2],
}

impl Gap {
    /// Mean driving pressure, Pa: `tension (cos a + cos b) / gap`. Not positive where the liquid is not drawn in.
    pub fn pressure(self) -> f64 {
        self.tension_n_m * (self.angles_rad[0].cos() + self.angles_rad[1].cos()) / self.gap_m
    }

    /// Mean of the cosines.
    fn cosine(self) -> f64 {
        0.5 * (self.angles_rad[0].cos() + self.angles_rad[1].cos())
    }

    /// Time, s, to fill a length (m) with a constant viscosity (Pa s): `6 mu L^2 / (gap tension (cos a + cos b))`. Nothing
    /// where the pressure is not positive.
    pub fn fill_time(self, viscosity: f64, length_m: f64) -> Option<f64> {
        let pressure = self.pressure();
        (pressure > 0.0).then(|| 6.0 * viscosity * length_m * length_m / (self.gap_m * self.gap_m * pressure))
    }

    /// The same for a liquid whose shear stress is `consistency rate^index` (Pa s^n): `[2 (2 + 1/n) / gap] (m / (tension
    /// cos))^(1/n) L^(1 + 1/n) / (1 + 1/n)` (J. W. Wan, W. J. Zhang and D. J. Bergstrom, IEEE Trans. Adv. Packag. 28 (2005)
    /// 481; derived again from slit flow).
    pub fn fill_time_power_law(self, consistency: f64, index: f64, length_m: f64) -> Option<f64> {
        let drive = self.tension_n_m * self.cosine();
        let k = 1.0 / index;
        let time =
            2.0 * (2.0 + k) / self.gap_m * (consistency / drive).powf(k) * length_m.powf(1.0 + k) / (1.0 + k);
        (drive > 0.0 && time.is_finite()).then_some(time)
    }

    /// Distance of the front after a time, m, when the cosine of the angle starts low and grows as `1 - a exp(-c t)` (S.
    /// Newman, J. Colloid Interface Sci. 26 (1968) 209); `a` 0 to 1, `c` in 1/s.
    pub fn front_of_slow_wetting(self, viscosity: f64, (a, c): (f64, f64), time_s: f64) -> Option<f64> {
        let square = self.gap_m * self.tension_n_m * self.cosine() / (3.0 * viscosity)
            * (time_s + a / c * (-c * time_s).exp_m1());
        (square >= 0.0 && square.is_finite()).then(|| square.sqrt())
    }

    /// Farthest distance, m, and time to a distance `length_m`, s, when the viscosity grows as `viscosity exp(t / tau)`; the
    /// time is absent beyond the farthest distance.
    pub fn growing_viscosity(self, viscosity: f64, tau_s: f64, length_m: f64) -> Option<(f64, Option<f64>)> {
        let farthest = (self.gap_m * self.tension_n_m * self.cosine() * tau_s / (3.0 * viscosity)).sqrt();
        let share = (length_m / farthest).powi(2);
        farthest.is_finite().then(|| (farthest, (share < 1.0).then(|| -tau_s * (-share).ln_1p())))
    }
}

/// Time, s, of a straight front in a medium whose viscosity is constant, from a radius `from_m` to `to_m` under constant
/// pressure: `mu / mobility [R^2/2 ln(R/r) - (R^2 - r^2)/4]` (radial injection at constant pressure, from memory: S. G.
/// Advani and E. M. Sozer, Process Modeling in Composites Manufacturing). `mobility` as [`super::Medium::mobility`].
pub fn radial_time(mobility: f64, viscosity: f64, from_m: f64, to_m: f64) -> f64 {
    let (r, s) = (to_m * to_m, from_m * from_m);
    viscosity / mobility * (0.5 * r * (to_m / from_m).ln() - 0.25 * (r - s))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gap(degrees: [f64; 2]) -> Gap {
        Gap { gap_m: 50e-6, tension_n_m: 0.03, angles_rad: degrees.map(f64::to_radians) }
    }

    proptest::proptest! {
        #[test]
        fn times_scale_as_dimensions_say(a in 0.0..80.0_f64, k in 1.1..4.0_f64) {
            let (g, mu, l) = (gap([a, a]), 0.1, 5e-3);
            let t = g.fill_time(mu, l).unwrap();
            proptest::prop_assert!((g.fill_time(mu, k * l).unwrap() / t / k.powi(2) - 1.0).abs() < 1e-12);
            proptest::prop_assert!((g.fill_time(k * mu, l).unwrap() / t / k - 1.0).abs() < 1e-12);
            let wide = Gap { gap_m: k * g.gap_m, ..g };
            proptest::prop_assert!((t / wide.fill_time(mu, l).unwrap() / k - 1.0).abs() < 1e-12);
            proptest::prop_assert!((g.fill_time_power_law(mu, 1.0, l).unwrap() / t - 1.0).abs() < 1e-12);
            let (_, growing) = g.growing_viscosity(mu, 1e7, l).unwrap();
            proptest::prop_assert!((growing.unwrap() / t - 1.0).abs() < 1e-3);
            let front = g.front_of_slow_wetting(mu, (0.0, 1.0), t).unwrap();
            proptest::prop_assert!((front / l - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn a_repelling_gap_never_fills() {
        assert_eq!(gap([120.0, 120.0]).fill_time(0.1, 1e-2), None);
        assert_eq!(gap([120.0, 120.0]).fill_time_power_law(0.1, 0.9, 1e-2), None);
        assert_eq!(gap([120.0, 120.0]).growing_viscosity(0.1, 100.0, 1e-2), None);
        // One face may repel as long as the other wets more.
        assert!(gap([110.0, 20.0]).fill_time(0.1, 1e-2).is_some());
    }
}
