//! Reading a stream into a [`Library`]. Memory stays within a small multiple of the size of the file, because every
//! value kept stands in it; nothing is expanded here.

use super::library::{Cell, Element, Library, PathEnd, Placement, Repeat};
use super::record::{Record, Records, code};
use crate::fault::{Fault, counted};
use std::collections::BTreeSet;

/// Reads a GDSII stream.
///
/// Unknown records (properties, fonts, node elements and the like) are passed over. Coordinates stay in the
/// database units of the file.
///
/// # Errors
/// A [`Fault`] at the byte where the stream is cut, a record is malformed or out of place, an element lacks
/// something that it needs, a unit is out of range, or a cell name appears twice.
pub fn read(bytes: &[u8]) -> Result<Library, Fault> {
    // Judged before the length of the first record, so that a packed or foreign file is not called cut.
    if bytes.get(2..4) != Some(&code::HEADER.to_be_bytes()) {
        return Err(Fault::new("gdsii-header", "the file does not begin with a GDSII header record")
            .at_byte(0)
            .allowed("a GDSII stream, not compressed")
            .mend("unpack the file if it is compressed, or name a GDSII file"));
    }
    let mut records = Records::new(bytes);
    let mut library =
        Library { name: String::new(), user_unit: 0.0, database_unit_m: 0.0, cells: Vec::new() };
    let mut names = BTreeSet::new();
    while let Some(record) = records.next()? {
        match record.code {
            code::LIBNAME => library.name = record.text(),
            code::UNITS => read_units(&record, &mut library)?,
            code::BGNSTR => {
                let cell = read_cell(&mut records, &record)?;
                if !names.insert(cell.name.clone()) {
                    return Err(Fault::new(
                        "gdsii-cell-twice",
                        format!("cell `{}` is defined twice", cell.name),
                    )
                    .at_byte(record.offset)
                    .allowed("each cell name once")
                    .mend("rename or remove one of the two cells"));
                }
                library.cells.push(cell);
            }
            code::ENDLIB => {
                if library.database_unit_m == 0.0 {
                    return Err(Fault::new("gdsii-units", "the stream has no UNITS record")
                        .at_byte(record.offset)
                        .mend("write the file again with its units"));
                }
                return Ok(library);
            }
            code::ENDSTR
            | code::ENDEL
            | code::XY
            | code::BOUNDARY
            | code::PATH
            | code::SREF
            | code::AREF
            | code::TEXT
            | code::BOX
            | code::NODE => {
                return Err(Fault::new(
                    "gdsii-out-of-place",
                    format!("a record of type {:04X} stands outside any cell", record.code),
                )
                .at_byte(record.offset)
                .mend("write the file again; it is damaged"));
            }
            _ => {}
        }
    }
    Err(end_missing(bytes.len(), "ENDLIB"))
}

fn end_missing(offset: usize, wanted: &str) -> Fault {
    Fault::new("gdsii-truncated", format!("the file ends before its {wanted} record"))
        .at_byte(offset)
        .mend("copy or write the file again; its end is missing")
}

fn read_units(record: &Record<'_>, library: &mut Library) -> Result<(), Fault> {
    let mut reals = record.reals();
    let (user, metres) = (reals.next().unwrap_or(0.0), reals.next().unwrap_or(0.0));
    // A database unit coarser than a millimetre or finer than a femtometre means a damaged record.
    if !(user > 0.0 && (1e-15..=1e-3).contains(&metres)) {
        return Err(Fault::new(
            "gdsii-units",
            format!("the database unit is given as {metres:e} m, {user:e} user units"),
        )
        .at_byte(record.offset)
        .allowed("a database unit from 1e-15 m to 1e-3 m, and a user unit above 0")
        .mend("write the file again with its units, for instance 1e-3 and 1e-9 for um and nm"));
    }
    library.user_unit = user;
    library.database_unit_m = metres;
    Ok(())
}

fn read_cell(records: &mut Records<'_>, begin: &Record<'_>) -> Result<Cell, Fault> {
    let mut cell = Cell { name: String::new(), elements: Vec::new() };
    let mut last = begin.offset;
    while let Some(record) = records.next()? {
        last = record.offset;
        match record.code {
            code::STRNAME => cell.name = record.text(),
            code::ENDSTR => {
                if cell.name.is_empty() {
                    return Err(Fault::new("gdsii-cell-name", "a cell has no name")
                        .at_byte(begin.offset)
                        .mend("give every cell a name"));
                }
                return Ok(cell);
            }
            code::BOUNDARY | code::PATH | code::SREF | code::AREF | code::TEXT | code::BOX | code::NODE => {
                let parts = Parts::read(records, &record)?;
                if let Some(element) = parts.element()? {
                    cell.elements.push(element);
                }
            }
            code::ENDLIB | code::BGNSTR | code::ENDEL | code::XY => {
                return Err(Fault::new(
                    "gdsii-out-of-place",
                    format!("a record of type {:04X} stands inside a cell, outside any element", record.code),
                )
                .at_byte(record.offset)
                .mend("write the file again; it is damaged"));
            }
            _ => {}
        }
    }
    Err(end_missing(last, "ENDSTR"))
}

/// The records of one element, gathered before they are judged.
struct Parts {
    kind: u16,
    offset: usize,
    layer: Option<i16>,
    /// DATATYPE, TEXTTYPE or BOXTYPE.
    subtype: Option<i16>,
    width: i32,
    path_type: i16,
    begin_extension: i32,
    end_extension: i32,
    transform_bits: u16,
    magnification: f64,
    angle_deg: f64,
    columns_rows: Option<[i16; 2]>,
    name: Option<String>,
    string: String,
    points: Vec<[i32; 2]>,
}

impl Parts {
    fn read(records: &mut Records<'_>, begin: &Record<'_>) -> Result<Parts, Fault> {
        let mut parts = Parts {
            kind: begin.code,
            offset: begin.offset,
            layer: None,
            subtype: None,
            width: 0,
            path_type: 0,
            begin_extension: 0,
            end_extension: 0,
            transform_bits: 0,
            magnification: 1.0,
            angle_deg: 0.0,
            columns_rows: None,
            name: None,
            string: String::new(),
            points: Vec::new(),
        };
        while let Some(record) = records.next()? {
            match record.code {
                code::LAYER => parts.layer = Some(record.short("LAYER")?),
                code::DATATYPE | code::TEXTTYPE | code::BOXTYPE => {
                    parts.subtype = Some(record.short("type")?)
                }
                code::WIDTH => parts.width = record.long("WIDTH")?,
                code::PATHTYPE => parts.path_type = record.short("PATHTYPE")?,
                code::BGNEXTN => parts.begin_extension = record.long("BGNEXTN")?,
                code::ENDEXTN => parts.end_extension = record.long("ENDEXTN")?,
                code::STRANS => parts.transform_bits = record.short("STRANS")? as u16,
                code::MAG => parts.magnification = record.real("MAG")?,
                code::ANGLE => parts.angle_deg = record.real("ANGLE")?,
                code::COLROW => {
                    let mut shorts = record.shorts();
                    parts.columns_rows = shorts.next().zip(shorts.next()).map(|(c, r)| [c, r]);
                }
                code::SNAME => parts.name = Some(record.text()),
                code::STRING => parts.string = record.text(),
                // Long polygons may be carried on over several XY records.
                code::XY => {
                    let mut longs = record.longs();
                    while let (Some(x), Some(y)) = (longs.next(), longs.next()) {
                        parts.points.push([x, y]);
                    }
                }
                code::ENDEL => return Ok(parts),
                code::ENDSTR
                | code::ENDLIB
                | code::BGNSTR
                | code::BOUNDARY
                | code::PATH
                | code::SREF
                | code::AREF
                | code::TEXT
                | code::BOX
                | code::NODE => {
                    return Err(Fault::new(
                        "gdsii-element-open",
                        "an element is not closed before the next begins",
                    )
                    .at_byte(record.offset)
                    .mend("write the file again; it is damaged"));
                }
                _ => {}
            }
        }
        Err(end_missing(begin.offset, "ENDEL"))
    }

    fn element(self) -> Result<Option<Element>, Fault> {
        Ok(Some(match self.kind {
            code::BOUNDARY => Element::Boundary {
                layer: self.layer()?,
                datatype: self.subtype.unwrap_or(0),
                points: self.ring("polygon")?,
            },
            code::BOX => Element::Box {
                layer: self.layer()?,
                boxtype: self.subtype.unwrap_or(0),
                points: self.ring("box")?,
            },
            code::PATH => self.path()?,
            code::TEXT => Element::Text {
                layer: self.layer()?,
                texttype: self.subtype.unwrap_or(0),
                at: self.place()?,
                string: self.string,
            },
            code::SREF | code::AREF => self.reference()?,
            _ => return Ok(None),
        }))
    }

    fn fault(&self, code: &'static str, what: impl Into<String>) -> Fault {
        Fault::new(code, what).at_byte(self.offset)
    }

    fn layer(&self) -> Result<i16, Fault> {
        self.layer.ok_or_else(|| {
            self.fault("gdsii-layer", "an element has no LAYER record").mend("give every element a layer")
        })
    }

    fn place(&self) -> Result<[i32; 2], Fault> {
        self.points.first().copied().ok_or_else(|| {
            self.fault("gdsii-place", "an element has no XY record")
                .mend("write the file again; it is damaged")
        })
    }

    fn ring(&self, name: &str) -> Result<Vec<[i32; 2]>, Fault> {
        let mut points = self.points.clone();
        if points.len() > 1 && points.first() == points.last() {
            points.pop();
        }
        if points.len() < 3 {
            return Err(self
                .fault("gdsii-points", format!("a {name} has {}", counted(points.len(), "corner")))
                .allowed("three corners or more")
                .mend("remove it, or give its missing corners"));
        }
        Ok(points)
    }

    fn path(self) -> Result<Element, Fault> {
        if self.points.len() < 2 {
            return Err(self
                .fault("gdsii-points", format!("a path has {}", counted(self.points.len(), "point")))
                .allowed("two points or more")
                .mend("remove it, or give its missing points"));
        }
        let end = match self.path_type {
            0 => PathEnd::Flush,
            1 => PathEnd::Round,
            2 => PathEnd::HalfWidth,
            4 => PathEnd::Custom(self.begin_extension, self.end_extension),
            other => {
                return Err(self
                    .fault("gdsii-path-type", format!("a path has the end type {other}"))
                    .allowed("0 flush, 1 round, 2 longer by half the width, 4 by given lengths")
                    .mend("convert the path to a polygon before writing"));
            }
        };
        Ok(Element::Path {
            layer: self.layer()?,
            datatype: self.subtype.unwrap_or(0),
            width: self.width.checked_abs().ok_or_else(|| {
                self.fault("gdsii-width", format!("a path has the width {}", self.width))
                    .allowed("-2147483647 to 2147483647 database units")
            })?,
            absolute_width: self.width < 0,
            end,
            points: self.points,
        })
    }

    fn reference(self) -> Result<Element, Fault> {
        // Bits 13 and 14 of STRANS take magnification and angle as absolute, whatever the outer placement.
        if self.transform_bits & 0x0006 != 0 {
            return Err(self
                .fault("gdsii-absolute", "a placement asks for absolute magnification or angle")
                .allowed("magnification and angle relative to the outer cell")
                .mend("flatten the cell before writing"));
        }
        if self.magnification <= 0.0 {
            return Err(self
                .fault(
                    "gdsii-magnification",
                    format!("a placement has the magnification {}", self.magnification),
                )
                .allowed("a number above 0"));
        }
        let at = self.place()?;
        let repeat = if self.kind == code::AREF {
            match (self.columns_rows, self.points.as_slice()) {
                (Some([columns @ 1..=i16::MAX, rows @ 1..=i16::MAX]), &[_, column_end, row_end, ..]) => {
                    Some(Repeat { columns, rows, column_end, row_end })
                }
                _ => {
                    return Err(self
                        .fault("gdsii-array", "an array lacks its counts or one of its three points")
                        .allowed("1 to 32767 columns and rows, and three points")
                        .mend("write the file again; it is damaged"));
                }
            }
        } else {
            None
        };
        let placement = Placement {
            mirror: self.transform_bits & 0x8000 != 0,
            magnification: self.magnification,
            angle_deg: self.angle_deg,
            at,
        };
        match self.name {
            Some(cell) if !cell.is_empty() => Ok(Element::Reference { cell, placement, repeat }),
            _ => {
                Err(Fault::new("gdsii-cell-name", "a placement does not name its cell").at_byte(self.offset))
            }
        }
    }
}
