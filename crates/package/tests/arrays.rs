//! Bump arrays: centred, even, inside the edge distance, and off pads and keep-outs.

// Helpers of tests may fail loudly.
#![allow(clippy::unwrap_used)]

use facedown_package::{Design, Die, Memory, read};
use proptest::prelude::*;
use std::collections::BTreeSet;

/// A die with these lines in [die.bumps] and these tables after it.
fn die(width_um: u32, height_um: u32, bumps: &str, further: &str, pads: &str) -> Die {
    let text = format!(
        "[design]\nname = \"a\"\n[[die]]\nname = \"a\"\nwidth = \"{width_um} um\"\nheight = \"{height_um} um\"\n\
         thickness = \"300 um\"\nseal_ring = \"20 um\"\npads = \"pads.csv\"\n[die.bumps]\n{bumps}\n{further}\n"
    );
    let pads = format!("name,net,x (um),y (um),width (um),height (um)\n{pads}");
    let reading = read(&Memory::default().with("design.toml", text).with("pads.csv", pads), "design.toml");
    assert!(reading.findings.is_empty(), "{:#?}", reading.findings);
    let design: Design = reading.design.unwrap();
    design.dies[0].clone()
}

fn names(die: &Die) -> Vec<String> {
    die.sites().sites.into_iter().map(|s| s.name).collect()
}

#[test]
fn rows_are_named_from_the_top_and_columns_from_the_left() {
    let die = die(3000, 2000, "pitch = \"1 mm\"\nmatrix = [2, 2]", "", "");
    let places: Vec<_> = die.sites().sites.iter().map(|s| (s.name.clone(), s.x.um(), s.y.um())).collect();
    let at = |name: &str, x: f64, y: f64| (name.to_owned(), x, y);
    assert_eq!(
        places,
        [
            at("A1", 1000.0, 1500.0),
            at("A2", 2000.0, 1500.0),
            at("B1", 1000.0, 500.0),
            at("B2", 2000.0, 500.0)
        ]
    );
}

#[test]
fn an_array_that_fills_the_die_has_a1_at_the_upper_left() {
    let die = die(3000, 3000, "pitch = \"400 um\"\nedge_distance = \"155 um\"", "", "");
    let sites = die.sites();
    assert_eq!((sites.matrix, sites.sites.len()), ((7, 7), 49));
    let (first, last) = (&sites.sites[0], &sites.sites[48]);
    assert_eq!((first.name.as_str(), first.x.um(), first.y.um()), ("A1", 300.0, 2700.0));
    assert_eq!((last.name.as_str(), last.x.um(), last.y.um()), ("G7", 2700.0, 300.0));
}

#[test]
fn more_outer_rows_than_there_are_fill_the_array() {
    let bumps = "pitch = \"400 um\"\nedge_distance = \"155 um\"\npattern = \"perimeter\"\nrows = 9";
    assert_eq!(die(3000, 3000, bumps, "", "").sites().sites.len(), 49);
}

#[test]
fn r_outer_rows_of_n_by_n_hold_4_r_times_n_minus_r_bumps() {
    for (n, r) in [(8u32, 2u32), (20, 4), (9, 1), (6, 3)] {
        let bumps = format!("pitch = \"200 um\"\nmatrix = [{n}, {n}]\npattern = \"perimeter\"\nrows = {r}");
        assert_eq!(die(6000, 6000, &bumps, "", "").sites().sites.len() as u32, 4 * r * (n - r));
    }
}

#[test]
fn staggered_neighbours_are_one_pitch_apart() {
    let sites = die(3000, 3000, "pitch = \"300 um\"\npattern = \"staggered\"", "", "").sites().sites;
    for a in &sites {
        let nearest = sites
            .iter()
            .filter(|b| b.name != a.name)
            .map(|b| (a.x - b.x).um().hypot((a.y - b.y).um()))
            .fold(f64::INFINITY, f64::min);
        assert!((nearest - 300.0).abs() < 0.01, "{} has its neighbour at {nearest} um", a.name);
    }
}

#[test]
fn sites_that_meet_a_landing_or_a_keep_out_stay_empty() {
    let rdl = "[die.rdl]\nline = \"10 um\"\nspace = \"10 um\"\nlanding_enclosure = \"5 um\"\n";
    // Capture pads of 200 + 20 um, landings that end 5 um inside the pad openings: half a capture pad and one space less
    // those 5 um from the centre is 115 um.
    let bumps = "pitch = \"400 um\"\nmatrix = [3, 3]";
    let near = die(3000, 3000, bumps, rdl, "P,N,1244.999,1900,60,60\n");
    assert_eq!(near.sites().dropped, ["A1"]);
    let off = die(3000, 3000, bumps, rdl, "P,N,1245,1900,60,60\n");
    assert!(off.sites().dropped.is_empty());
    // With a dielectric that opens the whole pad, landings end 5 um beyond it.
    let wide = format!("{rdl}pad_opening_inset = \"0 um\"\n");
    assert_eq!(die(3000, 3000, bumps, &wide, "P,N,1254.999,1900,60,60\n").sites().dropped, ["A1"]);
    assert!(die(3000, 3000, bumps, &wide, "P,N,1255,1900,60,60\n").sites().dropped.is_empty());
    let keep =
        format!("{rdl}[[die.keep_out]]\nrectangle = [\"1400 um\", \"1400 um\", \"1600 um\", \"1600 um\"]\n");
    assert_eq!(die(3000, 3000, bumps, &keep, "").sites().dropped, ["B2"]);
    let crossed = keep.replace("1600 um\"]", "1600 um\"]\nbumps = true");
    assert!(die(3000, 3000, bumps, &crossed, "").sites().dropped.is_empty());
}

#[test]
fn a_pad_under_its_bump_gives_the_bump_its_net() {
    let die = die(3000, 3000, "pitch = \"400 um\"\nmatrix = [3, 3]", "", "P,CLK,1500,1500,60,60\n");
    let sites = die.sites().sites;
    assert_eq!(sites.len(), 9);
    assert_eq!(sites[4].net.as_deref(), Some("CLK"));
    assert!(sites.iter().filter(|s| s.net.is_some()).count() == 1);
}

#[test]
fn depopulated_sites_are_left_out() {
    let die =
        die(3000, 3000, "pitch = \"400 um\"\nmatrix = [3, 3]\ndepopulate = [\"A1\", \"B2:C3\"]", "", "");
    assert_eq!(names(&die), ["A2", "A3", "B1", "C1"]);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    #[test]
    fn arrays_are_centred_even_and_inside(width in 500u32..9000, height in 500u32..9000, pitch in 60u32..600, edge in 150u32..400) {
        let bumps = format!("technology = \"copper pillar\"\npitch = \"{pitch} um\"\nedge_distance = \"{edge} um\"");
        let die = die(width, height, &bumps, "", "");
        let sites = die.sites();
        let (columns, rows) = sites.matrix;
        prop_assert_eq!(sites.sites.len() as u32, columns * rows);
        prop_assert_eq!(columns, if width < 2 * edge { 0 } else { (width - 2 * edge) / pitch + 1 });
        let (w, h, edge) = (f64::from(width), f64::from(height), f64::from(edge));
        let unique: BTreeSet<&str> = sites.sites.iter().map(|s| s.name.as_str()).collect();
        prop_assert_eq!(unique.len(), sites.sites.len());
        for site in &sites.sites {
            let room = site.x.um().min(site.y.um()).min(w - site.x.um()).min(h - site.y.um());
            prop_assert!(room >= edge - 0.001);
        }
        if let (Some(first), Some(last)) = (sites.sites.first(), sites.sites.last()) {
            prop_assert!((first.x.um() + last.x.um() - w).abs() < 0.002);
            prop_assert!((first.y.um() + last.y.um() - h).abs() < 0.002);
        }
    }
}
