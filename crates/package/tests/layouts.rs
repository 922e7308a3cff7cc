//! Pads from GDSII and LEF/DEF.

// Helpers of tests may fail loudly.
#![allow(clippy::unwrap_used)]

use facedown_maskdata::gdsii::{Cell, Element, Library, Placement, write};
use facedown_package::{Memory, Reading, read};

fn rectangle(layer: i16, datatype: i16, x: i32, y: i32, w: i32, h: i32) -> Element {
    let points = vec![[x, y], [x + w, y], [x + w, y + h], [x, y + h]];
    Element::Boundary { layer, datatype, points }
}

fn text(layer: i16, texttype: i16, x: i32, y: i32, string: &str) -> Element {
    Element::Text { layer, texttype, at: [x, y], string: string.into() }
}

fn with_pads(pads: &str, file: &str, bytes: Vec<u8>) -> Memory {
    let design = format!(
        "[design]\nname = \"a\"\n[[die]]\nname = \"a\"\nwidth = \"1 mm\"\nheight = \"1 mm\"\nthickness = \"300 um\"\npads = {pads}\n"
    );
    Memory::default().with("design.toml", design).with(file, bytes)
}

fn gdsii(elements: Vec<Element>, pads: &str) -> Reading {
    let mut library = Library::nanometres("DIE");
    library.cells.push(Cell { name: "DIE".into(), elements });
    read(&with_pads(pads, "die.gds", write(&library).unwrap()), "design.toml")
}

fn pads(reading: &Reading) -> Vec<(String, String, f64, f64, f64, f64)> {
    let die = &reading.design.as_ref().unwrap().dies[0];
    die.pad_list
        .iter()
        .map(|p| (p.name.clone(), p.net.clone(), p.x.um(), p.y.um(), p.width.um(), p.height.um()))
        .collect()
}

#[test]
fn openings_and_labels_become_pads() {
    let reading = gdsii(
        vec![
            rectangle(37, 0, 100_000, 50_000, 60_000, 60_000),
            rectangle(37, 0, 300_000, 50_000, 60_000, 40_000),
            rectangle(37, 0, 500_000, 50_000, 60_000, 60_000),
            rectangle(5, 0, 0, 0, 1_000_000, 1_000_000),
            text(37, 10, 130_000, 80_000, "VSS"),
            text(37, 10, 330_000, 60_000, "CLK"),
            text(37, 10, 530_000, 80_000, "VSS"),
            text(37, 11, 530_000, 80_000, "not a label"),
        ],
        "{ gdsii = \"die.gds\", openings = \"37/0\", labels = \"37/10\", origin = [\"10 um\", \"20 um\"] }",
    );
    assert!(reading.findings.is_empty(), "{:#?}", reading.findings);
    let owned = |a: &str, b: &str, x: f64, y: f64, w: f64, h: f64| (a.to_owned(), b.to_owned(), x, y, w, h);
    assert_eq!(
        pads(&reading),
        [
            owned("VSS_1", "VSS", 120.0, 60.0, 60.0, 60.0),
            owned("CLK", "CLK", 320.0, 50.0, 60.0, 40.0),
            owned("VSS_2", "VSS", 520.0, 60.0, 60.0, 60.0)
        ]
    );
}

#[test]
fn openings_without_or_with_two_labels_are_told() {
    let reading = gdsii(
        vec![
            rectangle(37, 0, 100_000, 50_000, 60_000, 60_000),
            rectangle(37, 0, 300_000, 50_000, 60_000, 60_000),
            text(37, 0, 310_000, 60_000, "A"),
            text(37, 0, 320_000, 60_000, "B"),
        ],
        "{ gdsii = \"die.gds\", openings = \"37/0\" }",
    );
    let codes: Vec<&str> = reading.findings.iter().map(|f| f.code.as_str()).collect();
    assert_eq!(codes, ["gdsii-no-label", "gdsii-labels"]);
    assert!(reading.findings[0].what.contains("1 of 2 openings hold no label, the first at (130 um, 80 um)"));
}

#[test]
fn a_wrong_layer_is_told_with_the_layers_that_exist() {
    let reading =
        gdsii(vec![rectangle(37, 4, 0, 0, 60_000, 60_000)], "{ gdsii = \"die.gds\", openings = \"37/0\" }");
    assert_eq!(reading.findings[0].code, "gdsii-no-openings");
    assert!(reading.findings[0].allowed.as_deref().unwrap().contains("37/4"));
}

#[test]
fn a_layout_with_two_top_cells_asks_for_one() {
    let mut library = Library::nanometres("LIB");
    for name in ["ONE", "TWO"] {
        let elements = vec![rectangle(1, 0, 0, 0, 60_000, 60_000), text(1, 0, 30_000, 30_000, name)];
        library.cells.push(Cell { name: name.into(), elements });
    }
    let bytes = write(&library).unwrap();
    let reading = read(
        &with_pads("{ gdsii = \"die.gds\", openings = \"1/0\" }", "die.gds", bytes.clone()),
        "design.toml",
    );
    assert_eq!(reading.findings[0].code, "gdsii-no-cell");
    let named = "{ gdsii = \"die.gds\", openings = \"1/0\", cell = \"TWO\" }";
    assert_eq!(pads(&read(&with_pads(named, "die.gds", bytes), "design.toml"))[0].1, "TWO");
}

#[test]
fn placed_pad_cells_become_pads() {
    let cell = Cell { name: "PAD".into(), elements: vec![rectangle(1, 0, -30_000, -30_000, 60_000, 60_000)] };
    let mut top = vec![text(1, 0, 200_000, 300_000, "RX")];
    top.push(Element::Reference {
        cell: "PAD".into(),
        placement: Placement::shift([200_000, 300_000]),
        repeat: None,
    });
    let mut library = Library::nanometres("LIB");
    library.cells.push(Cell { name: "TOP".into(), elements: top });
    library.cells.push(cell);
    let reading = read(
        &with_pads("{ gdsii = \"die.gds\", openings = \"1/0\" }", "die.gds", write(&library).unwrap()),
        "design.toml",
    );
    assert_eq!(pads(&reading), [("RX".to_owned(), "RX".to_owned(), 200.0, 300.0, 60.0, 60.0)]);
}

const LEF: &str = "MACRO PADCELL SIZE 60 BY 100 ; PIN P PORT LAYER M9 ; RECT 0 0 60 60 ; LAYER M8 ; RECT 0 0 60 60 ; END END P END PADCELL";
const DEF: &str = "DESIGN demo ; UNITS DISTANCE MICRONS 1000 ; DIEAREA ( 10000 10000 ) ( 1010000 1010000 ) ;
COMPONENTS 3 ; - pad0 PADCELL + FIXED ( 110000 10000 ) N ; - pad1 PADCELL + FIXED ( 310000 10000 ) N ; - x OTHER + FIXED ( 0 0 ) N ; END COMPONENTS
NETS 2 ; - clk ( pad0 P ) ; - rx ( pad1 P ) ; END NETS END DESIGN";

#[test]
fn placed_pins_become_pads_in_the_frame_of_the_die() {
    let files =
        with_pads("{ def = \"die.def\", lef = [\"pads.lef\"], layer = \"M9\" }", "die.def", DEF.into())
            .with("pads.lef", LEF);
    let reading = read(&files, "design.toml");
    let codes: Vec<&str> = reading.findings.iter().map(|f| f.code.as_str()).collect();
    assert_eq!(codes, ["lef-macro-missing"]);
    assert_eq!(
        pads(&reading),
        [
            ("pad0".to_owned(), "clk".to_owned(), 130.0, 30.0, 60.0, 60.0),
            ("pad1".to_owned(), "rx".to_owned(), 330.0, 30.0, 60.0, 60.0)
        ]
    );
}

#[test]
fn pins_on_several_layers_ask_for_one() {
    let files =
        with_pads("{ def = \"die.def\", lef = [\"pads.lef\"] }", "die.def", DEF.into()).with("pads.lef", LEF);
    let reading = read(&files, "design.toml");
    let finding = reading.findings.iter().find(|f| f.code == "def-layers").unwrap();
    assert_eq!(finding.allowed.as_deref(), Some("M8, M9"));
    assert_eq!(finding.mend.as_deref(), Some("add `layer = \"M9\"`, the layer of the pads"));
}
