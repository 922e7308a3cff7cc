//! `compare`: forms side by side.

use crate::scene::Scene;

#[test]
fn forms_stand_side_by_side_with_their_verdicts() {
    let scene = Scene::small();
    scene.run(&["new", "tide", "--example", "tidewatch"]);
    let said = scene.run(&["compare", "tide/design.toml"]);
    assert_eq!(said.code, Some(0), "{}", said.stderr);
    for word in
        ["as designed (bare)", "ring *", "lid *", "heat.theta_ja", "usual sizes, not the design's own"]
    {
        assert!(said.stdout.contains(word), "{word} in {}", said.stdout);
    }
    let said = scene.run(&["compare", "tide/design.toml", "--json"]);
    let columns: serde_json::Value = serde_json::from_str(&said.stdout).expect("JSON");
    let theta = |k: usize| {
        let rows = columns[k]["requirements"].as_array().expect("requirements");
        rows.iter()
            .find(|r| r["figure"] == "heat.theta_ja")
            .and_then(|r| r["value"].as_f64())
            .expect("a value")
    };
    let names: Vec<&str> = (0..3).filter_map(|k| columns[k]["form"].as_str()).collect();
    assert_eq!(names, ["bare", "ring", "lid"]);
    assert!(theta(2) < theta(0), "a lid spreads heat: {} against {}", theta(2), theta(0));
}
