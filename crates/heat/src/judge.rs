//! Figures, what limits them, notes and advice.

use crate::metrics::Reading;
use crate::network::{Downward, MOST_MODES};
use crate::outcome::{Outcome, Step};
use crate::problem::{BondLine, Interface, Problem, Surroundings};
use crate::surroundings::Settled;
use facedown_evidence::Figure;

const ZERO_CELSIUS: f64 = 273.15;

/// Results beyond those of service.
pub(crate) struct Judged {
    pub reading: Reading,
    /// Hottest junction by set, over the ambient, K.
    pub junctions: Vec<f64>,
    /// Hottest bump by set, over the ambient, K.
    pub bumps: Vec<f64>,
    /// Junction to ambient by set, K/W.
    pub theta_ja: Vec<f64>,
    /// Junction to board, traces along the heat and without direction, K/W.
    pub theta_jb: Vec<f64>,
    /// Junction to case, K/W, or why there is none.
    pub theta_jc: Result<f64, &'static str>,
    /// Ranges that the correlations left in still air.
    pub still_outside: Vec<String>,
    /// Where the kelvins go in still air.
    pub still_path: Vec<Step>,
    /// Power that the metrics in air are taken at, W.
    pub air_power_w: f64,
    /// The same over the design's power.
    pub air_share: f64,
}

const SETS_BASIS: &str = "compound plates, joints and films in one network; natural convection by Raithby and Hollands \
    1998 and by the textbook forms (Lloyd and Moran 1974, McAdams 1954), trace layers along the heat and without \
    direction (Hashin and Shtrikman 1962)";

fn spread(figure: Figure, values: &[f64], shift: f64) -> Figure {
    let low = values.iter().copied().fold(f64::INFINITY, f64::min);
    let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    figure.between(low + shift, high + shift)
}

fn with_outside(mut figure: Figure, sentences: &[String]) -> Figure {
    for sentence in sentences {
        figure = figure.outside(sentence);
    }
    figure
}

/// The clause that names the step with the largest drop of the path that carries more heat.
pub(crate) fn largest(outcome: &Outcome) -> Option<String> {
    let (up, down) = (&outcome.up, &outcome.down);
    let path = if outcome.up_w >= outcome.down_w && !up.is_empty() || down.is_empty() { up } else { down };
    clause(path)
}

pub(crate) fn clause(path: &[Step]) -> Option<String> {
    let total: f64 = path.iter().map(|s| s.kelvins).sum();
    let step = path.iter().max_by(|a, b| a.kelvins.total_cmp(&b.kelvins))?;
    (total > 0.0).then(|| format!("set by {}, {} K of {}", step.name, round(step.kelvins), round(total)))
}

/// Three significant digits at most, for sentences.
pub(crate) fn round(value: f64) -> String {
    let digits = match value.abs() {
        v if v >= 100.0 => 0,
        v if v >= 10.0 => 1,
        v if v >= 0.1 || v == 0.0 => 2,
        // Three digits that count.
        v => (2.0 - v.log10().floor()).min(12.0) as usize,
    };
    format!("{value:.digits$}")
}

pub(crate) fn judge(problem: &Problem, service: &Settled<'_>, judged: Judged, outcome: &mut Outcome) {
    let celsius = problem.service.ambient_k - ZERO_CELSIUS;
    let cut: Vec<String> = if service.network.cut_short() {
        vec![format!(
            "A source is less than {:.1} % of its plate's width, where the series ends early.",
            1000.0 / MOST_MODES as f64
        )]
    } else {
        Vec::new()
    };
    let still: Vec<String> = judged.still_outside.iter().chain(&cut).cloned().collect();
    let in_service: Vec<String> = service.outside.iter().chain(&cut).cloned().collect();
    let mut figures = Vec::new();
    let theta = |name: &str, value: f64, basis: &str| Figure::hand(name, value, "K/W", basis);

    let basis = format!("hottest place of the hottest die in still air (JESD51-2A); {SETS_BASIS}");
    figures.push(with_outside(
        spread(theta("theta_ja", judged.theta_ja[0], &basis), &judged.theta_ja, 0.0),
        &still,
    ));
    if let Some(first) = outcome.metrics.first() {
        let psi = [
            ("psi_jt", first.psi_jt, "top of the case over the hottest die"),
            ("psi_jb", first.psi_jb, "board 1 mm beside the package"),
        ];
        for (name, value, to) in psi {
            let basis = format!("junction to the {to}, in still air, over the whole power (JESD51-12)");
            figures.extend(value.map(|v| with_outside(theta(name, v, &basis), &still)));
        }
    }
    for metric in outcome.metrics.iter().filter(|m| m.speed_m_s > 0.0) {
        let name = format!("theta_jma_{:.0}", metric.speed_m_s);
        let basis = format!(
            "air along the board at {:.0} m/s (JESD51-6), flat plate without the package's own turbulence",
            metric.speed_m_s
        );
        figures.extend(metric.theta_ja.map(|v| with_outside(theta(&name, v, &basis), &cut)));
    }
    for (name, words) in
        [("theta_ja_no_planes", "without planes"), ("theta_ja_two_planes", "with two planes")]
    {
        let metric = outcome.metrics.iter().find(|m| m.surroundings.ends_with(words));
        let basis =
            format!("still air on the JESD51-9 board {words}, for comparison with other packages only");
        figures.extend(metric.and_then(|m| m.theta_ja).map(|v| with_outside(theta(name, v, &basis), &still)));
    }
    let basis = "all heat into the board with a cooled ring 5 mm around the package (JESD51-8), board temperature 1 mm beside it; \
        trace layers along the heat and without direction";
    figures.push(with_outside(
        spread(theta("theta_jb", judged.theta_jb[0], basis), &judged.theta_jb, 0.0),
        &cut,
    ));
    match judged.theta_jc {
        Ok(value) => {
            let basis = format!(
                "all heat upward into a cold plate of {:.0} W/m2K, case temperature over the hottest die",
                problem.cold_plate_film
            );
            figures.push(with_outside(theta("theta_jc_top", value, &basis), &cut));
            if let Some(name) =
                problem.dies.iter().find_map(|d| d.interface.as_ref()).filter(|_| problem.lid.is_some())
            {
                outcome
                    .limits
                    .insert("theta_jc_top".into(), format!("with {} and lid in the path", name.name));
            }
        }
        Err(why) => {
            outcome.limits.insert("theta_jc_top".into(), format!("not found, because {why}"));
            outcome.notes.push(format!("No junction-to-case resistance: {why}."));
        }
    }

    let basis = format!("hottest place of the hottest die in service; {SETS_BASIS}");
    let hot = Figure::hand("junction_max", celsius + judged.reading.junction, "degC", &basis);
    figures.push(with_outside(spread(hot, &judged.junctions, celsius), &in_service));
    let bump = Figure::hand(
        "bump_max",
        celsius + judged.reading.bump,
        "degC",
        "half the height of the hottest bump in service, in the middle of its die",
    );
    figures.push(with_outside(spread(bump, &judged.bumps, celsius), &in_service));
    let case = Figure::hand(
        "case_max",
        celsius + judged.reading.case,
        "degC",
        "top of the case over the hottest die in service",
    );
    figures.push(with_outside(case, &in_service));
    let power = outcome.power_w;
    let s = &service.solution;
    if power > 0.0 {
        let share = Figure::hand(
            "heat_to_board",
            100.0 * s.balls / power,
            "%",
            "heat through the balls over the power, in service",
        );
        figures.push(with_outside(share, &in_service));
        let below = if service.network.setting.down == Downward::Ring {
            s.balls
        } else {
            s.faces[2].heat + s.faces[3].heat
        };
        let left = (power - s.faces[0].heat - s.faces[1].heat - below).abs() / power;
        figures.push(Figure::hand(
            "energy_balance",
            left,
            "",
            "power less the heat of all films, over the power",
        ));
        if let Some(limit) = largest(outcome) {
            outcome.limits.insert("junction_max".into(), limit.clone());
            outcome.limits.insert("bump_max".into(), limit);
        }
    } else {
        outcome.notes.push(
            "The dies have no power; the metrics are taken at 1 W, spread over the dies by area.".into(),
        );
        figures.push(Figure::hand("energy_balance", 0.0, "", "no power"));
    }
    if let Some(limit) = clause(&judged.still_path) {
        outcome.limits.insert("theta_ja".into(), limit);
    }
    if judged.air_share < 1.0 {
        outcome.notes.push(format!(
            "At {} W in plain air the junction would be more than 100 K over the ambient; theta_ja, psi_jt and psi_jb are taken at {} W.",
            round(power),
            round(judged.air_power_w)
        ));
    }
    outcome.figures = figures;
    notes(problem, &judged.reading, outcome);
}

/// Told where an evenly heated die shows a smaller case resistance than the drop to its case in air.
pub(crate) const PSI_ABOVE_THETA: &str =
    "psi_jt is above theta_jc_top, which an evenly heated die should not show.";

/// The note on both, for dies that are heated evenly.
pub(crate) fn psi_above_theta(figures: &[Figure], even: bool) -> Option<String> {
    let of = |name: &str| figures.iter().find(|f| f.name == name).map(|f| f.value);
    let (psi, theta) = (of("psi_jt")?, of("theta_jc_top")?);
    (even && psi > theta * 1.01).then(|| PSI_ABOVE_THETA.to_owned())
}

fn notes(problem: &Problem, reading: &Reading, outcome: &mut Outcome) {
    let celsius = problem.service.ambient_k - ZERO_CELSIUS;
    let notes = &mut outcome.notes;
    if problem.board.is_none() {
        notes.push("No board is given; the JESD51-9 board with two planes is taken.".into());
    }
    notes.push(
        "Heat enters each carrier evenly under a die and leaves no plate sideways; the constriction at single pads is left out. \
         Against finite elements two plain packages came out 3 % high."
            .into(),
    );
    if problem.dies.len() > 1 {
        notes.push("The metrics are taken with all dies powered as designed, at the hottest die, over the power of all.".into());
    }
    if let Surroundings::MovingAir { .. } = problem.service.surroundings {
        notes.push(
            "Real packages run 1.2 to 1.5 times above the flat-plate film (common practice, no source)."
                .into(),
        );
    }
    if problem.lid.is_none() && problem.interposer.is_some() {
        notes.push("The interposer's face between the dies gives no heat to the air.".into());
    }
    let interfaces: Vec<&Interface> = problem
        .dies
        .iter()
        .filter_map(|d| d.interface.as_ref())
        .chain(problem.service.heat_sink.as_ref().and_then(|s| s.interface.as_ref()))
        .collect();
    for interface in interfaces {
        if let BondLine::Pressed { pressure_pa, .. } = interface.bond_line {
            notes.push(format!(
                "The bond line of {} is {} um at {} MPa by a scaling law{}.",
                interface.name,
                round(interface.bond_line.thickness_m() * 1e6),
                round(pressure_pa * 1e-6),
                if interface.bond_line.inside_range() { "" } else { ", outside the pressures of its fit" },
            ));
        }
        if interface.voids > 0.0 {
            let share = round(100.0 * interface.voids);
            notes.push(match (&interface.void_places, &problem.lid) {
                (Some(_), Some(_)) => format!(
                    "Voids take {share} % of {}; the solver sees them where they lie, filled with air, the closed forms evenly.",
                    interface.name
                ),
                _ => format!(
                    "Voids of {} take {share} % of its area evenly; one large void over a hot block is worse than this.",
                    interface.name
                ),
            });
        }
    }
    if problem.lid.is_some() && problem.dies.iter().all(|d| d.interface.is_none()) {
        notes.push(
            "No die touches the lid, so the lid carries only what comes through its foot, which is left out."
                .into(),
        );
    }
    let hottest = celsius + reading.junction;
    if hottest > 150.0 {
        notes.push(format!(
            "The junction would be at {hottest:.0} degC. Parts that run hot burn skin and may fail or ignite what touches them: keep to local safety codes."
        ));
    }
    let even = reading.spots.iter().all(|s| s.map == 0.0);
    notes.extend(psi_above_theta(&outcome.figures, even));
    let advice = &mut outcome.advice;
    advice.push("theta_ja ranks packages on the same board; it does not predict the temperature on another board (JESD51-2).".into());
    if problem.lid.is_none()
        && outcome.power_w > 4.0
        && problem.service.top_film.is_none()
        && problem.service.heat_sink.is_none()
    {
        advice.push(format!(
            "Bare dies without a heat sink carry about 2 to 3 W in still air, 4 to 6 W at 2 m/s; here it is {} W (common practice, no source).",
            round(outcome.power_w)
        ));
    }
    if outcome.down_w > 0.7 * outcome.power_w && outcome.power_w > 0.0 {
        advice.push(format!(
            "{:.0} % of the heat leaves through the board: board copper, balls under the die and vias matter more than a thermal interface (common practice, no source).",
            100.0 * outcome.down_w / outcome.power_w
        ));
    }
}
