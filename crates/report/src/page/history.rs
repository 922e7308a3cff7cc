//! The thermal history of the package from its design file, and which figure each stage decides.

use super::PageInput;
use super::write::in_words;
use crate::chart::life_line::Knot;
use facedown_package::{Design, Form};
use facedown_pipeline::Stage;
use facedown_pipeline::verdict::amount;

const ROOM: f64 = 25.0;
const KELVIN: f64 = 273.15;

/// Figures that a stage decides, the first that a run has is shown.
fn decides(stage: Stage) -> &'static [(&'static str, &'static str)] {
    match stage {
        Stage::Redistribute => &[("redistribution", "wirelength_ratio"), ("redistribution", "routed_nets")],
        Stage::Bump => &[("joints", "solder_volume"), ("redistribution", "bumps")],
        Stage::PlaceAndReflow => &[("joints", "stand_off"), ("joints", "height")],
        Stage::Clean => &[("underfill", "contact_angle"), ("underfill", "queue_limit")],
        Stage::Underfill => &[("underfill", "fill_time"), ("underfill", "driving_pressure")],
        Stage::Cure => &[("underfill", "cure_degree"), ("warpage", "underfill_shear_max")],
        Stage::LidOrRing => &[("warpage", "bond_line_spread"), ("warpage", "warpage_room")],
        Stage::BallAttach => &[("joints", "ball_stand_off"), ("warpage", "ball_coplanarity")],
        Stage::BoardReflow => &[("warpage", "warpage_peak"), ("joints", "bridging_margin")],
        Stage::Service => &[("life", "life_bumps"), ("life", "life"), ("heat", "junction_max")],
    }
}

/// The knots of the life line.
pub fn knots(input: &PageInput<'_>) -> Vec<Knot> {
    Stage::ALL.into_iter().map(|stage| knot(input, stage)).collect()
}

fn knot(input: &PageInput<'_>, stage: Stage) -> Knot {
    let found = decides(stage).iter().find_map(|(study, name)| {
        let figure = input.results.studies.get(*study)?.figures.get(*name)?;
        Some((in_words(name), amount(figure.value, &figure.unit), figure.verdict))
    });
    let course = course(input.design, stage);
    let name = match (stage, &input.design.form) {
        (Stage::LidOrRing, Some(Form::Lid(_))) => "lid",
        (Stage::LidOrRing, Some(Form::Ring(_))) => "ring",
        (Stage::LidOrRing, _) => "no lid or ring",
        _ => stage.words(),
    };
    Knot {
        stage: name.into(),
        given: course.is_some(),
        course: course.unwrap_or_else(|| vec![(0.0, ROOM), (1.0, ROOM)]),
        figure: found,
    }
}

/// Temperatures through a stage, share of its time and degrees Celsius; none where the design gives none.
fn course(design: &Design, stage: Stage) -> Option<Vec<(f64, f64)>> {
    let process = design.process.as_ref();
    let plateau = |t: f64| vec![(0.0, ROOM), (0.2, t), (0.8, t), (1.0, ROOM)];
    match stage {
        Stage::Redistribute | Stage::Bump | Stage::LidOrRing => None,
        Stage::PlaceAndReflow | Stage::BallAttach | Stage::BoardReflow => {
            let reflow = process?.reflow.as_ref()?;
            let degrees = |kelvin: f64| kelvin - KELVIN;
            let mut points = vec![(0.0, ROOM)];
            points.extend(reflow.preheat_from.as_ref().map(|t| (0.2, degrees(t.si()))));
            points.extend(reflow.preheat_to.as_ref().map(|t| (0.48, degrees(t.si()))));
            points.push((0.68, degrees(reflow.peak.si())));
            points.push((1.0, ROOM));
            Some(points)
        }
        Stage::Clean => Some(plateau(process?.clean.as_ref()?.bake_temperature.as_ref()?.si() - KELVIN)),
        Stage::Underfill => Some(plateau(process?.underfill.as_ref()?.temperature.si() - KELVIN)),
        Stage::Cure => {
            let steps = &process?.cure.as_ref()?.steps;
            let total: f64 = steps.iter().map(|s| s.time.si() + ramp(s)).sum();
            if total <= 0.0 {
                return None;
            }
            let mut at = 0.0;
            let mut points = vec![(0.0, ROOM)];
            for step in steps {
                at += ramp(step);
                points.push((0.85 * at / total, step.temperature.si() - KELVIN));
                at += step.time.si();
                points.push((0.85 * at / total, step.temperature.si() - KELVIN));
            }
            points.push((1.0, ROOM));
            Some(points)
        }
        Stage::Service => {
            let cycles = &design.mission.as_ref()?.cycles;
            let shown = cycles.len().min(3);
            if shown == 0 {
                return None;
            }
            let mut points = vec![(0.0, ROOM)];
            // Two swings of each kind of cycle.
            let share = 1.0 / (2 * shown) as f64;
            for (index, cycle) in cycles.iter().take(shown).flat_map(|c| [c, c]).enumerate() {
                let at = index as f64 * share;
                points.push((at + 0.3 * share, cycle.high.si() - KELVIN));
                points.push((at + 0.8 * share, cycle.low.si() - KELVIN));
            }
            points.push((1.0, ROOM));
            Some(points)
        }
    }
}

fn ramp(step: &facedown_package::CureStep) -> f64 {
    step.ramp.as_ref().map_or(0.1 * step.time.si(), |r| r.si())
}
