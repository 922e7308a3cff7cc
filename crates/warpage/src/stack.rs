//! A package as plates and springs over an interval of temperature, part by part as they are joined.

use crate::mixture::{self, Joined};
use crate::plates::{Area, Assembly, Part, Region, Spring};
use crate::problem::{Cover, CoverKind, Die, JointLayer, Layer, Plate, Problem};
use crate::property::Elastic;
use crate::section::{Ply, stacked};
use crate::shear_lag::{self, Member, Pair, Slice};

/// Which parts are one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Made {
    /// Dies on bare joints.
    Joined,
    /// With cured underfill.
    Filled,
    /// With ring or lid.
    Covered,
}

/// What strains the parts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Cause {
    /// A change of temperature, K.
    Heat(f64, f64),
    /// The underfill shrinks at a temperature, K.
    Shrinkage(f64),
}

impl Cause {
    fn interval(self) -> (f64, f64) {
        match self {
            Cause::Heat(from, to) => (from, to),
            Cause::Shrinkage(at) => (at, at),
        }
    }
}

/// A die or interposer on its joints.
#[derive(Clone, PartialEq)]
pub(crate) struct Seat {
    pub name: String,
    pub at: [f64; 2],
    pub size: [f64; 2],
    /// Two plates with the joint layer between, over the interval.
    pub upper: Member,
    pub lower: Member,
    pub layer: shear_lag::Layer,
    /// Faces of the thickest layer: height and ply.
    pub body: Ply,
    /// Length and width over which it bends as one with what is below, m.
    pub held: [f64; 2],
}

impl Seat {
    /// The pair with the plates' own shear, for loads of the joint layer.
    pub fn pair(&self) -> Pair {
        Pair::new(self.upper, self.lower, self.layer, true)
    }

    /// Takes the ends that slip off its size. The plates of this study do not shear, so only the joint layer slips.
    fn slipped(mut self) -> Seat {
        let pair = Pair::new(self.upper, self.lower, self.layer, false);
        self.held = self.size.map(|s| 2.0 * pair.held_half(s / 2.0));
        self
    }

    /// Half the diagonal of its outline, m.
    pub fn half_diagonal(&self) -> f64 {
        self.size[0].hypot(self.size[1]) / 2.0
    }
}

/// The package over an interval.
#[derive(Clone, PartialEq)]
pub(crate) struct Stack {
    pub assembly: Assembly,
    /// Dies in the order of the problem, the interposer last.
    pub seats: Vec<Seat>,
}

impl Stack {
    /// All numbers that it is solved from, in a fixed order, SI.
    pub fn numbers(&self) -> Vec<f64> {
        let region = |r: &Region| {
            let areas = std::iter::once(r.outer).chain(r.opening);
            areas.flat_map(|a| [a.x, a.y]).flatten().collect::<Vec<f64>>()
        };
        let ply = |p: &Ply| {
            let [q11, q12, q22, q66] = p.stiffness;
            [p.bottom, p.top, q11, q12, q22, q66, p.strain[0], p.strain[1]]
        };
        let mut all = self.assembly.size.to_vec();
        for part in &self.assembly.parts {
            all.extend(region(&part.region));
            all.extend(part.plies.iter().flat_map(ply));
        }
        for s in &self.assembly.springs {
            all.extend(region(&s.region));
            all.extend([s.heights[0], s.heights[1], s.shear, s.normal, s.opening]);
        }
        for seat in &self.seats {
            all.extend([seat.at, seat.size, seat.held].into_iter().flatten());
            all.extend(ply(&seat.body));
        }
        all
    }
}

/// Layers of a plate from the bottom up.
pub(crate) fn layers(plate: &Plate, cause: Cause) -> Vec<(f64, Elastic)> {
    let (from, to) = cause.interval();
    plate.layers.iter().map(|l| (l.thickness_m, mixture::layer(l, from, to))).collect()
}

fn joints(layer: &JointLayer, made: Made, cause: Cause) -> Joined {
    let (from, to) = cause.interval();
    match (cause, &layer.underfill) {
        (Cause::Shrinkage(_), Some(underfill)) => {
            let strain = -underfill.shrinkage_after_gel / 3.0;
            let fill = Elastic { strain, ..Elastic::of(&underfill.solid, from, to) };
            mixture::joined(&fill, &Elastic::of(&layer.joint, from, to), layer.share)
        }
        _ => mixture::joint_layer(layer, made >= Made::Filled, from, to),
    }
}

/// Largest Poisson's ratio that a thin layer between stiff faces is taken to hold against opening. A layer that keeps
/// its volume would be stiffer by its bulk modulus, but gels flow or tear from within at tensions near their Young's
/// modulus (A. N. Gent, P. B. Lindley 1959).
const HELD_POISSON: f64 = 0.4;

/// Stiffness of a thin layer between stiff faces against opening, as a modulus, Pa.
fn between_faces(e: &Elastic) -> f64 {
    let poisson = e.poisson.min(HELD_POISSON);
    e.modulus * (1.0 - poisson) / ((1.0 + poisson) * (1.0 - 2.0 * poisson))
}

/// Change of thickness of a thin layer between stiff faces, m.
fn swelling(thickness: f64, e: &Elastic) -> f64 {
    thickness * e.strain * (1.0 + e.poisson) / (1.0 - e.poisson)
}

/// Layers that are listed from the bottom up, from the top down.
fn slices_down(layers: &[(f64, Elastic)]) -> Vec<Slice> {
    layers.iter().rev().map(|&l| l.into()).collect()
}

/// The plies of a plate on its joints from a height up, with what the seat tells of it.
struct Raised {
    plies: Vec<Ply>,
    body: Ply,
    top: f64,
    /// Free growth of joints and plate, m.
    growth: f64,
}

fn raise(plate: &Plate, joined: &Joined, gap: f64, from: f64, cause: Cause) -> Raised {
    let own = layers(plate, cause);
    let mut all = vec![(gap, joined.in_plane)];
    all.extend(&own);
    let plies = stacked(from, &all);
    let thick = |p: &Ply| p.top - p.bottom;
    let body = plies[1..].iter().copied().fold(plies[1], |a, b| if thick(&b) > thick(&a) { b } else { a });
    let top = plies.last().map_or(from, |p| p.top);
    let growth = gap * joined.through_strain + own.iter().map(|(t, e)| t * e.strain).sum::<f64>();
    Raised { plies, body, top, growth }
}

/// The package with those parts over an interval.
pub(crate) fn stack(problem: &Problem, made: Made, cause: Cause) -> Stack {
    stack_held(problem, made, cause, None)
}

/// The same; where `like` is given, seats are held over what they are there.
pub(crate) fn stack_held(problem: &Problem, made: Made, cause: Cause, like: Option<&Stack>) -> Stack {
    let held = |seat: Seat, number: usize| match like.and_then(|l| l.seats.get(number)) {
        Some(other) => Seat { held: other.held, ..seat },
        None => seat.slipped(),
    };
    let (from, to) = cause.interval();
    let substrate = &problem.substrate.plate;
    let size = [substrate.width_m, substrate.height_m];
    let base = layers(substrate, cause);
    let half = substrate.thickness_m() / 2.0;
    let whole = Area::around([0.0; 2], size[0], size[1]);
    let mut parts = vec![Part { plate: 0, region: Region::full(whole), plies: stacked(-half, &base) }];
    // Layers below the dies from their joints down, the height of the face they stand on, and the middle of it.
    let (mut below, mut face, mut shift) = (slices_down(&base), half, [0.0; 2]);
    let mut interposer_seat = None;
    let mut growth_below = 0.0;
    if let Some(i) = &problem.interposer {
        let joined = joints(&i.joints, made, cause);
        let raised = raise(&i.plate, &joined, i.joints.gap_m, half, cause);
        let own = layers(&i.plate, cause);
        let seat = Seat {
            name: "interposer".into(),
            at: i.at_m,
            size: [i.plate.width_m, i.plate.height_m],
            upper: Member::of(&own, true),
            lower: Member::of(&below, false),
            layer: shear_lag::Layer { thickness: i.joints.gap_m, shear: joined.shear },
            body: raised.body,
            held: [0.0; 2],
        };
        let seat = held(seat, problem.dies.len());
        add_held(&mut parts, &seat, raised.plies);
        let mut next = slices_down(&own);
        next.push(Slice { thickness: i.joints.gap_m, elastic: joined.in_plane, shear: joined.shear });
        next.extend(below);
        below = next;
        face = raised.top;
        shift = i.at_m;
        growth_below = raised.growth;
        interposer_seat = Some(seat);
    }
    let mut seats = Vec::new();
    let mut interfaces = Vec::new();
    for die in &problem.dies {
        let joined = joints(&die.joints, made, cause);
        let raised = raise(&die.plate, &joined, die.joints.gap_m, face, cause);
        let seat = Seat {
            name: die.name.clone(),
            at: [die.at_m[0] + shift[0], die.at_m[1] + shift[1]],
            size: [die.plate.width_m, die.plate.height_m],
            upper: Member::of(&layers(&die.plate, cause), true),
            lower: Member::of(&below, false),
            layer: shear_lag::Layer { thickness: die.joints.gap_m, shear: joined.shear },
            body: raised.body,
            held: [0.0; 2],
        };
        let seat = held(seat, seats.len());
        add_held(&mut parts, &seat, raised.plies);
        if let Some(layer) = &die.interface {
            let face =
                Face { at: seat.at, held: seat.held, back: raised.top, growth: raised.growth + growth_below };
            interfaces.push((die, layer, face));
        }
        seats.push(seat);
    }
    seats.extend(interposer_seat);
    let mut springs = Vec::new();
    if let Some(cover) = problem.cover.as_ref().filter(|_| made == Made::Covered) {
        let heat = Elastic::of(&cover.solid, from, to);
        springs.push(rim(&mut parts, cover, heat, half, cause));
        if cover.kind == CoverKind::Lid {
            let thickness = cover.thickness_m;
            springs.extend(
                interfaces.iter().map(|(die, layer, face)| interface(die, layer, face, thickness, cause)),
            );
        }
    }
    let step = size[0].max(size[1]) / problem.resolution.pieces;
    Stack { assembly: Assembly { size, parts, springs, step }, seats }
}

/// Adds what a die or interposer holds; nothing where its layer slips over the whole length.
fn add_held(parts: &mut Vec<Part>, seat: &Seat, plies: Vec<Ply>) {
    let held = seat.held;
    if (0..2).all(|k| held[k] > 1e-3 * seat.size[k]) {
        let plies = plies.into_iter().filter(|p| p.stiffness[0] > 0.0).collect();
        parts.push(Part { plate: 0, region: Region::full(Area::around(seat.at, held[0], held[1])), plies });
    }
}

/// The ring or lid as a plate of its own, and the glue under its band.
fn rim(parts: &mut Vec<Part>, cover: &Cover, solid: Elastic, face: f64, cause: Cause) -> Spring {
    let (from, to) = cause.interval();
    let outer = Area::around([0.0; 2], cover.width_m, cover.height_m);
    let opening =
        Area::around([0.0; 2], cover.width_m - 2.0 * cover.band_m, cover.height_m - 2.0 * cover.band_m);
    let frame = Region { outer, opening: Some(opening) };
    let half = cover.thickness_m / 2.0;
    let plate = if cover.kind == CoverKind::Lid { Region::full(outer) } else { frame };
    parts.push(Part { plate: 1, region: plate, plies: stacked(-half, &[(cover.thickness_m, solid)]) });
    if cover.foot_m > 0.0 {
        parts.push(Part {
            plate: 1,
            region: frame,
            plies: stacked(-half - cover.foot_m, &[(cover.foot_m, solid)]),
        });
    }
    let glue = mixture::layer(&cover.adhesive, from, to);
    let thickness = cover.adhesive.thickness_m;
    Spring {
        region: frame,
        heights: [face + thickness / 2.0, -half - cover.foot_m - thickness / 2.0],
        shear: glue.shear() / thickness,
        normal: between_faces(&glue) / thickness,
        opening: swelling(thickness, &glue) + cover.foot_m * solid.strain,
    }
}

/// The back of a die as a thermal interface meets it.
struct Face {
    at: [f64; 2],
    /// Length and width of what the die holds, m.
    held: [f64; 2],
    /// Height of the back, m.
    back: f64,
    /// How much the back rises over the substrate, m.
    growth: f64,
}

/// The thermal interface between a die and the lid. It is gathered under what the die holds, so that the grid needs
/// no lines of its own for the narrow strip around that.
fn interface(die: &Die, layer: &Layer, face: &Face, lid: f64, cause: Cause) -> Spring {
    let (from, to) = cause.interval();
    let e = mixture::layer(layer, from, to);
    let thickness = layer.thickness_m;
    let own = [die.plate.width_m, die.plate.height_m];
    let slips = (0..2).any(|k| face.held[k] <= 1e-3 * own[k]);
    let [width, height] = if slips { own } else { face.held };
    let held = own[0] * own[1] / (width * height);
    Spring {
        region: Region::full(Area::around(face.at, width, height)),
        heights: [face.back + thickness / 2.0, -lid / 2.0 - thickness / 2.0],
        shear: held * e.shear() / thickness,
        normal: held * between_faces(&e) / thickness,
        opening: swelling(thickness, &e) + face.growth,
    }
}
