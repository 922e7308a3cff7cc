//! A real pad ring: 63 pads, 60 bumps, 57 nets with the bump of each net given, die 3880 x 5070 um.
//!
//! Its two tables (open test-chip harness, Apache-2.0) are not part of the project. They are read from the folder that
//! `FACEDOWN_RING_B` names, else from `shared/data` beside the checkout; without them these tests say so and do nothing.

use crate::scene::{Said, Scene};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Rows of a table by column, comments left out.
fn rows(path: &Path) -> Vec<BTreeMap<String, String>> {
    let text = std::fs::read_to_string(path).expect("a table");
    let mut lines = text.lines().filter(|l| !l.starts_with('#') && !l.trim().is_empty());
    let columns: Vec<&str> = lines.next().expect("columns").split(',').collect();
    let row = |line: &str| {
        columns.iter().zip(line.split(',')).map(|(c, v)| ((*c).to_owned(), v.to_owned())).collect()
    };
    lines.map(row).collect()
}

fn folder() -> Option<PathBuf> {
    let beside = || Some(Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().nth(3)?.join("shared/data"));
    let folder = std::env::var_os("FACEDOWN_RING_B").map(PathBuf::from).or_else(beside)?;
    let there = ["ring-b-pads.csv", "ring-b-bumps.csv"].iter().all(|f| folder.join(f).is_file());
    if !there {
        println!("skipped: real ring: no ring-b-pads.csv and ring-b-bumps.csv in {}", folder.display());
    }
    there.then_some(folder)
}

/// The ring as a design; `swap` exchanges the nets of the first pads of two nets.
fn ring(folder: &Path, space_um: u32, swap: Option<[&str; 2]>) -> Scene {
    let scene = Scene::new();
    let mut table = rows(&folder.join("ring-b-pads.csv"));
    if let Some([a, b]) = swap {
        let first = |net: &str| table.iter().position(|row| row["net"] == net).expect("a pad of the net");
        let (i, j) = (first(a), first(b));
        table[i].insert("net".into(), b.into());
        table[j].insert("net".into(), a.into());
    }
    let mut pads = String::from("name,net,x (um),y (um),width (um),height (um)\n");
    for row in table {
        pads.push_str(&format!("{},{},{},{},60,60\n", row["name"], row["net"], row["x_um"], row["y_um"]));
    }
    let mut bumps = String::from("name,x (um),y (um),net\n");
    for row in rows(&folder.join("ring-b-bumps.csv")) {
        bumps.push_str(&format!("{},{},{},{}\n", row["name"], row["x_um"], row["y_um"], row["net"]));
    }
    scene.write("ring/pads.csv", &pads);
    scene.write("ring/bumps.csv", &bumps);
    let rdl = format!(
        "[die.rdl]\nlayers = 1\nline = \"40 um\"\nspace = \"{space_um} um\"\nedge_clearance = \"0 um\"\n\
         landing_enclosure = \"2 um\"\npad_opening_inset = \"10 um\"\n"
    );
    let design = format!(
        "[design]\nname = \"ring\"\ndata = \"open test-chip harness, Apache-2.0\"\n\n[[die]]\nname = \"harness\"\n\
         width = \"3880 um\"\nheight = \"5070 um\"\nthickness = \"300 um\"\nseal_ring = \"0 um\"\npads = \"pads.csv\"\n\n\
         [die.bumps]\ntable = \"bumps.csv\"\npitch = \"500 um\"\nubm_diameter = \"250 um\"\n\
         capture_diameter = \"270 um\"\n\n{UBM}\n{rdl}\n{REST}"
    );
    scene.write("ring/design.toml", &design);
    scene
}

const UBM: &str = r#"
[[die.ubm]]
role = "adhesion"
material = "titanium"
thickness = "0.1 um"

[[die.ubm]]
role = "barrier"
material = "nickel"
thickness = "3 um"

[[die.ubm]]
role = "wetting"
material = "copper"
thickness = "1 um"
"#;

const REST: &str = r#"
[[die.rdl.dielectric]]
material = "polyimide"
thickness = "7 um"

[[die.rdl.dielectric]]
material = "polyimide"
thickness = "8 um"

[die.assignment]
mode = "by net"

[substrate]
width = "8 mm"
height = "8 mm"

[[substrate.layer]]
material = "bt_core"
thickness = "400 um"
"#;

fn routed(scene: &Scene) -> (Said, serde_json::Value) {
    let said = scene.run(&["run", "ring/design.toml", "--out", "results"]);
    assert!(scene.path("results/results.json").exists(), "{}", said.all());
    (said, scene.json("results/results.json"))
}

fn holds(space_um: u32) {
    let Some(folder) = folder() else { return };
    let (said, results) = routed(&ring(&folder, space_um, None));
    let figures = &results["studies"]["redistribution"]["figures"];
    assert_eq!(figures["nets"]["value"], 57.0, "{}", said.all());
    assert_eq!(figures["routed_nets"]["value"], 57.0, "{}", said.all());
    assert_eq!(figures["violations"]["value"], 0.0, "{}", said.all());
    assert_eq!(said.code, Some(0), "{}", said.all());
    // An expert's hand layout of the 53 two-terminal nets has 1.077.
    assert!(figures["wirelength_ratio"]["value"].as_f64().expect("a number") <= 1.05, "{figures:#}");
}

#[test]
fn a_real_ring_is_routed_shorter_than_by_hand() {
    holds(10);
}

#[test]
fn a_real_ring_is_routed_with_space_26() {
    holds(26);
}

#[test]
fn two_nets_swapped_across_a_separating_net_are_refused_by_its_name() {
    let Some(folder) = folder() else { return };
    // Net vss is one piece with pads south and north and divides the die. One pad each of vddio (west) and vdda1 (east)
    // change sides.
    let (said, results) = routed(&ring(&folder, 10, Some(["vddio", "vdda1"])));
    assert_eq!(said.code, Some(1), "{}", said.all());
    let part = &results["studies"]["redistribution"]["parts"]["harness"];
    let obstacles: Vec<&str> =
        part["obstacles"].as_array().into_iter().flatten().filter_map(|o| o.as_str()).collect();
    let named =
        |o: &&str| o.contains("splits the die") && ["vss", "vddio", "vdda1"].iter().any(|n| o.contains(n));
    assert!(obstacles.iter().any(named), "{obstacles:#?}");
}
