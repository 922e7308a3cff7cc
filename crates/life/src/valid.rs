//! What the study refuses: numbers that are not finite or not physical, joints that would melt, tests without a life.

use crate::problem::{
    Alloy, Attachment, Currents, Cycle, LifeTest, Mission, Moisture, Plate, Problem, Qualification,
};
use crate::table::fault;
use facedown_evidence::input::{Missing, OutOfRange, within};

/// Why a problem cannot be solved.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// A number outside what is physical.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// Something is not there.
    #[error(transparent)]
    Missing(#[from] Missing),
    /// A property over temperature that cannot be read.
    #[error("{what} {fault}: give it in rising temperature, {allowed}")]
    Table {
        /// What, in words.
        what: String,
        /// What is wrong with it.
        fault: String,
        /// What is allowed, with unit.
        allowed: &'static str,
    },
    /// A cycle melts the solder.
    #[error(
        "cycle {cycle} reaches {high:.1} K and the solder of the {joints} melts at {solidus:.1} K: a joint that melts \
         does not tire; take reflows out of the mission, or name the right alloy"
    )]
    Melts {
        /// The cycle.
        cycle: String,
        /// `bumps` or `balls`.
        joints: &'static str,
        /// Its highest temperature, K.
        high: f64,
        /// Where the solder begins to melt, K.
        solidus: f64,
    },
    /// No qualification can be planned.
    #[error(transparent)]
    Plan(#[from] crate::plan::Fault),
}

type Checked = Result<(), Refusal>;
type Ranged = Result<(), OutOfRange>;

fn length(what: impl Into<String>, value: f64) -> Ranged {
    within(what, value, 1e-9, 1.0, "a length from 1 nm to 1 m")
}

fn temperature(what: impl Into<String>, value: f64) -> Ranged {
    within(what, value, 50.0, 1000.0, "a temperature from 50 K to 1000 K")
}

fn time(what: impl Into<String>, value: f64) -> Ranged {
    within(what, value, 0.0, 1e11, "a time from 0 to 1e11 s")
}

/// A share with both ends excluded.
fn share(what: impl Into<String>, value: f64) -> Ranged {
    if value > 0.0 && value < 1.0 {
        Ok(())
    } else {
        Err(OutOfRange::new(what, value, "a share between 0 and 1, both excluded"))
    }
}

fn expansion(what: String, table: &[(f64, f64)]) -> Checked {
    if table.is_empty() {
        return Err(Missing::new(what, "give the expansion at one temperature at least").into());
    }
    match fault(table, -1e-3, 1e-2) {
        Some(fault) => Err(Refusal::Table { what, fault, allowed: "from -1000 to 10000 ppm/K" }),
        None => Ok(()),
    }
}

fn modulus(what: String, table: &[(f64, f64)]) -> Checked {
    if table.is_empty() {
        return Err(Missing::new(what, "give the Young modulus at one temperature at least").into());
    }
    match fault(table, 1e3, 1e13) {
        Some(fault) => Err(Refusal::Table { what, fault, allowed: "from 1 kPa to 10 TPa" }),
        None => Ok(()),
    }
}

fn poisson(what: String, value: f64) -> Ranged {
    within(what, value, 0.0, 0.4999, "from 0 to 0.4999")
}

fn plate(what: &str, plate: &Plate, filled: bool) -> Checked {
    expansion(format!("the expansion of {what}"), &plate.expansion)?;
    if filled {
        modulus(format!("the modulus of {what}"), &plate.modulus)?;
        poisson(format!("the Poisson ratio of {what}"), plate.poisson)?;
        length(format!("the thickness of {what}"), plate.thickness)?;
    }
    Ok(())
}

fn attachment(joints: &'static str, a: &Attachment) -> Checked {
    if a.places.is_empty() {
        return Err(Missing::new(format!("the places of the {joints}"), "give one at least").into());
    }
    for place in &a.places {
        let what = format!("the distance of {} of the {joints} from the neutral point", place.name);
        within(what, place.distance, 0.0, 1.0, "from 0 to 1 m")?;
        let what = format!("the number of {joints} at {}", place.name);
        within(what, place.count as f64, 1.0, 1e9, "from 1 to 1e9")?;
    }
    length(format!("the gap of the {joints}"), a.gap)?;
    length(format!("the height of solder in the {joints}"), a.solder_height)?;
    if a.solder_height > a.gap * (1.0 + 1e-9) {
        let what = format!("the height of solder in the {joints}");
        return Err(OutOfRange::new(what, a.solder_height, "no more than the gap").into());
    }
    length(format!("the interface diameter of the {joints}"), a.interface_diameter)?;
    let small = "from -1000 to 10000 ppm/K";
    within(format!("the expansion of the solder of the {joints}"), a.solder_expansion, -1e-3, 1e-2, small)?;
    within(format!("the expansion of the pillars of the {joints}"), a.pillar_expansion, -1e-3, 1e-2, small)?;
    let filled = a.underfill.is_some();
    plate(&format!("the part above the {joints}"), &a.upper, filled)?;
    plate(&format!("the part below the {joints}"), &a.lower, filled)?;
    if let Some(shadow) = &a.shadow {
        within(
            format!("the reach of what lies above the {joints}"),
            shadow.reach,
            0.0,
            1.0,
            "from 0 to 1 m",
        )?;
        expansion(format!("the expansion of what lies above the {joints}"), &shadow.expansion)?;
        for limit in &shadow.limits {
            let what = format!("the expansion of what lies above the {joints}, {}", limit.name);
            expansion(what, &limit.expansion)?;
        }
    }
    if let Some(u) = &a.underfill {
        modulus(format!("the modulus of the underfill of the {joints}"), &u.modulus)?;
        poisson(format!("the Poisson ratio of the underfill of the {joints}"), u.poisson)?;
        expansion(format!("the expansion of the underfill of the {joints}"), &u.expansion)?;
        if let Some(glass) = u.glass_transition {
            temperature(format!("the glass transition of the underfill of the {joints}"), glass)?;
        }
    }
    within(format!("the strain factor of the {joints}"), a.strain_factor, 0.01, 100.0, "from 0.01 to 100")?;
    for stiffness in [a.stiffness, a.normal_stiffness].into_iter().flatten() {
        let what = format!("the stiffness of the parts at one of the {joints}");
        within(what, stiffness, 1e-3, 1e15, "from 0.001 to 1e15 N/m")?;
    }
    if filled {
        let what = format!("the distance from the farthest of the {joints} to the edge of the bond");
        within(what, a.edge_margin, 0.0, 1.0, "from 0 to 1 m")?;
        let what = format!("the share of the area that the {joints} cover");
        within(what, a.joint_share, 0.0, 1.0, "a share from 0 to 1")?;
        let what = format!("the modulus of the pillars of the {joints}");
        within(what, a.pillar_modulus, 1e3, 1e13, "from 1 kPa to 10 TPa")?;
    }
    Ok(within(format!("the Weibull shape of the {joints}"), a.weibull_shape, 0.1, 50.0, "from 0.1 to 50")?)
}

fn cycle(c: &Cycle) -> Checked {
    temperature(format!("the lowest temperature of cycle {}", c.name), c.low)?;
    temperature(format!("the highest temperature of cycle {}", c.name), c.high)?;
    if c.high < c.low {
        let what = format!("the highest temperature of cycle {}", c.name);
        return Err(OutOfRange::new(what, c.high, "no lower than the lowest, in K").into());
    }
    if let Some((low, high)) = c.lower_part {
        temperature(format!("the lower part's temperature at the cold end of cycle {}", c.name), low)?;
        temperature(format!("the lower part's temperature at the hot end of cycle {}", c.name), high)?;
    }
    within(format!("the count of cycle {}", c.name), c.count, 0.0, 1e12, "from 0 to 1e12")?;
    c.dwell.map_or(Ok(()), |t| time(format!("the dwell of cycle {}", c.name), t))?;
    Ok(c.ramp.map_or(Ok(()), |t| time(format!("the ramp of cycle {}", c.name), t))?)
}

fn mission(m: &Mission) -> Checked {
    within("the service life", m.life, 1.0, 1e11, "from 1 s to 1e11 s")?;
    within("the powered share of the life", m.powered, 0.0, 1.0, "a share from 0 to 1")?;
    share("the share of packages that may fail", m.failed)?;
    m.cycles.iter().try_for_each(cycle)?;
    if let Some(h) = &m.history {
        if h.points.len() < 2 {
            let what = format!("the course of history {}", h.name);
            return Err(Missing::new(what, "give two points at least").into());
        }
        for &(t, k) in &h.points {
            within(format!("a time of history {}", h.name), t, -1e11, 1e11, "within 1e11 s")?;
            temperature(format!("a temperature of history {}", h.name), k)?;
        }
        if let Some(pair) = h.points.windows(2).find(|p| p[1].0 < p[0].0) {
            let what = format!("a time of history {}", h.name);
            return Err(OutOfRange::new(what, pair[1].0, "no earlier than the one before").into());
        }
        within(format!("the repeats of history {}", h.name), h.repeats, 0.0, 1e12, "from 0 to 1e12")?;
        within(format!("the gate of history {}", h.name), h.gate, 0.0, 1000.0, "from 0 to 1000 K")?;
    }
    m.powered_temperature.map_or(Ok(()), |t| temperature("the temperature with power on", t))?;
    m.ambient_temperature.map_or(Ok(()), |t| temperature("the ambient temperature", t))?;
    let humidity = |h| within("the ambient humidity", h, 0.0, 1.0, "a share from 0 to 1");
    Ok(m.ambient_humidity.map_or(Ok(()), humidity)?)
}

fn currents(c: &Currents) -> Checked {
    if c.carriers.is_empty() {
        return Err(Missing::new("the joints that carry current", "give one at least").into());
    }
    for one in &c.carriers {
        within(format!("the current of {}", one.name), one.current, -1e4, 1e4, "within 10 kA")?;
        temperature(format!("the temperature of {}", one.name), one.temperature)?;
        within(format!("the number of {}", one.name), one.count as f64, 1.0, 1e9, "from 1 to 1e9")?;
    }
    length("the opening through which current enters the solder", c.opening)?;
    within("the resistance that heats a joint", c.resistance, 0.0, 1e6, "from 0 to 1 Mohm")?;
    within("the thermal resistance of a joint", c.thermal_resistance, 0.0, 1e9, "from 0 to 1e9 K/W")?;
    if let Some(feed) = &c.feed {
        within("the sheet resistance of the feed", feed.sheet_resistance, 1e-9, 1e9, "from 1e-9 to 1e9 ohm")?;
        let what = "the resistance through the metallisation";
        within(what, feed.vertical_resistance, 1e-25, 1.0, "from 1e-25 to 1 ohm m2")?;
    }
    for k in &c.kinetics {
        within(format!("the exponent of {}", k.name), k.exponent, 0.0, 50.0, "from 0 to 50")?;
        within(
            format!("the activation energy of {}", k.name),
            k.activation_ev,
            0.0,
            10.0,
            "from 0 to 10 eV",
        )?;
        let what = format!("the reference density of {}", k.name);
        within(what, k.reference_density, 1.0, 1e16, "from 1 to 1e16 A/m2")?;
        temperature(format!("the reference temperature of {}", k.name), k.reference_temperature)?;
        within(
            format!("the reference life of {}", k.name),
            k.reference_life,
            1e-3,
            1e15,
            "from 0.001 to 1e15 s",
        )?;
        within(format!("the deviation of {}", k.name), k.log_deviation, 1e-3, 20.0, "from 0.001 to 20")?;
        let crowding = format!("the crowding in the measurement of {}", k.name);
        k.reference_crowding.map_or(Ok(()), |c| within(crowding, c, 1.0, 1e6, "from 1 to 1e6"))?;
    }
    Ok(())
}

fn moisture(m: &Moisture) -> Ranged {
    length("the thickness of the moist body", m.thickness)?;
    within("the diffusivity of moisture", m.diffusivity, 1e-25, 1.0, "from 1e-25 to 1 m2/s")?;
    temperature("the temperature of the diffusivity", m.diffusivity_temperature)?;
    within("the activation energy of the diffusivity", m.activation_energy, 0.0, 10.0, "from 0 to 10 eV")?;
    temperature("the temperature of the floor", m.floor_temperature)?;
    temperature("the temperature of the bake", m.bake_temperature)
}

fn qualification(q: &Qualification) -> Ranged {
    within("the cycles per day of the chamber", q.cycles_per_day, 1e-3, 1e5, "from 0.001 to 100000")?;
    share("the confidence of the demonstration", q.confidence)?;
    temperature("the temperature of the storage test", q.storage_temperature)
}

fn test(t: &LifeTest) -> Checked {
    temperature("the lowest temperature of the finished test", t.low)?;
    temperature("the highest temperature of the finished test", t.high)?;
    if t.high <= t.low {
        let what = "the highest temperature of the finished test";
        return Err(OutOfRange::new(what, t.high, "above the lowest, in K").into());
    }
    within("the cycles per day of the finished test", t.cycles_per_day, 1e-3, 1e5, "from 0.001 to 100000")?;
    if t.failures.is_empty() && t.running.is_empty() {
        let what = "the packages of the finished test";
        return Err(Missing::new(what, "give the cycles of failed or of running packages").into());
    }
    let mut lives = t.failures.iter().chain(&t.running);
    let life = |&n: &f64| within("a life of the finished test", n, 1e-6, 1e12, "from 1e-6 to 1e12 cycles");
    Ok(lives.try_for_each(life)?)
}

/// Where an alloy begins to melt, K: 183 degC for tin-lead, 217 degC for tin-silver-copper (eutectics, handbook values).
pub fn solidus(alloy: Alloy) -> f64 {
    match alloy {
        Alloy::TinLead => 456.15,
        Alloy::TinSilverCopper => 490.15,
    }
}

/// Checks that no cycle of a mission melts a joint.
pub(crate) fn solid(joints: &'static str, alloy: Alloy, cycles: &[Cycle]) -> Checked {
    let solidus = solidus(alloy);
    match cycles.iter().find(|c| c.high >= solidus) {
        Some(c) => Err(Refusal::Melts { cycle: c.name.clone(), joints, high: c.high, solidus }),
        None => Ok(()),
    }
}

/// Checks a whole problem.
pub(crate) fn check(p: &Problem) -> Checked {
    if let Some(a) = &p.bumps {
        attachment("bumps", a)?;
    }
    if let Some(a) = &p.balls {
        attachment("balls", a)?;
    }
    mission(&p.mission)?;
    p.currents.iter().try_for_each(currents)?;
    p.moisture.iter().try_for_each(moisture)?;
    qualification(&p.qualification)?;
    p.test.iter().try_for_each(test)
}
