//! One RDL layer of a problem: its obstacles and trees in the router's terms, and what comes back.

use crate::assignment::Tree as NetTree;
use crate::metal::{ALLOWANCE, CHORD, ROUNDING};
use crate::problem::{Problem, Style};
use crate::route::mesh::{Mesh, MeshError, NONE, Vertex};
use crate::route::negotiate::{Effort, Routed, Tree, route};
use crate::route::plane::P2;
use facedown_layout::Point;

/// What a mesh vertex stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stands {
    /// A pad, by its place in the problem.
    Pad(usize),
    /// A site, by its place in the problem.
    Site(usize),
}

/// One layer, routed.
pub struct LayerRoute {
    /// Layer number, 1 nearest the die.
    pub number: u8,
    /// What each terminal vertex stands for.
    pub stands: Vec<Stands>,
    /// Radius of the drawn metal of each terminal vertex, nm.
    pub radius: Vec<f64>,
    /// The routing.
    pub routed: Routed,
    /// For each tree of `routed`, its place in the list of net trees.
    pub tree: Vec<usize>,
}

/// Floating nanometres of a layout point.
pub fn place(p: Point) -> P2 {
    [p.x.nm(), p.y.nm()]
}

/// Half sides of the dielectric opening over a pad, nm.
pub fn opening_half(problem: &Problem, pad: usize) -> P2 {
    let p = &problem.pads[pad];
    let inset = problem.rules.pad_opening_inset.nm();
    [(p.width.nm() / 2.0 - inset).max(1.0), (p.height.nm() / 2.0 - inset).max(1.0)]
}

/// The rectangle that holds the landing of a pad: the die less its edge clearance, but never less than the enclosure of
/// the opening.
pub fn landing_limits(problem: &Problem, pad: usize) -> (P2, P2) {
    let (at, half) = (place(problem.pads[pad].at), opening_half(problem, pad));
    let (clear, more) = (problem.rules.edge_clearance.nm(), problem.rules.landing_enclosure.nm());
    let die = [problem.width.nm(), problem.height.nm()];
    let low = [0, 1].map(|k| clear.min(at[k] - half[k] - more));
    let high = [0, 1].map(|k| (die[k] - clear).max(at[k] + half[k] + more));
    (low, high)
}

/// Radius of the smallest circle around a landing, nm.
pub fn landing_radius(problem: &Problem, pad: usize) -> f64 {
    let h = opening_half(problem, pad);
    h[0].hypot(h[1]) + problem.rules.landing_enclosure.nm()
}

/// Radius of the metal of a via between RDL layers, nm.
pub fn via_radius(problem: &Problem) -> f64 {
    problem.rules.via.nm() / 2.0 + problem.rules.via_enclosure.nm()
}

/// Width of a net's traces, nm.
pub fn width_of(problem: &Problem, net: &str) -> f64 {
    problem.nets.iter().find(|n| n.name == net).and_then(|n| n.width).unwrap_or(problem.rules.line).nm()
}

/// Routes the trees `mine` (places in `trees`) on layer `number`. `on_layer[t]` is the layer of every tree; nets number
/// from `net_of`.
///
/// # Errors
/// [`MeshError`] when terminals coincide.
pub fn route_layer(
    problem: &Problem,
    trees: &[NetTree],
    net_of: &[u32],
    class_of: &[u32],
    on_layer: &[u8],
    number: u8,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Result<LayerRoute, MeshError> {
    let top = problem.layers;
    let space = problem.rules.space.nm() + ALLOWANCE;
    let drawn = CHORD + ROUNDING;
    let mut vertices = Vec::new();
    let mut stands = Vec::new();
    let mut radius = Vec::new();
    let mut add = |p: P2, r: f64, what: Stands| {
        vertices.push(Vertex { p, radius: r + drawn, gap: space });
        stands.push(what);
        radius.push(r);
        vertices.len() as u32 - 1
    };
    let mut of_tree: Vec<Vec<u32>> = vec![Vec::new(); trees.len()];
    for (t, tree) in trees.iter().enumerate() {
        for &p in &tree.pads {
            let r = if number == 1 { landing_radius(problem, p) } else { via_radius(problem) };
            // On the first layer every pad has its landing; above, only pads whose net runs there.
            if number == 1 || on_layer[t] == number {
                of_tree[t].push(add(place(problem.pads[p].at), r, Stands::Pad(p)));
            }
        }
    }
    for (t, tree) in trees.iter().enumerate() {
        for &s in &tree.sites {
            let r = if number == top { problem.rules.capture.nm() / 2.0 } else { via_radius(problem) };
            if number == top || on_layer[t] == number {
                of_tree[t].push(add(place(problem.sites[s].at), r, Stands::Site(s)));
            }
        }
    }
    let clear = problem.rules.edge_clearance.nm();
    let mut low = [clear, clear];
    let mut high = [problem.width.nm() - clear, problem.height.nm() - clear];
    for v in &vertices {
        for k in 0..2 {
            // A landing at the very edge is the checker's matter; the mesh must still hold it.
            low[k] = low[k].min(v.p[k] - 1e3);
            high[k] = high[k].max(v.p[k] + 1e3);
        }
    }
    let keep_outs: Vec<Vec<P2>> = problem
        .keep_outs
        .iter()
        .filter(|k| k.layer.is_none_or(|l| l == number))
        .map(|k| k.polygon.outer.iter().map(|&p| place(p)).collect())
        .collect();
    let mut mesh = Mesh::new(&vertices, low, high, &keep_outs, space - ALLOWANCE / 2.0)?;
    if problem.style == Style::Octilinear {
        crate::octilinear::measure(&mut mesh);
    }
    let mut tree = Vec::new();
    let mut mine = Vec::new();
    for (t, v) in of_tree.into_iter().enumerate() {
        if on_layer[t] == number && v.len() > 1 {
            tree.push(t);
            let free = class_of[t] != NONE && v.len() == 2;
            mine.push(Tree {
                net: net_of[t],
                vertices: v,
                width: width_of(problem, &trees[t].net),
                class: if free { class_of[t] } else { NONE },
            });
        }
    }
    let mut routed = route(mesh, mine, space, Effort::default(), go_on);
    if problem.style == Style::Octilinear {
        crate::octilinear::straighten(&mut routed);
    }
    Ok(LayerRoute { number, stands, radius, routed, tree })
}
