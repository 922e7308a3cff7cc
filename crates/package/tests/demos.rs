//! The demonstration designs pass the checks, and their tables are what their generator makes.

// Helpers of tests may fail loudly.
#![allow(clippy::unwrap_used)]

#[path = "../examples/make_demos/tables.rs"]
mod tables;

use facedown_diagnostic::Level;
use facedown_package::{Design, NetClass, demo, demos, read_and_check};

fn design(name: &str, file: &str) -> Design {
    let reading = read_and_check(&demo(name).unwrap().memory(), file);
    let wrong: Vec<_> = reading.findings.iter().filter(|f| f.level != Level::Advice).collect();
    assert!(wrong.is_empty(), "{name}/{file}: {wrong:#?}");
    assert!(reading.is_runnable());
    reading.design.unwrap()
}

#[test]
fn every_demonstration_design_passes_the_checks_and_says_that_it_is_invented() {
    for demo in demos() {
        for (file, text) in demo.files.iter().filter(|(f, _)| f.ends_with(".toml")) {
            assert_eq!(design(demo.name, file).heading.data.as_deref(), Some("invented"));
            assert!(text.starts_with("#:schema ./design.schema.json\n"), "{file} names no schema");
        }
    }
}

#[test]
fn the_committed_tables_are_what_the_generator_makes() {
    for (path, made) in tables::all() {
        let (name, file) = path.split_once('/').unwrap();
        let committed = demo(name).unwrap().files.iter().find(|(f, _)| *f == file).unwrap().1;
        assert!(
            committed == made,
            "{path} changed; `cargo run -p facedown-package --example make_demos` writes it again"
        );
    }
}

#[test]
fn tidewatch_is_the_ring_that_it_says() {
    let design = design("tidewatch", "design.toml");
    let die = &design.dies[0];
    assert_eq!(die.pads().len(), 390);
    let sites = die.sites();
    assert_eq!((sites.matrix, sites.sites.len(), sites.dropped.len()), ((22, 19), 418, 0));
    let count = |net: &str| die.pad_list.iter().filter(|p| p.net == net).count();
    assert_eq!(["VDD_CORE", "VDD_IO", "VSS", "VDD_ANA"].map(count), [24, 22, 40, 10]);
    assert_eq!(die.pad_list.iter().filter(|p| p.class == Some(NetClass::Signal)).count(), 294);
    // 1.2 A, 0.8 A, 2.1 A and 0.1 A at 60 mA a bump.
    assert_eq!(["VDD_CORE", "VDD_IO", "VSS", "VDD_ANA"].map(|n| die.bumps_needed(n)), [20, 14, 35, 2]);
}

#[test]
fn harborlight_carries_a_pillar_on_every_pad() {
    let design = design("harborlight", "design.toml");
    let die = &design.dies[0];
    let sites = die.sites().sites;
    assert_eq!((die.pad_list.len(), sites.len()), (9064, 9064));
    for (pad, site) in die.pad_list.iter().zip(&sites) {
        assert_eq!((&pad.name, pad.x, pad.y), (&site.name, site.x, site.y));
        assert_eq!(site.net.as_ref(), Some(&pad.net));
    }
    assert!((die.power_w().unwrap() - 60.0).abs() < 1e-9);
    assert_eq!(design.variants.iter().map(|v| v.form.word()).collect::<Vec<_>>(), ["lid", "bare"]);
}

#[test]
fn breakwater_is_a_module_of_four_dies_and_its_variant_of_five() {
    let module = design("breakwater", "design.toml");
    assert_eq!(module.dies.len(), 4);
    let power: f64 = module.dies.iter().filter_map(|d| d.power_w()).sum();
    assert!((power - 180.0).abs() < 1e-9);
    for die in &module.dies {
        let (pads, sites) = (die.pads(), die.sites().sites);
        assert_eq!(pads.len(), sites.len());
        assert!(pads.iter().all(|p| !p.net.is_empty()));
    }
    let stacked = design("breakwater", "stacked.toml");
    assert_eq!(stacked.dies[4].on(), "logic west");
    assert_eq!(stacked.dies[4].pad_list.len(), 48);
}

#[test]
fn the_dirty_variant_of_tidewatch_differs_by_its_residue() {
    let (clean, dirty) = (design("tidewatch", "design.toml"), design("tidewatch", "dirty.toml"));
    let of = |d: &facedown_package::Design| d.process.as_ref().unwrap().clean.as_ref().unwrap().clone();
    assert_eq!((of(&clean).residues.len(), of(&dirty).residues.len()), (0, 3));
    assert_eq!(clean.dies, dirty.dies);
}
