//! Figures, what limits them, notes and advice.

use crate::outcome::Outcome;
use crate::problem::{CoverKind, Problem, Solid, Table};
use facedown_evidence::Figure;

const ZERO_CELSIUS: f64 = 273.15;

const PLATES: &str = "laminated plates on rectangles (Kirchhoff's theory with stretching, bending and their coupling), thermal strain of each part from its birth, stress grown \
    by the current modulus; die ends that slip taken off by E. Suhir 1986";
const SIGN: &str = "peak to valley about the least-squares plane with the sign of the diagonals (JEITA ED-7306), convex positive (JESD22-B112)";
const EDGE: &str = "two plates and a layer that shears (E. Suhir 1986, 1989) at the end of the die's diagonal; elastic, singular in truth: to compare \
    designs by, no strength";

/// Deflection over thickness up to which thin plates stay linear (common practice, no source).
const LINEAR: f64 = 0.3;

/// A length in um for sentences.
fn um(metres: f64) -> String {
    format!("{:.0} um", metres * 1e6)
}

fn celsius(kelvin: f64) -> String {
    format!("{:.0} degC", kelvin - ZERO_CELSIUS)
}

/// Ranges that the shapes leave.
fn outside_of_shapes(problem: &Problem, outcome: &Outcome) -> Vec<String> {
    let mut list = Vec::new();
    let thickness = problem.substrate.plate.thickness_m();
    let most = outcome
        .curve
        .iter()
        .map(|c| c.warpage_body_m.abs())
        .chain(outcome.stages.iter().map(|s| s.warpage_body_m.abs()))
        .fold(0.0, f64::max);
    if most > LINEAR * thickness {
        list.push(format!(
            "Warpage reaches {} against {} of substrate: above {LINEAR} of the thickness plates stiffen, so this is too much.",
            um(most),
            um(thickness)
        ));
    }
    let bare = problem.dies.iter().any(|d| d.joints.underfill.is_none());
    if bare && problem.process.reflow_peak_k > problem.process.bump_liquidus_k {
        list.push(
            "A die without underfill stands on molten bumps in the reflow; it is taken as held.".into(),
        );
    }
    for (load, gap) in outcome.edges.iter().zip(&outcome.gaps) {
        let shortest = gap.half_extent_m[0].min(gap.half_extent_m[1]);
        if load.decay_length_m > shortest / 2.0 {
            list.push(format!(
                "The joints of {} slip over {} from each edge, most of its length; the plate that bends with it is a guess there.",
                load.name,
                um(load.decay_length_m)
            ));
        }
    }
    for die in &problem.dies {
        let under = problem.interposer.as_ref().map_or(0.0, |i| i.plate.thickness_m() + i.joints.gap_m);
        let stack = die.plate.thickness_m() + die.joints.gap_m + under + thickness;
        let side = die.plate.width_m.min(die.plate.height_m);
        if side < 3.0 * stack {
            list.push(format!(
                "Die {} is {:.1} times as long as its stack is thick; below 3 it is no plate.",
                die.name,
                side / stack
            ));
        }
    }
    list
}

fn with_outside(mut figure: Figure, sentences: &[String]) -> Figure {
    for sentence in sentences {
        figure = figure.outside(sentence);
    }
    figure
}

/// What stands beside the figures.
pub(crate) struct Checks {
    /// Hand check of the body's warpage at room temperature, m.
    pub hand: Option<f64>,
    /// Share of a warpage that the grid may be wrong by.
    pub grid_error: Option<f64>,
}

/// Fills figures, limits, notes and advice. `ends` holds warpage at room and peak and the largest above the liquidus
/// with nothing and with all of the bare joints' hold crept away, m.
pub(crate) fn judge(problem: &Problem, ends: &[[f64; 3]], checks: &Checks, outcome: &mut Outcome) {
    let p = &problem.process;
    let shapes = outside_of_shapes(problem, outcome);
    let over = if problem.balls.is_some() { "over the ball field" } else { "over the body" };
    let basis = format!("{over}; {SIGN}; {PLATES}");
    let at = |kelvin: f64| outcome.curve.iter().find(|c| (c.temperature_k - kelvin).abs() < 1e-6);
    let between = |k: usize| {
        let values = ends.iter().map(|e| e[k] * 1e6);
        (values.clone().fold(f64::INFINITY, f64::min), values.fold(f64::NEG_INFINITY, f64::max))
    };
    let mut figures = Vec::new();
    let mut limits = std::mem::take(&mut outcome.limits);
    let warpage = |name: &str, metres: f64, k: usize| {
        let (low, high) = between(k);
        let mut figure = Figure::solved(name, metres * 1e6, "um", &basis).between(low, high);
        figure.error = checks.grid_error.map(|e| e * metres.abs() * 1e6);
        with_outside(figure, &shapes)
    };
    let form = |metres: f64| if metres > 0.0 { "convex, corners down" } else { "concave, corners up" };
    if let Some(room) = at(p.room_k) {
        // The ball field is smaller than the body of the hand check: scaled by the square of the diagonals.
        let scale = problem.balls.map_or(1.0, |b| {
            let body = &problem.substrate.plate;
            (b.extent_m[0].hypot(b.extent_m[1]) / body.width_m.hypot(body.height_m)).powi(2)
        });
        let mut figure = warpage("warpage_room", room.warpage_m, 0);
        figure.hand = checks.hand.map(|h| h * scale * 1e6);
        figures.push(figure);
        limits.insert("warpage_room".into(), form(room.warpage_m).into());
    }
    if let Some(peak) = at(p.reflow_peak_k) {
        figures.push(warpage("warpage_peak", peak.warpage_m, 1));
        limits.insert("warpage_peak".into(), form(peak.warpage_m).into());
    }
    let hot = outcome.curve.iter().filter(|c| c.temperature_k >= p.ball_liquidus_k - 1e-6);
    if let Some(worst) = hot.max_by(|a, b| a.warpage_m.abs().total_cmp(&b.warpage_m.abs())) {
        figures.push(warpage("warpage_max_hot", worst.warpage_m.abs(), 2));
        limits.insert("warpage_max_hot".into(), format!("at {}", celsius(worst.temperature_k)));
    }
    if let (Some(permissible), Some(balls)) = (outcome.permissible_m, problem.balls) {
        let basis = "JEITA ED-7306 (2007) table 1 at the next smaller pitch, as two documents quote it";
        let mut figure = Figure::hand("permissible_warpage", permissible * 1e6, "um", basis);
        if balls.pitch_m > 1.27e-3 * (1.0 + 1e-6) {
            figure =
                figure.outside("The pitch is larger than any in the table; the value of 1.27 mm is taken.");
        }
        figures.push(figure);
    } else if let Some(balls) = problem.balls {
        limits.insert(
            "permissible_warpage".into(),
            format!(
                "not given: the table begins at a pitch of 0.4 mm, this is {:.2} mm",
                balls.pitch_m * 1e3
            ),
        );
    }
    if let (Some(room), true) = (at(p.room_k), problem.balls.is_some()) {
        let basis = "bow of the ball field at room temperature about the least-squares plane (regression method of JESD22-B108); \
            equal balls, so their own spread is to be added";
        let figure = Figure::solved("ball_coplanarity", room.warpage_m.abs() * 1e6, "um", basis);
        figures.push(with_outside(figure, &shapes));
    }
    stresses(outcome, &shapes, &mut figures, &mut limits);
    outcome.figures = figures;
    outcome.limits = limits;
    notes(problem, outcome);
    advice(problem, outcome);
}

fn stresses(
    outcome: &Outcome,
    shapes: &[String],
    figures: &mut Vec<Figure>,
    limits: &mut std::collections::BTreeMap<String, String>,
) {
    if let Some(worst) = outcome.dies.iter().max_by(|a, b| a.tension_max_pa.total_cmp(&b.tension_max_pa)) {
        let basis = format!(
            "largest principal tension of back and active face away from the edge, over all temperatures; {PLATES}"
        );
        let figure = Figure::solved("die_stress_max", worst.tension_max_pa * 1e-6, "MPa", &basis);
        figures.push(with_outside(figure, shapes));
        limits.insert(
            "die_stress_max".into(),
            format!("die {}, {}, at {}", worst.name, worst.tension_on, celsius(worst.tension_at_k)),
        );
    }
    let known: Vec<f64> = outcome.dies.iter().filter_map(|d| d.failure_probability).collect();
    if !known.is_empty() {
        // Any die that breaks costs the package.
        let survives: f64 = known.iter().map(|p| (-p).ln_1p()).sum();
        let basis = "Weibull 1951 over the ground back and its edges as independent flaws, principal tensions independent (R. L. Barnett 1967), at the worst temperature";
        let value = -survives.exp_m1() * 100.0;
        let figure = Figure::solved("die_failure_probability", value, "%", basis);
        figures.push(with_outside(figure, shapes));
    } else {
        limits.insert(
            "die_failure_probability".into(),
            "not found, because no strength statistics of a die are given".into(),
        );
    }
    let loads = &outcome.edges;
    if let Some(worst) = loads.iter().max_by(|a, b| a.shear_max_pa.total_cmp(&b.shear_max_pa)) {
        figures.push(Figure::hand("underfill_shear_max", worst.shear_max_pa * 1e-6, "MPa", EDGE));
        limits.insert(
            "underfill_shear_max".into(),
            format!("{}, at {}", worst.name, celsius(worst.temperature_k)),
        );
    }
    if let Some(worst) = loads.iter().max_by(|a, b| a.peel_max_pa.total_cmp(&b.peel_max_pa)) {
        figures.push(Figure::hand("underfill_peel_max", worst.peel_max_pa * 1e-6, "MPa", EDGE));
        let clause = if worst.peel_max_pa > 0.0 {
            format!("{}, at {}", worst.name, celsius(worst.peel_at_k))
        } else {
            "the edge of the die is pressed on at every temperature".into()
        };
        limits.insert("underfill_peel_max".into(), clause);
    }
    if let Some(worst) = outcome.bond_lines.iter().max_by(|a, b| a.spread_room_m.total_cmp(&b.spread_room_m))
    {
        let basis = "thickest less thinnest place of the interface over a die at room temperature; the lid is flat when it is set down; lid as a \
            plate on springs of glue and interface";
        let mut figure = Figure::solved("bond_line_spread", worst.spread_room_m * 1e6, "um", basis);
        if worst.spread_room_m > worst.nominal_m {
            figure = figure.outside("It is more than the bond line is thick: the interface flows or the faces touch, which the springs do not know.");
        }
        figures.push(with_outside(figure, shapes));
        limits.insert("bond_line_spread".into(), format!("die {}", worst.name));
    }
}

/// Solids whose tables do not reach as far as the temperatures.
fn short_tables(problem: &Problem) -> Vec<String> {
    let p = &problem.process;
    let short = |t: &Table| match (t.first(), t.last()) {
        (Some(a), Some(b)) => t.len() > 1 && (a.0 > p.coldest_k + 30.0 || b.0 < p.reflow_peak_k - 30.0),
        _ => false,
    };
    let mut names: Vec<String> = solids(problem)
        .into_iter()
        .filter(|s| short(&s.modulus) || short(&s.expansion))
        .map(|s| s.name.clone())
        .collect();
    names.sort();
    names.dedup();
    names
}

fn solids(problem: &Problem) -> Vec<&Solid> {
    let plates = std::iter::once(&problem.substrate.plate)
        .chain(problem.interposer.as_ref().map(|i| &i.plate))
        .chain(problem.dies.iter().map(|d| &d.plate));
    let layers = plates
        .flat_map(|p| &p.layers)
        .chain(problem.dies.iter().filter_map(|d| d.interface.as_ref()))
        .chain(problem.cover.as_ref().map(|c| &c.adhesive));
    let mut list: Vec<&Solid> =
        layers.flat_map(|l| std::iter::once(&l.solid).chain(l.metal.as_ref().map(|m| &m.solid))).collect();
    let joints = problem.dies.iter().map(|d| &d.joints).chain(problem.interposer.as_ref().map(|i| &i.joints));
    for j in joints {
        list.push(&j.joint);
        list.extend(j.underfill.as_ref().map(|u| &u.solid));
    }
    list.extend(problem.cover.as_ref().map(|c| &c.solid));
    list
}

fn notes(problem: &Problem, outcome: &mut Outcome) {
    let p = &problem.process;
    let notes = &mut outcome.notes;
    if problem.substrate.received_bow_m.is_none() {
        notes.push(
            "No bow of the received substrate is given; it is taken as flat at room temperature.".into(),
        );
    }
    let filled = problem.has_underfill();
    let born = |name: &str, there: bool, kelvin: f64| {
        if there { format!(", {name} {}", celsius(kelvin)) } else { String::new() }
    };
    notes.push(format!(
        "Stress-free temperatures: bumps {}{}{}. Die side up, body free, heights at the underside of the substrate.",
        celsius(p.bump_solidus_k),
        born("underfill", filled, p.underfill_cure_k),
        born("glue", problem.cover.is_some(), p.cover_cure_k)
    ));
    if filled && p.underfill_cure_k >= p.bump_solidus_k {
        notes.push(format!(
            "The bumps are not solid at the cure of the underfill, {}; what they held before is taken as lost.",
            celsius(p.underfill_cure_k)
        ));
    } else if filled {
        notes.push(format!(
            "{:.0} % of what the bare joints hold is taken to creep away while the underfill cures; the spread of the warpage runs from nothing to all.",
            100.0 * p.crept_in_cure
        ));
    }
    notes.push(
        "Stress that grew while cooling is released the same way on heating; creep and relaxation after the cure are left out, so heating and cooling share one curve."
            .into(),
    );
    let short = short_tables(problem);
    if !short.is_empty() {
        notes.push(format!(
            "Data of {} end more than 30 K inside the temperatures asked for; the last value goes on.",
            short.join(", ")
        ));
    }
    if problem.cover.is_some() {
        notes.push("Ring or lid is set down flat without clamp force; no spring-back is counted.".into());
    }
    if problem.interposer.is_some() {
        notes.push(
            "Interposer and dies are joined at one temperature, and their underfills cure at one.".into(),
        );
    }
    // A jump of the sign against the slope before and after it.
    let flips = outcome.curve.windows(4).find(|w| {
        let slope =
            |k: usize| (w[k + 1].warpage_m - w[k].warpage_m) / (w[k + 1].temperature_k - w[k].temperature_k);
        let around = slope(0).abs().max(slope(2).abs());
        w[1].warpage_m * w[2].warpage_m < 0.0 && slope(1).abs() > 3.0 * around
    });
    if let Some(w) = flips {
        notes.push(format!(
            "Between {} and {} the sign changes without the warpage passing zero: the shape is no simple bow there, and the rule of the diagonals turns over.",
            celsius(w[1].temperature_k),
            celsius(w[2].temperature_k)
        ));
    }
    for bond in &outcome.bond_lines {
        if bond.opening_max_m > 0.5 * bond.nominal_m {
            notes.push(format!(
                "The bond line over die {} opens by up to {} of its {}: a paste may pump out, an adhesive may tear.",
                bond.name,
                um(bond.opening_max_m),
                um(bond.nominal_m)
            ));
        }
    }
    if let (Some(permissible), true) = (outcome.permissible_m, problem.balls.is_some()) {
        let over: Vec<&crate::outcome::CurvePoint> = outcome
            .curve
            .iter()
            .filter(|c| c.temperature_k >= p.ball_solidus_k - 1e-6 && c.warpage_m.abs() > permissible)
            .collect();
        if let Some(first) = over.first() {
            notes.push(format!(
                "Above the solidus of the balls the warpage passes the permissible {} first at {}.",
                um(permissible),
                celsius(first.temperature_k)
            ));
        }
    }
}

fn advice(problem: &Problem, outcome: &mut Outcome) {
    let advice = &mut outcome.advice;
    let largest = problem.dies.iter().map(|d| d.plate.width_m.max(d.plate.height_m)).fold(0.0, f64::max);
    if problem.cover.is_none() && largest > 8e-3 {
        advice.push(format!(
            "Packages without ring or lid suit dies up to about 8 mm; this one has {:.1} mm (common practice, no source).",
            largest * 1e3
        ));
    }
    if problem.balls.is_some() {
        advice.push(
            "The permissible warpage is no proof of yield: an industry group (SMT Magazine, August 2015) saw open joints at 0.10 to 0.15 mm concave inside the \
             standard and proposes 0.09 mm above 150 degC."
                .into(),
        );
    }
    if problem.cover.as_ref().is_some_and(|c| c.kind == CoverKind::Ring && c.band_m < 3e-3) {
        advice.push("Rings less than 3 mm wide stiffen little (common practice, no source).".into());
    }
    if outcome.dies.iter().any(|d| d.tension_max_pa > 100e6) {
        advice.push(
            "Keep the tension of a ground back below 100 to 120 MPa at the coldest temperature (common practice, no source). Dies that break throw \
             splinters: protect eyes at strength tests."
                .into(),
        );
    }
    advice.push(
        "Measure one radius of curvature at room temperature and set the stress-free temperature or the substrate's expansion by it before trusting the rest \
         (J.-H. Zhao 2005)."
            .into(),
    );
}
