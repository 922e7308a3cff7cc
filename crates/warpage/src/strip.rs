//! Two layers in closed form: the bimetal of Timoshenko and the thin film of Stoney.

/// Curvature of a bimetal, 1/m (S. Timoshenko, J. Opt. Soc. Am. 11, 1925, eq. 4). `thickness`, `modulus` and `strain`
/// of layer 1 and layer 2; positive where layer 2 is on the convex side. For plates take the biaxial modulus.
pub fn bimetal(thickness: [f64; 2], modulus: [f64; 2], strain: [f64; 2]) -> f64 {
    let m = thickness[0] / thickness[1];
    let n = modulus[0] / modulus[1];
    let h = thickness[0] + thickness[1];
    6.0 * (strain[1] - strain[0]) * (1.0 + m).powi(2)
        / (h * (3.0 * (1.0 + m).powi(2) + (1.0 + m * n) * (m * m + 1.0 / (m * n))))
}

/// Curvature of a substrate under a thin film, 1/m (G. G. Stoney, Proc. R. Soc. A 82, 1909, in its form for plates):
/// `stress` of the film, Pa; `film` and `base` thickness, m; `biaxial` modulus of the base, Pa.
pub fn stoney(stress: f64, film: f64, base: f64, biaxial: f64) -> f64 {
    6.0 * stress * film / (biaxial * base * base)
}

/// Deflection at mid-length of a strip of that curvature on two ends, m.
pub fn sag(curvature: f64, length: f64) -> f64 {
    curvature * length * length / 8.0
}

/// Deflection of the tip of a strip that is held at one end, m.
pub fn tip(curvature: f64, length: f64) -> f64 {
    curvature * length * length / 2.0
}
