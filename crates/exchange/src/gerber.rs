//! A drawing as Gerber X2, one file a layer.

use crate::dxf::is_pad;
use crate::layer_map::names;
use crate::view::View;
use facedown_layout::{Drawing, Layer, Point, Polygon, Role, Shape, ShapeKind};
use facedown_maskdata::Fault;
use facedown_maskdata::gerber::{self, Feature};

/// One file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GerberFile {
    /// File name without a folder, for instance `tidewatch-face_up-rdl-1.gbr`.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// The drawing as Gerber X2 files, one for each layer that holds shapes, and one for the die outline.
///
/// Pads, openings, UBM and bumps that are circles or axis-parallel rectangles are flashed, all else is drawn as
/// regions. Copper carries its nets. A comment and the file attribute `View` say which way the die faces.
///
/// # Errors
/// A [`Fault`] where a layer has no name, a net has an empty name, a coordinate is 10 m or more, or a polygon with holes
/// crosses itself.
pub fn gerber(drawing: &Drawing, view: View) -> Result<Vec<GerberFile>, Fault> {
    let seen = view.of(drawing);
    let levels = seen.layers.iter().filter(|l| matches!(l.role, Role::Rdl(_))).count();
    let mut outline = Vec::new();
    if seen.layer(Role::Outline).is_none() {
        let die = Polygon::rectangle(Point::default(), Point::new(seen.width, seen.height));
        outline.push(Layer { role: Role::Outline, shapes: vec![Shape::new(ShapeKind::Outline, None, die)] });
    }
    let mut copper_left = levels;
    let mut files = Vec::new();
    for layer in outline.iter().chain(&seen.layers).filter(|l| !l.shapes.is_empty()) {
        let names = names(layer.role)?;
        let copper = matches!(layer.role, Role::Rdl(_));
        let function: Vec<String> = match layer.role {
            Role::Outline => vec!["Profile".into(), "NP".into()],
            // Copper is counted from the outer face inward; the RDL level nearest the bumps is the top.
            Role::Rdl(_) => {
                let number = copper_left;
                copper_left -= 1;
                let side = if number == 1 {
                    "Top"
                } else if number == levels {
                    "Bot"
                } else {
                    "Inr"
                };
                vec!["Copper".into(), format!("L{number}"), side.into()]
            }
            _ => vec!["Other".into(), names.meaning.clone()],
        };
        let file = gerber::Layer {
            comments: vec![view.sentence().into(), names.meaning.clone()],
            attributes: vec![
                (".FileFunction".into(), function),
                (".FilePolarity".into(), vec!["Positive".into()]),
                (".SameCoordinates".into(), vec![view.suffix().into()]),
                ("View".into(), vec![view.words().into()]),
            ],
            features: layer.shapes.iter().map(|shape| feature(shape, copper)).collect(),
        };
        files.push(GerberFile {
            name: format!("{}-{}-{}.gbr", file_stem(&seen.name), view.suffix(), names.gerber),
            bytes: gerber::write(&file)?,
        });
    }
    Ok(files)
}

fn feature(shape: &Shape, copper: bool) -> Feature {
    let function = match shape.kind {
        _ if !copper => None,
        ShapeKind::Capture => Some("BGAPad,CuDef"),
        ShapeKind::Via | ShapeKind::Landing => Some("ViaPad"),
        _ => Some("Conductor"),
    };
    Feature {
        polygon: shape.polygon.clone(),
        pad: is_pad(shape.kind),
        function: function.map(str::to_owned),
        net: if copper { shape.net.clone() } else { None },
    }
}

/// A die name as the beginning of a file name: letters, digits, `-` and `_`.
pub(crate) fn file_stem(die: &str) -> String {
    let kept: String = die
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() || c == '_' { c.to_ascii_lowercase() } else { '-' })
        .take(64)
        .collect();
    if kept.is_empty() { "die".into() } else { kept }
}
