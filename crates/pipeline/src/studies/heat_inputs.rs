//! What a design says of its heat beyond sizes and materials: cells of power, voids and bond lines, currents, a trace.

use super::heat::{Layouts, circle};
use super::placing::{from_above, standing};
use crate::graph::Absent;
use facedown_heat::problem as heat;
use facedown_package::{Design, Die, Interface, Mount};
use std::collections::BTreeMap;

/// Bond line of an interface, as written or by the scaling law.
///
/// # Errors
/// [`Absent::NotInDesign`] where it has neither.
pub(super) fn bond_line(interface: &Interface) -> Result<heat::BondLine, Absent> {
    match (interface.thickness, interface.pressure, interface.yield_stress) {
        (Some(thickness), ..) => Ok(heat::BondLine::Given(thickness.si())),
        (None, Some(pressure), Some(stress)) => {
            Ok(heat::BondLine::Pressed { yield_stress_pa: stress.si(), pressure_pa: pressure.si() })
        }
        _ => Err(Absent::NotInDesign(format!(
            "The interface {} has no thickness, and no pressure with a yield stress.",
            interface.name
        ))),
    }
}

/// Share of an interface that is void, and where the voids lie over a footprint of that size.
pub(super) fn voids(interface: &Interface, size: [f64; 2]) -> (f64, Option<heat::VoidPlaces>) {
    if let Some(map) = &interface.void_cells {
        let cells = heat::Cells { columns: map.columns, values: map.values.clone() };
        return (map.mean(), Some(heat::VoidPlaces::Map(cells)));
    }
    if interface.void_list.is_empty() {
        return (interface.voids.map_or(0.0, |v| v.si()), None);
    }
    let circles: Vec<([f64; 2], f64)> = interface
        .void_list
        .iter()
        .map(|v| ([0, 1].map(|a| v.at[a].si() + size[a] / 2.0), v.diameter.si()))
        .collect();
    let share = circles.iter().map(|c| circle(c.1)).sum::<f64>() / (size[0] * size[1]);
    (share, Some(heat::VoidPlaces::Circles(circles)))
}

/// A die's power grid as seen from above.
pub(super) fn power_grid(die: &Die, turns: u32, grid: &facedown_package::PowerGrid) -> heat::PowerGrid {
    let [[x, y], [w, h]] = [grid.origin_m, grid.size_m];
    let [x_m, y_m, width_m, height_m] = from_above(die, turns, [x, y, w, h]);
    let mut cells = if die.mount() == Mount::Flip { grid.cells.mirrored() } else { grid.cells.clone() };
    for _ in 0..turns {
        cells = cells.turned();
    }
    let cells = heat::Cells { columns: cells.columns, values: cells.values };
    heat::PowerGrid { x_m, y_m, width_m, height_m, cells }
}

/// Heat of a die's currents, W.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Joule {
    /// In its bumps.
    pub bumps_w: f64,
    /// In traces and planes on its face.
    pub face_w: f64,
}

/// Gives each bump the heat of its current, and tells how much it is.
pub(super) fn joule(
    die: &Die,
    layouts: &Layouts<'_>,
    currents: &facedown_electrical::Outcome,
    mount: &mut heat::Mount,
    notes: &mut Vec<String>,
) -> Joule {
    let face_w = currents.joule.traces_w + currents.joule.planes_w;
    let known = layouts.iter().find(|(name, _)| *name == die.name.as_str());
    let (heat::Mount::Bumps(joints), Some((_, layout))) = (mount, known) else { return Joule::default() };
    let each: BTreeMap<&str, f64> = currents
        .nets
        .iter()
        .filter(|n| n.bumps > 0)
        .map(|n| (n.name.as_str(), n.joule.bumps_w / f64::from(n.bumps)))
        .collect();
    // In the order of the places.
    let heats: Vec<f64> = standing(die, layout)
        .map(|b| b.net.as_deref().and_then(|net| each.get(net)).copied().unwrap_or(0.0))
        .collect();
    let bumps_w: f64 = heats.iter().sum();
    if bumps_w + face_w <= 0.0 {
        return Joule::default();
    }
    if bumps_w > 0.0 && heats.len() == joints.places.len() {
        joints.heats_w = heats;
    }
    notes.push(format!(
        "Currents heat the bumps of {} by {} and the redistribution on its face by {}, by the resistances of the electrical \
         study; both are added to its power, each where it arises.",
        die.name,
        watts(bumps_w),
        watts(face_w)
    ));
    Joule { bumps_w: joints.heats_w.iter().sum(), face_w }
}

/// A power in words, three digits.
fn watts(power_w: f64) -> String {
    let [value, unit] = if power_w >= 1.0 { [power_w, 0.0] } else { [1e3 * power_w, 1.0] };
    let digits = if value > 0.0 { (2.0 - value.log10().floor()).clamp(0.0, 3.0) as usize } else { 0 };
    format!("{value:.digits$} {}", if unit > 0.0 { "mW" } else { "W" })
}

/// The power trace for the dies that are solved.
pub(super) fn trace(
    design: &Design,
    solved: &[Option<usize>],
    notes: &mut Vec<String>,
) -> Option<heat::Trace> {
    let given = design.power_trace.as_ref()?;
    let courses: Vec<heat::Course> = given
        .courses
        .iter()
        .filter_map(|course| {
            let Some(die) = solved.get(course.die).copied().flatten() else {
                notes.push(format!("{} is left out of the trace with its die.", course.name));
                return None;
            };
            // The powers of a row hold until the next one; the last row only ends the trace.
            let powers_w =
                course.powers_w.iter().take(given.times_s.len().saturating_sub(1)).copied().collect();
            Some(heat::Course { name: course.name.clone(), die, block: course.block, powers_w })
        })
        .collect();
    let durations_s: Vec<f64> = given.times_s.windows(2).map(|t| t[1] - t[0]).collect();
    (!courses.is_empty() && !durations_s.is_empty()).then(|| heat::Trace {
        repeats: given.repeats(),
        durations_s,
        courses,
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "test code")]
mod tests {
    use super::*;
    use crate::studies::{ELECTRICAL, HEAT, graph};
    use crate::{Cache, Control};
    use facedown_package::{Memory, demo, read_and_check};

    fn files(name: &str, change: impl Fn(String) -> String) -> Memory {
        let demo = demo(name).unwrap();
        demo.files.iter().fold(Memory::default(), |files, (path, text)| {
            let text = if *path == "design.toml" { change((*text).to_owned()) } else { (*text).to_owned() };
            files.with(path, text)
        })
    }

    fn design(files: &Memory) -> Design {
        let reading = read_and_check(files, "design.toml");
        assert!(reading.is_runnable(), "{:?}", reading.findings);
        reading.design.unwrap()
    }

    #[test]
    fn a_hot_corner_of_a_face_down_die_is_seen_on_the_other_side() {
        let files =
            files("tidewatch", |text| text.replacen("power = ", "power_grid = \"grid.csv\"\n# power = ", 1));
        // Upper right on the die's face.
        let files = files.with("grid.csv", "power (mW)\n0, 0, 600\n100, 50, 0\n");
        let design = design(&files);
        let die = &design.dies[0];
        assert!((die.power_w().unwrap() - 0.75).abs() < 1e-12);
        let grid = power_grid(die, 0, die.power_cells.as_ref().unwrap());
        // From the lower left, seen from above: the lower row mirrored, then the upper one.
        let expected = [0.0, 0.05, 0.1, 0.6, 0.0, 0.0];
        assert!(grid.cells.values.iter().zip(expected).all(|(a, b)| (a - b).abs() < 1e-12), "{grid:?}");
        assert!((grid.width_m - die.width.si()).abs() < 1e-12 && grid.x_m.abs() < 1e-12);
        // A quarter turn swaps its sides.
        let turned = power_grid(die, 1, die.power_cells.as_ref().unwrap());
        assert_eq!((turned.cells.columns, turned.cells.values.len()), (2, 6));
    }

    #[test]
    fn watts_of_currents_are_those_of_the_electrical_study() {
        let design = design(&files("tidewatch", |text| text));
        let closed = graph().unwrap().at_depth(crate::graph::Depth::ClosedForms);
        let run = closed.run(&design, None, &Cache::none(), Control::silent());
        let die = design.dies[0].name.as_str();
        let electrical: &facedown_electrical::Outcome = run.output(ELECTRICAL, die).unwrap();
        let heat: &facedown_heat::Outcome = run.output(HEAT, "").unwrap();
        let all = electrical.joule.total_w();
        assert!(all > 0.0);
        let own = design.dies[0].power_w().unwrap();
        assert!((heat.power_w - own - all).abs() < 1e-9, "{} {own} {all}", heat.power_w);
        let told = run.study(HEAT).unwrap();
        let notes = &told.parts[0].report.notes;
        assert!(notes.iter().any(|n| n.starts_with("Currents heat the bumps")), "{notes:?}");
    }

    #[test]
    fn a_pressed_bond_line_follows_the_scaling_law() {
        let files = files("breakwater", |text| {
            let given = "thickness = \"68 um +- 20 um\"";
            assert!(text.contains(given));
            text.replacen(given, "pressure = \"0.3 MPa\"\nyield_stress = \"100 Pa\"", 1)
        });
        let design = design(&files);
        let line = bond_line(&design.interfaces[0]).unwrap().thickness_m();
        assert!((line - 1.31e-4 * (100.0_f64 / 3e5).powf(0.166)).abs() < 1e-12);
        let (share, places) = voids(&design.interfaces[0], [9.6e-3, 8.8e-3]);
        assert!((share - circle(1.2e-3) / (9.6e-3 * 8.8e-3)).abs() < 1e-12);
        let Some(heat::VoidPlaces::Circles(circles)) = places else { panic!("circles") };
        assert!((circles[0].0[0] - 6.3e-3).abs() < 1e-12 && (circles[0].0[1] - 3.4e-3).abs() < 1e-12);
    }

    #[test]
    fn powers_of_a_trace_hold_until_the_next_row() {
        let design = design(&files("harborlight", |text| text));
        let trace = trace(&design, &[Some(0)], &mut Vec::new()).unwrap();
        assert!(trace.repeats);
        assert_eq!(trace.durations_s.len(), 4);
        assert!((trace.durations_s.iter().sum::<f64>() - 20e-3).abs() < 1e-12);
        assert!(trace.courses.iter().all(|c| c.powers_w.len() == 4 && c.block.is_some()));
        let mut notes = Vec::new();
        assert!(super::trace(&design, &[None], &mut notes).is_none() && notes.len() == 3);
    }

    #[test]
    fn powers_are_told_with_three_digits() {
        assert_eq!(watts(0.012_34), "12.3 mW");
        assert_eq!(watts(2.5), "2.50 W");
        assert_eq!(watts(0.0), "0 mW");
    }
}
