//! Figures, limits and notes of an array, from its numbers.

use crate::equilibrium::{Ends, GRAVITY, Member, NoRest};
use crate::gap::Levels;
use crate::margins;
use crate::metal::{self, MetalStudy, Spread};
use crate::outcome::{ArrayOutcome, GapSpread, MetalLeft, Outcome};
use crate::problem::{Array, GapMap, Metal, Supply};
use crate::settle::{Settled, bond_number, settle};
use crate::solve::Melting;
use facedown_evidence::Figure;

/// Whose joints they are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Naming {
    Bumps,
    Balls,
}

impl Naming {
    /// The name of a figure in the outcome: shapes of bumps begin with `joint_`, everything of balls with `ball_`.
    fn figure(self, name: &str) -> String {
        let shape = matches!(name, "height" | "width" | "neck" | "force" | "angle");
        match self {
            Naming::Balls => format!("ball_{name}"),
            Naming::Bumps if shape => format!("joint_{name}"),
            Naming::Bumps => name.into(),
        }
    }

    fn words(self) -> &'static str {
        match self {
            Naming::Bumps => "the joints under the die",
            Naming::Balls => "the balls",
        }
    }
}

const SURFACE: &str = "surface of constant mean curvature between pinned rims, at rest under the carried weight (Delaunay 1841; truncated sphere without load, Goldmann 1969)";

/// A number on its way to a figure.
struct Number {
    name: &'static str,
    value: f64,
    unit: &'static str,
    basis: &'static str,
}

fn numbers(array: &Array, s: &Settled) -> Vec<Number> {
    let mut list = Vec::new();
    let mut add = |name, value, unit, basis| list.push(Number { name, value, unit, basis });
    add("height", s.heights[0] * 1e6, "um", SURFACE);
    add("width", s.width * 1e6, "um", SURFACE);
    add("neck", s.neck * 1e6, "um", SURFACE);
    add("angle", s.angle.to_degrees(), "deg", SURFACE);
    add(
        "force",
        s.rest.load / s.touching * 1e6,
        "uN",
        "carried weight, extra force and half the solder's own weight, over the joints that touch",
    );
    add("stand_off", s.rest.gap * 1e6, "um", SURFACE);
    add(
        "vertical_stiffness",
        s.vertical,
        "N/m",
        "-dF/dh of the capillary surface at constant volume, exact derivative; mean of one joint",
    );
    add(
        "lateral_stiffness",
        s.lateral,
        "N/m",
        "first-order shift of the capillary surface (rigid motions of a surface of constant mean curvature); mean of one joint",
    );
    if let Some(margin) = s.bridging {
        add(
            "bridging_margin",
            margin.distance * 1e6,
            "um",
            "pitch less the widest neighbours and the misplacement, before and after joining",
        );
        add(
            "bridging_free_share",
            margin.distance / array.pitch * 100.0,
            "%",
            "bridging margin over the pitch",
        );
    }
    if let Some(margin) = s.non_wet {
        add(
            "non_wet_margin",
            margin.distance * 1e6,
            "um",
            "height of bump and deposit (caps of spheres, Goldmann 1969) less its shortfall, less the widest local gap at rest",
        );
    }
    if let Some(pull) = s.pull {
        add(
            "pull_limit",
            pull * 1e6,
            "uN",
            "largest tension of the capillary surface along its branch, weakest kind",
        );
    }
    let mass = array.carried_mass;
    if mass > 0.0 && s.lateral_total > 0.0 {
        let frequency = (s.lateral_total / mass).sqrt() / std::f64::consts::TAU;
        add(
            "alignment_frequency",
            frequency,
            "Hz",
            "sqrt(K/m)/2pi, undamped, of the carried part on its liquid joints",
        );
    }
    list
}

/// Reports one array; its plain result where it comes to rest.
pub(crate) fn report_array(
    array: &Array,
    naming: Naming,
    melting: Melting,
    out: &mut Outcome,
) -> Option<ArrayOutcome> {
    let members: Vec<Member> = array.joints.iter().map(Member::new).collect();
    let levels = Levels::new(&array.gap_map);
    report_volume(array, &members, naming, out);
    if let Some(superheat) = melting.superheat.filter(|&superheat| superheat <= 0.0) {
        let clause = format!(
            "set by the reflow, whose peak lies {:.0} K below the liquidus of {}",
            -superheat, array.solder.name
        );
        refuse(naming, &clause, out);
        out.notes.push(format!(
            "The solder of {} does not melt: the peak lies {:.0} K below the liquidus of {} at {:.0} degC. Raise the peak or choose another solder.",
            naming.words(),
            -superheat,
            array.solder.name,
            array.solder.liquidus - 273.15
        ));
        return None;
    }
    let settled = match settle(array, &members, &levels, array.solder.surface_tension) {
        Ok(settled) => settled,
        Err(why) => {
            let (clause, sentence) = no_rest(naming, why);
            refuse(naming, clause, out);
            out.notes.push(sentence);
            return None;
        }
    };
    let ends: Vec<Settled> = array
        .solder
        .surface_tension_range
        .iter()
        .flatten()
        .filter_map(|&tension| settle(array, &members, &levels, tension).ok())
        .collect();
    let sentences = outside(array, &members, &settled);
    for number in numbers(array, &settled) {
        let mut figure = Figure::hand(&naming.figure(number.name), number.value, number.unit, number.basis);
        let others: Vec<f64> = ends
            .iter()
            .filter_map(|end| numbers(array, end).into_iter().find(|n| n.name == number.name))
            .map(|n| n.value)
            .collect();
        if others.len() == 2 {
            let low = others.iter().copied().fold(number.value, f64::min);
            let high = others.iter().copied().fold(number.value, f64::max);
            // A radius that a pad pins differs by rounding only.
            if high - low > 1e-9 * number.value.abs() {
                figure = figure.between(low, high);
                figure.basis.push_str("; between the least and largest surface tension of the sources");
            }
        }
        for sentence in &sentences {
            figure = figure.outside(sentence);
        }
        if matches!(number.name, "height" | "stand_off") {
            figure.error = settled.height_error.map(|e| e * 1e6);
            let of = |[height, gap]: [f64; 2]| {
                if number.name == "stand_off" { gap } else { height + levels.least }
            };
            figure.hand = settled.by_sphere.map(|both| of(both) * 1e6);
        }
        out.figures.push(figure);
    }
    report_limits(array, naming, &settled, out);
    report_notes(array, naming, &members, &settled, out);
    let metal = melting.history.as_ref().and_then(|history| metal::study(array, &members, history));
    if let Some(study) = &metal {
        report_metal(array, naming, study, &melting, out);
    }
    report_gold(array, naming, &members, out);
    let gaps: Vec<f64> = ends.iter().map(|end| end.rest.gap).collect();
    Some(ArrayOutcome {
        stand_off: settled.rest.gap,
        stand_off_spread: GapSpread {
            height: by_height(array, &levels, settled.rest.gap),
            bow: levels.deviation(),
            // Of an even distribution between the ends: their distance over the root of twelve.
            tension: match gaps[..] {
                [low, high] => (high - low).abs() / 12_f64.sqrt(),
                _ => 0.0,
            },
        },
        stand_off_least: settled.rest.gap + levels.least,
        stand_off_most: settled.rest.gap + levels.most,
        load: array.carried_mass * GRAVITY + array.extra_force,
        vertical_stiffness_total: settled.vertical_total,
        lateral_stiffness_total: settled.lateral_total,
        open_joints: settled.rest.open,
        metal_left: metal
            .map(|study| {
                let layers = array.metallisation.iter().zip(study.central.left);
                layers.map(|(l, after)| MetalLeft { metal: l.metal, before: l.thickness, after }).collect()
            })
            .unwrap_or_default(),
        kinds: settled.kinds,
    })
}

/// By how much the gap changes with the height of all bumps before joining, m, for one standard deviation of it (a third of the
/// shortfall that the array is judged by). Nothing where the supply is not told by a height, or does not come to rest.
fn by_height(array: &Array, levels: &Levels, gap: f64) -> f64 {
    let deviation = array.height_shortfall / 3.0;
    let mut lower = array.clone();
    let mut told = false;
    for supply in lower.joints.iter_mut().flat_map(|kind| &mut kind.upper_solder) {
        if let Supply::Reflowed { height, .. } = supply
            && *height > deviation
        {
            *height -= deviation;
            told = true;
        }
    }
    if !told || deviation <= 0.0 {
        return 0.0;
    }
    let members: Vec<Member> = lower.joints.iter().map(Member::new).collect();
    settle(&lower, &members, levels, lower.solder.surface_tension).map_or(0.0, |s| (gap - s.rest.gap).abs())
}

fn refuse(naming: Naming, clause: &str, out: &mut Outcome) {
    for name in ["height", "width", "stand_off", "bridging_margin", "non_wet_margin"] {
        out.limits.insert(naming.figure(name), clause.into());
    }
}

fn no_rest(naming: Naming, why: NoRest) -> (&'static str, String) {
    let joints = naming.words();
    match why {
        NoRest::LiftsOff => (
            "set by the upward force, which the liquid joints cannot hold",
            format!("The upward force on the part is more than {joints} can hold while liquid; lower it."),
        ),
        NoRest::NoneTouches => (
            "set by the gap, which no bump bridges",
            format!("None of {joints} bridges the gap; raise the bumps, add solder, or flatten the parts."),
        ),
        NoRest::Crushed => (
            "set by the load or the gap, which presses the solder out between the pads",
            format!(
                "Some of {joints} are pressed flat: the solder runs far over the edges of their pads. Make the part lighter, the load smaller or the parts flatter, or give them more joints or larger pads."
            ),
        ),
        NoRest::Lost => (
            "set by numbers that are too far from a joint for the method",
            format!(
                "No rest was found for {joints}: their pads, volumes and load are too far from those of a joint."
            ),
        ),
    }
}

fn report_volume(array: &Array, members: &[Member], naming: Naming, out: &mut Outcome) {
    let present = || members.iter().filter(|m| m.count > 0.0);
    let (count, sum) = present().fold((0.0, 0.0), |(c, v), m| (c + m.count, v + m.count * m.joint.volume));
    out.figures.push(Figure::hand(
        &naming.figure("solder_volume"),
        sum / count * 1e18,
        "um3",
        "volumes by process: plated (Pappus), pillar cap, paste, ball, reflowed cap (Goldmann 1969); mean of one joint",
    ));
    let supplies = array.joints.iter().flat_map(|k| k.upper_solder.iter().chain(&k.lower_solder));
    if let Some(ratio) = supplies.filter_map(Supply::area_ratio).reduce(f64::min).filter(|&r| r < 0.66) {
        out.advice.push(format!(
            "The least area ratio of a stencil aperture is {ratio:.2}; below 0.66 paste releases unsurely (IPC-7525, from memory)."
        ));
    }
}

/// Sentences that say which validity range is left.
fn outside(array: &Array, members: &[Member], settled: &Settled) -> Vec<String> {
    let mut sentences = Vec::new();
    if settled.ends == Ends::Overruns {
        sentences.push(
            "Some joints are pressed until the solder runs over the edge of a pad (180 degrees), where pinned rims hold no longer; their force is continued in a straight line."
                .into(),
        );
    }
    if settled.ends == Ends::Parts {
        sentences.push("Some joints are stretched until they part; they carry nothing.".into());
    }
    let bond = bond_number(array, members);
    if bond > 0.05 {
        sentences.push(format!(
            "The Bond number is {bond:.3}; above 0.05 the weight of the solder bends the outline itself, which is left out."
        ));
    }
    sentences
}

fn report_limits(array: &Array, naming: Naming, s: &Settled, out: &mut Outcome) {
    let mut set = |name: &str, clause: String| {
        out.limits.insert(naming.figure(name), clause);
    };
    let kind = |index: usize| array.joints.get(index).map_or("", |k| k.name.as_str());
    if s.heights[1] - s.heights[0] > 1e-9 {
        let range = format!(
            "set by the lowest of joints from {:.1} um to {:.1} um",
            s.heights[0] * 1e6,
            s.heights[1] * 1e6
        );
        set("height", range);
    }
    if let Some(m) = s.bridging {
        let when = if m.before_joining { "bumps as made" } else { "joints" };
        set(
            "bridging_margin",
            format!("set by the {when} of \"{}\" at a pitch of {:.0} um", kind(m.kind), array.pitch * 1e6),
        );
    }
    if let Some(m) = s.non_wet {
        let mut clause = format!("set by \"{}\"", kind(m.kind));
        if array.height_shortfall > 0.0 {
            clause.push_str(&format!(", its lowest bump {:.1} um short", array.height_shortfall * 1e6));
        }
        if array.gap_map != GapMap::Flat {
            clause.push_str(", where the gap is widest");
        }
        set("non_wet_margin", clause);
    }
}

fn report_notes(array: &Array, naming: Naming, members: &[Member], s: &Settled, out: &mut Outcome) {
    let joints = naming.words();
    if s.rest.open > 0.0 {
        out.notes.push(format!(
            "About {:.0} of {:.0} of {joints} do not touch the other part at the gap where the rest carries it.",
            s.rest.open.max(1.0),
            s.rest.open + s.touching
        ));
    }
    if let Some(kind) = s.pulling {
        out.notes.push(format!(
            "Of {joints} those of \"{}\" hang in tension, {:.1} uN each: the joints with more solder carry the part.",
            s.kinds[kind].name,
            -s.kinds[kind].force * 1e6
        ));
    }
    let angle = s.angle.to_degrees();
    if angle > 150.0 && s.ends != Ends::Overruns {
        out.notes.push(format!(
            "The solder of {joints} stands at {angle:.0} degrees to a pad; beyond about 150 degrees it touches mask or passivation."
        ));
    }
    if let Some(share) = s.bridging.map(|m| m.distance / array.pitch).filter(|&share| share < 0.25) {
        out.advice.push(format!(
            "Between neighbours of {joints} {:.0} % of the pitch stay free; 25 to 30 % and more is common practice.",
            share * 100.0
        ));
    }
    let narrowest = members
        .iter()
        .filter(|m| m.count > 0.0)
        .map(|m| m.joint.lower.min(m.joint.upper))
        .fold(f64::INFINITY, f64::min);
    if array.misplacement > narrowest {
        out.notes.push(format!(
            "A misplacement of {:.0} um is more than half of the smallest pad of {joints}: it may not find its way home. Up to a quarter or half of the pad is common practice.",
            array.misplacement * 1e6
        ));
    }
    let filled = array
        .joints
        .iter()
        .zip(members)
        .filter_map(|(kind, member)| margins::bridging_volume_share(kind, member, array.pitch));
    if let Some(share) = filled.reduce(f64::max) {
        out.figures.push(Figure::hand(
            &naming.figure("bridging_volume_share"),
            share * 100.0,
            "%",
            "solder volume over the volume at which equal neighbours touch without load (truncated sphere, Goldmann 1969)",
        ));
    }
    if naming == Naming::Bumps {
        if s.rest.gap < 50e-6 {
            out.advice.push(format!(
                "The gap of {:.0} um leaves little room to clean flux residue from; 50 um and more is common practice before capillary underfill.",
                s.rest.gap * 1e6
            ));
        }
        if !array.solder.leaded && array.pitch < 130e-6 {
            out.advice.push(format!(
                "A pitch of {:.0} um is below what solder bumps are plated at (about 130 um; 200 um is usual): copper pillars or micro bumps are common practice.",
                array.pitch * 1e6
            ));
        }
    }
}

fn metal_figure(naming: Naming, name: &str, spread: Spread, scale: f64, unit: &str, basis: &str) -> Figure {
    Figure::hand(&naming.figure(name), spread.value * scale, unit, basis)
        .between(spread.between[0] * scale, spread.between[1] * scale)
}

const REACTION: &str = "metal per reflow (from memory), then x^2 = x0^2 + k t; activation energies of Ni3Sn4 67 to 172 kJ/mol as published, of Cu6Sn5 60 to 128 kJ/mol; central estimate between all corners";

fn report_metal(array: &Array, naming: Naming, study: &MetalStudy, melting: &Melting, out: &mut Outcome) {
    let mut figures = vec![
        metal_figure(naming, "ubm_left", study.left, 1e6, "um", REACTION),
        metal_figure(naming, "ubm_used", study.used, 1e6, "um", REACTION),
        metal_figure(
            naming,
            "ubm_margin",
            study.margin,
            1e6,
            "um",
            "metal left less a reserve of half of the use, at least 0.5 um (common practice)",
        ),
    ];
    let capped = |v: f64| v.min(1.0);
    let reacted = Spread { value: capped(study.reacted.value), between: study.reacted.between.map(capped) };
    figures.push(metal_figure(
        naming,
        "solder_reacted",
        reacted,
        100.0,
        "%",
        "tin in the compounds of both pads over the solder of the joint; stoichiometry of Cu6Sn5 and Ni3Sn4",
    ));
    if let Some(peak) = melting.peak.filter(|&peak| peak > 533.15) {
        let sentence = format!(
            "The peak is {:.0} degC; the metal that a reflow takes is known up to 250 degC, and copper and nickel go faster above.",
            peak - 273.15
        );
        figures = figures.into_iter().map(|f| f.outside(&sentence)).collect();
    }
    out.figures.extend(figures);
    let joints = naming.words();
    if study.reacted.between[1] > 1.0 {
        let whether = if study.reacted.value > 1.0 { "is" } else { "may be" };
        out.notes.push(format!(
            "The solder of {joints} {whether} used up by compounds over reflows and storage; what stays is a joint of compound, harder and more brittle."
        ));
    }
    if study.central.through {
        out.notes.push(format!(
            "Under {joints} the solderable metal is used up: solder reaches a layer that it does not wet. Make it thicker, or put nickel in."
        ));
    } else if study.may_get_through {
        out.notes.push(format!(
            "Under {joints} the solderable metal lasts by the central estimate, but not by the quickest published rates."
        ));
    }
    let copper: f64 =
        array.metallisation.iter().filter(|l| l.metal == Metal::Copper).map(|l| l.thickness).sum();
    let nickel =
        array.metallisation.iter().any(|l| matches!(l.metal, Metal::Nickel | Metal::NickelPhosphorus));
    if !nickel && copper < 5e-6 && !array.solder.leaded {
        out.advice.push(format!(
            "Copper of {:.1} um without nickel under a solder rich in tin: 5 um and more is common practice for several reflows.",
            copper * 1e6
        ));
    }
    if array.metallisation.iter().any(|l| l.metal == Metal::NickelPhosphorus) {
        out.advice.push("Electroless nickel leaves a band rich in phosphorus under the compound, where cracks start: count its thickness too (common practice).".into());
    }
}

fn report_gold(array: &Array, naming: Naming, members: &[Member], out: &mut Outcome) {
    let share = metal::gold_share(array, members);
    if share <= 0.0 {
        return;
    }
    out.figures.push(Figure::hand(
        &naming.figure("gold_share"),
        share * 100.0,
        "%",
        "mass of gold of both pads over the mass of the solder",
    ));
    if share > 0.03 {
        out.notes.push(format!(
            "Gold makes up {:.1} % of the mass of {}; above about 3 % the joint turns brittle (from memory). Thin the gold or add solder.",
            share * 100.0,
            naming.words()
        ));
    }
}
