//! Drawings survive GDSII in both views, exports are byte-stable, and foreign files are judged as they should.
#![allow(clippy::unwrap_used, reason = "a step that fails here fails the test")]

use facedown_exchange::layer_map::{LayerMap, MapLine, TextLine};
use facedown_exchange::{View, drawing_from_gdsii, dxf, gdsii, gerber};
use facedown_layout::{Drawing, Label, Point, Polygon, Role, Shape, ShapeKind};
use facedown_maskdata::gdsii::{Cell, Element, Library, Placement, Repeat, write};
use facedown_quantity::Nm;
use proptest::prelude::*;

const KINDS: [ShapeKind; 5] =
    [ShapeKind::Trace, ShapeKind::Capture, ShapeKind::Plane, ShapeKind::Via, ShapeKind::Teardrop];

/// Shapes in places of their own, so that no net name can stand in two polygons.
fn drawing() -> impl Strategy<Value = Drawing> {
    let roles =
        [Role::Pad, Role::Opening(1), Role::Rdl(1), Role::Opening(2), Role::Rdl(2), Role::Ubm, Role::Bump];
    let shape = (
        prop::sample::select(roles.to_vec()),
        prop::sample::select(KINDS.to_vec()),
        0..5usize,
        prop::option::of("\\PC{1,12}|[a-z]{1,3}\\[[0-9]\\]|\\\\u\\{41\\}"),
        3i64..40_000,
        3i64..40_000,
    );
    (prop::collection::vec(shape, 1..20), prop::option::of("\\PC{1,9}")).prop_map(|(shapes, label)| {
        let mut drawing = Drawing::new("random demo", Nm(2_100_003), Nm(100_001));
        for (slot, (role, kind, form, net, w, h)) in shapes.into_iter().enumerate() {
            let (x, y) = (slot as i64 * 100_000 + 50_000, 50_000);
            let at = |dx: i64, dy: i64| Point::new(Nm(x + dx), Nm(y + dy));
            let circle = |radius: i64, turn: f64| -> Vec<Point> {
                (0..24)
                    .map(|i| (f64::from(i) / 24.0 * std::f64::consts::TAU * turn).sin_cos())
                    .map(|(s, c)| at((c * radius as f64).round() as i64, (s * radius as f64).round() as i64))
                    .collect()
            };
            let mut polygon = match form {
                0 => Polygon::rectangle(at(-w, -h), at(w, h)),
                1 => Polygon::new(vec![at(-w, -h), at(w, -h), at(0, h)]),
                2 => Polygon::new(vec![at(-w, -h), at(w, -h), at(w, 0), at(0, 0), at(0, h), at(-w, h)]),
                _ => Polygon::new(circle(w + 1000, 1.0)),
            };
            if form == 4 {
                polygon.holes.push(circle((w + 1000) / 2, -1.0));
            }
            drawing.layer_mut(role).shapes.push(Shape::new(kind, net.as_deref(), polygon));
        }
        drawing.labels.extend(label.map(|text| Label { role: Role::Rdl(1), at: Point::default(), text }));
        drawing
    })
}

/// Rings begin at their smallest corner, holes are sorted.
fn plain(drawing: &Drawing) -> Drawing {
    let ring = |ring: &[Point]| -> Vec<Point> {
        let first = ring.iter().enumerate().min_by_key(|(_, p)| **p).map_or(0, |(i, _)| i);
        ring.iter().cycle().skip(first).take(ring.len()).copied().collect()
    };
    let mut drawing = drawing.clone();
    for shape in drawing.layers.iter_mut().flat_map(|l| &mut l.shapes) {
        shape.polygon.outer = ring(&shape.polygon.outer);
        shape.polygon.holes.iter_mut().for_each(|h| *h = ring(h));
        shape.polygon.holes.sort();
    }
    // The writer adds the die outline.
    drawing.layers.retain(|l| l.role != Role::Outline);
    drawing
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]

    #[test]
    fn a_drawing_survives_gdsii_in_both_views(drawing in drawing()) {
        for view in [View::FaceUp, View::FaceDown] {
            let bytes = gdsii(&drawing, view).unwrap();
            let back = drawing_from_gdsii(&bytes, None, &LayerMap::own()).unwrap();
            prop_assert_eq!(back.view, view);
            prop_assert_eq!(&back.findings, &vec![]);
            prop_assert_eq!(plain(&back.drawing), plain(&drawing));
        }
    }

    #[test]
    fn the_same_drawing_gives_the_same_bytes(drawing in drawing()) {
        for view in [View::FaceUp, View::FaceDown] {
            prop_assert_eq!(gdsii(&drawing, view).unwrap(), gdsii(&drawing.clone(), view).unwrap());
            prop_assert_eq!(dxf(&drawing, view).unwrap(), dxf(&drawing.clone(), view).unwrap());
            prop_assert_eq!(gerber(&drawing, view).unwrap(), gerber(&drawing.clone(), view).unwrap());
        }
    }

    #[test]
    fn damaged_exports_are_read_or_refused(
        drawing in drawing(),
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
    ) {
        let mut bytes = gdsii(&drawing, View::FaceUp).unwrap();
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        let _ = drawing_from_gdsii(&bytes, None, &LayerMap::own());
    }
}

fn square(x: i32, y: i32, side: i32) -> Element {
    Element::Boundary {
        layer: 7,
        datatype: 3,
        points: vec![[x, y], [x + side, y], [x + side, y + side], [x, y + side]],
    }
}

fn text(layer: i16, x: i32, y: i32, string: &str) -> Element {
    Element::Text { layer, texttype: 20, at: [x, y], string: string.into() }
}

fn foreign(cells: Vec<(&str, Vec<Element>)>) -> Vec<u8> {
    let mut library = Library::nanometres("FOREIGN");
    library.cells = cells.into_iter().map(|(name, elements)| Cell { name: name.into(), elements }).collect();
    write(&library).unwrap()
}

fn map() -> LayerMap {
    LayerMap {
        shapes: vec![MapLine { layer: 7, datatype: None, role: Role::Rdl(1), kind: ShapeKind::Trace }],
        nets: vec![TextLine { layer: 8, texttype: None, role: Role::Rdl(1) }],
        labels: vec![],
    }
}

#[test]
fn a_foreign_file_of_arrays_is_moved_to_its_corner_and_named_by_its_texts() {
    let repeat =
        Repeat { columns: 3, rows: 2, column_end: [-5000 + 3000, -4000], row_end: [-5000, -4000 + 2000] };
    let bytes = foreign(vec![
        ("LEAF", vec![square(0, 0, 400)]),
        (
            "TOP",
            vec![
                Element::Reference {
                    cell: "LEAF".into(),
                    placement: Placement::shift([-5000, -4000]),
                    repeat: Some(repeat),
                },
                text(8, -4800, -3800, "a"),
                text(8, -3000, -3000, "b"),
                text(8, 0, 0, "nowhere"),
                Element::Boundary { layer: 99, datatype: 0, points: vec![[0, 0], [1, 0], [0, 1]] },
            ],
        ),
    ]);
    let import = drawing_from_gdsii(&bytes, None, &map()).unwrap();
    assert_eq!((import.drawing.width, import.drawing.height), (Nm(2400), Nm(1400)));
    let shapes = &import.drawing.layer(Role::Rdl(1)).unwrap().shapes;
    let nets: Vec<_> = shapes.iter().map(|s| s.net.as_deref()).collect();
    assert_eq!(nets, [Some("a"), None, None, None, None, Some("b")]);
    assert_eq!(shapes[0].polygon.outer[0], Point::new(Nm(0), Nm(0)));
    let codes: Vec<_> = import.findings.iter().map(|f| f.code.as_str()).collect();
    assert_eq!(codes, ["gdsii-layer-left-out", "gdsii-net-beside"]);
}

#[test]
fn two_names_in_one_polygon_are_a_finding() {
    let bytes = foreign(vec![("TOP", vec![square(0, 0, 400), text(8, 10, 10, "a"), text(8, 400, 200, "b")])]);
    let import = drawing_from_gdsii(&bytes, None, &map()).unwrap();
    assert_eq!(import.findings[0].code, "gdsii-two-nets");
    assert_eq!(import.drawing.layers[0].shapes[0].net.as_deref(), Some("a"));
}

#[test]
fn a_ring_that_was_cut_open_gets_its_hole_back() {
    let points = vec![
        [0, 0],
        [100, 0],
        [100, 100],
        [0, 100],
        [0, 0], // round the outside
        [40, 40],
        [40, 60],
        [60, 60],
        [60, 40],
        [40, 40], // in and round the hole
    ];
    let bytes = foreign(vec![("TOP", vec![Element::Boundary { layer: 7, datatype: 0, points }])]);
    let import = drawing_from_gdsii(&bytes, Some("TOP"), &map()).unwrap();
    let polygon = &import.drawing.layers[0].shapes[0].polygon;
    assert_eq!((polygon.outer.len(), polygon.holes.len()), (4, 1));
}

#[test]
fn several_top_cells_and_an_empty_map_are_named() {
    let bytes = foreign(vec![("A", vec![square(0, 0, 4)]), ("B", vec![square(0, 0, 4)])]);
    let fault = drawing_from_gdsii(&bytes, None, &map()).unwrap_err();
    assert_eq!(
        fault.to_string(),
        "the file has 2 top cells; allowed: one of `A`, `B`; name the cell that holds the die"
    );
    let fault = drawing_from_gdsii(&bytes, Some("A"), &LayerMap::default()).unwrap_err();
    assert_eq!(fault.code, "gdsii-no-shape");
    assert_eq!(drawing_from_gdsii(&bytes, Some("C"), &map()).unwrap_err().code, "gdsii-no-cell");
}

#[test]
fn an_unfit_level_or_name_is_refused() {
    let mut drawing = Drawing::new("demo", Nm::from_um(10), Nm::from_um(10));
    let square = Polygon::rectangle(Point::um(1.0, 1.0), Point::um(2.0, 2.0));
    drawing.layer_mut(Role::Rdl(21)).shapes.push(Shape::new(ShapeKind::Trace, None, square.clone()));
    assert_eq!(gdsii(&drawing, View::FaceUp).unwrap_err().code, "level");
    let mut drawing = Drawing::new("demo", Nm::from_um(10), Nm::from_um(10));
    drawing.layer_mut(Role::Rdl(1)).shapes.push(Shape::new(
        ShapeKind::Trace,
        Some(&"x".repeat(600)),
        square.clone(),
    ));
    assert_eq!(gdsii(&drawing, View::FaceUp).unwrap_err().code, "gdsii-text");
    assert_eq!(dxf(&drawing, View::FaceUp).unwrap_err().code, "dxf-text");
    drawing.layers[0].shapes[0].net = Some(String::new());
    assert_eq!(gdsii(&drawing, View::FaceUp).unwrap_err().code, "gdsii-text");
    assert_eq!(gerber(&drawing, View::FaceUp).unwrap_err().code, "gerber-net");
}
