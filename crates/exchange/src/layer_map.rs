//! The layer map: which layer of a drawing is which layer of a file. The only place where these numbers stand.
//!
//! Numbers climb from the die outward: each RDL level n takes the ten numbers from 10 n. The table of
//! [`table`] is printed in `docs/layer-map.md`.

use facedown_layout::{Role, ShapeKind};
use facedown_maskdata::Fault;

/// The highest RDL level that the map has numbers for.
pub const HIGHEST_LEVEL: u8 = 20;

/// GDSII layer of remarks about the file itself.
pub const NOTE_LAYER: i16 = 255;

/// GDSII text type of labels (pad and bump names).
pub const LABEL_TEXT: i16 = 0;

/// GDSII text type of net names; each lies inside a polygon of its net on the same layer.
pub const NET_TEXT: i16 = 1;

/// How one layer of a drawing is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LayerNames {
    /// The layer of the drawing.
    pub role: Role,
    /// GDSII layer number.
    pub gdsii: i16,
    /// DXF layer name.
    pub dxf: String,
    /// DXF colour index.
    pub dxf_color: u8,
    /// Ending of the Gerber file name, before `.gbr`.
    pub gerber: String,
    /// What it is.
    pub meaning: String,
}

/// The names of a layer.
///
/// # Errors
/// A [`Fault`] for RDL level 0 or above [`HIGHEST_LEVEL`].
pub fn names(role: Role) -> Result<LayerNames, Fault> {
    let entry = |gdsii: i16, name: &str, dxf_color: u8, meaning: &str| LayerNames {
        role,
        gdsii,
        dxf: name.to_ascii_uppercase(),
        dxf_color,
        gerber: name.into(),
        meaning: meaning.into(),
    };
    let level = |n: u8| {
        if (1..=HIGHEST_LEVEL).contains(&n) {
            Ok(i16::from(n))
        } else {
            Err(Fault::new("level", format!("RDL level {n} has no layer number"))
                .allowed(format!("levels 1 to {HIGHEST_LEVEL}")))
        }
    };
    Ok(match role {
        Role::Outline => entry(1, "outline", 7, "die outline"),
        Role::Pad => entry(2, "die-pad", 8, "die pads (passivation openings)"),
        Role::Opening(n) => entry(
            10 * level(n)?,
            &format!("opening-{n}"),
            4,
            &format!("openings of the dielectric under RDL {n}"),
        ),
        Role::Rdl(n) => entry(
            10 * level(n)? + 1,
            &format!("rdl-{n}"),
            if n % 2 == 1 { 1 } else { 5 },
            &format!("RDL metal {n}"),
        ),
        Role::BumpOpening => entry(240, "bump-opening", 3, "openings of the last dielectric, under the UBM"),
        Role::Ubm => entry(241, "ubm", 6, "under-bump metallisation"),
        Role::Bump => entry(242, "bump", 2, "bumps at their largest diameter"),
        Role::KeepOut => entry(250, "keep-out", 9, "areas without RDL metal"),
    })
}

/// All kinds of shape with their GDSII data type.
pub const KINDS: [(ShapeKind, i16, &str); 12] = [
    (ShapeKind::Trace, 0, "trace"),
    (ShapeKind::Teardrop, 1, "teardrop"),
    (ShapeKind::Landing, 2, "landing on a die pad"),
    (ShapeKind::Capture, 3, "capture pad under a bump"),
    (ShapeKind::Via, 4, "via"),
    (ShapeKind::Plane, 5, "plane"),
    (ShapeKind::Opening, 6, "opening"),
    (ShapeKind::Ubm, 7, "under-bump metallisation"),
    (ShapeKind::Bump, 8, "bump"),
    (ShapeKind::Pad, 9, "die pad"),
    (ShapeKind::KeepOut, 10, "keep-out"),
    (ShapeKind::Outline, 11, "outline"),
];

/// GDSII data type of a kind of shape.
pub fn datatype(kind: ShapeKind) -> i16 {
    KINDS.iter().find(|(k, _, _)| *k == kind).map_or(0, |(_, datatype, _)| *datatype)
}

/// The map as Markdown tables, as printed in `docs/layer-map.md`.
pub fn table() -> String {
    let mut out = String::from("| Layer | GDSII layer | DXF layer | Gerber file | \n|---|---|---|---|\n")
        .replace("| \n", "|\n");
    let roles = [
        Role::Outline,
        Role::Pad,
        Role::Opening(1),
        Role::Rdl(1),
        Role::Opening(2),
        Role::Rdl(2),
        Role::BumpOpening,
        Role::Ubm,
        Role::Bump,
        Role::KeepOut,
    ];
    for names in roles.into_iter().filter_map(|role| names(role).ok()) {
        out += &format!(
            "| {} | {} | `{}` | `<die>-<view>-{}.gbr` |\n",
            names.meaning, names.gdsii, names.dxf, names.gerber
        );
    }
    out += "\n| Shape | GDSII data type |\n|---|---|\n";
    for (_, datatype, meaning) in KINDS {
        out += &format!("| {meaning} | {datatype} |\n");
    }
    out
}

/// One line of a map for reading: shapes on a layer of a GDSII file and what they are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MapLine {
    /// GDSII layer number.
    pub layer: i16,
    /// GDSII data type; `None` for all that no other line of the layer names.
    pub datatype: Option<i16>,
    /// The layer of the drawing.
    pub role: Role,
    /// What the shapes are.
    pub kind: ShapeKind,
}

/// Where net names of a layer stand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TextLine {
    /// GDSII layer number of the texts.
    pub layer: i16,
    /// GDSII text type; `None` for all.
    pub texttype: Option<i16>,
    /// The layer of the drawing whose polygons they name.
    pub role: Role,
}

/// A map for reading a GDSII file.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LayerMap {
    /// Shapes; what no line names is left out and counted.
    pub shapes: Vec<MapLine>,
    /// Net names: a text inside a polygon names its net.
    pub nets: Vec<TextLine>,
    /// Labels: texts that are kept as they are.
    pub labels: Vec<TextLine>,
}

impl LayerMap {
    /// The map of the files that this room writes.
    pub fn own() -> LayerMap {
        let mut roles = vec![Role::Outline, Role::Pad];
        roles.extend((1..=HIGHEST_LEVEL).flat_map(|n| [Role::Opening(n), Role::Rdl(n)]));
        roles.extend([Role::BumpOpening, Role::Ubm, Role::Bump, Role::KeepOut]);
        let mut map = LayerMap::default();
        for names in roles.into_iter().filter_map(|role| names(role).ok()) {
            let (layer, role) = (names.gdsii, names.role);
            map.shapes.extend(KINDS.map(|(kind, datatype, _)| MapLine {
                layer,
                datatype: Some(datatype),
                role,
                kind,
            }));
            map.nets.push(TextLine { layer, texttype: Some(NET_TEXT), role });
            map.labels.push(TextLine { layer, texttype: Some(LABEL_TEXT), role });
        }
        map
    }

    /// The line for a shape.
    pub fn line(&self, layer: i16, datatype: i16) -> Option<&MapLine> {
        let on_layer = || self.shapes.iter().filter(move |l| l.layer == layer);
        on_layer()
            .find(|l| l.datatype == Some(datatype))
            .or_else(|| on_layer().find(|l| l.datatype.is_none()))
    }
}
