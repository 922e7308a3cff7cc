//! What the figures say, what limits them, and what a reader must know.

use crate::problem::{Face, Lattice, Pattern};
use crate::solve::{ACTIVATION, Fill, STARTING, Work, is_sphere};
use facedown_evidence::Figure;
use std::collections::BTreeMap;

/// Water angle after plasma that is usually still accepted, rad (30 deg, common practice).
const WATER_LIMIT: f64 = 30.0 * std::f64::consts::PI / 180.0;

type Words = (Vec<Figure>, BTreeMap<String, String>, Vec<String>, Vec<String>);

/// Estimate and bound of the trapped share of the die's area; nothing where it cannot be judged.
pub(crate) fn void_share(work: &Work<'_>) -> Option<(f64, f64)> {
    let air = work.air.as_ref()?;
    (!pins(work)).then_some((air.estimate, air.bound))
}

fn pins(work: &Work<'_>) -> bool {
    work.least_pa.is_some_and(|p| p <= 0.0)
}

pub(crate) fn write(work: &Work<'_>) -> Words {
    let mut figures = Vec::new();
    let mut limits: BTreeMap<String, String> = BTreeMap::new();
    let mut notes = work.faces.notes.clone();
    surfaces(work, &mut figures, &mut limits, &mut notes);
    let outside = flow_range(work);
    flow(work, &outside, &mut figures, &mut limits, &mut notes);
    voids(work, &mut figures, &mut limits, &mut notes);
    amounts(work, &mut figures, &mut limits, &mut notes);
    cure(work, &mut figures, &mut limits, &mut notes);
    let advice = advice(work);
    // A closed form may overflow on an extreme problem; what is not a number is no figure.
    for figure in figures.iter().filter(|f| !f.value.is_finite()) {
        notes.push(format!("The figure {} is too large to be given.", figure.name));
    }
    figures.retain(|f| f.value.is_finite() && f.between.is_none_or(|b| b.iter().all(|v| v.is_finite())));
    (figures, limits, notes, advice)
}

fn surfaces(
    work: &Work<'_>,
    figures: &mut Vec<Figure>,
    limits: &mut BTreeMap<String, String>,
    notes: &mut Vec<String>,
) {
    // The last energy of the substrate is the one at dispense, where there is one.
    let substrate = work.faces.energies.iter().rfind(|e| e.face == Face::Substrate);
    if let Some(e) = substrate {
        let mut figure = Figure::hand(
            "surface_energy",
            e.total_j_m2 * 1e3,
            "mJ/m2",
            "substrate, from contact angles by the geometric mean (Owens and Wendt 1969, eq. 4)",
        );
        figure.error = Some(e.spread_j_m2 * 1e3);
        if let Some(other) = e.acid_base_total_j_m2 {
            figure = figure.between(e.total_j_m2.min(other) * 1e3, e.total_j_m2.max(other) * 1e3);
            figure
                .basis
                .push_str("; the second value by the acid-base method (van Oss, Chaudhury and Good 1988)");
        }
        figures.push(figure);
        limits.insert(
            "surface_energy".into(),
            format!(
                "{:.1} mJ/m2 of it polar, {} state",
                e.polar_j_m2 * 1e3,
                if e.state == "untreated" { "in the untreated" } else { "in the dispensing" }
            ),
        );
    }
    let flat: Vec<_> = work.faces.angles.iter().filter(|a| a.face != Face::Bump).collect();
    let mean = 0.5 * flat.iter().map(|a| a.angle_rad).sum::<f64>();
    let spread = 0.5 * flat.iter().map(|a| a.spread_rad.powi(2)).sum::<f64>().sqrt();
    let mut figure = Figure::hand(
        "contact_angle",
        mean.to_degrees(),
        "deg",
        "mean of the underfill's angles on die and substrate",
    );
    figure.error = (spread > 0.0).then_some(spread.to_degrees());
    figure.hand = substrate.map(|e| {
        let die = work.faces.angle(Face::Die);
        0.5 * (die + e.predicted_angle_rad).to_degrees()
    });
    figures.push(figure);
    let words: Vec<String> = work
        .faces
        .angles
        .iter()
        .map(|a| format!("{} {:.0} deg ({})", a.face.words(), a.angle_rad.to_degrees(), a.from))
        .collect();
    limits.insert("contact_angle".into(), words.join(", "));
    if let Some((water, ageing)) = &work.faces.water {
        figures.push(Figure::hand(
            "water_angle",
            water.to_degrees(),
            "deg",
            "water on the substrate when dispensing, first order in dose and in queue time, from the readings",
        ));
        if let Some(law) = ageing {
            match law.dose_for(WATER_LIMIT).filter(|t| *t > 0.0) {
                Some(time) => figures.push(Figure::hand(
                    "queue_limit",
                    time / 3600.0,
                    "h",
                    "time after plasma at which water reaches 30 deg (limit: common practice), first order from the readings",
                )),
                None => notes.push(format!(
                    "Water on the substrate goes from {:.0} deg to {:.0} deg as it ages: it never crosses 30 deg, so there is no queue limit.",
                    law.start_rad.to_degrees(),
                    law.end_rad.to_degrees()
                )),
            }
        }
    }
    notes.push("Angles and surface energies hold for clean, even faces at the temperature of the reading; a patch that does not wet is not in these forms.".into());
}

/// Sentences that say which range the flow forms leave.
fn flow_range(work: &Work<'_>) -> Vec<String> {
    let mut outside = Vec::new();
    outside.extend(work.cell.and_then(|c| c.outside()));
    if let Some(b) = work.problem.bumps {
        if b.regularity < 0.8 {
            outside.push(format!(
                "The bumps stand {:.0} % as far apart as their mean pitch: they are bunched, and the mean field is a rough stand-in.",
                100.0 * b.regularity
            ));
        }
        if b.lattice == Lattice::Square && is_sphere(work.problem) && work.problem.gap_m < 0.3 * b.diameter_m
        {
            outside.push(
                "The joints are much wider than high; a cylinder of equal volume stands for them.".into(),
            );
        }
    }
    if let Some(filler) = work.problem.liquid.filler_largest_m
        && filler > work.problem.gap_m / 3.0
    {
        outside.push(format!(
            "The largest filler of {:.0} um exceeds a third of the gap of {:.0} um; it may jam.",
            filler * 1e6,
            work.problem.gap_m * 1e6
        ));
    }
    if let Some((low, high)) = work.problem.liquid.viscosity_valid {
        let flow = work.problem.dispense.temperature_k;
        if flow < low - 1e-9 || flow > high + 1e-9 {
            outside.push(format!(
                "The viscosity is known from {:.0} to {:.0} degC and carried to {:.0} degC by an activation energy.",
                low - 273.15,
                high - 273.15,
                flow - 273.15
            ));
        }
    }
    if pins(work) {
        outside.push(
            "The front is held back behind the bumps, where the pressure at a row falls below zero.".into(),
        );
    }
    outside
}

fn join(mut figure: Figure, outside: &[String]) -> Figure {
    for sentence in outside {
        figure = figure.outside(sentence);
    }
    figure
}

fn flow(
    work: &Work<'_>,
    outside: &[String],
    figures: &mut Vec<Figure>,
    limits: &mut BTreeMap<String, String>,
    notes: &mut Vec<String>,
) {
    let p = work.problem;
    let pressure = Figure::hand(
        "driving_pressure",
        work.field.pressure_pa,
        "Pa",
        "mean between the bumps, from the surface energy that filling a cell sets free (approach of Yao, Fang et al. 2022, derived)",
    );
    figures.push(pressure);
    let bumps_add = work.field.pressure_pa - work.rim.pressure_pa;
    limits.insert(
        "driving_pressure".into(),
        format!("{:.0} Pa by the faces, {:+.0} Pa by the bumps", work.rim.pressure_pa, bumps_add),
    );
    if let Some(least) = work.least_pa {
        figures.push(Figure::hand(
            "driving_pressure_least",
            least,
            "Pa",
            "least as the front passes a row of bumps (derived; the idea of Young 2004)",
        ));
        if least <= 0.0 {
            notes.push(format!(
                "Behind a row of bumps the driving pressure falls to {least:.0} Pa: the front is held there and small voids are to be \
                 expected behind bumps; no closed form gives their size."
            ));
        }
    }
    let mut permeability = Figure::hand(
        "permeability",
        work.field.permeability_m2 * 1e12,
        "um2",
        "Brinkman slab between the exact limits of tall and thin gaps (Sangani and Acrivos 1982, Perrins et al. 1979), within 0.5 %",
    );
    if is_sphere(p) {
        permeability.error = Some(0.1 * permeability.value);
        permeability.basis.push_str("; joints as cylinders of equal volume, about 10 %");
    }
    if work.cell.is_some() {
        figures
            .push(join(permeability, &work.cell.and_then(|c| c.outside()).into_iter().collect::<Vec<_>>()));
    }
    let pattern = p.dispense.pattern;
    match work.fill {
        Fill::Full { time, waited } => {
            let mut basis = String::from(
                "Darcy front through rim and bump field, fluidity time over temperature and cure (Washburn 1921 for bare plates)",
            );
            if matches!(pattern, Pattern::L | Pattern::U) {
                basis.push_str("; pattern by the torsion function of one mean medium (Timoshenko and Goodier 1970, art. 109)");
            }
            figures.push(join(Figure::hand("fill_time", time, "s", &basis), outside));
            let slow = match (work.fluidity, work.fluidity_bare) {
                (Some(with), Some(bare)) if bare > 0.0 => Some(with / bare),
                _ => None,
            };
            if let Some(slow) = slow.filter(|_| work.cell.is_some()) {
                figures.push(join(
                    Figure::hand(
                        "bump_slowdown",
                        slow,
                        "",
                        "fill time with bumps over that of the bare gap, both at one viscosity",
                    ),
                    outside,
                ));
            }
            let flowing = time - waited;
            limits.insert(
                "fill_time".into(),
                if waited > flowing {
                    format!("set by the wait between passes, {waited:.1} s of {time:.1} s")
                } else {
                    match slow {
                        Some(slow) if work.cell.is_some() => format!(
                            "set by a viscosity of {:.3} Pa s over {:.1} mm by {:.1} mm; the bumps make it {slow:.2} times as long as in a bare gap",
                            work.viscosity,
                            work.sides.0 * 1e3,
                            work.sides.1 * 1e3
                        ),
                        _ => format!(
                            "set by a viscosity of {:.3} Pa s over {:.1} mm by {:.1} mm",
                            work.viscosity,
                            work.sides.0 * 1e3,
                            work.sides.1 * 1e3
                        ),
                    }
                },
            );
            margin(work, time, figures, limits, notes);
        }
        Fill::NoDrive { pressure, between_bumps } => {
            let place = if between_bumps { "between the bumps" } else { "between die and substrate" };
            let angles: Vec<String> = work
                .faces
                .angles
                .iter()
                .map(|a| format!("{:.0} deg on the {}", a.angle_rad.to_degrees(), a.face.words()))
                .collect();
            notes.push(format!(
                "Does not fill: at {} the driving pressure {place} is {pressure:.0} Pa, and only a positive one draws the underfill in. \
                 Clean the faces and measure again.",
                angles.join(", ")
            ));
            absent(limits, &format!("does not fill, as the driving pressure {place} is {pressure:.0} Pa"));
        }
        Fill::Gels { share } => {
            notes.push(format!(
                "Does not fill: the underfill gels at {:.0} degC when {:.0} % of the gap is full. Flow it at another temperature or \
                 shorten the way.",
                p.dispense.temperature_k - 273.15,
                100.0 * share
            ));
            absent(
                limits,
                &format!("does not fill, as the underfill gels when {:.0} % is full", 100.0 * share),
            );
        }
        Fill::Short { share } => {
            notes.push(format!(
                "Does not fill: {:.2} mm3 are dispensed and the gap takes {:.2} mm3; the front stops at {:.0} %. Dispense at least \
                 the gap and the fillets.",
                work.dispensed * 1e9,
                work.gap_volume * 1e9,
                100.0 * share
            ));
            absent(
                limits,
                &format!(
                    "does not fill, as {:.2} mm3 are dispensed for a gap of {:.2} mm3",
                    work.dispensed * 1e9,
                    work.gap_volume * 1e9
                ),
            );
        }
    }
}

fn absent(limits: &mut BTreeMap<String, String>, why: &str) {
    for name in ["fill_time", "gel_margin", "void_area_fraction"] {
        limits.insert(name.into(), why.into());
    }
}

fn margin(
    work: &Work<'_>,
    time: f64,
    figures: &mut Vec<Figure>,
    limits: &mut BTreeMap<String, String>,
    notes: &mut Vec<String>,
) {
    let flow = work.problem.dispense.temperature_k - 273.15;
    let given = work.problem.liquid.kinetics.is_some();
    let longest = crate::cure::LONGEST_S;
    let reached = work.gel.map(|g| g.unwrap_or(longest));
    let basis = if given {
        "time to gel at the flow temperature by the given kinetics, over the fill time"
    } else {
        "starting values of the cure (from memory): gel in 10 min at 150 degC, 75 kJ/mol; low 5 min, 65 kJ/mol, high 20 min, 95 kJ/mol"
    };
    let finish = |mut figure: Figure, scale: f64| {
        if !given {
            figure = figure.between(reached[1] * scale, reached[2] * scale);
            figure = figure.outside("The material gives no cure kinetics; starting values stand for them.");
        }
        if work.gel.iter().any(Option::is_none) {
            figure = figure
                .outside("It does not gel within 1e8 s; the figure counts that time and is a least value.");
        }
        figure
    };
    figures.push(finish(Figure::hand("gel_time", reached[0], "s", basis), 1.0));
    figures.push(finish(Figure::hand("gel_margin", reached[0] / time, "", basis), 1.0 / time));
    limits.insert(
        "gel_margin".into(),
        format!(
            "set by gel after {:.1} min at {flow:.0} degC against {time:.1} s of flow",
            reached[0] / 60.0
        ),
    );
    if !given {
        notes.push(format!(
            "The cure is judged with starting values ({:.0} to {:.0} min to gel at 150 degC, common practice); replace them by the lot's own \
             kinetics.",
            STARTING[1].0 / 60.0,
            STARTING[2].0 / 60.0
        ));
    }
    if work.problem.liquid.viscosity.len() == 1
        && work.problem.liquid.activation_j_mol.is_none()
        && (work.problem.liquid.viscosity[0].0 - work.problem.dispense.temperature_k).abs() > 0.5
    {
        notes.push(format!(
            "The viscosity is carried from {:.0} degC to {flow:.0} degC with {:.0} kJ/mol, a starting value (common practice).",
            work.problem.liquid.viscosity[0].0 - 273.15,
            ACTIVATION / 1e3
        ));
    }
}

fn voids(
    work: &Work<'_>,
    figures: &mut Vec<Figure>,
    limits: &mut BTreeMap<String, String>,
    notes: &mut Vec<String>,
) {
    let Some(air) = &work.air else { return };
    let Some((estimate, bound)) = void_share(work) else {
        limits.insert(
            "void_area_fraction".into(),
            "not judged, as the front is held back behind the bumps and no closed form gives the voids there"
                .into(),
        );
        return;
    };
    let mut figure = Figure::hand(
        "void_area_fraction",
        100.0 * estimate,
        "%",
        "air closed off by the rim's front: lead of a narrow leaking rim (derived from Saffman and Taylor 1958), high value without leakage; shrunk by Boyle's law",
    )
    .between(100.0 * estimate, 100.0 * bound.max(estimate));
    let race = &air.race;
    let ratio = race.rim.permeability_m2 / race.field.permeability_m2;
    if race.rim_width_m > 0.0 && (ratio > 4.0 || air.distance < 10.0 * race.rim_width_m) {
        figure = figure.outside(&format!(
            "The rim is {ratio:.1} times as permeable as the field and 1/{:.0} of the way wide; the estimate is checked up to 4 times and 1/10.",
            air.distance / race.rim_width_m
        ));
    }
    if work.problem.bumps.is_some_and(|b| b.regularity < 0.8) {
        figure = figure.outside("Bunched bumps leave channels that the mean field does not know.");
    }
    figures.push(figure);
    let run = if air.lead >= 0.0 { "leads by" } else { "lags by" };
    limits.insert(
        "void_area_fraction".into(),
        format!(
            "set by the rim's front, which {run} {:.2} mm after {:.1} mm",
            air.lead.abs() * 1e3,
            air.distance * 1e3
        ),
    );
    if bound > estimate + 1e-12 {
        notes.push(format!(
            "A rim that lost nothing to the bump field would close off {:.1} % of the die; with leakage the estimate is {:.1} %. Between both only a \
             flow solver on the bump map decides.",
            100.0 * bound,
            100.0 * estimate
        ));
    }
    notes.push(format!(
        "Trapped air does not go away by itself: a driving pressure of {:.0} Pa shrinks it by {:.1} %.",
        work.field.pressure_pa,
        100.0 * (1.0 - crate::flow::race::shrunken(work.problem.ambient_pa, work.field.pressure_pa))
    ));
}

fn amounts(
    work: &Work<'_>,
    figures: &mut Vec<Figure>,
    limits: &mut BTreeMap<String, String>,
    notes: &mut Vec<String>,
) {
    let given = work.problem.dispense.volume_m3.is_some();
    figures.push(Figure::hand(
        "dispense_volume",
        work.dispensed * 1e9,
        "mm3",
        if given {
            "as given"
        } else {
            "gap less bumps, plus a straight fillet on four sides with its corners"
        },
    ));
    limits.insert(
        "dispense_volume".into(),
        format!(
            "{:.2} mm3 for the gap, {:.2} mm3 for the fillets",
            work.gap_volume * 1e9,
            work.fillet_volume * 1e9
        ),
    );
    let basis = if given {
        "what the given volume leaves for a straight fillet of the wanted slope"
    } else if work.problem.fillet.is_some() {
        "as given"
    } else {
        "60 % of the die's thickness (50 to 75 %, common practice)"
    };
    let mut height = Figure::hand("fillet_height", work.fillet.0 * 1e6, "um", basis);
    let thickness = work.problem.die.thickness_m;
    if work.fillet.0 > thickness + work.problem.gap_m {
        height = height.outside("The fillet would be higher than the die: underfill runs onto its back.");
        notes.push(format!(
            "The given volume would make a fillet of {:.0} um on a die of {:.0} um: dispense less.",
            work.fillet.0 * 1e6,
            thickness * 1e6
        ));
    }
    figures.push(height);
    figures.push(Figure::hand("fillet_width", work.fillet.1 * 1e6, "um", basis));
    if given && work.fillet.0 < 0.5 * thickness && work.fillet_volume > 0.0 {
        notes.push(format!(
            "The given volume leaves a fillet of {:.0} % of the die's thickness; 50 to 75 % is common practice.",
            100.0 * work.fillet.0 / thickness
        ));
    }
    if let Some(most) = work.most_a_pass {
        let passes = (work.dispensed / most).ceil().max(1.0);
        figures.push(Figure::hand(
            "dispense_passes",
            passes,
            "",
            "volume over that of half-round beads that just reach the die's edge (common practice)",
        ));
        if passes > f64::from(work.problem.dispense.passes) {
            notes.push(format!(
                "{:.2} mm3 a pass ({} set) is more than the half-round bead of {:.2} mm3 that the offset allows; {passes:.0} passes would keep it off the die and its neighbours.",
                work.dispensed * 1e9 / f64::from(work.problem.dispense.passes),
                work.problem.dispense.passes,
                most * 1e9
            ));
        }
    }
}

fn cure(
    work: &Work<'_>,
    figures: &mut Vec<Figure>,
    limits: &mut BTreeMap<String, String>,
    notes: &mut Vec<String>,
) {
    if work.problem.cure.is_empty() {
        notes.push("No cure is given, so the degree of cure is not judged.".into());
        return;
    }
    let given = work.problem.liquid.kinetics.is_some();
    let mut figure = Figure::hand(
        "cure_degree",
        100.0 * work.degree[0],
        "%",
        if given {
            "given kinetics, integrated over the cure (form of Sourour and Kamal 1976)"
        } else {
            "starting values of the cure (from memory), integrated over the cure (form of Sourour and Kamal 1976)"
        },
    );
    if !given {
        figure = figure
            .between(100.0 * work.degree[1].min(work.degree[2]), 100.0 * work.degree[1].max(work.degree[2]))
            .outside("The material gives no cure kinetics; starting values stand for them.");
    }
    figures.push(figure);
    let hottest = work.problem.cure.iter().map(|s| s.temperature_k).fold(f64::NEG_INFINITY, f64::max);
    limits.insert("cure_degree".into(), format!("set by the hold at {:.0} degC", hottest - 273.15));
    match work.gel_temperature {
        Some(gel) => figures.push(Figure::hand(
            "gel_temperature",
            gel - 273.15,
            "degC",
            "temperature in the cure at which the degree of gel is reached; stress builds up from there",
        )),
        None => notes.push("The underfill does not reach gel in the cure: it stays liquid.".into()),
    }
    if let Some(glass) = work.problem.liquid.glass_transition_k
        && hottest < glass
    {
        notes.push(format!(
            "The hottest cure step of {:.0} degC lies below the glass transition of {:.0} degC: the cure slows down and stops before it is complete.",
            hottest - 273.15,
            glass - 273.15
        ));
    }
}

fn advice(work: &Work<'_>) -> Vec<String> {
    let p = work.problem;
    let mut advice = vec![
        "Common practice: water below 20 to 30 deg on mask and passivation after plasma, and at most 4 h from plasma to dispense; clean again above 40 deg.".to_string(),
        "Common practice: voids up to 5 % of the area (1 to 2 % for high reliability), none that bridges two bumps, none in the outer corner rows.".to_string(),
        "Common practice: fillet height 50 to 75 % of the die's thickness, on all four sides.".to_string(),
        "A low angle right after plasma is no proof of adhesion after humidity: wetting was not the controlling factor in a published study (Luo and Wong, IEEE Trans. Compon. Packag. Technol. 24 (2001) 43).".to_string(),
    ];
    if matches!(p.dispense.pattern, Pattern::U | Pattern::TwoLines) {
        advice.push("Experiments show more voids for a U than for an L (Abas et al., Sadhana 43 (2018)): leave a side open until the front has come through.".into());
    }
    if let Some(b) = p.bumps {
        let clearance = (b.pitch_m - b.diameter_m) * 1e6;
        if clearance < 70.0 {
            advice.push(format!(
                "The clearance between bumps is {clearance:.0} um; below 60 to 70 um the bumps' resistance counts (Wan and Bergstrom 2007)."
            ));
        }
    }
    advice
}
