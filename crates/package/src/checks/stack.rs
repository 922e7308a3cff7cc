//! The stack: every part stands on something, inside it, and touches it.

use super::{Checker, length};
use crate::design::Design;
use crate::die::{Die, Mount};
use facedown_diagnostic::{Finding, nearest};

/// Lengths closer than this count as equal, m.
const SAME: f64 = 1e-9;

pub fn check(c: &mut Checker) {
    supports(c);
    bodies(c);
    overlaps(c);
}

/// A body in plan: centre and half sizes, m, in the frame of the substrate's centre, and the height of its top over
/// the substrate.
#[derive(Debug, Clone, Copy)]
pub(super) struct Body {
    pub x: f64,
    pub y: f64,
    pub half_x: f64,
    pub half_y: f64,
    pub top: f64,
}

/// Where a die stands, following what it stands on; `None` when that is unknown or goes round in circles.
pub(super) fn body(design: &Design, die: &Die) -> Option<Body> {
    follow(design, die, 0)
}

fn follow(design: &Design, die: &Die, depth: usize) -> Option<Body> {
    if depth > design.dies.len() {
        return None;
    }
    let below = match die.on() {
        "substrate" => {
            let s = design.substrate.as_ref()?;
            Body { x: 0.0, y: 0.0, half_x: s.width.si() / 2.0, half_y: s.height.si() / 2.0, top: 0.0 }
        }
        "interposer" => interposer(design)?,
        name => follow(design, design.die(name)?.1, depth + 1)?,
    };
    let [x, y] = die.at.map_or([0.0, 0.0], |[x, y]| [x.si(), y.si()]);
    let (sin, cos) = die.rotation.map_or(0.0, |r| r.si()).sin_cos();
    let (w, h) = (die.width.si() / 2.0, die.height.si() / 2.0);
    let (half_x, half_y) = (w * cos.abs() + h * sin.abs(), w * sin.abs() + h * cos.abs());
    let joint = match die.mount() {
        Mount::Flip => die.bumps.as_ref().map_or(0.0, |b| b.sizes().height.m()),
        Mount::Wire => die.attach.as_ref().map_or(0.0, |a| a.thickness.si()),
    };
    Some(Body { x: below.x + x, y: below.y + y, half_x, half_y, top: below.top + joint + die.thickness.si() })
}

pub(super) fn interposer(design: &Design) -> Option<Body> {
    let i = design.interposer.as_ref()?;
    let [x, y] = i.at.map_or([0.0, 0.0], |[x, y]| [x.si(), y.si()]);
    let joint = i.bumps.as_ref().map_or(0.0, |b| b.sizes().height.m());
    let top = joint + crate::stack::thickness_m(&i.layers);
    Some(Body { x, y, half_x: i.width.si() / 2.0, half_y: i.height.si() / 2.0, top })
}

fn supports(c: &mut Checker) {
    let design = c.design;
    let mut told = false;
    let mut standing: Vec<&str> = vec!["substrate", "interposer"];
    standing.extend(design.dies.iter().map(|d| d.name.as_str()));
    for (i, die) in design.dies.iter().enumerate() {
        let path = format!("die[{i}].on");
        let (name, on) = (&die.name, die.on());
        match on {
            "substrate" if design.substrate.is_none() => {
                let finding = Finding::error(
                    "no-support",
                    format!("the die `{name}` stands on the substrate, and there is none"),
                )
                .mend("add a table [substrate] with width, height and layers");
                c.absent(&path, finding);
            }
            "interposer" if design.interposer.is_none() => {
                let finding = Finding::error(
                    "no-support",
                    format!("the die `{name}` stands on the interposer, and there is none"),
                )
                .mend("add a table [interposer], or write `on = \"substrate\"`");
                c.absent(&path, finding);
            }
            "substrate" | "interposer" => {}
            other if design.die(other).is_none() => {
                let finding = Finding::error(
                    "no-support",
                    format!("the die `{name}` stands on `{other}`, which is no part of the design"),
                )
                .allowed("substrate, interposer, or the name of another die");
                let finding = match nearest(other, standing.iter().copied()) {
                    Some(right) => finding.mend(format!("write \"{right}\"")),
                    None => finding,
                };
                c.absent(&path, finding);
            }
            _ => {
                let mut below = die;
                let mut steps = 0;
                while let Some((_, next)) = design.die(below.on()) {
                    below = next;
                    steps += 1;
                    if steps > design.dies.len() {
                        if std::mem::replace(&mut told, true) {
                            break;
                        }
                        let finding = Finding::error(
                            "stack-in-circle",
                            format!("the die `{name}` stands on itself, by way of `{on}`"),
                        )
                        .mend("let one die of the circle stand on the substrate");
                        c.at(&path, finding);
                        break;
                    }
                }
            }
        }
    }
}

fn bodies(c: &mut Checker) {
    let design = c.design;
    if let Some(substrate) = &design.substrate
        && substrate.layers.is_empty()
    {
        let finding = Finding::error("no-layers", "the substrate has no layers")
            .mend("add tables [[substrate.layer]] from the die side down, each with material and thickness");
        c.absent("substrate", finding);
    }
    layers(c, "substrate", design.substrate.as_ref().map_or(&[], |s| &s.layers));
    layers(c, "board", design.board.as_ref().map_or(&[], |s| &s.layers));
    if let Some(interposer) = &design.interposer {
        layers(c, "interposer", &interposer.layers);
        if interposer.layers.is_empty() {
            let finding = Finding::error("no-layers", "the interposer has no layers")
                .mend("add tables [[interposer.layer]] from the die side down");
            c.absent("interposer", finding);
        }
        if interposer.bumps.is_none() {
            let finding =
                Finding::error("stack-gap", "the interposer does not touch the substrate: it has no bumps")
                    .mend("add a table [interposer.bumps] with at least a pitch");
            c.absent("interposer", finding);
        }
        match (&design.substrate, self::interposer(design)) {
            (Some(s), Some(body)) => {
                let support = Body {
                    x: 0.0,
                    y: 0.0,
                    half_x: s.width.si() / 2.0,
                    half_y: s.height.si() / 2.0,
                    top: 0.0,
                };
                over_the_edge(c, "interposer", "the interposer", "the substrate", body, support);
            }
            _ => {
                let finding =
                    Finding::error("no-support", "the interposer stands on the substrate, and there is none")
                        .mend("add a table [substrate]");
                c.absent("interposer", finding);
            }
        }
    }
    for (i, die) in design.dies.iter().enumerate() {
        let support = match die.on() {
            "substrate" => design.substrate.as_ref().map(|s| Body {
                x: 0.0,
                y: 0.0,
                half_x: s.width.si() / 2.0,
                half_y: s.height.si() / 2.0,
                top: 0.0,
            }),
            "interposer" => self::interposer(design),
            name => design.die(name).and_then(|(_, d)| body(design, d)),
        };
        if let (Some(support), Some(body)) = (support, body(design, die)) {
            let on = match die.on() {
                "substrate" | "interposer" => format!("the {}", die.on()),
                name => format!("the die `{name}`"),
            };
            over_the_edge(c, &format!("die[{i}]"), &format!("the die `{}`", die.name), &on, body, support);
        }
    }
}

fn over_the_edge(c: &mut Checker, path: &str, what: &str, on: &str, body: Body, support: Body) {
    if [body.half_x, body.half_y, support.half_x, support.half_y].iter().any(|h| *h <= 0.0) {
        return;
    }
    if body.half_x > support.half_x + SAME || body.half_y > support.half_y + SAME {
        let size = |b: Body| format!("{} x {}", length(2.0 * b.half_x), length(2.0 * b.half_y));
        let finding = Finding::error(
            "body-too-large",
            format!("{what} of {} is larger than {on} of {} that it stands on", size(body), size(support)),
        )
        .allowed("parts not larger than what they stand on")
        .mend("check width and height of both");
        c.at(&format!("{path}.width"), finding);
        return;
    }
    let over_x = (body.x - support.x).abs() + body.half_x - support.half_x;
    let over_y = (body.y - support.y).abs() + body.half_y - support.half_y;
    let over = over_x.max(over_y);
    if over > SAME {
        let axis = if over_x > over_y { "x" } else { "y" };
        let free = if over_x > over_y { support.half_x - body.half_x } else { support.half_y - body.half_y };
        let finding = Finding::error(
            "body-over-edge",
            format!("{what} hangs {} over the edge of {on} in {axis}", length(over)),
        )
        .allowed(format!("a centre within {} of the centre of {on} in {axis}", length(free)))
        .mend("move it with `at`, which is the distance of the two centres");
        c.at(&format!("{path}.at"), finding);
    }
}

fn layers(c: &mut Checker, at: &str, layers: &[crate::stack::StackLayer]) {
    for (i, layer) in layers.iter().enumerate() {
        if layer.copper.is_some() && !layer.material.as_str().starts_with("copper") {
            let finding = Finding::error(
                "copper-share",
                format!("a layer of `{}` has a share of copper", layer.material),
            )
            .allowed("a copper share on layers of copper only")
            .mend("write the metal as a layer of its own, with what fills it as `fill`");
            c.at(&format!("{at}.layer[{i}].copper"), finding);
        }
    }
}

fn overlaps(c: &mut Checker) {
    let design = c.design;
    let bodies: Vec<Option<Body>> = design.dies.iter().map(|d| body(design, d)).collect();
    for j in 0..bodies.len() {
        for i in 0..j {
            let (Some(a), Some(b)) = (bodies[i], bodies[j]) else { continue };
            let (die_a, die_b) = (&design.dies[i], &design.dies[j]);
            if die_a.on() != die_b.on() {
                continue;
            }
            let dx = (a.x - b.x).abs() - a.half_x - b.half_x;
            let dy = (a.y - b.y).abs() - a.half_y - b.half_y;
            if dx < -SAME && dy < -SAME {
                let mut finding = Finding::error(
                    "dies-overlap",
                    format!(
                        "the dies `{}` and `{}` overlap by {}",
                        die_a.name,
                        die_b.name,
                        length(-dx.max(dy))
                    ),
                )
                .allowed("dies beside each other, or one on the other by `on`")
                .mend("move one of them with `at`");
                if let Some(place) = design.places.value(&format!("die[{i}].name")) {
                    finding = finding.also(place, "the other die");
                }
                c.at(&format!("die[{j}].at"), finding);
            }
        }
    }
}
