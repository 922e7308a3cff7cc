//! Records: the codes that this room knows, and the walk through a stream.

use crate::fault::Fault;

/// Record type in the high byte, data type in the low byte (Rubin 1987, appendix C).
pub(crate) mod code {
    pub const HEADER: u16 = 0x0002;
    pub const BGNLIB: u16 = 0x0102;
    pub const LIBNAME: u16 = 0x0206;
    pub const UNITS: u16 = 0x0305;
    pub const ENDLIB: u16 = 0x0400;
    pub const BGNSTR: u16 = 0x0502;
    pub const STRNAME: u16 = 0x0606;
    pub const ENDSTR: u16 = 0x0700;
    pub const BOUNDARY: u16 = 0x0800;
    pub const PATH: u16 = 0x0900;
    pub const SREF: u16 = 0x0A00;
    pub const AREF: u16 = 0x0B00;
    pub const TEXT: u16 = 0x0C00;
    pub const LAYER: u16 = 0x0D02;
    pub const DATATYPE: u16 = 0x0E02;
    pub const WIDTH: u16 = 0x0F03;
    pub const XY: u16 = 0x1003;
    pub const ENDEL: u16 = 0x1100;
    pub const SNAME: u16 = 0x1206;
    pub const COLROW: u16 = 0x1302;
    pub const NODE: u16 = 0x1500;
    pub const TEXTTYPE: u16 = 0x1602;
    pub const STRING: u16 = 0x1906;
    pub const STRANS: u16 = 0x1A01;
    pub const MAG: u16 = 0x1B05;
    pub const ANGLE: u16 = 0x1C05;
    pub const PATHTYPE: u16 = 0x2102;
    pub const BOX: u16 = 0x2D00;
    pub const BOXTYPE: u16 = 0x2E02;
    pub const BGNEXTN: u16 = 0x3003;
    pub const ENDEXTN: u16 = 0x3103;
}

/// One record of a stream.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Record<'a> {
    /// Offset of its first header byte.
    pub offset: usize,
    /// Record type and data type.
    pub code: u16,
    /// Data without the header.
    pub data: &'a [u8],
}

impl<'a> Record<'a> {
    /// Big-endian 16-bit integers of the data; an odd trailing byte is left out.
    pub fn shorts(&self) -> impl Iterator<Item = i16> + 'a {
        self.data.chunks_exact(2).map(|b| i16::from_be_bytes([b[0], b[1]]))
    }

    /// Big-endian 32-bit integers of the data; trailing bytes are left out.
    pub fn longs(&self) -> impl Iterator<Item = i32> + 'a {
        self.data.chunks_exact(4).map(|b| i32::from_be_bytes([b[0], b[1], b[2], b[3]]))
    }

    /// Eight-byte reals of the data; trailing bytes are left out.
    pub fn reals(&self) -> impl Iterator<Item = f64> + 'a {
        self.data
            .chunks_exact(8)
            .map(|b| super::real::decode_real([b[0], b[1], b[2], b[3], b[4], b[5], b[6], b[7]]))
    }

    /// The text of the data without its NUL padding; bytes above 127 are taken as Latin-1.
    pub fn text(&self) -> String {
        let end = self.data.iter().rposition(|&b| b != 0).map_or(0, |i| i + 1);
        self.data[..end].iter().map(|&b| char::from(b)).collect()
    }

    /// The first 16-bit integer, or a fault that names the record.
    pub fn short(&self, name: &str) -> Result<i16, Fault> {
        self.shorts().next().ok_or_else(|| self.empty(name))
    }

    /// The first 32-bit integer, or a fault that names the record.
    pub fn long(&self, name: &str) -> Result<i32, Fault> {
        self.longs().next().ok_or_else(|| self.empty(name))
    }

    /// The first real, or a fault that names the record.
    pub fn real(&self, name: &str) -> Result<f64, Fault> {
        self.reals().next().ok_or_else(|| self.empty(name))
    }

    fn empty(&self, name: &str) -> Fault {
        Fault::new(
            "gdsii-short-record",
            format!("the {name} record holds only {} bytes of data", self.data.len()),
        )
        .at_byte(self.offset)
        .mend("write the file again; it is damaged or was cut")
    }
}

/// Walks through the records of a stream.
pub(crate) struct Records<'a> {
    bytes: &'a [u8],
    next: usize,
}

impl<'a> Records<'a> {
    pub fn new(bytes: &'a [u8]) -> Records<'a> {
        Records { bytes, next: 0 }
    }

    /// The next record; `None` at the end of the bytes.
    pub fn next(&mut self) -> Result<Option<Record<'a>>, Fault> {
        let offset = self.next;
        let rest = &self.bytes[offset..];
        if rest.is_empty() {
            return Ok(None);
        }
        let [high, low, kind, data_type, ..] = *rest else {
            return Err(truncated(offset, 4, rest.len()));
        };
        let length = usize::from(u16::from_be_bytes([high, low]));
        if length < 4 {
            return Err(Fault::new(
                "gdsii-record-length",
                format!("a record gives its length as {length} bytes"),
            )
            .at_byte(offset)
            .allowed("4 bytes (the header) or more")
            .mend("write the file again; it is damaged or not a GDSII stream"));
        }
        let Some(record) = rest.get(..length) else {
            return Err(truncated(offset, length, rest.len()));
        };
        self.next = offset + length;
        Ok(Some(Record { offset, code: u16::from_be_bytes([kind, data_type]), data: &record[4..] }))
    }
}

fn truncated(offset: usize, wanted: usize, left: usize) -> Fault {
    Fault::new("gdsii-truncated", format!("a record needs {wanted} bytes and {left} are left in the file"))
        .at_byte(offset)
        .mend("copy or write the file again; its end is missing")
}
