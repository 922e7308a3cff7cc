//! Fins: a pin, and a board as a round fin.
//!
//! Heat that spreads in a thin board and leaves through its faces makes the board an annular fin (F. P. Incropera,
//! D. P. DeWitt, Fundamentals of Heat and Mass Transfer, 6th ed. 2007, section 3.6; from memory). Bessel functions by
//! the integrals of M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, 1964, 9.6.16-9.6.24.

use facedown_field::{NoConvergence, quadrature};
use std::f64::consts::PI;

/// `exp(-x) I_n(x)` for n 0 or 1, x >= 0 (Abramowitz and Stegun 9.6.19).
fn scaled_i(n: u32, x: f64) -> Result<f64, NoConvergence> {
    let order = f64::from(n);
    // exp(x (cos - 1)) is narrow for large x; its width is a few over the root of x.
    let end = if x > 100.0 { (12.0 / x.sqrt()).min(PI) } else { PI };
    Ok(quadrature::adaptive(|t: f64| (x * (t.cos() - 1.0)).exp() * (order * t).cos(), 0.0, end, 1e-12)? / PI)
}

/// `exp(x) K_n(x)` for n 0 or 1, x > 0 (Abramowitz and Stegun 9.6.24).
fn scaled_k(n: u32, x: f64) -> Result<f64, NoConvergence> {
    let order = f64::from(n);
    let end = (1.0 + 45.0 / x).acosh();
    quadrature::adaptive(|t: f64| (-x * (t.cosh() - 1.0)).exp() * (order * t).cosh(), 0.0, end, 1e-12)
}

/// Heat that an infinitely long pin fin takes, W: `sqrt(h P k A) theta` (Incropera and DeWitt, table 3.4, case D).
/// Film W/(m2 K), conductivity W/(m K), diameter m, base over ambient K.
pub fn long_pin_heat(film: f64, conductivity: f64, diameter_m: f64, base_rise_k: f64) -> f64 {
    let (perimeter, area) = (PI * diameter_m, PI * diameter_m * diameter_m / 4.0);
    (film * perimeter * conductivity * area).sqrt() * base_rise_k
}

/// Efficiency of a straight fin with an adiabatic tip, `tanh(mL)/(mL)` (Incropera and DeWitt, eq. 3.89): film
/// W/(m2 K) on both faces, conductivity W/(m K), thickness and length m.
pub fn straight_fin_efficiency(film: f64, conductivity: f64, thickness_m: f64, length_m: f64) -> f64 {
    let ml = (2.0 * film / (conductivity * thickness_m)).sqrt() * length_m;
    if ml < 1e-8 { 1.0 } else { ml.tanh() / ml }
}

/// A round board around a round footprint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoundBoard {
    /// Radius of the footprint, m.
    pub inner_m: f64,
    /// Radius of the board, m, above the footprint's.
    pub outer_m: f64,
    /// In-plane conductivity times thickness, W/K.
    pub conductance: f64,
    /// Films of both faces together, W/(m2 K), above zero.
    pub films: f64,
}

impl RoundBoard {
    /// Resistance from the rim of the footprint to the air over the board outside it, K/W (Incropera and DeWitt, eq.
    /// 3.91 with an adiabatic outer rim).
    ///
    /// # Errors
    /// When the Bessel integrals do not converge: sizes that are not positive numbers.
    pub fn resistance(&self) -> Result<f64, NoConvergence> {
        let m = (self.films / self.conductance).sqrt();
        let (a, b) = (m * self.inner_m, m * self.outer_m);
        // Factors exp(a), exp(b) are taken out so that nothing overflows: the ratio has exp(-2(b - a)).
        let decay = (-2.0 * (b - a)).exp();
        let (i0a, i1a, i1b) = (scaled_i(0, a)?, scaled_i(1, a)?, scaled_i(1, b)?);
        let (k0a, k1a, k1b) = (scaled_k(0, a)?, scaled_k(1, a)?, scaled_k(1, b)?);
        let flow = (k1a * i1b - decay * i1a * k1b) / (decay * i0a * k1b + k0a * i1b);
        Ok(1.0 / (2.0 * PI * self.inner_m * self.conductance * m * flow))
    }
}

/// A board around a footprint as an annular fin of the same areas, K/W, from the rim of the footprint to the air: the
/// hand check of the board's series. Areas m2, in-plane conductivity times thickness W/K, films of both faces W/(m2 K).
///
/// # Errors
/// When the fin's functions do not converge.
pub fn board_as_round_fin(
    footprint_m2: f64,
    board_m2: f64,
    conductance: f64,
    films: f64,
) -> Result<f64, NoConvergence> {
    RoundBoard { inner_m: (footprint_m2 / PI).sqrt(), outer_m: (board_m2 / PI).sqrt(), conductance, films }
        .resistance()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bessel_integrals_at_tabulated_arguments() {
        // Abramowitz and Stegun, tables 9.8: exp(-x) I0, exp(-x) I1, exp(x) K0, exp(x) K1 at x = 1 and 5.
        for (x, i0, i1, k0, k1) in [
            (1.0, 0.465_759_607_6, 0.207_910_415_4, 1.144_463_079_7, 1.636_153_486_3),
            (5.0, 0.183_540_812_6, 0.163_972_266_9, 0.547_807_564_3, 0.600_273_858_8),
        ] {
            let close = |a: f64, b: f64| assert!((a / b - 1.0).abs() < 1e-9, "{a} {b}");
            close(scaled_i(0, x).unwrap(), i0);
            close(scaled_i(1, x).unwrap(), i1);
            close(scaled_k(0, x).unwrap(), k0);
            close(scaled_k(1, x).unwrap(), k1);
        }
    }

    #[test]
    fn a_well_conducting_board_is_all_at_one_temperature() {
        let board = RoundBoard { inner_m: 0.02, outer_m: 0.06, conductance: 1e4, films: 15.0 };
        let area = PI * (0.06_f64.powi(2) - 0.02_f64.powi(2));
        assert!((board.resistance().unwrap() * 15.0 * area - 1.0).abs() < 1e-5);
    }

    #[test]
    fn a_short_fin_is_fully_efficient() {
        assert_eq!(straight_fin_efficiency(10.0, 200.0, 1e-3, 1e-9), 1.0);
        assert!(straight_fin_efficiency(1e4, 200.0, 1e-3, 0.1) < 0.04);
    }
}
