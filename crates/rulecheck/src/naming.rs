//! Which net a shape belongs to: by its own name, by a label on it, or by what it is joined to.
//!
//! Drawings from elsewhere carry no net names. A label names the shape that it lies on; a name then spreads over
//! touching metal and through openings until it meets metal that has a name already. Where it meets another name, the
//! two are shorted, which the spacing and connection rules report. Metal that no name reaches gets a name in brackets, one
//! for each connected piece.

use crate::joints::Joint;
use crate::plane::{Net, Plane};
use crate::rules::Rules;
use facedown_layout::{Drawing, Role};
use std::collections::{BTreeMap, BTreeSet, VecDeque};

/// All net names of a drawing, sorted; a net's number is its place in the list.
pub(crate) fn names(drawing: &Drawing, rules: &Rules) -> Vec<String> {
    let mut names: BTreeSet<&str> = BTreeSet::new();
    for layer in &drawing.layers {
        names.extend(layer.shapes.iter().filter_map(|s| s.net.as_deref()));
    }
    names.extend(
        drawing.labels.iter().filter(|l| rules.net_labels.contains(&l.role)).map(|l| l.text.as_str()),
    );
    names.into_iter().map(str::to_owned).collect()
}

/// Two labels on one shape that disagree.
pub(crate) struct Disagreement {
    pub(crate) role: Role,
    pub(crate) at: [i64; 2],
    pub(crate) nets: [Net; 2],
}

/// Gives shapes without a net the name of the label on them.
pub(crate) fn by_labels(
    drawing: &Drawing,
    rules: &Rules,
    numbers: &BTreeMap<&str, Net>,
    planes: &mut [Plane],
) -> Vec<Disagreement> {
    let mut disagreements = Vec::new();
    let drawn: Vec<Vec<bool>> =
        planes.iter().map(|p| p.parts.iter().map(|s| s.net.is_some()).collect()).collect();
    for label in drawing.labels.iter().filter(|l| rules.net_labels.contains(&l.role)) {
        let at = [label.at.x.0, label.at.y.0];
        let Some(net) = numbers.get(label.text.as_str()).copied() else { continue };
        for (plane, drawn) in planes.iter_mut().zip(&drawn).filter(|(p, _)| p.role == label.role) {
            for shape in plane.index.containing(at) {
                let part = &mut plane.parts[shape as usize];
                match part.net {
                    None => part.net = Some(net),
                    Some(other) if other != net && !drawn[shape as usize] => {
                        disagreements.push(Disagreement { role: label.role, at, nets: [other, net] });
                    }
                    Some(_) => {}
                }
            }
        }
    }
    disagreements
}

/// Spreads names to pads, bumps and metal without one; names what is left.
pub(crate) fn spread(planes: &mut [Plane], joints: &[Joint], names: &mut Vec<String>) {
    let mut offset = vec![0usize];
    for plane in planes.iter() {
        offset.push(offset[offset.len() - 1] + plane.parts.len());
    }
    let node = |place: (usize, u32)| offset[place.0] + place.1 as usize;
    let mut net: Vec<Option<Net>> = planes.iter().flat_map(|p| p.parts.iter().map(|s| s.net)).collect();
    let carries: Vec<bool> = planes
        .iter()
        .flat_map(|p| {
            std::iter::repeat_n(matches!(p.role, Role::Rdl(_) | Role::Pad | Role::Bump), p.parts.len())
        })
        .collect();
    if carries.iter().zip(&net).all(|(carries, net)| !carries || net.is_some()) {
        return;
    }
    let mut next: Vec<Vec<u32>> = vec![Vec::new(); net.len()];
    for (number, plane) in planes.iter().enumerate() {
        if matches!(plane.role, Role::Rdl(_)) {
            for contact in &plane.contacts {
                let (a, b) = (node((number, contact.shapes.0)), node((number, contact.shapes.1)));
                next[a].push(b as u32);
                next[b].push(a as u32);
            }
        }
    }
    for joint in joints {
        for lower in &joint.lower {
            for upper in &joint.upper {
                next[node(*lower)].push(node(*upper) as u32);
                next[node(*upper)].push(node(*lower) as u32);
            }
        }
    }
    let flood = |net: &mut Vec<Option<Net>>, mut queue: VecDeque<usize>| {
        while let Some(i) = queue.pop_front() {
            for j in next[i].iter().map(|j| *j as usize) {
                if net[j].is_none() {
                    net[j] = net[i];
                    queue.push_back(j);
                }
            }
        }
    };
    let seeds = (0..net.len()).filter(|i| carries[*i] && net[*i].is_some()).collect();
    flood(&mut net, seeds);
    let mut count = 0;
    for (number, plane) in planes.iter().enumerate().filter(|(_, p)| matches!(p.role, Role::Rdl(_))) {
        for i in offset[number]..offset[number] + plane.parts.len() {
            if net[i].is_none() {
                count += 1;
                net[i] = Some(names.len() as Net);
                names.push(format!("(unnamed {count})"));
                flood(&mut net, VecDeque::from([i]));
            }
        }
    }
    for (number, plane) in planes.iter_mut().enumerate() {
        for (shape, part) in plane.parts.iter_mut().enumerate() {
            if carries[offset[number] + shape] {
                part.net = net[offset[number] + shape];
            }
        }
    }
}
