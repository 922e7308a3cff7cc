//! `facedown check`.

use crate::scene::Scene;
use expect_test::expect;

#[test]
fn a_good_design_has_no_errors() {
    let said = Scene::small().run(&["check", "small/design.toml"]);
    assert_eq!(said.code, Some(0), "{}", said.all());
    assert!(said.stdout.ends_with("small/design.toml: no findings\n"), "{}", said.stdout);
}

#[test]
fn all_findings_come_at_once_with_the_text_underlined() {
    let scene = Scene::small();
    scene.change("small/design.toml", "pitch = \"400 um\"", "pitch = 400");
    scene.change("small/design.toml", "space = \"10 um\"", "spcae = \"10 um\"");
    let said = scene.run(&["check", "small/design.toml"]);
    assert_eq!(said.code, Some(2));
    assert!(said.stdout.contains("pitch = 400") && said.stdout.contains("^^^"), "{}", said.stdout);
    assert!(said.stdout.contains("spcae") && said.stdout.contains("space"), "{}", said.stdout);
    let json = scene.run(&["check", "small/design.toml", "--json"]);
    assert_eq!((json.code, json.stderr.as_str()), (Some(2), ""));
    let rows: serde_json::Value = serde_json::from_str(&json.stdout).expect("JSON");
    let lines: Vec<_> = rows.as_array().expect("array").iter().filter_map(|r| r["line"].as_u64()).collect();
    assert!(lines.len() >= 2 && lines.is_sorted(), "{rows:#}");
}

#[test]
fn a_missing_file_is_bad_input() {
    expect![[r#"
        exit 2
        --- stdout
        --- stderr
        error: there is no file nowhere.toml
    "#]]
    .assert_eq(&Scene::new().run(&["check", "nowhere.toml"]).all());
    assert_eq!(Scene::small().run(&["check", "small"]).stderr, "error: small is not a design file\n");
}
