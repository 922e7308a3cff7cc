//! From a die of the design to the redistribution problem: SI to whole nanometres, sizes and rules that the design
//! leaves open, bumps and widths that currents ask for.

use facedown_layout::{Point, Polygon};
use facedown_package::bump_sites::Sites;
use facedown_package::rdl_rules::RdlRules;
use facedown_package::{
    AssignmentMode as Written, BumpSite, Die, Net, NetClass, Pad as DiePad, PlaneKind, TraceStyle,
};
use facedown_quantity::Nm;
use facedown_redistribution::{
    AssignmentMode, KeepOut, Mesh, NetSpec, Pad, Plane, Problem, Rules, Site, Slots, Style,
};
use std::collections::BTreeMap;

/// Largest direct current density in RDL metal, A/m2: 1e5 A/cm2 in copper near 100 degC (common practice, no source).
pub const RDL_CURRENT_DENSITY: f64 = 1e9;
/// Metal thickness where the design gives none, m: 5 um (common practice, no source).
const RDL_THICKNESS_M: f64 = 5e-6;

/// The redistribution problem of a flip die with redistribution layers, and sentences on what was assumed; nothing
/// when the die has no redistribution layer or no bumps.
pub fn routing_problem(die: &Die) -> Option<(Problem, Vec<String>)> {
    let (rdl, bumps) = (die.rdl_rules()?, die.bumps.as_ref()?);
    let sizes = bumps.sizes();
    let mut notes = vec![format!(
        "Die {}: {} at {} pitch, UBM {}, capture pad {}.",
        die.name,
        technology_words(sizes.technology),
        sizes.pitch,
        sizes.ubm,
        sizes.capture
    )];
    let found = die.sites();
    note_dropped(die, &found, &mut notes);
    let (assignment, keep_nets) = assignment(die, &found.sites);
    let pads: Vec<DiePad> = die.pads();
    let open = pads.iter().filter(|p| p.net.is_empty()).count();
    if open > 0 {
        let pads = if open == 1 {
            "1 pad carries no net and is"
        } else {
            &format!("{open} pads carry no net and are")
        };
        notes.push(format!("Die {}: {pads} left alone.", die.name));
    }
    let rules = Rules {
        line: rdl.line,
        space: rdl.space,
        edge_clearance: rdl.edge_clearance,
        landing_enclosure: rdl.landing_enclosure,
        capture: sizes.capture,
        ubm: sizes.ubm,
        bump_opening: sizes.opening,
        bump: sizes.bump,
        pad_opening_inset: rdl.pad_opening_inset,
        via: rdl.via,
        via_enclosure: rdl.via_enclosure,
        slots: rdl.max_metal_width.map(|widest| Slots { widest, side: rdl.slot }),
    };
    let nets = net_wishes(die, &rdl, &pads, &rules, &mut notes);
    note_planes(die, &rdl, &nets, &mut notes);
    let problem = Problem {
        name: die.name.to_string(),
        width: length(die.width.si()),
        height: length(die.height.si()),
        pads: pads.into_iter().filter(|p| !p.net.is_empty()).map(pad).collect(),
        sites: found.sites.into_iter().map(|site| place(site, keep_nets)).collect(),
        rules,
        layers: u8::try_from(rdl.layers).unwrap_or(u8::MAX),
        style: match rdl.style {
            TraceStyle::AnyAngle => Style::AnyAngle,
            TraceStyle::Octilinear => Style::Octilinear,
        },
        assignment,
        nets,
        keep_outs: keep_outs(die),
    };
    Some((problem, notes))
}

fn technology_words(technology: facedown_package::BumpTechnology) -> &'static str {
    match technology {
        facedown_package::BumpTechnology::CopperPillar => "copper pillars",
        facedown_package::BumpTechnology::MicroBump => "micro bumps",
        _ => "solder bumps",
    }
}

fn note_dropped(die: &Die, sites: &Sites, notes: &mut Vec<String>) {
    if !sites.dropped.is_empty() {
        notes.push(format!(
            "Die {}: {} of {} sites meet a pad or a keep-out and stay empty.",
            die.name,
            sites.dropped.len(),
            sites.dropped.len() + sites.sites.len()
        ));
    }
}

/// How pads find bumps, and whether nets given at the sites bind. A bump table with nets binds unless the design says
/// `free`; in an array only a pad under its own bump gives a site a net, and that always binds.
fn assignment(die: &Die, sites: &[BumpSite]) -> (AssignmentMode, bool) {
    let written = die.assignment.as_ref().and_then(|a| a.mode);
    let from_table = die.bumps.as_ref().is_some_and(|b| b.table.is_some());
    let every_site_has_a_net = !sites.is_empty() && sites.iter().all(|s| s.net.is_some());
    match written {
        Some(Written::ByNet) => (AssignmentMode::Fixed, true),
        Some(Written::BySide) => (AssignmentMode::BySide, true),
        Some(Written::Mixed) => (AssignmentMode::Free, true),
        Some(Written::Free) => (AssignmentMode::Free, !from_table),
        None if from_table && every_site_has_a_net => (AssignmentMode::Fixed, true),
        None => (AssignmentMode::Free, true),
    }
}

fn net_wishes(
    die: &Die,
    rdl: &RdlRules,
    pads: &[DiePad],
    rules: &Rules,
    notes: &mut Vec<String>,
) -> Vec<NetSpec> {
    let mut pads_of: BTreeMap<&str, Vec<&DiePad>> = BTreeMap::new();
    for pad in pads.iter().filter(|p| !p.net.is_empty()) {
        pads_of.entry(pad.net.as_str()).or_default().push(pad);
    }
    let thickness = die.rdl.as_ref().and_then(|r| r.thickness).map_or(RDL_THICKNESS_M, |t| t.si());
    let (currents, needed) = (die.current_by_net(), die.bumps_by_net());
    let mut wishes = Vec::new();
    for (name, pads) in pads_of {
        let written = die.nets.iter().find(|n| n.name.as_str() == name);
        let by_pad = pads.iter().any(|p| matches!(p.class, Some(NetClass::Supply | NetClass::Ground)));
        let bumps = needed.get(name).map_or(1, |n| *n as usize).max(1);
        let width = written.and_then(|n| n.width).map(|w| length(w.si())).or_else(|| {
            // Every branch from a pad or to a bump carries its share of the net's current.
            let share = currents.get(name)? / bumps.min(pads.len()) as f64;
            let wanted = length(share / (RDL_CURRENT_DENSITY * thickness));
            if wanted > rules.capture {
                notes.push(format!(
                    "Net {name} of die {} asks for traces {wanted} wide by its current; they are drawn {} wide, \
                     the capture pad's diameter.",
                    die.name, rules.capture
                ));
            }
            (wanted > rules.line).then(|| wanted.min(rules.capture))
        });
        wishes.push(NetSpec {
            name: name.to_owned(),
            supply: written.map_or(by_pad, |n| n.is_supply()),
            bumps,
            width,
            one_piece: written.and_then(|n| n.joined).unwrap_or(true),
            plane: written.filter(|n| n.grow == Some(true)).map(|n| plane(n, rdl)),
        });
    }
    // A signal with one bump, the line width and one piece is what every net is that is not listed.
    wishes.retain(|w| w.supply || w.bumps != 1 || w.width.is_some() || !w.one_piece || w.plane.is_some());
    wishes
}

/// How a net that grows is to look.
fn plane(net: &Net, rdl: &RdlRules) -> Plane {
    let (line, opening) = net.mesh_sizes(rdl);
    Plane {
        layer: net.plane_layer.and_then(|l| u8::try_from(l).ok()),
        mesh: (net.plane() == PlaneKind::Mesh).then_some(Mesh { line, opening }),
    }
}

/// Says the sizes of meshes and slots, as the design may leave them open.
fn note_planes(die: &Die, rdl: &RdlRules, nets: &[NetSpec], notes: &mut Vec<String>) {
    for net in nets {
        if let Some(mesh) = net.plane.and_then(|p| p.mesh) {
            let (line, opening) = (mesh.line.nm(), mesh.opening.nm());
            let share = 1.0 - (opening / (line + opening)).powi(2);
            notes.push(format!(
                "Net {} of die {} grows to a mesh of bars {} wide and openings of {}, {:.0} % metal where it is whole.",
                net.name,
                die.name,
                mesh.line,
                mesh.opening,
                100.0 * share
            ));
        }
    }
    if let Some(widest) = rdl.max_metal_width {
        notes.push(format!(
            "Die {}: metal wider than {widest} outside landings, capture pads and vias gets square slots of {}.",
            die.name, rdl.slot
        ));
    }
}

fn keep_outs(die: &Die) -> Vec<KeepOut> {
    let mut out = Vec::new();
    for keep_out in &die.keep_outs {
        let mut ring: Vec<Point> =
            keep_out.corners_m().into_iter().map(|(x, y)| Point::new(length(x), length(y))).collect();
        if ring.len() < 3 {
            continue;
        }
        if twice_area(&ring) < 0 {
            ring.reverse();
        }
        let layer = keep_out.layer.and_then(|l| u8::try_from(l).ok());
        out.push(KeepOut { layer, polygon: Polygon::new(ring) });
    }
    out
}

/// Twice the signed area, nm2, positive for a counter-clockwise ring.
fn twice_area(ring: &[Point]) -> i128 {
    let next = ring.iter().cycle().skip(1);
    ring.iter()
        .zip(next)
        .map(|(a, b)| i128::from(a.x.0) * i128::from(b.y.0) - i128::from(b.x.0) * i128::from(a.y.0))
        .sum()
}

fn pad(pad: DiePad) -> Pad {
    Pad { name: pad.name, net: pad.net, at: Point::new(pad.x, pad.y), width: pad.width, height: pad.height }
}

fn place(site: BumpSite, keep_net: bool) -> Site {
    Site { name: site.name, at: Point::new(site.x, site.y), net: site.net.filter(|_| keep_net) }
}

fn length(metres: f64) -> Nm {
    Nm::round_m(metres)
}
