//! How long storage and humidity tests must run to stand for the service life.
//!
//! Dry storage ages by Arrhenius, humid storage by the power law of relative humidity (see [`crate::acceleration`]).
//! While the part is on, its surroundings are warmer and therefore drier at the same vapour pressure. Activation energies
//! differ from mechanism to mechanism: every set is run and the longest test counts.

use crate::acceleration::{HUMIDITY, HUMIDITY_RANGE, arrhenius};
use crate::problem::Mission;

/// A test chamber.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chamber {
    /// Standard with its condition.
    pub standard: &'static str,
    /// In words.
    pub test: &'static str,
    /// Temperature, K.
    pub temperature: f64,
    /// Relative humidity, 0 to 1; none when dry.
    pub humidity: Option<f64>,
    /// Usual duration, s.
    pub usual: f64,
}

const HOUR: f64 = 3600.0;

/// High-temperature storage at 150 degC (JESD22-A103, condition B).
pub const STORAGE: Chamber = Chamber {
    standard: "JESD22-A103",
    test: "high-temperature storage",
    temperature: 423.15,
    humidity: None,
    usual: 1000.0 * HOUR,
};

/// Steady humidity with bias at 85 degC and 85 % (JESD22-A101).
pub const DAMP_HEAT: Chamber = Chamber {
    standard: "JESD22-A101",
    test: "temperature, humidity and bias",
    temperature: 358.15,
    humidity: Some(0.85),
    usual: 1000.0 * HOUR,
};

/// Highly accelerated with bias at 130 degC and 85 % (JESD22-A110).
pub const PRESSURE_BIASED: Chamber = Chamber {
    standard: "JESD22-A110",
    test: "highly accelerated temperature and humidity with bias",
    temperature: 403.15,
    humidity: Some(0.85),
    usual: 96.0 * HOUR,
};

/// Highly accelerated with bias at 110 degC and 85 % (JESD22-A110), for bodies that 130 degC would change.
pub const PRESSURE_BIASED_110: Chamber = Chamber {
    standard: "JESD22-A110",
    test: "highly accelerated temperature and humidity with bias",
    temperature: 383.15,
    humidity: Some(0.85),
    usual: 264.0 * HOUR,
};

/// Highly accelerated without bias at 130 degC and 85 % (JESD22-A118).
pub const PRESSURE: Chamber = Chamber {
    standard: "JESD22-A118",
    test: "highly accelerated temperature and humidity without bias",
    temperature: 403.15,
    humidity: Some(0.85),
    usual: 96.0 * HOUR,
};

/// Highly accelerated without bias at 110 degC and 85 % (JESD22-A118), for bodies that 130 degC would change.
pub const PRESSURE_110: Chamber =
    Chamber { standard: PRESSURE.standard, test: PRESSURE.test, ..PRESSURE_BIASED_110 };

/// Activation energies of dry ageing that are run, eV, with their source.
pub const DRY: [(&str, f64); 2] = [
    ("0.7 eV, the value of the worked example in AEC-Q100 appendix 7 (from memory)", 0.7),
    ("0.6 eV, low end for compounds of tin with copper and nickel (common practice, no source)", 0.6),
];

/// A time in the test that stands for the service, by one set of constants.
#[derive(Debug, Clone, PartialEq)]
pub struct Needed {
    /// Set with its source.
    pub set: &'static str,
    /// Time in the test, s.
    pub time: f64,
}

/// Saturation pressure of water over water, Pa, at a temperature in K (O. A. Alduchov and R. E. Eskridge, J. Appl.
/// Meteorol. 35 (1996) 601, eq. 21; made for -40 to 50 degC, 3 % high at 100 degC).
pub fn saturation_pressure(temperature: f64) -> f64 {
    let celsius = temperature - 273.15;
    610.94 * (17.625 * celsius / (celsius + 243.04)).exp()
}

/// Relative humidity beside a part at `temperature` when the air far away has `humidity` at `ambient` (K).
pub fn humidity_at(humidity: f64, ambient: f64, temperature: f64) -> f64 {
    humidity * saturation_pressure(ambient) / saturation_pressure(temperature)
}

/// Times at which the part is on and off, s, with the temperature in each (K). A temperature that is not known
/// is taken from the other state; nothing where neither is.
fn states(mission: &Mission) -> Option<[(f64, f64); 2]> {
    let on = mission.powered_temperature.or(mission.ambient_temperature)?;
    let off = mission.ambient_temperature.or(mission.powered_temperature)?;
    Some([(mission.life * mission.powered, on), (mission.life * (1.0 - mission.powered), off)])
}

/// Times in a dry test at `temperature` (K) that stand for the service; nothing where the mission has no temperature.
pub fn dry(mission: &Mission, temperature: f64) -> Option<Vec<Needed>> {
    let states = states(mission)?;
    let needed = |ev: f64| states.iter().map(|&(time, at)| time / arrhenius(ev, at, temperature)).sum();
    Some(DRY.iter().map(|&(set, ev)| Needed { set, time: needed(ev) }).collect())
}

/// Times in a humid chamber that stand for the service; nothing where the chamber is dry or the mission has no ambient
/// temperature and humidity.
pub fn humid(mission: &Mission, chamber: &Chamber) -> Option<Vec<Needed>> {
    let test = (chamber.temperature, chamber.humidity?);
    let (ambient, humidity) = (mission.ambient_temperature?, mission.ambient_humidity?);
    if humidity <= 0.0 {
        return Some(HUMIDITY.iter().map(|set| Needed { set: set.name, time: 0.0 }).collect());
    }
    let states = states(mission)?;
    let needed = |set: &crate::acceleration::Humidity| {
        states
            .iter()
            .map(|&(time, at)| time / set.factor((at, humidity_at(humidity, ambient, at).min(1.0)), test))
            .sum()
    };
    Some(HUMIDITY.iter().map(|set| Needed { set: set.name, time: needed(set) }).collect())
}

/// Relative humidities of the service that lie outside those that the constants were fitted in, as a clause; nothing
/// where none does, or where the mission has no ambient temperature and humidity.
pub fn beyond_fit(mission: &Mission) -> Option<String> {
    let (ambient, humidity) = (mission.ambient_temperature?, mission.ambient_humidity?);
    let [least, most] = HUMIDITY_RANGE;
    let states = states(mission)?.into_iter().zip(["on", "off"]);
    let clauses: Vec<String> = states
        .filter(|((time, _), _)| *time > 0.0 && humidity > 0.0)
        .map(|((_, at), power)| (humidity_at(humidity, ambient, at).min(1.0), power))
        .filter(|(beside, _)| *beside < least || *beside > most)
        .map(|(beside, power)| {
            format!("{:.1} % relative humidity beside the part with power {power}", 100.0 * beside)
        })
        .collect();
    (!clauses.is_empty()).then(|| {
        format!(
            "{} lies outside the {:.0} to {:.0} % that the constants were fitted in (from memory), so that their law is \
             stretched",
            clauses.join(" and "),
            100.0 * least,
            100.0 * most
        )
    })
}

/// Shortest and longest of several times, s; nothing for none.
pub fn span(needed: &[Needed]) -> Option<(f64, f64)> {
    let low = needed.iter().map(|n| n.time).min_by(f64::total_cmp)?;
    let high = needed.iter().map(|n| n.time).max_by(f64::total_cmp)?;
    Some((low, high))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mission() -> Mission {
        Mission {
            life: 10.0 * 365.25 * 86_400.0,
            powered: 0.5,
            failed: 0.001,
            cycles: Vec::new(),
            history: None,
            powered_temperature: Some(358.15),
            ambient_temperature: Some(303.15),
            ambient_humidity: Some(0.6),
        }
    }

    #[test]
    fn a_part_that_is_on_is_drier() {
        let there = humidity_at(0.6, 303.15, 358.15);
        // Steam tables: 4246 Pa at 30 degC, 57.87 kPa at 85 degC.
        assert!((there - 0.6 * 4246.0 / 57_870.0).abs() < 0.02 * there, "{there}");
        let off = humid(&Mission { powered: 0.0, ..mission() }, &DAMP_HEAT).unwrap();
        let half = humid(&mission(), &DAMP_HEAT).unwrap();
        assert!(half.iter().zip(&off).all(|(h, o)| h.time < o.time));
    }

    #[test]
    fn hotter_chambers_are_shorter() {
        for (slow, fast) in [(&DAMP_HEAT, &PRESSURE_BIASED_110), (&PRESSURE_BIASED_110, &PRESSURE_BIASED)] {
            let (a, b) = (humid(&mission(), slow).unwrap(), humid(&mission(), fast).unwrap());
            assert!(a.iter().zip(&b).all(|(a, b)| b.time < a.time));
        }
        let (a, b) = (dry(&mission(), 398.15).unwrap(), dry(&mission(), 423.15).unwrap());
        assert!(a.iter().zip(&b).all(|(a, b)| b.time < a.time));
        let (low, high) = span(&b).unwrap();
        assert!(low < high);
    }

    #[test]
    fn what_is_not_known_gives_nothing() {
        assert_eq!(humid(&Mission { ambient_humidity: None, ..mission() }, &DAMP_HEAT), None);
        assert_eq!(humid(&mission(), &STORAGE), None);
        let unknown = Mission { ambient_temperature: None, powered_temperature: None, ..mission() };
        assert_eq!(dry(&unknown, 423.15), None);
        // At 85 degC air of 30 degC and 60 % has some 4 %; only a state that lasts counts.
        let beyond = beyond_fit(&mission()).unwrap();
        assert!(beyond.starts_with("4.3 % relative humidity beside the part with power on"), "{beyond}");
        assert!(!beyond.contains("power off"), "{beyond}");
        assert_eq!(beyond_fit(&Mission { powered: 0.0, ..mission() }), None);
        let dry_air = humid(&Mission { ambient_humidity: Some(0.0), ..mission() }, &DAMP_HEAT).unwrap();
        assert!(dry_air.iter().all(|n| n.time == 0.0));
        assert_eq!(span(&[]), None);
    }
}
