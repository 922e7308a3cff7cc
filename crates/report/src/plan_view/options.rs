//! What the caller may say about a plan view beyond the drawing itself.

use std::collections::BTreeMap;

use facedown_layout::Point;
use facedown_quantity::Nm;

use crate::verdict::Verdict;

/// From which side the die is seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum View {
    /// Seen on the pads, as the die is drawn.
    DieFaceUp,
    /// Seen from above through the die, mirrored, as it sits in the package.
    #[default]
    DieFaceDown,
}

impl View {
    /// The words in the corner of the picture.
    pub fn words(self) -> &'static str {
        match self {
            View::DieFaceUp => "die face up: seen on the pads",
            View::DieFaceDown => "die face down: seen from above through the die",
        }
    }

    /// A second line where the picture is mirrored: how the places in messages are found in it.
    pub fn frame_words(self) -> Option<&'static str> {
        match self {
            View::DieFaceUp => None,
            View::DieFaceDown => Some("messages give x in the die frame: from the right edge here"),
        }
    }
}

/// Which colours the picture uses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Theme {
    /// Those that the reader's system asks for.
    #[default]
    Auto,
    /// Ink on paper.
    Light,
    /// Paper on ink.
    Dark,
}

/// A line of the title block.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyFigure {
    /// What it is, for instance `wirelength`.
    pub label: String,
    /// Its value with unit, for instance `412 mm`.
    pub value: String,
    /// How its requirement came out, when it has one.
    pub verdict: Option<Verdict>,
}

impl KeyFigure {
    /// A figure without a requirement.
    pub fn new(label: &str, value: &str) -> KeyFigure {
        KeyFigure { label: label.into(), value: value.into(), verdict: None }
    }

    /// A figure with the verdict of its requirement.
    pub fn judged(label: &str, value: &str, verdict: Verdict) -> KeyFigure {
        KeyFigure { verdict: Some(verdict), ..KeyFigure::new(label, value) }
    }
}

/// What is said of a net when it is pointed at.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct NetNote {
    /// Names of its die pads.
    pub pads: Vec<String>,
    /// Names of its bumps.
    pub bumps: Vec<String>,
    /// Length of its traces.
    pub length: Option<Nm>,
}

/// A rule violation at a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Violation {
    /// Where, in die coordinates.
    pub at: Point,
    /// What is wrong, one sentence.
    pub sentence: String,
}

/// How a plan view is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanOptions {
    /// Identifier of the picture, so that several can stand on one page; letters, digits and hyphens, others
    /// are dropped.
    pub id: String,
    /// Name of the design, the title.
    pub design: String,
    /// True when the design is invented; the picture then says so.
    pub invented: bool,
    /// Side that the die is seen from.
    pub view: View,
    /// Colours.
    pub theme: Theme,
    /// Width of the picture in pixels; 320 to 4,000. Below 820 the title block stands under the plan.
    pub width: u32,
    /// Lines of the title block.
    pub figures: Vec<KeyFigure>,
    /// What is known of each net, by name.
    pub nets: BTreeMap<String, NetNote>,
    /// Nets in full colour; all else is at 20 %. None chosen shows all.
    pub highlight: Vec<String>,
    /// Rule violations.
    pub violations: Vec<Violation>,
    /// Point of the die, in die coordinates, where the axes read zero. By default the corner of the die that is
    /// seen at the lower left.
    pub origin: Option<Point>,
    /// Whether the picture carries the script for choosing nets and zooming. Without it (and wherever scripts
    /// do not run) it is the same picture, still.
    pub interactive: bool,
}

impl Default for PlanOptions {
    fn default() -> PlanOptions {
        PlanOptions {
            id: "plan".into(),
            design: String::new(),
            invented: false,
            view: View::default(),
            theme: Theme::default(),
            width: 1200,
            figures: Vec::new(),
            nets: BTreeMap::new(),
            highlight: Vec::new(),
            violations: Vec::new(),
            origin: None,
            interactive: true,
        }
    }
}
