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

/// The ring as a design; `swap` exchanges the bumps of two nets.
fn ring(folder: &Path, space_um: u32, swap: Option<[&str; 2]>) -> Scene {
    let scene = Scene::new();
    let mut pads = String::from("name,net,x (um),y (um),width (um),height (um)\n");
    for row in rows(&folder.join("ring-b-pads.csv")) {
        pads.push_str(&format!("{},{},{},{},60,60\n", row["name"], row["net"], row["x_um"], row["y_um"]));
    }
    let mut bumps = String::from("name,x (um),y (um),net\n");
    for row in rows(&folder.join("ring-b-bumps.csv")) {
        let net = match swap {
            Some([a, b]) if row["net"] == a => b,
            Some([a, b]) if row["net"] == b => a,
            _ => row["net"].as_str(),
        };
        bumps.push_str(&format!("{},{},{},{net}\n", row["name"], row["x_um"], row["y_um"]));
    }
    scene.write("ring/pads.csv", &pads);
    scene.write("ring/bumps.csv", &bumps);
    let rdl = format!(
        "[die.rdl]\nlayers = 1\nline = \"40 um\"\nspace = \"{space_um} um\"\nedge_clearance = \"0 um\"\n\
         landing_enclosure = \"0 um\"\npad_opening_inset = \"0 um\"\n"
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
    let pads = rows(&folder.join("ring-b-pads.csv"));
    let bumps = rows(&folder.join("ring-b-bumps.csv"));
    let count = |net: &str| pads.iter().filter(|r| r["net"] == net).count();
    // A net with two pads on the die edge splits the die. The first pad beyond each of its two sides gives two nets
    // that cannot stand in for each other.
    let separating: Vec<&str> = pads.iter().map(|r| r["net"].as_str()).filter(|n| count(n) > 1).collect();
    let single: Vec<&str> = pads
        .iter()
        .map(|r| r["net"].as_str())
        .filter(|n| count(n) == 1 && bumps.iter().filter(|b| b["net"] == **n).count() == 1)
        .collect();
    let refused = single.iter().skip(1).find_map(|other| {
        let (_, results) = routed(&ring(&folder, 10, Some([single[0], other])));
        let part = &results["studies"]["redistribution"]["parts"]["harness"];
        let obstacles = part["obstacles"].as_array()?.clone();
        obstacles.iter().filter_map(|o| o.as_str()).find(|o| o.contains("splits the die")).map(str::to_owned)
    });
    let refused = refused.expect("some pair of nets lies on two sides of a separating net");
    assert!(separating.iter().any(|net| refused.contains(net)), "{refused}");
}
