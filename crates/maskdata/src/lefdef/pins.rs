//! Pins in die coordinates: macros of a LEF, placed by a DEF.

use super::def::Def;
use super::lef::{Lef, Macro};
use crate::fault::Fault;
use facedown_layout::Point;
use facedown_quantity::Nm;
use std::collections::BTreeMap;

/// The most pin shapes that [`pins`] gives.
pub const MOST_PINS: usize = 2_000_000;

/// One shape of a pin, in nanometres.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pin {
    /// Pin name.
    pub name: String,
    /// Its net, where one is given.
    pub net: Option<String>,
    /// Layer name.
    pub layer: String,
    /// Lower-left corner of the shape's bounding box.
    pub low: Point,
    /// Upper-right corner of the shape's bounding box.
    pub high: Point,
    /// Corners of the shape; four of a rectangle.
    pub corners: Vec<Point>,
    /// Name of the placed component; `None` for a pin of the design itself.
    pub instance: Option<String>,
}

/// What [`pins`] found.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PinList {
    /// Pins of the design in file order, then those of its components in file order.
    pub pins: Vec<Pin>,
    /// Macros that the DEF places and the LEF does not hold, with the number of components.
    pub missing_macros: BTreeMap<String, usize>,
    /// Components and pins that are not placed, and were left out.
    pub unplaced: usize,
}

/// All pin shapes of a placed design, on one layer or on all. Coordinates are those of the DEF.
///
/// # Errors
/// A [`Fault`] where there would be more than [`MOST_PINS`] shapes.
pub fn pins(lef: &Lef, def: &Def, layer: Option<&str>) -> Result<PinList, Fault> {
    let mut net_of: BTreeMap<(Option<&str>, &str), &str> = BTreeMap::new();
    for net in &def.nets {
        for c in &net.connections {
            net_of.insert((c.instance.as_deref(), c.pin.as_str()), net.name.as_str());
        }
    }
    let wanted = |name: &str| layer.is_none_or(|l| l == name);
    let mut list = PinList::default();
    for pin in &def.pins {
        let net = pin.net.as_deref().or_else(|| net_of.get(&(None, pin.name.as_str())).copied());
        for port in pin.ports.iter().filter(|p| wanted(&p.layer)) {
            let Some((at, orientation)) = port.placed else {
                list.unplaced += 1;
                continue;
            };
            let corners = port.corners.iter().map(|&c| moved(orientation.turn(c), at)).collect();
            add(&mut list, shape(&pin.name, net, &port.layer, corners, None))?;
        }
    }
    for component in &def.components {
        let Some(of_macro) = lef.macros.get(&component.of_macro) else {
            *list.missing_macros.entry(component.of_macro.clone()).or_default() += 1;
            continue;
        };
        let Some((at, orientation)) = component.placed else {
            list.unplaced += 1;
            continue;
        };
        for pin in &of_macro.pins {
            let net = [component.name.as_str(), "*"]
                .iter()
                .find_map(|i| net_of.get(&(Some(*i), pin.name.as_str())).copied());
            for port in pin.shapes.iter().filter(|s| wanted(&s.layer)) {
                let place =
                    |&c: &Point| moved(orientation.turn_in_box(moved(c, of_macro.origin), of_macro.size), at);
                let corners = port.corners.iter().map(place).collect();
                add(&mut list, shape(&pin.name, net, &port.layer, corners, Some(&component.name)))?;
            }
        }
    }
    Ok(list)
}

/// The pin shapes of one macro whose box begins at (0, 0): for a die that is described as a single macro. Each pin
/// is taken as a net of its own name.
pub fn macro_pins(of_macro: &Macro, layer: Option<&str>) -> Vec<Pin> {
    let mut pins = Vec::new();
    for pin in &of_macro.pins {
        for port in pin.shapes.iter().filter(|s| layer.is_none_or(|l| l == s.layer)) {
            let corners = port.corners.iter().map(|&c| moved(c, of_macro.origin)).collect();
            pins.push(shape(&pin.name, Some(&pin.name), &port.layer, corners, None));
        }
    }
    pins
}

fn moved(p: Point, by: Point) -> Point {
    Point::new(p.x + by.x, p.y + by.y)
}

fn add(list: &mut PinList, pin: Pin) -> Result<(), Fault> {
    if list.pins.len() >= MOST_PINS {
        return Err(Fault::new(
            "lefdef-too-large",
            format!("the design has more than {MOST_PINS} pin shapes"),
        )
        .allowed(format!("{MOST_PINS} pin shapes"))
        .mend("name the layer of the pads, or give a LEF with the pad macros only"));
    }
    list.pins.push(pin);
    Ok(())
}

fn shape(name: &str, net: Option<&str>, layer: &str, corners: Vec<Point>, instance: Option<&str>) -> Pin {
    let bound = |pick: fn(&Point) -> Nm, low: bool| {
        let values = corners.iter().map(pick);
        if low { values.min() } else { values.max() }.unwrap_or_default()
    };
    Pin {
        name: name.into(),
        net: net.map(str::to_owned),
        layer: layer.into(),
        low: Point::new(bound(|c| c.x, true), bound(|c| c.y, true)),
        high: Point::new(bound(|c| c.x, false), bound(|c| c.y, false)),
        corners,
        instance: instance.map(str::to_owned),
    }
}
