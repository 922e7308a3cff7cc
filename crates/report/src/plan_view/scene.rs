//! The drawing sorted for painting: one path per net, layer and kind of thing, and the sites that names sit on.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use facedown_layout::{Drawing, Point, Polygon, Role, ShapeKind};
use facedown_quantity::Nm;

use super::outline::{bounds, push_polygon};

/// How a path is painted; the order is the order of painting inside one group.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Paint {
    /// Supply metal grown into free room.
    Plane,
    /// Copper of the first metal layer.
    Copper,
    /// Copper of further metal layers.
    SecondCopper,
    /// Die pads.
    Pad,
    /// Openings of dielectrics.
    Opening,
    /// Under-bump metallisation.
    Ubm,
    /// Bumps.
    Bump,
    /// The edge of the UBM seen through its bump.
    Ring,
    /// A site that no net uses.
    Unused,
}

impl Paint {
    /// Style class.
    pub fn class(self) -> &'static str {
        match self {
            Paint::Plane => "pl",
            Paint::Copper => "c1",
            Paint::SecondCopper => "c2",
            Paint::Pad => "p",
            Paint::Opening => "o f",
            Paint::Ubm => "u",
            Paint::Bump => "b",
            Paint::Ring => "r f",
            Paint::Unused => "x",
        }
    }
}

/// Path text by net, then by paint. Shapes without a net come first.
pub(super) type Story<'a> = BTreeMap<Option<&'a str>, BTreeMap<Paint, String>>;

/// The same while it is filled: thousands of nets are found sooner where they are not sorted.
type Unsorted<'a> = HashMap<Option<&'a str>, BTreeMap<Paint, String>>;

/// A pad or bump that a name can sit on, in die coordinates.
#[derive(Debug, Clone, Copy)]
pub(super) struct Site<'a> {
    pub role: Role,
    pub low: Point,
    pub high: Point,
    pub net: Option<&'a str>,
}

impl Site<'_> {
    /// Middle, in micrometres.
    pub fn centre(&self) -> (f64, f64) {
        ((self.low.x.um() + self.high.x.um()) / 2.0, (self.low.y.um() + self.high.y.um()) / 2.0)
    }

    /// Width in micrometres.
    pub fn width(&self) -> f64 {
        (self.high.x - self.low.x).um()
    }
}

/// A drawing ready to be painted.
#[derive(Debug, Default)]
pub(super) struct Scene<'a> {
    /// Nets that are kept in full colour; empty when all are.
    pub chosen: BTreeSet<&'a str>,
    /// Every net of the drawing; its place here is its number in the picture.
    pub nets: BTreeMap<&'a str, usize>,
    /// Metal, by layer from the die outward.
    pub metal: BTreeMap<u8, Story<'a>>,
    /// What lies on top and is small: pads, openings, UBM, bumps.
    pub sites_story: Story<'a>,
    /// Seal ring and other outlines.
    pub outlines: String,
    /// Keep-outs.
    pub keep_outs: String,
    /// Pads and bumps.
    pub sites: Vec<Site<'a>>,
    /// What there is, for the legend.
    pub paints: BTreeSet<Paint>,
}

impl<'a> Scene<'a> {
    /// Sorts a drawing; `chosen` are the nets to be kept in full colour. Corners within `tolerance` of a straight line are left out of long outlines.
    pub fn new(drawing: &'a Drawing, chosen: &'a [String], tolerance: Nm) -> Scene<'a> {
        let mut scene = Scene { chosen: chosen.iter().map(String::as_str).collect(), ..Scene::default() };
        let names: HashSet<&str> =
            drawing.layers.iter().flat_map(|l| &l.shapes).filter_map(|s| s.net.as_deref()).collect();
        let mut names: Vec<&str> = names.into_iter().collect();
        names.sort_unstable();
        scene.nets = names.into_iter().enumerate().map(|(i, name)| (name, i)).collect();
        // Shapes on one layer and net are painted in one path, so a bump layer decides whether UBM needs a rim.
        let any = |role| drawing.layer(role).is_some_and(|l| !l.shapes.is_empty());
        let bumps = any(Role::Bump);
        let topped = bumps || any(Role::Ubm);
        let (mut metal, mut sites) = (BTreeMap::<u8, Unsorted<'a>>::new(), Unsorted::new());
        for layer in &drawing.layers {
            for shape in &layer.shapes {
                let net = shape.net.as_deref();
                let polygon = &shape.polygon;
                match layer.role {
                    Role::Outline => push_polygon(&mut scene.outlines, polygon, tolerance),
                    Role::KeepOut => push_polygon(&mut scene.keep_outs, polygon, tolerance),
                    Role::Rdl(number) => {
                        let story = metal.entry(number).or_default();
                        scene.add_metal(story, number, shape.kind, net, polygon, tolerance, topped);
                    }
                    role => scene.add_site(&mut sites, role, net, polygon, tolerance, bumps),
                }
            }
        }
        // A layer on which nothing is painted is none.
        let metal = metal.into_iter().filter(|(_, story)| !story.is_empty());
        scene.metal = metal.map(|(number, story)| (number, story.into_iter().collect())).collect();
        scene.sites_story = sites.into_iter().collect();
        scene
    }

    #[allow(clippy::too_many_arguments, reason = "what a shape is and where it goes")]
    fn add_metal(
        &mut self,
        story: &mut Unsorted<'a>,
        number: u8,
        kind: ShapeKind,
        net: Option<&'a str>,
        polygon: &'a Polygon,
        tolerance: Nm,
        topped: bool,
    ) {
        let copper = if number <= 1 { Paint::Copper } else { Paint::SecondCopper };
        let paint = match kind {
            ShapeKind::Plane if number <= 1 => Paint::Plane,
            // A site without a net is outlined once, by what is largest on it.
            ShapeKind::Capture if net.is_none() && topped => return,
            ShapeKind::Landing | ShapeKind::Capture if net.is_none() => Paint::Unused,
            _ => copper,
        };
        self.paints.insert(if paint == Paint::Plane { copper } else { paint });
        push_polygon(story.entry(net).or_default().entry(paint).or_default(), polygon, tolerance);
        if kind == ShapeKind::Capture {
            self.remember(Role::Rdl(number), net, polygon);
        }
    }

    fn add_site(
        &mut self,
        story: &mut Unsorted<'a>,
        role: Role,
        net: Option<&'a str>,
        polygon: &'a Polygon,
        tolerance: Nm,
        bumps: bool,
    ) {
        let paint = match role {
            Role::Pad => Paint::Pad,
            Role::Opening(_) | Role::BumpOpening => Paint::Opening,
            Role::Ubm if net.is_none() && bumps => return,
            _ if net.is_none() => Paint::Unused,
            Role::Ubm => Paint::Ubm,
            _ => Paint::Bump,
        };
        self.paints.insert(paint);
        let paths = story.entry(net).or_default();
        push_polygon(paths.entry(paint).or_default(), polygon, tolerance);
        if paint == Paint::Ubm && bumps {
            push_polygon(paths.entry(Paint::Ring).or_default(), polygon, tolerance);
        }
        if matches!(role, Role::Pad | Role::Bump | Role::Ubm) {
            self.remember(role, net, polygon);
        }
    }

    fn remember(&mut self, role: Role, net: Option<&'a str>, polygon: &Polygon) {
        if let Some((low, high)) = bounds(polygon) {
            self.sites.push(Site { role, low, high, net });
        }
    }

    /// The middle one of the widths of bumps (or of UBM, capture pads, pads, whatever there is), micrometres.
    pub fn typical_bump(&self) -> Option<f64> {
        let by_role = |wanted: fn(Role) -> bool| {
            let mut widths: Vec<f64> =
                self.sites.iter().filter(|s| wanted(s.role)).map(Site::width).collect();
            widths.sort_by(f64::total_cmp);
            widths.get(widths.len() / 2).copied()
        };
        by_role(|r| r == Role::Bump)
            .or_else(|| by_role(|r| r == Role::Ubm))
            .or_else(|| by_role(|r| matches!(r, Role::Rdl(_))))
            .or_else(|| by_role(|r| r == Role::Pad))
    }
}
