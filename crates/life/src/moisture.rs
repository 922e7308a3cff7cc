//! Moisture in a plastic body: its level, how it goes in, how long a bake takes.
//!
//! Levels, floor lives and soaks are those of IPC/JEDEC J-STD-020 (numbers from memory), bakes those of IPC/JEDEC J-STD-033.
//! In between lies diffusion through a plane sheet (J. Crank, The Mathematics of Diffusion, 2nd ed. 1975, eq. 4.18 and
//! its short-time form 4.20) with a diffusivity that follows Arrhenius. Uptake and drying are shares of what the body
//! holds in the end at the humidity that it stands in.

use crate::acceleration::arrhenius;
use crate::problem::{Level, Moisture};
use facedown_field::{NoConvergence, root};
use std::f64::consts::PI;

/// How long parts of a level may lie open.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FloorLife {
    /// Without end at up to 30 degC and 85 %.
    Unlimited,
    /// This long, s, at up to 30 degC and 60 %.
    Limited(f64),
    /// The time on the label, after a bake.
    OnLabel,
}

/// A soak before reflow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Soak {
    /// Time, s; zero for level 6, whose label gives it.
    pub time: f64,
    /// Temperature, K.
    pub temperature: f64,
    /// Relative humidity, 0 to 1.
    pub humidity: f64,
}

const HOUR: f64 = 3600.0;

/// Floor life of a level (J-STD-020).
pub fn floor_life(level: Level) -> FloorLife {
    match level {
        Level::L1 => FloorLife::Unlimited,
        Level::L2 => FloorLife::Limited(365.0 * 24.0 * HOUR),
        Level::L2a => FloorLife::Limited(672.0 * HOUR),
        Level::L3 => FloorLife::Limited(168.0 * HOUR),
        Level::L4 => FloorLife::Limited(72.0 * HOUR),
        Level::L5 => FloorLife::Limited(48.0 * HOUR),
        Level::L5a => FloorLife::Limited(24.0 * HOUR),
        Level::L6 => FloorLife::OnLabel,
    }
}

/// Standard soak of a level (J-STD-020). Levels 2a to 5a soak for their floor life and 24 h of the maker's handling.
pub fn soak(level: Level) -> Soak {
    let at = |hours: f64, celsius: f64, humidity: f64| Soak {
        time: hours * HOUR,
        temperature: celsius + 273.15,
        humidity,
    };
    match level {
        Level::L1 => at(168.0, 85.0, 0.85),
        Level::L2 => at(168.0, 85.0, 0.60),
        Level::L2a => at(696.0, 30.0, 0.60),
        Level::L3 => at(192.0, 30.0, 0.60),
        Level::L4 => at(96.0, 30.0, 0.60),
        Level::L5 => at(72.0, 30.0, 0.60),
        Level::L5a => at(48.0, 30.0, 0.60),
        Level::L6 => at(0.0, 30.0, 0.60),
    }
}

/// Accelerated soak at 60 degC and 60 %, s, for the levels that have one (J-STD-020; for bodies whose diffusion has 0.40
/// to 0.48 eV).
pub fn accelerated_soak(level: Level) -> Option<Soak> {
    let hours = match level {
        Level::L2a => 120.0,
        Level::L3 => 40.0,
        Level::L4 => 20.0,
        Level::L5 => 15.0,
        Level::L5a => 10.0,
        Level::L1 | Level::L2 | Level::L6 => return None,
    };
    Some(Soak { time: hours * HOUR, temperature: 333.15, humidity: 0.60 })
}

/// Name of a level as the standard writes it.
pub fn name(level: Level) -> &'static str {
    match level {
        Level::L1 => "1",
        Level::L2 => "2",
        Level::L2a => "2a",
        Level::L3 => "3",
        Level::L4 => "4",
        Level::L5 => "5",
        Level::L5a => "5a",
        Level::L6 => "6",
    }
}

/// Share of the final uptake of a sheet of thickness l, entered from both faces, after `Dt/l2`.
pub fn uptake(dimensionless_time: f64) -> f64 {
    let t = dimensionless_time;
    if t <= 0.0 {
        return 0.0;
    }
    if t < 0.01 {
        // The faces do not yet feel each other; what is left out is below 1e-11.
        return 4.0 * (t / PI).sqrt();
    }
    let rest: f64 = (0..12)
        .map(|n| {
            let odd = f64::from(2 * n + 1);
            (-(odd * PI).powi(2) * t).exp() / (odd * odd)
        })
        .sum();
    1.0 - 8.0 / (PI * PI) * rest
}

/// Concentration over that of the faces at the middle of the sheet (at the closed face of a sheet entered from one).
pub fn middle(dimensionless_time: f64) -> f64 {
    let t = dimensionless_time;
    if t < 1e-3 {
        // Less than 1e-30.
        return 0.0;
    }
    let rest: f64 = (0..60)
        .map(|n| {
            let odd = f64::from(2 * n + 1);
            let term = (-(odd * PI).powi(2) * t).exp() / odd;
            if n % 2 == 0 { term } else { -term }
        })
        .sum();
    (1.0 - 4.0 / PI * rest).max(0.0)
}

/// `Dt/l2` at which the uptake reaches `share` (0 to 1, both excluded).
///
/// # Errors
/// [`NoConvergence::NotBracketed`] for another share.
pub fn time_to(share: f64) -> Result<f64, NoConvergence> {
    if !(share > 0.0 && share < 1.0) {
        return Err(NoConvergence::NotBracketed);
    }
    // Where the root of the time or a single term is the whole sum, no iteration is needed.
    let short = PI * share * share / 16.0;
    if short < 0.0099 {
        return Ok(short);
    }
    let long = (8.0 / (PI * PI * (1.0 - share))).ln() / (PI * PI);
    if long > 0.5 {
        return Ok(long);
    }
    root::bracketed(|t| uptake(t) - share, 0.005, 1.0, 1e-13)
}

impl Moisture {
    /// Diffusivity at a temperature (K), m2/s.
    pub fn diffusivity_at(&self, temperature: f64) -> f64 {
        self.diffusivity * arrhenius(self.activation_energy, self.diffusivity_temperature, temperature)
    }

    /// `Dt/l2` of the sheet that this body is: its thickness, or twice that where moisture enters from one face.
    fn dimensionless(&self, time: f64, temperature: f64) -> f64 {
        let path = if self.both_faces { self.thickness } else { 2.0 * self.thickness };
        self.diffusivity_at(temperature) * time / (path * path)
    }

    /// Share of saturation after lying `time` (s) at `temperature` (K), dry at first.
    pub fn wet_share(&self, time: f64, temperature: f64) -> f64 {
        uptake(self.dimensionless(time, temperature))
    }

    /// Concentration at the place that moisture reaches last over that of the faces, after `time` (s) at `temperature` (K).
    pub fn wet_inside(&self, time: f64, temperature: f64) -> f64 {
        middle(self.dimensionless(time, temperature))
    }

    /// Time, s, until the share of saturation is reached from dry, at `temperature` (K); also the time until a body wet
    /// throughout has given off that share. A body that is wet near its faces only dries faster.
    ///
    /// # Errors
    /// [`NoConvergence::NotBracketed`] for a share outside 0 to 1, both excluded.
    pub fn time_to_share(&self, share: f64, temperature: f64) -> Result<f64, NoConvergence> {
        Ok(time_to(share)? / self.dimensionless(1.0, temperature))
    }

    /// Bake, s, at the problem's bake temperature that leaves the share `residue` of a full saturation.
    ///
    /// # Errors
    /// [`NoConvergence::NotBracketed`] for a residue outside 0 to 1, both excluded.
    pub fn bake_time(&self, residue: f64) -> Result<f64, NoConvergence> {
        self.time_to_share(1.0 - residue, self.bake_temperature)
    }

    /// Share of saturation at the end of the floor life on the problem's floor; nothing for levels without a set floor life.
    pub fn wet_at_floor_life(&self) -> Option<f64> {
        match floor_life(self.level) {
            FloorLife::Limited(time) => Some(self.wet_share(time, self.floor_temperature)),
            FloorLife::Unlimited | FloorLife::OnLabel => None,
        }
    }
}

/// A bake of IPC/JEDEC J-STD-033 at the user, for a body that is saturated at 30 degC and 85 %.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandardBake {
    /// Time at 125 degC, s.
    pub at_125: f64,
    /// Time at 90 degC and at most 5 %, s.
    pub at_90: f64,
    /// Time at 40 degC and at most 5 %, s.
    pub at_40: f64,
}

/// The bake of IPC/JEDEC J-STD-033 by level and thickness (m) of the body; nothing for levels 1, 2 and 6 and for bodies
/// above 2 mm, whose rows were not read, and for level 5a above 1.4 mm.
pub fn standard_bake(level: Level, thickness: f64) -> Option<StandardBake> {
    let [h125, h90, h40] = match (level, thickness) {
        (_, t) if !(t > 0.0 && t <= 2.0e-3) => return None,
        (Level::L2a, t) if t <= 1.4e-3 => [5.0, 17.0, 192.0],
        (Level::L3, t) if t <= 1.4e-3 => [9.0, 33.0, 312.0],
        (Level::L4, t) if t <= 1.4e-3 => [11.0, 37.0, 360.0],
        (Level::L5, t) if t <= 1.4e-3 => [12.0, 41.0, 408.0],
        (Level::L5a, t) if t <= 1.4e-3 => [16.0, 54.0, 528.0],
        (Level::L2a, _) => [21.0, 72.0, 696.0],
        (Level::L3, _) => [27.0, 96.0, 888.0],
        (Level::L4, _) => [34.0, 120.0, 1128.0],
        (Level::L5, _) => [40.0, 144.0, 1368.0],
        _ => return None,
    };
    Some(StandardBake { at_125: h125 * HOUR, at_90: h90 * HOUR, at_40: h40 * HOUR })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn soaks_are_floor_life_and_a_day() {
        for level in [Level::L2a, Level::L3, Level::L4, Level::L5, Level::L5a] {
            let FloorLife::Limited(time) = floor_life(level) else { panic!("{level:?}") };
            assert_eq!(soak(level).time, time + 24.0 * HOUR, "{level:?}");
            assert!(accelerated_soak(level).unwrap().time < soak(level).time);
        }
        assert_eq!(floor_life(Level::L1), FloorLife::Unlimited);
        assert_eq!(accelerated_soak(Level::L6), None);
    }

    #[test]
    fn short_and_long_times_meet() {
        assert!((uptake(0.01 - 1e-15) - uptake(0.01)).abs() < 1e-10);
        assert!(uptake(50.0) == 1.0 && uptake(0.0) == 0.0);
        for share in [0.01, 0.39, 0.398, 0.4, 0.5, 0.9, 0.994, 0.9999] {
            assert!((uptake(time_to(share).unwrap()) - share).abs() < 1e-11, "{share}");
        }
        assert!(time_to(1.0).is_err() && time_to(f64::NAN).is_err());
    }

    fn body() -> Moisture {
        Moisture {
            level: Level::L3,
            thickness: 0.8e-3,
            both_faces: false,
            diffusivity: 3e-13,
            diffusivity_temperature: 303.15,
            activation_energy: 0.45,
            floor_temperature: 303.15,
            bake_temperature: 398.15,
        }
    }

    #[test]
    fn one_face_takes_four_times_as_long() {
        let one = body();
        let both = Moisture { both_faces: true, ..body() };
        let ratio = one.bake_time(0.1).unwrap() / both.bake_time(0.1).unwrap();
        assert!((ratio - 4.0).abs() < 1e-9);
        assert!(one.wet_at_floor_life().unwrap() < both.wet_at_floor_life().unwrap());
        assert!(one.bake_time(0.0).is_err());
        // What the bake leaves is what was asked, and heat helps.
        let given_off = one.wet_share(one.bake_time(0.1).unwrap(), one.bake_temperature);
        assert!((given_off - 0.9).abs() < 1e-10);
        assert!(one.diffusivity_at(one.bake_temperature) > 10.0 * one.diffusivity);
    }

    #[test]
    fn standard_bakes_are_longer_for_thicker_and_wetter_bodies() {
        let levels = [Level::L2a, Level::L3, Level::L4, Level::L5];
        for pair in levels.windows(2) {
            for thickness in [1e-3, 1.8e-3] {
                let (a, b) =
                    (standard_bake(pair[0], thickness).unwrap(), standard_bake(pair[1], thickness).unwrap());
                assert!(a.at_125 < b.at_125 && a.at_90 < b.at_90 && a.at_40 < b.at_40);
            }
            let thick = standard_bake(pair[0], 1.8e-3).unwrap();
            assert!(standard_bake(pair[0], 1e-3).unwrap().at_125 < thick.at_125);
        }
        assert_eq!(standard_bake(Level::L3, 3e-3), None);
    }

    proptest! {
        #[test]
        fn uptake_rises_and_the_inside_lags(a in 1e-5..2.0_f64, more in 1.0..5.0_f64) {
            prop_assert!(uptake(a) <= uptake(a * more) && uptake(a * more) <= 1.0);
            prop_assert!(middle(a) <= uptake(a) + 1e-12);
            prop_assert!(middle(a) <= middle(a * more) + 1e-12);
        }

        #[test]
        fn times_invert(share in 1e-4..0.9999_f64, kelvin in 290.0..430.0_f64) {
            let body = body();
            let time = body.time_to_share(share, kelvin).unwrap();
            prop_assert!((body.wet_share(time, kelvin) - share).abs() < 1e-10);
        }
    }
}
