//! Bond lines that a pressure leaves, and voids: told in one way, inside the interface, one beside the other.

use super::{Checker, Many, length};
use crate::form::Interface;
use crate::limits;
use facedown_diagnostic::Finding;

/// Largest share of an interface that is void.
const MOST: f64 = 0.95;

pub fn check(c: &mut Checker) {
    let design = c.design;
    all(c, &design.interfaces, "");
    for (i, variant) in design.variants.iter().enumerate() {
        all(c, &variant.interfaces, &format!("variant[{i}]."));
    }
}

fn all(c: &mut Checker, interfaces: &[Interface], prefix: &str) {
    for (i, interface) in interfaces.iter().enumerate() {
        let at = format!("{prefix}interface[{i}]");
        bond_line(c, interface, &at);
        once(c, interface, &at);
        circles(c, interface, &at);
        let share = interface.void_cells.as_ref().map_or(0.0, crate::grid::CellGrid::mean);
        if share > MOST {
            let what = format!("{:.1} % of `{}` are void", 100.0 * share, interface.name);
            let finding =
                Finding::error("void-share", what).allowed("up to 95 %: nothing would hold the two parts");
            c.at(&format!("{at}.void_map"), finding);
        }
    }
}

/// The bond line is given, or follows from pressure and yield stress.
fn bond_line(c: &mut Checker, interface: &Interface, at: &str) {
    let name = &interface.name;
    for (key, value) in [("pressure", &interface.pressure), ("yield_stress", &interface.yield_stress)] {
        if let Some(value) = value.as_ref().filter(|v| v.si() <= 0.0) {
            let finding = Finding::error("not-positive", format!("{value} presses nothing"));
            c.at(&format!("{at}.{key}"), finding.allowed("a pressure above zero"));
        }
    }
    match (&interface.thickness, &interface.pressure, &interface.yield_stress) {
        (Some(thickness), _, Some(_)) => {
            let what =
                format!("the bond line of `{name}` is written as {thickness} and again by its yield stress");
            let finding =
                Finding::error("bond-line-twice", what).mend("remove `thickness`, or remove `yield_stress`");
            c.at(&format!("{at}.yield_stress"), finding);
        }
        (None, Some(_), Some(_)) | (Some(_), ..) => {}
        (None, pressure, _) => {
            let missing = if pressure.is_none() { "pressure" } else { "yield_stress" };
            let what = format!("`{name}` has neither a bond line nor what a scaling law needs for one");
            let finding = Finding::error("bond-line-missing", what)
                .allowed("`thickness`, or `pressure` and `yield_stress` together")
                .mend(format!("add `thickness = \"50 um\"`, or add `{missing}`"));
            c.absent(&format!("{at}.name"), finding);
        }
    }
}

/// Voids are told in one way.
fn once(c: &mut Checker, interface: &Interface, at: &str) {
    let told: Vec<&str> = [
        ("voids", interface.voids.is_some()),
        ("void", !interface.void_list.is_empty()),
        ("void_map", interface.void_map.is_some()),
    ]
    .into_iter()
    .filter_map(|(key, there)| there.then_some(key))
    .collect();
    if let [first, second, ..] = told.as_slice() {
        let what =
            format!("the voids of `{}` are written as `{first}` and again as `{second}`", interface.name);
        let finding = Finding::error("voids-twice", what)
            .allowed("an even share, or round voids with their places, or a map")
            .mend(format!("remove `{first}`, or remove `{second}`"));
        c.at(&format!("{at}.{second}"), finding);
    }
}

/// Round voids lie inside the part below and beside each other.
fn circles(c: &mut Checker, interface: &Interface, at: &str) {
    let voids = &interface.void_list;
    if voids.is_empty() {
        return;
    }
    if voids.len() > limits::VOIDS {
        let finding =
            Finding::error("too-many-voids", format!("`{}` has {} voids", interface.name, voids.len()))
                .allowed(format!("up to {}", limits::VOIDS))
                .mend("write them as a `void_map`");
        c.at(&format!("{at}.void"), finding);
        return;
    }
    let Some((_, die)) = c.design.die(interface.between[0].as_str()) else {
        let what = format!(
            "voids with places need a die below them; `{}` lies on {}",
            interface.name, interface.between[0]
        );
        let finding = Finding::error("void-place", what).mend("write their share as `voids`");
        c.at(&format!("{at}.void"), finding);
        return;
    };
    let turned = die.rotation.is_some_and(|r| r.si().sin().abs() > 0.5);
    let (w, h) = (die.width.si(), die.height.si());
    let half = if turned { [h / 2.0, w / 2.0] } else { [w / 2.0, h / 2.0] };
    let (mut small, mut outside, mut met) = (Many::new(), Many::new(), Many::new());
    for (k, void) in voids.iter().enumerate() {
        let radius = void.diameter.si() / 2.0;
        let place = |key: &str| c.design.places.value(&format!("{at}.void[{k}].{key}"));
        let (at_place, at_diameter) = (place("at"), place("diameter"));
        if radius <= 0.0 {
            small.push(c, at_diameter, || {
                Finding::error("not-positive", format!("{} is not a size", void.diameter))
                    .allowed("a length above zero")
            });
            continue;
        }
        if (0..2).any(|a| void.at[a].si().abs() + radius > half[a] + 1e-9) {
            outside.push(c, at_place, || {
                Finding::error(
                    "void-outside",
                    format!("the void of {} reaches outside the interface", void.diameter),
                )
                .allowed(format!(
                    "up to {} in x and {} in y from the centre of the die, seen from above",
                    length(half[0] - radius),
                    length(half[1] - radius)
                ))
            });
            continue;
        }
        let apart = |other: &crate::form::InterfaceVoid| {
            (void.at[0].si() - other.at[0].si()).hypot(void.at[1].si() - other.at[1].si())
        };
        if let Some(other) = voids[..k].iter().position(|o| apart(o) < radius + o.diameter.si() / 2.0 - 1e-9)
        {
            met.push(c, at_place, || {
                Finding::error("void-overlap", format!("void {} meets void {}", k + 1, other + 1))
                    .allowed("voids that do not overlap; write larger or odd shapes as a `void_map`")
            });
        }
    }
    small.close(c, &format!("{at}.void"), "not-positive", "voids have no size");
    outside.close(c, &format!("{at}.void"), "void-outside", "voids reach outside the interface");
    met.close(c, &format!("{at}.void"), "void-overlap", "voids overlap");
}
