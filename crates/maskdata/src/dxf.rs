//! Writing a drawing as DXF, version R2010 (AC1024), in millimetres.
//!
//! Text of group codes and values (DXF reference of the format's publisher). Lengths are written with six decimals, so
//! nanometres are exact. Outlines become closed light-weight polylines without bulges, circles become
//! circles, and each entity may carry strings as extended data of the application `FACEDOWN`.

use crate::fault::Fault;
use facedown_layout::Point;
use facedown_quantity::Nm;
use std::fmt::Write as _;

/// A layer of the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Layer {
    /// Its name.
    pub name: String,
    /// Colour index from 1 to 255.
    pub color: u8,
}

/// What is drawn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Figure {
    /// A closed outline, at least three corners.
    Outline(Vec<Point>),
    /// A circle.
    Circle {
        /// Centre.
        centre: Point,
        /// Radius, above 0.
        radius: Nm,
    },
    /// A line of text.
    Text {
        /// Left end of its base line.
        at: Point,
        /// Height of its capitals, above 0.
        height: Nm,
        /// What it says.
        text: String,
    },
}

/// One entity.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entity {
    /// Name of its layer.
    pub layer: String,
    /// What it is.
    pub figure: Figure,
    /// Extended data, for instance `net=clk`; each up to 255 bytes.
    pub notes: Vec<String>,
}

/// A whole file.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Document {
    /// Comments at the head of the file.
    pub comments: Vec<String>,
    /// Layers.
    pub layers: Vec<Layer>,
    /// Entities.
    pub entities: Vec<Entity>,
}

/// Writes a document as DXF.
///
/// # Errors
/// A [`Fault`] where a layer name, text or note cannot be written, an entity names a layer that the document lacks, or an
/// outline has fewer than three corners.
pub fn write(document: &Document) -> Result<Vec<u8>, Fault> {
    for layer in &document.layers {
        if layer.name.is_empty()
            || layer.name.contains(|c: char| c.is_control() || "<>/\\\":;?*|=,`".contains(c))
        {
            return Err(Fault::new(
                "dxf-layer",
                format!("the layer name `{}` cannot be written", layer.name.escape_default()),
            )
            .allowed("a name without control characters and < > / \\ \" : ; ? * | = , `"));
        }
    }
    // Room for all of it at once: files of many megabytes would be copied as they grow.
    let mut body =
        Out { text: String::with_capacity(document.entities.iter().map(room).sum()), handle: 0x100 };
    for entity in &document.entities {
        if !document.layers.iter().any(|l| l.name == entity.layer) {
            return Err(Fault::new(
                "dxf-layer",
                format!("an entity lies on layer `{}`, which is not defined", entity.layer),
            ));
        }
        body.entity(entity)?;
    }
    let seed = body.handle + document.layers.len() as u32 + 1;
    let mut file = Out { text: String::new(), handle: body.handle };
    for comment in &document.comments {
        file.pair(999, text_of(comment, 255)?);
    }
    file.header(document, seed);
    file.tables(document);
    file.blocks();
    file.begin_section("ENTITIES");
    let head = file.text.len();
    file.pair(0, "ENDSEC");
    file.objects();
    file.pair(0, "EOF");
    let mut text = body.text;
    text.insert_str(0, &file.text[..head]);
    text.push_str(&file.text[head..]);
    Ok(text.into_bytes())
}

/// About as many bytes as an entity takes.
fn room(entity: &Entity) -> usize {
    let figure = match &entity.figure {
        Figure::Outline(corners) => 28 * corners.len(),
        Figure::Circle { .. } => 60,
        Figure::Text { text, .. } => 100 + text.len(),
    };
    200 + figure + entity.notes.iter().map(|n| n.len() + 10).sum::<usize>()
}

/// Handles of what every file holds.
mod handle {
    pub const MODEL_RECORD: &str = "1F";
    pub const PAPER_RECORD: &str = "1E";
}

struct Out {
    text: String,
    /// The last handle given to an entity or layer.
    handle: u32,
}

impl Out {
    fn pair(&mut self, code: u16, value: impl std::fmt::Display) {
        // Writing to a String cannot fail.
        let _ = writeln!(self.text, "{code:>3}\n{value}");
    }

    fn pairs(&mut self, pairs: &[(u16, &str)]) {
        for (code, value) in pairs {
            self.text(*code, value);
        }
    }

    fn begin_section(&mut self, name: &str) {
        self.pairs(&[(0, "SECTION"), (2, name)]);
    }

    fn next_handle(&mut self) -> String {
        self.handle += 1;
        format!("{:X}", self.handle)
    }

    fn at(&mut self, point: Point) {
        for (code, length) in [(" 10\n", point.x), (" 20\n", point.y)] {
            self.text.push_str(code);
            push_millimetres(&mut self.text, length);
            self.text.push('\n');
        }
    }

    fn text(&mut self, code: u16, value: &str) {
        let _ = writeln!(self.text, "{code:>3}");
        self.text.push_str(value);
        self.text.push('\n');
    }

    fn header(&mut self, document: &Document, seed: u32) {
        self.begin_section("HEADER");
        self.pairs(&[
            (9, "$ACADVER"),
            (1, "AC1024"),
            (9, "$DWGCODEPAGE"),
            (3, "ANSI_1252"),
            (9, "$HANDSEED"),
        ]);
        self.pair(5, format!("{seed:X}"));
        self.pairs(&[(9, "$INSUNITS"), (70, "4"), (9, "$MEASUREMENT"), (70, "1")]);
        if let Some([low, high]) = extent(document) {
            for (name, corner) in [("$EXTMIN", low), ("$EXTMAX", high)] {
                self.pair(9, name);
                self.at(corner);
                self.pair(30, "0");
            }
        }
        self.pair(0, "ENDSEC");
        self.begin_section("CLASSES");
        self.pair(0, "ENDSEC");
    }

    fn begin_table(&mut self, name: &str, handle: &str, count: usize) {
        self.pairs(&[(0, "TABLE"), (2, name), (5, handle), (330, "0"), (100, "AcDbSymbolTable")]);
        self.pair(70, count);
        if name == "DIMSTYLE" {
            self.pair(100, "AcDbDimStyleTable");
        }
    }

    fn record(&mut self, kind: &str, handle: &str, owner: &str, class: &str, name: &str) {
        // The handle of a dimension style has a group code of its own.
        let code = if kind == "DIMSTYLE" { 105 } else { 5 };
        self.pairs(&[
            (0, kind),
            (code, handle),
            (330, owner),
            (100, "AcDbSymbolTableRecord"),
            (100, class),
            (2, name),
        ]);
    }

    fn tables(&mut self, document: &Document) {
        self.begin_section("TABLES");
        self.begin_table("VPORT", "8", 0);
        self.pair(0, "ENDTAB");
        self.begin_table("LTYPE", "5", 3);
        for (handle, name) in [("14", "ByBlock"), ("15", "ByLayer"), ("16", "Continuous")] {
            self.record("LTYPE", handle, "5", "AcDbLinetypeTableRecord", name);
            self.pairs(&[(70, "0"), (3, ""), (72, "65"), (73, "0"), (40, "0")]);
        }
        self.pair(0, "ENDTAB");
        self.begin_table("LAYER", "2", document.layers.len() + 1);
        self.record("LAYER", "10", "2", "AcDbLayerTableRecord", "0");
        self.pairs(&[(70, "0"), (62, "7"), (6, "Continuous"), (370, "-3"), (390, "F")]);
        for layer in &document.layers {
            let handle = self.next_handle();
            self.record("LAYER", &handle, "2", "AcDbLayerTableRecord", &layer.name);
            self.pair(70, 0);
            self.pair(62, layer.color.max(1));
            self.pairs(&[(6, "Continuous"), (370, "-3"), (390, "F")]);
        }
        self.pair(0, "ENDTAB");
        self.begin_table("STYLE", "3", 1);
        self.record("STYLE", "11", "3", "AcDbTextStyleTableRecord", "Standard");
        self.pairs(&[(70, "0"), (40, "0"), (41, "1"), (50, "0"), (71, "0"), (42, "1"), (3, "txt"), (4, "")]);
        self.pair(0, "ENDTAB");
        for (name, handle) in [("VIEW", "6"), ("UCS", "7")] {
            self.begin_table(name, handle, 0);
            self.pair(0, "ENDTAB");
        }
        self.begin_table("APPID", "9", 2);
        for (handle, name) in [("12", "ACAD"), ("13", "FACEDOWN")] {
            self.record("APPID", handle, "9", "AcDbRegAppTableRecord", name);
            self.pair(70, 0);
        }
        self.pair(0, "ENDTAB");
        self.begin_table("DIMSTYLE", "A", 1);
        self.record("DIMSTYLE", "17", "A", "AcDbDimStyleTableRecord", "Standard");
        self.pair(70, 0);
        self.pair(0, "ENDTAB");
        self.begin_table("BLOCK_RECORD", "1", 2);
        for (handle, name, layout) in
            [(handle::MODEL_RECORD, "*Model_Space", "22"), (handle::PAPER_RECORD, "*Paper_Space", "26")]
        {
            self.record("BLOCK_RECORD", handle, "1", "AcDbBlockTableRecord", name);
            self.pairs(&[(340, layout), (70, "0"), (280, "1"), (281, "0")]);
        }
        self.pairs(&[(0, "ENDTAB"), (0, "ENDSEC")]);
    }

    fn blocks(&mut self) {
        self.begin_section("BLOCKS");
        for (record, begin, end, name) in [
            (handle::MODEL_RECORD, "20", "21", "*Model_Space"),
            (handle::PAPER_RECORD, "1C", "1D", "*Paper_Space"),
        ] {
            self.pairs(&[(0, "BLOCK"), (5, begin), (330, record), (100, "AcDbEntity"), (8, "0")]);
            self.pairs(&[(100, "AcDbBlockBegin"), (2, name), (70, "0"), (10, "0"), (20, "0"), (30, "0")]);
            self.pairs(&[(3, name), (1, ""), (0, "ENDBLK"), (5, end), (330, record), (100, "AcDbEntity")]);
            self.pairs(&[(8, "0"), (100, "AcDbBlockEnd")]);
        }
        self.pair(0, "ENDSEC");
    }

    fn entity(&mut self, entity: &Entity) -> Result<(), Fault> {
        let handle = self.next_handle();
        let kind = match &entity.figure {
            Figure::Outline(_) => "LWPOLYLINE",
            Figure::Circle { .. } => "CIRCLE",
            Figure::Text { .. } => "TEXT",
        };
        self.pairs(&[
            (0, kind),
            (5, &handle),
            (330, handle::MODEL_RECORD),
            (100, "AcDbEntity"),
            (8, &entity.layer),
        ]);
        match &entity.figure {
            Figure::Outline(corners) => {
                if corners.len() < 3 {
                    return Err(Fault::new(
                        "dxf-outline",
                        format!("an outline has {} corners", corners.len()),
                    )
                    .allowed("three corners or more"));
                }
                self.pair(100, "AcDbPolyline");
                self.pair(90, corners.len());
                self.pairs(&[(70, "1"), (43, "0")]);
                for &corner in corners {
                    self.at(corner);
                }
            }
            Figure::Circle { centre, radius } => {
                if *radius <= Nm::ZERO {
                    return Err(Fault::new("dxf-circle", format!("a circle has the radius {radius}"))
                        .allowed("a radius above 0"));
                }
                self.pair(100, "AcDbCircle");
                self.at(*centre);
                self.pair(30, 0);
                self.pair(40, millimetres(*radius));
            }
            Figure::Text { at, height, text } => {
                self.pair(100, "AcDbText");
                self.at(*at);
                self.pair(30, 0);
                self.pair(40, millimetres((*height).max(Nm(1))));
                self.pair(1, text_of(text, 2000)?);
                self.pair(100, "AcDbText");
            }
        }
        if !entity.notes.is_empty() {
            self.pair(1001, "FACEDOWN");
            for note in &entity.notes {
                self.pair(1000, text_of(note, 255)?);
            }
        }
        Ok(())
    }

    fn objects(&mut self) {
        self.begin_section("OBJECTS");
        self.pairs(&[(0, "DICTIONARY"), (5, "C"), (330, "0"), (100, "AcDbDictionary"), (281, "1")]);
        self.pairs(&[
            (3, "ACAD_GROUP"),
            (350, "D"),
            (3, "ACAD_LAYOUT"),
            (350, "1A"),
            (3, "ACAD_PLOTSTYLENAME"),
            (350, "E"),
        ]);
        self.pairs(&[(0, "DICTIONARY"), (5, "D"), (330, "C"), (100, "AcDbDictionary"), (281, "1")]);
        self.pairs(&[(0, "ACDBDICTIONARYWDFLT"), (5, "E"), (330, "C"), (100, "AcDbDictionary"), (281, "1")]);
        self.pairs(&[(3, "Normal"), (350, "F"), (100, "AcDbDictionaryWithDefault"), (340, "F")]);
        self.pairs(&[(0, "ACDBPLACEHOLDER"), (5, "F"), (330, "E")]);
        self.pairs(&[(0, "DICTIONARY"), (5, "1A"), (330, "C"), (100, "AcDbDictionary"), (281, "1")]);
        self.pairs(&[(3, "Model"), (350, "22"), (3, "Layout1"), (350, "26")]);
        for (own, name, flags, order, record) in [
            ("22", "Model", "1024", "0", handle::MODEL_RECORD),
            ("26", "Layout1", "0", "1", handle::PAPER_RECORD),
        ] {
            self.pairs(&[
                (0, "LAYOUT"),
                (5, own),
                (330, "1A"),
                (100, "AcDbPlotSettings"),
                (1, ""),
                (4, "A3"),
            ]);
            self.pairs(&[
                (6, ""),
                (40, "7.5"),
                (41, "20"),
                (42, "7.5"),
                (43, "20"),
                (44, "420"),
                (45, "297"),
            ]);
            self.pairs(&[
                (46, "0"),
                (47, "0"),
                (48, "0"),
                (49, "0"),
                (140, "0"),
                (141, "0"),
                (142, "1"),
                (143, "1"),
            ]);
            self.pairs(&[(70, flags), (72, "1"), (73, "0"), (74, "5"), (7, ""), (75, "16"), (147, "1")]);
            self.pairs(&[(148, "0"), (149, "0"), (100, "AcDbLayout"), (1, name), (70, "1"), (71, order)]);
            self.pairs(&[(10, "0"), (20, "0"), (11, "420"), (21, "297"), (12, "0"), (22, "0"), (32, "0")]);
            self.pairs(&[(14, "0"), (24, "0"), (34, "0"), (15, "0"), (25, "0"), (35, "0"), (146, "0")]);
            self.pairs(&[
                (13, "0"),
                (23, "0"),
                (33, "0"),
                (16, "1"),
                (26, "0"),
                (36, "0"),
                (17, "0"),
                (27, "1"),
            ]);
            self.pairs(&[(37, "0"), (76, "0"), (330, record)]);
        }
        self.pair(0, "ENDSEC");
    }
}

/// A value on one line of its own.
fn text_of(text: &str, most: usize) -> Result<&str, Fault> {
    if text.len() > most || text.contains(char::is_control) {
        return Err(Fault::new(
            "dxf-text",
            format!("the text `{}` cannot be written", text.escape_default()),
        )
        .allowed(format!("up to {most} bytes without control characters"))
        .mend("shorten it, or remove line breaks and tabs"));
    }
    Ok(text)
}

/// Exact decimal millimetres.
fn millimetres(length: Nm) -> String {
    let mut text = String::new();
    push_millimetres(&mut text, length);
    text
}

/// Files hold a million of these: digits are taken one by one instead of formatted and trimmed.
fn push_millimetres(out: &mut String, length: Nm) {
    if length.0 < 0 {
        out.push('-');
    }
    let a = length.0.unsigned_abs();
    let mut digits = [0_u8; 20];
    let (mut from, mut whole) = (digits.len(), a / 1_000_000);
    loop {
        from -= 1;
        digits[from] = b'0' + (whole % 10) as u8;
        whole /= 10;
        if whole == 0 {
            break;
        }
    }
    out.extend(digits[from..].iter().map(|&d| char::from(d)));
    let (mut rest, mut place) = (a % 1_000_000, 100_000);
    if rest > 0 {
        out.push('.');
    }
    while rest > 0 {
        out.push(char::from(b'0' + (rest / place) as u8));
        rest %= place;
        place /= 10;
    }
}

fn extent(document: &Document) -> Option<[Point; 2]> {
    let corners = document.entities.iter().filter_map(|e| match &e.figure {
        Figure::Outline(corners) => box_of(corners),
        Figure::Circle { centre: c, radius: r } => {
            Some([Point::new(c.x - *r, c.y - *r), Point::new(c.x + *r, c.y + *r)])
        }
        Figure::Text { at, .. } => Some([*at; 2]),
    });
    corners.reduce(|[a, b], [low, high]| {
        [Point::new(low.x.min(a.x), low.y.min(a.y)), Point::new(high.x.max(b.x), high.y.max(b.y))]
    })
}

fn box_of(corners: &[Point]) -> Option<[Point; 2]> {
    corners.iter().map(|&p| [p; 2]).reduce(|[low, high], [p, _]| {
        [Point::new(low.x.min(p.x), low.y.min(p.y)), Point::new(high.x.max(p.x), high.y.max(p.y))]
    })
}
