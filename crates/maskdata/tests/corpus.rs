//! The corpus of the fuzz targets, run as plain tests: what each file comes to is written down here.
#![allow(clippy::unwrap_used, reason = "a step that fails here fails the test")]

use expect_test::{Expect, expect};
use facedown_maskdata::Fault;
use facedown_maskdata::gdsii::{Limits, read};
use facedown_maskdata::lefdef::{Def, Lef, pins, read_def, read_lef};
use std::fs;
use std::path::PathBuf;

fn files(folder: &str) -> Vec<(String, PathBuf)> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/corpus").join(folder);
    let mut files: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap())
        .map(|entry| (entry.file_name().into_string().unwrap(), entry.path()))
        .collect();
    files.sort();
    files
}

fn check(folder: &str, outcome: fn(&[u8]) -> Result<String, Fault>, expected: Expect) {
    let mut summary = String::new();
    for (name, path) in files(folder) {
        let line = match outcome(&fs::read(path).unwrap()) {
            Ok(text) => text,
            Err(fault) => format!("{}: {fault}", fault.code),
        };
        summary += &format!("{name}\n    {line}\n");
    }
    expected.assert_eq(&summary);
}

#[test]
fn gdsii_files_come_to_what_they_should() {
    check(
        "gdsii",
        |bytes| {
            let library = read(bytes)?;
            let mut text = String::new();
            // A file whose cells form a circle has no top cell but its first.
            let first = library.cells.first().map(|c| c.name.as_str());
            let top = library.top_cells();
            for cell in if top.is_empty() { first.into_iter().collect() } else { top } {
                let flat = library.flatten(cell, &Limits::default())?;
                let corners: usize = flat.polygons.iter().map(|p| p.points.len()).sum();
                text += &format!(
                    "{cell}: {} polygons, {corners} corners, {} texts, {} lines, {} collapsed",
                    flat.polygons.len(),
                    flat.texts.len(),
                    flat.lines_without_width,
                    flat.collapsed
                );
            }
            Ok(text)
        },
        expect![[r#"
            absolute.gds
                gdsii-absolute: byte 200: a placement asks for absolute magnification or angle; allowed: magnification and angle relative to the outer cell; flatten the cell before writing
            array-of-zero.gds
                gdsii-array: byte 200: an array lacks its counts or one of its three points; allowed: 1 to 32767 columns and rows, and three points; write the file again; it is damaged
            array-without-points.gds
                gdsii-array: byte 200: an array lacks its counts or one of its three points; allowed: 1 to 32767 columns and rows, and three points; write the file again; it is damaged
            cell-twice.gds
                gdsii-cell-twice: byte 164: cell `A` is defined twice; allowed: each cell name once; rename or remove one of the two cells
            circle.gds
                gdsii-circle: cell `A` places itself, directly or through others; allowed: placements that form no circle; remove the placement that leads back to `A`
            cut-short.gds
                gdsii-truncated: byte 156: a record needs 4 bytes and 3 are left in the file; copy or write the file again; its end is missing
            deep.gds
                gdsii-too-deep: cells are placed in each other over more than 64 levels; allowed: 64 levels; flatten the file, or name a cell further down
            element-open.gds
                gdsii-element-open: byte 106: an element is not closed before the next begins; write the file again; it is damaged
            empty.gds
                gdsii-header: byte 0: the file does not begin with a GDSII header record; allowed: a GDSII stream, not compressed; unpack the file if it is compressed, or name a GDSII file
            extremes.gds
                A: 2 polygons, 137 corners, 0 texts, 0 lines, 0 collapsed
            huge-magnification.gds
                gdsii-far: a corner of cell `A` would lie more than 10 m from the origin; allowed: coordinates within 10 m; check the magnifications of the placements
            latin-1.gds
                A: 0 polygons, 0 corners, 1 texts, 0 lines, 0 collapsed
            long-text-array.gds
                gdsii-too-large: cell `TOP` expands to 7600000 placed cells and elements with 14250000000 corners; allowed: 4000000 elements and 32000000 corners; name a smaller cell, or write only the layers that are needed
            missing-cell.gds
                gdsii-missing-cell: cell `TOP` places `NOWHERE`, which the file does not hold; write the file with all its cells
            nested-arrays.gds
                gdsii-too-large: cell `C0` expands to more than 10^19 placed cells and elements with more than 10^19 corners; allowed: 4000000 elements and 32000000 corners; name a smaller cell, or write only the layers that are needed
            nested-empty-arrays.gds
                gdsii-too-large: cell `C0` expands to more than 10^19 placed cells and elements with 0 corners; allowed: 4000000 elements and 32000000 corners; name a smaller cell, or write only the layers that are needed
            no-endlib.gds
                gdsii-truncated: byte 164: the file ends before its ENDLIB record; copy or write the file again; its end is missing
            no-units.gds
                gdsii-units: byte 136: the stream has no UNITS record; write the file again with its units
            not-a-stream.gds
                gdsii-header: byte 0: the file does not begin with a GDSII header record; allowed: a GDSII stream, not compressed; unpack the file if it is compressed, or name a GDSII file
            one-point-path.gds
                gdsii-points: byte 96: a path has 1 point; allowed: two points or more; remove it, or give its missing points
            path-type-9.gds
                gdsii-path-type: byte 96: a path has the end type 9; allowed: 0 flush, 1 round, 2 longer by half the width, 4 by given lengths; convert the path to a polygon before writing
            placed.gds
                TOP: 40 polygons, 1184 corners, 0 texts, 0 lines, 0 collapsed
            plain.gds
                A: 1 polygons, 4 corners, 1 texts, 0 lines, 0 collapsed
            record-length-zero.gds
                gdsii-record-length: byte 62: a record gives its length as 0 bytes; allowed: 4 bytes (the header) or more; write the file again; it is damaged or not a GDSII stream
            record-too-long.gds
                gdsii-truncated: byte 62: a record needs 65535 bytes and 8 are left in the file; copy or write the file again; its end is missing
            self.gds
                gdsii-circle: cell `A` places itself, directly or through others; allowed: placements that form no circle; remove the placement that leads back to `A`
            tiny-magnification.gds
                TOP: 0 polygons, 0 corners, 0 texts, 0 lines, 2 collapsed
            two-points.gds
                gdsii-points: byte 96: a polygon has 2 corners; allowed: three corners or more; remove it, or give its missing corners
            units-zero.gds
                gdsii-units: byte 6: the database unit is given as 0e0 m, 0e0 user units; allowed: a database unit from 1e-15 m to 1e-3 m, and a user unit above 0; write the file again with its units, for instance 1e-3 and 1e-9 for um and nm
            widest-path.gds
                gdsii-width: byte 96: a path has the width -2147483648; allowed: -2147483647 to 2147483647 database units
            zero-width.gds
                A: 0 polygons, 0 corners, 0 texts, 2 lines, 1 collapsed
        "#]],
    );
}

#[test]
fn lef_files_come_to_what_they_should() {
    check(
        "lef",
        |bytes| {
            let lef = read_lef(std::str::from_utf8(bytes).unwrap())?;
            let shapes: usize = lef.macros.values().flat_map(|m| &m.pins).map(|p| p.shapes.len()).sum();
            Ok(format!("{} macros, {shapes} pin shapes", lef.macros.len()))
        },
        expect![[r#"
            bad-number.lef
                lefdef-word: line 2, column 8: `wide` does not belong here in the LEF text; allowed: a width in um
            beyond-ascii.lef
                lefdef-word: line 1, column 59: `;` does not belong here in the LEF text; allowed: a y coordinate in um
            block.lef
                1 macros, 1 pin shapes
            cut-short.lef
                lefdef-end: line 5, column 20: the LEF text ends in the middle of a statement or block; allowed: a y coordinate in um next; copy or write the file again; its end is missing
            empty.lef
                0 macros, 0 pin shapes
            far.lef
                lefdef-far: line 1, column 14: 1e300 um is out of range; allowed: -10 m to 10 m
            no-layer.lef
                lef-layer: line 1, column 20: a shape stands before any LAYER of its port; name the layer before the shape
            not-finite.lef
                lefdef-word: line 1, column 14: `inf` does not belong here in the LEF text; allowed: a width in um
            open-quote.lef
                lefdef-end: line 2, column 14: the LEF text ends in the middle of a statement or block; allowed: `;` next; copy or write the file again; its end is missing
            pads.lef
                1 macros, 3 pin shapes
            repeated-shape.lef
                lef-iterate: line 1, column 30: a repeated shape (ITERATE) is not read; allowed: RECT and POLYGON with their own coordinates; write each rectangle by itself
            three-points.lef
                lef-shape: line 1, column 30: a RECT has 3 points; allowed: two points of a RECT, three or more of a POLYGON
            units.lef
                lef-units: line 1, column 24: 0 database units per micrometre; allowed: a whole number from 1 to 1000000
            wrong-end.lef
                lefdef-word: line 4, column 7: `Q` does not belong here in the LEF text; allowed: `P`, the name of the open pin; close pin `P` before the next block ends
        "#]],
    );
}

#[test]
fn def_files_come_to_what_they_should() {
    check(
        "def",
        |bytes| {
            let def: Def = read_def(std::str::from_utf8(bytes).unwrap())?;
            let list = pins(&Lef::default(), &def, None)?;
            Ok(format!(
                "{} corners, {} components, {} pins with {} placed shapes, {} nets",
                def.die.len(),
                def.components.len(),
                def.pins.len(),
                list.pins.len(),
                def.nets.len()
            ))
        },
        expect![[r#"
            cut-short.def
                lefdef-end: line 3, column 12: the DEF text ends in the middle of a statement or block; allowed: `)` next; copy or write the file again; its end is missing
            die.def
                4 corners, 10 components, 2 pins with 3 placed shapes, 4 nets
            empty.def
                0 corners, 0 components, 0 pins with 0 placed shapes, 0 nets
            far.def
                lefdef-far: line 1, column 46: 9.9999999999e10 um is out of range; allowed: -10 m to 10 m
            no-dash.def
                lefdef-word: line 3, column 1: `clk` does not belong here in the DEF text; allowed: `-` or `END NETS`; begin each entry of NETS with `-`
            no-units.def
                def-units: line 2, column 11: coordinates come before the units; write `UNITS DISTANCE MICRONS 1000 ;` (or the units of the file) at its head
            one-corner.def
                def-die: line 1, column 31: the die area has 1 point; allowed: two opposite corners, or three corners and more
            orientation.def
                lefdef-word: line 3, column 26: `R90` does not belong here in the DEF text; allowed: N, S, W, E, FN, FS, FW, FE
            pin-shape.def
                def-shape: line 1, column 54: a LAYER of a pin has 1 point; allowed: two points of a LAYER, three or more of a POLYGON
            star-first.def
                lefdef-word: line 1, column 41: `*` does not belong here in the DEF text; allowed: a coordinate
            units-zero.def
                def-units: line 1, column 24: 0 units per micrometre; allowed: a whole number from 1 to 1000000, as a rule 1000 or 2000
        "#]],
    );
}

#[test]
fn all_eight_orientations_place_the_pads_of_the_demonstration_die() {
    let text = |name: &str| {
        fs::read_to_string(PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/corpus").join(name)).unwrap()
    };
    let (lef, def) = (read_lef(&text("lef/pads.lef")).unwrap(), read_def(&text("def/die.def")).unwrap());
    let list = pins(&lef, &def, Some("M9")).unwrap();
    let lines: String = list
        .pins
        .iter()
        .map(|p| {
            format!(
                "{} {} {}: ({}, {}) to ({}, {})\n",
                p.instance.as_deref().unwrap_or("-"),
                p.name,
                p.net.as_deref().unwrap_or("-"),
                p.low.x,
                p.low.y,
                p.high.x,
                p.high.y
            )
        })
        .collect();
    expect![[r#"
        - data\[0\] data\[0\]: (480 um, -10 um) to (500 um, 10 um)
        - gnd gnd: (2.5 um, 2.5 um) to (2.55 um, 2.5 um)
        - gnd gnd: (4.45 um, 2.5 um) to (4.5 um, 2.55 um)
        p0 P data\[0\]: (101.5 um, 5 um) to (161.5 um, 65 um)
        p1 P clk: (201.5 um, 35 um) to (261.5 um, 95 um)
        p2 P n2: (335 um, 1.5 um) to (395 um, 61.5 um)
        p3 P -: (405 um, 1.5 um) to (465 um, 61.5 um)
        p4 P -: (101.5 um, 205 um) to (161.5 um, 265 um)
        p5 P -: (201.5 um, 235 um) to (261.5 um, 295 um)
        p6 P -: (305 um, 201.5 um) to (365 um, 261.5 um)
        p7 P -: (435 um, 201.5 um) to (495 um, 261.5 um)
    "#]]
    .assert_eq(&lines);
    assert_eq!(list.missing_macros.get("AND2"), Some(&1));
    assert_eq!(list.unplaced, 1);
    let octagon = pins(&lef, &def, Some("AP")).unwrap();
    assert!(octagon.pins.iter().all(|p| p.corners.len() == 8));
    let power = pins(&lef, &def, Some("M8")).unwrap();
    assert!(power.pins.iter().all(|p| p.net.as_deref() == Some("vdd")));
}
