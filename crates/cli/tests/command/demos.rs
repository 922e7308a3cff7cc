//! The demonstration designs through the program, from design file to written results. Tidewatch with its solvers; the large ones by
//! closed forms, since what their solvers give is kept by the figures of the pipeline.

use crate::scene::Scene;

fn run(example: &str, options: &[&str]) -> (crate::scene::Said, serde_json::Value) {
    let scene = Scene::new();
    scene.run(&["new", "demo", "--example", example]);
    let check = scene.run(&["check", "demo/design.toml", "--json"]);
    assert_eq!(check.code, Some(0), "{}", check.all());
    let said = scene.run(&[&["run", "demo/design.toml", "--out", "results"], options].concat());
    let results = scene.json("results/results.json");
    (said, results)
}

#[test]
fn tidewatch_is_redistributed_without_a_violation() {
    let (said, results) = run("tidewatch", &[]);
    assert_eq!(said.code, Some(0), "{}", said.all());
    let figures = &results["studies"]["redistribution"]["figures"];
    assert_eq!(figures["routed_nets"]["value"], figures["nets"]["value"]);
    assert_eq!(figures["violations"]["value"], 0.0);
    assert!(figures["wirelength_ratio"]["value"].as_f64().expect("a number") <= 1.06, "{figures:#}");
}

#[test]
fn harborlight_has_its_pads_under_its_bumps_and_says_so() {
    let (said, results) = run("harborlight", &["--closed-forms"]);
    assert_eq!(said.code, Some(0), "{}", said.all());
    let study = &results["studies"]["redistribution"];
    assert_eq!(study["figures"]["wirelength"]["value"], 0.0);
    assert_eq!(study["figures"]["violations"]["value"], 0.0);
    assert!(study["parts"].to_string().contains("nothing is routed"), "{study:#}");
}

#[test]
fn breakwater_reports_each_die_and_their_sum() {
    let (said, results) = run("breakwater", &["--closed-forms"]);
    assert_eq!(said.code, Some(0), "{}", said.all());
    let study = &results["studies"]["redistribution"];
    let parts = study["parts"].as_object().expect("parts");
    assert_eq!(parts.len(), 4);
    let bumps: f64 = parts.values().map(|p| p["figures"]["bumps"]["value"].as_f64().expect("a number")).sum();
    assert_eq!(study["figures"]["bumps"]["value"].as_f64(), Some(bumps));
}
