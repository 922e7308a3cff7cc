//! Anand's viscoplastic law: one flow rule without a yield surface, one inner resistance that hardens and recovers.
//!
//! L. Anand, Constitutive equations for hot-working of metals, International Journal of Plasticity 1 (1985) 213;
//! S. B. Brown, K. H. Kim and L. Anand, An internal variable constitutive model for hot working of metals, International
//! Journal of Plasticity 5 (1989) 95:
//!
//! - flow `rate = A exp(-Q/RT) [sinh(xi sigma / s)]^(1/m)`,
//! - hardening `ds/dt = h0 |1 - s/s*|^a sign(1 - s/s*) rate`,
//! - resistance that the flow tends to, `s* = s_hat [rate exp(Q/RT) / A]^n`.
//!
//! Stress and rate are von Mises equivalents. The published sets for the same alloy differ by a factor of about two in
//! stress (age, cooling and range of the fit), so at least two are run and none is taken as the truth.

/// The nine constants with the elasticity that is used beside them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Anand {
    /// Alloy with source.
    pub name: &'static str,
    /// Resistance before any flow `s0`, Pa.
    pub initial: f64,
    /// Activation temperature `Q/R`, K.
    pub activation: f64,
    /// Rate constant `A`, 1/s.
    pub rate: f64,
    /// Multiplier of the stress `xi`.
    pub multiplier: f64,
    /// Rate sensitivity `m`.
    pub sensitivity: f64,
    /// Hardening constant `h0`, Pa.
    pub hardening: f64,
    /// Coefficient of the resistance tended to `s_hat`, Pa.
    pub saturation: f64,
    /// Its sensitivity to the rate `n`.
    pub saturation_exponent: f64,
    /// Exponent of the hardening `a`.
    pub hardening_exponent: f64,
    /// Young modulus at 0 K by its straight line over temperature, Pa.
    pub modulus: f64,
    /// Fall of the Young modulus, Pa/K.
    pub modulus_fall: f64,
    /// Poisson ratio.
    pub poisson: f64,
}

/// R. Darveaux, for 62Sn36Pb2Ag by some and for eutectic tin-lead by others who quote it (in: Ball Grid Array Technology,
/// McGraw-Hill 1995; ECTC 2000); all constants from memory. The modulus line is Darveaux's too.
pub const DARVEAUX: Anand = Anand {
    name: "Anand, tin-lead, Darveaux 2000",
    initial: 12.41e6,
    activation: 9400.0,
    rate: 4.0e6,
    multiplier: 1.5,
    sensitivity: 0.303,
    hardening: 1378.95e6,
    saturation: 13.79e6,
    saturation_exponent: 0.07,
    hardening_exponent: 1.3,
    modulus: 75_842.0e6,
    modulus_fall: 152.0e6,
    poisson: 0.35,
};

/// G. Z. Wang, Z. N. Cheng, K. Becker and J. Wilde, Journal of Electronic Packaging 123 (2001) 247, 60Sn40Pb; from memory.
pub const WANG: Anand = Anand {
    name: "Anand, 60Sn40Pb, Wang et al. 2001",
    initial: 56.33e6,
    activation: 10_830.0,
    rate: 1.49e7,
    multiplier: 11.0,
    sensitivity: 0.303,
    hardening: 2640.75e6,
    saturation: 80.42e6,
    saturation_exponent: 0.0231,
    hardening_exponent: 1.34,
    modulus: 75_842.0e6,
    modulus_fall: 152.0e6,
    poisson: 0.35,
};

/// K. Mysore, G. Subbarayan, V. Gupta and R. Zhang, IEEE Transactions on Electronics Packaging Manufacturing 32 (2009) 221,
/// SAC305 by shear of joints; from memory. Beside it the modulus line of [`crate::creep::SCHUBERT`].
pub const MYSORE: Anand = Anand {
    name: "Anand, SAC305, Mysore et al. 2009",
    initial: 2.15e6,
    activation: 9970.0,
    rate: 17.994,
    multiplier: 0.35,
    sensitivity: 0.153,
    hardening: 1525.98e6,
    saturation: 2.536e6,
    saturation_exponent: 0.028,
    hardening_exponent: 1.69,
    modulus: 61_251.0e6,
    modulus_fall: 58.5e6,
    poisson: 0.36,
};

/// M. Motalab et al., ITherm 2012, SAC305 quenched in water, not aged; from memory. Modulus as for [`MYSORE`].
pub const MOTALAB: Anand = Anand {
    name: "Anand, SAC305 quenched, Motalab et al. 2012",
    initial: 32.2e6,
    activation: 9320.0,
    rate: 2800.0,
    multiplier: 4.0,
    sensitivity: 0.29,
    hardening: 186_000.0e6,
    saturation: 44.67e6,
    saturation_exponent: 0.012,
    hardening_exponent: 1.72,
    modulus: 61_251.0e6,
    modulus_fall: 58.5e6,
    poisson: 0.36,
};

/// Logarithm of `sinh x` for `x > 0`, without overflow.
pub(crate) fn ln_sinh(x: f64) -> f64 {
    if x < 1e-3 { (x * (1.0 + x * x / 6.0)).ln() } else { x + (0.5 * (-(-2.0 * x).exp_m1())).ln() }
}

/// Above this logarithm a rate (1/s) is faster than anything that a march could follow; it is held there.
pub(crate) const FASTEST: f64 = 300.0;

impl Anand {
    /// Inelastic strain rate (1/s, with the sign of the stress) and rate of the resistance (Pa/s) under an equivalent
    /// stress (Pa) at a temperature (K) with the resistance `s` (Pa, above zero).
    pub fn rates(&self, stress: f64, resistance: f64, temperature: f64) -> (f64, f64) {
        let x = self.multiplier * stress.abs() / resistance;
        if x <= 0.0 {
            return (0.0, 0.0);
        }
        // The logarithm of the rate over A exp(-Q/RT).
        let reduced = ln_sinh(x) / self.sensitivity;
        let rate = (self.rate.ln() - self.activation / temperature + reduced).min(FASTEST).exp();
        let target = self.saturation * (self.saturation_exponent * reduced).exp();
        let missing = 1.0 - resistance / target;
        let change = self.hardening * missing.abs().powf(self.hardening_exponent).copysign(missing) * rate;
        (rate.copysign(stress), if change.is_finite() { change } else { 0.0 })
    }

    /// Steady stress (Pa) under a lasting strain rate (1/s) at a temperature (K): the resistance has reached its target,
    /// `sigma = (s_hat / xi) Z^n asinh(Z^m)` with `Z = rate exp(Q/RT) / A` (follows from the three rules).
    pub fn steady_stress(&self, rate: f64, temperature: f64) -> f64 {
        let z = rate / self.rate * (self.activation / temperature).exp();
        self.saturation / self.multiplier
            * z.powf(self.saturation_exponent)
            * z.powf(self.sensitivity).asinh()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn at_the_steady_stress_nothing_hardens() {
        for law in [DARVEAUX, WANG, MYSORE, MOTALAB] {
            for temperature in [233.15, 298.15, 398.15] {
                let rate = 1e-5;
                let stress = law.steady_stress(rate, temperature);
                let z = rate / law.rate * (law.activation / temperature).exp();
                let resistance = law.saturation * z.powf(law.saturation_exponent);
                let (flow, change) = law.rates(stress, resistance, temperature);
                assert!((flow / rate - 1.0).abs() < 1e-9, "{}", law.name);
                assert!((change / (law.hardening * rate)).abs() < 1e-9);
                let (back, _) = law.rates(-stress, resistance, temperature);
                assert_eq!(back, -flow);
            }
        }
    }

    #[test]
    fn no_stress_flows_not_and_much_stress_stays_finite() {
        assert_eq!(MYSORE.rates(0.0, MYSORE.initial, 300.0), (0.0, 0.0));
        for stress in [1e-300, 1e-20, 1e12] {
            let (flow, change) = MYSORE.rates(stress, MYSORE.initial, 300.0);
            assert!(flow.is_finite() && change.is_finite());
        }
    }

    #[test]
    fn the_logarithm_of_sinh_is_that() {
        for x in [1e-6_f64, 0.9e-3, 1.1e-3, 0.5, 3.0, 20.0] {
            assert!((ln_sinh(x) - x.sinh().ln()).abs() < 1e-12 * x.sinh().ln().abs().max(1.0));
        }
    }
}
