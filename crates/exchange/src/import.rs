//! A drawing from a GDSII stream that this house did not make, so that the rule checker can judge it.

use crate::gdsii::unescaped;
use crate::inside::{Side, bounds, side};
use crate::layer_map::{LayerMap, NOTE_LAYER, TextLine};
use crate::view::{View, mirrored};
use facedown_diagnostic::Finding;
use facedown_layout::{Drawing, Label, Point, Polygon, Role, Shape, ShapeKind};
use facedown_maskdata::Fault;
use facedown_maskdata::gdsii::{Flat, FlatText, Limits, read};
use facedown_quantity::Nm;
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::IntOverlayOptions;
use i_overlay::core::simplify::Simplify;
use i_overlay::i_float::int::point::IntPoint;

/// A drawing and what was noticed on the way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Import {
    /// The drawing, die face up, its origin at the lower-left corner of the die.
    pub drawing: Drawing,
    /// The view that the file states; face up where it states none.
    pub view: View,
    /// Two nets on one polygon, net names beside all polygons, layers that the map does not name.
    pub findings: Vec<Finding>,
}

/// The most findings that are listed one by one.
const MOST_FINDINGS: usize = 200;

/// Reads a drawing from a GDSII stream.
///
/// `cell` names the cell; without it the file must have one top cell. Shapes become layers by `map`; a polygon that
/// touches or crosses itself (a hole that was cut open, for instance) is resolved into polygons with holes, by the
/// non-zero rule. A net text inside a polygon, or on its border, names its net; polygons without one have none. The
/// die is the outline where the map gives one, else what encloses all shapes. A file of our own that says `die
/// face down` is mirrored back.
///
/// # Errors
/// A [`Fault`] where the stream cannot be read or expanded within [`Limits::default`], the cell is missing or not
/// named where there are several, or no shape lies on a layer of the map.
pub fn drawing_from_gdsii(bytes: &[u8], cell: Option<&str>, map: &LayerMap) -> Result<Import, Fault> {
    let library = read(bytes)?;
    let name = match (cell, library.top_cells().as_slice()) {
        (Some(cell), _) => cell.to_owned(),
        (None, [only]) => (*only).to_owned(),
        (None, cells) => {
            let names = cells.iter().take(6).map(|c| format!("`{c}`")).collect::<Vec<_>>().join(", ");
            return Err(Fault::new("gdsii-which-cell", format!("the file has {} top cells", cells.len()))
                .allowed(if cells.is_empty() {
                    "a file with a top cell".into()
                } else {
                    format!("one of {names}")
                })
                .mend("name the cell that holds the die"));
        }
    };
    let flat = library.flatten(&name, &Limits::default())?;
    let mut findings = Vec::new();
    let mut drawing = Drawing::new(&name, Nm::ZERO, Nm::ZERO);
    place_shapes(&flat, map, &mut drawing, &mut findings);
    let Some([low, high]) = die_box(&drawing) else {
        return Err(Fault::new(
            "gdsii-no-shape",
            format!("cell `{name}` has no shape on a layer of the map"),
        )
        .mend("check the layer and data type numbers of the map"));
    };
    name_nets(&flat, map, &mut drawing, &mut findings);
    for text in flat.texts.iter() {
        for line in map.labels.iter().filter(|l| stands_for(l, text)) {
            drawing.labels.push(Label { role: line.role, at: text.at, text: unescaped(&text.string) });
        }
    }
    shift(&mut drawing, low);
    (drawing.width, drawing.height) = (high.x - low.x, high.y - low.y);

    let note = flat.texts.iter().find(|t| t.layer == NOTE_LAYER && t.string.contains("; die face "));
    let mut view = View::FaceUp;
    if let Some(note) = note {
        if let Some((name, _)) = note.string.split_once("; ") {
            drawing.name = unescaped(name);
        }
        if note.string.contains("; die face down") {
            view = View::FaceDown;
            drawing = mirrored(&drawing);
        }
    }
    if findings.len() > MOST_FINDINGS {
        let more = findings.len() - MOST_FINDINGS;
        findings.truncate(MOST_FINDINGS);
        findings.push(Finding::warning("gdsii-more", format!("{more} further findings are not shown")));
    }
    Ok(Import { drawing, view, findings })
}

fn stands_for(line: &TextLine, text: &FlatText) -> bool {
    line.layer == text.layer && line.texttype.is_none_or(|t| t == text.texttype)
}

fn place_shapes(flat: &Flat, map: &LayerMap, drawing: &mut Drawing, findings: &mut Vec<Finding>) {
    let mut left_out = std::collections::BTreeMap::<(i16, i16), usize>::new();
    for polygon in &flat.polygons {
        let Some(line) = map.line(polygon.layer, polygon.datatype) else {
            *left_out.entry((polygon.layer, polygon.datatype)).or_default() += 1;
            continue;
        };
        let shapes =
            resolved(&polygon.points).into_iter().map(|p| Shape { kind: line.kind, net: None, polygon: p });
        drawing.layer_mut(line.role).shapes.extend(shapes);
    }
    for ((layer, datatype), count) in left_out {
        findings.push(
            Finding::advice(
                "gdsii-layer-left-out",
                format!("{count} polygons on layer {layer}, data type {datatype} were left out"),
            )
            .mend("name the layer in the map if its shapes matter"),
        );
    }
    let nothing = flat.lines_without_width + flat.collapsed;
    if nothing > 0 {
        findings.push(Finding::warning(
            "gdsii-no-area",
            format!("{nothing} paths or polygons cover no area and were left out"),
        ));
    }
}

/// A ring as simple polygons with holes: as it stands where no corner appears twice and no edges cross.
fn resolved(ring: &[Point]) -> Vec<Polygon> {
    let contour: Vec<IntPoint<i64>> = ring.iter().map(|p| IntPoint::new(p.x.0, p.y.0)).collect();
    let options = IntOverlayOptions { preserve_output_collinear: true, ..IntOverlayOptions::default() };
    let shapes = [contour].simplify(FillRule::NonZero, options);
    shapes
        .into_iter()
        .filter_map(|shape| {
            let mut rings = shape
                .into_iter()
                .map(|ring| ring.into_iter().map(|p| Point::new(Nm(p.x), Nm(p.y))).collect::<Vec<_>>());
            let outer = rings.next()?;
            Some(Polygon { outer, holes: rings.collect() })
        })
        .collect()
}

fn die_box(drawing: &Drawing) -> Option<[Point; 2]> {
    let of = |role: Option<Role>| {
        let corners: Vec<Point> = drawing
            .layers
            .iter()
            .filter(|l| role.is_none_or(|r| r == l.role))
            .flat_map(|l| l.shapes.iter().filter_map(|s| bounds(&s.polygon.outer)))
            .flatten()
            .collect();
        bounds(&corners)
    };
    of(Some(Role::Outline)).or_else(|| of(None))
}

fn shift(drawing: &mut Drawing, by: Point) {
    let moved = |p: &mut Point| *p = Point::new(p.x - by.x, p.y - by.y);
    for shape in drawing.layers.iter_mut().flat_map(|l| &mut l.shapes) {
        shape.polygon.outer.iter_mut().chain(shape.polygon.holes.iter_mut().flatten()).for_each(moved);
    }
    drawing.labels.iter_mut().for_each(|l| moved(&mut l.at));
}

/// Strips along x in which polygons are looked up.
const STRIPS: i128 = 512;

fn name_nets(flat: &Flat, map: &LayerMap, drawing: &mut Drawing, findings: &mut Vec<Finding>) {
    for layer in &mut drawing.layers {
        // The die outline and keep-outs lie around everything and carry no net.
        let named: Vec<usize> = (0..layer.shapes.len())
            .filter(|&i| !matches!(layer.shapes[i].kind, ShapeKind::Outline | ShapeKind::KeepOut))
            .collect();
        let boxes: Vec<Option<[Point; 2]>> = layer.shapes.iter().map(|s| bounds(&s.polygon.outer)).collect();
        let all: Vec<Point> = named.iter().filter_map(|&i| boxes[i]).flatten().collect();
        let Some([low, high]) = bounds(&all) else { continue };
        let width = i128::from((high.x - low.x).0) + 1;
        let strip = |x: Nm| (i128::from((x - low.x).0) * STRIPS / width) as usize;
        let mut strips: Vec<Vec<usize>> = vec![Vec::new(); STRIPS as usize];
        for &i in &named {
            if let Some([a, b]) = boxes[i] {
                strips[strip(a.x)..=strip(b.x)].iter_mut().for_each(|s| s.push(i));
            }
        }
        for text in &flat.texts {
            if !map.nets.iter().any(|line| line.role == layer.role && stands_for(line, text)) {
                continue;
            }
            let at = text.at;
            let net = unescaped(&text.string);
            let candidates: &[usize] =
                if (low.x..=high.x).contains(&at.x) { &strips[strip(at.x)] } else { &[] };
            let near = candidates.iter().copied().filter(|&i| {
                boxes[i].is_some_and(|[a, b]| a.x <= at.x && at.x <= b.x && a.y <= at.y && at.y <= b.y)
            });
            let mut found = false;
            for i in near {
                if side(&layer.shapes[i].polygon, at) == Side::Outside {
                    continue;
                }
                found = true;
                match &layer.shapes[i].net {
                    Some(other) if *other != net => findings.push(
                        Finding::error(
                            "gdsii-two-nets",
                            format!(
                                "one polygon carries the nets `{other}` and `{net}`, the second at ({}, {})",
                                at.x, at.y
                            ),
                        )
                        .allowed("one net for each polygon")
                        .mend("part the two nets, or correct the text"),
                    ),
                    _ => layer.shapes[i].net = Some(net.clone()),
                }
            }
            if !found {
                findings.push(
                    Finding::warning(
                        "gdsii-net-beside",
                        format!(
                            "the net name `{net}` at ({}, {}) lies in no polygon of its layer",
                            at.x, at.y
                        ),
                    )
                    .mend("move the text into the polygon that it names"),
                );
            }
        }
    }
}
