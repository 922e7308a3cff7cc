//! Drawings: polygons in whole nanometres, by layer and net.
//!
//! The plain data that the router, the rule checker, the exporters and the pictures hand to each other. No
//! geometry algorithm lives here, so that the checker and the router can share this type and nothing else.
//!
//! Frame: die coordinates, origin at the lower-left corner of the die, x right, y up, seen on the face that
//! carries the pads (die face up).
//!
//! ```
//! use facedown_layout::{Drawing, Point, Polygon, Role, Shape, ShapeKind};
//! use facedown_quantity::Nm;
//! let mut drawing = Drawing::new("demo", Nm::from_um(1000), Nm::from_um(800));
//! let square = Polygon::rectangle(Point::um(10.0, 10.0), Point::um(20.0, 30.0));
//! drawing.layer_mut(Role::Rdl(1)).shapes.push(Shape::new(ShapeKind::Trace, Some("a"), square));
//! assert_eq!(drawing.layer(Role::Rdl(1)).map(|l| l.shapes.len()), Some(1));
//! ```

use facedown_quantity::Nm;
use serde::{Deserialize, Serialize};

/// A point in whole nanometres.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Point {
    /// To the right.
    pub x: Nm,
    /// Up.
    pub y: Nm,
}

impl Point {
    /// A point from two coordinates.
    pub const fn new(x: Nm, y: Nm) -> Point {
        Point { x, y }
    }

    /// The nearest whole-nanometre point to coordinates in micrometres.
    pub fn um(x: f64, y: f64) -> Point {
        Point { x: Nm::round_um(x), y: Nm::round_um(y) }
    }
}

/// A simple polygon with holes. Rings are closed without repeating the first point; the outer ring runs
/// counter-clockwise, holes clockwise.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Polygon {
    /// Outer ring, at least three points.
    pub outer: Vec<Point>,
    /// Holes.
    pub holes: Vec<Vec<Point>>,
}

impl Polygon {
    /// A polygon without holes.
    pub fn new(outer: Vec<Point>) -> Polygon {
        Polygon { outer, holes: Vec::new() }
    }

    /// The axis-parallel rectangle between two opposite corners (`low` at the lower left).
    pub fn rectangle(low: Point, high: Point) -> Polygon {
        Polygon::new(vec![low, Point::new(high.x, low.y), high, Point::new(low.x, high.y)])
    }
}

/// What a shape is, so that rules, pictures and exports can tell pads from traces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ShapeKind {
    /// Routed line.
    Trace,
    /// Widened end of a trace at a pad or via.
    Teardrop,
    /// RDL metal over a die pad.
    Landing,
    /// RDL metal under a bump.
    Capture,
    /// RDL metal of a via between two RDL layers, or the opening itself on a dielectric layer.
    Via,
    /// Wide supply metal grown into free room.
    Plane,
    /// Opening in a dielectric.
    Opening,
    /// Under-bump metallisation.
    Ubm,
    /// The bump itself, at its largest diameter.
    Bump,
    /// Die pad metal or its passivation opening as drawn by the chip designer.
    Pad,
    /// Area where no RDL metal may be.
    KeepOut,
    /// Die outline or seal ring.
    Outline,
}

/// The physical layer that a shape lies on, from the die outward.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// Die outline.
    Outline,
    /// Die pads (passivation openings).
    Pad,
    /// Opening of the dielectric under RDL layer n (1 is the first above the die).
    Opening(u8),
    /// RDL metal layer n, 1 nearest the die.
    Rdl(u8),
    /// Opening of the last dielectric, under the UBM.
    BumpOpening,
    /// Under-bump metallisation.
    Ubm,
    /// Bumps.
    Bump,
    /// Keep-outs.
    KeepOut,
}

/// A polygon with its meaning.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Shape {
    /// What it is.
    pub kind: ShapeKind,
    /// The net that it carries, where it carries one.
    pub net: Option<String>,
    /// Its outline.
    pub polygon: Polygon,
}

impl Shape {
    /// A shape from its parts.
    pub fn new(kind: ShapeKind, net: Option<&str>, polygon: Polygon) -> Shape {
        Shape { kind, net: net.map(str::to_owned), polygon }
    }
}

/// All shapes of one layer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Layer {
    /// Which layer.
    pub role: Role,
    /// Its shapes, in a stable order.
    pub shapes: Vec<Shape>,
}

/// A word at a place, for instance a pad or bump name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Label {
    /// The layer that it names something on.
    pub role: Role,
    /// Where.
    pub at: Point,
    /// What.
    pub text: String,
}

/// A drawing of one die's redistribution.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Drawing {
    /// Name of the die.
    pub name: String,
    /// Die width.
    pub width: Nm,
    /// Die height.
    pub height: Nm,
    /// Layers, sorted by role.
    pub layers: Vec<Layer>,
    /// Labels.
    pub labels: Vec<Label>,
}

impl Drawing {
    /// An empty drawing of a die.
    pub fn new(name: &str, width: Nm, height: Nm) -> Drawing {
        Drawing { name: name.into(), width, height, layers: Vec::new(), labels: Vec::new() }
    }

    /// The layer with this role, if anything is on it.
    pub fn layer(&self, role: Role) -> Option<&Layer> {
        self.layers.iter().find(|l| l.role == role)
    }

    /// The layer with this role, made if absent; layers stay sorted by role.
    pub fn layer_mut(&mut self, role: Role) -> &mut Layer {
        match self.layers.binary_search_by_key(&role, |l| l.role) {
            Ok(i) => &mut self.layers[i],
            Err(i) => {
                self.layers.insert(i, Layer { role, shapes: Vec::new() });
                &mut self.layers[i]
            }
        }
    }
}
