//! The check itself: every rule in turn over the prepared layers.

use crate::boundary;
use crate::cluster::{Hit, worst};
use crate::connect::{Break, Loose, connections};
use crate::corners;
use crate::density;
use crate::enclosure::shortfalls;
use crate::joints::{joints, plane_of, top_metal};
use crate::naming;
use crate::plane::{Net, Plane};
use crate::report::{LayerReport, Measured, Report, Rule, Violation};
use crate::rules::Rules;
use crate::spacing;
use crate::strip::Side;
use crate::wide;
use crate::width::{self, Outlines};
use crate::words::{layer, place, point, thing, um};
use facedown_layout::{Drawing, Layer, Role};
use facedown_quantity::Nm;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Checks a drawing against rules.
///
/// Every breach is counted; the first [`Rules::keep`] of them, sorted by rule, layer and place, come with a sentence.
/// The answer depends on nothing but the two arguments. Takes a few seconds for a million vertices.
///
/// ```
/// use facedown_layout::{Drawing, Point, Polygon, Role, Shape, ShapeKind};
/// use facedown_quantity::Nm;
/// use facedown_rulecheck::{Rule, Rules, check};
///
/// let mut drawing = Drawing::new("demo", Nm::from_um(200), Nm::from_um(200));
/// let line = |y: f64| Polygon::rectangle(Point::um(10.0, y), Point::um(190.0, y + 40.0));
/// let metal = &mut drawing.layer_mut(Role::Rdl(1)).shapes;
/// metal.push(Shape::new(ShapeKind::Trace, Some("a"), line(20.0)));
/// metal.push(Shape::new(ShapeKind::Trace, Some("b"), line(69.0)));
/// let report = check(&drawing, &Rules::new(Nm::from_um(40), Nm::from_um(10)));
/// assert_eq!(report.total, 1);
/// assert_eq!(report.violations[0].rule, Rule::Space);
/// assert_eq!(report.violations[0].sentence, "Nets a and b are 9 um apart on RDL 1 at (10, 64.5) um; at least 10 um is needed.");
/// ```
pub fn check(drawing: &Drawing, rules: &Rules) -> Report {
    let mut names = naming::names(drawing, rules);
    let numbers: BTreeMap<String, Net> =
        names.iter().enumerate().map(|(i, n)| (n.clone(), i as Net)).collect();
    let numbers: BTreeMap<&str, Net> = numbers.iter().map(|(n, i)| (n.as_str(), *i)).collect();
    let mut found = Found { rules, names: &[], violations: Vec::new(), warnings: Vec::new() };
    found.rule_values();
    let mut planes = Vec::new();
    let checked: Vec<&Layer> =
        drawing.layers.iter().filter(|l| !matches!(l.role, Role::Outline | Role::KeepOut)).collect();
    let read: Vec<_> =
        checked.par_iter().map(|drawn| Plane::read(drawn, &numbers, edge_piece(drawn.role, rules))).collect();
    for (drawn, (plane, faults)) in checked.into_iter().zip(read) {
        for fault in faults {
            let nets = drawn.shapes.get(fault.shape).and_then(|s| s.net.clone()).into_iter().collect();
            let at = point([fault.at[0] as f64, fault.at[1] as f64]);
            let sentence = format!("A polygon on {} at {} {}.", layer(drawn.role), place(at), fault.what);
            found.add(Rule::Malformed, Some(drawn.role), at, nets, [0.0, 0.0], sentence);
        }
        planes.push(plane);
    }
    let disagreements = naming::by_labels(drawing, rules, &numbers, &mut planes);
    let joints = joints(&planes);
    naming::spread(&mut planes, &joints, &mut names);
    found.names = &names;
    for d in disagreements {
        let nets = found.nets(&d.nets);
        let at = point([d.at[0] as f64, d.at[1] as f64]);
        let sentence = format!(
            "One shape on {} carries the labels {} and {} at {}.",
            layer(d.role),
            nets[0],
            nets[1],
            place(at)
        );
        found.add(Rule::Short, Some(d.role), at, nets, [0.0, 0.0], sentence);
    }
    let outline = boundary::outline(drawing);
    let mut layers = Vec::new();
    planes.par_iter_mut().for_each(|plane| plane.merge(rules.flattening.0.max(0) as f64));
    for plane in &planes {
        layers.push(found.layer(plane, drawing, &outline));
    }
    found.between_layers(&planes, &outline);
    let (nets, breaks) = connections(&planes, &joints, &names, rules);
    found.breaks(breaks);
    found.finish(layers, nets)
}

/// Pieces in nm into which long slanted edges are cut: some times the distances that are asked about.
fn edge_piece(role: Role, rules: &Rules) -> i64 {
    let asked = [rules.width_on(role), rules.space_on(role)];
    let reach = asked.into_iter().flatten().map(|r| r.0).filter(|r| *r > 0).min().unwrap_or(rules.line.0);
    8 * reach.clamp(1_000, 1 << 24)
}

/// Violations as they are found.
struct Found<'a> {
    rules: &'a Rules,
    names: &'a [String],
    violations: Vec<Violation>,
    warnings: Vec<Violation>,
}

impl Found<'_> {
    fn add(
        &mut self,
        rule: Rule,
        layer: Option<Role>,
        at: facedown_layout::Point,
        nets: Vec<String>,
        values: [f64; 2],
        sentence: String,
    ) {
        let violation =
            Violation { rule, layer, at, nets, found_nm: values[0], needed_nm: values[1], sentence };
        if rule == Rule::Notch { self.warnings.push(violation) } else { self.violations.push(violation) }
    }

    fn name(&self, net: Net) -> String {
        self.names.get(net as usize).cloned().unwrap_or_else(|| "without a net".into())
    }

    /// Names of nets, sorted, each once.
    fn nets(&self, nets: &[Net]) -> Vec<String> {
        let mut names: Vec<String> =
            nets.iter().filter_map(|n| self.names.get(*n as usize).cloned()).collect();
        names.sort();
        names.dedup();
        names
    }

    fn nets_of(&self, plane: &Plane, shapes: &[u32]) -> Vec<String> {
        let nets: Vec<Net> = shapes.iter().filter_map(|s| plane.parts.get(*s as usize)?.net).collect();
        self.nets(&nets)
    }

    /// Rules that cannot be meant.
    fn rule_values(&mut self) {
        let at = point([0.0, 0.0]);
        for (what, value) in [("least width", self.rules.line), ("least space", self.rules.space)] {
            if value.0 <= 0 {
                let sentence = format!("The {what} of RDL metal is {value}; it must be above 0 um.");
                self.add(Rule::Malformed, None, at, Vec::new(), [value.nm(), 1.0], sentence);
            }
        }
        if let Some(window) = &self.rules.density
            && (window.size.0 <= 0 || window.step.0 <= 0)
        {
            let sentence = format!(
                "The density window is {} wide with a step of {}; both must be above 0 um.",
                window.size, window.step
            );
            self.add(
                Rule::Malformed,
                None,
                at,
                Vec::new(),
                [window.size.0.min(window.step.0) as f64, 1.0],
                sentence,
            );
        }
    }

    /// All rules that concern one layer alone, and its measures.
    fn layer(&mut self, plane: &Plane, drawing: &Drawing, outline: &crate::index::EdgeIndex) -> LayerReport {
        let role = plane.role;
        let metal = matches!(role, Role::Rdl(_));
        let net_of_piece = plane.net_of_piece();
        let own_net = |piece: usize| net_of_piece[piece].unwrap_or(u32::MAX);
        let measured = |hit: Hit, nets: Vec<String>| Measured { value: hit.value, at: point(hit.at), nets };

        // Space, and shorts on metal.
        let identity: Vec<u32> = if metal {
            plane.parts.iter().map(|p| p.net.unwrap_or(u32::MAX)).collect()
        } else {
            plane.piece_of.clone()
        };
        let mut min_spacing = None;
        if metal || self.rules.space_on(role).is_some() {
            let limit = self.rules.space_on(role).map_or(0, |s| s.0.max(0));
            let spacing = spacing::on_layer(plane, &identity, limit);
            let first = plane.first_of_piece();
            let nets = |found: &Found, key: (u32, u32)| {
                if metal {
                    found.nets(&[key.0, key.1])
                } else {
                    found.nets_of(plane, &[first[key.0 as usize], first[key.1 as usize]])
                }
            };
            min_spacing = spacing.least.map(|l| measured(l, nets(self, l.key)));
            for hit in worst(spacing.hits, limit.max(1)) {
                let nets = nets(self, hit.key);
                self.space(role, metal, limit, hit, nets);
            }
        }

        // Width and notches.
        let group: Vec<u32> =
            (0..plane.pieces as usize).map(|p| if metal { own_net(p) } else { p as u32 }).collect();
        let outlines = Outlines { index: &plane.merged, group: &group, plain: &plane.plain_pieces };
        let mut min_width = None;
        if let Some(line) = self.rules.width_on(role).filter(|l| l.0 > 0) {
            let (hits, least) = width::measure(&outlines, Side::Inside, line.nm(), true);
            let first = plane.first_of_piece();
            let nets = |found: &Found, key: u32| {
                if metal { found.nets(&[key]) } else { found.nets_of(plane, &[first[key as usize]]) }
            };
            min_width = least.map(|l| measured(l, nets(self, l.key.0)));
            let least_allowed = line.nm() - self.rules.width_slack() - 0.125;
            let hits = hits.into_iter().filter(|h| h.value < least_allowed).collect();
            for hit in worst(hits, line.0) {
                let (at, nets) = (point(hit.at), nets(self, hit.key.0));
                let whose = if metal {
                    format!("Net {}", self.name(hit.key.0))
                } else {
                    format!("A {}", thing(role))
                };
                let sentence = format!(
                    "{whose} is {} wide on {} at {}; at least {line} is needed.",
                    um(hit.value),
                    layer(role),
                    place(at)
                );
                self.add(Rule::Width, Some(role), at, nets, [hit.value, line.nm()], sentence);
            }
        }
        let (mut density_low, mut density_high) = (None, None);
        if metal {
            self.wide(plane, &own_net);
            if let Some(gap) = self.rules.notch.filter(|g| g.0 > 0) {
                let (hits, _) = width::measure(&outlines, Side::Outside, gap.nm(), false);
                for hit in worst(hits, gap.0) {
                    let at = point(hit.at);
                    let sentence = format!(
                        "Net {} comes within {} of itself on {} at {}; {gap} is the least space.",
                        self.name(hit.key.0),
                        um(hit.value),
                        layer(role),
                        place(at)
                    );
                    let nets = self.nets(&[hit.key.0]);
                    self.add(Rule::Notch, Some(role), at, nets, [hit.value, gap.nm()], sentence);
                }
            }
            if let Some(limit) = self.rules.corner_angle_deg {
                let (length, flattening) = (self.rules.corner_length.nm(), self.rules.flattening.nm());
                let hits = corners::sharp(&plane.merged, &group, limit, length, flattening);
                for (hits, side) in hits.into_iter().zip(["a corner", "an outside corner"]) {
                    for hit in worst(hits, self.rules.corner_length.0) {
                        let at = point(hit.at);
                        let sentence = format!(
                            "Net {} has {side} of {:.2} deg on {} at {}; at least {limit} deg is needed.",
                            self.name(hit.key.0),
                            hit.value,
                            layer(role),
                            place(at)
                        );
                        let nets = self.nets(&[hit.key.0]);
                        self.add(Rule::Corner, Some(role), at, nets, [hit.value, limit], sentence);
                    }
                }
            }
            self.die_edge(plane, drawing, outline);
            let valid = self.rules.density.clone().filter(|w| w.size.0 > 0 && w.step.0 > 0);
            if let Some(window) = valid.filter(|_| drawing.width.0 > 0 && drawing.height.0 > 0) {
                let (w, h) = (drawing.width.0, drawing.height.0);
                let windows = density::windows(&plane.merged, w, h, window.size.0, window.step.0);
                for hit in &windows {
                    let limit = if hit.value < window.low - 1e-9 {
                        window.low
                    } else if hit.value > window.high + 1e-9 {
                        window.high
                    } else {
                        continue;
                    };
                    let at = point(hit.at);
                    let sentence = format!(
                        "Metal covers {:.2} % of the window of {} around {} on {}; {} to {} % is allowed.",
                        100.0 * hit.value,
                        window.size,
                        place(at),
                        layer(role),
                        100.0 * window.low,
                        100.0 * window.high
                    );
                    self.add(Rule::Density, Some(role), at, Vec::new(), [hit.value, limit], sentence);
                }
                density_low = windows.iter().min_by(|a, b| a.order(b)).map(|h| measured(*h, Vec::new()));
                density_high = windows.iter().max_by(|a, b| a.order(b)).map(|h| measured(*h, Vec::new()));
            }
        }
        LayerReport {
            role,
            shapes: plane.parts.len(),
            vertices: plane.index.edges.len(),
            pieces: plane.pieces as usize,
            area_nm2: plane.area(),
            min_spacing,
            min_width,
            density_low,
            density_high,
        }
    }

    /// Metal too wide for want of slots.
    fn wide(&mut self, plane: &Plane, own_net: &dyn Fn(usize) -> Net) {
        let Some(limit) = self.rules.widest.filter(|w| w.0 > 0) else { return };
        let slack = 2.0 * self.rules.flattening.nm().max(0.0) + limit.nm() / 1e3;
        for hit in worst(wide::too_wide(plane, limit.nm(), slack), limit.0) {
            let (at, net) = (point(hit.at), own_net(hit.key.0 as usize));
            let sentence = format!(
                "Net {} is at least {} wide without a slot on {} at {}; {limit} is the widest.",
                self.name(net),
                um(-hit.value),
                layer(plane.role),
                place(at)
            );
            let nets = self.nets(&[net]);
            self.add(Rule::Wide, Some(plane.role), at, nets, [-hit.value, limit.nm()], sentence);
        }
    }

    fn space(&mut self, role: Role, metal: bool, limit: i64, hit: Hit, nets: Vec<String>) {
        let at = point(hit.at);
        let needed = um(limit as f64);
        let (rule, sentence) = match (metal, hit.value == 0.0) {
            (true, true) => {
                let (a, b) = (self.name(hit.key.0), self.name(hit.key.1));
                (Rule::Short, format!("Nets {a} and {b} touch on {} at {}.", layer(role), place(at)))
            }
            (true, false) => {
                let (a, b) = (self.name(hit.key.0), self.name(hit.key.1));
                let found = um(hit.value);
                (
                    Rule::Space,
                    format!(
                        "Nets {a} and {b} are {found} apart on {} at {}; at least {needed} is needed.",
                        layer(role),
                        place(at)
                    ),
                )
            }
            (false, _) => {
                let (what, found) = (thing(role), um(hit.value));
                (
                    Rule::Space,
                    format!(
                        "One {what} is {found} from the next at {}; at least {needed} is needed.",
                        place(at)
                    ),
                )
            }
        };
        self.add(rule, Some(role), at, nets, [hit.value, limit as f64], sentence);
    }

    /// Die edge and keep-outs of a metal layer.
    fn die_edge(&mut self, plane: &Plane, drawing: &Drawing, outline: &crate::index::EdgeIndex) {
        let role = plane.role;
        if let Some(limit) = self.rules.edge_clearance {
            for hit in worst(boundary::edge_clearance(plane, outline, limit.0.max(0)), limit.0) {
                let (at, name) = (point(hit.at), self.name(hit.key.0));
                let how = if hit.value > 0.0 {
                    format!("is {} from the die edge", um(hit.value))
                } else {
                    "reaches the die edge or beyond".into()
                };
                let sentence = format!(
                    "Net {name} {how} on {} at {}; at least {limit} is needed.",
                    layer(role),
                    place(at)
                );
                let nets = self.nets(&[hit.key.0]);
                self.add(Rule::EdgeClearance, Some(role), at, nets, [hit.value, limit.nm()], sentence);
            }
        }
        let keep_outs = boundary::keep_outs_on(drawing, &self.rules.keep_outs, role);
        let clearance = self.rules.keep_out_clearance.0.max(0);
        for hit in worst(boundary::in_keep_outs(plane, &keep_outs, clearance), self.rules.line.0) {
            let (at, name) = (point(hit.at), self.name(hit.key.0));
            let how = if hit.value > 0.0 {
                format!("is {} from a keep-out", um(hit.value))
            } else {
                "lies in a keep-out".into()
            };
            let sentence = format!(
                "Net {name} {how} on {} at {}; at least {} is needed.",
                layer(role),
                place(at),
                Nm(clearance)
            );
            let nets = self.nets(&[hit.key.0]);
            self.add(Rule::KeepOut, Some(role), at, nets, [hit.value, clearance as f64], sentence);
        }
    }

    /// Rules between two layers, and bumps against the die edge.
    fn between_layers(&mut self, planes: &[Plane], outline: &crate::index::EdgeIndex) {
        let at = |role| plane_of(planes, role);
        let top = top_metal(planes);
        let rules = self.rules;
        let mut enclosures = vec![
            (at(Role::Opening(1)), at(Role::Rdl(1)), "RDL metal", rules.landing_enclosure),
            (at(Role::Opening(1)), at(Role::Pad), "pad", rules.pad_encloses_opening),
            (at(Role::Ubm), top, "capture pad", rules.capture_encloses_ubm),
            (at(Role::BumpOpening), at(Role::Ubm), "UBM", rules.ubm_encloses_bump_opening),
        ];
        for (number, plane) in planes.iter().enumerate() {
            if let Role::Opening(n @ 2..) = plane.role {
                enclosures.push((Some(number), at(Role::Rdl(n - 1)), "lower RDL metal", rules.via_enclosure));
                enclosures.push((Some(number), at(Role::Rdl(n)), "upper RDL metal", rules.via_enclosure));
            }
        }
        for (inner, outer, what, needed) in enclosures {
            if let (Some(inner), Some(needed)) = (inner, needed) {
                self.enclosure(&planes[inner], outer.map(|o| &planes[o]), what, needed);
            }
        }
        for (other, needed) in
            [(Role::BumpOpening, rules.pad_opening_to_bump_opening), (Role::Ubm, rules.pad_opening_to_ubm)]
        {
            if let (Some(a), Some(b), Some(needed)) = (at(Role::Opening(1)), at(other), needed) {
                for hit in spacing::between(&planes[a], &planes[b], needed.0.max(0)) {
                    let mut nets = self.nets_of(&planes[a], &[hit.key.0]);
                    nets.extend(self.nets_of(&planes[b], &[hit.key.1]));
                    nets.sort();
                    nets.dedup();
                    let spot = point(hit.at);
                    let sentence = format!(
                        "A pad opening is {} from a {} at {}; at least {needed} is needed.",
                        um(hit.value),
                        thing(other),
                        place(spot)
                    );
                    self.add(
                        Rule::Space,
                        Some(Role::Opening(1)),
                        spot,
                        nets,
                        [hit.value, needed.nm()],
                        sentence,
                    );
                }
            }
        }
        if let Some(bumps) = at(Role::Bump) {
            let plane = &planes[bumps];
            let limits = [rules.bump_centre_to_seal_ring, rules.bump_edge_to_seal_ring];
            let hits = boundary::seal_ring(plane, outline, limits[0].map(|n| n.0), limits[1].map(|n| n.0));
            for ((hits, needed), what) in hits.into_iter().zip(limits).zip(["centre", "edge"]) {
                for hit in hits {
                    let needed = needed.unwrap_or(Nm::ZERO);
                    let spot = point(hit.at);
                    let sentence = format!(
                        "The {what} of a bump is {} from the seal ring at {}; at least {needed} is needed.",
                        um(hit.value),
                        place(spot)
                    );
                    let nets = self.nets_of(plane, &[hit.key.0]);
                    self.add(
                        Rule::SealRing,
                        Some(Role::Bump),
                        spot,
                        nets,
                        [hit.value, needed.nm()],
                        sentence,
                    );
                }
            }
        }
    }

    fn enclosure(&mut self, inner: &Plane, outer: Option<&Plane>, what: &str, needed: Nm) {
        let least_allowed = needed.nm() - self.rules.enclosure_slack() - 0.125;
        for hit in shortfalls(inner, outer, needed.nm()) {
            if hit.value >= least_allowed && hit.value > 0.0 {
                continue;
            }
            let at = point(hit.at);
            let thing = thing(inner.role);
            let sentence = if hit.value > 0.0 {
                format!(
                    "The {what} reaches {} beyond a {thing} at {}; at least {needed} is needed.",
                    um(hit.value),
                    place(at)
                )
            } else {
                format!(
                    "A {thing} at {} is not covered by {what}; it must reach {needed} beyond it.",
                    place(at)
                )
            };
            let nets = self.nets_of(inner, &[hit.key.0]);
            self.add(Rule::Enclosure, Some(inner.role), at, nets, [hit.value, needed.nm()], sentence);
        }
    }

    /// Connections in words.
    fn breaks(&mut self, breaks: Vec<Break>) {
        for found in breaks {
            match found {
                Break::Joined { role, at, nets } => {
                    let (at, nets) = (point([at[0] as f64, at[1] as f64]), self.nets(&nets));
                    let sentence = format!(
                        "Nets {} and {} are joined through a {} at {}.",
                        nets[0],
                        nets[1],
                        thing(role),
                        place(at)
                    );
                    self.add(Rule::Short, Some(role), at, nets, [0.0, 0.0], sentence);
                }
                Break::Apart { role, at, net, pieces, what } => {
                    let (at, name) = (point([at[0] as f64, at[1] as f64]), self.name(net));
                    let what = match what {
                        Loose::Pad => "a pad",
                        Loose::Bump => "a bump",
                        Loose::Metal => "a piece",
                    };
                    let sentence = format!(
                        "Net {name} is in {pieces} pieces: {what} at {} is not joined to the rest.",
                        place(at)
                    );
                    self.add(Rule::Open, Some(role), at, vec![name], [pieces as f64, 1.0], sentence);
                }
                Break::NoMetal { role, at, net } => {
                    let (at, name) = (point([at[0] as f64, at[1] as f64]), self.name(net));
                    let sentence = format!(
                        "The opening over a pad of net {name} at {} has no RDL metal in it.",
                        place(at)
                    );
                    self.add(Rule::Open, Some(role), at, vec![name], [0.0, 1.0], sentence);
                }
                Break::Dangling { role, at, net, lacks } => {
                    let (at, name) = (point([at[0] as f64, at[1] as f64]), self.name(net));
                    let sentence =
                        format!("A piece of net {name} on {} at {} reaches {lacks}.", layer(role), place(at));
                    self.add(Rule::Dangling, Some(role), at, vec![name], [0.0, 1.0], sentence);
                }
                Break::Seat { role, at, net, on, of } => {
                    let at = point([at[0] as f64, at[1] as f64]);
                    let nets = net.map(|n| self.name(n)).into_iter().collect();
                    let plural = if on == 1 || of == "UBM" {
                        of.to_owned()
                    } else if of.starts_with("piece") {
                        of.replace("piece", "pieces")
                    } else {
                        format!("{of}s")
                    };
                    let sentence = format!(
                        "The bump at {} stands on {on} {plural}; it must stand on exactly 1.",
                        place(at)
                    );
                    self.add(Rule::BumpSeat, Some(role), at, nets, [on as f64, 1.0], sentence);
                }
                Break::Capture { role, at, net, bumps } => {
                    let at = point([at[0] as f64, at[1] as f64]);
                    let nets = net.map(|n| self.name(n)).into_iter().collect();
                    let sentence = format!(
                        "The capture pad at {} carries {bumps} bumps; it must carry exactly 1.",
                        place(at)
                    );
                    self.add(Rule::BumpSeat, Some(role), at, nets, [bumps as f64, 1.0], sentence);
                }
            }
        }
    }

    fn finish(
        mut self,
        layers: Vec<LayerReport>,
        nets: BTreeMap<String, crate::report::NetPieces>,
    ) -> Report {
        for list in [&mut self.violations, &mut self.warnings] {
            list.sort_by(|a, b| {
                (a.rule, a.layer, a.at, &a.nets)
                    .cmp(&(b.rule, b.layer, b.at, &b.nets))
                    .then(a.found_nm.total_cmp(&b.found_nm))
            });
        }
        let mut counts = BTreeMap::new();
        for violation in &self.violations {
            *counts.entry(violation.rule).or_insert(0) += 1;
        }
        let (total, total_warnings) = (self.violations.len(), self.warnings.len());
        self.violations.truncate(self.rules.keep);
        self.warnings.truncate(self.rules.keep);
        Report {
            violations: self.violations,
            warnings: self.warnings,
            counts,
            total,
            total_warnings,
            layers,
            nets,
        }
    }
}
