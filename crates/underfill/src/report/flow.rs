//! Driving pressure, permeability, fill time and gel.

use super::pins;
use crate::flow::cells;
use crate::problem::Pattern;
use crate::solve::{ACTIVATION, Fill, STARTING, Work, is_sphere};
use facedown_evidence::Figure;
use std::collections::BTreeMap;

/// Sentences that say which range the flow forms leave: of the mean field, or of the front where every bump has its place.
pub(crate) fn flow_range(work: &Work<'_>, placed: bool) -> Vec<String> {
    let mut outside = Vec::new();
    outside.extend(work.resistance.as_ref().and_then(|r| r.outside.clone()));
    if let Some(b) = work.problem.bumps
        && b.regularity < 0.8
        && !placed
    {
        outside.push(format!(
                "The bumps stand {:.0} % as far apart as their mean pitch: they are bunched, and the mean field is a rough stand-in.",
                100.0 * b.regularity
            ));
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
    outside.extend(work.sheared.and_then(|s| s.outside()));
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

pub(super) fn write(
    work: &Work<'_>,
    figures: &mut Vec<Figure>,
    limits: &mut BTreeMap<String, String>,
    notes: &mut Vec<String>,
) {
    let p = work.problem;
    let outside = &flow_range(work, false)[..];
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
    if let Some(resistance) = &work.resistance {
        let mut figure = Figure::solved(
            "permeability",
            resistance.solved_m2 * 1e12,
            "um2",
            "Stokes flow in space through the unit cell, by the table of solved cells; hand check: Brinkman slab between the exact limits \
             of tall and thin gaps (Sangani and Acrivos 1982, Perrins et al. 1979), within 0.5 % where it was fitted",
        );
        figure.hand = Some(resistance.hand_m2 * 1e12);
        figure.error = resistance.outside.is_none().then_some(cells::ERROR * figure.value);
        if is_sphere(p) {
            figure.basis.push_str(", joints as cylinders of equal volume, about 10 %");
        }
        if resistance.hand_outside.is_some() {
            figure.basis.push_str("; this cell lies outside of that range");
        }
        figures.push(join(figure, resistance.outside.as_slice()));
    }
    if let Some(sheared) = work.sheared {
        notes.push(sheared.told(work.viscosity));
        figures.push(join(
            Figure::hand(
                "shear_rate",
                sheared.rate_per_s,
                "1/s",
                "at the walls of the bare gap at the mean speed of a straight front, power law (slit flow: Wan, Zhang and Bergstrom 2005)",
            ),
            sheared.outside().as_slice(),
        ));
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
            if let Some(slow) = slow.filter(|_| work.resistance.is_some()) {
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
                        Some(slow) if work.resistance.is_some() => format!(
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
