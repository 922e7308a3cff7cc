//! Where layers are joined: pads to RDL, RDL to RDL through vias, RDL to bumps.

use crate::exact::Spot;
use crate::plane::Plane;
use facedown_layout::Role;
use rayon::prelude::*;

/// A shape: number of its layer among the planes, number of the shape.
pub(crate) type Place = (usize, u32);

/// An opening or contact that joins everything below it with everything above it.
pub(crate) struct Joint {
    pub(crate) lower: Vec<Place>,
    pub(crate) upper: Vec<Place>,
    pub(crate) at: Spot,
    /// The layer of the opening; `Bump` for a bump on its metal.
    pub(crate) role: Role,
}

/// The number of the plane with a role, when it has shapes.
pub(crate) fn plane_of(planes: &[Plane], role: Role) -> Option<usize> {
    planes.iter().position(|p| p.role == role && !p.parts.is_empty())
}

/// The uppermost RDL layer that has shapes.
pub(crate) fn top_metal(planes: &[Plane]) -> Option<usize> {
    planes.iter().rposition(|p| matches!(p.role, Role::Rdl(_)) && !p.parts.is_empty())
}

fn on(planes: &[Plane], number: Option<usize>, part: &crate::plane::Part) -> Vec<Place> {
    number.map_or_else(Vec::new, |n| planes[n].meeting(part).into_iter().map(|s| (n, s)).collect())
}

/// All joints. Without a layer of openings over the pads, a pad is joined to the metal that it meets; without
/// UBM or bump openings, a bump is joined to the metal that it meets.
pub(crate) fn joints(planes: &[Plane]) -> Vec<Joint> {
    let mut joints = Vec::new();
    let pads = plane_of(planes, Role::Pad);
    for (number, plane) in planes.iter().enumerate() {
        let (lower, upper) = match plane.role {
            Role::Opening(1) => (pads, plane_of(planes, Role::Rdl(1))),
            Role::Opening(n) if n > 1 => (plane_of(planes, Role::Rdl(n - 1)), plane_of(planes, Role::Rdl(n))),
            Role::Pad if plane_of(planes, Role::Opening(1)).is_none() => {
                (None, plane_of(planes, Role::Rdl(1)))
            }
            _ => continue,
        };
        joints.par_extend(plane.parts.par_iter().enumerate().map(|(shape, part)| {
            let below =
                if plane.role == Role::Pad { vec![(number, shape as u32)] } else { on(planes, lower, part) };
            Joint { lower: below, upper: on(planes, upper, part), at: part.centre(), role: plane.role }
        }));
    }
    if let Some(bumps) = plane_of(planes, Role::Bump) {
        let (ubm, opening, top) =
            (plane_of(planes, Role::Ubm), plane_of(planes, Role::BumpOpening), top_metal(planes));
        joints.par_extend(planes[bumps].parts.par_iter().enumerate().map(|(shape, part)| {
            let mut feet = vec![(bumps, shape as u32)];
            for layer in [ubm, opening].into_iter().flatten() {
                let mut next: Vec<Place> = feet
                    .iter()
                    .flat_map(|f| on(planes, Some(layer), &planes[f.0].parts[f.1 as usize]))
                    .collect();
                next.sort_unstable();
                next.dedup();
                feet = next;
            }
            let mut lower: Vec<Place> =
                feet.iter().flat_map(|f| on(planes, top, &planes[f.0].parts[f.1 as usize])).collect();
            lower.sort_unstable();
            lower.dedup();
            Joint { lower, upper: vec![(bumps, shape as u32)], at: part.centre(), role: Role::Bump }
        }));
    }
    joints
}
