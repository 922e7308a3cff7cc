//! The knot of the rule check: every drawing of the redistribution is held against the design's rules by the checker
//! that shares no geometry with the router. Its figures are reported under `redistribution`.

use super::{REDISTRIBUTION, RULE_CHECK};
use crate::graph::{Failure, Inputs, Join, Node, Progress, Reads, Report, Study, Upstream};
use crate::stage::Stage;
use facedown_evidence::{Figure, Status};
use facedown_layout::{Drawing, Role, ShapeKind};
use facedown_package::{Design, Die};
use facedown_quantity::Nm;
use facedown_redistribution::Outcome;
use facedown_rulecheck as checker;
use serde::Serialize;
use std::collections::BTreeMap;

/// The rule check of the redistribution's drawings.
#[derive(Debug, Clone, Copy)]
pub struct RuleCheck;

/// What one check reads.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Check {
    drawing: Drawing,
    rules: checker::Rules,
    /// True for a layout without redistribution metal.
    direct: bool,
}

impl Study<Design> for RuleCheck {
    type Input = Check;
    type Output = checker::Report;

    fn node(&self) -> Node {
        Node {
            name: RULE_CHECK,
            stage: Stage::Redistribute,
            version: 2,
            reads: &[
                Reads::Study(REDISTRIBUTION),
                Reads::Design("die.rdl, die.bumps, die.net, die.seal_ring"),
            ],
            reported_under: REDISTRIBUTION,
        }
    }

    fn inputs(&self, design: &Design, upstream: &Upstream<'_>) -> Inputs<Check> {
        let mut checks = Vec::new();
        for (name, outcome) in upstream.parts::<Outcome>(REDISTRIBUTION)? {
            // A pairing that was refused before routing has its proof; its bare pads would only drown it.
            if !outcome.nets.is_empty() && outcome.nets.iter().all(|n| !n.routed) {
                continue;
            }
            if let Some((_, die)) = design.die(name) {
                let (drawing, rules) = (outcome.drawing.clone(), checker_rules(die));
                let check = if die.rdl.is_some() {
                    Check { drawing, rules, direct: false }
                } else {
                    on_pads(drawing, rules)
                };
                checks.push((name.to_owned(), check));
            }
        }
        if checks.is_empty() {
            return Err(crate::graph::Absent::NotInDesign("There is no layout to check.".into()));
        }
        Ok(checks)
    }

    fn solve(&self, check: &Check, progress: &Progress<'_>) -> Result<checker::Report, Failure> {
        progress.tell(f64::NAN, "checking the layout");
        Ok(checker::check(&check.drawing, &check.rules))
    }

    fn report(&self, _: &str, check: &Check, found: &checker::Report) -> Report {
        let mut figures = vec![Figure {
            name: "violations".into(),
            value: found.total as f64,
            unit: String::new(),
            error: Some(0.0),
            hand: None,
            basis: "counted by the independent rule checker: width, widest metal, share of metal, space, enclosure, edge clearance, opening nesting, \
                    one piece a net, no two nets touching, acute corners"
                .into(),
            status: Status::Solved,
            outside: None,
            between: None,
        }];
        let mut limits = BTreeMap::new();
        if let Some(first) = found.violations.first() {
            limits.insert("violations".to_owned(), clause(&first.sentence));
        }
        if let Some(least) = found.min_spacing().filter(|_| !check.direct) {
            figures.push(Figure {
                name: "min_spacing".into(),
                value: least.value / 1e3,
                unit: "um".into(),
                error: Some(0.0),
                hand: Some(check.rules.space.um()),
                basis:
                    "smallest distance between metal of different nets on one RDL layer, exact on the drawn \
                        polygons; the hand check is the rule"
                        .into(),
                status: Status::Solved,
                outside: None,
                between: None,
            });
            let place = format!("({}, {}) um", least.at.x.um(), least.at.y.um());
            limits.insert(
                "min_spacing".to_owned(),
                format!("between nets {} at {place}", least.nets.join(" and ")),
            );
        }
        Report { figures, limits, notes: Vec::new() }
    }

    fn join(&self, figure: &str) -> Join {
        if figure == "violations" { Join::Sum } else { Join::Smallest }
    }
}

/// The check of a die without redistribution: the pads are the metal that the bumps stand on, and what they carry in
/// common is joined inside the die.
fn on_pads(mut drawing: Drawing, mut rules: checker::Rules) -> Check {
    for layer in drawing.layers.iter_mut().filter(|l| l.role == Role::Pad) {
        layer.role = Role::Rdl(1);
        for shape in &mut layer.shapes {
            rules.joined_elsewhere.extend(shape.net.clone());
            shape.kind = ShapeKind::Capture;
        }
    }
    drawing.layers.sort_by_key(|l| l.role);
    Check { drawing, rules, direct: true }
}

/// A sentence as a clause in the middle of another.
fn clause(sentence: &str) -> String {
    let text = sentence.trim_end_matches('.');
    format!("the first: {text}")
}

/// The rules that a die's layout is held against, from the same sizes that the router draws to.
pub fn checker_rules(die: &Die) -> checker::Rules {
    let sizes = die.bumps.as_ref().map(|b| b.sizes());
    let Some(rdl) = die.rdl_rules() else {
        // Without redistribution metal only bumps, UBM and openings are there to check.
        let least = Nm(1);
        let mut rules = checker::Rules::new(least, least);
        rules.bump_edge_to_seal_ring = Some(Nm::round_m(die.seal_ring_m()));
        rules.ubm_encloses_bump_opening = sizes.map(|s| Nm((s.ubm - s.opening).0 / 2));
        rules.bump_space = Some(least);
        return rules;
    };
    let mut rules = checker::Rules::new(rdl.line, rdl.space);
    // The router draws arcs as chords within 4 nm and rounds to whole nanometres. Spaces are exact all the same.
    rules.flattening = Nm(5);
    rules.edge_clearance = Some(rdl.edge_clearance);
    rules.widest = rdl.max_metal_width;
    rules.density = die.rdl.as_ref().and_then(|r| r.metal_share.as_ref()).map(metal_share);
    rules.landing_enclosure = Some(rdl.landing_enclosure);
    rules.pad_encloses_opening = Some(rdl.pad_opening_inset);
    rules.via_enclosure = (rdl.layers > 1).then_some(rdl.via_enclosure);
    rules.via_width = (rdl.layers > 1).then_some(rdl.via);
    if let Some(sizes) = sizes {
        rules.capture_encloses_ubm = Some(Nm((sizes.capture - sizes.ubm).0 / 2));
        rules.ubm_encloses_bump_opening = Some(Nm((sizes.ubm - sizes.opening).0 / 2));
        rules.bump_opening_width = Some(sizes.opening);
        rules.ubm_width = Some(sizes.ubm);
        rules.bump_edge_to_seal_ring = Some(Nm::round_m(die.seal_ring_m()));
        rules.bump_space = Some(Nm(1));
    }
    let apart = die.nets.iter().filter(|n| n.joined == Some(false));
    rules.joined_elsewhere = apart.map(|n| n.name.to_string()).collect();
    rules.keep_outs = die.keep_outs.iter().filter_map(keep_out).collect();
    rules
}

/// The share of metal that the design asks for in every window; windows every half of their side where it does not say.
fn metal_share(wanted: &facedown_package::MetalShare) -> checker::DensityWindow {
    let size = Nm::round_m(wanted.window.si());
    checker::DensityWindow {
        size,
        step: wanted.step.as_ref().map_or(Nm(size.0 / 2), |s| Nm::round_m(s.si())),
        low: wanted.least.as_ref().map_or(0.0, |f| f.si()),
        high: wanted.most.as_ref().map_or(1.0, |f| f.si()),
    }
}

/// A keep-out of the design, told to the checker from the design itself and not from the router's drawing of it.
fn keep_out(keep_out: &facedown_package::KeepOut) -> Option<checker::KeepOut> {
    let corner = |(x, y): (f64, f64)| facedown_layout::Point::new(Nm::round_m(x), Nm::round_m(y));
    let ring: Vec<_> = keep_out.corners_m().into_iter().map(corner).collect();
    let layer = keep_out.layer.and_then(|l| u8::try_from(l).ok());
    (ring.len() >= 3).then(|| checker::KeepOut { layer, polygon: facedown_layout::Polygon::new(ring) })
}

/// Layer of a violation in words.
pub(crate) fn layer_words(role: Option<Role>) -> String {
    match role {
        None => "any".into(),
        Some(Role::Outline) => "outline".into(),
        Some(Role::Pad) => "pads".into(),
        Some(Role::Opening(1)) => "pad openings".into(),
        Some(Role::Opening(n)) => format!("via openings {}-{n}", n - 1),
        Some(Role::Rdl(n)) => format!("RDL {n}"),
        Some(Role::BumpOpening) => "bump openings".into(),
        Some(Role::Ubm) => "UBM".into(),
        Some(Role::Bump) => "bumps".into(),
        Some(Role::KeepOut) => "keep-outs".into(),
    }
}
