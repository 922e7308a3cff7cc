//! What the study refuses: numbers that are not finite or not physical, places outside what they lie on.

use crate::problem::{Cover, CoverKind, JointLayer, Layer, Plate, Problem, Solid, Strength, Table, Weibull};
use facedown_evidence::input::{self, Missing, OutOfRange, within};

/// Why a problem cannot be solved.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// A number outside what is physical.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// Something is not there.
    #[error(transparent)]
    Missing(#[from] Missing),
    /// A part reaches over the edge of what it lies on.
    #[error("{what} reaches over the edge of {on}: place it inside, or make {on} larger")]
    Outside {
        /// The part.
        what: String,
        /// What it lies on.
        on: String,
    },
    /// Two parts share a place.
    #[error("{first} and {second} overlap: move one of them")]
    Overlap {
        /// One part.
        first: String,
        /// The other part.
        second: String,
    },
    /// The equations have no solution in the given precision.
    #[error(
        "the plates have no solution at {temperature_k} K ({why}): check moduli and thicknesses for values far apart"
    )]
    Unsolved {
        /// Temperature, K.
        temperature_k: f64,
        /// Why.
        why: facedown_field::NoConvergence,
    },
}

type Checked = Result<(), Refusal>;
type Ranged = Result<(), OutOfRange>;

fn refuse(what: impl Into<String>, value: f64, allowed: &'static str) -> Checked {
    Err(OutOfRange::new(what, value, allowed).into())
}

fn thickness(what: impl Into<String>, value: f64) -> Ranged {
    within(what, value, 1e-9, 0.1, "from 1 nm to 100 mm")
}

fn size(what: impl Into<String>, value: f64) -> Ranged {
    within(what, value, 1e-5, 1.0, "from 10 um to 1 m")
}

fn offset(what: impl Into<String>, value: f64) -> Ranged {
    within(what, value, -1.0, 1.0, "within 1 m")
}

fn share(what: impl Into<String>, value: f64) -> Ranged {
    within(what, value, 0.0, 1.0, "a share from 0 to 1")
}

fn kelvin(what: impl Into<String>, value: f64) -> Ranged {
    within(what, value, 50.0, 1500.0, "from 50 K to 1500 K")
}

fn table(what: &str, table: &Table, range: std::ops::RangeInclusive<f64>, allowed: &'static str) -> Checked {
    input::table(what, table, range, allowed, "give the value at one temperature at least")
}

fn solid(of: &str, solid: &Solid) -> Checked {
    let name = format!("{} ({of})", solid.name);
    table(&format!("the modulus of {name}"), &solid.modulus, 1e3..=2e12, "a modulus from 1 kPa to 2 TPa")?;
    if !(-0.5..=0.4999).contains(&solid.poisson) {
        return refuse(format!("Poisson's ratio of {name}"), solid.poisson, "from -0.5 to 0.4999");
    }
    table(
        &format!("the expansion of {name}"),
        &solid.expansion,
        -1e-4..=2e-3,
        "from -100 to 2000 ppm/K; give it in 1/K",
    )
}

fn layer(of: &str, layer: &Layer) -> Checked {
    let name = format!("layer {} of {of}", layer.name);
    thickness(format!("the thickness of {name}"), layer.thickness_m)?;
    solid(&name, &layer.solid)?;
    if let Some(metal) = &layer.metal {
        share(format!("the metal share of {name}"), metal.share)?;
        solid(&name, &metal.solid)?;
    }
    Ok(())
}

fn plate(of: &str, plate: &Plate) -> Checked {
    size(format!("the width of {of}"), plate.width_m)?;
    size(format!("the height of {of}"), plate.height_m)?;
    if plate.layers.is_empty() {
        return Err(Missing::new(format!("the layers of {of}"), "give one layer at least").into());
    }
    plate.layers.iter().try_for_each(|l| layer(of, l))?;
    if plate.thickness_m() > plate.width_m.min(plate.height_m) {
        return refuse(
            format!("the thickness of {of}"),
            plate.thickness_m(),
            "less than its width and height, or it is no plate",
        );
    }
    Ok(())
}

fn joints(under: &str, j: &JointLayer, on: &Plate) -> Checked {
    thickness(format!("the gap under {under}"), j.gap_m)?;
    if !(1e-6..=1.0).contains(&j.share) {
        return refuse(
            format!("the area share of the joints under {under}"),
            j.share,
            "a share above zero, up to 1",
        );
    }
    solid(&format!("joints under {under}"), &j.joint)?;
    for (extent, side) in j.extent_m.into_iter().zip([on.width_m, on.height_m]) {
        if !(0.0..=side).contains(&extent) {
            return refuse(
                format!("the extent of the joints under {under}"),
                extent,
                "from zero to the size of what stands on them",
            );
        }
    }
    if let Some(underfill) = &j.underfill {
        solid(&format!("underfill of {under}"), &underfill.solid)?;
        if !(0.0..=0.1).contains(&underfill.shrinkage_after_gel) {
            return refuse(
                format!("the shrinkage of the underfill of {under}"),
                underfill.shrinkage_after_gel,
                "a share of its volume from 0 to 0.1",
            );
        }
    }
    Ok(())
}

fn weibull(what: &str, w: &Weibull) -> Checked {
    if !(1e5..=1e11).contains(&w.characteristic_pa) {
        return refuse(
            format!("the characteristic strength of {what}"),
            w.characteristic_pa,
            "from 0.1 MPa to 100 GPa",
        );
    }
    if !(0.5..=100.0).contains(&w.shape) {
        return refuse(format!("the Weibull shape of {what}"), w.shape, "from 0.5 to 100");
    }
    if !(1e-12..=10.0).contains(&w.reference) {
        return refuse(
            format!("the reference area or length of {what}"),
            w.reference,
            "from 1e-12 to 10 (m2 or m)",
        );
    }
    Ok(())
}

fn strength(of: &str, s: &Strength) -> Checked {
    s.back.iter().try_for_each(|w| weibull(&format!("the back of {of}"), w))?;
    s.edge.iter().try_for_each(|w| weibull(&format!("the edge of {of}"), w))
}

/// Whether a rectangle of that size at that place lies on one of that size around the origin, to a nanometre.
fn lies_on(at: [f64; 2], part: [f64; 2], on: [f64; 2]) -> bool {
    (0..2).all(|k| at[k].abs() + part[k] / 2.0 <= on[k] / 2.0 + 1e-9)
}

fn cover(p: &Problem, c: &Cover) -> Checked {
    let name = match c.kind {
        CoverKind::Ring => "the ring",
        CoverKind::Lid => "the lid",
    };
    size(format!("the width of {name}"), c.width_m)?;
    size(format!("the height of {name}"), c.height_m)?;
    thickness(format!("the thickness of {name}"), c.thickness_m)?;
    size(format!("the band of {name}"), c.band_m)?;
    if 2.0 * c.band_m >= c.width_m.min(c.height_m) {
        return refuse(format!("the band of {name}"), c.band_m, "less than half of its width and height");
    }
    if !(0.0..=0.1).contains(&c.foot_m) {
        return refuse(format!("the foot of {name}"), c.foot_m, "from 0 to 100 mm");
    }
    solid(name, &c.solid)?;
    layer(name, &c.adhesive)?;
    let body = [p.substrate.plate.width_m, p.substrate.plate.height_m];
    if !lies_on([0.0; 2], [c.width_m, c.height_m], body) {
        return Err(Refusal::Outside { what: name.into(), on: "the substrate".into() });
    }
    let opening = [c.width_m - 2.0 * c.band_m, c.height_m - 2.0 * c.band_m];
    let standing: Vec<(String, [f64; 2], [f64; 2])> = match &p.interposer {
        Some(i) => vec![("the interposer".into(), i.at_m, [i.plate.width_m, i.plate.height_m])],
        None => p
            .dies
            .iter()
            .map(|d| (format!("die {}", d.name), d.at_m, [d.plate.width_m, d.plate.height_m]))
            .collect(),
    };
    match standing.into_iter().find(|(_, at, size)| !lies_on(*at, *size, opening)) {
        Some((what, ..)) => Err(Refusal::Overlap { first: what, second: format!("the band of {name}") }),
        None => Ok(()),
    }
}

/// Refuses a problem that cannot be solved, before any work.
///
/// # Errors
/// [`Refusal`] for the first number that is not finite or not physical, and for parts out of place.
pub fn check(p: &Problem) -> Checked {
    plate("the substrate", &p.substrate.plate)?;
    let body = [p.substrate.plate.width_m, p.substrate.plate.height_m];
    if let Some(bow) = p.substrate.received_bow_m
        && (!bow.is_finite() || bow.abs() > 0.1 * body[0].min(body[1]))
    {
        return refuse("the received bow", bow, "within a tenth of the substrate's size");
    }
    if p.dies.is_empty() {
        return Err(Missing::new("the die", "give one die at least").into());
    }
    let (mut on, mut on_name) = (body, "the substrate");
    if let Some(i) = &p.interposer {
        plate("the interposer", &i.plate)?;
        i.at_m.iter().try_for_each(|&v| offset("the place of the interposer", v))?;
        joints("the interposer", &i.joints, &i.plate)?;
        let own = [i.plate.width_m, i.plate.height_m];
        if !lies_on(i.at_m, own, on) {
            return Err(Refusal::Outside { what: "the interposer".into(), on: on_name.into() });
        }
        (on, on_name) = (own, "the interposer");
    }
    for (k, die) in p.dies.iter().enumerate() {
        let name = format!("die {}", die.name);
        plate(&name, &die.plate)?;
        die.at_m.iter().try_for_each(|&v| offset(format!("the place of {name}"), v))?;
        joints(&name, &die.joints, &die.plate)?;
        die.interface.iter().try_for_each(|l| layer(&name, l))?;
        die.strength.iter().try_for_each(|s| strength(&name, s))?;
        let own = [die.plate.width_m, die.plate.height_m];
        if !lies_on(die.at_m, own, on) {
            return Err(Refusal::Outside { what: name, on: on_name.into() });
        }
        for other in &p.dies[..k] {
            let theirs = [other.plate.width_m, other.plate.height_m];
            if (0..2).all(|a| (die.at_m[a] - other.at_m[a]).abs() + 1e-9 < (own[a] + theirs[a]) / 2.0) {
                return Err(Refusal::Overlap { first: name, second: format!("die {}", other.name) });
            }
        }
    }
    if let Some(c) = &p.cover {
        cover(p, c)?;
    }
    if let Some(b) = &p.balls {
        size("the pitch of the balls", b.pitch_m)?;
        size("the diameter of the balls", b.diameter_m)?;
        for (extent, side) in b.extent_m.into_iter().zip(body) {
            if !(1e-6..=side).contains(&extent) {
                return refuse("the extent of the ball field", extent, "above zero, up to the substrate");
            }
        }
    }
    within("the pieces of the grid", p.resolution.pieces, 1.0, 1000.0, "from 1 to 1000")?;
    within("the interval of temperature", p.resolution.interval_k, 1.0, 1e4, "from 1 K to 10000 K")?;
    within("the rest of the energy", p.resolution.rest, 1e-14, 0.1, "a share from 1e-14 to 0.1")?;
    let t = &p.process;
    for (what, value) in [
        ("the room temperature", t.room_k),
        ("the solidus of the bumps", t.bump_solidus_k),
        ("the liquidus of the bumps", t.bump_liquidus_k),
        ("the cure of the underfill", t.underfill_cure_k),
        ("the cure of the glue", t.cover_cure_k),
        ("the solidus of the balls", t.ball_solidus_k),
        ("the liquidus of the balls", t.ball_liquidus_k),
        ("the peak of the reflow", t.reflow_peak_k),
        ("the coldest temperature", t.coldest_k),
    ] {
        kelvin(what, value)?;
    }
    share("the share that creeps away in the cure", t.crept_in_cure)?;
    for (what, value, floor, allowed) in [
        ("the solidus of the bumps", t.bump_solidus_k, t.room_k, "above room temperature"),
        ("the liquidus of the bumps", t.bump_liquidus_k, t.bump_solidus_k, "at the solidus or above"),
        ("the liquidus of the balls", t.ball_liquidus_k, t.ball_solidus_k, "at the solidus or above"),
        (
            "the peak of the reflow",
            t.reflow_peak_k,
            t.ball_liquidus_k,
            "at the liquidus of the balls or above",
        ),
        ("the room temperature", t.room_k, t.coldest_k, "at the coldest temperature or above"),
    ] {
        if value < floor {
            return refuse(what, value, allowed);
        }
    }
    Ok(())
}
