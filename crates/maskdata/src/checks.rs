//! Checks of this room against values that it did not make: the table that `verify` prints and the tests run.

use crate::gdsii::{Cell, Element, Library, PathEnd, decode_real, encode_real, write};
use facedown_evidence::{Basis, Check};

const STUDY: &str = "maskdata";

const REALS: &str = "S. M. Rubin, Computer Aids for VLSI Design (1987), appendix C: eight-byte real; \
                     bytes recomputed by exact rational arithmetic";

const STREAM: &str = "S. M. Rubin, Computer Aids for VLSI Design (1987), appendix C: records; \
                      bytes of a file written by gdstk 1.0.2";

/// Value, its bytes, and whether the bytes are those of the double nearest to the value (and not of the decimal
/// itself, whose last digit may differ by one).
const TABLE: [(&str, f64, u64, bool); 12] = [
    ("1e-3", 1e-3, 0x3E41_8937_4BC6_A7F0, true),
    ("1e-9", 1e-9, 0x3944_B82F_A09B_5A54, true),
    ("1e-9-decimal", 1e-9, 0x3944_B82F_A09B_5A53, false),
    ("1e-6", 1e-6, 0x3C10_C6F7_A0B5_ED8D, true),
    ("1", 1.0, 0x4110_0000_0000_0000, true),
    ("2", 2.0, 0x4120_0000_0000_0000, true),
    ("0.5", 0.5, 0x4080_0000_0000_0000, true),
    ("-1", -1.0, 0xC110_0000_0000_0000, true),
    ("90", 90.0, 0x425A_0000_0000_0000, true),
    ("0.1", 0.1, 0x4019_9999_9999_999A, true),
    ("third", 1.0 / 3.0, 0x4055_5555_5555_5554, true),
    ("0", 0.0, 0, true),
];

/// The published checks of this room: eight-byte reals both ways, and the records of a small stream. Rows that compare
/// bytes expect 0 differing bytes.
pub fn published_checks() -> Vec<Check> {
    let exact = |id: String, source: &str, basis, expected: f64, computed: f64| {
        Check::absolute(&id, STUDY, source, basis, expected, computed, 0.0)
    };
    let mut checks = Vec::new();
    for (name, value, bits, of_double) in TABLE {
        let decoded = decode_real(bits.to_be_bytes());
        checks.push(exact(format!("gdsii-real-decode-{name}"), REALS, Basis::Published, value, decoded));
        if of_double {
            let differing = encode_real(value).map_or(8.0, |bytes| differing(&bytes, &bits.to_be_bytes()));
            checks.push(exact(format!("gdsii-real-encode-{name}"), REALS, Basis::Published, 0.0, differing));
        }
    }
    let bytes = stream();
    for (name, record) in RECORDS {
        let found =
            bytes.windows(record.len()).map(|window| differing(window, record)).fold(f64::MAX, f64::min);
        checks.push(exact(format!("gdsii-record-{name}"), STREAM, Basis::ReferenceLibrary, 0.0, found));
    }
    checks
}

/// Records that a library of 1 um and 1 nm must hold: its units, a rectangle (0, 0)-(1, 2) um, and a path of width 40 um
/// through (0, 0), (1000, 0), (1500, 500) um.
const RECORDS: [(&str, &[u8]); 4] = [
    (
        "units",
        &[
            0x00, 0x14, 0x03, 0x05, 0x3E, 0x41, 0x89, 0x37, 0x4B, 0xC6, 0xA7, 0xF0, 0x39, 0x44, 0xB8, 0x2F,
            0xA0, 0x9B, 0x5A, 0x54,
        ],
    ),
    (
        "rectangle",
        &[
            0x00, 0x2C, 0x10, 0x03, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0x03, 0xE8, 0, 0, 0, 0, 0, 0, 0x03, 0xE8,
            0, 0, 0x07, 0xD0, 0, 0, 0, 0, 0, 0, 0x07, 0xD0, 0, 0, 0, 0, 0, 0, 0, 0,
        ],
    ),
    ("path-width", &[0x00, 0x08, 0x0F, 0x03, 0x00, 0x00, 0x9C, 0x40]),
    (
        "path-points",
        &[
            0x00, 0x1C, 0x10, 0x03, 0, 0, 0, 0, 0, 0, 0, 0, 0x00, 0x0F, 0x42, 0x40, 0, 0, 0, 0, 0x00, 0x16,
            0xE3, 0x60, 0x00, 0x07, 0xA1, 0x20,
        ],
    ),
];

fn stream() -> Vec<u8> {
    let mut library = Library::nanometres("CHECK");
    library.cells.push(Cell {
        name: "A".into(),
        elements: vec![
            Element::Boundary {
                layer: 0,
                datatype: 0,
                points: vec![[0, 0], [1000, 0], [1000, 2000], [0, 2000]],
            },
            Element::Path {
                layer: 0,
                datatype: 0,
                width: 40_000,
                absolute_width: false,
                end: PathEnd::Flush,
                points: vec![[0, 0], [1_000_000, 0], [1_500_000, 500_000]],
            },
        ],
    });
    write(&library).unwrap_or_default()
}

fn differing(a: &[u8], b: &[u8]) -> f64 {
    a.iter().zip(b).filter(|(a, b)| a != b).count() as f64
}

#[cfg(test)]
mod tests {
    use super::published_checks;

    #[test]
    fn all_published_checks_pass() {
        let checks = published_checks();
        assert_eq!(checks.len(), 27);
        for check in checks {
            assert!(check.pass(), "{check:?}");
        }
    }
}
