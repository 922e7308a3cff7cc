//! `results.json`: its schema, its figures, its file list, its bytes.

use crate::scene::{Scene, files};

const SCHEMA: &str = include_str!("../../../../docs/results.schema.json");

#[test]
fn the_committed_schema_is_that_of_the_types() {
    let schema = facedown_pipeline::results::schema().expect("a schema");
    assert!(schema == SCHEMA, "docs/results.schema.json is stale; run `cargo xtask gen`");
}

#[test]
fn real_results_fit_the_schema_and_name_every_file() {
    let scene = Scene::small();
    let said = scene.run(&["run", "small/design.toml", "--out", "results"]);
    assert_eq!(said.code, Some(0), "{}", said.all());
    let results = scene.json("results/results.json");
    let schema: serde_json::Value = serde_json::from_str(SCHEMA).expect("JSON");
    let validator = jsonschema::validator_for(&schema).expect("a schema");
    let errors: Vec<_> = validator.iter_errors(&results).map(|e| e.to_string()).collect();
    assert!(errors.is_empty(), "{errors:#?}");
    let mut broken = results.clone();
    broken["studies"]["redistribution"]["figures"]["nets"]["value"] = "twenty".into();
    assert!(!validator.is_valid(&broken), "a figure must be a number");

    let listed = results["files"].as_array().expect("files");
    let mut found = files(&scene.path("results"));
    found.remove("results.json");
    assert_eq!(listed.len(), found.len());
    for file in listed {
        let bytes = &found[file["name"].as_str().expect("a name")];
        assert_eq!(file["bytes"].as_u64(), Some(bytes.len() as u64));
        assert_eq!(file["blake3"].as_str(), Some(blake3::hash(bytes).to_hex().as_str()));
    }
    let report = String::from_utf8(found["report.html"].clone()).expect("text");
    assert!(report.starts_with("<!DOCTYPE html>") && report.contains("wirelength ratio"));
    for ending in [".gds", ".dxf", ".gbr", ".svg", "-nets.csv", "-bumps.csv"] {
        assert!(found.keys().any(|name| name.ends_with(ending)), "no {ending} in {:?}", found.keys());
    }
}

#[test]
fn figures_carry_their_evidence_and_verdicts() {
    let scene = Scene::small();
    scene.run(&["run", "small/design.toml", "--out", "results"]);
    let results = scene.json("results/results.json");
    let figures = &results["studies"]["redistribution"]["figures"];
    for name in [
        "nets",
        "routed_nets",
        "violations",
        "wirelength",
        "geodesic_bound",
        "wirelength_ratio",
        "assignment_bound",
        "longest_net",
        "worst_detour",
        "min_spacing",
        "layers_used",
        "worst_cut_use",
        "bumps",
        "trace_resistance_max",
    ] {
        let figure = &figures[name];
        assert!(figure["value"].is_number(), "{name} is missing: {figures:#}");
        assert!(!figure["basis"].as_str().unwrap_or_default().is_empty(), "{name} has no basis");
    }
    assert_eq!(figures["nets"]["value"], 20.0);
    assert_eq!(figures["routed_nets"]["value"], 20.0);
    assert_eq!(figures["violations"]["value"], 0.0);
    assert_eq!(figures["violations"]["requirement"]["built_in"], true);
    let ratio = &figures["wirelength_ratio"];
    assert_eq!(ratio["verdict"], "meets");
    let margin = (1.2 - ratio["value"].as_f64().expect("a number")) / 1.2;
    assert!((ratio["margin"].as_f64().expect("a number") - margin).abs() < 1e-12);
    assert_eq!(figures["longest_net"]["requirement"]["unit"], figures["longest_net"]["unit"]);
    let heat = results["requirements"].as_array().expect("array").iter().find(|r| r["study"] == "heat");
    assert_eq!(heat.expect("kept")["verdict"], "not judged");
    assert_eq!(results["life_line"].as_array().map(Vec::len), Some(10));
    assert_eq!(results["design"]["provenance"], "invented");
}

#[test]
fn the_same_design_gives_the_same_bytes_anywhere() {
    let (one, two) = (Scene::small(), Scene::small());
    one.run(&["run", "small/design.toml", "--out", "results"]);
    two.run(&["run", "small/design.toml", "--out", "elsewhere/deep"]);
    assert!(files(&one.path("results")) == files(&two.path("elsewhere/deep")));
    two.run(&["run", "small/design.toml", "--out", "elsewhere/deep"]);
    assert!(files(&one.path("results")) == files(&two.path("elsewhere/deep")), "from the cache");
}
