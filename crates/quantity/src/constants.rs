//! Physical constants and the exact factors between units that rest on them.
//!
//! The SI of 2019 fixes these by definition (BIPM, The International System of Units, 9th edition, 2019,
//! section 2.2; the same numbers in Tiesinga et al., CODATA recommended values 2018, Rev. Mod. Phys. 93, 025010,
//! 2021).

/// Boltzmann constant in J/K, exact.
pub const BOLTZMANN: f64 = 1.380_649e-23;
/// Elementary charge in C, exact; also one electronvolt in J.
pub const ELEMENTARY_CHARGE: f64 = 1.602_176_634e-19;
/// Avogadro constant in 1/mol, exact.
pub const AVOGADRO: f64 = 6.022_140_76e23;
/// Molar gas constant in J/(mol K): the product of the exact Avogadro and Boltzmann constants.
pub const GAS: f64 = 8.314_462_618_153_24;
/// Boltzmann constant in eV/K: the quotient of the exact constants.
pub const BOLTZMANN_EV: f64 = BOLTZMANN / ELEMENTARY_CHARGE;
/// Zero of the Celsius scale in K, exact.
pub const ZERO_CELSIUS: f64 = 273.15;
/// Standard acceleration of free fall in m/s2, exact by convention (3rd CGPM, 1901).
pub const STANDARD_GRAVITY: f64 = 9.806_65;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn derived_constants_agree_with_the_codata_2018_table() {
        // CODATA 2018 table: k = 8.617333262...e-5 eV/K, R = 8.314462618... J/(mol K), kT at 300 K = 25.852 meV.
        assert!((BOLTZMANN_EV - 8.617_333_262e-5).abs() < 5e-15);
        assert!((GAS - AVOGADRO * BOLTZMANN).abs() < 1e-14);
        assert!((BOLTZMANN_EV * 300.0 - 0.025_851_999_786).abs() < 1e-12);
    }
}
