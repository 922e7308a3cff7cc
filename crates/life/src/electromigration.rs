//! Life of joints under direct current.
//!
//! J. R. Black, Electromigration: a brief survey and some recent results, IEEE Trans. Electron Devices ED-16 (1969) 338:
//! the median life goes as `j^-n exp(E / kT)`. Here it starts from one measured life ([`Kinetics`]), with the mean current
//! density over the opening, the temperature of the joint with its own heat ([`own_heat`]), and the crowding of the
//! current where the trace enters ([`crowding`]). Lives scatter lognormally; a package fails with its first joint, so the
//! survivals of all carriers multiply ([`life`]). No credit is taken for a threshold of the current, which some contacts
//! have and others have not. Published constants disagree: all sets are run and their spread is the answer.

use crate::acceleration::BOLTZMANN_EV;
use crate::outcome::CurrentLife;
use crate::problem::{Alloy, Currents, Feed};
use crate::valid::solidus;
use facedown_field::{NoConvergence, distribution, root};
use serde::{Deserialize, Serialize};

/// Constants of Black's law for one joint, with the measured life that they start from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Kinetics {
    /// Name with source.
    pub name: String,
    /// Exponent of the current density.
    pub exponent: f64,
    /// Activation energy, eV.
    pub activation_ev: f64,
    /// Mean current density of the measured life, A/m2.
    pub reference_density: f64,
    /// Temperature of the joint in that measurement, K.
    pub reference_temperature: f64,
    /// Median life there, s.
    pub reference_life: f64,
    /// Standard deviation of the logarithm of the life.
    pub log_deviation: f64,
    /// Crowding in that measurement, highest over mean density where the current enters; left out where it is not
    /// known, and crowding then plays no part in the life.
    #[serde(default)]
    pub reference_crowding: Option<f64>,
}

/// Why no life under current can be stated.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Fault {
    /// Nothing flows.
    #[error("no joint carries current while the part is powered, so that electromigration sets no limit")]
    NoCurrent,
    /// The part is never on.
    #[error("the part is never powered: give the share of its life with power on")]
    NeverPowered,
    /// The joint heats itself without end.
    #[error(
        "{joint} runs away: {current:.3} A heat it faster than {thermal_resistance:.0} K/W let the heat out; the limit is {limit:.3} A. Share the current among more joints, widen the trace or cool it"
    )]
    Runaway {
        /// Name of the joint.
        joint: String,
        /// Its current, A.
        current: f64,
        /// Thermal resistance to its surroundings, K/W.
        thermal_resistance: f64,
        /// Current at which the balance ends, A.
        limit: f64,
    },
    /// The solder melts.
    #[error(
        "{joint} would reach {temperature:.0} K with its own heat, above the solidus of its solder at {solidus:.0} K: share the current among more joints or cool it"
    )]
    Melts {
        /// Name of the joint.
        joint: String,
        /// Its temperature, K.
        temperature: f64,
        /// Solidus, K.
        solidus: f64,
    },
    /// The share of failed packages is none.
    #[error("the share of failed packages is {0}; it must lie between 0 and 1, both excluded")]
    Share(f64),
    /// The numerics gave no number.
    #[error("the life under current did not converge: {0}")]
    Numerics(#[from] NoConvergence),
}

/// Published constants for an alloy, all from memory of the named sources. A lognormal deviation of 0.5 is common practice
/// without a source. Both sets of tin-lead take their slopes from Brandenburg and Yeh and differ in the life from which
/// they start: the one that Choi, Yeh and Tu calculated for their joints, and the one that they measured at their lowest
/// current. Those of tin-silver-copper are the ends of the range of slopes that conference papers from 2005 to 2015
/// report, started from one measured life. The chamber is taken as the temperature of the tested joint: its own heat,
/// which is not known, would make the lives at service temperatures longer.
///
/// They do not cover all that was measured: C. Basaran, S. Li, D. C. Hopkins and W. Yao, ITherm 2012, p. 518, found 0.77 eV
/// and an exponent of 8.6 for tin-silver-copper-nickel between 83 and 174 degC (abstract read), and hold that Black's
/// exponents do not fit solder. Measured constants of the user's own joints should take their place.
pub fn published(alloy: Alloy) -> Vec<Kinetics> {
    let set = |name: &str, exponent, activation_ev, density_a_cm2: f64, hours: f64| Kinetics {
        name: name.into(),
        exponent,
        activation_ev,
        reference_density: density_a_cm2 * 1e4,
        reference_temperature: 398.15,
        reference_life: hours * 3600.0,
        log_deviation: 0.5,
        reference_crowding: Some(10.0),
    };
    match alloy {
        Alloy::TinLead => vec![
            set(
                "Brandenburg and Yeh, SMI 1998, with the life that Choi, Yeh and Tu, J. Appl. Phys. 94 (2003) 5665, calculate from it (from memory)",
                1.8,
                0.8,
                1.9e4,
                108.0,
            ),
            set(
                "Brandenburg and Yeh, SMI 1998, from the life measured by Choi, Yeh and Tu, J. Appl. Phys. 94 (2003) 5665 (from memory)",
                1.8,
                0.8,
                1.9e4,
                573.0,
            ),
        ],
        Alloy::TinSilverCopper => vec![
            set(
                "low end of published slopes, from a life measured by Choi, Yeh and Tu, J. Appl. Phys. 94 (2003) 5665 (from memory, low confidence)",
                1.5,
                0.8,
                2.25e4,
                580.0,
            ),
            set(
                "high end of published slopes, from a life measured by Choi, Yeh and Tu, J. Appl. Phys. 94 (2003) 5665 (from memory, low confidence)",
                2.0,
                1.1,
                2.25e4,
                580.0,
            ),
        ],
    }
}

impl Kinetics {
    /// Median life, s, at the mean density (A/m2, above zero) and the temperature of the joint (K).
    pub fn median_life(&self, density: f64, temperature: f64) -> f64 {
        let heat = self.activation_ev / BOLTZMANN_EV * (1.0 / temperature - 1.0 / self.reference_temperature);
        self.reference_life * (density / self.reference_density).powf(-self.exponent) * heat.exp()
    }

    /// How much the density counts for more than in the measurement because the current crowds more (W. J. Choi, E. C. C.
    /// Yeh and K. N. Tu, J. Appl. Phys. 94 (2003) 5665: `(c j)^-n`). Never below 1: less crowding than in the measurement
    /// has not been shown to help by this law.
    pub fn crowding_over_reference(&self, crowding: Option<f64>) -> f64 {
        match (crowding, self.reference_crowding) {
            (Some(here), Some(there)) if here > there => here / there,
            _ => 1.0,
        }
    }
}

/// Highest over mean density where a trace feeds an opening of `length` (m) along the current: `x coth x` with `x =
/// length / sqrt(vertical / sheet)` (H. H. Berger, Solid-State Electronics 15 (1972) 145). One-dimensional: a check and a
/// ranking, not the peak at a corner.
pub fn crowding(feed: &Feed, length: f64) -> f64 {
    let x = length / (feed.vertical_resistance / feed.sheet_resistance).sqrt();
    if x < 1e-4 { 1.0 + x * x / 3.0 } else { x / x.tanh() }
}

/// Temperature, K, at which the resistance of copper extrapolates to zero (-234.5 degC, IEC 60028).
const ZERO_RESISTANCE: f64 = 38.65;

/// Temperature (K) of a joint with its own heat: `current` (A) through `resistance` (ohm, at the temperature of the
/// `surroundings`, K) that grows with temperature as copper does, `thermal_resistance` (K/W) to the surroundings.
///
/// `T - T0 = I2 R0 theta (T - Tz) / (T0 - Tz)` is linear, so that the fixed point is exact. At
/// `I2 R0 theta >= T0 - Tz` every kelvin adds more heat than leaves and there is none.
///
/// # Errors
/// The limiting current, A, where the joint runs away.
pub fn own_heat(
    current: f64,
    resistance: f64,
    thermal_resistance: f64,
    surroundings: f64,
) -> Result<f64, f64> {
    let over_zero = surroundings - ZERO_RESISTANCE;
    let rise = current * current * resistance * thermal_resistance;
    if rise >= over_zero {
        return Err((over_zero / (resistance * thermal_resistance)).sqrt());
    }
    Ok(surroundings + rise / (1.0 - rise / over_zero))
}

/// A joint under current.
#[derive(Debug, Clone, PartialEq)]
pub struct Loaded {
    /// Name of the carrier.
    pub name: String,
    /// Number of such joints.
    pub count: f64,
    /// Mean density over the opening, A/m2.
    pub density: f64,
    /// Temperature with its own heat, K.
    pub temperature: f64,
}

/// The carriers that carry current, with density and temperature.
///
/// # Errors
/// [`Fault::NoCurrent`], [`Fault::Runaway`], [`Fault::Melts`].
pub fn loaded(currents: &Currents) -> Result<Vec<Loaded>, Fault> {
    let area = 0.25 * std::f64::consts::PI * currents.opening * currents.opening;
    let solidus = solidus(currents.alloy);
    let mut found = Vec::new();
    for carrier in currents.carriers.iter().filter(|c| c.count > 0 && c.current != 0.0) {
        let temperature =
            own_heat(carrier.current, currents.resistance, currents.thermal_resistance, carrier.temperature)
                .map_err(|limit| Fault::Runaway {
                    joint: carrier.name.clone(),
                    current: carrier.current.abs(),
                    thermal_resistance: currents.thermal_resistance,
                    limit,
                })?;
        if temperature >= solidus {
            return Err(Fault::Melts { joint: carrier.name.clone(), temperature, solidus });
        }
        found.push(Loaded {
            name: carrier.name.clone(),
            count: carrier.count as f64,
            density: carrier.current.abs() / area,
            temperature,
        });
    }
    if found.is_empty() { Err(Fault::NoCurrent) } else { Ok(found) }
}

/// Logarithm of the share that survives `z` standard deviations.
fn log_survival(z: f64) -> f64 {
    if z > 30.0 {
        // Further out the tail itself falls below the smallest number; its logarithm by the asymptotic series (Abramowitz
        // and Stegun 1964, 26.2.12), good to 1e-5 here and better beyond.
        return -0.5 * z * z - z.ln() - 0.918_938_533_204_672_7 - 1.0 / (z * z);
    }
    if z > 0.0 {
        distribution::normal_probability(-z).ln()
    } else {
        (-distribution::normal_probability(z)).ln_1p()
    }
}

/// Life at which the share `failed` of arrays has failed, from (median life, number of joints) and one lognormal
/// `deviation`: `1 - product of (1 - Phi(ln(t / median) / deviation))^number`.
///
/// # Errors
/// [`Fault::Share`], [`Fault::NoCurrent`] for no joints, [`Fault::Numerics`].
pub fn array_life(medians: &[(f64, f64)], deviation: f64, failed: f64) -> Result<f64, Fault> {
    if !(failed > 0.0 && failed < 1.0) {
        return Err(Fault::Share(failed));
    }
    let goal = (-failed).ln_1p();
    let kinds = medians.len() as f64;
    let shortest = medians.iter().map(|m| m.0.ln()).min_by(f64::total_cmp).ok_or(Fault::NoCurrent)?;
    let ends = |share: f64| {
        medians
            .iter()
            .map(|(median, count)| {
                let one = -(goal / (share * count)).exp_m1();
                let z = distribution::normal_quantile(one).unwrap_or(f64::NAN);
                median.ln() + deviation * z - shortest
            })
            .fold(f64::INFINITY, f64::min)
    };
    let over = |x: f64| {
        medians.iter().map(|(m, n)| n * log_survival((x + shortest - m.ln()) / deviation)).sum::<f64>() - goal
    };
    // The quantiles are good to many digits but not to the last.
    let slack = 1e-3 * deviation;
    let x = root::bracketed(over, ends(kinds) - slack, ends(1.0) + slack, 1e-13)?;
    Ok((x + shortest).exp())
}

/// Life of the whole array by one set of constants: to the share `failed` of packages (0 to 1, both excluded), for parts
/// that are on for the share `powered` of the time.
///
/// # Errors
/// Any [`Fault`].
pub fn life(
    currents: &Currents,
    kinetics: &Kinetics,
    failed: f64,
    powered: f64,
) -> Result<CurrentLife, Fault> {
    if powered.is_nan() || powered <= 0.0 {
        return Err(Fault::NeverPowered);
    }
    let crowd = currents.feed.map(|feed| crowding(&feed, currents.opening));
    let factor = kinetics.crowding_over_reference(crowd);
    let medians: Vec<(f64, f64)> = loaded(currents)?
        .iter()
        .map(|joint| (kinetics.median_life(joint.density * factor, joint.temperature), joint.count))
        .collect();
    let powered_time_s = array_life(&medians, kinetics.log_deviation, failed)?;
    Ok(CurrentLife {
        kinetics: kinetics.name.clone(),
        powered_time_s,
        calendar_time_s: powered_time_s / powered,
        worst_median_s: medians.iter().map(|m| m.0).fold(f64::INFINITY, f64::min),
    })
}

/// The constants to run: those of the problem, or the published ones of the alloy where it gives none.
pub fn sets(currents: &Currents) -> Vec<Kinetics> {
    if currents.kinetics.is_empty() { published(currents.alloy) } else { currents.kinetics.clone() }
}

/// Life by every set of constants.
///
/// # Errors
/// Any [`Fault`].
pub fn lives(currents: &Currents, failed: f64, powered: f64) -> Result<Vec<CurrentLife>, Fault> {
    sets(currents).iter().map(|set| life(currents, set, failed, powered)).collect()
}

/// Why the law does not hold for a joint, if so. Above about 2e4 A/cm2 its own heat and crowding raise the measured
/// exponent far above 2 (W. J. Choi, E. C. C. Yeh and K. N. Tu 2003, from memory).
pub fn outside(joint: &Loaded) -> Option<String> {
    (joint.density > 2e8).then(|| {
        format!(
            "{} carries {:.0} A/cm2; above 20000 A/cm2 lives fall faster than the law says.",
            joint.name,
            joint.density * 1e-4
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::problem::Carrier;
    use proptest::prelude::*;

    fn currents(amperes: f64, count: u64) -> Currents {
        Currents {
            carriers: vec![Carrier { name: "VDD".into(), current: amperes, temperature: 373.15, count }],
            opening: 80e-6,
            resistance: 0.02,
            thermal_resistance: 100.0,
            feed: None,
            kinetics: Vec::new(),
            alloy: Alloy::TinSilverCopper,
        }
    }

    #[test]
    fn runaway_and_melting_are_said() {
        let hot = Currents { thermal_resistance: 2000.0, ..currents(3.0, 4) };
        let text = lives(&hot, 0.001, 1.0).unwrap_err().to_string();
        assert!(text.contains("VDD runs away") && text.contains("2.892 A"), "{text}");
        assert!(matches!(
            lives(&Currents { thermal_resistance: 700.0, ..hot }, 0.001, 1.0),
            Err(Fault::Melts { .. })
        ));
        assert_eq!(lives(&currents(0.0, 4), 0.001, 1.0), Err(Fault::NoCurrent));
        assert_eq!(lives(&currents(0.1, 0), 0.001, 1.0), Err(Fault::NoCurrent));
        assert_eq!(lives(&currents(0.1, 1), 0.001, 0.0), Err(Fault::NeverPowered));
        assert_eq!(lives(&currents(0.1, 1), 1.0, 0.5), Err(Fault::Share(1.0)));
    }

    #[test]
    fn half_the_time_powered_doubles_the_calendar_life() {
        let all = lives(&currents(0.2, 100), 0.001, 1.0).unwrap();
        let half = lives(&currents(-0.2, 100), 0.001, 0.5).unwrap();
        assert_eq!(all.len(), 2);
        for (a, b) in all.iter().zip(&half) {
            assert!((b.calendar_time_s / a.calendar_time_s - 2.0).abs() < 1e-12);
            assert!(a.powered_time_s < a.worst_median_s);
        }
    }

    #[test]
    fn crowding_counts_only_beyond_the_measurement() {
        let set = &published(Alloy::TinLead)[0];
        assert_eq!(set.crowding_over_reference(Some(5.0)), 1.0);
        assert_eq!(set.crowding_over_reference(Some(20.0)), 2.0);
        assert_eq!(set.crowding_over_reference(None), 1.0);
        let feed = Feed { sheet_resistance: 1e-9, vertical_resistance: 1e-8 };
        assert!((crowding(&feed, 1e-4) - 1.0).abs() < 1e-6);
    }

    #[test]
    fn the_heat_balance_closes() {
        let (current, ohm, theta, around) = (1.5, 0.03, 500.0, 353.15);
        let t = own_heat(current, ohm, theta, around).unwrap();
        let there = ohm * (t - ZERO_RESISTANCE) / (around - ZERO_RESISTANCE);
        assert!((t - around - current * current * there * theta).abs() < 1e-9);
    }

    #[test]
    fn the_tail_goes_on() {
        // Logarithm of the survival at 30 and 50 by scipy 1.17.
        for (z, expected) in
            [(29.999, -454.291_211_196), (30.001, -454.351_277_715), (50.0, -1_254.831_361_139)]
        {
            assert!((log_survival(z) - expected).abs() < 1e-5, "{z}");
        }
    }

    proptest! {
        #[test]
        fn alike_joints_follow_the_closed_form(median in 1e3..1e9_f64, n in 1..100_000u64, sigma in 0.05..1.5_f64, p in 1e-5..0.9_f64) {
            let found = array_life(&[(median, n as f64)], sigma, p).unwrap();
            let one = distribution::normal_probability((found / median).ln() / sigma);
            let all = -(n as f64 * (-one).ln_1p()).exp_m1();
            prop_assert!((all / p - 1.0).abs() < 1e-6, "{all} {p}");
            let split = array_life(&[(median, 0.5 * n as f64), (median, 0.5 * n as f64)], sigma, p).unwrap();
            prop_assert!((split / found - 1.0).abs() < 1e-9);
        }

        #[test]
        fn more_current_or_heat_never_lengthens_life(a in 0.01..0.5_f64, more in 1.0..2.0_f64, kelvin in 0.0..40.0_f64) {
            let mild = lives(&currents(a, 50), 0.001, 1.0).unwrap();
            let mut harder = currents(a * more, 50);
            harder.carriers[0].temperature += kelvin;
            for (m, h) in mild.iter().zip(lives(&harder, 0.001, 1.0).unwrap()) {
                prop_assert!(h.powered_time_s <= m.powered_time_s * (1.0 + 1e-9));
            }
        }
    }
}
