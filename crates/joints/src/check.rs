//! What a problem must keep before it is solved.

use crate::problem::{Array, GapMap, Layer, Problem, Reflow, Supply};

/// Why a problem is not solved.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// There is nothing to solve.
    #[error("the problem has neither bumps nor balls; give one array of joints at least")]
    NoJoints,
    /// An array has no joints.
    #[error("{array}: no kind of joint has a count above zero; give at least one joint")]
    EmptyArray {
        /// The array.
        array: String,
    },
    /// A number has no meaning.
    #[error("{place}: {fault}")]
    Number {
        /// Where it stands.
        place: String,
        /// What is wrong with it and what is allowed.
        fault: String,
    },
    /// Both ends of something are in the wrong order.
    #[error("{place}: {low} must lie below {high}; exchange or correct them")]
    Order {
        /// Where they stand.
        place: String,
        /// What must be lower, with its value.
        low: String,
        /// What must be higher, with its value.
        high: String,
    },
    /// Pads of neighbours overlap.
    #[error(
        "{place}: pads of {pad_um:.1} um do not fit a pitch of {pitch_um:.1} um; the wetted diameter must be smaller than the pitch"
    )]
    PadsOverlap {
        /// Where.
        place: String,
        /// Wetted diameter, um.
        pad_um: f64,
        /// Pitch, um.
        pitch_um: f64,
    },
}

/// Refuses numbers without meaning.
///
/// # Errors
/// The first [`Refusal`] met, in the order of the problem's fields.
pub fn check(problem: &Problem) -> Result<(), Refusal> {
    if problem.bumps.is_none() && problem.balls.is_none() {
        return Err(Refusal::NoJoints);
    }
    for (name, array) in [("bumps", &problem.bumps), ("balls", &problem.balls)] {
        if let Some(array) = array {
            check_array(name, array)?;
        }
    }
    if let Some(reflow) = &problem.reflow {
        check_reflow(reflow)?;
    }
    if let Some(body) = &problem.body {
        positive("body width in m", body.width)?;
        positive("body height in m", body.height)?;
        positive("body thickness in m", body.thickness)?;
    }
    for dwell in &problem.storage {
        within("storage temperature in K", dwell.temperature, 50.0, 1500.0)?;
        within("storage time in s", dwell.time, 0.0, 1e11)?;
    }
    Ok(())
}

fn number(place: &str, fault: String) -> Refusal {
    Refusal::Number { place: place.into(), fault }
}

fn positive(place: &str, value: f64) -> Result<(), Refusal> {
    if value.is_finite() && value > 0.0 {
        return Ok(());
    }
    Err(number(place, format!("{value:e} is not allowed; give a number above zero")))
}

fn within(place: &str, value: f64, low: f64, high: f64) -> Result<(), Refusal> {
    if value >= low && value <= high {
        return Ok(());
    }
    Err(number(place, format!("{value:e} is not allowed; give a number from {low:e} to {high:e}")))
}

fn check_array(name: &str, array: &Array) -> Result<(), Refusal> {
    let place = |field: &str| format!("{name}: {field}");
    let solder = &array.solder;
    within(&place("surface tension in N/m"), solder.surface_tension, 1e-3, 10.0)?;
    if let Some([low, high]) = solder.surface_tension_range {
        within(&place("least surface tension in N/m"), low, 1e-3, 10.0)?;
        within(&place("largest surface tension in N/m"), high, 1e-3, 10.0)?;
        ordered(&place("surface tension"), "its least", low, "its largest", high)?;
    }
    within(&place("density of the liquid solder in kg/m3"), solder.density_liquid, 100.0, 3e4)?;
    within(&place("solidus in K"), solder.solidus, 200.0, 2000.0)?;
    within(&place("liquidus in K"), solder.liquidus, 200.0, 2000.0)?;
    ordered(&place("melting range in K"), "the solidus", solder.solidus, "the liquidus", solder.liquidus)?;
    within(&place("pitch in m"), array.pitch, 1e-7, 1.0)?;
    within(&place("carried mass in kg"), array.carried_mass, 0.0, 100.0)?;
    within(&place("extra force in N"), array.extra_force, -1e4, 1e4)?;
    within(&place("misplacement in m"), array.misplacement, 0.0, 1.0)?;
    within(&place("height shortfall in m"), array.height_shortfall, 0.0, 1.0)?;
    check_gap(name, &array.gap_map)?;
    for layer in array.metallisation.iter().chain(&array.lower_metallisation) {
        check_layer(&place("thickness of a metallisation layer in m"), layer)?;
    }
    if let Some([low, high]) = array.consumed_per_reflow {
        within(&place("least metal per reflow in m"), low, 0.0, 1e-3)?;
        within(&place("largest metal per reflow in m"), high, 0.0, 1e-3)?;
        ordered(&place("metal per reflow"), "its least", low, "its largest", high)?;
    }
    for kind in &array.joints {
        let place = |field: &str| format!("{name} \"{}\": {field}", kind.name);
        for (field, diameter) in [("upper", kind.upper_diameter), ("lower", kind.lower_diameter)] {
            within(&place(&format!("{field} wetted diameter in m")), diameter, 1e-7, 0.1)?;
            if diameter >= array.pitch {
                return Err(Refusal::PadsOverlap {
                    place: place(&format!("{field} pad")),
                    pad_um: diameter * 1e6,
                    pitch_um: array.pitch * 1e6,
                });
            }
        }
        let supplies = || kind.upper_solder.iter().chain(&kind.lower_solder);
        if supplies().next().is_none() {
            return Err(number(&place("solder"), "there is none; give at least one supply".into()));
        }
        if let Some(fault) = supplies().find_map(Supply::fault) {
            return Err(number(&place("solder"), fault));
        }
        let aspect = supplies().map(Supply::volume).sum::<f64>()
            / (kind.upper_diameter.max(kind.lower_diameter) * 0.5).powi(3);
        within(&place("solder volume over the cube of the pad's radius"), aspect, 1e-4, 1e4)?;
        let ratio = kind.upper_diameter / kind.lower_diameter;
        within(&place("upper over lower wetted diameter"), ratio, 0.05, 20.0)?;
        within(&place("metal height of the upper pad in m"), kind.upper_metal, -0.01, 0.1)?;
        within(&place("metal height of the lower pad in m"), kind.lower_metal, -0.01, 0.1)?;
    }
    if array.joints.iter().all(|kind| kind.count == 0) {
        return Err(Refusal::EmptyArray { array: name.into() });
    }
    Ok(())
}

fn check_layer(place: &str, layer: &Layer) -> Result<(), Refusal> {
    within(place, layer.thickness, 0.0, 0.01)
}

fn check_gap(name: &str, map: &GapMap) -> Result<(), Refusal> {
    let place = |field: &str| format!("{name}: {field}");
    match map {
        GapMap::Flat => Ok(()),
        GapMap::Bow { curvature_x, curvature_y, half_width, half_height } => {
            within(&place("curvature of the gap in x in 1/m"), *curvature_x, -1e4, 1e4)?;
            within(&place("curvature of the gap in y in 1/m"), *curvature_y, -1e4, 1e4)?;
            within(&place("half width of the array in m"), *half_width, 0.0, 10.0)?;
            within(&place("half height of the array in m"), *half_height, 0.0, 10.0)
        }
        GapMap::Samples(samples) if samples.is_empty() => {
            Err(number(&place("gap map"), "it has no samples; give one at least, or none of it".into()))
        }
        GapMap::Samples(samples) => {
            samples.iter().try_for_each(|&s| within(&place("deviation of the gap in m"), s, -0.1, 0.1))
        }
    }
}

fn check_reflow(reflow: &Reflow) -> Result<(), Refusal> {
    within("reflow: start of the preheat in K", reflow.preheat_from, 250.0, 1500.0)?;
    within("reflow: end of the preheat in K", reflow.preheat_to, 250.0, 1500.0)?;
    within("reflow: peak in K", reflow.peak, 250.0, 1500.0)?;
    ordered("reflow: preheat in K", "its start", reflow.preheat_from, "its end", reflow.preheat_to)?;
    ordered("reflow: temperatures in K", "the preheat", reflow.preheat_to, "the peak", reflow.peak)?;
    within("reflow: preheat time in s", reflow.preheat_time, 0.0, 1e5)?;
    within("reflow: heating rate in K/s", reflow.ramp_up, 1e-3, 1e3)?;
    within("reflow: cooling rate in K/s", reflow.ramp_down, 1e-3, 1e3)?;
    within("reflow: time at the peak in s", reflow.hold, 0.0, 1e5)?;
    if let Some(time) = reflow.time_above_liquidus {
        within("reflow: time above liquidus in s", time, 0.0, 1e5)?;
    }
    Ok(())
}

fn ordered(place: &str, low_name: &str, low: f64, high_name: &str, high: f64) -> Result<(), Refusal> {
    if low <= high {
        return Ok(());
    }
    Err(Refusal::Order {
        place: place.into(),
        low: format!("{low_name} ({low})"),
        high: format!("{high_name} ({high})"),
    })
}
