//! Films: natural and forced convection of air over horizontal and vertical faces, radiation, and both together.
//!
//! Two sets of correlations are run for natural convection, because published ones differ by ten to twenty percent at
//! the size of a package: those of the textbooks (J. R. Lloyd, W. R. Moran 1974; W. H. McAdams 1954), and those of
//! G. D. Raithby and K. G. T. Hollands (Handbook of Heat Transfer, 3rd ed. 1998, ch. 4), which hold down to small sizes.
//! All from memory.

/// Stefan-Boltzmann constant, W/(m2 K4) (CODATA 2018).
pub const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;
/// Standard gravity, m/s2.
const GRAVITY: f64 = 9.806_65;

/// Air at one temperature and one atmosphere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Kinematic viscosity, m2/s.
    pub viscosity: f64,
    /// Conductivity, W/(m K).
    pub conductivity: f64,
    /// Thermal diffusivity, m2/s.
    pub diffusivity: f64,
    /// Prandtl number.
    pub prandtl: f64,
    /// Temperature, K.
    pub temperature_k: f64,
}

/// T (K), viscosity (1e-6 m2/s), conductivity (1e-3 W/(m K)), diffusivity (1e-6 m2/s), Prandtl: F. P. Incropera, D. P.
/// DeWitt, Fundamentals of Heat and Mass Transfer, 6th ed. 2007, table A.4; from memory.
const AIR: [[f64; 5]; 9] = [
    [200.0, 7.59, 18.1, 10.3, 0.737],
    [250.0, 11.44, 22.3, 15.9, 0.720],
    [300.0, 15.89, 26.3, 22.5, 0.707],
    [350.0, 20.92, 30.0, 29.9, 0.700],
    [400.0, 26.41, 33.8, 38.3, 0.690],
    [450.0, 32.39, 37.3, 47.2, 0.686],
    [500.0, 38.79, 40.7, 56.7, 0.684],
    [550.0, 45.57, 43.9, 66.7, 0.683],
    [600.0, 52.69, 46.9, 76.9, 0.685],
];

impl Air {
    /// Lowest and highest temperature of the table, K.
    pub const RANGE_K: [f64; 2] = [200.0, 600.0];

    /// At a temperature, K, linear in the table; outside [`Air::RANGE_K`] the values of its nearer end.
    pub fn at(temperature_k: f64) -> Air {
        let t = temperature_k.clamp(Air::RANGE_K[0], Air::RANGE_K[1]);
        let i = AIR.partition_point(|row| row[0] <= t).clamp(1, AIR.len() - 1);
        let (a, b) = (&AIR[i - 1], &AIR[i]);
        let s = (t - a[0]) / (b[0] - a[0]);
        let value = |c: usize| a[c] + s * (b[c] - a[c]);
        Air {
            viscosity: value(1) * 1e-6,
            conductivity: value(2) * 1e-3,
            diffusivity: value(3) * 1e-6,
            prandtl: value(4),
            temperature_k: t,
        }
    }

    /// Rayleigh number of a face `length` (m) that is `rise` (K) above the air.
    pub fn rayleigh(&self, length: f64, rise: f64) -> f64 {
        GRAVITY * rise.abs() * length.powi(3) / (self.temperature_k * self.viscosity * self.diffusivity)
    }
}

/// Which set of correlations for natural convection.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Natural {
    /// Lloyd and Moran, McAdams: Incropera and DeWitt eqs 9.30-9.32.
    Textbook,
    /// Raithby and Hollands, with their thin-layer correction.
    ThinLayer,
}

/// How a face is turned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Facing {
    /// Hot and facing up, or cold and facing down.
    Up,
    /// Hot and facing down.
    Down,
    /// Upright.
    Side,
}

/// Nusselt number of natural convection; `length` of the Rayleigh number is area over perimeter for horizontal faces,
/// the height for upright ones. Ranges: textbook up 1e4 to 1e11, down 1e5 to 1e10, upright all; thin layer up 1 to 1e10,
/// down 1e3 to 1e10.
pub fn natural_nusselt(set: Natural, facing: Facing, rayleigh: f64, prandtl: f64) -> f64 {
    let ra = rayleigh.max(0.0);
    match (set, facing) {
        (_, Facing::Side) => {
            // S. W. Churchill, H. H. S. Chu, Int. J. Heat and Mass Transfer 18 (1975) 1323-1329, all Rayleigh numbers.
            let root = (1.0 + (0.492 / prandtl).powf(9.0 / 16.0)).powf(8.0 / 27.0);
            (0.825 + 0.387 * ra.powf(1.0 / 6.0) / root).powi(2)
        }
        (Natural::Textbook, Facing::Up) if ra > 1e7 => 0.15 * ra.cbrt(),
        (Natural::Textbook, Facing::Up) => 0.54 * ra.powf(0.25),
        (Natural::Textbook, Facing::Down) => 0.27 * ra.powf(0.25),
        (Natural::ThinLayer, Facing::Up) => {
            let c = 4.0 / 3.0 * 0.503 / (1.0 + (0.492 / prandtl).powf(9.0 / 16.0)).powf(4.0 / 9.0);
            let laminar = thickened(1.4, 0.835 * c * ra.powf(0.25));
            let turbulent = 0.14 * (1.0 + 0.0107 * prandtl) / (1.0 + 0.01 * prandtl) * ra.cbrt();
            (laminar.powi(10) + turbulent.powi(10)).powf(0.1)
        }
        (Natural::ThinLayer, Facing::Down) => {
            let thin = 0.527 * ra.powf(0.2) / (1.0 + (1.9 / prandtl).powf(0.9)).powf(2.0 / 9.0);
            thickened(2.5, thin)
        }
    }
}

/// `c / ln(1 + c / Nu)`: a boundary layer that is not thin against the face; grows to `Nu` for large `Nu`.
fn thickened(c: f64, thin: f64) -> f64 {
    if thin < 1e-12 { c / (1.0 + c / 1e-12).ln() } else { c / (c / thin).ln_1p() }
}

/// Laminar upright face with the textbook's older form, valid below a Rayleigh number of 1e9 (Churchill and Chu 1975).
pub fn upright_laminar_nusselt(rayleigh: f64, prandtl: f64) -> f64 {
    0.68 + 0.670 * rayleigh.powf(0.25) / (1.0 + (0.492 / prandtl).powf(9.0 / 16.0)).powf(4.0 / 9.0)
}

/// Mean Nusselt number of flow along a plate: `0.664 Re^(1/2) Pr^(1/3)` below a Reynolds number of 5e5 (E. Pohlhausen
/// 1921), `(0.037 Re^(4/5) - 871) Pr^(1/3)` above to 1e8 (Incropera and DeWitt eq. 7.38).
pub fn forced_nusselt(reynolds: f64, prandtl: f64) -> f64 {
    let re = reynolds.max(0.0);
    if re < 5e5 {
        0.664 * re.sqrt() * prandtl.cbrt()
    } else {
        (0.037 * re.powf(0.8) - 871.0) * prandtl.cbrt()
    }
}

/// Forced and natural convection together: `(Nf^n + Nn^n)^(1/n)`, assisting; n 3, for flow across a horizontal face 7/2
/// (S. W. Churchill, AIChE J. 23 (1977) 10-16).
pub fn mixed(forced: f64, natural: f64, exponent: f64) -> f64 {
    (forced.powf(exponent) + natural.powf(exponent)).powf(1.0 / exponent)
}

/// Forced against natural convection: `|Nf^n - Nn^n|^(1/n)` (Churchill 1977).
pub fn mixed_opposing(forced: f64, natural: f64, exponent: f64) -> f64 {
    (forced.powf(exponent) - natural.powf(exponent)).abs().powf(1.0 / exponent)
}

/// Film of radiation between a face and large surroundings, W/(m2 K): `e s (T^2 + Ta^2)(T + Ta)`, temperatures K.
pub fn radiation(emissivity: f64, face_k: f64, around_k: f64) -> f64 {
    emissivity * STEFAN_BOLTZMANN * (face_k * face_k + around_k * around_k) * (face_k + around_k)
}

/// A face in air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirFace {
    /// How it is turned when hotter than the air.
    pub facing: Facing,
    /// Length of natural convection, m.
    pub natural_length_m: f64,
    /// Length along the flow, m.
    pub flow_length_m: f64,
    /// Velocity of the air, m/s; zero in still air.
    pub speed_m_s: f64,
    /// Set of correlations.
    pub set: Natural,
}

impl AirFace {
    /// Film by convection, W/(m2 K), face and air in K.
    pub fn convection(&self, face_k: f64, air_k: f64) -> f64 {
        let air = Air::at((face_k + air_k) / 2.0);
        let facing = match self.facing {
            Facing::Side => Facing::Side,
            Facing::Up if face_k >= air_k => Facing::Up,
            Facing::Down if face_k < air_k => Facing::Up,
            _ => Facing::Down,
        };
        let rayleigh = air.rayleigh(self.natural_length_m, face_k - air_k);
        let natural = natural_nusselt(self.set, facing, rayleigh, air.prandtl) * air.conductivity
            / self.natural_length_m;
        if self.speed_m_s <= 0.0 {
            return natural;
        }
        let reynolds = self.speed_m_s * self.flow_length_m / air.viscosity;
        let forced = forced_nusselt(reynolds, air.prandtl) * air.conductivity / self.flow_length_m;
        mixed(forced, natural, if facing == Facing::Side { 3.0 } else { 3.5 })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn films_are_positive_and_grow_with_rise_and_speed(
            air in 230.0..380.0_f64, rise in 0.0..150.0_f64, length in 0.002..0.1_f64, speed in 0.0..6.0_f64,
        ) {
            for set in [Natural::Textbook, Natural::ThinLayer] {
                for facing in [Facing::Up, Facing::Down, Facing::Side] {
                    let face = AirFace { facing, natural_length_m: length, flow_length_m: 4.0 * length, speed_m_s: speed, set };
                    let film = face.convection(air + rise, air);
                    prop_assert!(film.is_finite() && film >= 0.0);
                    let faster = AirFace { speed_m_s: speed + 0.5, ..face };
                    prop_assert!(faster.convection(air + rise, air) > film);
                }
            }
            prop_assert!(radiation(0.9, air + rise + 1.0, air) > radiation(0.9, air + rise, air));
        }
    }

    #[test]
    fn both_sets_agree_within_a_quarter_at_the_size_of_a_board() {
        let air = Air::at(313.15);
        let ra = air.rayleigh(0.0269, 40.0);
        let up =
            [Natural::Textbook, Natural::ThinLayer].map(|s| natural_nusselt(s, Facing::Up, ra, air.prandtl));
        assert!((up[0] / up[1] - 1.0).abs() < 0.25, "{up:?}");
        let down = [Natural::Textbook, Natural::ThinLayer]
            .map(|s| natural_nusselt(s, Facing::Down, ra, air.prandtl));
        assert!((down[0] / down[1] - 1.0).abs() < 0.35, "{down:?}");
    }
}
