//! LEF: macros with their size and the shapes of their pins.

use super::token::{Word, Words};
use crate::fault::{Fault, counted};
use facedown_layout::Point;
use facedown_quantity::Nm;
use std::collections::BTreeMap;

/// One shape of a pin's port, in nanometres from the macro's own origin.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PortShape {
    /// Layer name.
    pub layer: String,
    /// Corners: four of a rectangle, counter-clockwise, or those of a polygon as written.
    pub corners: Vec<Point>,
}

/// A pin of a macro.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MacroPin {
    /// Pin name.
    pub name: String,
    /// Direction (`INPUT`, `OUTPUT`, `INOUT`, `FEEDTHRU`), where given.
    pub direction: Option<String>,
    /// Use (`SIGNAL`, `POWER`, `GROUND`, ...), where given.
    pub usage: Option<String>,
    /// Shapes of all ports in file order.
    pub shapes: Vec<PortShape>,
}

/// A macro.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Macro {
    /// Macro name.
    pub name: String,
    /// Class (`PAD`, `CORE`, `BLOCK`, ...; first word), where given.
    pub class: Option<String>,
    /// What is added to the macro's coordinates so that its box begins at (0, 0).
    pub origin: Point,
    /// Width and height of its box.
    pub size: Point,
    /// Pins in file order.
    pub pins: Vec<MacroPin>,
}

/// The content of a LEF text.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Lef {
    /// Database units per micrometre, where given. LEF itself is written in micrometres.
    pub units_per_um: Option<u32>,
    /// Macros by name. A macro that is defined again replaces the first.
    pub macros: BTreeMap<String, Macro>,
}

/// Reads a LEF text.
///
/// # Errors
/// A [`Fault`] with line and column where a number, name or block end that is needed is missing or malformed.
pub fn read_lef(text: &str) -> Result<Lef, Fault> {
    let mut words = Words::new("LEF", text);
    let mut lef = Lef::default();
    while let Some(word) = words.next() {
        if word.is("MACRO") {
            let name = words.name("a macro name")?;
            let found = read_macro(&mut words, &name)?;
            lef.macros.insert(found.name.clone(), found);
        } else if word.is("UNITS") {
            read_units(&mut words, &mut lef)?;
        } else if word.is("LAYER")
            || word.is("VIA")
            || word.is("SITE")
            || word.is("VIARULE")
            || word.is("NONDEFAULTRULE")
            || word.is("ARRAY")
        {
            let name = words.name("a name")?;
            words.skip_block(name.text)?;
        } else if word.is("PROPERTYDEFINITIONS")
            || word.is("SPACING")
            || word.is("NOISETABLE")
            || word.is("CORRECTIONTABLE")
            || word.is("IRDROP")
        {
            words.skip_block(word.text)?;
        } else if word.is("BEGINEXT") {
            words.skip_to("ENDEXT")?;
        } else if word.is("END") {
            if words.next().is_some_and(|w| w.is("LIBRARY")) {
                break;
            }
        } else if !word.is(";") {
            words.skip_statement()?;
        }
    }
    Ok(lef)
}

fn read_units(words: &mut Words<'_>, lef: &mut Lef) -> Result<(), Fault> {
    loop {
        let word = words.want("`END UNITS`")?;
        if word.is("END") {
            return words.expect("UNITS");
        }
        if word.is("DATABASE") {
            words.expect("MICRONS")?;
            let place = words.here();
            let number = words.number("database units per micrometre")?;
            if !(1.0..=1e6).contains(&number) || number.fract() != 0.0 {
                return Err(words
                    .fault(&place, "lef-units", format!("{number} database units per micrometre"))
                    .allowed("a whole number from 1 to 1000000"));
            }
            lef.units_per_um = Some(number as u32);
        }
        words.skip_statement()?;
    }
}

/// The next number, in micrometres, as whole nanometres.
fn micrometres(words: &mut Words<'_>, what: &str) -> Result<Nm, Fault> {
    let place = words.here();
    let um = words.number(what)?;
    if um.abs() > 1e7 {
        return Err(words
            .fault(&place, "lefdef-far", format!("{um:e} um is out of range"))
            .allowed("-10 m to 10 m"));
    }
    Ok(Nm::round_um(um))
}

fn point(words: &mut Words<'_>) -> Result<Point, Fault> {
    // Some writers put points in parentheses, as DEF does.
    let paren = words.peek().is_some_and(|w| w.text == "(");
    if paren {
        words.next();
    }
    let x = micrometres(words, "an x coordinate in um")?;
    let y = micrometres(words, "a y coordinate in um")?;
    if paren {
        words.expect(")")?;
    }
    Ok(Point::new(x, y))
}

fn read_macro(words: &mut Words<'_>, name: &Word<'_>) -> Result<Macro, Fault> {
    let mut found = Macro {
        name: name.text.into(),
        class: None,
        origin: Point::default(),
        size: Point::default(),
        pins: Vec::new(),
    };
    loop {
        let word = words.want(&format!("`END {}`", name.text))?;
        if word.is("END") {
            let end = words.want("the name of the macro")?;
            if end.text != name.text {
                return Err(words
                    .unexpected(&end, &format!("`{}`, the name of the open macro", name.text))
                    .mend(format!("close macro `{}` before the next block ends", name.text)));
            }
            return Ok(found);
        }
        if word.is("CLASS") {
            found.class = Some(words.name("a class")?.text.to_ascii_uppercase());
            words.skip_statement()?;
        } else if word.is("ORIGIN") {
            found.origin = point(words)?;
            words.skip_statement()?;
        } else if word.is("SIZE") {
            let width = micrometres(words, "a width in um")?;
            words.expect("BY")?;
            found.size = Point::new(width, micrometres(words, "a height in um")?);
            words.skip_statement()?;
        } else if word.is("PIN") {
            let pin = words.name("a pin name")?;
            found.pins.push(read_pin(words, &pin)?);
        } else if word.is("OBS") || word.is("DENSITY") {
            words.skip_to("END")?;
        } else if word.is("TIMING") {
            words.skip_block("TIMING")?;
        } else if !word.is(";") {
            words.skip_statement()?;
        }
    }
}

fn read_pin(words: &mut Words<'_>, name: &Word<'_>) -> Result<MacroPin, Fault> {
    let mut pin = MacroPin { name: name.text.into(), direction: None, usage: None, shapes: Vec::new() };
    loop {
        let word = words.want(&format!("`END {}`", name.text))?;
        if word.is("END") {
            let end = words.want("the name of the pin")?;
            if end.text != name.text {
                return Err(words
                    .unexpected(&end, &format!("`{}`, the name of the open pin", name.text))
                    .mend(format!("close pin `{}` before the next block ends", name.text)));
            }
            return Ok(pin);
        }
        if word.is("DIRECTION") {
            pin.direction = Some(words.name("a direction")?.text.to_ascii_uppercase());
            words.skip_statement()?;
        } else if word.is("USE") {
            pin.usage = Some(words.name("a use")?.text.to_ascii_uppercase());
            words.skip_statement()?;
        } else if word.is("PORT") {
            read_port(words, &mut pin)?;
        } else if !word.is(";") {
            words.skip_statement()?;
        }
    }
}

fn read_port(words: &mut Words<'_>, pin: &mut MacroPin) -> Result<(), Fault> {
    let mut layer: Option<String> = None;
    loop {
        let word = words.want("`END` of the port")?;
        if word.is("END") {
            return Ok(());
        }
        if word.is("LAYER") {
            layer = Some(words.name("a layer name")?.text.into());
            words.skip_statement()?;
        } else if word.is("RECT") || word.is("POLYGON") {
            let rectangle = word.is("RECT");
            if words.peek().is_some_and(|w| w.is("MASK")) {
                words.next();
                words.number("a mask number")?;
            }
            if words.peek().is_some_and(|w| w.is("ITERATE")) {
                return Err(words
                    .fault(&word, "lef-iterate", "a repeated shape (ITERATE) is not read".into())
                    .allowed("RECT and POLYGON with their own coordinates")
                    .mend("write each rectangle by itself"));
            }
            let mut corners = Vec::new();
            while words.peek().is_none_or(|w| w.text != ";") {
                corners.push(point(words)?);
            }
            words.expect(";")?;
            let right = if rectangle { corners.len() == 2 } else { corners.len() >= 3 };
            if !right {
                return Err(words
                    .fault(
                        &word,
                        "lef-shape",
                        format!("a {} has {}", word.text, counted(corners.len(), "point")),
                    )
                    .allowed("two points of a RECT, three or more of a POLYGON"));
            }
            if rectangle {
                corners = rectangle_of(corners[0], corners[1]);
            }
            let Some(layer) = &layer else {
                return Err(words
                    .fault(&word, "lef-layer", "a shape stands before any LAYER of its port".into())
                    .mend("name the layer before the shape"));
            };
            pin.shapes.push(PortShape { layer: layer.clone(), corners });
        } else if !word.is(";") {
            words.skip_statement()?;
        }
    }
}

/// The four corners between two opposite ones, counter-clockwise.
pub(super) fn rectangle_of(a: Point, b: Point) -> Vec<Point> {
    let (low, high) = (Point::new(a.x.min(b.x), a.y.min(b.y)), Point::new(a.x.max(b.x), a.y.max(b.y)));
    vec![low, Point::new(high.x, low.y), high, Point::new(low.x, high.y)]
}
