//! The drawing of a routed problem: every layer from the pads to the bumps.

use crate::assignment::Tree;
use crate::layer::{LayerRoute, Stands, landing_limits, landing_radius, opening_half, place, via_radius};
use crate::metal::{ALLOWANCE, Neighbours, circle, circle_within, first_straight, teardrop, trace, web};
use crate::octilinear::trace::{between_teardrops, fillets, first_run};
use crate::problem::{Problem, Style};
use crate::route::plane::P2;
use facedown_layout::{Drawing, Label, Point, Polygon, Role, Shape, ShapeKind};
use facedown_quantity::Nm;

/// Draws everything. `net_of` numbers the nets of `trees`; `layers` may be empty (nothing routed).
pub fn draw(problem: &Problem, trees: &[Tree], net_of: &[u32], layers: &[LayerRoute]) -> Drawing {
    let mut d = Drawing::new(&problem.name, problem.width, problem.height);
    let outline = Polygon::rectangle(Point::default(), Point::new(problem.width, problem.height));
    d.layer_mut(Role::Outline).shapes.push(Shape::new(ShapeKind::Outline, None, outline));
    pads_and_bumps(problem, trees, layers, &mut d);
    for k in &problem.keep_outs {
        d.layer_mut(Role::KeepOut).shapes.push(Shape::new(ShapeKind::KeepOut, None, k.polygon.clone()));
    }
    for l in layers {
        metal(problem, trees, net_of, l, &mut d);
    }
    if !layers.is_empty() {
        crate::grow::grow(problem, &mut d);
        crate::openings::mesh(problem, &mut d);
        crate::openings::slots(problem, &mut d);
    }
    d
}

fn pads_and_bumps(problem: &Problem, trees: &[Tree], layers: &[LayerRoute], d: &mut Drawing) {
    let rules = &problem.rules;
    let top = problem.layers;
    for (i, p) in problem.pads.iter().enumerate() {
        let half = Point::new(p.width / 2, p.height / 2);
        let corner = |s: i64| Point::new(p.at.x + half.x * s, p.at.y + half.y * s);
        let net = (!p.net.is_empty()).then_some(p.net.as_str());
        d.layer_mut(Role::Pad).shapes.push(Shape::new(
            ShapeKind::Pad,
            net,
            Polygon::rectangle(corner(-1), corner(1)),
        ));
        d.labels.push(Label { role: Role::Pad, at: p.at, text: p.name.clone() });
        if net.is_none() {
            continue;
        }
        let h = opening_half(problem, i);
        let opening = |s: f64| {
            Point::new(
                Nm((p.at.x.nm() + s * h[0]).round() as i64),
                Nm((p.at.y.nm() + s * h[1]).round() as i64),
            )
        };
        d.layer_mut(Role::Opening(1)).shapes.push(Shape::new(
            ShapeKind::Opening,
            net,
            Polygon::rectangle(opening(-1.0), opening(1.0)),
        ));
        let (low, high) = landing_limits(problem, i);
        let landing = circle_within(place(p.at), landing_radius(problem, i), low, high);
        d.layer_mut(Role::Rdl(1)).shapes.push(Shape::new(ShapeKind::Landing, net, landing));
    }
    for t in trees {
        for &s in &t.sites {
            let site = &problem.sites[s];
            let (c, net) = (place(site.at), Some(t.net.as_str()));
            let widest = rules.capture.max(rules.ubm).max(rules.bump).nm() / 2.0;
            let disc = |diameter: Nm| circle(c, diameter.nm() / 2.0, widest);
            d.layer_mut(Role::Rdl(top)).shapes.push(Shape::new(ShapeKind::Capture, net, disc(rules.capture)));
            d.layer_mut(Role::BumpOpening).shapes.push(Shape::new(
                ShapeKind::Opening,
                net,
                disc(rules.bump_opening),
            ));
            d.layer_mut(Role::Ubm).shapes.push(Shape::new(ShapeKind::Ubm, net, disc(rules.ubm)));
            d.layer_mut(Role::Bump).shapes.push(Shape::new(ShapeKind::Bump, net, disc(rules.bump)));
            d.labels.push(Label { role: Role::Bump, at: site.at, text: site.name.clone() });
        }
    }
    if top == 2 {
        vias(problem, trees, layers, d);
    }
}

/// Vias between the two RDL layers: at the pads of nets on the upper layer, at the bumps of nets on the lower.
fn vias(problem: &Problem, trees: &[Tree], layers: &[LayerRoute], d: &mut Drawing) {
    for l in layers {
        for &t in &l.tree {
            let tree = &trees[t];
            let at: Vec<P2> = if l.number == 2 {
                tree.pads.iter().map(|&p| place(problem.pads[p].at)).collect()
            } else {
                tree.sites.iter().map(|&s| place(problem.sites[s].at)).collect()
            };
            for c in at {
                let net = Some(tree.net.as_str());
                d.layer_mut(Role::Opening(2)).shapes.push(Shape::new(
                    ShapeKind::Via,
                    net,
                    circle(c, problem.rules.via.nm() / 2.0, via_radius(problem)),
                ));
                // The other layer's metal is there already as landing or capture pad.
                d.layer_mut(Role::Rdl(l.number)).shapes.push(Shape::new(
                    ShapeKind::Via,
                    net,
                    circle(c, via_radius(problem), 0.0),
                ));
            }
        }
    }
}

fn metal(problem: &Problem, trees: &[Tree], net_of: &[u32], l: &LayerRoute, d: &mut Drawing) {
    let r = &l.routed;
    let space = problem.rules.space.nm() + ALLOWANCE;
    let mut others = Neighbours::new(
        [0.0, 0.0],
        [problem.width.nm(), problem.height.nm()],
        2.0 * (problem.rules.line.nm() + space),
    );
    let mut net_of_vertex = vec![u32::MAX - 1; l.stands.len()];
    for (k, t) in r.trees.iter().enumerate() {
        for &v in &t.vertices {
            net_of_vertex[v as usize] = net_of[l.tree[k]];
        }
    }
    // Terminals of trees on another layer are foreign to all.
    for (v, stands) in l.stands.iter().enumerate() {
        let p = match stands {
            Stands::Pad(i) => problem.pads[*i].at,
            Stands::Site(i) => problem.sites[*i].at,
        };
        others.disc(net_of_vertex[v], place(p), l.radius[v]);
    }
    for (w, course) in r.courses.iter().enumerate() {
        if let Some(c) = course {
            // Mitred corners of octilinear traces reach beyond half the width.
            let reach =
                if problem.style == Style::Octilinear { crate::octilinear::trace::MITRE } else { 1.0 };
            others.course(net_of[l.tree[r.tree_of[w] as usize]], reach * r.sketch.wires[w].width / 2.0, c);
        }
    }
    let mut leaving: Vec<Vec<(usize, bool)>> = vec![Vec::new(); l.stands.len()];
    for (w, course) in r.courses.iter().enumerate() {
        let Some(c) = course else { continue };
        let t = l.tree[r.tree_of[w] as usize];
        let (net, name, wire) = (net_of[t], Some(trees[t].net.as_str()), &r.sketch.wires[w]);
        let layer = d.layer_mut(Role::Rdl(l.number));
        let outline = match problem.style {
            Style::AnyAngle => trace(c, wire.width),
            Style::Octilinear => crate::octilinear::trace::trace(c, wire.width),
        };
        layer.shapes.push(Shape::new(ShapeKind::Trace, name, outline));
        for (end, v) in wire.ends.into_iter().enumerate() {
            let centre = if end == 0 { c.start } else { c.end };
            let to = match problem.style {
                Style::AnyAngle => first_straight(c, end == 0),
                Style::Octilinear => first_run(c, end == 0, wire.width),
            };
            leaving[v as usize].push((w, end == 0));
            // Near the die edge a landing is cut straight; what widens a trace there must stay within it.
            let edge = (0..2)
                .map(|k| centre[k].min([problem.width, problem.height][k].nm() - centre[k]))
                .fold(f64::INFINITY, f64::min);
            let radius = l.radius[v as usize].min(edge - problem.rules.edge_clearance.nm());
            if let Some(drop) = teardrop(net, centre, to, radius, wire.width, space, &others) {
                layer.shapes.push(Shape::new(ShapeKind::Teardrop, name, drop));
            }
            if problem.style == Style::Octilinear {
                let fillets = fillets(net, c, end == 0, radius, wire.width, space, &others);
                layer.shapes.extend(fillets.into_iter().map(|f| Shape::new(ShapeKind::Teardrop, name, f)));
            }
        }
    }
    for (k, t) in r.trees.iter().enumerate() {
        for &v in &t.vertices {
            let ends = &leaving[v as usize];
            for i in 0..ends.len() {
                for j in 0..i {
                    let (Some(a), Some(b)) = (&r.courses[ends[j].0], &r.courses[ends[i].0]) else { continue };
                    let shape = web([a, b], [ends[j].1, ends[i].1], t.width, problem.rules.space.nm());
                    let between_drops = (problem.style == Style::Octilinear)
                        .then(|| {
                            let to = [first_straight(a, ends[j].1), first_straight(b, ends[i].1)];
                            let (at, net) = (r.sketch.mesh.vertices[v as usize].p, net_of[l.tree[k]]);
                            between_teardrops(net, at, to, l.radius[v as usize], t.width, space, &others)
                        })
                        .flatten();
                    for web in shape.into_iter().chain(between_drops) {
                        let name = Some(trees[l.tree[k]].net.as_str());
                        d.layer_mut(Role::Rdl(l.number)).shapes.push(Shape::new(
                            ShapeKind::Teardrop,
                            name,
                            web,
                        ));
                    }
                }
            }
        }
    }
}
