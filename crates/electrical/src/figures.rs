//! The figures of the study, what limits each, and what a reader must know.

use crate::compare::{bounce, worst};
use crate::nets::{Common, ratio, strip_of};
use crate::outcome::{NetOutcome, Outcome};
use crate::problem::{Kind, Problem};
use crate::spreading::RATIO_LIMIT;
use crate::{bumped, inductance, line};
use facedown_evidence::Figure;

/// Temperatures between which a resistivity is taken as linear, K.
const LINEAR_K: (f64, f64) = (200.0, 500.0);

fn at_temperature(problem: &Problem, figure: Figure) -> Figure {
    let t = problem.temperature_k;
    if (LINEAR_K.0..=LINEAR_K.1).contains(&t) {
        return figure;
    }
    figure.outside(&format!(
        "The temperature is {t:.0} K; resistivities are taken as linear from {:.0} to {:.0} K.",
        LINEAR_K.0, LINEAR_K.1
    ))
}

/// Fills figures, limits, notes and advice of an outcome.
pub(crate) fn add(problem: &Problem, common: &Common, outcome: &mut Outcome) {
    connections(problem, common, outcome);
    traces(problem, outcome);
    currents(problem, outcome);
    bounces(problem, outcome);
    words(problem, outcome);
}

fn connections(problem: &Problem, common: &Common, outcome: &mut Outcome) {
    let (bump, wire) = (outcome.bump, outcome.wire);
    let (radius, height) = bumped::bar(&problem.bump);
    let slices = "pieces in series at temperature, equipotential slices (lower bound)";
    let bar = "Neumann's integral averaged over the cross-section of a bar of the bump's height and volume";
    let list = &mut outcome.figures;
    list.push(at_temperature(
        problem,
        Figure::hand("bump_resistance", bump.resistance_ohm * 1e3, "mohm", slices),
    ));
    list.push(at_temperature(
        problem,
        Figure::hand("wire_resistance", wire.resistance_ohm * 1e3, "mohm", "rho l/A at temperature"),
    ));
    if problem.rdl.via.is_some() {
        list.push(at_temperature(
            problem,
            Figure::hand("via_resistance", common.via * 1e3, "mohm", "rho h/A at temperature"),
        ));
    }
    let mut partial = Figure::hand("bump_inductance", bump.partial_h * 1e12, "pH", bar);
    partial.hand = Some(inductance::rosa_wire(height, radius) * 1e12);
    list.push(partial);
    list.push(Figure::hand(
        "bump_loop_inductance",
        bump.loop_h * 1e12,
        "pH",
        "2 (L - M) with a neighbour at the pitch as return (Ruehli 1972)",
    ));
    let over = problem.wire.length_m
        * inductance::wire_over_plane(bumped::mean_height(&problem.wire), problem.wire.diameter_m / 2.0);
    let mut long = Figure::hand(
        "wire_inductance",
        wire.partial_h * 1e9,
        "nH",
        "Neumann's integral averaged over the cross-section of a straight wire; lower end over a plane, acosh(h/r)",
    )
    .between(over * 1e9, wire.partial_h * 1e9);
    long.hand = Some(inductance::rosa_wire(problem.wire.length_m, problem.wire.diameter_m / 2.0) * 1e9);
    list.push(long);
    list.push(Figure::hand(
        "wire_loop_inductance",
        wire.loop_h * 1e9,
        "nH",
        "2 (L - M) with the neighbouring wire as return (Ruehli 1972)",
    ));
    list.push(Figure::hand(
        "inductance_ratio",
        wire.loop_h / bump.loop_h,
        "",
        "loop of two wires over loop of two bumps, traces left out",
    ));
    outcome.limits.insert(
        "bump_resistance".into(),
        outcome
            .bump_pieces
            .iter()
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(name, r)| {
                format!("set by its {name}, {:.3} mohm of {:.3}", r * 1e3, bump.resistance_ohm * 1e3)
            })
            .unwrap_or_default(),
    );
}

fn traces(problem: &Problem, outcome: &mut Outcome) {
    let Some(trace) = outcome.trace else {
        for name in ["trace_impedance", "trace_capacitance_max", "trace_resistance_max", "trace_delay_max"] {
            outcome.limits.insert(name.into(), "not judged, since no net has a trace".into());
        }
        return;
    };
    let form = "Hammerstad and Jensen 1980 with thickness; cover by Wheeler 1965, taken as thick";
    let mut figures = vec![Figure::hand("trace_impedance", trace.impedance_ohm, "ohm", form)];
    let mut limits = Vec::new();
    let mut push = |name: &str, of: fn(&NetOutcome) -> f64, scale: f64, unit: &str, basis: &str| {
        if let Some(net) = worst(&outcome.nets, of) {
            figures.push(Figure::hand(name, of(net) * scale, unit, basis));
            limits.push((name.to_string(), format!("set by net {}", net.name)));
        }
    };
    push("trace_capacitance_max", |n| n.trace_capacitance_f, 1e12, "pF", form);
    push("trace_delay_max", |n| n.trace_delay_s, 1e12, "ps", form);
    push(
        "trace_resistance_max",
        |n| n.trace_resistance_ohm,
        1e3,
        "mohm",
        "squares of the longest path at temperature, corners by Hall 1967, vias in series",
    );
    let mut sentences: Vec<String> = problem
        .nets
        .iter()
        .filter(|n| n.trace_length_m > 0.0)
        .filter_map(|n| line::outside(&strip_of(problem, n)))
        .collect();
    sentences.dedup();
    for mut figure in figures {
        if figure.name == "trace_resistance_max" {
            figure = at_temperature(problem, figure);
        } else if let Some(sentence) = sentences.first() {
            figure = figure.outside(sentence);
        }
        outcome.figures.push(figure);
    }
    outcome.limits.extend(limits);
}

fn currents(problem: &Problem, outcome: &mut Outcome) {
    if let Some(net) = worst(&outcome.nets, |n| n.bump_current_max_a) {
        let given = "current of the net over its bumps times the crowding given";
        outcome.figures.push(Figure::hand("bump_current_max", net.bump_current_max_a * 1e3, "mA", given));
        outcome.figures.push(Figure::hand(
            "bump_current_density_max",
            net.bump_current_density_a_m2 * 1e-4,
            "A/cm2",
            "the same over the narrowest cross-section of the bump, even over it",
        ));
        let clause = format!("set by net {} with {} bumps", net.name, net.bumps);
        outcome.limits.insert("bump_current_density_max".into(), clause.clone());
        outcome.limits.insert("bump_current_max".into(), clause);
    }
    let of_kind = |kind: Kind| worst(outcome.nets.iter().filter(move |n| n.kind == kind), NetOutcome::drop_v);
    let (supply, ground) = (of_kind(Kind::Supply), of_kind(Kind::Ground));
    let both: Vec<&NetOutcome> = supply.into_iter().chain(ground).collect();
    let basis = "bump, plane to the corner of the bump's area (Hasimoto 1959), and trace in series";
    let Some(most) = worst(both.iter().copied(), NetOutcome::drop_v) else {
        for name in ["supply_drop_max", "supply_drop_pair"] {
            outcome.limits.insert(name.into(), "not judged, since no net is a supply or a ground".into());
        }
        heat(problem, outcome);
        return;
    };
    let largest =
        problem.nets.iter().filter_map(|n| n.plane.as_ref().map(|p| ratio(n, p))).fold(0.0, f64::max);
    let judged = |figure: Figure| {
        let figure = at_temperature(problem, figure);
        if largest <= RATIO_LIMIT {
            return figure;
        }
        figure.outside(&format!(
            "A bump's contact is {:.0} % of the side of its area in radius; the form holds to {:.0} %.",
            largest * 100.0,
            RATIO_LIMIT * 100.0
        ))
    };
    let wired = worst(outcome.nets.iter().filter(|n| n.kind != Kind::Signal), |n| n.drop_wired_v);
    let mut figures = vec![
        judged(Figure::hand("supply_drop_max", most.drop_v() * 1e3, "mV", basis)),
        judged(Figure::hand(
            "supply_drop_pair",
            both.iter().map(|n| n.drop_v()).sum::<f64>() * 1e3,
            "mV",
            "largest drop of a supply and largest drop of a ground together",
        )),
    ];
    if let Some(wired) = wired {
        figures.push(at_temperature(
            problem,
            Figure::hand(
                "supply_drop_wired",
                wired.drop_wired_v * 1e3,
                "mV",
                "the same plane fed from its four edges over wires (membrane series)",
            ),
        ));
    }
    let parts = [("bump", most.drop_bump_v), ("plane", most.drop_plane_v), ("trace", most.drop_trace_v)];
    if let Some((part, volts)) = parts.iter().max_by(|a, b| a.1.total_cmp(&b.1)) {
        outcome.limits.insert(
            "supply_drop_max".into(),
            format!(
                "set by the {part} of net {}, {:.3} mV of {:.3}",
                most.name,
                volts * 1e3,
                most.drop_v() * 1e3
            ),
        );
    }
    outcome.figures.extend(figures);
    heat(problem, outcome);
}

fn heat(problem: &Problem, outcome: &mut Outcome) {
    outcome.figures.push(at_temperature(
        problem,
        Figure::hand(
            "joule_heat",
            outcome.joule.total_w() * 1e3,
            "mW",
            "I2R of bumps, traces, vias and planes, bumps sharing evenly (lower bound)",
        ),
    ));
    if let Some(net) = worst(&outcome.nets, |n| n.joule.total_w()) {
        outcome.limits.insert(
            "joule_heat".into(),
            format!("most of it in net {}, {:.3} mW", net.name, net.joule.total_w() * 1e3),
        );
    }
}

fn bounces(problem: &Problem, outcome: &mut Outcome) {
    let s = &problem.switching;
    let basis = "L n di/dt over the supply-and-return pairs, pairs uncoupled";
    for (name, of) in [("supply_bounce", outcome.bump.loop_h), ("supply_bounce_wired", outcome.wire.loop_h)] {
        outcome.figures.push(Figure::hand(name, bounce(of, s) * 1e3, "mV", basis));
    }
}

fn words(problem: &Problem, outcome: &mut Outcome) {
    outcome.notes.push(
        "A bump or a wire alone has no inductance of its own: the loop figures take the nearest neighbour as return."
            .into(),
    );
    outcome.notes.push(format!(
        "Resistances are at {:.1} degC and for direct current; plated metal can be 10 to 20 % above its table by \
         roughness and barrier (common practice, no source).",
        problem.temperature_k - 273.15
    ));
    outcome.notes.push(
        "Before power is applied to a part, follow local electrical safety codes, the supply's manual and licensed practice."
            .into(),
    );
    if let Some(net) = worst(&outcome.nets, |n| n.trace_delay_s) {
        let (delay, edge) = (net.trace_delay_s, problem.switching.edge_time_s);
        if delay > edge / 6.0 {
            outcome.notes.push(format!(
                "The trace of net {} delays by {:.1} ps, over a sixth of the edge of {:.1} ps: treat it as a line.",
                net.name,
                delay * 1e12,
                edge * 1e12
            ));
        }
    }
    outcome.advice.extend(
        [
            "A trace is short where its delay stays under a sixth of the edge (common practice, no source).",
            "The drop of a supply, still and moving together, is kept within 5 to 10 % of its voltage (common practice, no source).",
            "Fast buses have one ground bump for two to four signal bumps (common practice, no source).",
        ]
        .map(String::from),
    );
}
