//! One-dimensional transient of a stack of layers: the exact answer of its heated face to a step of power.
//!
//! In the Laplace domain a layer turns the impedance behind it into the one before it, `Z <- (Z + tau/y)/(1 + Z y tau)`
//! with `y = sqrt(s rho c k)` and `tau = tanh(t sqrt(s rho c / k))`, which holds no growing exponential and any number of
//! layers (H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, section 3.7; from memory). The
//! answer in time is found by [`facedown_field::laplace`]. A step response of a known stack is what an evaluation of
//! thermal transients is tested on, and the hand check of a package whose heat flows one way.

use facedown_field::laplace::{Complex, inverse};
use facedown_field::{NoConvergence, distribution, quadrature};
use std::f64::consts::{PI, SQRT_2};

/// A layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slab {
    /// Thickness, m.
    pub thickness_m: f64,
    /// Conductivity through it, W/(m K).
    pub conductivity: f64,
    /// Heat capacity of a volume, J/(m3 K).
    pub capacity_j_m3_k: f64,
    /// Contact resistance behind it, m2 K/W.
    pub contact_m2_k_w: f64,
}

/// Layers from the heated face to the cooled one.
#[derive(Debug, Clone, PartialEq)]
pub struct Stack {
    /// Layers.
    pub layers: Vec<Slab>,
    /// Film behind the last layer, W/(m2 K); infinity for a face held at the ambient temperature.
    pub film: f64,
}

/// Share of the response to which the inversion must settle.
const TOLERANCE: f64 = 1e-8;

impl Stack {
    /// Final resistance, m2 K/W.
    pub fn resistance(&self) -> f64 {
        let layers = self.layers.iter().map(|l| l.thickness_m / l.conductivity + l.contact_m2_k_w);
        layers.sum::<f64>() + 1.0 / self.film
    }

    /// Impedance of the heated face at a complex frequency, m2 K/W.
    pub fn impedance(&self, s: Complex<f64>) -> Complex<f64> {
        self.layers.iter().rev().fold(Complex::new(1.0 / self.film, 0.0), |behind, layer| {
            let behind = behind + layer.contact_m2_k_w;
            let y = (s * layer.capacity_j_m3_k * layer.conductivity).sqrt();
            let tau = tanh(layer.thickness_m * (s * layer.capacity_j_m3_k / layer.conductivity).sqrt());
            (behind + tau / y) / (1.0 + behind * y * tau)
        })
    }

    /// Rise of the heated face a time (s) after a flux of 1 W/m2 began, m2 K/W.
    ///
    /// # Errors
    /// [`NoConvergence`] when a size is not above zero or the time is not.
    pub fn step_response(&self, time_s: f64) -> Result<f64, NoConvergence> {
        let sound = |l: &Slab| {
            let positive = [l.thickness_m, l.conductivity, l.capacity_j_m3_k];
            positive.iter().all(|v| *v > 0.0 && v.is_finite()) && l.contact_m2_k_w >= 0.0
        };
        if self.layers.is_empty() || !self.layers.iter().all(sound) || self.film.is_nan() || self.film <= 0.0
        {
            return Err(NoConvergence::NotFinite);
        }
        // The impedance at the frequency 1/t has the size of the response at t.
        let size = self.impedance(Complex::new(1.0 / time_s, 0.0)).re;
        inverse(|s| self.impedance(s) / s, time_s, TOLERANCE * size)
    }
}

/// The hyperbolic tangent for a real part above zero, without overflow.
fn tanh(z: Complex<f64>) -> Complex<f64> {
    let decayed = (-2.0 * z).exp();
    (1.0 - decayed) / (1.0 + decayed)
}

/// Rise of a face a time (s) after an even flux (W/m2) began, K, while the heat has met nothing but its first layer:
/// `2 q sqrt(t / (pi k rho c))` (Carslaw and Jaeger 1959, section 2.9; from memory). JESD51-14 carries a record back
/// with it to the moment of switching.
pub fn early_rise(flux: f64, conductivity: f64, capacity_j_m3_k: f64, time_s: f64) -> f64 {
    2.0 * flux * (time_s / (PI * conductivity * capacity_j_m3_k)).sqrt()
}

/// Rise in a depth (m) below that face, K (the same section):
/// `early_rise exp(-x2/4at) - q x/k erfc(x / (2 sqrt(at)))`.
pub fn early_rise_in_depth(
    flux: f64,
    conductivity: f64,
    capacity_j_m3_k: f64,
    depth_m: f64,
    time_s: f64,
) -> f64 {
    let reach = (conductivity / capacity_j_m3_k * time_s).sqrt();
    let x = depth_m / (2.0 * reach);
    let erfc = 2.0 * distribution::normal_probability(-x * SQRT_2);
    early_rise(flux, conductivity, capacity_j_m3_k, time_s) * (-x * x).exp()
        - flux * depth_m / conductivity * erfc
}

/// Rise over the centre of an evenly heated rectangle (sides m, power W) on a half space, a time (s) after switching on,
/// K: `q sqrt(a/pi)/k` times the integral of `erf(u/sqrt(4at)) erf(v/sqrt(4at)) / sqrt(t)` over time, `u`, `v` half the
/// sides (Carslaw and Jaeger 1959, section 10.5; from memory).
///
/// # Errors
/// [`NoConvergence`] where the integral does not settle to nine digits.
pub fn rectangle_rise(
    power_w: f64,
    sides_m: [f64; 2],
    conductivity: f64,
    capacity_j_m3_k: f64,
    time_s: f64,
) -> Result<f64, NoConvergence> {
    let diffusivity = conductivity / capacity_j_m3_k;
    let erf = |x: f64| 1.0 - 2.0 * distribution::normal_probability(-x * SQRT_2);
    // Time is the square of the variable, which removes the root at the start.
    let reach = |side: f64, root: f64| erf(0.5 * side / (2.0 * diffusivity.sqrt() * root));
    let integral = quadrature::adaptive(
        |r| 2.0 * reach(sides_m[0], r) * reach(sides_m[1], r),
        0.0,
        time_s.sqrt(),
        1e-9,
    )?;
    let flux = power_w / (sides_m[0] * sides_m[1]);
    Ok(flux / conductivity * (diffusivity / PI).sqrt() * integral)
}

#[cfg(test)]
mod tests {
    use super::*;

    const SILICON: Slab = Slab {
        thickness_m: 0.5e-3,
        conductivity: 148.0,
        capacity_j_m3_k: 2330.0 * 712.0,
        contact_m2_k_w: 0.0,
    };

    #[test]
    fn a_stack_begins_with_the_root_of_time_and_ends_with_its_resistance() {
        let grease =
            Slab { thickness_m: 50e-6, conductivity: 3.0, capacity_j_m3_k: 2e6, contact_m2_k_w: 2e-6 };
        let stack = Stack { layers: vec![SILICON, grease], film: 5000.0 };
        for time in [1e-9, 1e-7, 1e-5] {
            let early = early_rise(1.0, SILICON.conductivity, SILICON.capacity_j_m3_k, time);
            assert!((stack.step_response(time).unwrap() / early - 1.0).abs() < 1e-9);
        }
        let late = stack.step_response(1e4).unwrap();
        assert!((late / stack.resistance() - 1.0).abs() < 1e-9);
        assert!(stack.step_response(0.0).is_err());
        assert!(Stack { film: 0.0, ..stack.clone() }.step_response(1.0).is_err());
        assert!(Stack { layers: vec![], ..stack }.step_response(1.0).is_err());
    }

    #[test]
    fn a_layer_cut_in_two_is_the_same_layer() {
        let half = Slab { thickness_m: 0.25e-3, ..SILICON };
        let one = Stack { layers: vec![SILICON], film: f64::INFINITY };
        let two = Stack { layers: vec![half, half], film: f64::INFINITY };
        for time in [1e-6, 1e-3, 1e-2] {
            let (a, b) = (one.step_response(time).unwrap(), two.step_response(time).unwrap());
            assert!((a / b - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn a_rectangle_is_one_dimensional_at_first_and_settles_to_the_half_space() {
        let rise = |t| rectangle_rise(1.0, [1e-3, 1e-3], 148.0, 2330.0 * 712.0, t).unwrap();
        assert!((rise(1e-5) / early_rise(1e6, 148.0, 2330.0 * 712.0, 1e-5) - 1.0).abs() < 1e-4);
        let steady = 0.561_100 / (148.0 * 1e-3);
        assert!((rise(1e4) / steady - 1.0).abs() < 1e-3);
    }
}
