//! The whole field of a solved case, for files that viewers open, small enough to be kept with every result.
//!
//! One byte a cell of the grid for its part, and one single-precision rise for each cell that is there: its last digit is
//! a hundred-thousandth of a kelvin, far below the numerical error of any grid. Written as text both are packed: parts as
//! runs, because a row is a handful of parts, rises as base 64 (S. Josefsson, RFC 4648, 2006, section 4). A cell that is
//! there costs some six bytes in the cache; written as numbers it would cost twenty.

use super::case::Case;
use super::parts::Part;
use serde::{Deserialize, Serialize};

/// The rises of all cells.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Volume {
    /// Edges of the grid along x, y and z, m; x and y from the middle of the substrate, z from the lowest face.
    pub lines: [Vec<f64>; 3],
    /// Part of every cell ([`Part::number`]), x fastest, then y, then z; 0 where nothing is.
    #[serde(with = "runs")]
    pub parts: Vec<u8>,
    /// Rises over the ambient, K, of the cells that are there, in the same order.
    #[serde(with = "packed")]
    pub rises: Vec<f32>,
}

impl Volume {
    pub(super) fn of(case: &Case<'_>) -> Volume {
        let grid = case.body.grid();
        let [nx, ny, nz] = grid.cells();
        let mut parts = Vec::with_capacity(nx * ny * nz);
        let mut rises = Vec::with_capacity(case.body.count());
        for z in 0..nz {
            for y in 0..ny {
                for x in 0..nx {
                    let cell = [x, y, z];
                    let there = case.part(cell).zip(case.body.at(&case.field, cell));
                    parts.push(there.map_or(0, |(part, _)| part.number()));
                    rises.extend(there.map(|(_, rise)| rise as f32));
                }
            }
        }
        Volume { lines: [0, 1, 2].map(|axis| grid.edges(axis).to_vec()), parts, rises }
    }

    /// A value for every cell of the grid: the rise, or `elsewhere` where nothing is.
    pub fn filled(&self, elsewhere: f32) -> Vec<f32> {
        let mut rises = self.rises.iter();
        self.parts
            .iter()
            .map(|part| if *part == 0 { elsewhere } else { rises.next().copied().unwrap_or(elsewhere) })
            .collect()
    }
}

/// Numbers of parts as they stand in files, in the order of [`Part::number`], from 1.
pub const PART_NAMES: [&str; 13] = [
    "board",
    "balls",
    "substrate",
    "interposer bumps",
    "interposer",
    "bumps and underfill",
    "die",
    "die attach",
    "interface",
    "lid",
    "foot of the lid",
    "ring",
    "air under the lid",
];

impl Part {
    /// Number of the kind of part in files, from 1; its name stands in [`PART_NAMES`].
    pub fn number(&self) -> u8 {
        match self {
            Part::Board => 1,
            Part::Balls => 2,
            Part::Substrate => 3,
            Part::InterposerJoints => 4,
            Part::Interposer => 5,
            Part::Bumps(_) => 6,
            Part::Die(_) => 7,
            Part::Attach(_) => 8,
            Part::Interface(_) => 9,
            Part::Lid => 10,
            Part::Foot => 11,
            Part::Ring => 12,
            Part::Air => 13,
        }
    }

    /// Its kind in words.
    pub fn kind(&self) -> &'static str {
        PART_NAMES[usize::from(self.number()) - 1]
    }
}

/// Bytes as runs: value, length, value, length.
mod runs {
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    pub fn serialize<S: Serializer>(values: &[u8], out: S) -> Result<S::Ok, S::Error> {
        let mut runs: Vec<usize> = Vec::new();
        for run in values.chunk_by(|a, b| a == b) {
            runs.extend([usize::from(run[0]), run.len()]);
        }
        runs.serialize(out)
    }

    pub fn deserialize<'a, D: Deserializer<'a>>(from: D) -> Result<Vec<u8>, D::Error> {
        let mut values = Vec::new();
        for run in Vec::<usize>::deserialize(from)?.chunks(2) {
            let [value, length] = *run else { return Err(serde::de::Error::custom("half a run")) };
            let value = u8::try_from(value).map_err(serde::de::Error::custom)?;
            values.resize(values.len().saturating_add(length), value);
        }
        Ok(values)
    }
}

/// Numbers as base 64 of their bytes, the lowest first.
mod packed {
    use serde::{Deserialize, Deserializer, Serializer};

    const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

    pub fn serialize<S: Serializer>(values: &[f32], out: S) -> Result<S::Ok, S::Error> {
        let bytes: Vec<u8> = values.iter().flat_map(|v| v.to_le_bytes()).collect();
        let mut text = String::with_capacity(bytes.len() * 4 / 3 + 4);
        for group in bytes.chunks(3) {
            let three = [0, 1, 2].map(|i| u32::from(group.get(i).copied().unwrap_or(0)));
            let word = three[0] << 16 | three[1] << 8 | three[2];
            for digit in 0..4 {
                let index = (word >> (18 - 6 * digit)) as usize & 63;
                text.push(if digit > group.len() { '=' } else { char::from(DIGITS[index]) });
            }
        }
        out.serialize_str(&text)
    }

    pub fn deserialize<'a, D: Deserializer<'a>>(from: D) -> Result<Vec<f32>, D::Error> {
        let text = String::deserialize(from)?;
        let mut bytes = Vec::with_capacity(text.len() * 3 / 4);
        let (mut word, mut bits) = (0_u32, 0);
        for digit in text.bytes().filter(|b| *b != b'=') {
            let value = DIGITS.iter().position(|d| *d == digit);
            let value = value.ok_or_else(|| serde::de::Error::custom("no digit of base 64"))?;
            word = word << 6 | value as u32;
            bits += 6;
            if bits >= 8 {
                bits -= 8;
                bytes.push((word >> bits) as u8);
                word &= (1 << bits) - 1;
            }
        }
        if bytes.len() % 4 != 0 {
            return Err(serde::de::Error::custom("half a number"));
        }
        Ok(bytes.chunks_exact(4).map(|b| f32::from_le_bytes([b[0], b[1], b[2], b[3]])).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_volume_comes_back_bit_by_bit() {
        for count in 0..6 {
            let rises: Vec<f32> = (0..count).map(|i| 0.1 + i as f32 / 3.0).collect();
            let volume = Volume {
                lines: [vec![0.0, 1.0], vec![0.0, 1.0], vec![0.0, 1.0]],
                parts: vec![0, 3, 3, 7],
                rises,
            };
            let text = serde_json::to_string(&volume).unwrap();
            assert_eq!(serde_json::from_str::<Volume>(&text).unwrap(), volume);
        }
        // The vectors of RFC 4648, section 10, as far as whole numbers of four bytes go.
        let foob = f32::from_le_bytes(*b"foob");
        let volume = Volume { rises: vec![foob], ..Volume::default() };
        assert!(serde_json::to_string(&volume).unwrap().contains("\"Zm9vYg==\""));
        let half = r#"{"lines":[[],[],[]],"parts":[1],"rises":""}"#;
        assert!(serde_json::from_str::<Volume>(half).is_err());
    }

    #[test]
    fn what_is_not_there_takes_the_other_value() {
        let volume = Volume { parts: vec![0, 3, 0, 7], rises: vec![1.0, 2.0], ..Volume::default() };
        assert_eq!(volume.filled(-1.0), [-1.0, 1.0, -1.0, 2.0]);
    }

    #[test]
    fn every_part_has_a_name_of_its_own() {
        assert_eq!(Part::Board.kind(), "board");
        assert_eq!(Part::Bumps(2).kind(), "bumps and underfill");
        assert_eq!(Part::Air.kind(), "air under the lid");
    }
}
