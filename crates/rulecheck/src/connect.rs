//! Each net one piece, no net joined to another through an opening, each bump on one capture pad.

use crate::exact::Spot;
use crate::joints::{Joint, plane_of, top_metal};
use crate::plane::{Net, Plane};
use crate::report::NetPieces;
use crate::rules::Rules;
use crate::sets::Sets;
use facedown_layout::{Role, ShapeKind};
use std::collections::{BTreeMap, BTreeSet};

/// Something wrong with connections, before it is put in words.
pub(crate) enum Break {
    /// Two nets joined through an opening or bump on this layer.
    Joined { role: Role, at: Spot, nets: [Net; 2] },
    /// A further piece of a net that must be one.
    Apart { role: Role, at: Spot, net: Net, pieces: usize, what: Loose },
    /// A pad opening with no metal in it.
    NoMetal { role: Role, at: Spot, net: Net },
    /// A piece of metal that reaches no pad or no bump.
    Dangling { role: Role, at: Spot, net: Net, lacks: &'static str },
    /// A bump with this many of the thing that it must stand on exactly one of.
    Seat { role: Role, at: Spot, net: Option<Net>, on: usize, of: &'static str },
    /// A capture pad with this many bumps.
    Capture { role: Role, at: Spot, net: Option<Net>, bumps: usize },
}

/// What a piece apart from its net consists of.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Loose {
    Pad,
    Bump,
    Metal,
}

#[derive(Default)]
struct Component {
    metal: usize,
    pads: usize,
    bumps: usize,
    first: Option<(Role, Spot)>,
    opened_pad: Option<(Role, Spot)>,
}

/// Connections of all nets.
pub(crate) fn connections(
    planes: &[Plane],
    joints: &[Joint],
    names: &[String],
    rules: &Rules,
) -> (BTreeMap<String, NetPieces>, Vec<Break>) {
    let mut breaks = Vec::new();
    // Nodes: pieces of RDL metal, pads, bumps.
    let mut offset = Vec::new();
    let mut count = 0usize;
    for plane in planes {
        offset.push(count);
        count += plane.pieces as usize;
    }
    let node = |place: (usize, u32)| offset[place.0] as u32 + planes[place.0].piece_of[place.1 as usize];
    let net_of = |place: (usize, u32)| planes[place.0].parts[place.1 as usize].net;
    let mut sets = Sets::new(count);
    let mut opened = BTreeSet::new();
    for joint in joints {
        let mut clashes = BTreeSet::new();
        for lower in &joint.lower {
            if planes[lower.0].role == Role::Pad && (joint.role != Role::Pad) {
                opened.insert(node(*lower));
            }
            for upper in &joint.upper {
                match (net_of(*lower), net_of(*upper)) {
                    (Some(a), Some(b)) if a != b => {
                        clashes.insert([a.min(b), a.max(b)]);
                    }
                    _ => sets.join(node(*lower), node(*upper)),
                }
            }
        }
        breaks.extend(clashes.into_iter().map(|nets| Break::Joined { role: joint.role, at: joint.at, nets }));
    }
    let mut components: BTreeMap<(Net, u32), Component> = BTreeMap::new();
    for (number, plane) in planes.iter().enumerate() {
        let carries = matches!(plane.role, Role::Rdl(_) | Role::Pad | Role::Bump);
        if !carries {
            continue;
        }
        for (piece, shape) in plane.first_of_piece().iter().enumerate() {
            let part = &plane.parts[*shape as usize];
            let Some(net) = part.net else { continue };
            let id = offset[number] as u32 + piece as u32;
            let component = components.entry((net, sets.find(id))).or_default();
            let place = (
                plane.role,
                if plane.role == Role::Pad || plane.role == Role::Bump {
                    part.centre()
                } else {
                    part.rings[0][0]
                },
            );
            match plane.role {
                Role::Pad => {
                    component.pads += 1;
                    if opened.contains(&id) {
                        component.opened_pad = component.opened_pad.or(Some(place));
                    }
                }
                Role::Bump => component.bumps += 1,
                _ => component.metal += 1,
            }
            component.first = match component.first {
                // Metal tells the place best.
                Some(first) if matches!(first.0, Role::Rdl(_)) || !matches!(place.0, Role::Rdl(_)) => {
                    Some(first)
                }
                _ => Some(place),
            };
        }
    }
    // A drawing without any RDL metal has nothing to connect with.
    let has_metal = top_metal(planes).is_some();
    let has_pads = plane_of(planes, Role::Pad).is_some();
    let has_bumps = plane_of(planes, Role::Bump).is_some();
    let mut nets: BTreeMap<String, NetPieces> = BTreeMap::new();
    for (net, name) in names.iter().enumerate() {
        let net = net as Net;
        let own: Vec<&Component> = components.range((net, 0)..=(net, u32::MAX)).map(|(_, c)| c).collect();
        if own.is_empty() {
            continue;
        }
        let pads = own.iter().map(|c| c.pads).sum();
        let bumps = own.iter().map(|c| c.bumps).sum();
        nets.insert(name.clone(), NetPieces { pieces: own.len(), pads, bumps });
        let elsewhere = rules.joined_elsewhere.contains(name);
        let main = own
            .iter()
            .enumerate()
            .max_by_key(|(i, c)| (c.metal > 0, c.pads + c.bumps, c.metal, usize::MAX - i));
        for (i, component) in own.iter().enumerate().filter(|_| has_metal) {
            let Some((role, at)) = component.first else { continue };
            let is_main = main.is_some_and(|m| m.0 == i);
            if component.metal > 0 {
                let lacks = match (has_pads && component.pads == 0, has_bumps && component.bumps == 0) {
                    (true, true) => Some("neither a pad nor a bump"),
                    (true, false) => Some("no pad"),
                    (false, true) => Some("no bump"),
                    (false, false) => None,
                };
                if let Some(lacks) = lacks {
                    breaks.push(Break::Dangling { role, at, net, lacks });
                }
            }
            if let (0, Some((role, at))) = (component.metal, component.opened_pad) {
                breaks.push(Break::NoMetal { role, at, net });
            } else if !elsewhere && !is_main {
                let what = match (component.metal, component.pads) {
                    (0, 0) => Loose::Bump,
                    (0, _) => Loose::Pad,
                    _ => Loose::Metal,
                };
                breaks.push(Break::Apart { role, at, net, pieces: own.len(), what });
            }
        }
    }
    if has_bumps {
        seats(planes, joints, &mut breaks);
    }
    (nets, breaks)
}

/// Bumps and capture pads, one to one.
fn seats(planes: &[Plane], joints: &[Joint], breaks: &mut Vec<Break>) {
    let top = top_metal(planes);
    let ubm = plane_of(planes, Role::Ubm);
    let captures: Vec<u32> = top.map_or_else(Vec::new, |t| {
        (0u32..).zip(&planes[t].parts).filter(|(_, p)| p.kind == ShapeKind::Capture).map(|(i, _)| i).collect()
    });
    let mut bumps_on: BTreeMap<u32, usize> = captures.iter().map(|c| (*c, 0)).collect();
    for joint in joints.iter().filter(|j| j.role == Role::Bump) {
        let Some((plane, shape)) = joint.upper.first().copied() else { continue };
        let bump = &planes[plane].parts[shape as usize];
        let (role, at, net) = (Role::Bump, joint.at, bump.net);
        let mut pieces: Vec<u32> = joint.lower.iter().map(|l| planes[l.0].piece_of[l.1 as usize]).collect();
        pieces.sort_unstable();
        pieces.dedup();
        let ubms = ubm.map(|u| planes[u].meeting(bump).len());
        if let Some(on) = ubms.filter(|n| *n != 1) {
            breaks.push(Break::Seat { role, at, net, on, of: "UBM" });
        } else if pieces.len() != 1 {
            breaks.push(Break::Seat { role, at, net, on: pieces.len(), of: "piece of RDL metal" });
        }
        if let (Some(top), false) = (top, captures.is_empty()) {
            let under = planes[top].index.containing(at);
            let mut on = 0;
            for shape in under {
                if let Some(bumps) = bumps_on.get_mut(&shape) {
                    *bumps += 1;
                    on += 1;
                }
            }
            if on != 1 {
                breaks.push(Break::Seat { role, at, net, on, of: "capture pad" });
            }
        }
    }
    if let Some(top) = top {
        for (capture, bumps) in bumps_on.into_iter().filter(|(_, n)| *n != 1) {
            let part = &planes[top].parts[capture as usize];
            breaks.push(Break::Capture { role: planes[top].role, at: part.centre(), net: part.net, bumps });
        }
    }
}
