//! What input is allowed.

use crate::problem::Problem;
use crate::solve::Refusal;

/// Checks every number of a problem.
///
/// # Errors
/// [`Refusal::NotPhysical`] for the first number that cannot be, [`Refusal::BumpsTouch`].
pub(crate) fn check(p: &Problem) -> Result<(), Refusal> {
    let positive =
        |what: &str, value: f64| within(what, value, f64::MIN_POSITIVE, f64::MAX, "a number above zero");
    let not_negative = |what: &str, value: f64| within(what, value, 0.0, f64::MAX, "zero or more");
    let angle = |what: &str, value: f64| {
        within(what, value, 0.0, std::f64::consts::PI, "0 to pi rad (0 deg to 180 deg)")
    };
    let kelvin = |what: &str, value: f64| within(what, value, 150.0, 1000.0, "150 K to 1000 K");
    let length = |what: &str, value: f64| within(what, value, 1e-9, 1.0, "1 nm to 1 m");

    length("the die's width", p.die.width_m)?;
    length("the die's height", p.die.height_m)?;
    length("the die's thickness", p.die.thickness_m)?;
    length("the gap", p.gap_m)?;
    if let Some(b) = &p.bumps {
        length("the pitch of the bumps", b.pitch_m)?;
        length("the diameter of the bumps", b.diameter_m)?;
        length("the covered width", b.covered_width_m)?;
        length("the covered height", b.covered_height_m)?;
        positive("the regularity of the bumps", b.regularity)?;
        within("the number of bumps", b.count as f64, 1.0, 1e9, "1 or more")?;
        if b.diameter_m >= b.pitch_m {
            return Err(Refusal::BumpsTouch { diameter_um: b.diameter_m * 1e6, pitch_um: b.pitch_m * 1e6 });
        }
    }
    let l = &p.liquid;
    within("the surface tension", l.surface_tension_n_m, 1e-4, 2.0, "0.1 mN/m to 2 N/m")?;
    if let Some(share) = l.dispersive_share {
        within("the dispersive share", share, 0.0, 1.0, "0 to 1")?;
    }
    if let Some(a) = l.contact_angle_rad {
        angle("the material's contact angle", a)?;
    }
    if l.viscosity.is_empty() {
        return Err(refuse("the number of viscosities", 0.0, "one or more"));
    }
    for (i, (t, mu)) in l.viscosity.iter().enumerate() {
        kelvin("a temperature of the viscosity", *t)?;
        within("the viscosity", *mu, 1e-6, 1e9, "1e-6 Pa s to 1e9 Pa s")?;
        if i > 0 && *t <= l.viscosity[i - 1].0 {
            return Err(refuse("a temperature of the viscosity", *t, "more than the one before"));
        }
    }
    if let Some(e) = l.activation_j_mol {
        within("the activation energy of the viscosity", e, 0.0, 5e5, "0 to 500 kJ/mol")?;
    }
    if let Some(t) = l.thinning {
        within("the index of the power law", t.index, 0.1, 3.0, "0.1 to 3")?;
        within("the shear rate of the viscosity", t.rate_per_s, 1e-4, 1e6, "1e-4 to 1e6 per s")?;
    }
    if let Some(c) = l.chemoviscosity {
        within("the first exponent of the viscosity's growth", c.c1, 0.0, 100.0, "0 to 100")?;
        within("the second exponent of the viscosity's growth", c.c2, 0.0, 100.0, "0 to 100")?;
    }
    if let Some(k) = l.kinetics {
        not_negative("the first factor of the cure", k.a1_per_s)?;
        not_negative("the second factor of the cure", k.a2_per_s)?;
        within("the first activation energy of the cure", k.e1_j_mol, 0.0, 1e6, "0 to 1000 kJ/mol")?;
        within("the second activation energy of the cure", k.e2_j_mol, 0.0, 1e6, "0 to 1000 kJ/mol")?;
        within("the order m of the cure", k.m, 0.0, 10.0, "0 to 10")?;
        within("the order n of the cure", k.n, 0.1, 10.0, "0.1 to 10")?;
        within("the degree of cure at gel", k.gel, 0.01, 0.99, "0.01 to 0.99")?;
        within("the degree of cure as delivered", k.start, 0.0, 0.98 * k.gel, "0 to 98 % of that at gel")?;
    }
    if let Some(t) = l.glass_transition_k {
        kelvin("the glass transition", t)?;
    }
    if let Some(d) = l.filler_largest_m {
        not_negative("the diameter of the filler", d)?;
    }
    for (what, stated) in [
        ("the angle on the die", p.angle_die),
        ("the angle on the substrate", p.angle_substrate),
        ("the angle on the bumps", p.angle_bump),
    ] {
        if let Some(a) = stated {
            angle(what, a.angle_rad)?;
            not_negative("the spread of an angle", a.spread_rad)?;
        }
    }
    for r in &p.readings {
        angle("an angle that was read", r.angle_rad)?;
        not_negative("the spread of a reading", r.spread_rad)?;
        not_negative("the dose before a reading", r.dose_j)?;
        not_negative("the age of a reading", r.age_s)?;
        positive("the dispersive part of a probe liquid", r.liquid.dispersive_n_m)?;
        not_negative("the polar part of a probe liquid", r.liquid.polar_n_m)?;
    }
    for d in &p.drops {
        not_negative("the spread of a drop", d.spread_rad)?;
        not_negative("the dose before a drop was read", d.dose_j)?;
        not_negative("the age of a drop", d.age_s)?;
        if let crate::Measured::Angle(a) = d.how {
            angle("the angle of a drop", a)?;
        }
        for place in d.place_m.iter().flatten() {
            within("the place of a drop", *place, -10.0, 10.0, "within 10 m")?;
        }
    }
    if let Some(plasma) = p.plasma {
        not_negative("the power of the plasma", plasma.power_w)?;
        not_negative("the time of the plasma", plasma.time_s)?;
    }
    not_negative("the queue time", p.queue_s)?;
    if let Some((t, time)) = p.bake {
        kelvin("the temperature of the bake", t)?;
        not_negative("the time of the bake", time)?;
    }
    let d = &p.dispense;
    kelvin("the flow temperature", d.temperature_k)?;
    if let Some((from, rate)) = d.heating {
        kelvin("the temperature before heating", from)?;
        positive("the heating rate", rate)?;
        if from > d.temperature_k {
            return Err(refuse("the temperature before heating", from, "the flow temperature or less"));
        }
    }
    within("the number of passes", f64::from(d.passes), 1.0, 1000.0, "1 to 1000")?;
    within("the time between passes", d.wait_s, 0.0, 1e6, "0 to 1e6 s")?;
    if let Some(offset) = d.offset_m {
        length("the offset of the line", offset)?;
    }
    if let Some(v) = d.volume_m3 {
        within("the dispensed volume", v, 1e-18, 1.0, "a volume above zero")?;
    }
    if let Some(f) = p.fillet {
        length("the height of the fillet", f.height_m)?;
        length("the width of the fillet", f.width_m)?;
    }
    for step in &p.cure {
        kelvin("the temperature of a cure step", step.temperature_k)?;
        within("the hold of a cure step", step.hold_s, 0.0, 1e7, "0 to 1e7 s")?;
        within("the ramp of a cure step", step.ramp_s, 0.0, 1e7, "0 to 1e7 s")?;
    }
    for r in &p.residues {
        angle("the angle on residue", r.angle_rad)?;
        within("the share that residue covers", r.cover, 0.0, 1.0, "0 to 1")?;
        match &r.extent {
            crate::Extent::Shape(shape) if shape.is_finite() => {}
            crate::Extent::Shape(_) => return Err(refuse("a place of residue", f64::NAN, "a number")),
            crate::Extent::Grid { count, shares } => {
                if count[0].checked_mul(count[1]) != Some(shares.len()) || shares.is_empty() {
                    return Err(refuse(
                        "the number of cells of residue",
                        shares.len() as f64,
                        "columns times rows",
                    ));
                }
                for share in shares {
                    within("a share of residue", *share, 0.0, 1.0, "0 to 1")?;
                }
            }
        }
    }
    if let Some(left) = p.residue_left {
        within("the share of residue that plasma leaves", left, 0.0, 1.0, "0 to 1")?;
    }
    if let Some(fineness) = p.fineness {
        within("the number of cells in a pitch", fineness, 1.0, 64.0, "1 to 64")?;
    }
    within("the pressure of the air", p.ambient_pa, 0.0, 1e8, "0 to 1e8 Pa")
}

fn within(what: &str, value: f64, least: f64, most: f64, allowed: &'static str) -> Result<(), Refusal> {
    // A comparison that is false for what is not a number.
    if value >= least && value <= most { Ok(()) } else { Err(refuse(what, value, allowed)) }
}

fn refuse(what: &str, value: f64, allowed: &'static str) -> Refusal {
    Refusal::NotPhysical { what: what.into(), value, allowed }
}
