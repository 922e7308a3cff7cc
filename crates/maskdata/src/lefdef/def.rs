//! DEF: the die, its placed components, its own pins and its nets.

use super::lef::rectangle_of;
use super::orientation::Orientation;
use super::token::{Word, Words};
use crate::fault::{Fault, counted};
use facedown_layout::Point;
use facedown_quantity::Nm;

/// A placed copy of a macro.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Component {
    /// Name of the instance.
    pub name: String,
    /// Name of its macro.
    pub of_macro: String,
    /// Lower-left corner of its turned box and its orientation; `None` while it is not placed.
    pub placed: Option<(Point, Orientation)>,
}

/// One shape of a port, in nanometres from the place of its pin.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DefPort {
    /// Layer name.
    pub layer: String,
    /// Corners as in [`super::PortShape`].
    pub corners: Vec<Point>,
    /// Place and orientation; `None` while it is not placed.
    pub placed: Option<(Point, Orientation)>,
}

/// A pin of the design itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DefPin {
    /// Pin name.
    pub name: String,
    /// Its net, where given.
    pub net: Option<String>,
    /// Shapes of all its ports.
    pub ports: Vec<DefPort>,
}

/// One end of a net.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Connection {
    /// Instance name; `None` for a pin of the design, `*` for all instances.
    pub instance: Option<String>,
    /// Pin name.
    pub pin: String,
}

/// A net, special or not.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Net {
    /// Net name.
    pub name: String,
    /// What it connects.
    pub connections: Vec<Connection>,
}

/// The content of a DEF text. Lengths are in nanometres, rounded once from the units of the file.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Def {
    /// Name of the design.
    pub design: String,
    /// Units per micrometre.
    pub units_per_um: u32,
    /// Corners of the die; a rectangle is given by four. Empty where the file gives none.
    pub die: Vec<Point>,
    /// Components in file order.
    pub components: Vec<Component>,
    /// Pins of the design in file order.
    pub pins: Vec<DefPin>,
    /// Nets and special nets in file order.
    pub nets: Vec<Net>,
}

/// Reads a DEF text.
///
/// # Errors
/// A [`Fault`] with line and column where a number, name or section end that is needed is missing or malformed, or
/// coordinates come before the units.
pub fn read_def(text: &str) -> Result<Def, Fault> {
    let mut reader = Reader { words: Words::new("DEF", text), def: Def::default() };
    while let Some(word) = reader.words.next() {
        if word.is("DESIGN") {
            reader.def.design = reader.words.name("a design name")?.text.into();
            reader.words.skip_statement()?;
        } else if word.is("UNITS") {
            reader.units()?;
        } else if word.is("DIEAREA") {
            let corners = reader.points()?;
            reader.def.die = match corners[..] {
                [a, b] => rectangle_of(a, b),
                [_, _, _, ..] => corners,
                _ => {
                    return Err(reader
                        .words
                        .fault(
                            &word,
                            "def-die",
                            format!("the die area has {}", counted(corners.len(), "point")),
                        )
                        .allowed("two opposite corners, or three corners and more"));
                }
            };
        } else if word.is("COMPONENTS") {
            reader.section("COMPONENTS", Reader::component)?;
        } else if word.is("PINS") {
            reader.section("PINS", Reader::pin)?;
        } else if word.is("NETS") {
            reader.section("NETS", Reader::net)?;
        } else if word.is("SPECIALNETS") {
            reader.section("SPECIALNETS", Reader::net)?;
        } else if word.is("BEGINEXT") {
            reader.words.skip_to("ENDEXT")?;
        } else if word.is("END") {
            if reader.words.next().is_some_and(|w| w.is("DESIGN")) {
                break;
            }
        } else if !word.is(";") {
            // Statements of sections that are not read end with `;` too, one after the other.
            reader.words.skip_statement()?;
        }
    }
    Ok(reader.def)
}

struct Reader<'a> {
    words: Words<'a>,
    def: Def,
}

impl<'a> Reader<'a> {
    fn units(&mut self) -> Result<(), Fault> {
        self.words.expect("DISTANCE")?;
        self.words.expect("MICRONS")?;
        let place = self.words.here();
        let number = self.words.number("units per micrometre")?;
        if !(1.0..=1e6).contains(&number) || number.fract() != 0.0 {
            return Err(self
                .words
                .fault(&place, "def-units", format!("{number} units per micrometre"))
                .allowed("a whole number from 1 to 1000000, as a rule 1000 or 2000"));
        }
        self.def.units_per_um = number as u32;
        self.words.skip_statement()
    }

    /// `( x y )`; `*` repeats the coordinate of `before`.
    fn point(&mut self, before: Option<Point>) -> Result<Point, Fault> {
        self.words.expect("(")?;
        let x = self.coordinate(before.map(|p| p.x))?;
        let y = self.coordinate(before.map(|p| p.y))?;
        // Routing points may carry an extension.
        if self.words.peek().is_some_and(|w| w.text != ")") {
            self.words.number("an extension")?;
        }
        self.words.expect(")")?;
        Ok(Point::new(x, y))
    }

    fn coordinate(&mut self, before: Option<Nm>) -> Result<Nm, Fault> {
        let place = self.words.here();
        if let (true, Some(before)) = (place.text == "*", before) {
            self.words.next();
            return Ok(before);
        }
        if self.def.units_per_um == 0 {
            return Err(self
                .words
                .fault(&place, "def-units", "coordinates come before the units".into())
                .mend("write `UNITS DISTANCE MICRONS 1000 ;` (or the units of the file) at its head"));
        }
        let um = self.words.number("a coordinate")? / f64::from(self.def.units_per_um);
        if um.abs() > 1e7 {
            return Err(self
                .words
                .fault(&place, "lefdef-far", format!("{um:e} um is out of range"))
                .allowed("-10 m to 10 m"));
        }
        Ok(Nm::round_um(um))
    }

    /// Points up to the `;`, which is taken.
    fn points(&mut self) -> Result<Vec<Point>, Fault> {
        let mut points = Vec::new();
        while self.words.peek().is_none_or(|w| w.text != ";") {
            points.push(self.point(points.last().copied())?);
        }
        self.words.expect(";")?;
        Ok(points)
    }

    fn section(
        &mut self,
        name: &str,
        entry: fn(&mut Reader<'a>, &Word<'a>) -> Result<(), Fault>,
    ) -> Result<(), Fault> {
        self.words.skip_statement()?;
        loop {
            let word = self.words.want(&format!("`END {name}`"))?;
            if word.is("END") {
                return self.words.expect(name);
            }
            if word.text != "-" {
                return Err(self
                    .words
                    .unexpected(&word, &format!("`-` or `END {name}`"))
                    .mend(format!("begin each entry of {name} with `-`")));
            }
            let entry_name = self.words.name("a name")?;
            entry(self, &entry_name)?;
        }
    }

    /// `( x y ) orientation` after `+ PLACED`, `+ FIXED` or `+ COVER`.
    fn placement(&mut self) -> Result<(Point, Orientation), Fault> {
        let at = self.point(None)?;
        let word = self.words.want("an orientation")?;
        let orientation = Orientation::parse(word.text).ok_or_else(|| {
            self.words.unexpected(&word, "an orientation").allowed("N, S, W, E, FN, FS, FW, FE")
        })?;
        Ok((at, orientation))
    }

    fn component(&mut self, name: &Word<'a>) -> Result<(), Fault> {
        let of_macro = self.words.name("a macro name")?.text.into();
        let mut component = Component { name: name.text.into(), of_macro, placed: None };
        loop {
            let word = self.words.want("`;`")?;
            if word.text == ";" {
                break;
            }
            if word.text == "+" {
                let key = self.words.name("a keyword")?;
                if key.is("PLACED") || key.is("FIXED") || key.is("COVER") {
                    component.placed = Some(self.placement()?);
                }
            }
        }
        self.def.components.push(component);
        Ok(())
    }

    fn pin(&mut self, name: &Word<'a>) -> Result<(), Fault> {
        let mut pin = DefPin { name: name.text.into(), net: None, ports: Vec::new() };
        // Shapes since the last `+ PORT` (or the beginning) share one placement.
        let mut first_of_port = 0;
        loop {
            let word = self.words.want("`;`")?;
            if word.text == ";" {
                break;
            }
            if word.text != "+" {
                continue;
            }
            let key = self.words.name("a keyword")?;
            if key.is("NET") {
                pin.net = Some(self.words.name("a net name")?.text.into());
            } else if key.is("PORT") {
                first_of_port = pin.ports.len();
            } else if key.is("LAYER") || key.is("POLYGON") {
                let layer = self.words.name("a layer name")?.text.into();
                // MASK, SPACING and DESIGNRULEWIDTH may stand before the points.
                while self.words.peek().is_some_and(|w| !matches!(w.text, "(" | ";" | "+")) {
                    self.words.next();
                }
                let mut corners: Vec<Point> = Vec::new();
                while self.words.peek().is_some_and(|w| w.text == "(") {
                    corners.push(self.point(corners.last().copied())?);
                }
                let corners = match (key.is("LAYER"), &corners[..]) {
                    (true, &[a, b]) => rectangle_of(a, b),
                    (false, [_, _, _, ..]) => corners,
                    _ => {
                        return Err(self
                            .words
                            .fault(
                                &key,
                                "def-shape",
                                format!("a {} of a pin has {}", key.text, counted(corners.len(), "point")),
                            )
                            .allowed("two points of a LAYER, three or more of a POLYGON"));
                    }
                };
                pin.ports.push(DefPort { layer, corners, placed: None });
            } else if key.is("PLACED") || key.is("FIXED") || key.is("COVER") {
                let placed = self.placement()?;
                for port in &mut pin.ports[first_of_port..] {
                    port.placed = Some(placed);
                }
            }
        }
        self.def.pins.push(pin);
        Ok(())
    }

    fn net(&mut self, name: &Word<'a>) -> Result<(), Fault> {
        let mut net = Net { name: name.text.into(), connections: Vec::new() };
        // Connections come first; wiring after the first `+` is passed over.
        let mut wiring = false;
        loop {
            let word = self.words.want("`;`")?;
            match word.text {
                ";" => break,
                "+" => wiring = true,
                "(" if !wiring => {
                    let instance = self.words.name("an instance name")?;
                    let pin = self.words.name("a pin name")?;
                    let instance = (instance.text != "PIN").then(|| instance.text.to_owned());
                    net.connections.push(Connection { instance, pin: pin.text.into() });
                    loop {
                        let rest = self.words.name("`)`")?;
                        if rest.text == ")" {
                            break;
                        }
                    }
                }
                _ => {}
            }
        }
        self.def.nets.push(net);
        Ok(())
    }
}
