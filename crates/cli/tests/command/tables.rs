//! `facedown verify` and `facedown materials`.

use crate::scene::Scene;
use std::collections::BTreeSet;

#[test]
fn every_published_check_passes_and_has_a_source() {
    let said = Scene::new().run(&["verify", "--json"]);
    assert_eq!(said.code, Some(0), "{}", said.all());
    let rows: serde_json::Value = serde_json::from_str(&said.stdout).expect("JSON");
    let rows = rows.as_array().expect("array");
    assert!(rows.len() >= 40, "only {} rows", rows.len());
    let mut ids = BTreeSet::new();
    let bases = ["published", "common practice", "from memory", "reference library"];
    for row in rows {
        let text = |key: &str| row[key].as_str().unwrap_or_else(|| panic!("{key} is missing in {row}"));
        assert!(ids.insert(text("id")), "{} is there twice", text("id"));
        assert!(!text("study").is_empty() && !text("source").is_empty(), "{row}");
        assert!(bases.contains(&text("basis")), "{row}");
        let number = |key: &str| row[key].as_f64().unwrap_or_else(|| panic!("{key} is missing in {row}"));
        assert!(number("expected").is_finite() && number("computed").is_finite());
        assert!(number("error") <= number("tolerance"), "{row}");
        assert_eq!(row["pass"], true, "{row}");
    }
}

#[test]
fn the_table_of_checks_ends_with_its_count() {
    let said = Scene::new().run(&["verify"]);
    assert_eq!(said.code, Some(0));
    assert!(said.stderr.ends_with(" pass, 0 fail\n"), "{}", said.stderr);
    assert!(!said.stdout.contains("FAIL"));
}

#[test]
fn materials_show_their_sources() {
    let scene = Scene::new();
    let list = scene.run(&["materials"]);
    assert_eq!(list.code, Some(0));
    assert!(list.stdout.lines().any(|l| l.starts_with("silicon ")), "{}", list.stdout);
    let silicon = scene.run(&["materials", "silicon"]);
    assert!(silicon.stdout.contains("published: "), "{}", silicon.stdout);
    let json = scene.run(&["materials", "silicon", "--json"]);
    let value: serde_json::Value = serde_json::from_str(&json.stdout).expect("JSON");
    assert_eq!(value["name"], "silicon");
    let unknown = scene.run(&["materials", "silicn"]);
    assert_eq!(unknown.code, Some(2));
    assert!(unknown.stderr.contains("silicon"), "{}", unknown.stderr);
}
