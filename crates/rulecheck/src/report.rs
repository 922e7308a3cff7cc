//! What the checker says: violations with places, and the measures it took.

use facedown_layout::{Point, Role};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Which rule a violation breaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rule {
    /// A polygon that encloses nothing or lies beyond the coordinate range, or a rule that makes no sense.
    Malformed,
    /// Metal of two nets touches, overlaps, or is joined through an opening.
    Short,
    /// A net is not one piece, or a pad or bump of it is reached by no metal.
    Open,
    /// Metal that reaches no pad or no bump.
    Dangling,
    /// Metal or an opening narrower than the least width.
    Width,
    /// Metal wider than the widest without slots.
    Wide,
    /// Two things nearer than the least space.
    Space,
    /// Metal of one net nearer to itself than the least space (a warning).
    Notch,
    /// A corner sharper than the least angle.
    Corner,
    /// Something is not enclosed far enough.
    Enclosure,
    /// Metal too near the die edge or beyond it.
    EdgeClearance,
    /// Metal in a keep-out or too near to it.
    KeepOut,
    /// A bump too near the seal ring.
    SealRing,
    /// A bump that does not stand on exactly one capture pad, or a capture pad without a bump.
    BumpSeat,
    /// Too little or too much metal in a window.
    Density,
}

impl Rule {
    /// The rule's name in tables and JSON.
    pub fn name(self) -> &'static str {
        match self {
            Rule::Malformed => "malformed",
            Rule::Short => "short",
            Rule::Open => "open",
            Rule::Dangling => "dangling",
            Rule::Width => "width",
            Rule::Wide => "wide",
            Rule::Space => "space",
            Rule::Notch => "notch",
            Rule::Corner => "corner",
            Rule::Enclosure => "enclosure",
            Rule::EdgeClearance => "edge-clearance",
            Rule::KeepOut => "keep-out",
            Rule::SealRing => "seal-ring",
            Rule::BumpSeat => "bump-seat",
            Rule::Density => "density",
        }
    }
}

/// One broken rule at one place. A run of neighbouring places between the same nets is one violation, told at its
/// worst place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Violation {
    /// The rule.
    pub rule: Rule,
    /// The layer; for a rule between two layers the inner or the checked one. Absent for a finding that belongs to no layer.
    pub layer: Option<Role>,
    /// Where, to the nearest nanometre.
    pub at: Point,
    /// The nets that take part, sorted.
    pub nets: Vec<String>,
    /// What was found: nm for distances, degrees for corners, share for densities, a count otherwise.
    pub found_nm: f64,
    /// What is needed, in the same unit.
    pub needed_nm: f64,
    /// The violation in words.
    pub sentence: String,
}

/// A smallest or largest value with its place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Measured {
    /// The value: nm for distances, share for densities.
    pub value: f64,
    /// Where.
    pub at: Point,
    /// The nets that take part, sorted.
    pub nets: Vec<String>,
}

/// What was measured on one layer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LayerReport {
    /// The layer.
    pub role: Role,
    /// Number of shapes.
    pub shapes: usize,
    /// Number of drawn vertices.
    pub vertices: usize,
    /// Number of separate pieces after merging touching shapes of one net.
    pub pieces: usize,
    /// Area after merging, nm2.
    pub area_nm2: f64,
    /// Smallest distance between different nets (on other layers than RDL: between separate shapes), nm.
    pub min_spacing: Option<Measured>,
    /// Smallest width, nm, measured square to an edge through the inside.
    pub min_width: Option<Measured>,
    /// Smallest share of metal in a density window.
    pub density_low: Option<Measured>,
    /// Largest share of metal in a density window.
    pub density_high: Option<Measured>,
}

/// How one net hangs together.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct NetPieces {
    /// Separate pieces over all layers, pads and bumps without metal counted as pieces.
    pub pieces: usize,
    /// Pads.
    pub pads: usize,
    /// Bumps.
    pub bumps: usize,
}

/// The whole answer. Its order depends on the drawing and the rules only.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Report {
    /// The first violations, sorted by rule, layer and place.
    pub violations: Vec<Violation>,
    /// The first warnings (notches).
    pub warnings: Vec<Violation>,
    /// Number of all violations by rule, kept or not.
    pub counts: BTreeMap<Rule, usize>,
    /// Number of all violations.
    pub total: usize,
    /// Number of all warnings.
    pub total_warnings: usize,
    /// Measures by layer, in the order of the drawing.
    pub layers: Vec<LayerReport>,
    /// Pieces by net.
    pub nets: BTreeMap<String, NetPieces>,
}

impl Report {
    /// True without violations; warnings do not count.
    pub fn clean(&self) -> bool {
        self.total == 0
    }

    /// The measures of one layer.
    pub fn layer(&self, role: Role) -> Option<&LayerReport> {
        self.layers.iter().find(|l| l.role == role)
    }

    /// The smallest space found on any RDL layer.
    pub fn min_spacing(&self) -> Option<&Measured> {
        let metal = self.layers.iter().filter(|l| matches!(l.role, Role::Rdl(_)));
        metal.filter_map(|l| l.min_spacing.as_ref()).min_by(|a, b| a.value.total_cmp(&b.value))
    }

    /// The smallest width found on any RDL layer.
    pub fn min_width(&self) -> Option<&Measured> {
        let metal = self.layers.iter().filter(|l| matches!(l.role, Role::Rdl(_)));
        metal.filter_map(|l| l.min_width.as_ref()).min_by(|a, b| a.value.total_cmp(&b.value))
    }
}
