//! Figures of the outcome, what limits them, and why one is absent.

use crate::fatigue::{Fatigue, Spread};
use crate::outcome::Outcome;
use crate::problem::{Attachment, Cycle, Problem};
use crate::sentence::{YEAR_S, significant};
use crate::weibull::{Weibull, array_failed};
use facedown_evidence::Figure;

const STRAIN_BASIS: &str = "range of the equivalent shear strain of the joint that is damaged most, in the cycle that \
    damages most, by distance to the neutral point (IPC-SM-785)";
const FILLED_BASIS: &str = "range of the equivalent shear strain of the joint that is damaged most, in the cycle that \
    damages most: shear lag between parts that bend freely (Chen and Nelson 1979, Suhir 1986) and expansion of the \
    underfill held in its plane, shared by joint and underfill, the solder by its secant modulus";
const CYCLES_BASIS: &str = "cycles of the kind that damages most to the allowed failed share of packages: Engelmaier in \
    the dwell form of IPC-SM-785, first failure of the array by Weibull's weakest link; spread over his constants and \
    the models of creep strain and work of the alloy (Syed 2004, Schubert et al. 2003; Darveaux 2000) for the joint as \
    one point, constants from memory";
const DAMAGE_BASIS: &str = "sum of cycles over median cycles (Miner 1945; Engelmaier) of the joint that is damaged \
    most; spread over the published models";
const FAILED_BASIS: &str = "share of packages with a first failed joint at the end of the service life: Miner, \
    Engelmaier, Weibull's weakest link over bumps and balls; spread over the published models";
const LIFE_BASIS: &str = "time in service to the allowed failed share of packages: Miner, Engelmaier, Weibull's weakest \
    link; spread over the published models";

/// Added where the expansion of what lies above the joints is known between limits only.
const LIMITS_BASIS: &str = "; and over the limits of the expansion above the joints";

/// What is added to a basis where that is so.
fn limits_basis(f: &Fatigue) -> String {
    match &f.taken {
        Some(limit) => format!(
            "{LIMITS_BASIS}; the value is that of the worse limit ({limit}), because between the limits lies the expansion of \
             the other part, where the mismatch vanishes"
        ),
        None if f.limits.is_empty() => String::new(),
        None => LIMITS_BASIS.to_owned(),
    }
}

fn spread(name: &str, value: Spread, unit: &str, basis: &str) -> Figure {
    Figure::hand(name, value.value, unit, basis).between(value.low, value.high)
}

fn with_outside(mut figure: Figure, sentences: &[String]) -> Figure {
    for sentence in sentences {
        figure = figure.outside(sentence);
    }
    figure
}

impl Spread {
    fn times(self, factor: f64) -> Spread {
        Spread { value: self.value * factor, low: self.low * factor, high: self.high * factor }
    }
}

/// Why an attachment has no fatigue figures.
fn absent(joints: &str, attachment: Option<&Attachment>, cycles: &[Cycle]) -> String {
    if attachment.is_none() {
        return format!("the design does not say enough about its {joints}");
    }
    if !cycles.iter().any(|c| c.count > 0.0) {
        return "the mission has no temperature cycles".into();
    }
    if !cycles.iter().any(|c| c.count > 0.0 && c.high > c.low) {
        return "no cycle of the mission has a swing".into();
    }
    format!("no cycle of the mission strains the {joints} by an amount that the models can count")
}

/// The clause that names place and cycle.
fn clause(joints: &str, f: &Fatigue) -> String {
    let share = f.life.damage.first().map_or(0.0, |d| d.damage) / f.damage.value;
    format!(
        "set by the {joints} at {} in cycle {} ({:.0} % of the damage)",
        f.life.worst_place,
        f.worst_cycle.name,
        100.0 * share
    )
}

pub(crate) fn fatigue(
    problem: &Problem,
    cycles: &[Cycle],
    bumps: Option<&Fatigue>,
    balls: Option<&Fatigue>,
    outcome: &mut Outcome,
) {
    let failed = problem.mission.failed;
    let kinds = [
        (["bump_strain_range", "bump_cycles_to_failed", "life_bumps"], "bumps", &problem.bumps, bumps),
        (["ball_strain_range", "ball_cycles_to_failed", "life_balls"], "balls", &problem.balls, balls),
    ];
    for (names, joints, attachment, found) in kinds {
        let Some(f) = found else {
            let why = absent(joints, attachment.as_ref(), cycles);
            for name in names {
                outcome.limits.insert(name.into(), why.clone());
            }
            continue;
        };
        let to_failed = f.array.quantile(failed) / f.array.scale;
        let [strain, count, life] = names;
        let filled = attachment.as_ref().is_some_and(|a| a.underfill.is_some());
        let basis = if filled { FILLED_BASIS } else { STRAIN_BASIS };
        let over = |basis: &str| format!("{basis}{}", limits_basis(f));
        outcome.figures.push(match f.limits.is_empty() {
            true => Figure::hand(strain, f.strain_range.value, "", basis),
            false => spread(strain, f.strain_range, "", &over(basis)),
        });
        outcome
            .figures
            .push(with_outside(spread(count, f.cycles_to_failed, "cycles", &over(CYCLES_BASIS)), &f.outside));
        outcome.figures.push(with_outside(
            spread(life, f.characteristic.times(to_failed / YEAR_S), "year", &over(LIFE_BASIS)),
            &f.outside,
        ));
        if !f.limits.is_empty() {
            let years = |life: Spread| {
                let [value, low, high] =
                    [life.value, life.low, life.high].map(|s| significant(s * to_failed / YEAR_S));
                format!("{value} years ({low} to {high} by the models)")
            };
            let each: Vec<String> =
                f.limits.iter().map(|(name, life)| format!("{} {name}", years(*life))).collect();
            let value = significant(f.array.scale * to_failed / YEAR_S);
            let counts = match &f.taken {
                Some(limit) => format!(
                    "Between them the expansion passes that of the other part and the joints would live longer than at \
                     either, which nobody can count on: {limit} counts, {value} years"
                ),
                None => format!("By the expansion taken between them the value is {value} years"),
            };
            outcome.notes.push(format!(
                "What lies above the {joints} is known between limits: they live {}. {counts}; the figures of the {joints} \
                 span all of this.",
                each.join(", and ")
            ));
        }
        for name in names {
            outcome.limits.insert(name.into(), clause(joints, f));
        }
        outcome.notes.extend(f.failures.iter().cloned());
    }
    let found: Vec<(&str, &Fatigue)> =
        [("bumps", bumps), ("balls", balls)].into_iter().filter_map(|(n, f)| Some((n, f?))).collect();
    let Some(&(joints, worst)) = found.iter().max_by(|a, b| a.1.damage.value.total_cmp(&b.1.damage.value))
    else {
        for name in ["mission_damage", "failed_share_at_life"] {
            let why = match (&problem.bumps, &problem.balls) {
                (None, None) => "the design does not say enough about its bumps or balls".into(),
                (Some(a), _) => absent("bumps", Some(a), cycles),
                (_, Some(a)) => absent("balls", Some(a), cycles),
            };
            outcome.limits.insert(name.into(), why);
        }
        return;
    };
    outcome
        .figures
        .push(with_outside(spread("mission_damage", worst.damage, "", DAMAGE_BASIS), &worst.outside));
    outcome.limits.insert("mission_damage".into(), clause(joints, worst));
    let share = |scale: &dyn Fn(&Fatigue) -> f64| {
        let parts: Vec<(Weibull, f64)> =
            found.iter().map(|(_, f)| (Weibull { shape: f.array.shape, scale: scale(f) }, 1.0)).collect();
        array_failed(&parts, problem.mission.life)
    };
    let all = Spread {
        value: share(&|f| f.characteristic.value),
        low: share(&|f| f.characteristic.high),
        high: share(&|f| f.characteristic.low),
    };
    let mut figure = spread("failed_share_at_life", all, "", FAILED_BASIS);
    for (_, f) in &found {
        figure = with_outside(figure, &f.outside);
    }
    // Two attachments may say the same of themselves.
    if let [(_, a), (_, b)] = found[..]
        && a.outside == b.outside
    {
        figure.outside = None;
        figure = with_outside(figure, &a.outside);
    }
    outcome.figures.push(figure);
    let first = found.iter().min_by(|a, b| a.1.array.quantile(failed).total_cmp(&b.1.array.quantile(failed)));
    if let Some((joints, f)) = first {
        outcome.limits.insert("failed_share_at_life".into(), clause(joints, f));
    }
}
