//! A ring and a lid of usual sizes for a design that gives none, so that the forms can be set side by side before any
//! of them is drawn.
//!
//! Sizes (common practice, no source): copper of 0.6 mm for a ring and 1 mm for a lid, nickel plated; a band of 4 mm or
//! 60 % of the room beside the dies, whichever is less; silicone of 0.1 mm under it; thermal grease of 50 um on the
//! tallest die, and what is left above the others.

use crate::design::Design;
use crate::die::{Die, Mount};
use crate::form::{Form, Interface, Lid, Ring};
use crate::values::{Length, MaterialName, Name};
use facedown_quantity::{Quantity, Toleranced};

const METAL: &str = "copper_lid";
const ADHESIVE: &str = "adhesive_silicone";
const ADHESIVE_THICKNESS: f64 = 100e-6;
const GREASE: &str = "tim_grease";
const BOND_LINE: f64 = 50e-6;

fn length(m: f64) -> Length {
    // Whole micrometres, as anyone would write them.
    Toleranced::new(Quantity::from_si((m * 1e6).round() * 1e-6), None)
}

fn named(material: &str) -> MaterialName {
    MaterialName(material.into())
}

/// Height of a die's back over the substrate's face, m.
fn top(design: &Design, die: &Die) -> f64 {
    let gap = die.bumps.as_ref().map_or(0.0, |b| b.sizes().height.m());
    let glue = die.attach.as_ref().map_or(0.0, |a| a.thickness.si());
    let below = match (die.on(), &design.interposer) {
        ("interposer", Some(interposer)) => {
            crate::stack::thickness_m(&interposer.layers)
                + interposer.bumps.as_ref().map_or(0.0, |b| b.sizes().height.m())
        }
        (host, _) => design.die(host).map_or(0.0, |(_, host)| top(design, host)),
    };
    below + gap + glue + die.thickness.si()
}

/// Width of a band beside the dies, m; nothing when less than half a millimetre is left for it.
fn band(design: &Design) -> Option<f64> {
    let substrate = design.substrate.as_ref()?;
    let room = |axis: usize| {
        let half = [substrate.width.si(), substrate.height.si()][axis] / 2.0;
        let reach = |size: [f64; 2], at: Option<[Length; 2]>| {
            at.map_or(0.0, |at| at[axis].si()).abs() + size[axis] / 2.0
        };
        let outer = match &design.interposer {
            Some(i) => reach([i.width.si(), i.height.si()], i.at),
            None => design
                .dies
                .iter()
                .filter(|d| d.mount() == Mount::Flip)
                .map(|d| reach([d.width.si(), d.height.si()], d.at))
                .fold(0.0, f64::max),
        };
        half - outer
    };
    let band = (0.6 * room(0).min(room(1))).min(4e-3);
    (band >= 0.5e-3).then_some(band)
}

/// A ring of usual sizes; nothing where the substrate leaves no room for one.
pub fn usual_ring(design: &Design) -> Option<Form> {
    Some(Form::Ring(Ring {
        material: named(METAL),
        band: length(band(design)?),
        thickness: length(0.6e-3),
        setback: None,
        adhesive: named(ADHESIVE),
        adhesive_thickness: length(ADHESIVE_THICKNESS),
        adhesive_cure: None,
    }))
}

/// A lid of usual sizes with its thermal interfaces; nothing where the substrate leaves no room for its foot.
pub fn usual_lid(design: &Design) -> Option<(Form, Vec<Interface>)> {
    let band = band(design)?;
    let carried = |die: &&Die| !design.dies.iter().any(|other| other.on() == die.name.as_str());
    let tops: Vec<(&Die, f64)> = design.dies.iter().filter(carried).map(|d| (d, top(design, d))).collect();
    let tallest = tops.iter().map(|t| t.1).fold(0.0, f64::max);
    let lid = Form::Lid(Lid {
        material: named(METAL),
        thickness: length(1e-3),
        foot_height: length((tallest + BOND_LINE - ADHESIVE_THICKNESS).max(50e-6)),
        band: length(band),
        setback: None,
        adhesive: named(ADHESIVE),
        adhesive_thickness: length(ADHESIVE_THICKNESS),
        adhesive_cure: None,
    });
    let interfaces = tops.iter().enumerate().map(|(i, (die, top))| Interface {
        name: Name(if tops.len() == 1 { "TIM1".into() } else { format!("TIM1.{}", i + 1) }),
        between: [die.name.clone(), Name("lid".into())],
        material: named(GREASE),
        thickness: Some(length(BOND_LINE + tallest - top)),
        contact: None,
        pressure: None,
        yield_stress: None,
        voids: None,
        void_list: Vec::new(),
        void_map: None,
        void_cells: None,
    });
    Some((lid, interfaces.collect()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Memory, check, demo, read};

    #[test]
    fn usual_forms_of_the_demonstration_designs_pass_the_check() {
        for name in ["tidewatch", "harborlight"] {
            let demo = demo(name).unwrap();
            let files =
                demo.files.iter().fold(Memory::default(), |files, (name, text)| files.with(name, *text));
            let design = read(&files, "design.toml").design.unwrap();
            let (lid, interfaces) = usual_lid(&design).unwrap();
            for (form, interfaces) in [(usual_ring(&design).unwrap(), Vec::new()), (lid, interfaces)] {
                let other = Design { form: Some(form), interfaces, variants: Vec::new(), ..design.clone() };
                let wrong: Vec<_> = check(&other)
                    .into_iter()
                    .filter(|f| f.level == facedown_diagnostic::Level::Error)
                    .map(|f| f.what)
                    .collect();
                assert!(wrong.is_empty(), "{name}: {wrong:?}");
            }
        }
    }

    #[test]
    fn a_substrate_as_wide_as_its_die_has_no_room() {
        let demo = demo("tidewatch").unwrap();
        let files = demo.files.iter().fold(Memory::default(), |files, (name, text)| files.with(name, *text));
        let mut design = read(&files, "design.toml").design.unwrap();
        if let Some(substrate) = &mut design.substrate {
            substrate.width = length(7.5e-3);
        }
        assert!(usual_ring(&design).is_none() && usual_lid(&design).is_none());
    }
}
