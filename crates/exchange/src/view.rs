//! Which way the die faces in a file.

use facedown_layout::{Drawing, Label, Layer, Point, Polygon, Shape};
use facedown_quantity::Nm;
use std::borrow::Cow;

/// From where the die is seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum View {
    /// Seen on the face that carries the pads: as the die lies on the bench of its own process.
    FaceUp,
    /// Seen through the die from its back: as the die lies on the substrate. x runs the other way, mirrored about
    /// the vertical centre line of the die.
    FaceDown,
}

impl View {
    /// The words that every file carries.
    pub fn words(self) -> &'static str {
        match self {
            View::FaceUp => "die face up",
            View::FaceDown => "die face down",
        }
    }

    /// The sentence that every file carries.
    pub fn sentence(self) -> &'static str {
        match self {
            View::FaceUp => {
                "die face up: seen on the pad face, x right, y up, origin at the lower-left die corner"
            }
            View::FaceDown => {
                "die face down: seen through the die from its back, x mirrored about the die centre line, y up, \
                 origin at the lower-left die corner as seen"
            }
        }
    }

    /// The ending of file and cell names, `face_up` or `face_down`.
    pub fn suffix(self) -> &'static str {
        match self {
            View::FaceUp => "face_up",
            View::FaceDown => "face_down",
        }
    }

    /// An x coordinate of the face-up frame as seen in this view, and back (the two are the same).
    pub fn x(self, x: Nm, die_width: Nm) -> Nm {
        match self {
            View::FaceUp => x,
            View::FaceDown => die_width - x,
        }
    }

    /// The drawing as seen in this view. Rings keep their direction of travel.
    pub(crate) fn of(self, drawing: &Drawing) -> Cow<'_, Drawing> {
        match self {
            View::FaceUp => Cow::Borrowed(drawing),
            View::FaceDown => Cow::Owned(mirrored(drawing)),
        }
    }
}

/// A drawing mirrored about the vertical centre line of its die.
pub(crate) fn mirrored(drawing: &Drawing) -> Drawing {
    let point = |p: Point| Point::new(View::FaceDown.x(p.x, drawing.width), p.y);
    // A mirror turns the direction of travel; walking the ring backwards, from the same first corner, restores it.
    let ring = |ring: &Vec<Point>| -> Vec<Point> {
        let first = ring.iter().take(1);
        first.chain(ring.iter().skip(1).rev()).map(|&p| point(p)).collect()
    };
    let shape = |shape: &Shape| Shape {
        kind: shape.kind,
        net: shape.net.clone(),
        polygon: Polygon {
            outer: ring(&shape.polygon.outer),
            holes: shape.polygon.holes.iter().map(ring).collect(),
        },
    };
    let layer = |layer: &Layer| Layer { role: layer.role, shapes: layer.shapes.iter().map(shape).collect() };
    let label = |label: &Label| Label { role: label.role, at: point(label.at), text: label.text.clone() };
    Drawing {
        name: drawing.name.clone(),
        width: drawing.width,
        height: drawing.height,
        layers: drawing.layers.iter().map(layer).collect(),
        labels: drawing.labels.iter().map(label).collect(),
    }
}
