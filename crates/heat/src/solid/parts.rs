//! The package as boxes in space: every layer of every part with its place and what it conducts.
//!
//! x and y are measured from the middle of the substrate, z from the lowest face up. Where boxes overlap, the later one
//! of the list holds.

use crate::mixing::{Pattern, joint_sheet, sheet};
use crate::network::{Downward, Setting};
use crate::problem::{Die, Interface, Joints, Layer, Mount, Problem, Table};
use crate::sheet::Sheet;

/// Conductivity of the air between substrate and lid, W/(m K), at 300 K (F. P. Incropera, D. P. DeWitt, Fundamentals of
/// Heat and Mass Transfer, 6th ed. 2007, table A.4; from memory).
const AIR: f64 = 0.0263;
/// Heat capacity of its volume, J/(m3 K) (same table).
const AIR_CAPACITY: f64 = 1.1614 * 1007.0;

/// What a box belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Part {
    /// Board.
    Board,
    /// Balls and what is between them.
    Balls,
    /// Substrate.
    Substrate,
    /// Joints under the interposer.
    InterposerJoints,
    /// Interposer.
    Interposer,
    /// Bumps of a die with their fill.
    Bumps(usize),
    /// Body of a die.
    Die(usize),
    /// Glue under a die that stands on another.
    Attach(usize),
    /// Thermal interface of a die.
    Interface(usize),
    /// Plate of the lid.
    Lid,
    /// Foot of the lid with its glue.
    Foot,
    /// Stiffener ring with its glue.
    Ring,
    /// Air under the lid.
    Air,
}

/// A rectangle in the plane: smaller and larger corner, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// Smaller x and y.
    pub from: [f64; 2],
    /// Larger x and y.
    pub to: [f64; 2],
}

impl Area {
    /// Around a centre.
    pub fn around(centre: [f64; 2], size: [f64; 2]) -> Area {
        Area {
            from: [centre[0] - size[0] / 2.0, centre[1] - size[1] / 2.0],
            to: [centre[0] + size[0] / 2.0, centre[1] + size[1] / 2.0],
        }
    }

    /// True for a place inside.
    pub fn holds(&self, at: [f64; 2]) -> bool {
        (0..2).all(|i| at[i] > self.from[i] && at[i] < self.to[i])
    }

    /// Its middle.
    pub fn middle(&self) -> [f64; 2] {
        [0, 1].map(|i| 0.5 * (self.from[i] + self.to[i]))
    }

    /// Its sides, m.
    pub fn size(&self) -> [f64; 2] {
        [0, 1].map(|i| self.to[i] - self.from[i])
    }
}

/// What a box conducts.
#[derive(Debug, Clone)]
pub enum Conduct<'a> {
    /// A layer of a stack.
    Layer(&'a Layer),
    /// A plain material.
    Plain(&'a Table),
    /// Joints and their fill.
    Joints(&'a Joints),
    /// A gap that has the resistance of an interface, whatever its height.
    Interface(&'a Interface),
    /// Air.
    Air,
}

/// A box.
#[derive(Debug, Clone)]
pub struct Slab<'a> {
    /// What it belongs to.
    pub part: Part,
    /// Where it lies.
    pub area: Area,
    /// What is cut out of its middle, for frames.
    pub hole: Option<Area>,
    /// Lower and upper face, m.
    pub z: [f64; 2],
    /// What it conducts.
    pub conduct: Conduct<'a>,
    /// Heat capacity of a plain material, J/(m3 K).
    pub plain_capacity: Option<f64>,
}

impl Slab<'_> {
    /// As a sheet at a temperature, K.
    pub fn sheet(&self, temperature_k: f64, pattern: Pattern) -> Sheet {
        let height = self.z[1] - self.z[0];
        match &self.conduct {
            Conduct::Layer(layer) => sheet(layer, temperature_k, pattern),
            Conduct::Plain(table) => Sheet::isotropic(height, crate::mixing::at(table, temperature_k)),
            Conduct::Joints(joints) => {
                let [w, h] = self.area.size();
                joint_sheet(joints, w * h, temperature_k)
            }
            Conduct::Interface(interface) => {
                let own = interface.sheet(temperature_k);
                let through = height / own.resistance();
                Sheet { thickness: height, in_plane: own.in_plane, through, contact: 0.0 }
            }
            Conduct::Air => Sheet::isotropic(height, AIR),
        }
    }

    /// Heat capacity of its volume, J/(m3 K).
    pub fn capacity(&self) -> Option<f64> {
        match &self.conduct {
            Conduct::Layer(layer) => layer.capacity,
            Conduct::Plain(..) => self.plain_capacity,
            Conduct::Joints(joints) => joints.capacity,
            Conduct::Interface(interface) => interface.capacity,
            Conduct::Air => Some(AIR_CAPACITY),
        }
    }

    /// Temperatures between which its conductivities are linear, K; one where they are constant.
    pub fn nodes(&self) -> Vec<f64> {
        let mut nodes: Vec<f64> = match &self.conduct {
            Conduct::Layer(layer) => {
                let metals = layer.metal.iter().chain(&layer.columns).map(|m| &m.conductivity);
                let own = std::iter::once(&layer.in_plane).chain(&layer.through);
                own.chain(metals).filter(|t| t.len() > 1).flatten().map(|p| p.0).collect()
            }
            Conduct::Plain(table) => table.iter().map(|p| p.0).collect(),
            Conduct::Joints(joints) => {
                let all = joints.pieces.iter().map(|p| &p.conductivity).chain([&joints.fill]);
                all.filter(|t| t.len() > 1).flatten().map(|p| p.0).collect()
            }
            Conduct::Interface(interface) => interface.conductivity.iter().map(|p| p.0).collect(),
            Conduct::Air => Vec::new(),
        };
        nodes.sort_by(f64::total_cmp);
        nodes.dedup();
        if nodes.is_empty() { vec![300.0] } else { nodes }
    }
}

/// The boxes of a package in a setting, and the planes that readings are taken at.
#[derive(Debug, Clone)]
pub struct Parts<'a> {
    /// Boxes, later ones over earlier ones.
    pub slabs: Vec<Slab<'a>>,
    /// Footprint of every die.
    pub dies: Vec<Area>,
    /// Height of the active face of every die, m.
    pub active: Vec<f64>,
    /// Upper end of the body of every die, m.
    pub tops: Vec<f64>,
    /// Outline of the substrate.
    pub substrate: Area,
    /// Upper face of the board, m; zero where it is left out.
    pub board_top: f64,
    /// Upper face of the package, m.
    pub top: f64,
}

struct Pile<'a> {
    slabs: Vec<Slab<'a>>,
}

impl<'a> Pile<'a> {
    fn push(&mut self, part: Part, area: Area, z: [f64; 2], conduct: Conduct<'a>) {
        self.slabs.push(Slab { part, area, hole: None, z, conduct, plain_capacity: None });
    }

    /// Layers from a height up, in the order given; the height above them.
    fn layers(&mut self, part: Part, area: Area, from: f64, layers: impl Iterator<Item = &'a Layer>) -> f64 {
        let mut z = from;
        for layer in layers {
            self.push(part, area, [z, z + layer.thickness_m], Conduct::Layer(layer));
            z += layer.thickness_m;
        }
        z
    }

    fn joints(&mut self, part: Part, area: Area, from: f64, joints: &'a Joints) -> f64 {
        let height: f64 = joints.pieces.iter().map(|p| p.height_m).sum();
        self.push(part, area, [from, from + height], Conduct::Joints(joints));
        from + height
    }

    fn frame(&mut self, part: Part, area: Area, band: f64, z: [f64; 2], conduct: Conduct<'a>) {
        let [w, h] = area.size();
        let hole = Area::around(area.middle(), [w - 2.0 * band, h - 2.0 * band]);
        self.slabs.push(Slab { part, area, hole: Some(hole), z, conduct, plain_capacity: None });
    }
}

/// Lays a package out in space.
pub fn parts<'a>(problem: &'a Problem, setting: &'a Setting) -> Parts<'a> {
    let mut pile = Pile { slabs: Vec::new() };
    let substrate = Area::around([0.0; 2], [problem.substrate.width_m, problem.substrate.height_m]);
    let mut z = 0.0;
    if setting.down != Downward::Insulated {
        let board = Area::around([0.0; 2], [setting.board.width_m, setting.board.height_m]);
        z = pile.layers(Part::Board, board, z, setting.board.layers.iter().rev());
    }
    let board_top = z;
    if setting.down != Downward::Insulated {
        z = pile.joints(Part::Balls, substrate, z, &problem.balls);
    }
    let on_substrate = pile.layers(Part::Substrate, substrate, z, problem.substrate.layers.iter().rev());
    z = on_substrate;
    let mut shift = [0.0; 2];
    if let Some(interposer) = &problem.interposer {
        let area = Area::around(interposer.at_m, [interposer.carrier.width_m, interposer.carrier.height_m]);
        z = pile.joints(Part::InterposerJoints, area, z, &interposer.joints);
        z = pile.layers(Part::Interposer, area, z, interposer.carrier.layers.iter().rev());
        shift = interposer.at_m;
    }
    let count = problem.dies.len();
    let middle = Area::around([0.0; 2], [0.0; 2]);
    let (mut dies, mut active, mut tops) = (vec![middle; count], vec![z; count], vec![z; count]);
    for (i, die) in problem.dies.iter().enumerate() {
        let Mount::Bumps(bumps) = &die.mount else { continue };
        let at = [die.at_m[0] + shift[0], die.at_m[1] + shift[1]];
        dies[i] = Area::around(at, [die.width_m, die.height_m]);
        active[i] = pile.joints(Part::Bumps(i), dies[i], z, bumps);
        tops[i] = pile.layers(Part::Die(i), dies[i], active[i], die.body.iter());
    }
    for (i, die) in problem.dies.iter().enumerate() {
        let Mount::OnDie { host, attach } = &die.mount else { continue };
        // Checked before: the host stands on bumps.
        let on = dies.get(*host).map_or([0.0; 2], Area::middle);
        dies[i] = Area::around([die.at_m[0] + on[0], die.at_m[1] + on[1]], [die.width_m, die.height_m]);
        let from = tops.get(*host).copied().unwrap_or(z);
        let glued = pile.layers(Part::Attach(i), dies[i], from, attach.iter().rev());
        // It stands face up: its active face is its upper one.
        tops[i] = pile.layers(Part::Die(i), dies[i], glued, die.body.iter().rev());
        active[i] = tops[i];
    }
    let tallest = tops.iter().copied().fold(z, f64::max);
    let mut top = tallest;
    if let Some(lid) = &problem.lid {
        let area = Area::around([0.0; 2], [lid.width_m, lid.height_m]);
        let touching = |d: &(&Die, &f64)| d.0.interface.as_ref().map(|t| d.1 + t.bond_line.thickness_m());
        let held = problem.dies.iter().zip(&tops).filter_map(|d| touching(&d)).fold(0.0, f64::max);
        let foot_height =
            lid.foot.as_ref().map_or(0.0, |f| f.height_m + f.adhesive.thickness_m) + on_substrate;
        // Where no die touches it, it stands on its foot, above all dies.
        let below = if held > 0.0 { held.max(tallest) } else { foot_height.max(tallest + 1e-6) };
        pile.slabs.insert(
            0,
            Slab {
                part: Part::Air,
                area,
                hole: None,
                z: [on_substrate, below],
                conduct: Conduct::Air,
                plain_capacity: None,
            },
        );
        // Over the air, and under what stands on a die.
        let mut next = 1;
        for (i, die) in problem.dies.iter().enumerate() {
            if let Some(interface) = &die.interface
                && below > tops[i]
            {
                let slab = Slab {
                    part: Part::Interface(i),
                    area: dies[i],
                    hole: None,
                    z: [tops[i], below],
                    conduct: Conduct::Interface(interface),
                    plain_capacity: None,
                };
                pile.slabs.insert(next, slab);
                next += 1;
            }
        }
        if let Some(foot) = &lid.foot {
            let glue = (on_substrate + foot.adhesive.thickness_m).min(0.5 * (on_substrate + below));
            pile.frame(Part::Foot, area, foot.band_m, [on_substrate, glue], Conduct::Layer(&foot.adhesive));
            pile.frame(Part::Foot, area, foot.band_m, [glue, below], Conduct::Plain(&lid.conductivity));
        }
        top = below + lid.thickness_m;
        pile.push(Part::Lid, area, [below, top], Conduct::Plain(&lid.conductivity));
    } else if let Some(ring) = &problem.ring {
        let area = Area::around([0.0; 2], [ring.width_m, ring.height_m]);
        let glue = on_substrate + ring.adhesive.thickness_m;
        pile.frame(Part::Ring, area, ring.band_m, [on_substrate, glue], Conduct::Layer(&ring.adhesive));
        let upper = [glue, glue + ring.thickness_m];
        pile.frame(Part::Ring, area, ring.band_m, upper, Conduct::Plain(&ring.conductivity));
    }
    let lid = problem.lid.as_ref().and_then(|l| l.capacity);
    let ring = problem.ring.as_ref().and_then(|r| r.capacity);
    for slab in &mut pile.slabs {
        slab.plain_capacity = if slab.part == Part::Ring { ring } else { lid };
    }
    Parts { slabs: pile.slabs, dies, active, tops, substrate, board_top, top }
}
