//! No bytes make a reader panic or run away, and what the writer writes the reader reads.
#![allow(clippy::unwrap_used, reason = "a step that fails here fails the test")]

use facedown_maskdata::gdsii::{Cell, Element, Library, Limits, PathEnd, Placement, Repeat, read, write};
use facedown_maskdata::lefdef::{macro_pins, pins, read_def, read_lef};
use proptest::collection::vec;
use proptest::prelude::*;
use std::path::Path;

const LIMITS: Limits = Limits { elements: 20_000, points: 200_000, depth: 16 };

fn corpus(folder: &str) -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corpus").join(folder);
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    files.sort();
    // Long files would only slow the mutations down.
    files.into_iter().map(|f| std::fs::read(f).unwrap()).filter(|b| b.len() < 8192).collect()
}

fn read_gdsii(bytes: &[u8]) {
    if let Ok(library) = read(bytes) {
        for cell in &library.cells {
            if let Ok(flat) = library.flatten(&cell.name, &LIMITS) {
                assert!(flat.polygons.len() + flat.texts.len() <= 20_000);
            }
        }
    }
}

fn read_text(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let (lef, def) = (read_lef(&text), read_def(&text));
    for fault in lef.iter().map(|_| None).chain([lef.as_ref().err(), def.as_ref().err()]).flatten() {
        // A fault must be printable and lie inside the text.
        assert!(!fault.to_string().is_empty());
        if let facedown_maskdata::Where::Text { span, .. } = &fault.at {
            assert!(text.get(span.clone()).is_some());
        }
    }
    let lef = lef.unwrap_or_default();
    lef.macros.values().for_each(|m| drop(macro_pins(m, None)));
    if let Ok(def) = def {
        let _ = pins(&lef, &def, None);
    }
}

/// One change to a valid file.
#[derive(Debug, Clone)]
enum Change {
    Set(usize, u8),
    Cut(usize, usize),
    Copy(usize, usize, usize),
    End(usize),
}

fn change() -> impl Strategy<Value = Change> {
    let at = 0usize..8192;
    prop_oneof![
        4 => (at.clone(), any::<u8>()).prop_map(|(i, b)| Change::Set(i, b)),
        1 => (at.clone(), 0usize..64).prop_map(|(i, n)| Change::Cut(i, n)),
        1 => (at.clone(), at.clone(), 0usize..64).prop_map(|(i, j, n)| Change::Copy(i, j, n)),
        1 => at.prop_map(Change::End),
    ]
}

fn changed(mut bytes: Vec<u8>, changes: &[Change]) -> Vec<u8> {
    for change in changes {
        let length = bytes.len().max(1);
        match *change {
            Change::Set(i, b) => {
                if let Some(slot) = bytes.get_mut(i % length) {
                    *slot = b;
                }
            }
            Change::Cut(i, n) => {
                let start = (i % length).min(bytes.len());
                let end = (start + n).min(bytes.len());
                bytes.drain(start..end);
            }
            Change::Copy(i, j, n) => {
                let start = (i % length).min(bytes.len());
                let part = bytes[start..(start + n).min(bytes.len())].to_vec();
                let at = (j % length).min(bytes.len());
                bytes.splice(at..at, part);
            }
            Change::End(i) => bytes.truncate(i % length),
        }
    }
    bytes
}

fn name() -> impl Strategy<Value = String> {
    "[A-Za-z0-9_$?\\[\\]<>/. ]{0,11}[A-Za-z]"
}

fn point() -> impl Strategy<Value = [i32; 2]> {
    prop_oneof![[-1_000_000..1_000_000, -1_000_000..1_000_000], [any::<i32>(), any::<i32>()]]
}

fn ring() -> impl Strategy<Value = Vec<[i32; 2]>> {
    // The format cannot tell a repeated first corner from the closing one.
    vec(point(), 3..9).prop_filter("closed", |r| r.first() != r.last())
}

fn element() -> impl Strategy<Value = Element> {
    let end = prop_oneof![
        Just(PathEnd::Flush),
        Just(PathEnd::Round),
        Just(PathEnd::HalfWidth),
        (any::<i32>(), any::<i32>()).prop_map(|(a, b)| PathEnd::Custom(a, b)),
    ];
    let placement = (any::<bool>(), 0.001f64..1000.0, -720.0f64..720.0, point()).prop_map(
        |(mirror, magnification, angle_deg, at)| Placement { mirror, magnification, angle_deg, at },
    );
    let repeat = proptest::option::of(
        (1..=i16::MAX, 1..=i16::MAX, point(), point())
            .prop_map(|(columns, rows, column_end, row_end)| Repeat { columns, rows, column_end, row_end }),
    );
    prop_oneof![
        (any::<i16>(), any::<i16>(), ring()).prop_map(|(layer, datatype, points)| Element::Boundary {
            layer,
            datatype,
            points
        }),
        (any::<i16>(), any::<i16>(), ring()).prop_map(|(layer, boxtype, points)| Element::Box {
            layer,
            boxtype,
            points
        }),
        (any::<i16>(), any::<i16>(), 1..=i32::MAX, any::<bool>(), end, vec(point(), 2..6)).prop_map(
            |(layer, datatype, width, absolute_width, end, points)| Element::Path {
                layer,
                datatype,
                width,
                absolute_width,
                end,
                points
            }
        ),
        (any::<i16>(), any::<i16>(), point(), name())
            .prop_map(|(layer, texttype, at, string)| Element::Text { layer, texttype, at, string }),
        (name(), placement, repeat).prop_map(|(cell, placement, repeat)| Element::Reference {
            cell,
            placement,
            repeat
        }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn random_bytes_are_read_or_refused(bytes in vec(any::<u8>(), 0..400)) {
        read_gdsii(&bytes);
        read_text(&bytes);
        // With a right beginning they come further.
        read_gdsii(&[&[0, 6, 0, 2, 2, 88][..], &bytes].concat());
    }

    #[test]
    fn damaged_streams_are_read_or_refused(pick in any::<prop::sample::Index>(), changes in vec(change(), 1..8)) {
        let files = corpus("gdsii");
        read_gdsii(&changed(pick.get(&files).clone(), &changes));
    }

    #[test]
    fn damaged_texts_are_read_or_refused(pick in any::<prop::sample::Index>(), changes in vec(change(), 1..8)) {
        let files = [corpus("lef"), corpus("def")].concat();
        read_text(&changed(pick.get(&files).clone(), &changes));
    }

    #[test]
    fn shuffled_words_are_read_or_refused(words in vec(prop::sample::select(WORDS.to_vec()), 0..60)) {
        read_text(words.join(" ").as_bytes());
    }

    #[test]
    fn a_written_library_reads_back_the_same(elements in vec(element(), 0..12), names in prop::collection::btree_set(name(), 0..4)) {
        let mut library = Library::nanometres("LIB");
        for (i, name) in names.into_iter().enumerate() {
            let elements = elements.iter().skip(i).cloned().collect();
            library.cells.push(Cell { name, elements });
        }
        let bytes = write(&library).unwrap();
        prop_assert_eq!(&read(&bytes).unwrap(), &library);
        prop_assert_eq!(write(&library).unwrap(), bytes);
        for cell in &library.cells {
            let _ = library.flatten(&cell.name, &LIMITS);
        }
    }
}

/// Words of both formats, for statements that are nearly right.
const WORDS: [&str; 44] = [
    "MACRO",
    "PIN",
    "PORT",
    "LAYER",
    "RECT",
    "POLYGON",
    "END",
    "A",
    "0",
    "1.5",
    "-3",
    ";",
    "SIZE",
    "BY",
    "ORIGIN",
    "UNITS",
    "DATABASE",
    "MICRONS",
    "DISTANCE",
    "1000",
    "DIEAREA",
    "(",
    ")",
    "*",
    "COMPONENTS",
    "-",
    "+",
    "PLACED",
    "N",
    "FE",
    "PINS",
    "NETS",
    "NET",
    "SPECIALNETS",
    "DESIGN",
    "LIBRARY",
    "OBS",
    "#",
    "\n",
    "\"",
    "FIXED",
    "BEGINEXT",
    "MASK",
    "µ",
];
