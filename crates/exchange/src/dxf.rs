//! A drawing as DXF.

use crate::layer_map::names;
use crate::view::View;
use facedown_layout::{Drawing, Point, Role, Shape, ShapeKind};
use facedown_maskdata::dxf::{Document, Entity, Figure, Layer, write};
use facedown_maskdata::{Fault, circle_of};
use facedown_quantity::Nm;

/// Height of label text: 20 um.
const LABEL_HEIGHT: Nm = Nm::from_um(20);

/// Layer of remarks about the file itself.
const NOTES: &str = "NOTES";

/// The drawing as DXF in millimetres, layers named after [`crate::layer_map`].
///
/// Shapes are closed polylines; holes are closed polylines of their own with the note `hole`. Pads, openings, UBM
/// and bumps that are circles become circles ([`circle_of`]). Nets and kinds stand in the extended data (`net=...`,
/// `kind=...`), the view in a text and in the comment at the head.
///
/// # Errors
/// A [`Fault`] where a layer has no name, or a net or label holds line breaks or is longer than 250 bytes.
pub fn dxf(drawing: &Drawing, view: View) -> Result<Vec<u8>, Fault> {
    let seen = view.of(drawing);
    let mut document = Document {
        comments: vec![view.sentence().into()],
        layers: vec![Layer { name: NOTES.into(), color: 7 }],
        entities: Vec::new(),
    };
    let mut roles: Vec<Role> = seen
        .layers
        .iter()
        .map(|l| l.role)
        .chain(seen.labels.iter().map(|l| l.role))
        .chain([Role::Outline])
        .collect();
    roles.sort_unstable();
    roles.dedup();
    for role in roles {
        let names = names(role)?;
        document.layers.push(Layer { name: names.dxf, color: names.dxf_color });
    }
    document.entities.push(Entity {
        layer: NOTES.into(),
        figure: Figure::Text {
            at: Point::new(Nm::ZERO, -(LABEL_HEIGHT * 3)),
            height: LABEL_HEIGHT * 2,
            text: format!("{}: {}", seen.name.replace(char::is_control, " "), view.words()),
        },
        notes: Vec::new(),
    });
    if seen.layer(Role::Outline).is_none() {
        let die = facedown_layout::Polygon::rectangle(Point::default(), Point::new(seen.width, seen.height));
        document
            .entities
            .extend(entities(&names(Role::Outline)?.dxf, &Shape::new(ShapeKind::Outline, None, die)));
    }
    for layer in &seen.layers {
        let name = names(layer.role)?.dxf;
        document.entities.extend(layer.shapes.iter().flat_map(|shape| entities(&name, shape)));
    }
    for label in &seen.labels {
        document.entities.push(Entity {
            layer: names(label.role)?.dxf,
            figure: Figure::Text { at: label.at, height: LABEL_HEIGHT, text: label.text.clone() },
            notes: Vec::new(),
        });
    }
    write(&document)
}

/// True for shapes that a drawing may show as circles.
pub(crate) fn is_pad(kind: ShapeKind) -> bool {
    matches!(
        kind,
        ShapeKind::Landing
            | ShapeKind::Capture
            | ShapeKind::Via
            | ShapeKind::Opening
            | ShapeKind::Ubm
            | ShapeKind::Bump
            | ShapeKind::Pad
    )
}

fn entities(layer: &str, shape: &Shape) -> Vec<Entity> {
    let kind =
        crate::layer_map::KINDS.iter().find(|(k, _, _)| *k == shape.kind).map_or("", |(_, _, words)| words);
    let mut notes = vec![format!("kind={kind}")];
    notes.extend(shape.net.as_ref().map(|net| format!("net={net}")));
    let circle = if is_pad(shape.kind) { circle_of(&shape.polygon) } else { None };
    let figure = match circle {
        Some(circle) => Figure::Circle { centre: circle.centre, radius: circle.radius },
        None => Figure::Outline(shape.polygon.outer.clone()),
    };
    if shape.polygon.holes.is_empty() {
        return vec![Entity { layer: layer.into(), figure, notes }];
    }
    let mut entities = vec![Entity { layer: layer.into(), figure, notes: notes.clone() }];
    notes.push("hole".into());
    entities.extend(shape.polygon.holes.iter().map(|hole| Entity {
        layer: layer.into(),
        figure: Figure::Outline(hole.clone()),
        notes: notes.clone(),
    }));
    entities
}
